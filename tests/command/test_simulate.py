"""`canalrule simulate`: the same description gives the same files, and what it writes can be measured."""
import hashlib
import json
import pathlib
import unittest

import numpy
import pydicom
from PIL import Image

from program import InFolder, SAMPLES, canalrule


def descriptions():
    return sorted(SAMPLES.glob("*.phantom.json"))


class Simulate(InFolder):
    def simulate(self, description, ending, stem="made"):
        files = [self.folder / f"{stem}{e}" for e in (ending, ".reading.json", ".truth.json")]
        done = canalrule("simulate", description, "--output", files[0], "--reading", files[1], "--truth", files[2])
        self.assert_fine(done)
        self.assertEqual(done.stdout, b"")
        return files

    def test_the_same_description_gives_the_same_bytes(self):
        for ending in (".png", ".dcm"):
            one = self.simulate(descriptions()[0], ending, "made")
            first = [file.read_bytes() for file in one]
            again = self.simulate(descriptions()[0], ending, "made")
            self.assertEqual(first, [file.read_bytes() for file in again])

    def test_both_formats_hold_the_same_pixels(self):
        with_png = self.simulate(descriptions()[0], ".png", "one")[0]
        with_dicom = self.simulate(descriptions()[0], ".dcm", "two")[0]
        pixels = numpy.asarray(Image.open(with_png)).astype(int)
        self.assertGreater(pixels.max() - pixels.min(), 100)
        numpy.testing.assert_array_equal(pixels, pydicom.dcmread(with_dicom).pixel_array.astype(int))

    def test_the_reading_belongs_to_the_film_wherever_it_lies(self):
        (self.folder / "readings").mkdir()
        film, reading = self.folder / "film.png", self.folder / "readings" / "film.reading.json"
        self.assert_fine(canalrule("simulate", descriptions()[0], "--output", film, "--reading", reading))
        image = json.loads(reading.read_text(encoding="utf-8"))["image"]
        self.assertEqual(pathlib.PurePosixPath(image["file"]), pathlib.PurePosixPath("../film.png"))
        self.assertEqual(image["sha256"], hashlib.sha256(film.read_bytes()).hexdigest())

    def test_what_it_makes_is_measured(self):
        self.assertGreaterEqual(len(descriptions()), 8)
        film, reading, truth = self.simulate(SAMPLES / "short.phantom.json", ".png")
        self.assert_fine(canalrule("measure", reading))
        self.assertEqual(json.loads(truth.read_text(encoding="utf-8"))["schema"], "canalrule.truth/1")

    def test_unusable_descriptions(self):
        file = self.folder / "bad.phantom.json"
        for content, part in (("", "empty"), ("{", ""), ('{"schema": "canalrule.phantom/1", "sede": 3}', "/sede"),
                              ('{"schema": "canalrule.phantom/1", "detector": {"bits": 40}}', "/detector/bits")):
            file.write_text(content)
            before = self.contents()
            done = canalrule("simulate", file, "--output", self.folder / "out.png", "--truth",
                             self.folder / "out.json")
            self.assert_refused(done, 3, "bad.phantom.json", part)
            self.assertEqual(self.contents(), before)

    def test_wrong_use(self):
        description = descriptions()[0]
        for words in ([], [description], [description, "--output", "film.tif"],
                      [description, "second", "--output", "film.png"],
                      [description, "--output", "film.png", "--truth", "film.png"],
                      [description, "--output", "film.png", "--reading", description]):
            self.assert_refused(canalrule("simulate", *words, cwd=self.folder), 2, "simulate")
        self.assertEqual(self.contents(), {})

    def test_a_folder_that_is_not_there(self):
        done = canalrule("simulate", descriptions()[0], "--output", self.folder / "no" / "film.png")
        self.assert_refused(done, 4, "No such file or directory")


if __name__ == "__main__":
    unittest.main()
