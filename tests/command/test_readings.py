"""Readings that can't be used: each field is named by its JSON pointer, exit code 3, nothing written."""
import json
import unittest

from program import InFolder, SOURCE, canalrule, sample_with


def put(pointer, value):
    """A change that sets the field at a JSON pointer (RFC 6901)."""
    *path, last = pointer.split("/")[1:]

    def change(document):
        place = document
        for key in path:
            place = place[int(key) if isinstance(place, list) else key]
        place[int(last) if isinstance(place, list) else last] = value
    return change


def drop(pointer):
    *path, last = pointer.split("/")[1:]

    def change(document):
        place = document
        for key in path:
            place = place[int(key) if isinstance(place, list) else key]
        del place[last]
    return change


# What is changed, and the pointer that the refusal must name.
BROKEN = [
    (put("/schema", "canalrule.reading/99"), "/schema"),
    (drop("/schema"), "/schema"),
    (drop("/image"), "/image"),
    (put("/image", "molar.png"), "/image"),
    (drop("/image/file"), "/image/file"),
    (put("/image/file", 7), "/image/file"),
    (put("/image/columns", 12), "/image/columns"),
    (put("/image/rows", "many"), "/image/rows"),
    (put("/image/sha256", "0" * 64), "/image/sha256"),
    (put("/response", "logarithm"), "/response"),
    (put("/radiopaque", True), "/radiopaque"),
    (put("/canals", []), "/canals"),
    (put("/canals", {}), "/canals"),
    (drop("/canals/0/path"), "/canals/0/path"),
    (put("/canals/0/path", [[100, 100]]), "/canals/0/path"),
    (put("/canals/0/path", [[100, 100], [100, "200"]]), "/canals/0/path/1/1"),
    (put("/canals/0/path", [[100, 100], [100, 200, 300]]), "/canals/0/path/1"),
    (put("/canals/0/path/0", [1e9, 5]), "/canals/0/path/0/0"),
    (drop("/canals/0/apex"), "/canals/0/apex"),
    (put("/canals/0/apex", [-50, 10]), "/canals/0/apex"),
    (put("/canals/0/planned", {"taper": -0.06}), "/canals/0/planned/taper"),
    (put("/canals/0/planned", {"tip_diameter_mm": "25"}), "/canals/0/planned/tip_diameter_mm"),
    (put("/scale/0/kind", "guess"), "/scale/0/kind"),
    (put("/scale/0/length_mm", -21), "/scale/0/length_mm"),
    (put("/scale/0/length_mm", 0), "/scale/0/length_mm"),
    (put("/scale/0/length_mm", None), "/scale/0/length_mm"),
    (put("/scale/0/length_uncertainty_mm", -0.1), "/scale/0/length_uncertainty_mm"),
    (put("/scale/0/points", [[10, 10], [10, 10]]), "/scale/0/points"),
    (put("/scale/0", {"kind": "known-width", "points": [[1, 1], [2, 2], [3, 3]], "width_mm": 0.5}),
     "/scale/0/points"),
    (put("/scale/0", {"kind": "carried-length", "points": [[1, 1], [90, 90]],
                      "from": {"points": [[1, 1], [90, 90]]}}), "/scale/0/from/reading"),
    (drop("/scale"), "/scale"),
]

# Texts that are no reading at all.
GARBLED = {
    "empty": b"",
    "no-json": b"ML 21 mm",
    "cut-off": b'{"schema": "canalrule.reading/1", "image": {"fi',
    "no-object": b'[1, 2, 3]',
    "not-a-number": b'{"schema": "canalrule.reading/1", "canals": NaN}',
    "too-great": b'{"schema": "canalrule.reading/1", "scale": 1e999}',
    "deep": b'[' * 100000,
    "bytes": bytes(range(128, 256)) * 10,
}


class UnusableReading(InFolder):
    def setUp(self):
        super().setUp()
        self.good = self.copy_sample(sample_with(".png", "known-length"))
        self.document = json.loads(self.good.read_text(encoding="utf-8"))

    def refuse(self, reading, *parts):
        before = self.contents()
        done = canalrule("measure", reading, "--output", self.folder / "out.json",
                         "--picture", self.folder / "out.svg")
        self.assert_refused(done, 3, reading.name, *parts)
        self.assertEqual(self.contents(), before)

    def test_a_broken_field_is_named_by_its_pointer(self):
        for change, pointer in BROKEN:
            document = json.loads(json.dumps(self.document))
            change(document)
            with self.subTest(pointer=pointer, field=document):
                self.refuse(self.write_reading(document, "broken.reading.json"), f".reading.json: {pointer}: ")

    def test_what_is_no_reading_at_all(self):
        for name, content in GARBLED.items():
            with self.subTest(name):
                file = self.folder / f"{name}.reading.json"
                file.write_bytes(content)
                self.refuse(file)

    def test_a_film_in_place_of_its_reading(self):
        for film in ("flush.png", "curved.dcm"):
            done = canalrule("measure", SOURCE / "sample-images" / film)
            self.assertEqual(done.returncode, 3)
            self.assertIn(b"this is a film, not a reading", done.stderr)
            self.assertIn(b"canalrule draw", done.stderr)

    def test_a_reading_that_is_not_there(self):
        self.assert_refused(canalrule("measure", self.folder / "none.reading.json"), 3, "none.reading.json")
        self.assert_refused(canalrule("measure", self.folder), 3, self.folder.name, "folder")

    def test_a_reading_whose_carried_scale_leads_nowhere(self):
        self.document["scale"] = [{"kind": "carried-length", "points": [[100, 100], [100, 400]],
                                   "from": {"reading": "lost.reading.json", "points": [[1, 1], [90, 90]]}}]
        done = canalrule("measure", self.write_reading(self.document))
        self.assert_refused(done, 3, "lost.reading.json")

    def test_unusable_criteria(self):
        for content in (b"", b"{}", b'{"schema": "canalrule.criteria/1", "criteria": 3}'):
            criteria = self.folder / "own.json"
            criteria.write_bytes(content)
            self.assert_refused(canalrule("measure", self.good, "--criteria", criteria), 3, "own.json")


if __name__ == "__main__":
    unittest.main()
