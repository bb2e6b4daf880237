"""The window on a real display (Xvfb): the tests of one film and of safety, and `canalrule draw` itself, driven from
outside by mouse and keys, to a saved reading and its result, killed and started again."""
import json
import os
import pathlib
import shutil
import signal
import subprocess
import tempfile
import time
import unittest

SOURCE = pathlib.Path(os.environ["CANALRULE_SOURCE"])
PROGRAM = pathlib.Path(os.environ["CANALRULE"])
TESTS = pathlib.Path(os.environ["CANALRULE_BUILD"]) / "tests" / "window"


class Display(unittest.TestCase):
    """A virtual screen of its own for each test."""

    def setUp(self):
        self.folder = pathlib.Path(tempfile.mkdtemp())
        self.addCleanup(shutil.rmtree, self.folder)
        reader, writer = os.pipe()
        # A screen starts anew when its last window goes, and takes one that comes at that moment with it.
        self.screen = subprocess.Popen(["Xvfb", "-displayfd", str(writer), "-screen", "0", "1600x1000x24", "-nolisten",
                                        "tcp", "-noreset"], pass_fds=[writer], stderr=subprocess.DEVNULL)
        self.addCleanup(self.screen.wait)
        self.addCleanup(self.screen.terminate)
        os.close(writer)
        with os.fdopen(reader) as number:
            display = number.readline().strip()
        self.environment = {**os.environ, "DISPLAY": f":{display}", "QT_QPA_PLATFORM": "xcb", "LC_ALL": "C.UTF-8",
                            "XDG_DATA_HOME": str(self.folder / "data"), "XDG_RUNTIME_DIR": str(self.folder)}

    def start(self, *arguments):
        window = subprocess.Popen([PROGRAM, "draw", *map(str, arguments)], env=self.environment,
                                  stderr=subprocess.PIPE, text=True)
        self.addCleanup(window.stderr.close)
        self.addCleanup(window.wait)
        self.addCleanup(window.kill)
        return window

    def hand(self, *words):
        return subprocess.run(["xdotool", *map(str, words)], env=self.environment, check=True, capture_output=True,
                              text=True).stdout

    def wait_for(self, what, seconds=60):
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            found = what()
            if found:
                return found
            time.sleep(0.1)
        self.fail("waited in vain")

    def window_called(self, title):
        def search():
            found = subprocess.run(["xdotool", "search", "--onlyvisible", "--name", title], env=self.environment,
                                   capture_output=True, text=True).stdout.split()
            return found[0] if found else None
        number = self.wait_for(search)
        self.hand("windowfocus", "--sync", number)
        return number

    def move_cross(self, right, down):
        """From where it is, by Shift+arrow (ten pixels) and arrow."""
        for key, way in (("Right" if right > 0 else "Left", abs(right)), ("Down" if down > 0 else "Up", abs(down))):
            if way // 10:
                self.hand("key", "--delay", 2, "--repeat", way // 10, f"shift+{key}")
            if way % 10:
                self.hand("key", "--delay", 2, "--repeat", way % 10, key)


class TheTests(Display):
    def test_they_pass_on_a_real_display(self):
        for name in ("window_test_one_film", "window_test_safety"):
            done = subprocess.run([TESTS / name], env=self.environment, capture_output=True, text=True)
            self.assertEqual(done.returncode, 0, done.stdout + done.stderr)


class TheProgram(Display):
    def setUp(self):
        super().setUp()
        shutil.copy(SOURCE / "sample-images" / "curved.dcm", self.folder)  # has a scale of its own: 620 x 900
        self.film = self.folder / "curved.dcm"
        self.reading = self.folder / "curved.reading.json"
        self.sample = json.loads((SOURCE / "sample-images" / "curved.reading.json").read_text())["canals"][0]

    def test_from_the_film_to_its_result_and_over_a_kill(self):
        columns, rows = 620, 900
        orifice = [round(value) for value in self.sample["path"][0]]
        apex = [round(value) for value in self.sample["apex"]]
        window = self.start(self.film)
        self.window_called("curved.dcm")
        time.sleep(1)
        self.hand("key", "ctrl+2")
        # The cross begins in the middle of the film, which is shown whole.
        self.move_cross(orifice[0] - columns // 2, orifice[1] - rows // 2)
        self.hand("key", "Return")
        time.sleep(0.5)
        window.send_signal(signal.SIGKILL)
        window.wait()
        self.assertFalse(self.reading.exists())
        self.assertTrue(list(self.folder.glob("*.unfinished.jsonl")))

        window = self.start(self.film)
        self.window_called("curved.dcm")
        time.sleep(1)
        self.hand("key", "ctrl+2")
        self.move_cross(apex[0] - columns // 2, apex[1] - rows // 2)
        self.hand("key", "Return")
        self.wait_for(self.reading.exists)
        self.hand("key", "ctrl+Return")
        accepted = self.wait_for(lambda: (canal := json.loads(self.reading.read_text())["canals"][0])
                                 and canal.get("line") != "proposed" and canal)
        for found, marked in ((accepted["path"][0], orifice), (accepted["apex"], apex)):
            self.assertLess(abs(found[0] - marked[0]) + abs(found[1] - marked[1]), 2.1)
        self.hand("key", "ctrl+q")
        self.assertEqual(window.wait(30), 0)
        self.assertFalse(list(self.folder.glob("*.unfinished.jsonl")))
        measured = subprocess.run([PROGRAM, "measure", self.reading, "--json"], capture_output=True, text=True)
        self.assertEqual(measured.returncode, 0, measured.stderr)
        self.assertIsNotNone(json.loads(measured.stdout)["canals"][0]["terminus"])


class WithoutDisplay(unittest.TestCase):
    def test_it_says_so_in_one_line(self):
        environment = {key: value for key, value in os.environ.items()
                       if key not in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM")}
        done = subprocess.run([PROGRAM, "draw"], env=environment, capture_output=True, text=True)
        self.assertEqual(done.returncode, 4)
        self.assertEqual(done.stderr.count("\n"), 1)
        self.assertIn("display", done.stderr)

    def test_starting_the_program_does_not_load_the_toolkit(self):
        for words in (["--version"], ["draw", "--help"]):
            loaded = subprocess.run([PROGRAM, *words], env={**os.environ, "LD_DEBUG": "files"}, capture_output=True,
                                    text=True).stderr
            self.assertIn("libopencv_core", loaded)
            self.assertNotIn("Qt6", loaded)


if __name__ == "__main__":
    unittest.main()
