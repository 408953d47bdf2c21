"""Drawings by other programs' libraries, and what they come to, for the tests of the importers.

    pip install ezdxf==1.4.5 svgwrite==1.4.3 svgelements==1.9.6      (all MIT)
    python make.py

ezdxf writes the DXF files and svgwrite the SVG files. What each layer (or group) comes to, its extent and
the length of its lines in mm, is worked out by ezdxf and svgelements from the same files, not by Keepside:
by chords off the curves by 1e-5 mm at most. The invented shapes mean nothing.
"""

import csv
import math
import os

import ezdxf
import svgelements
import svgwrite

HERE = os.path.dirname(os.path.abspath(__file__))
CHORD_MM = 1e-5


def draw(doc, modern):
    for name in ("LINES", "ROUND", "POLY", "BLOCKS", "CURVES", "REST"):
        doc.layers.add(name)
    space = doc.modelspace()
    on = lambda layer: {"layer": layer}
    space.add_line((10, 10), (60, 10), dxfattribs=on("LINES"))
    space.add_line((60, 40), (60, 10), dxfattribs=on("LINES"))
    space.add_circle((100, 30), 12.5, dxfattribs=on("ROUND"))
    space.add_arc((150, 30), 9, 300, 120, dxfattribs=on("ROUND"))
    # On the underside of the plane: x runs the other way.
    space.add_arc((-180, 30), 7, 10, 200, dxfattribs={"layer": "ROUND", "extrusion": (0, 0, -1)})
    points = [(10, 60, 0), (40, 60, 0.5), (40, 75, -0.3), (10, 75, 1.7)]
    if modern:
        space.add_lwpolyline(points, format="xyb", close=True, dxfattribs=on("POLY"))
    else:
        space.add_polyline2d(points, format="xyb", close=True, dxfattribs=on("POLY"))
    part = doc.blocks.new("PART", base_point=(1, 2))
    part.add_line((1, 2), (9, 2))
    part.add_arc((9, 5), 3, 270, 90)
    part.add_circle((3, 5), 1, dxfattribs=on("ROUND"))
    pair = doc.blocks.new("PAIR")
    pair.add_blockref("PART", (0, 0))
    pair.add_blockref("PART", (20, 5), dxfattribs={"rotation": 33, "xscale": -1.5, "yscale": 1.5})
    space.add_blockref("PAIR", (80, 80), dxfattribs={"layer": "BLOCKS", "rotation": 15})
    space.add_blockref("PART", (140, 80), dxfattribs={"layer": "BLOCKS", "xscale": 2, "yscale": 0.7})
    rows = space.add_blockref("PART", (10, 120), dxfattribs={"layer": "BLOCKS"})
    rows.grid((2, 3), (12, 18))
    space.add_text("not a line", dxfattribs=on("REST"))
    if modern:
        space.add_ellipse((100, 130), (20, 5), 0.4, 0.3, 4.0, dxfattribs=on("CURVES"))
        space.add_ellipse((160, 130), (0, 9), 0.5, dxfattribs=on("CURVES"))
        space.add_open_spline([(10, 160), (30, 190), (50, 140), (80, 180), (90, 160)], 3, dxfattribs=on("CURVES"))
        space.add_rational_spline(
            [(120, 160), (140, 160), (140, 180)], [1, math.sqrt(0.5), 1], 2, dxfattribs=on("CURVES")
        )
        space.add_hatch(dxfattribs=on("REST")).paths.add_polyline_path([(0, 0), (5, 0), (5, 5)])
        space.add_mtext("nor this", dxfattribs=on("REST"))


def dxf_lines(entity, layer_0="0"):
    """Layer and points of an entity and what its blocks hold."""
    if entity.dxftype() == "INSERT":
        layer = layer_0 if entity.dxf.layer == "0" else entity.dxf.layer
        for single in entity.multi_insert() if entity.mcount > 1 else [entity]:
            for inner in single.virtual_entities():
                yield from dxf_lines(inner, layer)
    elif entity.dxftype() not in ("TEXT", "MTEXT", "HATCH"):
        layer = layer_0 if entity.dxf.layer == "0" else entity.dxf.layer
        if entity.dxftype() in ("LWPOLYLINE", "POLYLINE"):
            for part in entity.virtual_entities():
                yield layer, points(part)
        else:
            yield layer, points(entity)


def points(entity):
    if entity.dxftype() == "LINE":
        found = [entity.dxf.start, entity.dxf.end]
    else:
        found = entity.flattening(CHORD_MM)
    return [(p.x, p.y) for p in found]


def draw_svg(name):
    svg = svgwrite.Drawing(os.path.join(HERE, name), size=("160mm", "120mm"), viewBox="-10 -20 320 240")
    paths = svg.add(svg.g(id="PATHS", fill="none", stroke="black"))
    paths.add(svg.path("M10 10 H60 v30 l-20,-5 Q 30 60 20 35 T 10 30 z"))
    paths.add(svg.path("M80 10 c20 0 30 20 10 30 s-20 30 10 30 q5 -10 15 0 t10 -10 a15 10 30 1 1 20 15 A9 9 0 0 0 150 60"))
    shapes = svg.add(svg.g(id="SHAPES", transform="translate(20 90) rotate(12) scale(1.5 0.8)"))
    shapes.add(svg.rect((0, 0), (40, 20), rx=4, ry=6))
    shapes.add(svg.circle((70, 12), 9))
    shapes.add(svg.ellipse((100, 12), (14, 6)))
    shapes.add(svg.polygon([(120, 0), (150, 5), (140, 25)]))
    used = svg.add(svg.g(id="USED"))
    symbol = svg.defs.add(svg.g(id="part"))
    symbol.add(svg.line((0, 0), (12, 0)))
    symbol.add(svg.circle((6, 5), 3))
    used.add(svg.use(symbol, insert=(20, 170)))
    used.add(svg.use(symbol, insert=(60, 170), transform="skewX(20)"))
    svg.add(svg.text("not a line", insert=(5, 5)))
    svg.save(pretty=True)


def svg_lines(name):
    """Group and points; y up from the lower edge, mm."""
    svg = svgelements.SVG.parse(os.path.join(HERE, name), ppi=25.4)
    for group in svg:
        if not isinstance(group, svgelements.Group):
            continue
        for element in group.select():
            if isinstance(element, svgelements.Shape):
                # Points are taken before the transform and then mapped: an arc of svgelements stays one with
                # axes square to each other, which a skewed circle has not.
                shape = svgelements.Path(element.segments(transformed=False))
                for piece in shape.as_subpaths():
                    points = []
                    for segment in svgelements.Path(piece):
                        if isinstance(segment, svgelements.Move):
                            continue
                        count = 1 if isinstance(segment, (svgelements.Line, svgelements.Close)) else 4000
                        along = [segment.point(i / count) for i in range(count + 1)]
                        points += [element.transform.point_in_matrix_space(p) for p in along]
                    yield group.id, [(p.x, 120 - p.y) for p in points]


def told(name, lines, rows):
    layers = {}
    for layer, points in lines:
        length, low, high = layers.setdefault(layer, [0.0, [math.inf] * 2, [-math.inf] * 2])
        length += sum(math.dist(a, b) for a, b in zip(points, points[1:]))
        low = [min([low[i]] + [p[i] for p in points]) for i in (0, 1)]
        high = [max([high[i]] + [p[i] for p in points]) for i in (0, 1)]
        layers[layer] = [length, low, high]
    for layer, (length, low, high) in sorted(layers.items()):
        rows.append([name, layer] + [f"{v:.4f}" for v in (length, *low, *high)])


def main():
    rows = []
    for version, modern in (("R12", False), ("R2000", True), ("R2018", True)):
        doc = ezdxf.new(version, units=4)
        draw(doc, modern)
        name = f"ezdxf-{version.lower()}.dxf"
        doc.saveas(os.path.join(HERE, name))
        lines = (line for entity in doc.modelspace() for line in dxf_lines(entity))
        told(name, lines, rows)
    draw_svg("svgwrite.svg")
    told("svgwrite.svg", svg_lines("svgwrite.svg"), rows)
    with open(os.path.join(HERE, "drawings.csv"), "w", newline="") as file:
        file.write("# Made by make.py here, with ezdxf 1.4.5, svgwrite 1.4.3 and svgelements 1.9.6; mm, y up; four digits\n")
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["file", "layer", "length_mm", "x_low_mm", "y_low_mm", "x_high_mm", "y_high_mm"])
        writer.writerows(rows)


main()
