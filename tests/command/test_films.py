"""Films that can't be used: one line that names the film, exit code 3, no output, the film untouched."""
import json
import resource
import unittest
import zlib

import pydicom
from PIL import Image

from program import InFolder, PROGRAM, SAMPLES, canalrule, png, sample_with

MEMORY = 1_500_000_000  # bytes of address space: far under what an oversized header asks for


def limited_memory():
    # The sanitizers reserve terabytes of address space that they never touch.
    if b"__asan_init" not in PROGRAM.read_bytes():
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))


class UnusableFilm(InFolder):
    def setUp(self):
        super().setUp()
        self.template = sample_with(".png", "known-length")
        self.png = (SAMPLES / json.loads(self.template.read_text())["image"]["file"]).read_bytes()
        self.dicom = next(SAMPLES.glob("*.dcm"))

    def refuse(self, name, content, *parts):
        with self.subTest(film=name, bytes=len(content)):
            film = self.folder / name
            film.write_bytes(content)
            reading = self.reading_of_film(name, self.template)
            before = self.contents()
            done = canalrule("measure", reading, "--output", self.folder / "out.json",
                             "--picture", self.folder / "out.png", preexec_fn=limited_memory)
            self.assert_refused(done, 3, name, *parts)
            self.assertEqual(self.contents(), before)

    def written(self, dataset):
        file = self.folder / "made.dcm"
        dataset.save_as(file)
        content = file.read_bytes()
        file.unlink()
        return content

    def test_not_an_image(self):
        self.refuse("empty.png", b"", "empty")
        self.refuse("text.png", b"This is a note about a film.\n" * 20)
        self.refuse("zeros.dcm", bytes(5000))

    def test_another_image_format(self):
        Image.new("L", (300, 300), 90).save(self.folder / "film.jpg")
        self.refuse("film.png", (self.folder / "film.jpg").read_bytes())
        Image.new("L", (300, 300), 90).save(self.folder / "film.tif")
        self.refuse("film.dcm", (self.folder / "film.tif").read_bytes())

    def test_true_colour(self):
        Image.effect_noise((300, 300), 60).convert("RGB").save(self.folder / "grey.png")
        colour = Image.open(self.folder / "grey.png")
        colour.putpixel((150, 150), (200, 20, 20))
        colour.save(self.folder / "colour.png")
        self.refuse("colour.png", (self.folder / "colour.png").read_bytes(), "colour")

    def test_truncated(self):
        for share in (0.001, 0.1, 0.5, 0.9):
            self.refuse("short.png", self.png[:int(share * len(self.png))])
        self.refuse("short.png", self.png[:12])
        self.refuse("short.png", self.png[:-14])
        whole = self.dicom.read_bytes()
        for kept in (100, 132, 140, 400, len(whole) // 2, len(whole) - 2):
            self.refuse("short.dcm", whole[:kept])

    def test_damaged(self):
        damaged = bytearray(self.png)
        damaged[len(damaged) // 2] ^= 0x10
        self.refuse("damaged.png", bytes(damaged))

    def test_oversized(self):
        self.refuse("huge.png", png(20000, 10000, 16, 0, zlib.compress(bytes(4000))), "100 million")
        self.refuse("long.png", png(2**31 - 1, 2**31 - 1, 8, 0, zlib.compress(bytes(4000))))
        film = pydicom.dcmread(self.dicom)
        film.Rows, film.Columns = 60000, 60000
        self.refuse("huge.dcm", self.written(film))

    def test_header_that_promises_more_than_the_file_holds(self):
        self.refuse("more.png", png(1000, 1000, 16, 0, zlib.compress(bytes(4000))))
        film = pydicom.dcmread(self.dicom)
        film.Rows = 2 * film.Rows
        self.refuse("more.dcm", self.written(film))

    def test_no_single_grey_frame(self):
        film = pydicom.dcmread(self.dicom)
        film.NumberOfFrames = 2
        film.PixelData = film.PixelData * 2
        self.refuse("frames.dcm", self.written(film), "frame")
        film = pydicom.dcmread(self.dicom)
        film.SamplesPerPixel, film.PhotometricInterpretation, film.PlanarConfiguration = 3, "RGB", 0
        film.PixelData = film.PixelData * 3
        self.refuse("colour.dcm", self.written(film))
        film = pydicom.dcmread(self.dicom)
        del film.PixelData
        self.refuse("no-pixels.dcm", self.written(film))

    def test_missing_or_a_folder(self):
        reading = self.reading_of_film("nowhere.png", self.template)
        self.assert_refused(canalrule("measure", reading), 3, "/image/file", "nowhere.png")
        (self.folder / "folder.png").mkdir()
        reading = self.reading_of_film("folder.png", self.template)
        self.assert_refused(canalrule("measure", reading), 3, "folder.png", "folder")
        self.assert_refused(canalrule("measure", self.template, "--film", "/dev/null"), 3, "/dev/null")


if __name__ == "__main__":
    unittest.main()
