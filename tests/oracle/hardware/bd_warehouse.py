"""Writes bd_warehouse.csv: what the open part library bd_warehouse (Apache-2.0) says of screws from M2 to M8.

Only its data files are read; its copy of each number is printed as it stands there.

Run: pip download --no-deps bd_warehouse==0.4.0, unpack the wheel, then
python bd_warehouse.py <folder that holds the package bd_warehouse> from this folder.
"""

import csv
import pathlib
import sys

SIZES = {"M2": "0.4", "M2.5": "0.45", "M3": "0.5", "M4": "0.7", "M5": "0.8", "M6": "1", "M8": "1.25"}
HEADER = """\
# Screws from M2 to M8, mm, as in the data files of bd_warehouse 0.4.0 (Apache-2.0), written by bd_warehouse.py:
# tap drill in soft metal; clearance holes; cap screws (iso4762): largest knurled head, height, socket, socket
# depth, shortest and longest length; set screws (iso4026): socket, depth of the long socket, shortest and longest
# length. Then, under series, the nominal lengths of both, up to 80 mm.
"""


def table(folder, name):
    with open(folder / f"{name}.csv", newline="") as file:
        return {row["Size"] if "Size" in row else row["Screw_Type"]: row for row in csv.DictReader(file)}


def main():
    folder = pathlib.Path(sys.argv[1]) / "bd_warehouse" / "data"
    taps, holes = table(folder, "tap_hole_sizes"), table(folder, "clearance_hole_sizes")
    caps, sets = table(folder, "socket_head_cap_parameters"), table(folder, "setscrew_parameters")
    series = table(folder, "nominal_screw_lengths")
    lines = ["size,tap_drill,close,normal,loose,dk,k,s,t,cap_short,cap_long,set_s,set_t,set_short,set_long"]
    for size, pitch in SIZES.items():
        thread = f"{size}-{pitch}"
        cap, grub, hole = caps[thread], sets[thread], holes[size]
        row = [size, taps[thread]["Soft"], hole["Close"], hole["Normal"], hole["Loose"]]
        row += [cap[f"iso4762:{key}"] for key in ("dk ", "k ", "s ", "t ", "short", "long")]
        row += [grub[f"iso4026:{key}"] for key in ("s", "t", "short", "long")]
        lines.append(",".join(value.strip() for value in row))
    for screw in ("iso4762", "iso4026"):
        lengths = series[screw]["Nominal_Sizes"].split(",")
        lines.append(f"series {screw} " + " ".join(length for length in lengths if float(length) <= 80.0))
    pathlib.Path("bd_warehouse.csv").write_text(HEADER + "\n".join(lines) + "\n")


main()
