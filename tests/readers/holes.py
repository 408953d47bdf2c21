"""Hole tables read by Python's csv: every hole of the project once, by its name, where it is."""


import comparing as ks


def check(path, project, folder):
    files = ks.export(path, "holes", folder)
    count = 0
    for half in ("moving", "fixed"):
        [table] = [name for name in files if name.endswith(f"holes-{half}-half.csv")]
        with open(table, "rb") as file:
            assert all(line.endswith(b"\r\n") for line in file), "RFC 4180 ends its lines so"
        rows = {row["tag"]: row for row in ks.holes(table)}
        assert len(rows) == len(ks.holes(table)), "a tag stands twice"
        expected = {}
        for letter, kind in (("S", "sprues"), ("K", "features"), ("E", "ejectors"), ("H", "holes")):
            for number, item in dict(project[kind]).items():
                of = item.get("half", "moving" if kind == "ejectors" else half)
                if of.lower() == half:
                    expected[f"{letter}{int(number)}"] = item
        assert rows.keys() == expected.keys(), rows.keys() ^ expected.keys()
        for tag, item in expected.items():
            x, y = ks.seen(project, half, item["at"])
            row = rows[tag]
            assert row["name"] == item["name"], row
            # Three decimals; the datum of these projects is the lower left corner.
            assert abs(float(row["x (mm)"]) - x) < 0.0006 and abs(float(row["y (mm)"]) - y) < 0.0006, row
            count += 1
    return count


def main():
    ks.every_project(check)


main()
