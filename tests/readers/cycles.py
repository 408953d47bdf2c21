"""Drill cycles read by gcodeparser: the holes of the table, each drill once, never low between holes."""

import math
import os

from gcodeparser import parse_gcode_lines

import comparing as ks

SAFE_MM = 30.0


def check(path, project, folder):
    with open(path, encoding="utf-8") as file:
        text = file.read()
    wanted = text.replace("wanted: false", "wanted: true").replace("feed_mm_min: None", "feed_mm_min: Some(60.0)")
    assert wanted != text
    path = os.path.join(folder, "wanted.keepside")
    with open(path, "w", encoding="utf-8") as file:
        file.write(wanted)
    files = ks.export(path, "cycles,holes", folder)
    places, count = ks.places(project), 0
    for half in ("moving", "fixed"):
        [name] = [name for name in files if name.endswith(f"drill-{half}-half.nc")]
        [table] = [name for name in files if name.endswith(f"holes-{half}-half.csv")]
        thickness = project["plates"][f"{half}_thickness_mm"]
        with open(name, encoding="ascii") as file:
            # Comments in brackets are lines of their own, which this parser would take for words.
            program = "".join(line for line in file if not line.startswith(("(", "%")))
        drilled, tools, height = [], [], None
        for line in parse_gcode_lines(program):
            letter, number = line.command
            params = line.params
            if (letter, number) == ("G", 0):
                height = params.get("Z", height)
                assert height >= SAFE_MM, f"{name}: a move at {height}"
            elif letter == "G" and number in (81, 83):
                depth = params["Z"]
                assert depth < 0 < params["R"] <= SAFE_MM and height >= SAFE_MM and params["F"] == 60
                assert number == 81 or params["Q"] > 0
                drilled.append((params["X"], params["Y"], depth))
            elif letter == "T":
                tools.append(number)
        rows = [row for row in ks.holes(table) if not ks.to_check(row)]
        assert len(drilled) == len(rows), f"{name}: {len(drilled)} holes, not {len(rows)}"
        assert len(tools) == len({row["drill diameter (mm)"] for row in rows}), tools
        for row in rows:
            x, y = ks.seen(project, half, places[row["tag"]])
            drill = float(row["drill diameter (mm)"])
            through = row["depth (mm)"] == "THROUGH"
            full = thickness + 1 if through else float(row["depth (mm)"])
            depth = -(full + drill / 2 / math.tan(math.radians(59)))
            near = [h for h in drilled if math.dist(h[:2], (x, y)) < 0.001 and abs(h[2] - depth) < 0.003]
            assert near, f"{name}: {row['tag']} is not drilled at {x}, {y} to {depth}"
            count += 1
    return count


def main():
    ks.every_project(check)


main()
