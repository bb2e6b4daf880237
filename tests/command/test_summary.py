"""summary.json of an audit over the sample films: it holds to its published schema, its counts add up, it agrees
with the table of canals, and it names nobody whom it shouldn't."""
import csv
import json
import math
import pathlib
import shutil
import tempfile
import unittest

import jsonschema

from program import SAMPLES, SOURCE, canalrule, samples


def shares_of(part):
    """Every share that stands anywhere in a document."""
    if isinstance(part, dict):
        if "too_close_to_call" in part:
            yield part
        for value in part.values():
            yield from shares_of(value)
    elif isinstance(part, list):
        for value in part:
            yield from shares_of(value)


class Summary(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        held = tempfile.TemporaryDirectory()
        cls.addClassCleanup(held.cleanup)
        cls.folder = pathlib.Path(held.name)
        readings = samples()[:8]
        rows = [["case", "reading", "operator", "reader", "patient", "clinic"]]
        for i, reading in enumerate(readings):
            rows.append([f"C{i}", str(reading), f"Doctor {i % 2}", "Reader A", f"Patient {i // 2}", f"clinic {i % 3}"])
        # The first four films are read again, by someone who marks each apex 3 pixels further along the canal.
        for i, reading in enumerate(readings[:4]):
            document = json.loads(reading.read_text(encoding="utf-8"))
            for canal in document["canals"]:
                (x, y), (u, v) = canal["path"][-2:]
                step = 3.0 / math.hypot(u - x, v - y)
                canal["apex"] = [canal["apex"][0] + step * (u - x), canal["apex"][1] + step * (v - y)]
            shutil.copy(SAMPLES / document["image"]["file"], cls.folder)
            again = cls.folder / f"again-{i}.reading.json"
            again.write_text(json.dumps(document), encoding="utf-8")
            rows.append([f"R{i}", str(again), f"Doctor {i % 2}", "Reader B", f"Patient {i // 2}", f"clinic {i % 3}"])
        rows.append(["broken", "missing-film-17.reading.json", "Doctor 0", "Reader A", "Patient 0", "clinic 0"])
        cls.list = cls.folder / "cases.csv"
        with cls.list.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(rows)
        cls.done = canalrule("audit", cls.list, "--output", cls.folder / "now", "--pictures", "none")
        cls.text = (cls.folder / "now" / "summary.json").read_text(encoding="utf-8")
        cls.summary = json.loads(cls.text)
        cls.schema = json.loads((SOURCE / "docs" / "summary.schema.json").read_text(encoding="utf-8"))
        cls.readings = readings

    def test_one_broken_case_is_told_and_the_others_stand(self):
        self.assertEqual(self.done.returncode, 5, self.done.stderr)
        counts = self.summary["counts"]
        self.assertEqual((counts["cases"], counts["failed"]), (len(self.readings) + 5, 1))
        self.assertEqual(sum(reason["count"] for reason in counts["failed_for"]), 1)

    def test_it_holds_to_its_schema(self):
        jsonschema.Draft202012Validator.check_schema(self.schema)
        jsonschema.Draft202012Validator(self.schema).validate(self.summary)

    def test_the_schema_refuses_what_is_no_summary(self):
        validator = jsonschema.Draft202012Validator(self.schema)
        for key in self.summary:
            self.assertFalse(validator.is_valid({k: v for k, v in self.summary.items() if k != key}), key)
        for change in ({"schema": "canalrule.summary/2"}, {"counts": {}}, {"extra": 1}):
            self.assertFalse(validator.is_valid({**self.summary, **change}), change)

    def test_every_share_adds_up(self):
        found = list(shares_of(self.summary))
        self.assertGreater(len(found), 30)
        for share in found:
            self.assertEqual(share["within"] + share["outside"] + share["too_close_to_call"], share["assessable"])
            self.assertEqual(share["assessable"] + share["not_assessable"], share["canals"])
            self.assertEqual(share["lowest"]["counted"], share["within"])
            self.assertEqual(share["highest"]["counted"], share["within"] + share["too_close_to_call"])
            for end in (share["lowest"], share["highest"]):
                self.assertEqual(end["all"], share["assessable"])
                if end["all"]:
                    self.assertAlmostEqual(end["value"], end["counted"] / end["all"], places=6)
                    self.assertLessEqual(end["low"], end["value"])
                    self.assertGreaterEqual(end["high"], end["value"])
                else:
                    self.assertIsNone(end["value"])
                    self.assertTrue(end["reason"])

    def test_groups_add_up_to_the_whole(self):
        whole = self.summary["overall"]
        by = {grouping["by"]: grouping for grouping in self.summary["groupings"]}
        for name in ("tooth-group", "operator", "column"):
            if name not in by:
                continue
            groups = by[name]["groups"]
            self.assertEqual(sum(group["cases"] for group in groups), whole["cases"], name)
            self.assertEqual(sum(group["failed"] for group in groups), whole["failed"], name)
            self.assertEqual(sum(group["together"]["canals"] for group in groups), whole["together"]["canals"], name)
        self.assertIn("operator", by)
        self.assertEqual(by["column"]["column"], "clinic")

    def test_a_column_to_group_by_must_be_there_and_be_none_that_always_is(self):
        for column in ("weekday", "operator"):
            done = canalrule("audit", self.list, "--output", self.folder / "nothing", "--group-by", f"clinic,{column}")
            self.assertEqual(done.returncode, 2)
            self.assertIn(column.encode(), done.stderr)
            self.assertIn(b"clinic", done.stderr)
            self.assertFalse((self.folder / "nothing").exists())

    def test_each_film_s_canal_counts_once(self):
        with (self.folder / "now" / "canals.csv").open(encoding="utf-8-sig", newline="") as file:
            canals = list(csv.DictReader(file))
        first = [row for row in canals if row["case"].startswith("C")]
        counts = self.summary["counts"]
        self.assertEqual(counts["canals"], len(first))
        self.assertEqual(counts["canals_read_again"], len(canals) - len(first))
        self.assertEqual(counts["read_again"], 4)

    def test_readings_of_one_film_are_set_side_by_side(self):
        pair = self.summary["agreement"]["pairs"][0]
        self.assertEqual((pair["kind"], pair["films"]), ("between-readers", 4))
        length = next(figure for figure in pair["figures"] if figure["figure"] == "terminus_to_apex_mm")
        # The apex moved by 3 pixels of about 0.03 mm, so that the fill ends that much further short of it.
        # Which reader is the first one follows from the pseudonyms.
        self.assertAlmostEqual(abs(length["bias"]["value"]), 0.09, delta=0.03)
        self.assertLess(length["standard_deviation"], 0.05)
        self.assertTrue(self.summary["agreement"]["joint"]["reason"])

    def test_nobody_is_named(self):
        for name in ("Doctor", "Reader A", "Reader B", "Patient", str(self.folder), str(SAMPLES), "missing-film-17"):
            self.assertFalse(name in self.text, name)

    def test_an_audit_against_itself_changed_nothing(self):
        done = canalrule("audit", self.list, "--output", self.folder / "again", "--pictures", "none",
                         "--against", self.folder / "now")
        self.assertEqual(done.returncode, 5, done.stderr)
        summary = json.loads((self.folder / "again" / "summary.json").read_text(encoding="utf-8"))
        jsonschema.Draft202012Validator(self.schema).validate(summary)
        against = summary["against"]
        self.assertFalse(against["judged_anew"])
        self.assertIsNone(against["caution"])
        for change in (against["overall"]["together"], *against["overall"]["criteria"]):
            self.assertEqual(change["earlier"], change["now"])
            self.assertLessEqual(change["lowest"]["value"], 0.0)
            self.assertGreaterEqual(change["highest"]["value"], 0.0)
            self.assertAlmostEqual(change["lowest"]["value"], -change["highest"]["value"])
        del summary["against"], self.summary["against"]
        self.assertEqual(summary, self.summary)
        self.summary["against"] = None

    def test_an_earlier_audit_by_another_rule_is_judged_anew(self):
        done = canalrule("audit", self.list, "--output", self.folder / "strict", "--pictures", "none",
                         "--criteria", "liang-2012", "--against", self.folder / "now")
        self.assertEqual(done.returncode, 5, done.stderr)
        summary = json.loads((self.folder / "strict" / "summary.json").read_text(encoding="utf-8"))
        jsonschema.Draft202012Validator(self.schema).validate(summary)
        self.assertTrue(summary["against"]["judged_anew"])
        self.assertNotEqual(summary["against"]["earlier"]["criteria"]["name"], summary["audit"]["criteria"]["name"])
        for change in summary["against"]["overall"]["criteria"]:
            self.assertEqual(change["earlier"], change["now"])


if __name__ == "__main__":
    unittest.main()
