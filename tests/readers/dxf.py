"""DXF files read by ezdxf: no faults, the right layers, circles, channel and unit."""

import math

import ezdxf
from ezdxf.lldxf.encoding import decode_dxf_unicode

import comparing as ks

# Numbers are written with nine decimals.
NEAR_MM = 1e-6
LAYERS = {
    "0", "PLATE", "CHANNEL", "CHANNEL-CENTRE", "HOLES", "FINISHED", "THREADS", "HEADS", "VENTS", "CENTRE-MARKS",
    "OTHER-HALF", "CHECK-FIRST", "TEXT",
}
NOMINAL_MM = {"M2": 2, "M2.5": 2.5, "M3": 3, "M4": 4, "M5": 5, "M6": 6, "M8": 8}


def circles(space, layer):
    found = space.query(f'CIRCLE[layer=="{layer}"]')
    return sorted((round(c.dxf.center.x, 6), round(c.dxf.center.y, 6), round(2 * c.dxf.radius, 6)) for c in found)


def same(found, expected, what):
    expected = sorted((round(x, 6), round(y, 6), round(d, 6)) for x, y, d in expected)
    assert len(found) == len(expected), f"{what}: {len(found)} circles, not {len(expected)}"
    for a, b in zip(found, expected):
        # The hole table has three decimals; places come from the project itself.
        assert math.dist(a[:2], b[:2]) < NEAR_MM * 4 and abs(a[2] - b[2]) <= 0.0006, f"{what}: {a} is not {b}"
    return len(found)


def check(path, project, folder):
    files = ks.export(path, "dxf,holes", folder)
    places, count = ks.places(project), 0
    for half in ("moving", "fixed"):
        [dxf] = [name for name in files if name.endswith(f"{half}-half.dxf")]
        [table] = [name for name in files if name.endswith(f"holes-{half}-half.csv")]
        doc = ezdxf.readfile(dxf)
        audit = doc.audit()
        assert not audit.errors and not audit.fixes, (audit.errors, audit.fixes)
        assert doc.dxfversion == "AC1009", doc.dxfversion
        assert (doc.header["$INSUNITS"], doc.header["$MEASUREMENT"]) == (4, 1)
        names = {layer.dxf.name for layer in doc.layers}
        # ezdxf adds a layer of its own.
        assert names - {"Defpoints"} == LAYERS, names
        space = doc.modelspace()
        assert {entity.dxf.layer for entity in space} <= LAYERS - {"0"}

        rows = ks.holes(table)
        expected = {"HOLES": [], "FINISHED": [], "THREADS": [], "CHECK-FIRST": []}
        for row in rows:
            x, y = ks.seen(project, half, places[row["tag"]])
            drill = row["drill diameter (mm)"]
            if ks.to_check(row):
                expected["CHECK-FIRST"] += [(x, y, float(drill))] if drill else []
                continue
            expected["HOLES"].append((x, y, float(drill)))
            if row["ream diameter (mm)"]:
                expected["FINISHED"].append((x, y, float(row["ream diameter (mm)"])))
            if row["tap"]:
                expected["THREADS"].append((x, y, NOMINAL_MM[row["tap"]]))
        for layer, circle in expected.items():
            count += same(circles(space, layer), circle, f"{dxf} {layer}")
        crosses = space.query('LINE[layer=="CENTRE-MARKS"]')
        assert len(crosses) == 2 * sum(not ks.to_check(row) for row in rows)

        # The channel: each end meets one other, and every place of it lies on a wall of the runs.
        ends = []
        for piece in space.query('*[layer=="CHANNEL"]'):
            assert piece.dxftype() in ("LINE", "ARC")
            if piece.dxftype() == "LINE":
                a, b = piece.dxf.start, piece.dxf.end
                along = [a.lerp(b, i / 8) for i in range(9)]
            else:
                a, b = piece.start_point, piece.end_point
                along = piece.flattening(1e-3)
            ends += [a, b]
            for place in along:
                wall = abs(ks.from_wall(project, half, (place.x, place.y)))
                assert wall < 1e-5, f"{dxf}: {place} is {wall} mm off the channel's wall"
                count += 1
        for index, end in enumerate(ends):
            meets = sum(end.distance(other) < NEAR_MM for other in ends)
            assert meets == 2, f"{dxf}: {meets - 1} ends meet at {end}"
        plate = [line.dxf.end for line in space.query('LINE[layer=="PLATE"]')]
        assert max(p.x for p in plate) == project["plates"]["width_mm"] and min(p.x for p in plate) == 0
        assert max(p.y for p in plate) == project["plates"]["height_mm"] and min(p.y for p in plate) == 0
        texts = {decode_dxf_unicode(text.dxf.text) for text in space.query("TEXT")}
        assert {row["tag"] for row in rows} <= texts
        title = project["name"].replace("%%", "% %").replace("^", "^ ")
        assert any(text.startswith(title) and half in text for text in texts), texts
    return count


def main():
    ks.every_project(check)


main()
