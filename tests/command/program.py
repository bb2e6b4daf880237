"""What the tests of the program share: calling it, sample readings, broken films."""
import copy
import json
import os
import pathlib
import shutil
import struct
import subprocess
import tempfile
import unittest
import zlib

PROGRAM = pathlib.Path(os.environ["CANALRULE"])
SOURCE = pathlib.Path(os.environ["CANALRULE_SOURCE"])
SAMPLES = SOURCE / "sample-images"


def canalrule(*words, **options):
    return subprocess.run([PROGRAM, *map(str, words)], capture_output=True, timeout=120, **options)


def samples():
    return sorted(SAMPLES.glob("*.reading.json"))


def sample_with(film_ending, scale_kind):
    """The first sample reading whose film is of this format and whose scale is marked this way."""
    for reading in samples():
        document = json.loads(reading.read_text(encoding="utf-8"))
        kinds = {mark["kind"] for mark in document.get("scale", [])}
        if document["image"]["file"].endswith(film_ending) and scale_kind in kinds:
            return reading
    raise LookupError(f"no sample is a {film_ending} with {scale_kind}")


def png(columns, rows, bits, colour, image_data):
    """A PNG file of given header and compressed image data (ISO/IEC 15948, 11.2)."""
    def chunk(kind, data):
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
    header = struct.pack(">IIBBBBB", columns, rows, bits, colour, 0, 0, 0)
    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", image_data) + chunk(b"IEND", b""))


class InFolder(unittest.TestCase):
    """A test in a folder of its own, with a sample's reading and film copied into it."""

    def setUp(self):
        held = tempfile.TemporaryDirectory()
        self.addCleanup(held.cleanup)
        self.folder = pathlib.Path(held.name)

    def copy_sample(self, reading, name=None):
        document = json.loads(reading.read_text(encoding="utf-8"))
        film = SAMPLES / document["image"]["file"]
        shutil.copy(film, self.folder / film.name)
        copied = self.folder / (name or reading.name)
        shutil.copy(reading, copied)
        return copied

    def write_reading(self, document, name="case.reading.json"):
        file = self.folder / name
        file.write_text(json.dumps(document), encoding="utf-8")
        return file

    def reading_of_film(self, film_name, template):
        """A reading of another film: the template's marks, without what ties them to its own."""
        document = copy.deepcopy(json.loads(template.read_text(encoding="utf-8")))
        document["image"] = {"file": film_name}
        return self.write_reading(document)

    def contents(self):
        return {str(path.relative_to(self.folder)): path.read_bytes() if path.is_file() else None
                for path in self.folder.rglob("*") if os.access(path, os.R_OK)}

    def assert_fine(self, done):
        self.assertEqual((done.returncode, done.stderr), (0, b""))

    def assert_refused(self, done, code, *parts):
        """One line on standard error that names every part, nothing on standard output."""
        line = done.stderr.decode()
        self.assertEqual(done.returncode, code, line)
        self.assertEqual(done.stdout, b"")
        self.assertEqual(line.count("\n"), 1, line)
        self.assertTrue(line.startswith("canalrule: ") and line.endswith("\n"), line)
        for part in parts:
            self.assertIn(str(part), line)
