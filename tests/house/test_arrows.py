"""The walls of the house: who includes whom, and which room alone sees a library from outside."""
import os
import pathlib
import re
import unittest

SOURCE = pathlib.Path(os.environ["CANALRULE_SOURCE"])
INCLUDE = re.compile(r'^\s*#\s*include\s*([<"])([^>"]+)[>"]', re.MULTILINE)
ROOM = re.compile(r"canalrule_room\((\w+)([^)]*)\)")

# Headers from outside, by how they begin, and the rooms that may include them.
OUTSIDE = {
    "dcmtk/": {"dicom"},
    "png.h": {"intake", "report"},
    "pugixml.hpp": {"report"},
    "cairo": {"report"},
    "boost/program_options": {"command"},
    "boost/dll": {"command"},
    "Q": {"window"},
    "boost/math/": {"judge", "statistics"},
    "nettle/": {"base"},
    "zlib.h": {"dicom"},
    "csv.h": {"record"},
    "nlohmann/": {"record", "phantom", "audit", "desk"},
    "opencv2/imgproc.hpp": {"film", "desk", "measure", "report", "phantom"},
    "opencv2/core": {"film", "desk", "dicom", "intake", "geometry", "cases", "measure", "report", "phantom", "command"},
}
# What only one operating system has: in the one file that writes files safely.
SYSTEM = {"fcntl.h", "sys/file.h", "sys/stat.h", "unistd.h", "io.h", "process.h"}
SYSTEM_FILE = "src/base/whole_file.cpp"
# What a public header may show of the outside: the package's users must have it too.
PUBLIC_OUTSIDE = {"opencv2/core.hpp", "nlohmann/json_fwd.hpp"}


def known_rooms():
    """Each room with all the rooms it may know, as src/CMakeLists.txt says it."""
    text = (SOURCE / "src" / "CMakeLists.txt").read_text()
    known = {}
    for name, rest in ROOM.findall(text):
        words = re.search(r"KNOWS((?:\s+[a-z_]+)+)", rest)
        known[name] = set()
        for lower in words.group(1).split() if words else []:
            known[name] |= {lower} | known[lower]  # a room that stands lower has had its line before
    known["command"] = set(known)
    return known


def files_of(room):
    files = []
    for folder in (SOURCE / "src" / room, SOURCE / "include" / "canalrule" / room):
        files += [file for file in sorted(folder.glob("**/*")) if file.suffix in (".cpp", ".hpp")]
    return files


def includes(file):
    return INCLUDE.findall(file.read_text(encoding="utf-8"))


class Arrows(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.known = known_rooms()

    def test_every_folder_is_a_room_and_every_room_has_files(self):
        folders = {path.name for path in (SOURCE / "src").iterdir() if path.is_dir()} - {"cmake"}
        self.assertEqual(folders, set(self.known))
        public = {path.name for path in (SOURCE / "include" / "canalrule").iterdir()}
        self.assertLessEqual(public, set(self.known))
        for room in self.known:
            self.assertTrue(files_of(room), room)

    def test_a_room_includes_only_rooms_it_knows(self):
        for room, known in self.known.items():
            for file in files_of(room):
                for _, header in includes(file):
                    if header.startswith("canalrule/"):
                        self.assertIn(header.split("/")[1], known | {room}, f"{file}: {header}")
                        self.assertTrue((SOURCE / "include" / header).is_file(), f"{file}: {header}")

    def test_private_headers_stay_in_their_room(self):
        for room in self.known:
            for file in files_of(room):
                for bracket, header in includes(file):
                    if bracket == '"':
                        self.assertTrue(file.is_relative_to(SOURCE / "src" / room), f"{file}: {header}")
                        self.assertTrue((SOURCE / "src" / room / header).is_file(), f"{file}: {header}")

    def test_a_library_from_outside_is_seen_in_its_rooms_only(self):
        for room in self.known:
            for file in files_of(room):
                for bracket, header in includes(file):
                    where = f"{file}: {header}"
                    if bracket == '"' or header.startswith("canalrule/"):
                        continue
                    rooms = next((r for start, r in OUTSIDE.items() if header.startswith(start)), None)
                    if rooms is not None:
                        self.assertIn(room, rooms, where)
                    elif header in SYSTEM:
                        self.assertEqual(file, SOURCE / SYSTEM_FILE, where)
                    else:
                        self.assertRegex(header, r"^[a-z_0-9]+$", where)  # the C++ library's own

    def test_public_headers_show_little_of_the_outside(self):
        for room in self.known:
            for file in files_of(room):
                if file.is_relative_to(SOURCE / "include"):
                    for _, header in includes(file):
                        if header.startswith(tuple(OUTSIDE)):
                            self.assertIn(header, PUBLIC_OUTSIDE, f"{file}: {header}")

    def test_the_phantom_shares_nothing_with_what_it_checks(self):
        self.assertFalse(self.known["phantom"] & {"geometry", "measure", "judge", "report"})
        for room in ("geometry", "measure", "judge", "report"):
            self.assertNotIn("phantom", self.known[room])


class Shape(unittest.TestCase):
    def test_the_top_level_is_what_it_should_be(self):
        found = {path.name for path in SOURCE.iterdir() if not path.name.startswith(".")} - {"build"}
        self.assertEqual(found, {"CMakeLists.txt", "README.md", "DEVELOPERS.md", "LICENSE", "include", "src",
                                 "tests", "sample-images", "docs"})

    def test_no_source_file_is_too_long_to_read(self):
        for folder in ("src", "include"):
            for file in (SOURCE / folder).rglob("*.?pp"):
                lines = file.read_text(encoding="utf-8").splitlines()
                self.assertLessEqual(len(lines), 450, file)
                for number, line in enumerate(lines, 1):
                    self.assertLessEqual(len(line), 120, f"{file}:{number}")

    def test_nothing_is_put_off(self):
        put_off = re.compile(r"\b(TO" r"DO|FIX" r"ME|XX" r"X|HA" r"CK)\b")
        for folder in ("src", "include", "tests", "docs"):
            for file in (SOURCE / folder).rglob("*"):
                if file.suffix in (".cpp", ".hpp", ".py", ".cmake", ".txt", ".md", ".sh", ".json"):
                    self.assertNotRegex(file.read_text(encoding="utf-8"), put_off, file)

    def test_sample_images_stay_small(self):
        size = sum(file.stat().st_size for file in (SOURCE / "sample-images").rglob("*") if file.is_file())
        self.assertLess(size, 15e6)


if __name__ == "__main__":
    unittest.main()
