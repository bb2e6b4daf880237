"""`cmake --install` gives a package that another project finds, builds with and gets the same bytes from."""
import os
import pathlib
import subprocess
import tempfile
import unittest

SOURCE = pathlib.Path(os.environ["CANALRULE_SOURCE"])
BUILD = pathlib.Path(os.environ["CANALRULE_BUILD"])


def run(*words, cwd=None):
    done = subprocess.run([str(word) for word in words], cwd=cwd, capture_output=True)
    if done.returncode != 0:
        raise AssertionError(f"{words}: {done.returncode}\n{done.stdout.decode()}\n{done.stderr.decode()}")
    return done.stdout


class Install(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.prefix = pathlib.Path(cls.folder.name) / "prefix"
        run("cmake", "--install", BUILD, "--prefix", cls.prefix)
        cls.program = cls.prefix / "bin" / "canalrule"
        cls.reading = sorted((SOURCE / "sample-images").glob("*.reading.json"))[0]

    @classmethod
    def tearDownClass(cls):
        cls.folder.cleanup()

    def test_the_program_finds_the_criteria_installed_with_it(self):
        listed = run(self.program, "criteria", cwd="/").decode()
        shipped = {file.stem for file in (SOURCE / "docs" / "criteria").glob("*.json")}
        self.assertIn("default", shipped)
        for name in shipped:
            self.assertIn(f"\n{name}: ", "\n" + listed)

    def test_and_the_rubrics_and_the_words_of_the_feedback(self):
        listed = pathlib.Path(self.folder.name) / "class.csv"
        listed.write_text(f"student,case,reading\nS,a,{self.reading}\n", encoding="utf-8")
        for rubric in (SOURCE / "docs" / "rubrics").glob("*.json"):
            out = pathlib.Path(self.folder.name) / rubric.stem
            run(self.program, "grade", listed, "--rubric", rubric.stem, "--output", out, cwd="/")
            self.assertTrue((out / "students" / "S.html").is_file())

    def test_it_finds_them_however_it_is_started(self):
        listed = run(self.program, "criteria", cwd="/")
        links = pathlib.Path(self.folder.name) / "links"
        links.mkdir()
        (links / "canalrule").symlink_to(self.program)
        self.assertEqual(run(links / "canalrule", "criteria"), listed)
        self.assertEqual(run("./canalrule", "criteria", cwd=links), listed)
        self.assertEqual(run("sh", "-c", 'PATH="/nowhere:$0:$PATH" canalrule criteria', links), listed)

    def test_nothing_installed_names_the_folders_it_was_built_in(self):
        for file in self.prefix.rglob("*"):
            if file.is_file() and not file.is_symlink():
                content = file.read_bytes()
                self.assertNotIn(os.fsencode(BUILD), content, file)
                self.assertNotIn(os.fsencode(SOURCE), content, file)

    def test_another_project_measures_with_the_package(self):
        build = pathlib.Path(self.folder.name) / "consumer"
        run("cmake", "-S", SOURCE / "tests" / "command" / "consumer", "-B", build, "-G", "Ninja",
            f"-DCMAKE_PREFIX_PATH={self.prefix}")
        run("cmake", "--build", build)
        criteria = next(self.prefix.rglob("criteria/default.json"))
        by_library = run(build / "consumer", self.reading, criteria)
        by_program = run(self.program, "measure", self.reading, "--json")
        self.assertTrue(by_library.startswith(b"{"))
        self.assertEqual(by_library, by_program)


if __name__ == "__main__":
    unittest.main()
