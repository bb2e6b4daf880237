"""`canalrule grade`: marks that lead back to figures, pages that show no one another's name, all or nothing."""
import csv
import fcntl
import io
import json
import os
import pathlib
import re
import subprocess
import tempfile
import time
import unittest

import jsonschema
from scipy.stats import norm

from program import PROGRAM, SAMPLES, SOURCE, InFolder, canalrule

CLASS = SAMPLES / "class" / "class.csv"


def parsed(file):
    return json.loads(file.read_text(encoding="utf-8"))


def rubric_file(name):
    return SOURCE / "docs" / "rubrics" / f"{name}.json"


class Graded(InFolder):
    """Helpers: a list in the test's folder whose readings are the samples."""

    def write_list(self, header, *rows, name="class.csv"):
        file = self.folder / name
        lines = [",".join(header)] + [",".join(str(field) for field in row) for row in rows]
        file.write_text("\r\n".join(lines) + "\r\n", encoding="utf-8")
        return file

    def sample_list(self, *cases, header=("student", "case", "reading")):
        return self.write_list(header, *[(student, name, SAMPLES / f"{sample}.reading.json", *rest)
                                         for student, name, sample, *rest in cases])

    def grade(self, listed, *options, rubric="three-level", to="out"):
        return canalrule("grade", listed, "--rubric", rubric, "--output", self.folder / to, *options)

    def marks(self, to="out"):
        return parsed(self.folder / to / "marks.json")


class Demo(unittest.TestCase):
    """The class of invented students over the sample films, graded once for all tests of it."""

    @classmethod
    def setUpClass(cls):
        cls.held = tempfile.TemporaryDirectory()
        cls.addClassCleanup(cls.held.cleanup)
        cls.out = pathlib.Path(cls.held.name) / "out"
        cls.done = canalrule("grade", CLASS, "--rubric", "three-level", "--against", "escribano-2023", "--output",
                             cls.out)
        cls.marks = parsed(cls.out / "marks.json")
        cls.rubric = parsed(rubric_file("three-level"))

    def test_it_goes_through(self):
        self.assertEqual((self.done.returncode, self.done.stderr), (0, b""))
        pages = {f"{student}{ending}" for student in ("S01", "S02", "S03", "S04") for ending in (".html", ".pdf")}
        self.assertEqual({file.name for file in (self.out / "students").iterdir()}, pages)
        self.assertEqual({file.name for file in self.out.iterdir()},
                         {"class.html", "students", "marks.csv", "cases.csv", "marks.json"})

    def test_the_marks_follow_their_schema(self):
        jsonschema.validate(self.marks, parsed(SOURCE / "docs" / "marks.schema.json"))

    def test_the_faults_that_were_made_cost_points_where_they_should(self):
        lost = {}
        for case in self.marks["cases"]:
            film = case["case"]
            lost[film] = {criterion["id"] for criterion in case["mark"]["criteria"]
                          if criterion["points"] is not None and criterion["points"] < criterion["of"]}
        self.assertEqual(lost["tooth-13"], {"length"})       # short
        self.assertEqual(lost["tooth-12"], {"length"})       # beyond the apex
        self.assertEqual(lost["tooth-34"], {"density"})      # gap at the backfill
        self.assertEqual(lost["tooth-15"], {"taper"})        # narrows towards the crown
        self.assertEqual(lost["tooth-25"], set())            # nothing

    def test_every_point_leads_back_to_its_band(self):
        """The bands' chances, computed anew from figure and uncertainty, and the points that follow by the rule."""
        confidence = self.rubric["confidence"]
        checked = 0
        for case in self.marks["cases"]:
            for mark in (case["mark"], case["student_reading"], case["second_reading"]):
                for criterion in mark["criteria"] if mark else ():
                    for award in criterion["canals"]:
                        if award["sureness"] == "not-assessable":
                            continue
                        chances = [band["chance"] for band in award["bands"]]
                        self.assertAlmostEqual(sum(chances), 1, places=3)
                        if criterion["id"] == "length":
                            edges = [band.get("at_most", band.get("less_than")) for band in award["bands"][:-1]]
                            below = norm.cdf(edges, award["figure"], award["standard_uncertainty"])
                            expected = [b - a for a, b in zip([0, *below], [*below, 1])]
                            for chance, wanted in zip(chances, expected):
                                self.assertAlmostEqual(chance, wanted, delta=2e-3)  # the figure is written to 0.00001
                        reached = max(band["points"] for band in award["bands"]
                                      if sum(other["chance"] for other in award["bands"]
                                             if other["points"] >= band["points"]) > 1 - confidence)
                        own = award["bands"][award["band"]]["points"]
                        self.assertEqual(award["points"], max(reached, own))
                        checked += 1
        self.assertGreater(checked, 60)

    def test_the_percent_is_the_points_over_what_could_be_had(self):
        for case in self.marks["cases"]:
            mark = case["mark"]
            earned = [c for c in mark["criteria"] if c["points"] is not None]
            self.assertAlmostEqual(mark["out_of"], sum(c["of"] for c in earned), places=3)
            self.assertAlmostEqual(mark["points"], sum(c["points"] for c in earned), places=3)
            self.assertAlmostEqual(mark["percent"], 100 * mark["points"] / mark["out_of"], places=3)
            self.assertLessEqual(mark["least_percent"], mark["percent"])
            self.assertLessEqual(mark["percent"], mark["most_percent"])

    def test_a_gradebook_can_take_the_marks(self):
        rows = list(csv.DictReader(io.StringIO((self.out / "marks.csv").read_text(encoding="utf-8"))))
        self.assertEqual([row["student"] for row in rows], ["S01", "S02", "S03", "S04"])
        for row in rows:
            own = [case["mark"]["percent"] for case in self.marks["cases"] if case["student"] == row["student"]]
            self.assertAlmostEqual(float(row["percent"]), sum(own) / len(own), delta=0.05)
            self.assertEqual(int(row["cases"]), len(own))
        cases = list(csv.DictReader(io.StringIO((self.out / "cases.csv").read_text(encoding="utf-8"))))
        self.assertEqual(len(cases), len(self.marks["cases"]))

    def test_the_class_page_tells_what_a_teacher_asks_for(self):
        page = (self.out / "class.html").read_text(encoding="utf-8")
        for part in ("second look", "commonest faults", "Progress", "Self-assessment", "Moderation",
                     "Compared with another rubric", "ICC(2,1)", "Weighted kappa", "benefit of the doubt",
                     "too few to say", "is an assumption", "Local codes", self.rubric["source"]):
            self.assertTrue(part in page, part)
        self.assertTrue(any(case["second_look"] for case in self.marks["cases"]))

    def test_a_student_sees_no_one_elses_name_nor_the_second_teacher(self):
        students = {case["student"] for case in self.marks["cases"]}
        for file in (self.out / "students").iterdir():
            if file.suffix == ".pdf":
                done = subprocess.run(["pdftotext", file, "-"], capture_output=True, check=True)
                text = done.stdout.decode()
            else:
                text = re.sub(r'href="data:[^"]*"', "", file.read_text(encoding="utf-8"))
            self.assertTrue(file.stem in text)
            for hidden in (students - {file.stem}) | {"T2", "econd reading", "econd teacher"}:
                self.assertFalse(hidden in text, f"{hidden} in {file.name}")

    def test_no_page_refers_to_anything_outside(self):
        for file in [self.out / "class.html", *(self.out / "students").glob("*.html")]:
            text = file.read_text(encoding="utf-8")
            self.assertFalse("<script" in text)
            for reference in re.findall(r'(?:src|href)="([^"]*)"', text):
                self.assertRegex(reference, r"^(#|data:|students/S0\d\.html$)", file.name)

    def test_the_own_reading_stands_beside_the_teachers(self):
        for student in ("S01", "S02", "S03", "S04"):
            page = (self.out / "students" / f"{student}.html").read_text(encoding="utf-8")
            own = [case for case in self.marks["cases"] if case["student"] == student and case["student_reading"]]
            self.assertEqual(page.count(">Your own reading<"), len(own), student)
        self.assertGreater(sum(case["student_reading"] is not None for case in self.marks["cases"]), 5)


class Feedback(Graded):
    """Every sentence of the feedback file can come up, on samples and one more phantom."""

    def every_fault_rubric(self):
        def criterion(figure, bands, **more):
            return {"id": figure, "text": figure, "figure": figure, "points": 1, "bands": bands, **more}

        def up_to(most):
            return [{"at_most": most, "points": 1, "text": "good"}, {"more_than": most, "points": 0, "text": "not"}]

        def from_(least):
            return [{"less_than": least, "points": 0, "text": "not"}, {"at_least": least, "points": 1, "text": "good"}]

        def between(least, most):
            return [{"less_than": least, "points": 0, "text": "low"},
                    {"at_least": least, "at_most": most, "points": 1, "text": "good"},
                    {"more_than": most, "points": 0, "text": "high"}]
        voids = {"score_at_least": 5, "length_at_least_mm": 0.3}
        rubric = {"schema": "canalrule.rubric/1", "name": "Every fault", "version": "1", "source": "invented for a test",
                  "confidence": 0.95, "pass_mark_percent": 50, "criteria": [
                      criterion("terminus_to_apex_mm", between(0.5, 2)), criterion("void_count", up_to(0), voids=voids),
                      criterion("material_beyond_apex_mm", up_to(0.3)),
                      criterion("narrowing_towards_crown_mm", up_to(0.05)), criterion("taper_step_mm", up_to(0.1)),
                      criterion("taper_overall", between(0.055, 0.065)),
                      criterion("width_against_plan_mm", between(-0.05, 0.05)),
                      criterion("terminus_to_working_length_mm", between(-0.05, 0.05)),
                      criterion("filled_length_mm", between(11.5, 12.5)), criterion("contrast_to_texture", from_(8)),
                      criterion("blur_mm", up_to(0.04)), criterion("bone_beyond_apex_mm", from_(4.5))]}
        file = self.folder / "every-fault.json"
        file.write_text(json.dumps(rubric), encoding="utf-8")
        return file

    def changed_sample(self, sample, change, name):
        """The sample's reading with another plan, beside its film."""
        copied = self.copy_sample(SAMPLES / f"{sample}.reading.json", name)
        document = parsed(copied)
        change(document["canals"][0])
        for mark in document["scale"]:
            if "from" in mark:
                self.copy_sample(SAMPLES / mark["from"]["reading"])
        copied.write_text(json.dumps(document), encoding="utf-8")
        return copied

    def along_the_wall(self):
        """A phantom with a gap along the wall, none of the samples' faults."""
        description = parsed(SAMPLES / "bubble.phantom.json")
        description["canals"][0]["fill"]["defects"] = [
            {"kind": "along-wall", "at_mm": 7, "length_mm": 2.0, "width_mm": 0.25, "deficit": 0.9}]
        file = self.folder / "wall.phantom.json"
        file.write_text(json.dumps(description), encoding="utf-8")
        reading = self.folder / "wall.reading.json"
        self.assert_fine(canalrule("simulate", file, "--output", self.folder / "wall.png", "--reading", reading))
        return reading

    def test_every_sentence_can_come_up(self):
        def without_backfill(canal):
            canal["planned"].pop("backfill_from_mm")

        def thinner_plan(canal):
            canal["planned"]["tip_diameter_mm"] -= 0.2

        def shorter_plan(canal):
            canal["planned"]["working_length_mm"] -= 0.5
        readings = [SAMPLES / f"{name}.reading.json"
                    for name in ("short", "flush", "beyond", "backfill-gap", "bubble", "taper-break", "postoperative")]
        readings += [self.changed_sample("backfill-gap", without_backfill, "across.reading.json"),
                     self.changed_sample("flush", thinner_plan, "wide.reading.json"),
                     self.changed_sample("postoperative", shorter_plan, "past.reading.json"), self.along_the_wall()]
        listed = self.write_list(("student", "case", "reading"),
                                 *[("S", number, reading) for number, reading in enumerate(readings)])
        self.assert_fine(self.grade(listed, rubric=self.every_fault_rubric()))
        said = {advice["fault"]: advice for case in self.marks()["cases"] for advice in case["feedback"]}
        page = (self.folder / "out" / "students" / "S.html").read_text(encoding="utf-8")
        for text in parsed(SOURCE / "docs" / "feedback" / "questions.json")["faults"]:
            with self.subTest(fault=text["fault"]):
                self.assertIn(text["fault"], said)
                advice = said[text["fault"]]
                self.assertEqual(advice["looks_like"], text["looks_like"])
                self.assertEqual(advice["questions"], text["questions"])
                where = re.escape(text["where"]).replace(r"\{place\}", ".+").replace(r"\{figure\}", ".*[0-9].*")
                self.assertRegex(advice["where"], f"^{where}$")
                self.assertTrue(text["title"] in page)

    def test_the_words_can_be_replaced(self):
        words = parsed(SOURCE / "docs" / "feedback" / "questions.json")
        words["faults"][0]["title"] = "Kurz vor dem Ziel"
        own = self.folder / "own.json"
        own.write_text(json.dumps(words), encoding="utf-8")
        self.assert_fine(self.grade(self.sample_list(("S", "a", "short")), "--feedback", own))
        page = (self.folder / "out" / "students" / "S.html").read_text(encoding="utf-8")
        self.assertTrue("Kurz vor dem Ziel" in page)

    def test_only_the_questions_of_the_technique_are_asked(self):
        listed = self.sample_list(("S", "a", "short", "lateral"), header=("student", "case", "reading", "technique"))
        self.assert_fine(self.grade(listed))
        techniques = {question["technique"] for advice in self.marks()["cases"][0]["feedback"]
                      for question in advice["questions"]}
        self.assertEqual(techniques, {"any", "lateral"})


class Bad(Graded):
    def test_one_bad_case_does_not_stop_the_class(self):
        listed = self.sample_list(("S1", "good", "flush"), ("S2", "lost", "no-such"), ("S2", "also-good", "curved"))
        done = self.grade(listed)
        self.assertEqual(done.returncode, 5)
        line = done.stderr.decode()
        self.assertEqual(line.count("\n"), 1)
        for part in ("line 3", "case lost", "no-such.reading.json"):
            self.assertIn(part, line)
        standings = [case["mark"] and case["mark"]["standing"] for case in self.marks()["cases"]]
        self.assertEqual(standings, ["passed", None, "passed"])
        page = (self.folder / "out" / "class.html").read_text(encoding="utf-8")
        self.assertTrue("no-such.reading.json" in page)
        self.assertFalse(str(SAMPLES) in page)
        students = (self.folder / "out" / "students" / "S2.html").read_text(encoding="utf-8")
        self.assertTrue("could not be measured" in students)
        self.assertFalse("no-such" in students)

    def test_what_a_row_says_wrongly_is_named(self):
        header = ("student", "case", "reading", "date", "technique", "perforation")
        wrong = {"a": ("", "", "", ""), "b": ("S", "2026-02-30", "", ""), "c": ("S", "", "warm", ""), "d": ("S", "", "", "maybe")}
        listed = self.write_list(header, *[(student, name, SAMPLES / "flush.reading.json", *rest)
                                           for name, (student, *rest) in wrong.items()],
                                 ("S", "e", SAMPLES / "flush.reading.json", "2028-02-29", "lateral", "no"))
        done = self.grade(listed)
        self.assertEqual(done.returncode, 5)
        problems = {case["case"]: case["problem"] for case in self.marks()["cases"]}
        for name, word in (("a", "student"), ("b", "date: '2026-02-30'"), ("c", "technique: 'warm'"),
                           ("d", "perforation: 'maybe'")):
            self.assertTrue(problems[name].startswith(word), problems[name])
        self.assertEqual(problems["e"], "")

    def test_a_further_reading_that_cannot_serve_costs_no_mark(self):
        header = ("student", "case", "reading", "student_reading", "second_reading")
        listed = self.sample_list(("S", "a", "flush", SAMPLES / "curved.reading.json", "gone.reading.json"), header=header)
        done = self.grade(listed)
        self.assertEqual(done.returncode, 5)
        case = self.marks()["cases"][0]
        self.assertIsNotNone(case["mark"]["percent"])
        self.assertIn("another film", case["reading_problems"][0])
        self.assertIn("gone.reading.json", case["reading_problems"][1])

    def test_a_perforation_that_a_teacher_saw_fails(self):
        listed = self.sample_list(("S", "a", "flush", "yes"), ("S", "b", "flush", "no"),
                                  header=("student", "case", "reading", "perforation"))
        self.assert_fine(self.grade(listed))
        standings = [case["mark"]["standing"] for case in self.marks()["cases"]]
        self.assertEqual(standings, ["failed-automatically", "passed"])

    def test_a_column_that_nothing_is_read_from_is_told(self):
        listed = self.sample_list(("S", "a", "flush", "yes"), header=("student", "case", "reading", "perforaton"))
        done = self.grade(listed)
        self.assertEqual(done.returncode, 0)
        line = done.stderr.decode()
        self.assertEqual(line.count("\n"), 1)
        for part in ("'perforaton'", "'perforation'"):
            self.assertIn(part, line)

    def test_wrong_use_is_refused_and_nothing_written(self):
        listed = self.sample_list(("S", "a", "flush"))
        for words, part in ((("--rubric", "no-such"), "three-level"), ((), "--rubric")):
            done = canalrule("grade", listed, *words, "--output", self.folder / "out")
            self.assert_refused(done, 2, part)
        self.assert_refused(canalrule("grade", listed, "--rubric", "three-level"), 2, "--output")
        self.assert_refused(canalrule("grade", "--rubric", "three-level", "--output", self.folder / "out"), 2, "CLASS.csv")
        self.assertFalse((self.folder / "out").exists())

    def test_a_wrong_rubric_or_list_is_refused_and_nothing_written(self):
        listed = self.sample_list(("S", "a", "flush"))
        rubric = parsed(rubric_file("three-level"))
        rubric["criteria"][0]["bands"][2]["at_most"] = 1.5
        wrong = self.folder / "wrong.json"
        wrong.write_text(json.dumps(rubric), encoding="utf-8")
        self.assert_refused(self.grade(listed, rubric=wrong), 3, "/criteria/0/bands/3", "gap")
        no_students = self.write_list(("case", "reading"), ("a", SAMPLES / "flush.reading.json"), name="none.csv")
        self.assert_refused(self.grade(no_students), 3, "student")
        self.assert_refused(self.grade(self.folder / "gone.csv"), 3, "gone.csv")
        self.assertFalse((self.folder / "out").exists())

    def test_a_folder_with_anything_else_in_it_is_left_alone(self):
        listed = self.sample_list(("S", "a", "flush"))
        out = self.folder / "out"
        out.mkdir()
        (out / "thesis.txt").write_text("years of work")
        before = self.contents()
        self.assert_refused(self.grade(listed), 2, "thesis.txt")
        self.assertEqual(self.contents(), before)

    def test_earlier_pages_are_replaced_whole(self):
        self.assert_fine(self.grade(self.sample_list(("S1", "a", "flush"))))
        self.assert_fine(self.grade(self.sample_list(("S2", "a", "flush"))))
        self.assertEqual({file.name for file in (self.folder / "out" / "students").iterdir()}, {"S2.html", "S2.pdf"})
        self.assertEqual([path.name for path in self.folder.iterdir() if path.name.startswith(".")], [])

    def test_killed_on_the_way_it_leaves_nothing_and_begins_anew(self):
        listed = self.sample_list(*[("S", number, "flush") for number in range(8)])
        words = ["grade", listed, "--rubric", "three-level", "--output", self.folder / "out"]
        with subprocess.Popen([PROGRAM, *map(str, words)]) as running:
            while not (self.folder / ".out.part").exists() and running.poll() is None:
                time.sleep(0.01)
            running.kill()
        self.assertFalse((self.folder / "out").exists())
        self.assertTrue((self.folder / ".out.part").exists())
        self.assert_fine(self.grade(listed))
        self.assertFalse((self.folder / ".out.part").exists())
        self.assertEqual(len(self.marks()["cases"]), 8)

    def test_two_runs_do_not_write_the_same_folder(self):
        listed = self.sample_list(("S", "a", "flush"))
        part = self.folder / ".out.part"
        part.mkdir()
        held = os.open(part, os.O_RDONLY)
        self.addCleanup(os.close, held)
        fcntl.flock(held, fcntl.LOCK_EX)
        self.assert_refused(self.grade(listed), 4, "another run")
        self.assertTrue(part.exists())
        fcntl.flock(held, fcntl.LOCK_UN)
        self.assert_fine(self.grade(listed))

    def test_an_earlier_folder_that_was_set_aside_is_not_lost(self):
        """As after a kill between the two renames at the end."""
        listed = self.sample_list(("S1", "a", "flush"))
        self.assert_fine(self.grade(listed))
        (self.folder / "out" / "note.txt").write_text("mine")
        before = {name.removeprefix("out"): content for name, content in self.contents().items() if name.startswith("out")}
        (self.folder / "out").rename(self.folder / ".out.before")
        self.assert_refused(self.grade(listed), 2, "note.txt")
        after = {name.removeprefix("out"): content for name, content in self.contents().items() if name.startswith("out")}
        self.assertEqual(after, before)

    def test_the_same_list_gives_the_same_bytes(self):
        listed = self.sample_list(("S1", "a", "flush"), ("S2", "b", "overlap"))
        self.assert_fine(self.grade(listed, to="one"))
        self.assert_fine(self.grade(listed, to="two"))
        files = sorted(path.relative_to(self.folder / "one") for path in (self.folder / "one").rglob("*") if path.is_file())
        self.assertGreater(len(files), 7)
        for file in files:
            self.assertEqual((self.folder / "one" / file).read_bytes(), (self.folder / "two" / file).read_bytes(), file)

    def test_students_that_would_share_a_file_do_not(self):
        listed = self.sample_list(("a/b", "1", "flush"), ("A-b", "2", "flush"), ("../" + "c" * 400, "3", "flush"))
        self.assert_fine(self.grade(listed))
        names = {file.name for file in (self.folder / "out" / "students").glob("*.html")}
        self.assertEqual(len(names), 3)
        self.assertEqual([path.name for path in self.folder.glob("*.html")], [])


if __name__ == "__main__":
    unittest.main()
