"""`canalrule audit` on good and bad lists: one row a case, whatever is wrong with the others."""
import json
import os
import pathlib
import pty
import subprocess
import unittest

from audits import Audits
from program import PROGRAM, canalrule, samples

OUTPUTS = ["audit.rows", "canals.csv", "cases.csv", "report.html", "summary.json"]


class Tables(Audits):
    def test_figures_are_those_of_measure(self):
        readings = samples()
        self.write_list([["case", "reading", "tooth"], *([path.name, path, ""] for path in readings)])
        done = self.audit(self.folder / "cases.csv", "--output", self.output)
        self.assert_code(done, 0)
        self.assertEqual(sorted(p.name for p in self.output.iterdir()), sorted([*OUTPUTS, "pictures"]))
        rows = {(row["case"], row["canal"]): row for row in self.table("canals.csv")}
        seen = 0
        for reading in readings:
            result = json.loads(canalrule("measure", reading, "--json").stdout)
            verdicts = {(j["canal"], j["criterion"]): j for j in result["verdicts"]["judgements"]}
            for canal in result["canals"]:
                row = rows[reading.name, canal["name"]]
                terminus = canal["terminus"] or {"to_apex_mm": None, "standard_uncertainty_mm": None, "side": None}
                seen += canal["terminus"] is not None
                for column, value in (
                        ("terminus_to_apex_mm", terminus["to_apex_mm"]),
                        ("terminus_to_apex_standard_uncertainty_mm", terminus["standard_uncertainty_mm"]),
                        ("filled_length_mm", canal["filled_length_mm"]),
                        ("coronal_level_mm", canal["coronal_level_mm"]),
                        ("taper_overall_mm_per_mm", canal["taper"]["overall"]),
                        ("taper_coronal_standard_uncertainty_mm_per_mm",
                         canal["taper"]["standard_uncertainty"]["coronal"]),
                        ("curvature_deg", canal["curvature_deg"]),
                        ("voids_found", None if canal["voids"] is None else len(canal["voids"]))):
                    self.assertEqual(row[column], "" if value is None else repr(value).removesuffix(".0"), column)
                self.assertEqual(row["terminus_side"], terminus["side"] or "")
                if canal["voids"]:
                    longest = max(canal["voids"], key=lambda void: void["length_mm"])
                    self.assertEqual(float(row["longest_void_mm"]), longest["length_mm"])
                    self.assertEqual(float(row["longest_void_score_sd"]), longest["score"])
                for (name, criterion), verdict in verdicts.items():
                    if name == canal["name"]:
                        self.assertEqual(row[f"verdict: {criterion}"], verdict["verdict"])
                for entry in canal["not_assessable"]:
                    self.assertIn(f"{entry['figure']}", row["not_assessable"])
                    self.assertIn(entry["reason"], row["not_assessable"])
        self.assertGreater(seen, 10)
        self.assertEqual(len(rows), 14)

    def test_every_case_has_its_picture(self):
        done = self.audit(self.make_list(3), "--output", self.output)
        self.assert_code(done, 0)
        pictures = {row["picture"] for row in self.table("cases.csv")}
        self.assertEqual(len(pictures), 3)
        for picture in pictures:
            self.assertTrue((self.output / picture).read_bytes().startswith(b"<?xml"))
        done = self.audit(self.folder / "cases.csv", "--output", self.output, "--pictures", "png")
        self.assert_code(done, 0)
        self.assertEqual({p.suffix for p in (self.output / "pictures").iterdir()}, {".png"})
        done = self.audit(self.folder / "cases.csv", "--output", self.output, "--pictures", "none")
        self.assert_code(done, 0)
        self.assertFalse((self.output / "pictures").exists())
        self.assertEqual({row["picture"] for row in self.table("cases.csv")}, {""})

    def test_text_from_the_list_is_no_formula(self):
        reading = self.make_reading("r1")
        self.write_list([["case", "reading", "=evil()", "amount"], ["=1+2", reading, "@SUM(A1)", "-0.5"],
                         ["+b", "nowhere.json", "-cmd|' /C calc'!A0", "+3"]])
        self.assert_code(self.audit(self.folder / "cases.csv", "--output", self.output), 5)
        for name in ("canals.csv", "cases.csv"):
            for row in self.table(name):
                for field in [*row, *row.values()]:
                    if field not in ("-0.5", "+3"):
                        self.assertNotIn(field[:1], tuple("=+-@\t\r\n"), field)
        self.assertEqual([row["case"] for row in self.table("cases.csv")], ["'=1+2", "'+b"])


class Progress(Audits):
    def test_a_bar_on_a_terminal_and_plain_lines_elsewhere(self):
        file = self.make_list(6, broken=(2,))
        terminal, ours = pty.openpty()
        process = subprocess.Popen([PROGRAM, "audit", file, "--output", self.output, "--pictures", "none"],
                                   stdout=subprocess.DEVNULL, stderr=ours)
        os.close(ours)
        shown = b""
        try:
            while piece := os.read(terminal, 65536):
                shown += piece
        except OSError:  # how Linux says that the other end was closed
            pass
        os.close(terminal)
        self.assertEqual(process.wait(), 5)
        self.assertIn(b"[####################] 6 of 6 cases, ", shown)
        self.assertRegex(shown, rb"6 of 6 cases, [0-9.]+ films per second, 1 failed\r?\n")
        self.assertIn(b"canalrule: case K2 (line 3): ", shown)
        plain = self.audit(file, "--output", self.output, "--pictures", "none").stderr
        self.assertNotIn(b"[", plain)
        self.assertNotIn(b"\x1b", plain)
        self.assertIn(b"6 of 6 cases, 5 as measured before, 1 failed\n", plain)


class Lists(Audits):
    def run_list(self, text, name):
        (self.folder / name).write_bytes(text.encode() if isinstance(text, str) else text)
        output = self.folder / (name + ".results")
        return self.audit(self.folder / name, "--output", output, "--pictures", "none"), output

    def test_comma_semicolon_mark_and_line_ends_are_all_the_same(self):
        for number in (1, 2):
            self.make_reading(f"r{number}", reader=f"reader {number}")
        text = ('case,reading,reader,note\nA,r1.reading.json,X,"two\nlines, and a ; too"\n'
                'B,r2.reading.json,Y,plain\n')
        done, output = self.run_list(text, "plain.csv")
        self.assert_code(done, 0)
        first = self.table("cases.csv", output)
        self.assertEqual(first[0]["list: note"], "two\nlines, and a ; too")
        swapped = "\ufeff" + text.replace(",", "\0").replace(";", ",").replace("\0", ";")
        done, output = self.run_list(swapped, "mark.csv")
        self.assert_code(done, 0)
        other = self.table("cases.csv", output)
        self.assertEqual(other[0]["list: note"], "two\nlines; and a , too")
        for row, again in zip(first, other, strict=True):
            for column in ("case", "line", "status", "film", "tooth", "canals", "scale_mm_per_pixel"):
                self.assertEqual(row[column], again[column])
        self.assertEqual([row["line"] for row in first], ["2", "4"])

    def test_a_list_that_can_not_be_used_gives_one_line(self):
        for text, *parts in (("case,film\na,b\n", "line 1", "'reading' is missing"),
                             ("reading\nb\n", "line 1", "'case' is missing"),
                             ("case,reading\n", "no case"),
                             ("case,reading,reading\na,b,c\n", "two columns are named 'reading'"),
                             (b"case,reading\na,M\xfcller.json\n", "line 2", "UTF-8")):
            done, output = self.run_list(text, "bad.csv")
            self.assert_code(done, 3)
            line = done.stderr.decode()
            self.assertEqual(line.count("\n"), 1, line)
            for part in ("bad.csv", *parts):
                self.assertIn(part, line)
            self.assertFalse(output.exists())

    def test_each_bad_row_gives_its_line_and_the_rest_goes_on(self):
        good = self.make_reading("good")
        self.make_reading("no-film", film="gone.png")
        self.make_reading("no-scale", scale=[])
        (self.folder / "no-json.reading.json").write_text("{", encoding="utf-8")
        self.make_reading("off", canals=[{"name": "1", "path": [[1, 2], [3, 4000]], "apex": [3, 4000]}])
        rows = [["case", "reading"], ["a", good.name], ["b", "nowhere.reading.json"], ["a", good.name],
                ["c", "no-film.reading.json"], ["d", "no-json.reading.json"], ["e", "no-scale.reading.json"],
                ["f"], ["g", "off.reading.json"], ["h", good.name], ["\x1b[31mi", good.name]]
        done = self.audit(self.write_list(rows), "--output", self.output)
        self.assert_code(done, 5)
        lines = done.stderr.decode()
        expected = {3: ("case b (line 3)", "no such file"), 4: ("case a (line 4)", "already in line 2"),
                    5: ("case c (line 5)", "/image/file", "there is no film"),
                    6: ("case d (line 6)", "not JSON"), 7: ("case e (line 7)", "scale"),
                    8: ("case f (line 8)", "1 fields"), 9: ("case g (line 9)", "/canals/0/path"), 11: ("case ?[31mi (line 11)", "control character")}
        self.assertNotIn("\x1b", lines)
        table = {int(row["line"]): row for row in self.table("cases.csv")}
        self.assertEqual(len(table), len(rows) - 1)
        for number, row in table.items():
            parts = expected.get(number)
            self.assertEqual(row["status"], "failed" if parts else "measured", row)
            self.assertEqual(row["reason"] != "", parts is not None)
            for part in parts or ():
                self.assertIn(part, lines)
                if not part.startswith("case"):
                    self.assertIn(part, row["reason"])
        self.assertEqual({row["case"] for row in self.table("canals.csv")}, {"a", "h"})

    def test_one_broken_row_among_ten_thousand(self):
        reading = self.make_reading("r1")
        rows = [["case", "reading"], *([f"K{n}", reading.name] for n in range(1, 10001))]
        rows[7777] = ["K7777", 'r1.reading.json", "x']
        file = self.write_list(rows)
        file.write_bytes(file.read_bytes().replace(b'"r1.reading.json"", ""x"', b'r1".reading.json'))
        done = self.audit(file, "--output", self.output, "--pictures", "none")
        self.assert_code(done, 5)
        self.assertIn("line 7778: a quote stands where none can", done.stderr.decode())
        table = self.table("cases.csv")
        self.assertEqual(len(table), 10000)
        self.assertEqual([row["line"] for row in table if row["status"] == "failed"], ["7778"])
        self.assertEqual(len(self.table("canals.csv")), 9999)
        self.assertEqual([row["case"] for row in table if row["case"]],
                         [f"K{n}" for n in range(1, 10001) if n != 7777])

    def test_a_folder_of_readings_is_a_list(self):
        readings = self.folder / "readings"
        (readings / "more").mkdir(parents=True)
        for name in ("b", "a", "more/c"):
            self.make_reading(f"readings/{name}")
        done = self.audit(readings, "--output", self.output)
        self.assert_code(done, 0)
        self.assertEqual(len(self.table("cases.csv")), 3)
        key = (self.folder / "results.key.csv").read_text(encoding="utf-8")
        for row, name in zip(self.table("cases.csv"), ("a", "b", "more/c"), strict=True):
            self.assertIn(f"{row['case']},case,{name}\n", key)

    def test_wrong_use_is_told(self):
        file = self.make_list(1)
        last = self.folder / "cases"
        last.mkdir()
        for words, part in ((["--output", self.output], "CASES"), ([file], "--output"),
                            ([file, file, "--output", self.output], "more than one"),
                            ([file, "--output", self.folder], "written over"),
                            ([file, "--output", self.output, "--part", "3/2"], "3/2"),
                            ([file, "--output", self.output, "--part", "0/2"], "0/2"),
                            ([file, "--output", self.output, "--jobs", "0"], "--jobs"),
                            ([file, "--output", self.output, "--pictures", "gif"], "gif"),
                            ([file, "--output", self.output, "--criteria", "none"], "none"),
                            (["--join", "--output", self.output], "--join"),
                            (["--join", last, "--output", self.output, "--jobs", "2"], "--jobs")):
            done = self.audit(*words)
            self.assert_code(done, 2)
            self.assertIn(part, done.stderr.decode())
            self.assertFalse(self.output.exists())


class Compared(Audits):
    def test_an_earlier_audit_is_judged_by_the_same_rule(self):
        file = self.make_list(4)
        earlier = self.folder / "earlier"
        self.assert_code(self.audit(file, "--output", earlier, "--criteria", "lin-2005", "--pictures", "none"), 0)
        self.assert_code(self.audit(file, "--output", self.output, "--against", earlier, "--pictures", "none"), 0)
        summary = json.loads((self.output / "summary.json").read_text(encoding="utf-8"))
        against = summary["against"]
        self.assertTrue(against["judged_anew"])
        # The same cases under the same rule: no share changes.
        overall = against["overall"]["criteria"]
        self.assertEqual(len(overall), len(summary["audit"]["criteria"]["criteria"]))
        for change in overall:
            self.assertEqual(change["earlier"]["within"], change["now"]["within"])
        self.assertIn(b"earlier", (self.output / "report.html").read_bytes().lower())

    def test_readers_who_differ_by_more_than_they_state_are_told_of_with_the_remedy(self):
        sample = pathlib.Path(__file__).parents[2] / "sample-images" / "audit" / "cases.csv"
        self.assert_code(self.audit(sample, "--output", self.output, "--pictures", "none"), 0)
        page = (self.output / "report.html").read_text(encoding="utf-8")
        self.assertIn("verdicts on length near a limit are less sure than they say", page)
        self.assertIn("apex_uncertainty_mm, or three or more repeated marks in apex_marks", page)
        self.assertIn("is an assumption", page)

    def test_what_no_audit_wrote_is_not_written_over(self):
        for name in ("report.html", "summary.json", "canals.csv", "films.txt"):
            other = self.folder / ("own-" + name)
            other.mkdir()
            (other / name).write_text("mine", encoding="utf-8")
            done = self.audit(self.folder / "cases.csv", "--output", other)
            self.assert_code(done, 2)
            self.assertIn(name, done.stderr.decode())
            self.assertEqual((other / name).read_text(encoding="utf-8"), "mine")

    def test_what_is_no_audit_is_refused(self):
        file = self.make_list(1)
        done = self.audit(file, "--output", self.output, "--against", self.folder / "nowhere", "--pictures", "none")
        self.assert_code(done, 3)
        self.assertIn("no audit lies in this folder", done.stderr.decode())


if __name__ == "__main__":
    unittest.main()
