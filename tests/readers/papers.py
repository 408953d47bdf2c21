"""Reads shop list, trial card and report back with pdfplumber (MIT) and compares them with the JSON of the
command line's check and with the project file: nothing here goes through the program's own PDF code.

    python papers.py KEEPSIDE-CLI DEMO-FOLDER
"""

import collections
import csv
import json
import pathlib
import re
import subprocess
import sys
import tempfile

import pdfplumber

# A point is 1/72 inch: ISO 32000-1, 8.3.2.3.
MM = 25.4 / 72.0
# ISO 216 A4; ANSI/ASME Y14.1 Letter.
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}
# A printer does not reach the last 5 mm: common practice, no source.
EDGE_MM = 5.0

FAILED = []


def check(holds, what):
    if not holds:
        FAILED.append(what)


def squeezed(text):
    return "".join(text.split())


def run(cli, *args):
    done = subprocess.run([cli, *map(str, args)], capture_output=True, text=True, encoding="utf-8")
    if done.returncode not in (0, 1):
        sys.exit(f"{args}: exit code {done.returncode}\n{done.stderr}")
    return done.stdout


def crowded(text):
    """The row marker with sixty more features, and names in several scripts."""
    names = [
        "Πείρος με πολύ μακρύ όνομα για στενή στήλη",
        "Штифт удерживающий с очень длинным именем",
        "模具顶针位置编号十二号很长的名字",
        "دبوس تثبيت القالب باسم طويل",
        "Donaudampfschifffahrtsgesellschaftskapitänsmützenhalterstift",
    ]
    kinds = [
        "SetScrew(thread: M4, end: Socket)",
        "SetScrew(thread: M3, end: Cone)",
        "CapHead(thread: M2, turned_mm: Some(3.5), chamfer_mm: 0.2)",
        "SetScrew(thread: M2_5, end: Dog)",
        "PlainPost(diameter_mm: 2.0)",
    ]
    more = "".join(
        f'{100 + i}: (name: "{names[i % 5]}", at: ({32 + 3 * i}.0, 50.0), half: {"Moving" if i % 4 else "Fixed"}, '
        f"kind: {kinds[i % 5]}, protrusion_mm: 1.6),\n"
        for i in range(60)
    )
    text = text.replace("features: {", "features: {\n" + more, 1)
    text = text.replace('name: "Row marker"', f'name: "{" ".join(names)}"', 1)
    return text.replace("drawer: []", "drawer: [M4]", 1)


def ids(text, kind):
    """Numbers of the items of a kind, read from the project file by its indentation."""
    block = re.search(rf"^( *){kind}: \{{(.*?)^\1\}}", text, re.M | re.S)
    return [int(number) for number in re.findall(r"^\s*(\d+): \(", block[2], re.M)] if block else []


def spaced(chars):
    text, end, line = "", 0.0, 0.0
    for char in chars:
        follows = abs(char["x0"] - end) < 0.5 and abs(char["bottom"] - line) < 0.5
        text += char["text"] if follows else " " + char["text"]
        end, line = char["x1"], char["bottom"]
    return text


class Paper:
    """A PDF: what is written, in the order of writing, without spaces."""

    def __init__(self, path, name):
        self.name = name
        with pdfplumber.open(path) as pdf:
            self.sizes = [(float(page.width) * MM, float(page.height) * MM) for page in pdf.pages]
            self.pages = [page.chars for page in pdf.pages]
        self.page_texts = [squeezed("".join(char["text"] for char in chars)) for chars in self.pages]
        self.text = "".join(self.page_texts)
        # Words, for tags: a letter that does not follow on the one before begins another.
        self.words = set(re.split(r"[^A-Za-z0-9]+", " ".join(map(spaced, self.pages))))

    def tells(self, words):
        check(squeezed(words) in self.text, f"{self.name}: not told: {words}")

    def looks_right(self, size, upright):
        width, height = size if upright else size[::-1]
        for number, (got, chars) in enumerate(zip(self.sizes, self.pages), 1):
            where = f"{self.name}, page {number}"
            off = max(abs(got[0] - width), abs(got[1] - height))
            check(off <= 0.05, f"{where}: {got} mm is not {width} x {height}")
            check(f"{number}of{len(self.pages)}" in self.page_texts[number - 1], f"{where}: has no number")
            taken = collections.defaultdict(list)
            for char in chars:
                if not char["text"].strip():
                    continue
                box = [char["x0"] * MM, char["top"] * MM, char["x1"] * MM, char["bottom"] * MM]
                inside = min(box[0], box[1], got[0] - box[2], got[1] - box[3]) >= EDGE_MM - 1.5
                check(inside, f"{where}: {char['text']} at {box} runs off the page")
                # The middle of a letter lies in the middle of no other; kerned neighbours may touch.
                x, y = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
                half = (box[2] - box[0]) / 4, (box[3] - box[1]) / 5
                cell = (int(x // 5), int(y // 5))
                near = [taken[cell[0] + i, cell[1] + j] for i in (-1, 0, 1) for j in (-1, 0, 1)]
                for ox, oy, ohalf, other in (one for some in near for one in some):
                    apart = abs(x - ox) >= half[0] + ohalf[0] or abs(y - oy) >= half[1] + ohalf[1]
                    # Marks above a letter are characters of their own.
                    check(apart, f"{where}: {char['text']} lies over {other} at {x:.1f}, {y:.1f}")
                taken[cell].append((x, y, half, char["text"]))


def released(release, holds):
    how = {"let-go": "lets go", "broke": "breaks"}[release["how"]]
    return f"{release['opening_mm']:.2f} {holds[release['hold']]['name']} {how}"


def report(paper, told):
    if told["verdict"] is None:
        paper.tells("No verdict.")
        paper.tells(told["not_computed"]["message"])
        return
    holds = told["holds"]
    paper.tells(told["verdict"]["words"] + ".")
    if told["verdict"]["deciding_hold"] is not None:
        paper.tells(f"Decided by {holds[told['verdict']['deciding_hold']]['name']}.")
    if told["margin"] and told["margin"]["factor"] is not None:
        paper.tells(f"Margin {told['margin']['factor']:.2f}: the verdict flips")
    at = paper.text.find("Orderofrelease")
    for release in told["releases"]:
        found = paper.text.find(squeezed(released(release, holds)), at)
        check(found >= 0, f"{paper.name}: not in order: {released(release, holds)}")
        at = max(at, found)
    for hold in holds:
        paper.tells(f"{hold['capacity_n']:.1f} {hold['peak_n']:.1f} {hold['let_go_travel_mm']:.2f}")
    for stretch in told["stretches"]:
        paper.tells(f"{stretch['from_mm']:.1f} {stretch['to_mm']:.1f}")
    paper.tells(f"Out of flat over all: {told['flatness_mm']:.2f} mm.")
    paper.tells(f"{told['energy']['work_mj']:.1f} 100.0")
    if told["stripping"]:
        paper.tells(told["stripping"]["words"] + ".")
    severity = collections.Counter(finding["severity"] for finding in told["findings"])
    paper.tells(f"{severity['fault']} faults, {severity['warning']} warnings, {severity['note']} notes.")
    at = 0
    for finding in told["findings"]:
        found = paper.text.find(squeezed(finding["message"]), at)
        check(found >= 0, f"{paper.name}: finding missing or out of order: {finding['message']}")
        paper.tells(finding["cure"])
        at = max(at, found)
    paper.tells(f"Made with Keepside {told['program_version']}.")


def trial_card(paper, told, text):
    for letter, kind in zip("RSVKHE", ["runs", "sprues", "vents", "features", "holes", "ejectors"]):
        for number in ids(text, kind):
            check(f"{letter}{number}" in paper.words, f"{paper.name}: {letter}{number} has no row")
    for hold in told["holds"]:
        if hold["kind"] in ("sprue", "feature"):
            words = {"let-go": "lets go at", "broke": "breaks at"}.get(hold["state"])
            paper.tells(f"{words} {hold['released_at_opening_mm']:.2f} mm" if words else "holds")
    for bump in told["bumps"]:
        paper.tells(f"{abs(bump['height_mm']):.2f} mm, kink")
    for words in ["Shot 4", "closing platens crush", "Date, shot number"]:
        paper.tells(words)
    for kind, words in [("sprues", "slid out"), ("features", "torn plug"), ("vents", "flash")]:
        if ids(text, kind):
            paper.tells(words)


def shop_list(paper, path, text):
    with open(path, encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        paper.tells(f"{row['count'] or '–'} {row['what']} {row['size (mm)']}")

    def tags(*groups):
        counted = [row for row in rows if row["group"] in groups]
        found = [tag for row in counted for tag in row["for"].split("; ")]
        check(sum(int(row["count"]) for row in counted) == len(found), f"{paper.name}: {groups} miscounted")
        return found

    keyed = [tag for tag in tags("Screws", "Turned heads and posts") if not tag.startswith("behind ")]
    for letter, kind, found in [
        ("K", "features", keyed),
        ("E", "ejectors", tags("Ejector pins")),
        ("H", "holes", tags("Bolts and guide pins")),
    ]:
        wanted = sorted(f"{letter}{number}" for number in ids(text, kind))
        check(sorted(found) == wanted, f"{paper.name}: {kind} {found} are not {wanted}")
    for row in rows:
        for tag in re.findall(r"[A-Z]\d+", row["for"]):
            check(tag in paper.words, f"{paper.name}: {tag} is not on the list")
        drawer = row["group"] == "Screws" and row["size (mm)"].startswith("M4 ") and "drawer: [M4]" in text
        check((row["in the drawer"] == "yes") == drawer, f"{paper.name}: drawer of {row}")


def main():
    cli, demos = sys.argv[1], pathlib.Path(sys.argv[2])
    projects = {path.stem: path.read_text(encoding="utf-8") for path in sorted(demos.glob("*.keepside"))}
    projects["crowded"] = crowded(projects["row-marker"])
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        for name, text in projects.items():
            project = folder / f"{name}.keepside"
            size = "Letter" if name == "drip-peg" else "A4"
            text = text.replace("paper: Automatic", f"paper: {size}", 1)
            project.write_text(text, encoding="utf-8")
            told = json.loads(run(cli, "check", project, "--json"))
            out = folder / name
            run(cli, "sheet", project, "--out", out, "--only", "shopping,trial,report")
            size = PAPERS[size]
            papers = {}
            for kind in ["shop-list", "trial-card", "report"]:
                (path,) = out.glob(f"*{kind}.pdf")
                papers[kind] = Paper(path, f"{name}, {kind}")
                papers[kind].looks_right(size, kind != "trial-card")
            (listed,) = out.glob("*shop-list.csv")
            report(papers["report"], told)
            trial_card(papers["trial-card"], told, text)
            shop_list(papers["shop-list"], listed, text)
            print(f"{name}: {sum(len(paper.pages) for paper in papers.values())} pages read")
    for what in FAILED[:40]:
        print("FAULT", what)
    if FAILED:
        sys.exit(f"{len(FAILED)} faults")


if __name__ == "__main__":
    main()
