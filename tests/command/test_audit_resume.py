"""`canalrule audit` cut off and taken up again, in parts and in one: the end is the same, byte for byte."""
import json
import os
import random
import shutil
import signal
import subprocess
import time
import unittest

from audits import Audits
from program import SAMPLES, canalrule

CASES = 14


class Resumed(Audits):
    def setUp(self):
        super().setUp()
        self.list = self.make_list(CASES, broken=(5, 11))
        done = self.audit(self.list, "--output", self.output, "--jobs", "2")
        self.assert_code(done, 5)
        self.undisturbed = self.tree()
        self.again = self.folder / "again"

    def finish(self):
        done = self.audit(self.list, "--output", self.again)
        self.assert_code(done, 5)
        self.assert_same_tree(self.undisturbed, self.tree(self.again))
        return done.stderr.decode()

    def test_killed_at_many_moments(self):
        chance = random.Random(20240917)
        started = time.monotonic()
        done = self.audit(self.list, "--output", self.folder / "timed", "--jobs", "2")
        self.assert_code(done, 5)
        whole = time.monotonic() - started
        kills = 0
        for moment in range(16):
            if moment % 4 == 0:  # from the start; else from where the last one was killed
                shutil.rmtree(self.again, ignore_errors=True)
            process = self.start(self.list, "--output", self.again, "--jobs", "2")
            try:
                process.communicate(timeout=whole * (chance.random() * 1.1 if moment % 4 else moment / 16))
            except subprocess.TimeoutExpired:
                process.send_signal(signal.SIGKILL)
                process.communicate()
                kills += 1
            self.finish_a_copy()
        self.assertGreaterEqual(kills, 3)  # those that begin anew, in the first half: however fast the machine
        self.finish()

    def finish_a_copy(self):
        """From where it was killed, without taking that state away from the next kill."""
        state = self.again
        self.again = self.folder / "copy"
        shutil.rmtree(self.again, ignore_errors=True)
        if state.exists():
            shutil.copytree(state, self.again)
        self.finish()
        self.again.with_name("copy.key.csv").unlink()
        self.again = state

    def test_a_torn_journal(self):
        process = self.start(self.list, "--output", self.again, "--jobs", "1")
        journal = self.again / "unfinished.rows"
        while not journal.exists() or journal.read_bytes().count(b"\n") < 6:
            self.assertIsNone(process.poll())
            time.sleep(0.005)
        process.kill()
        process.communicate()
        found = journal.read_bytes()
        whole = found.rindex(b"\n") + 1
        last = found[:whole - 1].rindex(b"\n") + 1
        for length in (0, 1, last - 1, last, last + 1, last + 20, (last + whole) // 2, whole - 1, whole):
            journal.write_bytes(found[:length])
            self.finish()
            self.remove_results()
        middle = found.index(b"\n") + 100
        journal.write_bytes(found[:middle] + bytes([found[middle] ^ 1]) + found[middle + 1:])
        self.finish()
        self.remove_results()
        journal.write_bytes(found + b"\0" * 5000)
        self.finish()

    def remove_results(self):
        for path in self.again.iterdir():
            shutil.rmtree(path) if path.is_dir() else path.unlink()

    def test_interrupted_it_says_so_and_goes_on(self):
        for stop in (signal.SIGINT, signal.SIGTERM):
            process = self.start(self.list, "--output", self.again, "--jobs", "1")
            journal = self.again / "unfinished.rows"
            while not journal.exists() or journal.stat().st_size == 0:
                self.assertIsNone(process.poll())
                time.sleep(0.005)
            process.send_signal(stop)
            _, said = process.communicate(timeout=60)
            self.assertEqual(process.returncode, 6, said)
            self.assertIn("stopped; the same command goes on from here", said.decode())
            self.assertFalse((self.again / "cases.csv").exists())
            kept = journal.read_bytes()
            self.assertTrue(kept.endswith(b"\n"))
            self.assertIn("as measured before", self.finish())
            shutil.rmtree(self.again)

    def test_what_is_unchanged_is_not_measured_again(self):
        again = self.audit(self.list, "--output", self.output)
        self.assert_code(again, 5)
        self.assertIn(f"{CASES} of {CASES} cases, {CASES - 2} as measured before, 2 failed", again.stderr.decode())
        self.assertNotIn("films per second", again.stderr.decode())
        self.assert_same_tree(self.undisturbed, self.tree())
        self.make_reading("r3", reader="someone else")
        again = self.audit(self.list, "--output", self.output)
        self.assertIn(f"{CASES - 3} as measured before", again.stderr.decode())
        self.assertIn("films per second", again.stderr.decode())
        # Other criteria draw other pictures; without pictures nothing needs the film.
        again = self.audit(self.list, "--output", self.output, "--pictures", "none", "--criteria", "ng-2008")
        self.assertIn(f"{CASES - 2} as measured before", again.stderr.decode())
        with open(self.output / "canals.csv", encoding="utf-8") as table:
            self.assertNotIn("taper", "".join(name for name in next(table).split(",") if "verdict" in name))

    def test_what_the_machine_lacked_is_looked_for_again(self):
        film = self.folder / "film.dcm"
        shutil.copy(SAMPLES / "curved.dcm", film)
        marks = json.loads((SAMPLES / "curved.reading.json").read_text(encoding="utf-8"))
        marks["image"] = {"file": str(film)}
        (self.folder / "film.reading.json").write_text(json.dumps(marks), encoding="utf-8")
        listed = self.write_list([["case", "reading"], ["K1", "film.reading.json"]], "one.csv")
        lacking = {**os.environ, "DCMDICTPATH": str(self.folder / "nowhere.dic")}
        done = canalrule("audit", listed, "--output", self.again, env=lacking)
        self.assertEqual(done.returncode, 5, done.stderr)
        self.assertIn(b"dictionary", done.stderr)
        self.assert_code(self.audit(listed, "--output", self.again), 0)

    def test_any_number_of_workers(self):
        for jobs in ("1", "3", "64"):
            done = self.audit(self.list, "--output", self.again, "--jobs", jobs)
            self.assert_code(done, 5)
            self.assert_same_tree(self.undisturbed, self.tree(self.again))
            shutil.rmtree(self.again)

    def test_two_runs_do_not_write_into_one_folder(self):
        process = self.start(self.list, "--output", self.again, "--jobs", "1")
        while not (self.again / "unfinished.rows").exists():
            self.assertIsNone(process.poll())
            time.sleep(0.005)
        process.send_signal(signal.SIGSTOP)
        second = self.audit(self.list, "--output", self.again)
        process.send_signal(signal.SIGCONT)
        process.communicate()
        self.assert_code(second, 4)
        self.assertIn("another run writes into this folder now", second.stderr.decode())
        self.assert_same_tree(self.undisturbed, self.tree(self.again))


class InParts(Audits):
    def parts_of(self, file, count, *words):
        parts = []
        for number in range(1, count + 1):
            parts.append(self.folder / f"part-{number}")
            done = self.audit(file, "--part", f"{number}/{count}", "--output", parts[-1], *words)
            self.assertIn(done.returncode, (0, 5), done.stderr.decode())
            self.assertFalse((parts[-1] / "cases.csv").exists())
        return parts

    def test_joined_they_are_one_run(self):
        file = self.make_list(10, broken=(4,))
        self.assert_code(self.audit(file, "--output", self.output), 5)
        whole = self.tree()
        for count in (3, 13):
            parts = self.parts_of(file, count)
            joined = self.folder / "joined"
            self.assert_code(self.audit("--join", *reversed(parts), "--output", joined), 5)
            self.assert_same_tree(whole, self.tree(joined))
            for folder in (joined, *parts):
                shutil.rmtree(folder)

    def test_each_case_is_in_one_part(self):
        file = self.make_list(10)
        parts = self.parts_of(file, 3, "--pictures", "none")
        cases = [line.split(b'"case":"')[1].split(b'"')[0] for part in parts
                 for line in (part / "audit.rows").read_bytes().splitlines()[1:]]
        self.assertEqual(len(cases), 10)
        self.assertEqual(sorted(cases), sorted(f"K{n}".encode() for n in range(1, 11)))

    def test_what_does_not_belong_together_is_refused(self):
        file = self.make_list(6)
        one, two, three = self.parts_of(file, 3, "--pictures", "none")
        joined = self.folder / "joined"
        other = self.folder / "other"
        other_list = self.make_list(5, name="other.csv")

        def make_other(file, part, *words):
            shutil.rmtree(other, ignore_errors=True)
            other.with_name("other.key.csv").unlink(missing_ok=True)
            done = self.audit(file, "--part", part, "--output", other, "--pictures", "none", *words)
            self.assert_code(done, 0)

        def refused(parts, *said):
            done = self.audit("--join", *parts, "--output", joined)
            self.assert_code(done, 3)
            for part in said:
                self.assertIn(str(part), done.stderr.decode())
            self.assertFalse((joined / "audit.rows").exists())

        refused((one, three), one, "missing: 2")
        refused((one, two, three, two), two, "part 2/3, and so is")
        refused((one, two, self.folder / "nowhere"), "no audit lies in this folder")
        make_other(other_list, "3/3")
        refused((one, two, other), other, "another case list")
        make_other(file, "3/3", "--criteria", "ng-2008")
        refused((one, two, other), other, "other criteria")
        make_other(file, "3/4")
        refused((one, two, other), other, "part 3/4")
        make_other(file, "3/3", "--named")
        refused((one, two, other), other, "names or pseudonyms")
        make_other(other_list, "3/3")
        shutil.copy(self.folder / "other.key.csv", self.folder / "another.key.csv")
        make_other(file, "3/3", "--key", self.folder / "another.key.csv")
        refused((one, two, other), other, "another key of pseudonyms")
        rows = three / "audit.rows"
        whole = rows.read_bytes()
        for damaged in (whole[:-10], whole[:len(whole) // 2], whole.replace(b"K3", b"K4", 1), b"\n"):
            rows.write_bytes(damaged)
            refused((one, two, three), three, "damaged")
        rows.write_bytes(whole)
        (three / "unfinished.rows").write_bytes(b"")
        refused((one, two, three), three, "isn't finished")
        rows.unlink()
        refused((one, two, three), three, "isn't finished")

    def test_an_output_that_is_a_part_is_refused(self):
        one, two = self.parts_of(self.make_list(2), 2, "--pictures", "none")
        done = self.audit("--join", one, two, "--output", two)
        self.assert_code(done, 2)


if __name__ == "__main__":
    unittest.main()
