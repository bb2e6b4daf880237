"""The published JSON Schemas hold for every file that is shipped and every file that the program writes, and
they refuse what the program refuses."""
import copy
import json
import unittest

import jsonschema

from program import InFolder, SOURCE, canalrule, samples


def schema(name):
    return json.loads((SOURCE / "docs" / f"{name}.schema.json").read_text(encoding="utf-8"))


def validator(name):
    return jsonschema.Draft202012Validator(schema(name))


def parsed(file):
    return json.loads(file.read_text(encoding="utf-8"))


READING = {
    "schema": "canalrule.reading/1",
    "image": {"file": "film.png", "sha256": "0" * 64, "columns": 1100, "rows": 1500},
    "reader": "A1",
    "tooth": "36",
    "note": "second film of the visit",
    "radiopaque": "bright",
    "response": "log",
    "scale": [
        {"kind": "known-length", "points": [[10, 20], [10, 700]], "length_mm": 21,
         "length_uncertainty_mm": 0.25},
        {"kind": "known-width", "points": [[10, 20], [30, 20]], "width_mm": 0.5,
         "width_uncertainty_mm": 0.01},
        {"kind": "carried-length", "points": [[1, 2], [3, 400]],
         "from": {"reading": "working-length.reading.json", "points": [[5, 6], [7, 410]]}}],
    "canals": [
        {"name": "ML", "path": [[300, 100], [330, 900]], "apex": [331, 905], "apex_uncertainty_mm": 0.2,
         "coronal_reference": [290, 50], "line": "proposed",
         "planned": {"tip_diameter_mm": 0.25, "taper": 0.08, "working_length_mm": 20,
                     "backfill_from_mm": 5}}]}

# A field of READING and values that it doesn't take.
READING_FAULTS = {
    "/schema": ["canalrule.reading/2", 1],
    "/image": ["film.png", []],
    "/image/file": ["", "  ", 7, None],
    "/image/sha256": ["0" * 63, "g" * 64, 0],
    "/image/columns": [0, 1.5, "1100"],
    "/image/rows": [-1, None],
    "/reader": [1],
    "/tooth": ["39", "56", "3", "90", 36],
    "/note": [3],
    "/not_assessable": ["", 3],
    "/radiopaque": ["white", None],
    "/response": ["gamma"],
    "/scale": [{}],
    "/scale/0/kind": ["length"],
    "/scale/0/points": [[[1, 2]], "line"],
    "/scale/0/points/0": [[1], [1, 2, 3], ["1", 2]],
    "/scale/0/length_mm": [0, -1, 101, "21"],
    "/scale/0/length_uncertainty_mm": [0, 11],
    "/scale/1/points": [[[1, 2], [3, 4], [50, 60]]],
    "/scale/1/width_mm": [0, 10.5],
    "/scale/2/from": ["other.json"],
    "/scale/2/from/reading": ["", 3],
    "/scale/2/from/points": [[[1, 2]]],
    "/canals": [[], {}],
    "/canals/0/name": ["", 1],
    "/canals/0/path": [[[1, 2]]],
    "/canals/0/apex": [[1], None],
    "/canals/0/apex_uncertainty_mm": [0],
    "/canals/0/coronal_reference": [{}],
    "/canals/0/line": ["guessed", None],
    "/canals/0/planned": [[]],
    "/canals/0/planned/taper": [-0.01, 0.6, "0.08"],
    "/canals/0/planned/tip_diameter_mm": [0],
    "/canals/0/planned/working_length_mm": [0, 101],
    "/canals/0/planned/backfill_from_mm": [-1],
}

REQUIRED = ["/schema", "/image", "/image/file", "/scale/0/kind", "/scale/0/points", "/scale/0/length_mm",
            "/scale/1/width_mm", "/scale/2/from", "/scale/2/from/reading", "/scale/2/from/points", "/canals",
            "/canals/0/name", "/canals/0/path", "/canals/0/apex"]

CRITERIA = {
    "schema": "canalrule.criteria/1", "name": "N", "version": "1", "source": "S 2012", "note": "",
    "confidence": 0.95,
    "criteria": [
        {"id": "length", "text": "T", "figure": "terminus_to_apex_mm", "more_than": 0, "at_most": 2},
        {"id": "density", "text": "D", "figure": "void_count", "at_most": 0,
         "voids": {"score_at_least": 5, "length_at_least_mm": 0.3, "deficit_at_least": 0.1,
                   "third": "apical"}}]}

# The object that is named, and what is put into it or (None) taken out of it.
CRITERIA_FAULTS = [
    ("/schema", {"schema": "canalrule.criteria/2"}),
    ("/name", {"name": None}),
    ("/version", {"version": 1}),
    ("/source", {"source": " "}),
    ("/confidence", {"confidence": 0.5}),
    ("/confidence", {"confidence": 1}),
    ("/criteria", {"criteria": []}),
    ("/criteria/0/figure", {"figure": "length"}),
    ("/criteria/0/more_than", {"at_least": 0}),
    ("/criteria/0", {"more_than": None, "at_most": None}),
    ("/criteria/0/at_most", {"at_most": "2"}),
    ("/criteria/1/voids", {"voids": None}),
    ("/criteria/1", {"at_least": 0}),
    ("/criteria/1/voids/score_at_least", {"voids": {"length_at_least_mm": 0.3}}),
    ("/criteria/1/voids/third", {"voids": {"score_at_least": 5, "third": "last"}}),
    ("/criteria/1/voids/deficit_at_least", {"voids": {"score_at_least": 5, "deficit_at_least": 35}}),
]


def owner_of(document, pointer):
    """The object or array that holds the value at a JSON pointer, and its key there."""
    *path, last = pointer.split("/")[1:]
    place = document
    for key in path:
        place = place[int(key) if isinstance(place, list) else key]
    return place, int(last) if isinstance(place, list) else last


class Shipped(unittest.TestCase):
    def test_the_schemas_are_schemas(self):
        for name in ("reading", "result", "criteria"):
            jsonschema.Draft202012Validator.check_schema(schema(name))

    def test_every_sample_reading(self):
        self.assertTrue(samples())
        for reading in samples():
            with self.subTest(reading.name):
                validator("reading").validate(parsed(reading))

    def test_every_criteria_file(self):
        files = sorted((SOURCE / "docs" / "criteria").glob("*.json"))
        self.assertTrue(files)
        for file in files:
            with self.subTest(file.name):
                validator("criteria").validate(parsed(file))


class Written(InFolder):
    def test_every_sample_result(self):
        self.assertTrue(samples())
        for reading in samples():
            with self.subTest(reading.name):
                result = self.folder / "result.json"
                self.assert_fine(canalrule("measure", reading, "--output", result))
                document = parsed(result)
                validator("result").validate(document)
                self.assertEqual([canal["name"] for canal in document["canals"]],
                                 [canal["name"] for canal in parsed(reading)["canals"]])

    def test_a_missing_figure_has_its_reason(self):
        """Whatever is null among the figures of a canal stands in not_assessable."""
        figures = ("terminus", "coronal_level_mm", "filled_length_mm", "voids", "curvature_deg")
        self.assertTrue(samples())
        for reading in samples():
            done = canalrule("measure", reading, "--json")
            self.assert_fine(done)
            for canal in json.loads(done.stdout)["canals"]:
                said = {entry["figure"] for entry in canal["not_assessable"]}
                missing = {figure for figure in figures if canal[figure] is None}
                missing |= {f"taper.{part}" for part in ("overall", "apical", "middle", "coronal")
                            if canal["taper"][part] is None}
                unsaid = {figure for figure in missing if not {figure, figure.split(".")[0]} & said}
                with self.subTest(reading=reading.name, canal=canal["name"]):
                    self.assertEqual(unsaid, set())


class Refused(InFolder):
    def test_the_sample_of_this_test_is_a_reading(self):
        validator("reading").validate(READING)
        done = canalrule("measure", self.write_reading(READING))
        self.assert_refused(done, 3, "film.png")  # only the film is missing

    def check_refused_by_both(self, document, pointer):
        self.assertFalse(validator("reading").is_valid(document))
        self.assert_refused(canalrule("measure", self.write_reading(document)), 3, pointer)

    def test_what_the_program_refuses_the_schema_refuses(self):
        for pointer, values in READING_FAULTS.items():
            for value in values:
                document = copy.deepcopy(READING)
                place, key = owner_of(document, pointer)
                place[key] = value
                with self.subTest(pointer=pointer, value=value):
                    self.check_refused_by_both(document, pointer)

    def test_a_film_that_its_reader_found_not_assessable(self):
        document = {**READING, "canals": [], "not_assessable": "the apex is off the film"}
        validator("reading").validate(document)
        done = canalrule("measure", self.write_reading(document))
        self.assert_refused(done, 3, "the apex is off the film")

    def test_a_field_that_is_missing(self):
        for pointer in REQUIRED:
            document = copy.deepcopy(READING)
            place, key = owner_of(document, pointer)
            del place[key]
            with self.subTest(pointer):
                self.check_refused_by_both(document, pointer)

    def test_criteria_that_the_program_refuses_the_schema_refuses(self):
        validator("criteria").validate(CRITERIA)
        reading = self.write_reading(READING)
        file = self.folder / "own.json"
        for pointer, change in CRITERIA_FAULTS:
            document = copy.deepcopy(CRITERIA)
            place = document
            if pointer.startswith("/criteria/"):
                place = document["criteria"][int(pointer.split("/")[2])]
            place.update(change)
            for key in [key for key, value in change.items() if value is None]:
                del place[key]
            file.write_text(json.dumps(document), encoding="utf-8")
            with self.subTest(pointer=pointer, change=change):
                self.assertFalse(validator("criteria").is_valid(document))
                done = canalrule("measure", reading, "--criteria", file)
                self.assert_refused(done, 3, f"own.json: {pointer}: ")

    def test_a_field_that_may_be_missing(self):
        """Every other field of the sample may go without a word from either."""
        def pointers(value, pointer=""):
            if isinstance(value, dict):
                for key, item in value.items():
                    yield f"{pointer}/{key}"
                    yield from pointers(item, f"{pointer}/{key}")
        optional = set(pointers(READING))
        optional |= {f"/canals/0{pointer}" for pointer in pointers(READING["canals"][0])}
        optional |= {f"/scale/{i}/{key}" for i, mark in enumerate(READING["scale"]) for key in mark}
        optional -= set(REQUIRED) | {"/scale/1/kind", "/scale/2/kind", "/scale/1/points", "/scale/2/points"}
        self.assertGreater(len(optional), 10)
        for pointer in sorted(optional):
            document = copy.deepcopy(READING)
            place, key = owner_of(document, pointer)
            del place[key]
            with self.subTest(pointer):
                validator("reading").validate(document)
                done = canalrule("measure", self.write_reading(document))
                self.assert_refused(done, 3, "film.png")
                self.assertNotIn(pointer, done.stderr.decode())


if __name__ == "__main__":
    unittest.main()
