"""What the readers of exported files compare them with: the project file itself and the hole table.

The project file is read by ron.py, so that nothing goes through Keepside's writers but the hole table, which
tells the drills (CSV, read by Python's csv). Numbers in mm. The first argument of a script is the command line
program.
"""

import csv
import math
import os
import subprocess
import sys
import tempfile

import ron

ROOT = os.path.abspath(os.path.join(os.path.dirname(__file__), "..", ".."))
CLI = sys.argv[1]
DEMOS = ["row-marker", "drip-peg", "two-sprues-no-keys"]


def load(path):
    with open(path, encoding="utf-8") as file:
        return ron.read(file.read())["project"]


def export(path, kinds, folder):
    """The files that the command line writes, by name."""
    command = [CLI, "sheet", path, "--out", folder, "--only", kinds]
    done = subprocess.run(command, capture_output=True, text=True)
    assert done.returncode in (0, 1), done.stderr
    return [line for line in done.stdout.splitlines() if line]


def holes(path):
    """Rows of a hole table, by heading."""
    with open(path, newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def to_check(row):
    return "CHECK" in row["note"] or not row["drill diameter (mm)"]


def seen(project, half, at):
    """A place of the plan on a plate seen on its parting face."""
    width = project["plates"]["width_mm"]
    return (width - at[0], at[1]) if half == "fixed" else (at[0], at[1])


def places(project):
    """Place in the plan of everything with a hole, by tag."""
    found = {}
    for letter, kind in (("S", "sprues"), ("K", "features"), ("E", "ejectors"), ("H", "holes")):
        for number, item in dict(project[kind]).items():
            found[f"{letter}{int(number)}"] = item["at"]
    return found


def from_wall(project, half, place):
    """How far a place on a face lies outside the channel, below 0 inside; round and square ends as they are."""
    plan = seen(project, half, place)
    nearest = math.inf
    for run in project["part"]["runs"].values():
        points = run["points"]
        for index, (a, b) in enumerate(zip(points, points[1:])):
            (x, y), (u, v), bulge = a["at"], b["at"], a["bulge"]
            chord = math.hypot(u - x, v - y)
            if chord == 0:
                continue
            assert a["width_mm"] == b["width_mm"], "channels of one width only are compared"
            if bulge:
                factor = (1 - bulge * bulge) / (4 * bulge)
                cx, cy = (x + u) / 2 - (v - y) * factor, (y + v) / 2 + (u - x) * factor
                radius = math.hypot(x - cx, y - cy)
                sweep, start = 4 * math.atan(bulge), math.atan2(y - cy, x - cx)
                turn = (math.atan2(plan[1] - cy, plan[0] - cx) - start) * math.copysign(1, sweep) % math.tau
                if turn <= abs(sweep):
                    nearest = min(nearest, abs(math.hypot(plan[0] - cx, plan[1] - cy) - radius) - a["width_mm"] / 2)
                along = None
            else:
                along = ((plan[0] - x) * (u - x) + (plan[1] - y) * (v - y)) / chord
                if 0 <= along <= chord:
                    across = abs((plan[0] - x) * (v - y) - (plan[1] - y) * (u - x)) / chord
                    distance = across - a["width_mm"] / 2
                    # A square end is a wall too.
                    if index == 0 and run["start"] == "Square":
                        distance = max(distance, -along)
                    if index == len(points) - 2 and run["end"] == "Square":
                        distance = max(distance, along - chord)
                    nearest = min(nearest, distance)
            for end, rounded in (
                ((x, y), index > 0 or run["start"] == "Round"),
                ((u, v), index < len(points) - 2 or run["end"] == "Round"),
            ):
                if rounded:
                    nearest = min(nearest, math.dist(plan, end) - a["width_mm"] / 2)
    return nearest


def stress(folder):
    """A project of sixty screws with names in other scripts, made of a demo project's file; its path."""
    with open(os.path.join(ROOT, "demo-projects", "row-marker.keepside"), encoding="utf-8") as file:
        text = file.read()
    names = ["Κλειδί αριστερά", "Ключ слева", "左锁", "مفتاح أيسر", "100%%d ^J <&>", "Donaudampfschifffahrtsgesellschaft" * 3]
    features = ""
    for index in range(60):
        half = "Moving" if index % 2 == 0 else "Fixed"
        kind = "SetScrew(thread: M3, end: Socket)" if index % 3 else "CapHead(thread: M2, turned_mm: None, chamfer_mm: 0.0)"
        at = (31.0 + 3.0 * index, 50.0)
        features += (
            f'{100 + index}: (name: "{names[index % 6]}", at: {at}, half: {half}, kind: {kind}, protrusion_mm: 2.0, '
            "screw_length_mm: None, lock: Usual, measured: None),\n"
        )
    start = text.index("        features: {")
    end = text.index("        ejectors: {")
    text = text[:start] + "        features: {" + features + "},\n" + text[end:]
    text = text.replace('name: "Row marker"', 'name: "Größe Ω 测试 <&> %%d ^ (a)"')
    path = os.path.join(folder, "stress.keepside")
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)
    return path


def every_project(check):
    """Calls a check with each demo project and the stress project, and a folder of its own."""
    count = 0
    with tempfile.TemporaryDirectory() as folder:
        paths = [os.path.join(ROOT, "demo-projects", f"{name}.keepside") for name in DEMOS]
        for path in paths + [stress(folder)]:
            out = tempfile.mkdtemp(dir=folder)
            count += check(path, load(path), out)
    print(f"{os.path.basename(sys.argv[0])}: {count} comparisons, all well")
