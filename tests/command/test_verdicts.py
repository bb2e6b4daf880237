"""What the default criteria say of samples whose fault, or flawlessness, is known from how they were made."""
import json
import unittest

from program import SAMPLES, canalrule


def verdicts(name):
    """Criterion and verdict of the one canal of a sample."""
    done = canalrule("measure", SAMPLES / f"{name}.reading.json", "--json")
    if done.returncode != 0:
        raise RuntimeError(done.stderr.decode())
    judgements = json.loads(done.stdout)["verdicts"]["judgements"]
    return {judgement["criterion"]: judgement["verdict"] for judgement in judgements}


class Default(unittest.TestCase):
    def test_a_flawless_fill_is_within_throughout(self):
        self.assertEqual(set(verdicts("flush").values()), {"within"})

    def test_the_fault_that_was_made_is_found_outside(self):
        for name, criterion in (("short", "length"), ("beyond", "length"), ("backfill-gap", "density"),
                                ("taper-break", "taper-step"), ("taper-break", "taper-narrowing")):
            with self.subTest(sample=name, criterion=criterion):
                self.assertEqual(verdicts(name)[criterion], "outside")

    def test_and_no_other_of_its_figures_is(self):
        for name in ("short", "backfill-gap", "taper-break"):
            outside = {criterion.split("-")[0] for criterion, verdict in verdicts(name).items()
                       if verdict == "outside"}
            with self.subTest(sample=name):
                self.assertEqual(len(outside), 1, outside)


if __name__ == "__main__":
    unittest.main()
