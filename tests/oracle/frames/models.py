"""Writes the five model files that `frames.py` and the engine's tests solve.

Run: python models.py from this folder. The files say what every line means; sizes and forces are of the order
of a small polypropylene part at ejection and are assumed, not measured.
"""

import math

WIDTH, DEPTH = 6.0, 3.0
MODULUS = 800.0
# Stress of each half, travel at the peak and at zero.
TACK = {"fixed": 0.09, "moving": 0.12}
TRAVELS = (0.004, 0.04)

HEADER = """\
# {title}
# Units: N, mm, MPa, rad. x and y lie in the parting plane, z is the opening direction; the part lies in z = 0.
# The fixed half stays at z = 0, the moving half is at z = U, from 0 to the stroke.
#   stroke,U                       report,U,...      openings to report        watch,node,...    nodes to report
#   material,E,yield,ratio,nu      linear kinematic hardening; ratio = slope after yield over E
#   tack,rise,gone                 travel at the peak and at zero of every bed spring's bilinear law
#   node,index,x,y
#   beam,node,node,width,depth     rectangle, width in plan, depth along z; torsion G J, G = E/(2(1+nu)),
#                                  J = k1 a b^3 with k1 by a/b, see `k1`: S. Timoshenko, J. N. Goodier, Theory of
#                                  Elasticity, table of the torsion of rectangular bars (from memory)
#   k1,a/b,value
#   bed,node,half,stiffness,contact  pulls along z with the tack law (damage unloads to the origin), N/mm at first;
#                                  contact pushes back where the travel is negative, N/mm. Travel is w on the fixed
#                                  half, U - w on the moving half, w the node's displacement along z
#   hold,name,node,half,travel:force,...   pull along z from 0:0 to zero force; unloads with its first slope
#   side,node,kx,ky                a spring in the parting plane, N/mm, that never lets go
#   drag,node,c,c_turn             viscosity: c du/dU along x and y; along z c times what dw/dU is below 0 or above 1,
#                                  and c/100 (dw/dU - 1/2), N per mm/mm; c_turn times the spin per mm of opening,
#                                  N mm per rad/mm
"""


class Model:
    def __init__(self, title, stroke, report, yield_mpa=18.0, tack=TACK, travels=TRAVELS):
        self.title, self.stroke, self.report, self.yield_mpa = title, stroke, report, yield_mpa
        self.tack, self.travels = tack, travels
        self.nodes, self.beams, self.holds, self.sides, self.watch = [], [], [], [], []
        self.share = []

    def node(self, x, y):
        self.nodes.append((x, y))
        self.share.append(0.0)
        return len(self.nodes) - 1

    def arm(self, start, angle_deg, length, count):
        """A straight arm of equal beams from a node; returns its nodes, the first included."""
        angle = math.radians(angle_deg)
        x, y = self.nodes[start]
        nodes = [start]
        for i in range(1, count + 1):
            along = length * i / count
            nodes.append(self.node(x + along * math.cos(angle), y + along * math.sin(angle)))
            a, b = nodes[-2:]
            self.beams.append((a, b))
            for end in (a, b):
                self.share[end] += 0.5 * length / count
        return nodes

    def hold(self, name, node, half, *points):
        self.holds.append((name, node, half, points))
        self.watch.append(node)

    def side(self, node, kx, ky):
        self.sides.append((node, kx, ky))

    def write(self, name):
        # Half a percent of the mean tack force, as the product has it.
        drag = 0.005 * 0.5 * sum(self.tack.values()) * WIDTH
        ratio = WIDTH / DEPTH
        lines = [HEADER.format(title=self.title).rstrip()]
        add = lambda *items: lines.append(",".join(f"{i:.10g}" if isinstance(i, float) else str(i) for i in items))
        add("stroke", self.stroke)
        add("report", *self.report)
        add("watch", *dict.fromkeys(self.watch))
        add("material", MODULUS, self.yield_mpa, 0.03, 0.4)
        add("tack", *self.travels)
        add("k1", ratio, 0.229)
        for i, (x, y) in enumerate(self.nodes):
            add("node", i, round(x, 6) + 0.0, round(y, 6) + 0.0)
        for a, b in self.beams:
            add("beam", a, b, WIDTH, DEPTH)
        for i, length in enumerate(self.share):
            contact = MODULUS * WIDTH / (0.5 * DEPTH) * length
            for half, stress in self.tack.items():
                add("bed", i, half, stress * WIDTH * length / self.travels[0], contact)
        for hold_name, node, half, points in self.holds:
            add("hold", hold_name, node, half, "0:0", *(f"{t:g}:{f:g}" for t, f in points))
        for node, kx, ky in self.sides:
            add("side", node, kx, ky)
        for i, length in enumerate(self.share):
            add("drag", i, drag * length, drag * length * DEPTH**2 / 12.0)
        with open(name, "w") as file:
            file.write("\n".join(lines) + "\n")


def strip_held():
    m = Model(
        "A straight strip follows two sprues until they let go; four pins flank them.",
        24.0, [0.1, 0.5, 1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 13.0, 16.0, 20.0, 24.0],
    )
    nodes = m.arm(m.node(0.0, 0.0), 0.0, 120.0, 120)
    m.hold("A", nodes[30], "fixed", (0.3, 120.0), (20.0, 0.0))
    m.hold("B", nodes[90], "fixed", (0.3, 110.0), (17.0, 0.0))
    for name, at in (("P", 18), ("Q", 42), ("R", 78), ("S", 102)):
        m.hold(name, nodes[at], "moving", (0.25, 160.0), (2.5, 0.0))
    m.watch += [nodes[0], nodes[60], nodes[120]]
    m.side(nodes[60], 2000.0, 2000.0)
    return m


def strip_peeled():
    m = Model(
        "An elastic strip with nothing on the moving half but tack is peeled off it by two sprues.",
        4.0, [0.1, 0.2, 0.3, 0.4, 0.6, 0.8, 1.0, 1.2, 1.4, 1.6, 1.8, 2.4, 3.0, 4.0], yield_mpa=1e6,
        tack={"fixed": 0.2, "moving": 0.3}, travels=(0.02, 0.2),
    )
    nodes = m.arm(m.node(0.0, 0.0), 0.0, 100.0, 100)
    m.hold("A", nodes[25], "fixed", (0.3, 120.0), (20.0, 0.0))
    m.hold("B", nodes[70], "fixed", (0.3, 110.0), (17.0, 0.0))
    m.watch += [nodes[0], nodes[48], nodes[100]]
    m.side(nodes[25], 2000.0, 2000.0)
    return m


def strip_bridging():
    m = Model(
        "A straight strip is kept at one end by a sprue, at the other by a pin, and lies bent between both halves.",
        40.0, [0.1, 0.5, 1.0, 2.0, 4.0, 8.0, 12.0, 16.0, 20.0, 25.0, 30.0, 35.0, 40.0],
    )
    nodes = m.arm(m.node(0.0, 0.0), 0.0, 72.0, 72)
    m.hold("A", nodes[6], "fixed", (0.3, 40.0), (60.0, 0.0))
    m.hold("P", nodes[52], "moving", (0.25, 160.0), (4.0, 0.0))
    m.watch += [nodes[0], nodes[30], nodes[72]]
    m.side(nodes[52], 2000.0, 2000.0)
    return m


def two_stems():
    m = Model(
        "A bar with two stems: a sprue in one and a pin in the other twist it.",
        20.0, [0.1, 0.5, 1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 17.0, 20.0],
    )
    bar = m.arm(m.node(0.0, 0.0), 0.0, 46.0, 46)
    long = m.arm(bar[24], 90.0, 30.0, 30)
    short = m.arm(bar[34], 90.0, 24.0, 24)
    m.hold("A", long[18], "fixed", (0.3, 60.0), (15.0, 0.0))
    m.hold("P", bar[8], "moving", (0.25, 160.0), (3.0, 0.0))
    m.hold("Q", short[14], "moving", (0.25, 160.0), (3.0, 0.0))
    m.watch += [bar[24], bar[34], bar[46], long[30], short[24]]
    for node in (bar[8], short[14]):
        m.side(node, 300.0, 300.0)
    return m


def three_arms():
    m = Model(
        "Three unequal arms: two sprues against three pins, with yielding.",
        24.0, [0.1, 0.5, 1.0, 2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 15.0, 18.0, 21.0, 24.0],
    )
    centre = m.node(0.0, 0.0)
    east = m.arm(centre, 0.0, 48.0, 48)
    north = m.arm(centre, 130.0, 32.0, 32)
    south = m.arm(centre, 245.0, 40.0, 40)
    m.hold("A", east[12], "fixed", (0.3, 100.0), (16.0, 0.0))
    m.hold("B", south[16], "fixed", (0.3, 70.0), (12.0, 0.0))
    m.hold("P", east[30], "moving", (0.25, 160.0), (3.0, 0.0))
    m.hold("Q", north[14], "moving", (0.25, 160.0), (3.0, 0.0))
    m.hold("R", south[32], "moving", (0.25, 160.0), (3.0, 0.0))
    m.watch += [centre, east[48], north[32], south[40]]
    for node in (east[30], north[14], south[32]):
        m.side(node, 300.0, 300.0)
    return m


if __name__ == "__main__":
    for build in (strip_held, strip_peeled, strip_bridging, two_stems, three_arms):
        build().write(f"{build.__name__}.csv")
