"""SVG files measured by svgelements and drawn by resvg: true size, circles and channel in their places."""

import io
import math

import resvg_py
import svgelements
from PIL import Image

import comparing as ks

NEAR_MM = 0.05
DOTS_MM = 10


def shapes(svg, group):
    for found in svg.select(lambda element: isinstance(element, svgelements.Group) and element.id == group):
        yield from (element for element in found.select() if isinstance(element, svgelements.Shape))


def check(path, project, folder):
    files = ks.export(path, "svg,holes", folder)
    places, count = ks.places(project), 0
    width, height = project["plates"]["width_mm"], project["plates"]["height_mm"]
    for half in ("moving", "fixed"):
        [name] = [name for name in files if name.endswith(f"{half}-half.svg")]
        [table] = [name for name in files if name.endswith(f"holes-{half}-half.csv")]
        # A px of a 25.4th of an inch is a mm.
        svg = svgelements.SVG.parse(name, ppi=25.4)
        # svgelements takes a mm for 0.0393701 inch, half a millionth too much.
        assert abs(svg.width - width) < 1e-6 * width and abs(svg.height - height) < 1e-6 * height
        circles = []
        for circle in shapes(svg, "HOLES"):
            left, top, right, bottom = circle.bbox()
            circles.append(((left + right) / 2, height - (top + bottom) / 2, right - left))
        rows = [row for row in ks.holes(table) if not ks.to_check(row)]
        assert len(circles) == len(rows), f"{name}: {len(circles)} circles, {len(rows)} holes"
        for row in rows:
            x, y = ks.seen(project, half, places[row["tag"]])
            drill = float(row["drill diameter (mm)"])
            near = [c for c in circles if math.dist(c[:2], (x, y)) < NEAR_MM and abs(c[2] - drill) < NEAR_MM]
            assert near, f"{name}: {row['tag']} is not at {x}, {y}"
            count += 1
        walls = 0
        for channel in shapes(svg, "CHANNEL"):
            for segment in svgelements.Path(channel):
                if isinstance(segment, svgelements.Move):
                    continue
                for step in range(9):
                    place = segment.point(step / 8)
                    wall = abs(ks.from_wall(project, half, (place.x, height - place.y)))
                    assert wall < NEAR_MM, f"{name}: {place} is {wall} mm off the channel's wall"
                    walls += 1
        assert walls, "there is a channel"
        count += walls

        # Drawn: only the plate's edge and the channel's, in their own colours, at ten dots a mm.
        with open(name, encoding="utf-8") as file:
            text = file.read()
        drawn = bytes(resvg_py.svg_to_bytes(svg_string=text, dpi=25.4 * DOTS_MM, background="white"))
        picture = Image.open(io.BytesIO(drawn)).convert("RGB")
        assert picture.size == (round(width * DOTS_MM), round(height * DOTS_MM)), picture.size
        blue = picture.point(lambda level: level).load()
        dots = [
            (x, y)
            for y in range(picture.height)
            for x in range(picture.width)
            if blue[x, y][2] > 130 and blue[x, y][0] < 70 and blue[x, y][1] < 110
        ]
        # The line is a quarter of a mm wide, its middle is the wall; a dot's middle is half a dot in.
        for x, y in dots[:: max(1, len(dots) // 500)]:
            wall = abs(ks.from_wall(project, half, ((x + 0.5) / DOTS_MM, height - (y + 0.5) / DOTS_MM)))
            assert wall < 0.125 + 1.0 / DOTS_MM, f"{name}: a blue dot {wall} mm off the channel's wall"
            count += 1
        assert len(dots) > 500, "the channel is drawn"
    return count


def main():
    ks.every_project(check)


main()
