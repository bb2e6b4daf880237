"""Rubrics and feedback files: what the schemas say and what the program takes are the same."""
import copy
import json
import unittest

import jsonschema

from program import SAMPLES, SOURCE, InFolder, canalrule

CLASS = SAMPLES / "class" / "class.csv"
RUBRICS = sorted((SOURCE / "docs" / "rubrics").glob("*.json"))
QUESTIONS = SOURCE / "docs" / "feedback" / "questions.json"


def parsed(file):
    return json.loads(file.read_text(encoding="utf-8"))


def validator(name):
    return jsonschema.Draft202012Validator(parsed(SOURCE / "docs" / f"{name}.schema.json"))


# What is wrong with three-level.json once the value at the pointer is put in; None takes it out.
WRONG_RUBRICS = [
    ("/schema", "canalrule.rubric/2"),
    ("/source", None),
    ("/confidence", 0.5),
    ("/pass_mark_percent", 120),
    ("/too_close_to_call", "kindly"),
    ("/not_assessable", "guess"),
    ("/several_canals", "best"),
    ("/criteria", []),
    ("/criteria/0/figure", "length"),
    ("/criteria/0/points", 0),
    ("/criteria/0/bands/1/at_least", "0"),
    ("/criteria/0/bands/1/points", -1),
    ("/criteria/0/bands/0/text", ""),
    ("/criteria/1/voids", None),
    ("/criteria/1/voids/third", "last"),
    ("/automatic_fails/0/less_than", None),
    ("/automatic_fails/2/figure", "blur_mm"),
]

# The same of what a schema can't say; the message names the pointer.
UNFAIR_RUBRICS = [
    ("/criteria/0/bands/2", "/criteria/0/bands/2/at_most", 1.9, "gap"),
    ("/criteria/0/bands/2", "/criteria/0/bands/2/at_most", 2.1, "overlap"),
    ("/criteria/1/bands/2/points", "/criteria/1/bands/2/points", 2, "worse"),
    ("/criteria/0/bands", "/criteria/0/points", 3, "full points"),
    ("/criteria/1/id", "/criteria/1/id", "length", "twice"),
    ("/automatic_fails/0", "/automatic_fails/0/less_than", 1, "full points"),
    ("/automatic_fail_percent", "/automatic_fail_percent", 80, "pass"),
]


def changed(document, pointer, value):
    document = copy.deepcopy(document)
    *path, last = pointer.split("/")[1:]
    place = document
    for key in path:
        place = place[int(key) if isinstance(place, list) else key]
    last = int(last) if isinstance(place, list) else last
    if value is None:
        del place[last]
    else:
        place[last] = value
    return document


class Rubrics(InFolder):
    def graded_by(self, rubric, *options):
        """Refused before any film is read, so that this is quick."""
        file = self.folder / "own.json"
        file.write_text(json.dumps(rubric), encoding="utf-8")
        return canalrule("grade", self.folder / "no-list.csv", "--rubric", file, "--output", self.folder / "out", *options)

    def test_the_shipped_ones_follow_their_schemas(self):
        self.assertEqual(len(RUBRICS), 2)
        for name in ("rubric", "feedback", "marks"):
            jsonschema.Draft202012Validator.check_schema(parsed(SOURCE / "docs" / f"{name}.schema.json"))
        for file in RUBRICS:
            validator("rubric").validate(parsed(file))
            self.assert_refused(self.graded_by(parsed(file)), 3, "no-list.csv")  # only the list is missing
        validator("feedback").validate(parsed(QUESTIONS))

    def test_what_the_schema_refuses_the_program_refuses(self):
        rubric = parsed(SOURCE / "docs" / "rubrics" / "three-level.json")
        for pointer, value in WRONG_RUBRICS:
            with self.subTest(pointer=pointer, value=value):
                wrong = changed(rubric, pointer, value)
                self.assertTrue(list(validator("rubric").iter_errors(wrong)))
                self.assert_refused(self.graded_by(wrong), 3, "own.json: /" + pointer.split("/")[1])

    def test_what_only_the_program_can_tell(self):
        rubric = parsed(SOURCE / "docs" / "rubrics" / "three-level.json")
        for place, pointer, value, word in UNFAIR_RUBRICS:
            with self.subTest(pointer=pointer, value=value):
                unfair = changed(rubric, pointer, value)
                validator("rubric").validate(unfair)
                parent = place.rsplit("/", 1)[0] if word in ("gap", "overlap") else place
                self.assert_refused(self.graded_by(unfair), 3, "own.json: " + parent, word)

    def test_a_misspelt_rule_is_not_passed_over(self):
        rubric = parsed(SOURCE / "docs" / "rubrics" / "three-level.json")
        rubric["too_close_to_cal"] = "no-benefit"
        self.assertTrue(list(validator("rubric").iter_errors(rubric)))
        self.assert_refused(self.graded_by(rubric), 3, "too_close_to_cal")

    def test_feedback_that_states_a_finding_is_refused(self):
        words = parsed(QUESTIONS)
        words["faults"][2]["questions"][0]["question"] = "The working length was wrong."
        self.assertTrue(list(validator("feedback").iter_errors(words)))
        file = self.folder / "words.json"
        file.write_text(json.dumps(words), encoding="utf-8")
        self.assert_refused(self.graded_by(parsed(RUBRICS[0]), "--feedback", file), 3,
                            "/faults/2/questions/0/question", "question mark")


if __name__ == "__main__":
    unittest.main()
