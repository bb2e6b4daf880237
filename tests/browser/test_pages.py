"""The pages of an audit, as a person sees and prints them, in Chromium."""
import csv
import json
import os
import pathlib
import subprocess
import unittest

from pages import Pages

PROGRAM = pathlib.Path(os.environ["CANALRULE"])
HOSTILE = "K1 <script>alert('x')</script> \"quoted\""


def phantom(seed, tip_mm, gap):
    """A small film that is quickly measured; with a gap across the fill, or without."""
    canal = {"name": "1", "fill": {"terminus_mm": tip_mm, "coronal_mm": 11, "tip_diameter_mm": 0.35, "taper": 0.06}}
    if gap:
        canal["fill"]["defects"] = [{"kind": "across", "at_mm": 5.5, "length_mm": 1.0, "deficit": 0.95}]
    return {"schema": "canalrule.phantom/1", "seed": seed,
            "detector": {"columns": 160, "rows": 300, "pixel_mm": 0.06, "blur_mm": 0.04, "bits": 12,
                         "response": "log"},
            "tooth": {"number": ("11", "24", "36")[seed % 3], "apex_x": 0.5, "apex_y": 0.85},
            "canals": [canal], "reading": {"reader": "A1", "scale": "exact", "scale_uncertainty_mm": 0.05}}


def run(*words):
    done = subprocess.run([PROGRAM, *map(str, words)], capture_output=True, encoding="utf-8")
    assert done.returncode in (0, 5), done.stderr  # 5: some cases failed
    return done


class AuditPage(Pages):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        rows = [["case", "reading", "operator", "reader", "patient", "tooth", "clinic"]]
        for film in range(6):
            name = f"film{film}"
            file = cls.folder / f"{name}.phantom.json"
            file.write_text(json.dumps(phantom(film, (0.8, 1.2, 2.6, -0.4, 2.0, 0.5)[film], film == 4)),
                            encoding="utf-8")
            run("simulate", file, "--output", cls.folder / f"{name}.png", "--reading",
                cls.folder / f"{name}.reading.json")
            reading = json.loads((cls.folder / f"{name}.reading.json").read_text(encoding="utf-8"))
            for reader, shift in (("A1", 0.0), ("B2", 2.5)):
                moved = {**reading, "reader": reader}
                moved["canals"] = [{**canal, "apex": [canal["apex"][0], canal["apex"][1] + shift]}
                                   for canal in reading["canals"]]
                (cls.folder / f"{name}-{reader}.reading.json").write_text(json.dumps(moved), encoding="utf-8")
                rows.append([f"{name} {reader}", f"{name}-{reader}.reading.json", f"Dr {'XY'[film % 2]}", reader,
                             f"patient {film}", reading["tooth"], ("North", "South")[film % 2]])
        rows.append([HOSTILE, "not-there.reading.json", "Dr X", "A1", "patient 9", "11", "North"])
        with open(cls.folder / "cases.csv", "w", newline="", encoding="utf-8") as out:
            csv.writer(out).writerows(rows)
        run("audit", cls.folder / "cases.csv", "--output", cls.folder / "earlier")
        run("audit", cls.folder / "cases.csv", "--output", cls.folder / "results", "--against",
            cls.folder / "earlier")
        cls.page = cls.folder / "results" / "report.html"

    def test_it_says_nothing_on_the_console_and_asks_for_nothing(self):
        self.check_quiet(self.page)

    def test_it_is_accessible_on_a_desk_and_on_a_telephone(self):
        for width in (1100, 400):
            with self.subTest(width=width):
                self.check_accessible(self.page, width)

    def test_it_needs_no_sideways_scrolling_on_a_telephone(self):
        self.check_no_sideways_scrolling(self.page, 400)

    def test_charts_are_there_and_say_what_they_are(self):
        captions = [picture["caption"] for picture in self.check_charts(self.page, 8)]
        for expected in ("Canals within, by criterion and by all together", "End of the fill to the radiographic apex",
                         "Canals with a void, by place", "Each operator against the share of all"):
            self.assertIn(expected, captions)
        self.assertTrue(any(caption.startswith("End of the fill to the radiographic apex: R-") for caption in captions))

    def test_sections_stand_in_their_order(self):
        self.open(self.page)
        ids = self.script("return [...document.querySelectorAll('h2')].map(h => h.id)")
        self.assertEqual(ids, ["audited", "cautions", "counted", "shares", "groups", "figures", "operators",
                               "agreement", "compared", "cases"])

    def test_what_could_not_be_assessed_stands_before_any_share(self):
        self.open(self.page)
        text = self.script("return document.body.innerText")
        self.assertLess(text.index("not-there" if "not-there" in text else "there is no such file"),
                        text.index("Share within, %"))

    def test_every_case_is_listed_with_a_way_to_its_picture(self):
        self.open(self.page)
        rows = self.script("""return [...document.querySelectorAll('section[aria-labelledby=cases] tbody tr')].map(
            row => [row.cells[0].innerText, row.innerText, row.querySelector('a')?.href ?? ''])""")
        self.assertEqual(len(rows), 13)
        for case, text, link in rows[:-1]:
            self.assertRegex(text, r"within|outside|too close to call|not assessable")
            target = pathlib.Path(link.removeprefix("file://"))
            self.assertTrue(target.is_file(), (case, link))
        self.assertEqual(rows[-1][0], HOSTILE)
        self.assertIn("not measured", rows[-1][1])

    def test_people_stand_under_pseudonyms(self):
        text = self.page.read_text(encoding="utf-8")
        for name in ("Dr X", "Dr Y", "patient 9", str(self.folder)):
            self.assertNotIn(name, text)

    def test_every_table_has_its_heads_and_caption(self):
        self.open(self.page)
        self.assertEqual(self.script("""return [...document.querySelectorAll('table')].filter(table =>
            !table.caption || !table.tHead || [...table.tHead.rows[0].cells].some(cell => cell.scope !== 'col') ||
            [...table.tBodies[0].rows].some(row => row.cells[0].scope !== 'row')).length"""), 0)
        self.assertGreater(self.script("return document.querySelectorAll('table').length"), 15)

    def test_it_prints_on_a4_without_a_cut(self):
        self.check_prints_whole(self.page)


if __name__ == "__main__":
    unittest.main()
