"""Writes clearances_shapely.csv: areas and clearances of random channels, by Shapely (GEOS).

Every channel leg is a trapezium with square ends and the legs of one run lie on one line, so that the union is
made of straight lines only and GEOS is exact to rounding. Half of the cases lie on a grid, so that walls
coincide, touch and cross at corners; the others lie anywhere.

Run: pip install shapely==2.2.0, then python clearances_shapely.py from this folder.
"""

import math
import random

import shapely
from shapely import Point, Polygon, union_all

CASES = 200


def strip(run):
    """A run along one line as one polygon, so that its legs leave no crack of rounding's width between them."""
    (ax, ay, _), (bx, by, _) = run[0], run[-1]
    length = math.hypot(bx - ax, by - ay)
    nx, ny = -(by - ay) / length, (bx - ax) / length
    right = [(x - nx * w / 2, y - ny * w / 2) for x, y, w in run]
    left = [(x + nx * w / 2, y + ny * w / 2) for x, y, w in run]
    return Polygon(right + left[::-1])


def grid_run(rng):
    width = 2.0 * rng.randint(1, 4)
    x, y = 5.0 * rng.randint(2, 20), 5.0 * rng.randint(2, 20)
    length = 5.0 * rng.randint(1, 16)
    dx, dy = rng.choice([(1, 0), (0, 1), (-1, 0), (0, -1)])
    steps = rng.randint(1, 3)
    return [(x + dx * length * i / steps, y + dy * length * i / steps, width) for i in range(steps + 1)]


def free_run(rng):
    x, y = rng.uniform(10, 100), rng.uniform(10, 100)
    angle, length = rng.uniform(-math.pi, math.pi), rng.uniform(5, 80)
    steps = rng.randint(1, 3)
    shares = [0.0, *sorted(rng.uniform(0.2, 0.8) for _ in range(steps - 1)), 1.0]
    at = lambda share: (x + math.cos(angle) * length * share, y + math.sin(angle) * length * share)
    return [(*at(share), rng.uniform(2, 9)) for share in shares]


def main():
    rng = random.Random(20)
    lines = [
        "# Area of the union of straight channel legs with square ends, mm2, and clearance of a round pin to its",
        "# boundary, mm: distance of the pin's centre less its radius, the distance negative outside the channel.",
        f"# Computed by Shapely {shapely.__version__} (GEOS {shapely.geos_version_string}) with clearances_shapely.py; 12 significant digits",
        "# printed, so that lengths of up to 200 mm are within 1e-9 mm. Runs: x y width of each point in mm, points",
        "# divided by a semicolon, runs by a bar; the numbers given are the exact binary ones.",
        "case,runs,pin_x_mm,pin_y_mm,pin_diameter_mm,area_mm2,rings,gap_mm",
    ]
    for case in range(CASES):
        make = grid_run if case % 2 == 0 else free_run
        runs = [make(rng) for _ in range(rng.randint(1, 6))]
        part = union_all([strip(run) for run in runs])
        # A pin on a leg, off its middle by up to the width, so that some stand outside.
        run = rng.choice(runs)
        leg = rng.randrange(len(run) - 1)
        (ax, ay, aw), (bx, by, bw) = run[leg], run[leg + 1]
        share, off = rng.uniform(-0.1, 1.1), rng.uniform(-0.7, 0.7)
        length = math.hypot(bx - ax, by - ay)
        width = aw + (bw - aw) * share
        x = ax + (bx - ax) * share - (by - ay) / length * off * width
        y = ay + (by - ay) * share + (bx - ax) / length * off * width
        diameter = rng.choice([1.0, 1.6, 2.0, 2.5, 3.0, 4.0])
        pin = Point(x, y)
        distance = part.boundary.distance(pin)
        gap = (distance if part.contains(pin) else -distance) - diameter / 2
        polygons = getattr(part, "geoms", [part])
        rings = sum(1 + len(polygon.interiors) for polygon in polygons)
        text = "|".join(";".join(f"{px!r} {py!r} {w!r}" for px, py, w in run) for run in runs)
        lines.append(f"{case},{text},{x!r},{y!r},{diameter!r},{part.area:.12g},{rings},{gap:.12g}")
    with open("clearances_shapely.csv", "w", encoding="utf-8") as out:
        out.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
