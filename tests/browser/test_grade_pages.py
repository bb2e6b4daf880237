"""The pages of a graded class, as teacher and students see and print them, in Chromium."""
import os
import pathlib
import subprocess
import unittest

from pages import A4_WIDTH, Pages

PROGRAM = pathlib.Path(os.environ["CANALRULE"])
CLASS = pathlib.Path(os.environ["CANALRULE_SOURCE"]) / "sample-images" / "class" / "class.csv"
HOSTILE = "S9 <script>alert('x')</script> \"quoted\""


class GradePages(Pages):
    @classmethod
    def setUpClass(cls):
        super().setUpClass()
        listed = cls.folder / "class.csv"
        # The demo, its readings named from here, and a student whose name is markup.
        samples = CLASS.parent
        rows = [line.split(",") for line in CLASS.read_text(encoding="utf-8").splitlines()]
        for row in rows[1:]:
            for column in (4, 5, 6):
                row[column] = row[column] and str((samples / row[column]).resolve())
        hostile = '"' + HOSTILE.replace('"', '""') + '"'
        rows.append([hostile, "x", "2026-03-30", "", str(samples.parent / "bubble.reading.json"), "", "", ""])
        listed.write_text("\r\n".join(",".join(row) for row in rows) + "\r\n", encoding="utf-8")
        cls.out = cls.folder / "out"
        done = subprocess.run([PROGRAM, "grade", listed, "--rubric", "three-level", "--against", "escribano-2023",
                               "--output", cls.out], capture_output=True, encoding="utf-8")
        assert done.returncode == 0, done.stderr
        cls.pages = [cls.out / "class.html", *sorted((cls.out / "students").glob("*.html"))]
        cls.student = cls.out / "students" / "S01.html"

    def test_they_say_nothing_on_the_console_and_ask_for_nothing(self):
        self.assertEqual(len(self.pages), 6)
        for page in self.pages:
            with self.subTest(page=page.name):
                self.check_quiet(page)

    def test_they_are_accessible_on_a_desk_and_on_a_telephone(self):
        for page in (self.pages[0], self.student):
            for width in (1100, 400):
                with self.subTest(page=page.name, width=width):
                    self.check_accessible(page, width)

    def test_they_need_no_sideways_scrolling_on_a_telephone(self):
        for page in (self.pages[0], self.student):
            with self.subTest(page=page.name):
                self.check_no_sideways_scrolling(page, 400)

    def test_pictures_and_charts_say_what_they_are(self):
        captions = [picture["caption"] for picture in self.check_charts(self.student, 4)]
        self.assertEqual(captions.count("The film, and each canal unrolled beside its planned cone"), 3)
        self.assertIn("Your marks over the sessions", captions)
        captions = [picture["caption"] for picture in self.check_charts(self.pages[0], 7)]
        for expected in ("Marks of the class", "Mean mark of each session", "Bland and Altman: terminus to apex"):
            self.assertIn(expected, captions)

    def test_the_film_is_really_in_the_page(self):
        self.open(self.student)
        films = self.script("""return [...document.querySelectorAll('svg image')].map(
            image => [image.href.baseVal.slice(0, 22), image.getBoundingClientRect().width])""")
        self.assertGreaterEqual(len(films), 3)
        for start, width in films:
            self.assertEqual(start, "data:image/png;base64,")
            self.assertGreater(width, 20)

    def test_the_teacher_reaches_every_student_and_every_id_is_one(self):
        self.open(self.pages[0])
        links = self.script("return [...document.querySelectorAll('a')].map(a => a.href)")
        for page in self.pages[1:]:
            self.assertIn(page.as_uri(), links)
        for page in self.pages:
            self.open(page)
            doubled = self.script("""const ids = [...document.querySelectorAll('[id]')].map(e => e.id);
                return ids.filter((id, i) => ids.indexOf(id) !== i)""")
            self.assertEqual(doubled, [], page.name)

    def test_a_name_that_is_markup_stays_a_name(self):
        hostile = next(page for page in self.pages if page.name.startswith("S9"))
        self.open(hostile)
        self.assertIn(HOSTILE, self.script("return document.querySelector('h1').innerText"))
        self.open(self.pages[0])
        self.assertIn(HOSTILE, self.script("return document.body.innerText"))

    def test_they_print_on_a4_without_a_cut(self):
        for page in (self.pages[0], self.student, self.out / "students" / "S04.html"):
            with self.subTest(page=page.name):
                self.check_prints_whole(page)

    def test_the_pdf_holds_what_the_page_holds(self):
        for page in self.pages[1:]:
            self.open(page)
            shown = self.script("return [...document.querySelectorAll('h1, h2, h3')].map(h => h.innerText)")
            pdf = page.with_suffix(".pdf")
            text = " ".join(subprocess.run(["pdftotext", pdf, "-"], capture_output=True, encoding="utf-8",
                                           check=True).stdout.split())
            for heading in shown:
                self.assertIn(" ".join(heading.split()), text, page.name)
            sizes = subprocess.run(["pdfinfo", pdf], capture_output=True, encoding="utf-8", check=True).stdout
            self.assertIn("A4", sizes)
            self.assertAlmostEqual(float(sizes.split("Page size:")[1].split()[0]), A4_WIDTH, delta=1.0)


if __name__ == "__main__":
    unittest.main()
