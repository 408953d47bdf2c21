"""Writes clearances_arcs_shapely.csv: areas and clearances of random channels with arcs, by Shapely (GEOS).

The channels have straight and bent legs of constant width, square and round ends, corners, junctions and loops.
GEOS knows no arcs: every arc of a wall is cut into chords that keep within CHORD_MM of it, and the bodies are
joined by GEOS. What that leaves is then computed exactly:

- Distances. GEOS says which place of the joined boundary is nearest to the pin. Every wall lies on a straight line
  or a circle that is known, so the distance is that to the line or circle that the place lies on. If the place is
  a corner, where two of them cross, it is that to the corner of the chords: chords move a crossing by CHORD_MM
  over the sine of its angle, under 2e-7 mm, as cases with a sine under 0.05 are not used.
- Areas. Chords cut segments off the arcs, at most 2/3 CHORD_MM deep on the mean all along the walls: under
  1e-5 mm2 for 1000 mm of wall.

Run: pip install shapely==2.2.0, then python clearances_arcs_shapely.py from this folder.
"""

import math
import random

import shapely
from shapely import Point, Polygon, union_all
from shapely.ops import nearest_points

CASES = 200
CHORD_MM = 1e-8
NEAR_MM = 5 * CHORD_MM


def chords(cx, cy, radius, start, sweep):
    """Points on an arc, both ends among them."""
    count = max(1, math.ceil(abs(sweep) / (2.0 * math.sqrt(2.0 * CHORD_MM / radius))))
    return [
        (cx + radius * math.cos(start + sweep * i / count), cy + radius * math.sin(start + sweep * i / count))
        for i in range(count + 1)
    ]


def arc_of(a, b, bulge):
    """Centre, radius, start angle and sweep of the arc whose bulge is the tangent of a quarter of its angle."""
    (ax, ay), (bx, by) = a, b
    k = (1.0 - bulge * bulge) / (4.0 * bulge)
    cx, cy = (ax + bx) / 2 - (by - ay) * k, (ay + by) / 2 + (bx - ax) * k
    return cx, cy, math.hypot(ax - cx, ay - cy), math.atan2(ay - cy, ax - cx), 4.0 * math.atan(bulge)


def bodies(run):
    """The bodies of a run, and the lines and circles that their walls lie on."""
    width, points = run["width"], run["points"]
    half = width / 2
    shapes, lines, circles, directions = [], [], [], []
    for (ax, ay, bulge), (bx, by, _) in zip(points, points[1:]):
        if bulge == 0.0:
            length = math.hypot(bx - ax, by - ay)
            tx, ty = (bx - ax) / length, (by - ay) / length
            nx, ny = -ty * half, tx * half
            shapes.append(Polygon([(ax - nx, ay - ny), (bx - nx, by - ny), (bx + nx, by + ny), (ax + nx, ay + ny)]))
            lines += [((ax + nx, ay + ny), (tx, ty)), ((ax - nx, ay - ny), (tx, ty))]
            lines += [((ax, ay), (-ty, tx)), ((bx, by), (-ty, tx))]
            directions.append(((tx, ty), (tx, ty)))
        else:
            cx, cy, radius, start, sweep = arc_of((ax, ay), (bx, by), bulge)
            outer, inner = radius + half, radius - half
            ring = chords(cx, cy, outer, start, sweep) + chords(cx, cy, inner, start + sweep, -sweep)
            shapes.append(Polygon(ring))
            circles += [(cx, cy, outer), (cx, cy, inner)]
            for angle in (start, start + sweep):
                lines.append(((cx, cy), (math.cos(angle), math.sin(angle))))
            way = math.copysign(1.0, sweep)
            directions.append(tuple((-way * math.sin(a), way * math.cos(a)) for a in (start, start + sweep)))
    # Corners between legs are rounded on the outer side about the run's point.
    for (before, after), (x, y, _) in zip(zip(directions, directions[1:]), points[1:]):
        (tx, ty), (ux, uy) = before[1], after[0]
        turn = math.atan2(tx * uy - ty * ux, tx * ux + ty * uy)
        if abs(turn) > 1e-9:
            start = math.atan2(-tx, ty) if turn > 0 else math.atan2(tx, -ty)
            shapes.append(Polygon([(x, y)] + chords(x, y, half, start, turn)))
            circles.append((x, y, half))
    for round_end, (x, y, _), (tx, ty), out in (
        (run["round"][0], points[0], directions[0][0], -1.0),
        (run["round"][1], points[-1], directions[-1][1], 1.0),
    ):
        if round_end:
            start = math.atan2(out * ty, out * tx) - math.pi / 2
            shapes.append(Polygon(chords(x, y, half, start, math.pi)))
            circles.append((x, y, half))
    return shapes, lines, circles


def distance(boundary, lines, circles, pin):
    """Exact distance of the pin from the walls; None for a corner too flat to be told exactly."""
    near = nearest_points(boundary, pin)[0]
    by_chords = near.distance(pin)
    tangents = []
    for (px, py), (tx, ty) in lines:
        if abs((near.x - px) * ty - (near.y - py) * tx) < NEAR_MM:
            tangents.append((tx, ty))
            exact = abs((pin.x - px) * ty - (pin.y - py) * tx)
            if abs(exact - by_chords) < NEAR_MM:
                return exact
    for cx, cy, radius in circles:
        dx, dy = near.x - cx, near.y - cy
        if abs(math.hypot(dx, dy) - radius) < NEAR_MM:
            tangents.append((-dy / radius, dx / radius))
            exact = abs(math.hypot(pin.x - cx, pin.y - cy) - radius)
            if abs(exact - by_chords) < NEAR_MM:
                return exact
    sines = [abs(a[0] * b[1] - a[1] * b[0]) for a in tangents for b in tangents]
    return by_chords if sines and max(sines) > 0.05 else None


def random_run(rng, start=None):
    """One to three legs, every bend wider than the channel; a quarter of the runs are closed to a loop."""
    width = rng.choice([2.0, 3.0, 4.0, 5.0, 6.0])
    x, y = start or (rng.uniform(20, 90), rng.uniform(20, 90))
    if rng.random() < 0.25:
        radius = rng.uniform(8, 25)
        points = [(x + radius, y, 1.0), (x - radius, y, 1.0), (x + radius, y, 0.0)]
        return {"width": width, "points": points, "round": (False, False)}
    points, heading = [], rng.uniform(-math.pi, math.pi)
    for _ in range(rng.randint(1, 3)):
        length = rng.uniform(14, 40)
        # A chord of 14 mm with a bulge of up to 0.8 has a radius of at least 7.2 mm.
        bulge = rng.choice([0.0, rng.uniform(0.1, 0.8), -rng.uniform(0.1, 0.8)])
        points.append((x, y, bulge))
        x, y = x + math.cos(heading) * length, y + math.sin(heading) * length
        heading += rng.uniform(-1.2, 1.2)
    points.append((x, y, 0.0))
    return {"width": width, "points": points, "round": (rng.random() < 0.5, rng.random() < 0.5)}


def place_on(run, rng):
    """A place off a leg's middle by up to the width, so that some pins stand across the wall or outside."""
    leg = rng.randrange(len(run["points"]) - 1)
    (ax, ay, bulge), (bx, by, _) = run["points"][leg], run["points"][leg + 1]
    share, off = rng.uniform(0.0, 1.0), rng.uniform(-0.8, 0.8) * run["width"]
    if bulge == 0.0:
        length = math.hypot(bx - ax, by - ay)
        return (
            ax + (bx - ax) * share - (by - ay) / length * off,
            ay + (by - ay) * share + (bx - ax) / length * off,
        )
    cx, cy, radius, start, sweep = arc_of((ax, ay), (bx, by), bulge)
    angle = start + sweep * share
    return cx + (radius + off) * math.cos(angle), cy + (radius + off) * math.sin(angle)


def main():
    rng = random.Random(4)
    lines = [
        "# Area of the union of channels with arcs, mm2, and clearance of a round pin to its boundary, mm: distance of",
        "# the pin's centre less its radius, the distance negative outside the channel.",
        f"# Computed by Shapely {shapely.__version__} (GEOS {shapely.geos_version_string}) with clearances_arcs_shapely.py, which says how",
        "# arcs are made exact; 12 significant digits printed. Runs: width, round start, round end, then x y bulge of",
        "# each point in mm, divided by semicolons, runs by a bar; the numbers given are the exact binary ones.",
        "case,runs,pin_x_mm,pin_y_mm,pin_diameter_mm,area_mm2,rings,gap_mm",
    ]
    case = 0
    while case < CASES:
        runs = [random_run(rng)]
        for _ in range(rng.randint(0, 2)):
            # Others branch off a point of the first, or lie anywhere.
            start = rng.choice(runs[0]["points"])[:2] if rng.random() < 0.6 else None
            runs.append(random_run(rng, start))
        parts = [bodies(run) for run in runs]
        # A hair wider than the seams between bodies that only touch by rounding.
        shapes = [shape for body in parts for shape in body[0]]
        part = union_all(shapes)
        seamless = union_all([shape.buffer(1e-10, join_style="mitre") for shape in shapes])
        rings = sum(1 + len(polygon.interiors) for polygon in getattr(seamless, "geoms", [seamless]))
        x, y = place_on(rng.choice(runs), rng)
        diameter = rng.choice([1.0, 1.6, 2.0, 2.5, 3.0, 4.0])
        pin = Point(x, y)
        inside = seamless.contains(pin)
        exact = distance(seamless.boundary, [l for b in parts for l in b[1]], [c for b in parts for c in b[2]], pin)
        if exact is None or not part.is_valid:
            continue
        gap = (exact if inside else -exact) - diameter / 2
        text = "|".join(
            f"{run['width']!r} {int(run['round'][0])} {int(run['round'][1])};"
            + ";".join(f"{px!r} {py!r} {bulge!r}" for px, py, bulge in run["points"])
            for run in runs
        )
        lines.append(f"{case},{text},{x!r},{y!r},{diameter!r},{part.area:.12g},{rings},{gap:.12g}")
        case += 1
    with open("clearances_arcs_shapely.csv", "w", encoding="utf-8") as out:
        out.write("\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
