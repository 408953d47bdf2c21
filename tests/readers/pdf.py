"""Reads the drilling sheets and templates back with pdfplumber and compares them with the project.

Usage: python pdf.py KEEPSIDE_CLI DEMO_FOLDER [KEEP_FOLDER]

What must be there is taken from the project file, by ron.py, and diameters from the CSV hole tables; nothing
of it goes through the writer of the PDF. Lengths agree to 0.05 mm, which is what a person can measure.
"""

import copy
import csv
import pathlib
import re
import subprocess
import sys
import tempfile

import pdfplumber

import ron
from ron import Struct, Tagged, Word

MM = 25.4 / 72
NEAR_MM = 0.05
# ISO 216 A4 and A3; Letter is 8.5 x 11 in.
PAPERS = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "Letter": (215.9, 279.4)}
NAMES = [
    "Αριστερό άγκιστρο",
    "Левый якорь",
    "左边的锚",
    "المرساة اليسرى",
    "Donaudampfschifffahrtsgesellschaftskapitänsmützenabzeichenhalterung",
]


def near(a, b):
    return abs(a - b) <= NEAR_MM


class Page:
    """What a page shows, in mm from the paper's lower left corner."""

    def __init__(self, page):
        self.width, self.height = float(page.width) * MM, float(page.height) * MM
        self.text = page.extract_text()
        words = page.extract_words(x_tolerance=1.5, keep_blank_chars=False)
        self.words = [(w["text"], w["x0"] * MM, self.height - w["bottom"] * MM) for w in words]
        place = lambda thing: (
            thing["x0"] * MM,
            self.height - thing["bottom"] * MM,
            thing["x1"] * MM,
            self.height - thing["top"] * MM,
        )
        self.boxes = [place(rect) for rect in page.rects if rect["stroke"]]
        # A closed path of four curves as wide as high: a circle.
        self.circles = []
        for curve in page.curves:
            x0, y0, x1, y1 = place(curve)
            if curve["stroke"] and near(x1 - x0, y1 - y0) and len(curve["pts"]) >= 5:
                kinds = [step[0] for step in curve["path"]]
                if kinds.count("c") == 4:
                    self.circles.append(((x0 + x1) / 2, (y0 + y1) / 2, x1 - x0))
        self.lines = [place(line) for line in page.lines]

    def has_circle(self, x, y, diameter):
        return any(near(cx, x) and near(cy, y) and near(d, diameter) for cx, cy, d in self.circles)

    def plate(self, width, height):
        found = [(x0, y0) for x0, y0, x1, y1 in self.boxes if near(x1 - x0, width) and near(y1 - y0, height)]
        assert len(found) == 1, f"{len(found)} rectangles of {width} x {height} mm"
        return found[0]

    def bars(self):
        level = [l for l in self.lines if near(l[2] - l[0], 100) and near(l[1], l[3])]
        upright = [l for l in self.lines if near(l[3] - l[1], 100) and near(l[0], l[2])]
        return len(level), len(upright)

    def rows(self):
        """The words of each line of text, from left to right."""
        lines = {}
        # Left of the frame stand grid references.
        for text, x, y in (word for word in self.words if word[1] > 20):
            key = next((known for known in lines if abs(known - y) < 0.8), y)
            lines.setdefault(key, []).append((x, text))
        return [[text for _, text in sorted(line)] for _, line in sorted(lines.items(), reverse=True)]


class Mould:
    """What the project file says, without help of the program."""

    def __init__(self, project):
        self.project = project
        self.width = project["plates"]["width_mm"]
        self.height = project["plates"]["height_mm"]
        self.places = {}
        for kind, letter in [("sprues", "S"), ("features", "K"), ("ejectors", "E"), ("holes", "H")]:
            for number, item in project[kind].items():
                halves = {"ejectors": ["Moving"], "holes": ["Moving", "Fixed"]}.get(kind) or [item["half"]]
                self.places[f"{letter}{number}"] = (item["at"], halves)

    def of(self, half, back=False):
        """Places seen in a view, from the lower left corner of the plate."""
        mirrored = (half == "Fixed") != back
        seen = lambda at: (self.width - at[0], at[1]) if mirrored else at
        return {tag: seen(at) for tag, (at, halves) in self.places.items() if half in halves}

    def datum(self, half, back=False):
        datum = self.project["sheet"]["datum"]
        if isinstance(datum, Tagged):
            return self.of(half, back)[f"H{datum.value[0]}"]
        return (self.width / 2, self.height / 2) if datum == "Centre" else (0.0, 0.0)


def check_sheet(mould, pages, tables, paper):
    project = mould.project
    for page in pages:
        check_paper(page, paper)
        assert page.bars()[0] == 1, f"{page.bars()} bars of 100 mm"
        assert "Print at 100 %, no fitting to the page. Measure: 100 mm." in page.text
    scale = re.search(r"1:(\d+) on ", pages[0].text)
    scale = int(scale.group(1))
    for half in ["Moving", "Fixed"]:
        places, datum = mould.of(half), mould.datum(half)
        [page] = [p for p in pages if f"{half} half, seen on its parting face" in p.text]
        left, low = page.plate(mould.width / scale, mould.height / scale)
        for tag, row in tables[half].items():
            x, y = places[tag]
            # The finished hole: reamed if it is, else drilled.
            diameter = float(row["ream diameter (mm)"] or row["drill diameter (mm)"])
            ok = page.has_circle(left + x / scale, low + y / scale, diameter / scale)
            assert ok, f"{tag}: no circle of {diameter} at {x}, {y}"
        assert set(tables[half]) == set(places)
        charts = [p for p in pages if f"Holes of the {half.lower()} half" in p.text]
        charted = {}
        for row in (row for page in charts for row in page.rows()):
            if row[0] in places and len(row) > 3:
                assert row[0] not in charted, f"{row[0]} twice"
                charted[row[0]] = row
        assert set(charted) == set(places), set(places) ^ set(charted)
        for tag, row in charted.items():
            x, y, drill = (float(cell) for cell in row[1:4])
            assert near(x, places[tag][0] - datum[0]) and near(y, places[tag][1] - datum[1]), row
            assert near(drill, float(tables[half][tag]["drill diameter (mm)"])), row
            depth = tables[half][tag]["depth (mm)"]
            assert row[4] == depth or near(float(row[4]), float(depth)), row
            thread = tables[half][tag]["tap"]
            assert not thread or row[5:7] == ["tap", thread], row
        if project["sheet"]["back_views"]:
            seen = mould.of(half, back=True)
            [page] = [p for p in pages if f"{half} half, SEEN FROM THE BACK" in p.text]
            left, low = page.plate(mould.width / scale, mould.height / scale)
            for number, hole in project["holes"].items():
                x, y = seen[f"H{number}"]
                assert page.has_circle(left + x / scale, low + y / scale, hole["diameter_mm"] / scale)


def check_template(mould, pages, paper):
    for half in ["Moving", "Fixed"]:
        for back in [False, True] if mould.project["sheet"]["back_views"] else [False]:
            title = f"{half} half, SEEN FROM THE BACK" if back else f"{half} half, seen on its parting face"
            places = mould.of(half, back)
            found = set()
            tiles = [page for page in pages if title in page.text]
            # A back on which nothing is to be marked has none.
            assert tiles or back, f"no template of the {half.lower()} half"
            for page in tiles:
                check_paper(page, paper)
                level, upright = page.bars()
                assert level >= 1 and upright >= 1, f"{page.bars()} bars of 100 mm"
                found |= marked(page, places)
            assert back or found == set(places), set(places) ^ found


def marked(page, places):
    """The holes whose centres a tile marks: its marks must all lie on holes, the tile as a whole put right."""
    marks = [(x, y) for x, y, d in page.circles if near(d, 2.0)]
    if not marks:
        return set()
    for x0, y0 in places.values():
        by = (x0 - marks[0][0], y0 - marks[0][1])
        hit = {
            tag
            for tag, (x, y) in places.items()
            if any(near(x - by[0], mx) and near(y - by[1], my) for mx, my in marks)
        }
        if len(hit) >= len(marks) and all(
            any(near(x - by[0], mx) and near(y - by[1], my) for x, y in places.values()) for mx, my in marks
        ):
            # The tags beside the marks are those of these holes.
            if hit <= {text for text, _, _ in page.words}:
                return hit
    raise AssertionError(f"{len(marks)} marks that are not those of the holes")


def check_paper(page, paper):
    short, long = PAPERS[paper]
    sides = sorted((page.width, page.height))
    assert near(sides[0], short) and near(sides[1], long), f"{sides} is not {paper}"


def crowded(demo):
    """Sixty screws in a big plate."""
    project = copy.deepcopy(demo)
    project["name"] = "Sixty"
    project["plates"]["width_mm"], project["plates"]["height_mm"] = 400.0, 300.0
    pattern = next(iter(project["features"].values()))
    for index in range(60):
        feature = copy.deepcopy(pattern)
        feature["name"] = f"pin {index}"
        feature["kind"] = Tagged("SetScrew", Struct(thread=Word(["M3", "M4", "M5"][index % 3]), end=Word("Socket")))
        feature["at"] = (17.0 + 38.3 * (index % 10) + index / 10, 90.5 + 33.3 * (index // 10))
        feature["half"] = Word("Moving" if index % 4 else "Fixed")
        project["features"][500 + index] = feature
    return project


def named(demo):
    """Long names in other scripts."""
    project = copy.deepcopy(demo)
    project["name"] = " · ".join(NAMES)
    things = [thing for kind in ["sprues", "features", "ejectors", "holes", "vents"] for thing in project[kind].values()]
    for index, thing in enumerate(things):
        thing["name"] = NAMES[index % len(NAMES)]
    project["material"]["name"] = NAMES[4] + " " + NAMES[1]
    for index, field in enumerate(["drawing_number", "legal_owner", "creator", "approved_by", "date_of_issue", "revision"]):
        project["sheet"][field] = NAMES[index % len(NAMES)]
    return project


def make(cli, folder, stem, document):
    path = folder / f"{stem}.keepside"
    path.write_text(ron.write(document), encoding="utf-8")
    out = folder / stem
    done = subprocess.run(
        [cli, "sheet", path, "--out", out, "--only", "drilling,template,holes"], capture_output=True, text=True
    )
    assert done.returncode in (0, 1), done.stderr
    return out


def main():
    cli, demos = sys.argv[1], pathlib.Path(sys.argv[2])
    keep = sys.argv[3] if len(sys.argv) > 3 else None
    documents = {path.stem: ron.read(path.read_text(encoding="utf-8")) for path in sorted(demos.glob("*.keepside"))}
    assert documents, f"no projects in {demos}"
    demo = documents["row-marker"]
    for name, change in [("sixty", crowded), ("names", named)]:
        documents[name] = Struct(demo, project=change(demo["project"]))
    with tempfile.TemporaryDirectory() as made:
        folder = pathlib.Path(keep or made)
        folder.mkdir(exist_ok=True)
        count = 0
        for name, document in documents.items():
            pins = [number for number, hole in document["project"]["holes"].items() if hole["purpose"] == "GuidePin"]
            datums = [Word("LowerLeft"), Word("Centre")] + [Tagged("GuidePin", (pin,)) for pin in pins[:1]]
            for (paper, back), datum in zip([("A4", False), ("A3", True), ("Letter", True)] * 3, [d for d in datums for _ in range(3)]):
                changed = copy.deepcopy(document)
                sheet = changed["project"]["sheet"]
                sheet["paper"], sheet["back_views"], sheet["datum"] = Word(paper), back, datum
                stem = f"{name}-{paper}-{getattr(datum, 'name', datum)}"
                out = make(cli, folder, stem, changed)
                mould = Mould(changed["project"])
                tables = {}
                for half in ["Moving", "Fixed"]:
                    [table] = out.glob(f"*-holes-{half.lower()}-half.csv")
                    with open(table, newline="", encoding="utf-8") as file:
                        tables[half] = {row["tag"]: row for row in csv.DictReader(file)}
                try:
                    for kind in ["drilling-sheet", "template"]:
                        [path] = out.glob(f"*-{kind}.pdf")
                        with pdfplumber.open(path) as file:
                            pages = [Page(page) for page in file.pages]
                        if kind == "template":
                            check_template(mould, pages, paper)
                        else:
                            check_sheet(mould, pages, tables, paper)
                        count += len(pages)
                except AssertionError as error:
                    sys.exit(f"pdf: {stem}: {error}")
        print(f"pdf: {count} pages of {len(documents)} projects agree with the projects to {NEAR_MM} mm")


if __name__ == "__main__":
    main()
