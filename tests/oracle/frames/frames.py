"""Solves the five models with OpenSees and writes results.csv; with `compare` also runs the engine on them.

Run: pip install openseespy==3.7.1.2 (it needs Debian's libblas3, liblapack3 and libgfortran5), then from this folder
    python frames.py            solves every model, also with shorter and longer steps, and writes results.csv
    python frames.py compare    the same, then the engine's own tests of the models, and prints the ratio of times

The frame is made of displacement-based beam elements with two Gauss sections of fibres in co-rotational chords, in
the x-z plane where the model is straight, else in space. It is solved as a slow transient in which the time is the
opening U, with implicit Euler steps, so that the small viscosity carries it through sudden releases.

Where OpenSees differs from the model files: a hold that was pulled and is pushed back resists up to its first
peak, not to what the pull has left of it; every node's spin is summed up step by step. Neither matters while the
mould only opens. Time is processor time of the analysis and its step control, without reading out springs.
"""

import csv
import json
import os
import re
import resource
import subprocess
import sys
import time
from collections import defaultdict

import openseespy.opensees as ops

# Share of the viscosity along z that resists motion against the mean of both halves.
CALM = 0.01
MODELS = ("strip_held", "strip_peeled", "strip_bridging", "two_stems", "three_arms")

# Gauss-Legendre, four points on -1..1.
GAUSS_4 = (
    (-0.8611363115940526, 0.34785484513745385),
    (-0.3399810435848563, 0.6521451548625461),
    (0.3399810435848563, 0.6521451548625461),
    (0.8611363115940526, 0.34785484513745385),
)


class Model:
    """A model file, read."""

    def __init__(self, name):
        self.name = name
        rows = defaultdict(list)
        with open(f"{name}.csv") as file:
            for row in csv.reader(line for line in file if not line.startswith("#")):
                rows[row[0]].append(row[1:])
        numbers = lambda kind: [[float(v) for v in row] for row in rows[kind]]
        (self.stroke,) = numbers("stroke")[0]
        self.report = numbers("report")[0]
        self.watch = [int(v) for v in rows["watch"][0]]
        self.modulus, self.yield_mpa, self.ratio, self.poisson = numbers("material")[0]
        self.rise, self.gone = numbers("tack")[0]
        self.k1 = {ratio: value for ratio, value in numbers("k1")}
        self.nodes = [(x, y) for _, x, y in numbers("node")]
        self.beams = [(int(a), int(b), width, depth) for a, b, width, depth in numbers("beam")]
        self.beds = [(int(n), half, float(k), float(c)) for n, half, k, c in rows["bed"]]
        self.holds = []
        for hold, node, half, *points in rows["hold"]:
            points = [tuple(float(v) for v in p.split(":")) for p in points]
            self.holds.append((hold, int(node), half, points))
        self.sides = [(int(n), kx, ky) for n, kx, ky in numbers("side")]
        self.drags = [(int(n), c, turn) for n, c, turn in numbers("drag")]
        self.is_straight = all(y == 0.0 for _, y in self.nodes)


def fibres(width, depth, is_plane):
    """Two blocks of four Gauss layers through the depth; in space four Gauss columns across the width."""
    for block in (-0.25, 0.25):
        for abscissa, weight in GAUSS_4:
            z, height = depth * (block + 0.25 * abscissa), 0.25 * depth * weight
            if is_plane:
                yield z, 0.0, width * height
            else:
                for across, share in GAUSS_4:
                    yield 0.5 * width * across, z, 0.5 * width * share * height


class Frame:
    """The model in OpenSees: in its x-z plane if straight, else in space."""

    def __init__(self, model):
        self.model = model
        self.tag = 0
        ops.wipe()
        self.is_plane = model.is_straight
        if self.is_plane:
            ops.model("basic", "-ndm", 2, "-ndf", 3)
            self.z, self.turns = 2, (3,)
        else:
            ops.model("basic", "-ndm", 3, "-ndf", 6)
            self.z, self.turns = 3, (4, 5, 6)
        ops.timeSeries("Linear", 1)
        ops.pattern("Plain", 1, 1)
        for i, (x, y) in enumerate(model.nodes):
            ops.node(i, *((x, 0.0) if self.is_plane else (x, y, 0.0)))
        self.beams()
        self.bases = {}
        self.springs = {"fixed": [], "moving": []}
        self.holds = [self.hold(node, half, points) for _, node, half, points in model.holds]
        self.bed_laws = {}
        for node, half, stiffness, contact in model.beds:
            self.spring(node, half, self.bed_law(stiffness, contact))
        self.side_springs()
        self.drags()

    def next(self):
        self.tag += 1
        return self.tag

    def beams(self):
        model = self.model
        if self.is_plane:
            ops.geomTransf("Corotational", 1)
        else:
            ops.geomTransf("Corotational", 1, 0.0, 0.0, 1.0)
        steel = self.next()
        ops.uniaxialMaterial("Steel01", steel, model.yield_mpa, model.modulus, model.ratio)
        sections = {}
        for a, b, width, depth in model.beams:
            if (width, depth) not in sections:
                section = sections[width, depth] = self.next()
                if self.is_plane:
                    ops.section("Fiber", section)
                else:
                    long, short = max(width, depth), min(width, depth)
                    torsion = model.k1[long / short] * long * short**3
                    shear = model.modulus / (2.0 * (1.0 + model.poisson))
                    ops.section("Fiber", section, "-GJ", shear * torsion)
                for y, z, area in fibres(width, depth, self.is_plane):
                    ops.fiber(y, z, area, steel)
                ops.beamIntegration("Legendre", section, section, 2)
            ops.element("dispBeamColumn", self.next(), a, b, 1, sections[width, depth])

    def base(self, node, half):
        """The place on a half that faces a node: fixed, or moving with the time."""
        if (node, half) not in self.bases:
            base = self.bases[node, half] = len(self.model.nodes) + len(self.bases)
            ops.node(base, *ops.nodeCoord(node))
            size = 3 if self.is_plane else 6
            if half == "fixed":
                ops.fix(base, *([1] * size))
            else:
                ops.fix(base, *(0 if i + 1 == self.z else 1 for i in range(size)))
                ops.sp(base, self.z, 1.0)
        return self.bases[node, half]

    def spring(self, node, half, law):
        base = self.base(node, half)
        ends = (base, node) if half == "fixed" else (node, base)
        tag = self.next()
        ops.element("zeroLength", tag, *ends, "-mat", law, "-dir", self.z)
        self.springs[half].append(tag)
        return tag

    def bed_law(self, stiffness, contact):
        if (stiffness, contact) not in self.bed_laws:
            rise, gone = self.model.rise, self.model.gone
            both, tack, press, law = (self.next() for _ in range(4))
            ops.uniaxialMaterial("OriginCentered", both, stiffness * rise, rise, 0.0, gone, 0.0, 2.0 * gone)
            ops.uniaxialMaterial("TensionOnly", tack, both)
            ops.uniaxialMaterial("ENT", press, contact)
            ops.uniaxialMaterial("Parallel", law, tack, press)
            self.bed_laws[stiffness, contact] = law
        return self.bed_laws[stiffness, contact]

    def hold(self, node, half, points):
        (_, _), (rise, peak), (gone, _) = points
        law, lasting = self.next(), self.next()
        up = [peak, rise, 0.0, gone, 0.0, 2.0 * gone]
        ops.uniaxialMaterial("Hysteretic", law, *up, *(-v for v in up), 1.0, 1.0, 0.0, 0.0, 0.0)
        ops.uniaxialMaterial("MinMax", lasting, law, "-max", gone)
        return self.spring(node, half, lasting)

    def side_springs(self):
        for node, along_x, along_y in self.model.sides:
            base = self.base(node, "fixed")
            stiffness = (along_x,) if self.is_plane else (along_x, along_y)
            for direction, k in enumerate(stiffness, start=1):
                law = self.next()
                ops.uniaxialMaterial("Elastic", law, k)
                ops.element("zeroLength", self.next(), base, node, "-mat", law, "-dir", direction)

    def drags(self):
        """Viscosity c as a mass c with a damping of 1 per mass; the Newmark constants below make every
        acceleration vanish, so that the mass itself does nothing. The half of dU/dU = 1 is a constant load. What
        moves faster than the mould closes in on a half: dashpots that only resist closing. Both stand on the fixed
        half, as OpenSees gives imposed motions no velocity; the moving half's 1 is the one's initial value."""
        ops.timeSeries("Constant", 2)
        ops.pattern("Plain", 2, 2)
        closing = {}
        for node, c, turn in self.model.drags:
            if c not in closing:
                press, after, behind, ahead = (self.next() for _ in range(4))
                ops.uniaxialMaterial("ENT", press, c)
                ops.uniaxialMaterial("InitStrain", after, press, 1.0)
                ops.uniaxialMaterial("Damper", behind, press)
                ops.uniaxialMaterial("Damper", ahead, after)
                closing[c] = (behind, ahead)
            base = self.base(node, "fixed")
            for ends, law in zip(((base, node), (node, base)), closing[c]):
                ops.element("zeroLength", self.next(), *ends, "-mat", law, "-dir", self.z)
            flat = (c,) if self.is_plane else (c, c)
            ops.mass(node, *flat, CALM * c, *(turn for _ in self.turns))
            load = [0.0] * (len(flat) + 1 + len(self.turns))
            load[self.z - 1] = 0.5 * CALM * c
            ops.load(node, *load)
        ops.rayleigh(1.0, 0.0, 0.0, 0.0)

    def force(self, tag):
        return ops.eleResponse(tag, "material", 1, "stress")[0]

    def heights(self):
        return [ops.nodeDisp(i, self.z) for i in range(len(self.model.nodes))]


# Newmark with beta = gamma without bound: velocity = change over step, acceleration = 0: implicit Euler. The
# velocity is the unknown, so that a step begins where the last velocity leads; begun where the part is, the
# moving half would tear off tack (0.004 mm to its peak) that it does not tear off in smaller steps.
NO_INERTIA = 1e12
TOLERANCE_N = 1e-5
MOST_ITERATIONS = 12
FIRST_MM, LONGEST_MM, SHORTEST_MM = 1e-4, 0.05, 1e-10
# Until both halves' tack has softened everywhere, in travels to zero, the longest step in them.
START, START_STEP = 3.0, 0.005


def analysis():
    ops.constraints("Transformation")
    ops.numberer("RCM")
    ops.system("BandGeneral")
    ops.test("NormUnbalance", TOLERANCE_N, MOST_ITERATIONS)
    ops.algorithm("Newton")
    ops.integrator("Newmark", NO_INERTIA, NO_INERTIA, "-form", "V")
    ops.analysis("Transient")


class Solution:
    """The opening run of a model: rows at the reported openings, peaks, and what it cost."""

    def __init__(self, model, fineness=1.0):
        self.columns = [f"pull {half}" for half in ("fixed", "moving")]
        self.columns += [f"z {node}" for node in model.watch]
        self.columns += [f"{what} {hold[0]}" for what in ("force", "travel") for hold in model.holds]
        self.rows, self.peaks = [], [0.0] * (2 + len(model.holds))
        self.seconds, self.steps, self.iterations, self.cuts = 0.0, 0, 0, 0
        self.solve(model, Frame(model), fineness)

    def solve(self, model, frame, fineness):
        analysis()
        opening, step, careful = 0.0, FIRST_MM, 0
        before, rate = frame.heights(), [0.0] * len(model.nodes)
        stops = sorted({*model.report, model.stroke})
        while stops:
            started = time.process_time()
            longest = START_STEP * model.gone if opening < START * model.gone else LONGEST_MM
            by = min(step, fineness * longest, stops[0] - opening)
            is_done = ops.analyze(1, by) == 0
            self.iterations += ops.testIter()
            if not is_done:
                self.cuts += 1
                careful = 10
                step = 0.3 * by
                self.seconds += time.process_time() - started
                if step < SHORTEST_MM:
                    raise RuntimeError(f"{model.name} stops at {opening} mm")
                continue
            self.steps += 1
            opening = ops.getTime()
            now = frame.heights()
            # How far off was it to go on as before? Points on their way off a face are followed more closely.
            worst = 0.0
            for i, z in enumerate(now):
                near = min(before[i], opening - by - before[i]) < 2.0 * model.gone
                permitted = (0.1 * model.gone if near else 0.02) * fineness**2
                worst = max(worst, abs(z - before[i] - rate[i] * by) / permitted)
            rate = [(z - b) / by for z, b in zip(now, before)]
            before = now
            # Soon after a step that was too long, grow slowly.
            careful = max(careful - 1, 0)
            growth = min(max(0.8 / max(worst, 1e-9) ** 0.5, 0.2), 1.1 if careful else 1.5)
            if by >= step or growth < 1.0:
                step = by * growth
            self.seconds += time.process_time() - started
            self.record(model, frame, opening, now, stops)

    def record(self, model, frame, opening, now, stops):
        pulls = [sum(frame.force(tag) for tag in frame.springs[half]) for half in ("fixed", "moving")]
        pulls += [frame.force(tag) for tag in frame.holds]
        self.peaks = [max(a, b) for a, b in zip(self.peaks, pulls)]
        if opening > stops[0] - 1e-9:
            stops.pop(0)
            heights = [now[node] for node in model.watch]
            travels = [now[n] if half == "fixed" else opening - now[n] for _, n, half, _ in model.holds]
            self.rows.append((opening, *pulls[:2], *heights, *pulls[2:], *travels))

    def scales(self, model):
        """What a difference counts against: of a force its peak, of a height or travel the largest height."""
        top = max(abs(v) for row in self.rows for v in row[3 : 3 + len(model.watch)])
        return self.peaks[:2] + [top] * len(model.watch) + self.peaks[2:] + [top] * len(model.holds)

    def change(self, model, other):
        """Largest difference to another solution, as a share of the scales."""
        scales = self.scales(model)
        rows = [abs(a - b) / scale for ours, theirs in zip(self.rows, other.rows)
                for a, b, scale in zip(ours[1:], theirs[1:], scales)]
        peaks = [abs(a - b) / a for a, b in zip(self.peaks, other.peaks)]
        return max(rows), max(peaks)


RESULTS_HEADER = """\
# What OpenSees {version} (openseespy 3.7.1.2) makes of the models in this folder; written by frames.py.
# Units: N, mm. z is a node's displacement along the opening; pull is a half's net pull on the part, contact
# subtracted; force and travel are those of the named hold.
#   columns,model,U,...      at,model,U,values of the columns
#   peak,model,column,...    largest value of every force in the run
#   cost,model,seconds of processor time,steps,iterations,failed steps
#   quick,model,...          the same of the longest steps tried that change nothing below by 1 % or more
# With steps half as long nothing below changes by more than {rows:.2f} % (of a force's peak; of the model's largest
# height for z and travel), no peak by more than {peaks:.2f} %.
"""


def quickest(model, solution):
    """The cheapest of some solutions with longer steps that agree within 1 %: a fair price of that accuracy."""
    best = solution
    for fineness in (2.0, 4.0, 8.0, 16.0):
        coarse = Solution(model, fineness)
        if max(solution.change(model, coarse)) < 0.01 and coarse.seconds < best.seconds:
            best = coarse
    return best


def write(solutions, changes, quick):
    rows, peaks = (100.0 * max(change[i] for change in changes) for i in (0, 1))
    number = lambda value: f"{value:.5g}" if abs(value) > 1e-7 else "0"
    with open("results.csv", "w") as file:
        file.write(RESULTS_HEADER.format(version=ops.version(), rows=rows, peaks=peaks))
        for name, solution in solutions.items():
            forces = [c for c in solution.columns if c.startswith(("pull", "force"))]
            lines = [("columns", name, "U", *solution.columns)]
            lines += [("at", name, *map(number, row)) for row in solution.rows]
            lines += [("peak", name, force, number(peak)) for force, peak in zip(forces, solution.peaks)]
            for kind, s in (("cost", solution), ("quick", quick[name])):
                lines += [(kind, name, f"{s.seconds:.3f}", s.steps, s.iterations, s.cuts)]
            file.writelines(",".join(map(str, line)) + "\n" for line in lines)


def processor_seconds(command):
    """Processor time of a command, the least of five, and what it prints."""
    least, told = float("inf"), ""
    for _ in range(5):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        told = subprocess.run(command, capture_output=True, text=True, check=True).stdout
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        least = min(least, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return least, told


def compare(solutions, quick):
    """Runs the engine's tests of the models, optimised, and prints what both cost, start of the test left out."""
    root = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..", "..")
    build = "cargo test --release -p keepside-engine --lib --no-run --message-format=json".split()
    told = subprocess.run(build, cwd=root, capture_output=True, text=True, check=True).stdout
    built = [json.loads(line).get("executable") for line in told.splitlines()]
    program = [path for path in built if path][-1]
    listed = subprocess.run([program, "--list"], capture_output=True, text=True, check=True).stdout
    start, _ = processor_seconds([program, "--exact", "nothing"])
    all_ours = all_theirs = all_rough = 0.0
    for test in re.findall(r"^(opening::frames::\S+): test$", listed, re.M):
        seconds, told = processor_seconds([program, "--exact", test, "--nocapture"])
        name, form = re.search(r"frames: (\w+) in (\w+) form", told).groups()
        ours, theirs, rough = seconds - start, solutions[name].seconds, quick[name].seconds
        print(re.search(r"frames: .*\nlargest .*", told)[0])
        print(f"    engine {ours:.4f} s; OpenSees {theirs:.3f} s, {theirs / ours:.0f} times as long; with steps good "
              f"for 1 % {rough:.3f} s, {rough / ours:.0f} times as long")
        if form == ("plane" if name.startswith("strip") else "space"):
            all_ours, all_theirs, all_rough = all_ours + ours, all_theirs + theirs, all_rough + rough
    print(f"all five: {all_theirs / all_ours:.0f} times, {all_rough / all_ours:.0f} times with steps good for 1 %")


if __name__ == "__main__":
    solutions, quick, changes = {}, {}, []
    for name in MODELS:
        model = Model(name)
        solution = solutions[name] = Solution(model)
        changes.append(solution.change(model, Solution(model, 0.5)))
        quick[name] = quickest(model, solution)
        print(f"{name}: {solution.seconds:.2f} s, {solution.steps} steps, {solution.iterations} iterations, "
              f"{solution.cuts} cuts; halved: {changes[-1][0]:.3%} rows, {changes[-1][1]:.3%} peaks", flush=True)
    write(solutions, changes, quick)
    if sys.argv[1:] == ["compare"]:
        compare(solutions, quick)
