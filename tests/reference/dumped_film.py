"""What the program reads of a film, through the test program dump_film: the values as a numpy array."""
import json
import os
import pathlib
import subprocess

import numpy

DUMP = pathlib.Path(os.environ["CANALRULE_BUILD"]) / "tests" / "dump_film"


class DumpedFilm:
    def __init__(self, file, folder):
        grey, unusable = pathlib.Path(folder) / "grey.raw", pathlib.Path(folder) / "unusable.raw"
        run = subprocess.run([DUMP, file, grey, unusable], capture_output=True, text=True, check=False)
        if run.returncode != 0:
            raise AssertionError(f"{file}: exit code {run.returncode}: {run.stderr}")
        self.facts = json.loads(run.stdout)
        shape = (self.facts["rows"], self.facts["columns"])
        self.grey = numpy.fromfile(grey, numpy.float32).reshape(shape)
        self.unusable = numpy.zeros(shape, bool)
        if self.facts["has_unusable"]:
            self.unusable = numpy.fromfile(unusable, numpy.uint8).reshape(shape) == 255

    def codes(self):
        return [note["code"] for note in self.facts["notes"]]


def refusal_of(file, folder):
    """The line with which a film is refused."""
    run = subprocess.run([DUMP, file, pathlib.Path(folder) / "refused.raw"], capture_output=True, text=True, check=False)
    if run.returncode != 3:
        raise AssertionError(f"{file}: exit code {run.returncode}, not 3: {run.stdout}{run.stderr}")
    return run.stderr
