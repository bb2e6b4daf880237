"""What the tests of `canalrule audit` share: a small film that is quickly measured, and lists of its readings."""
import csv
import json
import pathlib
import subprocess
import tempfile
import unittest

from program import PROGRAM, canalrule

DESCRIPTION = {
    "schema": "canalrule.phantom/1", "seed": 5,
    "detector": {"columns": 160, "rows": 300, "pixel_mm": 0.06, "blur_mm": 0.04, "bits": 12, "response": "log"},
    "tooth": {"number": "11", "apex_x": 0.5, "apex_y": 0.85},
    "canals": [{"name": "1", "fill": {"terminus_mm": 0.8, "coronal_mm": 11, "tip_diameter_mm": 0.35, "taper": 0.06}}],
    "reading": {"reader": "A1", "scale": "exact", "scale_uncertainty_mm": 0.05}}


class Audits(unittest.TestCase):
    """A folder with a small film, and readings of it that differ in their reader."""

    @classmethod
    def setUpClass(cls):
        held = tempfile.TemporaryDirectory()
        cls.addClassCleanup(held.cleanup)
        cls.films = pathlib.Path(held.name)
        (cls.films / "small.phantom.json").write_text(json.dumps(DESCRIPTION), encoding="utf-8")
        done = canalrule("simulate", cls.films / "small.phantom.json", "--output", cls.films / "small.png",
                         "--reading", cls.films / "small.reading.json")
        assert done.returncode == 0, done.stderr
        cls.reading = json.loads((cls.films / "small.reading.json").read_text(encoding="utf-8"))

    def setUp(self):
        held = tempfile.TemporaryDirectory()
        self.addCleanup(held.cleanup)
        self.folder = pathlib.Path(held.name)
        self.output = self.folder / "results"

    def make_reading(self, name, reader="A1", film=None, **changed):
        document = {**self.reading, "reader": reader, **changed}
        document["image"] = {"file": str(film or self.films / "small.png")}
        file = self.folder / f"{name}.reading.json"
        file.write_text(json.dumps(document), encoding="utf-8")
        return file

    def make_list(self, count, name="cases.csv", broken=()):
        """`count` cases by as many readings of one film; those in `broken` have none."""
        rows = [["case", "reading", "operator", "clinic"]]
        for number in range(1, count + 1):
            reading = f"r{number}.reading.json"
            if number not in broken:
                self.make_reading(f"r{number}", reader=f"reader {number}")
            rows.append([f"K{number}", reading, f"Dr {'AB'[number % 2]}", "North"])
        return self.write_list(rows, name)

    def write_list(self, rows, name="cases.csv"):
        file = self.folder / name
        with open(file, "w", newline="", encoding="utf-8") as out:
            csv.writer(out).writerows(rows)
        return file

    def audit(self, *words):
        return subprocess.run([PROGRAM, "audit", *map(str, words)], capture_output=True, timeout=600)

    def start(self, *words):
        return subprocess.Popen([PROGRAM, "audit", *map(str, words)], stdout=subprocess.PIPE, stderr=subprocess.PIPE)

    def table(self, name, output=None):
        with open((output or self.output) / name, newline="", encoding="utf-8") as file:
            return list(csv.DictReader(file))

    def tree(self, folder=None):
        """All that lies in an output folder, name by name, and the key beside it."""
        folder = folder or self.output
        found = {str(path.relative_to(folder)): path.read_bytes()
                 for path in sorted(folder.rglob("*")) if path.is_file()}
        key = folder.with_name(folder.name + ".key.csv")
        if key.exists():
            found["(key)"] = key.read_bytes()
        return found

    def assert_same_tree(self, one, other):
        self.assertEqual(list(one), list(other))
        for name, content in one.items():
            self.assertEqual(content == other[name], True, f"{name} differs")

    def assert_code(self, done, code):
        self.assertEqual(done.returncode, code, done.stderr.decode())
