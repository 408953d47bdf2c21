"""Fronts through small networks of ducts, by SciPy's general-purpose integrator.

Usage: python fronts.py > fronts.csv

Needs NumPy and SciPy. A melt that neither cools nor freezes, at an even rate; every duct is 6 x 3 mm. The volume
behind each front follows dV/dt = flow; flows balance at every instant (networks.py), and solve_ivp (LSODA, 1e-7)
goes from event to event: a front at a node, two fronts meeting. The resistance of 1 mm of duct cancels out: it is the same everywhere, and the bores have a resistance given in mm
of duct.
Layouts are told by nodes and ducts; see LAYOUTS. Rows: layout, n, what, number of the node or duct, value: the
time at which a node is reached in s since the first melt entered the channel, or the place at which two fronts
meet, in mm from the duct's first node.
"""

import sys

import numpy as np
from scipy.integrate import solve_ivp

from networks import solve

AREA = 18.0
RATE = 8000.0

# A front that has only set out is as far as this, mm.
LEAST_MM = 0.05

# Ducts: (from, to, length mm); gates: (node, bore's resistance in mm of duct).
LAYOUTS = {
    "tee": {"ducts": [(0, 1, 70.0), (1, 2, 50.0), (1, 3, 35.0)], "gates": [(0, 60.0)]},
    "strip": {"ducts": [(0, 1, 20.0), (1, 2, 90.0), (2, 3, 55.0)], "gates": [(1, 60.0), (2, 60.0)]},
    "ring": {"ducts": [(0, 1, 60.0), (1, 2, 80.0), (2, 3, 70.0), (3, 0, 110.0), (2, 4, 40.0)], "gates": [(0, 60.0)]},
    "ladder": {
        "ducts": [(0, 1, 50.0), (1, 2, 50.0), (3, 4, 50.0), (4, 5, 50.0), (0, 3, 30.0), (1, 4, 30.0), (2, 5, 30.0)],
        "gates": [(0, 60.0), (5, 60.0)],
    },
}


def fill(layout, n):
    """Node times and meetings."""
    ducts, gates = layout["ducts"], layout["gates"]
    nodes = 1 + max(max(a, b) for a, b, _ in ducts)
    behind = np.zeros((len(ducts), 2))
    active = np.zeros((len(ducts), 2), bool)
    full = np.zeros(len(ducts), bool)
    reached, meetings = {}, {}
    time = 0.0

    def reach(node):
        reached[node] = time
        for i, (a, b, _) in enumerate(ducts):
            for side, end in enumerate((a, b)):
                if end == node and not full[i]:
                    active[i, side] = True

    for node, _ in gates:
        reach(node)

    def flows(lengths):
        """Flow of every front at a total of RATE; lengths behind the fronts, mm."""
        # Everything in mm of duct, and the nozzle at a pressure of 1.
        unknown = sorted(reached)
        place = {node: 2 + k for k, node in enumerate(unknown)}
        edges = [(1, place[node], length) for node, length in gates]
        fronts = [(i, side) for i in range(len(ducts)) for side in (0, 1) if active[i, side] and not full[i]]
        edges += [(place[ducts[i][side]], 0, max(lengths[i, side], LEAST_MM)) for i, side in fronts]
        edges += [(place[ducts[i][0]], place[ducts[i][1]], ducts[i][2]) for i in range(len(ducts)) if full[i]]
        # Dead ends carry nothing: leave them out.
        while True:
            count = np.bincount([end for a, b, _ in edges for end in (a, b)], minlength=2 + len(unknown))
            dead = [e for e in edges if min(count[end] for end in e[:2] if end > 1) == 1]
            if not dead:
                break
            edges = [e for e in edges if e not in dead]
        left = sorted({end for a, b, _ in edges for end in (a, b)} | {0, 1})
        number = {end: k for k, end in enumerate(left)}
        q = solve([(number[a], number[b], r) for a, b, r in edges], n, len(left))
        assert q is not None
        total = sum(flow for (a, _, _), flow in zip(edges, q) if a == 1)
        rates = np.zeros((len(ducts), 2))
        out = [flow for (_, b, _), flow in zip(edges, q) if b == 0]
        for front, flow in zip(fronts, out):
            rates[front] = flow / total * RATE
        return rates

    while not full.all():
        slots = [(i, side) for i in range(len(ducts)) for side in (0, 1) if active[i, side] and not full[i]]

        def slopes(_, state):
            lengths = behind.copy()
            for (i, side), value in zip(slots, state):
                lengths[i, side] = value
            rates = flows(lengths)
            return [rates[slot] / AREA for slot in slots]

        def left(i):
            mine = [k for k, slot in enumerate(slots) if slot[0] == i]

            def event(_, state):
                return ducts[i][2] - sum(state[k] for k in mine)

            event.terminal = True
            return event

        moving = sorted({i for i, _ in slots})
        start = [behind[slot] for slot in slots]
        found = solve_ivp(slopes, (0, 100.0), start, method="LSODA", rtol=1e-7, atol=1e-5, events=[left(i) for i in moving])
        time += found.t[-1]
        for slot, value in zip(slots, found.y[:, -1]):
            behind[slot] = value
        for i in moving:
            a, b, length = ducts[i]
            if length - behind[i].sum() > 1e-6:
                continue
            full[i] = True
            if active[i].all():
                meetings[i] = behind[i, 0]
            else:
                far = b if active[i, 0] else a
                if far not in reached:
                    reach(far)
    return reached, meetings


def main():
    print("# " + "\n# ".join(__doc__.strip().splitlines()))
    print("layout,n,what,number,value")
    for name, layout in LAYOUTS.items():
        for n in (1.0, 0.5, 0.36):
            reached, meetings = fill(layout, n)
            for node, time in sorted(reached.items()):
                print(f"{name},{n},node,{node},{time:.6f}")
            for duct, place in sorted(meetings.items()):
                print(f"{name},{n},meeting,{duct},{place:.4f}")
            print(name, n, file=sys.stderr)


if __name__ == "__main__":
    main()
