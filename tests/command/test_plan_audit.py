"""canalrule plan-audit: how many cases, and which."""
import csv
import io
import re
import unittest

from program import InFolder, canalrule


def figure(done, name):
    """What stands beside a name in the printed plan."""
    found = re.search(rf"^{name} +(.*)$", done.stdout.decode(), re.MULTILINE)
    return found and found[1]


def rows_of(file):
    return list(csv.DictReader(io.StringIO(file.read_text(encoding="utf-8"))))


class Size(InFolder):
    def test_the_published_numbers(self):
        # Wilson's interval takes about z^2 fewer than the normal approximation: 385, 97, 369, 139 (Cochran 1977).
        for words, normal in (((), 385), (("--half-width", 0.1), 97), (("--expected", 0.6), 369),
                              (("--expected", 0.9), 139)):
            done = canalrule("plan-audit", *words)
            self.assert_fine(done)
            self.assertIn(f"(by the normal approximation {normal})", done.stdout.decode())
            self.assertLess(abs(normal - 3.84 - int(figure(done, "Cases needed"))), 10)

    def test_a_small_population_needs_fewer(self):
        done = canalrule("plan-audit", "--cases", 200)
        self.assert_fine(done)
        self.assertEqual(figure(done, "Cases needed"), "132 of 200")

    def test_all_of_a_tiny_one(self):
        done = canalrule("plan-audit", "--cases", 2)
        self.assert_fine(done)
        self.assertEqual(figure(done, "Cases needed"), "2 of 2")
        self.assertIn("nothing is left to chance", figure(done, "Expected interval"))

    def test_clustering(self):
        needed = {}
        for correlation in (0, 0.5, 1):
            done = canalrule("plan-audit", "--canals-per-case", 2, "--canals-per-patient", 4,
                             "--correlation", correlation)
            self.assert_fine(done)
            needed[correlation] = int(figure(done, "Cases needed"))
        self.assertEqual(needed, {0: 191, 0.5: 476, 1: 761})
        done = canalrule("plan-audit", "--canals-per-case", 2, "--design-effect", 2.5)
        self.assertEqual(int(figure(done, "Cases needed")), needed[0.5])

    def test_the_lists_patients_tell_how_many_cases_are_one_patients(self):
        rows = [("A1", "P1"), ("A2", "P1"), ("A3", "P1"), ("B1", "P2"), ("C1", ""), ("D1", "")]
        file = self.folder / "year.csv"
        file.write_text("case,patient\n" + "".join(f"{case},{patient}\n" for case, patient in rows), encoding="utf-8")
        done = canalrule("plan-audit", file, "--canals-per-case", 2, "--half-width", 0.3)
        self.assert_fine(done)
        self.assertIn("(3.0 canals a patient", figure(done, "Design effect"))  # 6 cases of 4 patients, 2 canals each
        done = canalrule("plan-audit", file, "--canals-per-patient", 5, "--half-width", 0.3)
        self.assertIn("(5.0 canals a patient", figure(done, "Design effect"))

    def test_a_share_of_all_can_be_planned(self):
        done = canalrule("plan-audit", "--expected", 1)
        self.assert_fine(done)
        self.assertEqual(figure(done, "Cases needed"), "35")
        self.assertNotIn("normal", done.stdout.decode())
        low, high = map(float, figure(done, "Expected interval").split(" to "))
        self.assertEqual(high, 1.0)
        self.assertAlmostEqual(low, 0.9, delta=0.002)


class Draw(InFolder):
    def setUp(self):
        super().setUp()
        self.list = self.folder / "year.csv"
        lines = ["case;reading;clinic"]
        lines += [f"C{i};films/{i}.reading.json;\"north; by the sea\"" for i in range(300)]
        self.list.write_text("\n".join(lines) + "\n", encoding="utf-8-sig")

    def draw(self, *words, output="sample.csv"):
        done = canalrule("plan-audit", self.list, "--output", self.folder / output, *words)
        self.assert_fine(done)
        return rows_of(self.folder / output)

    def test_the_needed_cases_are_drawn_in_the_lists_order(self):
        done = canalrule("plan-audit", self.list)
        needed = int(figure(done, "Cases needed").removesuffix(" of 300"))
        rows = self.draw("--seed", 7)
        self.assertEqual(len(rows), needed)
        places = [int(row["case"][1:]) for row in rows]
        self.assertEqual(places, sorted(set(places)))
        for row, place in zip(rows, places):
            self.assertEqual(row, {"case": f"C{place}", "reading": f"films/{place}.reading.json",
                                   "clinic": "north; by the sea"})

    def test_the_same_seed_gives_the_same_bytes_and_a_larger_draw_holds_the_smaller(self):
        few = self.draw("--seed", 7, "--draw", 20)
        again = self.draw("--seed", 7, "--draw", 20, output="again.csv")
        self.assertEqual((self.folder / "sample.csv").read_bytes(), (self.folder / "again.csv").read_bytes())
        more = self.draw("--seed", 7, "--draw", 80, output="more.csv")
        self.assertEqual(few, again)
        self.assertLess({row["case"] for row in few}, {row["case"] for row in more})
        self.assertNotEqual(few, self.draw("--seed", 8, "--draw", 20, output="other.csv"))

    def test_this_seed_draws_these(self):
        # Worked out by tests/reference/test_statistics.py, which follows the published algorithms.
        self.list.write_text("case\n" + "".join(f"C{i}\n" for i in range(100)), encoding="utf-8")
        rows = self.draw("--seed", 2026, "--draw", 5)
        self.assertEqual([row["case"] for row in rows], ["C2", "C9", "C14", "C46", "C89"])

    def test_readings_are_found_from_where_the_sample_lies(self):
        (self.folder / "samples").mkdir()
        rows = self.draw("--seed", 1, "--draw", 3, output="samples/spring.csv")
        for row in rows:
            self.assertEqual(row["reading"], f"../films/{row['case'][1:]}.reading.json")

    def test_the_draw_can_be_told_again(self):
        done = canalrule("plan-audit", self.list, "--seed", 7, "--draw", 20, "--output", self.folder / "sample.csv")
        self.assertEqual(figure(done, "By the seed"), "7")
        self.assertRegex(figure(done, "From the list with"), "^SHA-256 [0-9a-f]{64}$")
        self.assertIn("20 of 300 cases", figure(done, "Drawn"))

    def test_a_list_with_a_fault_is_refused_with_its_line(self):
        self.list.write_text("case,reading\nA,a.reading.json\nB,b.reading.json\nA,c.reading.json\n", encoding="utf-8")
        done = canalrule("plan-audit", self.list, "--seed", 1, "--output", self.folder / "sample.csv")
        self.assert_refused(done, 3, self.list, "line 4")
        self.assertFalse((self.folder / "sample.csv").exists())

    def test_the_list_is_never_written_over(self):
        before = self.list.read_bytes()
        done = canalrule("plan-audit", self.list, "--seed", 1, "--output", self.list)
        self.assert_refused(done, 2, "--output")
        self.assertEqual(self.list.read_bytes(), before)


class Wrong(InFolder):
    def test_numbers_that_make_no_plan(self):
        for option, values in {"--expected": ("-0.1", "1.1", "x", "", "0,5", "nan"),
                               "--half-width": ("0", "0.5", "inf", "-1", "1e-10"),
                               "--level": ("0", "1", "95", "1e-300", "0.9999999999999999"),
                               "--cases": ("0", "-3", "1.5", "x", "99999999999"),
                               "--canals-per-case": ("0.5", "2000"),
                               "--canals-per-patient": ("0",),
                               "--correlation": ("-0.1", "1.5"),
                               "--design-effect": ("0.9",)}.items():
            for value in values:
                with self.subTest(option=option, value=value):
                    self.assert_refused(canalrule("plan-audit", f"{option}={value}"), 2, option)

    def test_options_that_don_t_go_together(self):
        cases = self.folder / "cases.csv"
        cases.write_text("case\nA\nB\n", encoding="utf-8")
        sample = self.folder / "sample.csv"
        for words in (("--seed", 1), ("--output", sample), ("--draw", 1), (cases, "--seed", 1),
                      (cases, "--output", sample), (cases, "--cases", 5), (cases, cases),
                      (cases, "--seed", 1, "--output", sample, "--draw", 3),
                      (cases, "--seed", -1, "--output", sample),
                      ("--design-effect", 2, "--correlation", 0.3),
                      ("--canals-per-case", 3, "--canals-per-patient", 2)):
            with self.subTest(words=words):
                self.assert_refused(canalrule("plan-audit", *words), 2, "plan-audit")
                self.assertFalse(sample.exists())

    def test_lists_that_can_t_be_used(self):
        missing = self.folder / "missing.csv"
        self.assert_refused(canalrule("plan-audit", missing), 3, missing)
        nameless = self.folder / "nameless.csv"
        nameless.write_text("name\nA\n", encoding="utf-8")
        self.assert_refused(canalrule("plan-audit", nameless), 3, nameless, "case")

    def test_a_place_that_can_t_be_written(self):
        cases = self.folder / "cases.csv"
        cases.write_text("case\nA\nB\n", encoding="utf-8")
        done = canalrule("plan-audit", cases, "--seed", 1, "--draw", 1, "--output", self.folder / "no" / "sample.csv")
        self.assert_refused(done, 4, "sample.csv")


if __name__ == "__main__":
    unittest.main()
