"""`canalrule measure` from end to end: what it prints and writes, and what it does when it can't."""
import hashlib
import json
import os
import resource
import shutil
import subprocess
import unittest

from program import InFolder, PROGRAM, SAMPLES, canalrule, sample_with, samples


class Measure(InFolder):
    def test_every_sample_is_measured(self):
        self.assertGreaterEqual(len(samples()), 8)
        for reading in samples():
            with self.subTest(reading.name):
                done = canalrule("measure", reading, "--json")
                self.assert_fine(done)
                result = json.loads(done.stdout)
                self.assertEqual(result["schema"], "canalrule.result/1")
                marked = json.loads(reading.read_text(encoding="utf-8"))
                self.assertEqual([canal["name"] for canal in result["canals"]],
                                 [canal["name"] for canal in marked["canals"]])
                for canal in result["canals"]:
                    if canal["terminus"] is None:
                        self.assertIn("terminus", [entry["figure"] for entry in canal["not_assessable"]])

    def test_the_ends_of_the_samples_fills_are_told_as_they_were_drawn_and_without_doubt(self):
        held = 0
        for reading in samples():
            result = json.loads(canalrule("measure", reading, "--json").stdout)
            if "file-in-canal" in str(result):
                continue
            truth = json.loads(reading.with_name(reading.name.replace(".reading.", ".truth.")).read_text())
            ends = {canal["name"]: canal["terminus"]["to_apex_mm"] for canal in truth["canals"]}
            for canal in result["canals"]:
                with self.subTest(reading.name, canal=canal["name"]):
                    self.assertAlmostEqual(canal["terminus"]["to_apex_mm"], ends[canal["name"]], delta=0.05)
                    self.assertFalse({warning["code"] for warning in canal["warnings"]} &
                                     {"end-faint", "end-uncertain", "goes-on-apically"})
                    held += 1
        self.assertGreaterEqual(held, 8)

    def test_the_report_fits_a_terminal(self):
        for reading in samples():
            done = canalrule("measure", reading)
            self.assert_fine(done)
            for line in done.stdout.decode("utf-8").splitlines():
                self.assertLessEqual(len(line), 80, line)

    def test_json_prints_the_bytes_of_output(self):
        reading = self.copy_sample(sample_with(".png", "known-length"))
        output = self.folder / "out.json"
        done = canalrule("measure", reading, "--output", output, "--json")
        self.assert_fine(done)
        self.assertEqual(done.stdout, output.read_bytes())

    def test_the_same_call_gives_the_same_bytes(self):
        reading = self.copy_sample(samples()[0])
        runs = []
        for threads, name in (("1", "one"), ("4", "four")):
            picture = self.folder / f"{name}.png"
            environment = {**os.environ, "OMP_NUM_THREADS": threads, "OPENCV_FOR_THREADS_NUM": threads,
                           "LC_ALL": "C" if threads == "1" else "C.UTF-8"}
            done = canalrule("measure", reading, "--json", "--picture", picture, env=environment)
            self.assert_fine(done)
            runs.append((done.stdout, picture.read_bytes()))
        self.assertEqual(*runs)

    def test_the_reading_is_the_same_by_whatever_path(self):
        reading = self.copy_sample(samples()[0])
        near = canalrule("measure", reading.name, "--json", cwd=reading.parent)
        far = canalrule("measure", reading.resolve(), "--json")
        self.assert_fine(near)
        self.assertEqual(near.stdout, far.stdout)
        self.assertEqual(json.loads(far.stdout)["provenance"]["reading_file"], reading.name)

    def test_the_film_and_the_reading_are_not_touched(self):
        for ending in (".png", ".dcm"):
            film = next(SAMPLES.glob("*" + ending))
            reading = next(r for r in samples() if json.loads(r.read_text())["image"]["file"] == film.name)
            copied = self.copy_sample(reading)
            names = (copied, self.folder / film.name)
            before = [(hashlib.sha256(name.read_bytes()).hexdigest(), name.stat().st_mtime_ns) for name in names]
            canalrule("measure", copied, "--output", self.folder / "o.json", "--picture", self.folder / "p.svg")
            after = [(hashlib.sha256(name.read_bytes()).hexdigest(), name.stat().st_mtime_ns) for name in names]
            self.assertEqual(before, after)

    def test_pictures_are_what_their_name_says(self):
        reading = self.copy_sample(samples()[0])
        for name, start in (("p.png", b"\x89PNG\r\n\x1a\n"), ("p.SVG", b"<?xml")):
            self.assert_fine(canalrule("measure", reading, "--picture", self.folder / name))
            self.assertTrue((self.folder / name).read_bytes().startswith(start))

    def test_another_film_in_place_of_the_named_one(self):
        reading = self.copy_sample(sample_with(".png", "known-length"))
        document = json.loads(reading.read_text(encoding="utf-8"))
        film = self.folder / document["image"]["file"]
        by_name = json.loads(canalrule("measure", reading, "--json").stdout)
        moved = film.rename(self.folder / "a film, moved.bin")
        self.assert_refused(canalrule("measure", reading), 3, "/image/file", film.name)
        done = canalrule("measure", reading, "--film", moved, "--json")
        self.assert_fine(done)
        self.assertEqual(json.loads(done.stdout)["canals"], by_name["canals"])

    def test_the_criteria_asked_for_are_those_that_judge(self):
        reading = self.copy_sample(samples()[0])
        names = [file.stem for file in (SAMPLES.parent / "docs" / "criteria").glob("*.json")]
        self.assertIn("default", names)
        judged = {}
        for name in names:
            done = canalrule("measure", reading, "--criteria", name, "--json")
            self.assert_fine(done)
            judged[name] = json.loads(done.stdout)
            own = shutil.copy(SAMPLES.parent / "docs" / "criteria" / f"{name}.json", self.folder / "own.json")
            self.assertEqual(canalrule("measure", reading, "--criteria", own, "--json").stdout, done.stdout)
        unasked = json.loads(canalrule("measure", reading, "--json").stdout)
        self.assertEqual(unasked, judged["default"])
        listed = canalrule("criteria").stdout.decode("utf-8")
        for name in names:
            self.assertRegex(listed, rf"(?m)^{name}: ")
            described = " ".join(canalrule("criteria", name).stdout.decode("utf-8").split())
            document = json.loads((SAMPLES.parent / "docs" / "criteria" / f"{name}.json").read_text())
            for text in (document["source"], *(criterion["text"] for criterion in document["criteria"])):
                self.assertIn(text, described)


class Several(InFolder):
    def test_one_that_fails_does_not_stop_the_others(self):
        first = self.copy_sample(samples()[0])
        last = self.copy_sample(samples()[1])
        bad = self.folder / "bad.reading.json"
        bad.write_text("{}")
        results = self.folder / "results"
        results.mkdir()
        done = canalrule("measure", first, bad, last, "--output", results, "--picture", f"{results}/")
        self.assertEqual(done.returncode, 3)
        self.assertEqual(done.stderr.count(b"\n"), 1)
        self.assertIn(b"bad.reading.json: ", done.stderr)
        report = done.stdout.decode("utf-8")
        for reading in (first, last):
            self.assertIn(f"==> {reading} <==\n", report)
            self.assertIn(canalrule("measure", reading).stdout.decode("utf-8"), report)
        stems = [reading.name.removesuffix(".reading.json") for reading in (first, last)]
        self.assertEqual({file.name for file in results.iterdir()},
                         {stem + ending for stem in stems for ending in (".result.json", ".picture.png")})

    def test_results_printed_one_after_the_other(self):
        readings = samples()[:2]
        done = canalrule("measure", *readings, "--json")
        self.assert_fine(done)
        single = [canalrule("measure", reading, "--json").stdout for reading in readings]
        self.assertEqual(done.stdout, b"".join(single))

    def test_what_can_only_serve_one(self):
        readings = samples()[:2]
        for option in (("--film", "a.png"), ("--output", "a.json"), ("--picture", "a.png")):
            self.assert_refused(canalrule("measure", *readings, *option), 2, option[0])

    def test_two_that_would_be_written_to_one_file(self):
        (self.folder / "other").mkdir()
        reading = self.copy_sample(samples()[0])
        twin = shutil.copy(reading, self.folder / "other")
        done = canalrule("measure", reading, twin, "--output", f"{self.folder}/")
        self.assert_refused(done, 2, "twice")


class WrongUse(InFolder):
    def test_each_gives_one_line_and_a_hint(self):
        reading = self.copy_sample(samples()[0])
        before = self.contents()
        for words in (["measure"], ["measure", ""], ["measure", reading, "--colour"],
                      ["measure", reading, "--out", "x"], ["measure", reading, "--output"],
                      ["measure", reading, "--output", ""], ["measure", reading, "--json=3"],
                      ["measure", reading, "--picture", "p.gif"], ["measure", reading, "--picture", "p"],
                      ["measure", reading, "--criteria", "strictest"], ["measure", reading, "-x"],
                      ["measure", reading, "--output", "a.json", "--output", "b.json"],
                      ["measure", reading, "--output", "a.svg", "--picture", "./a.svg"],
                      ["criteria", "strictest"], ["criteria", "default", "default"],
                      ["criteria", "--all"], ["gauge"], ["--verbose"],
                      ["help", "gauge"], ["help", "measure", "criteria"]):
            with self.subTest(words=words):
                self.assert_refused(canalrule(*words, cwd=self.folder), 2, words[0], ";")
        self.assertEqual(self.contents(), before)

    def test_nothing_asked_for(self):
        done = canalrule()
        self.assertEqual((done.returncode, done.stdout), (2, b""))
        self.assertEqual(done.stderr, canalrule("--help").stdout)

    def test_no_output_over_what_is_measured(self):
        reading = self.copy_sample(sample_with(".png", "known-length"))
        film = self.folder / json.loads(reading.read_text(encoding="utf-8"))["image"]["file"]
        (self.folder / "link.png").symlink_to(film.name)
        before = self.contents()
        for option, name in (("--picture", film.name), ("--output", film.name), ("--output", reading.name),
                             ("--picture", "link.png"), ("--picture", f"./x/../{film.name}")):
            done = canalrule("measure", reading.name, option, name, cwd=self.folder)
            self.assert_refused(done, 2, name)
        self.assertEqual(self.contents(), before)

    def test_no_output_over_what_is_no_result(self):
        reading = self.copy_sample(SAMPLES / "flush.reading.json")
        for name, text in (("other.reading.json", (SAMPLES / "short.reading.json").read_text(encoding="utf-8")),
                           ("class.csv", "student,reading\n")):
            other = self.folder / name
            other.write_text(text, encoding="utf-8")
            done = canalrule("measure", reading, "--output", other)
            self.assert_refused(done, 2, name, "no result")
            self.assertEqual(other.read_text(encoding="utf-8"), text)
        (self.folder / "empty.json").touch()
        for _ in ("empty", "an earlier result"):
            self.assert_fine(canalrule("measure", reading, "--output", self.folder / "empty.json"))

    def test_no_output_over_another_film(self):
        reading = self.copy_sample(SAMPLES / "flush.reading.json")
        for film in ("short.png", "curved.dcm"):
            other = self.folder / f"kept{film[-4:]}.png"
            shutil.copy(SAMPLES / film, other)
            done = canalrule("measure", reading, "--picture", other)
            self.assertEqual(done.returncode, 2)
            self.assertIn(b"film", done.stderr)
            self.assertEqual(other.read_bytes(), (SAMPLES / film).read_bytes())
        drawn = self.folder / "drawn.png"
        for _ in ("new", "again"):
            self.assert_fine(canalrule("measure", reading, "--picture", drawn))

    def test_no_output_over_the_film_that_the_scale_is_carried_from(self):
        reading = self.copy_sample(sample_with(".png", "carried-length"))
        mark = next(mark for mark in json.loads(reading.read_text(encoding="utf-8"))["scale"]
                    if mark["kind"] == "carried-length")
        other = self.copy_sample(SAMPLES / mark["from"]["reading"])
        film = self.folder / json.loads(other.read_text(encoding="utf-8"))["image"]["file"]
        before = self.contents()
        self.assert_refused(canalrule("measure", reading, "--output", other), 2, other.name)
        self.assert_refused(canalrule("measure", reading, "--output", film), 2, film.name)
        self.assertEqual(self.contents(), before)


class UnwritableOutput(InFolder):
    def setUp(self):
        super().setUp()
        self.reading = self.copy_sample(samples()[0])

    def test_a_folder_that_is_not_there(self):
        before = self.contents()
        for option, name in (("--output", "no/out.json"), ("--picture", "no/p.png")):
            done = canalrule("measure", self.reading, option, f"{self.folder}/{name}")
            self.assert_refused(done, 4, "No such file or directory")
        self.assertEqual(self.contents(), before)

    def test_a_folder_named_as_one_is_made_before_anything_is_measured(self):
        made = self.folder / "results" / "of today"
        canalrule("measure", self.reading, "--output", f"{made}/", "--picture", f"{made}/")
        self.assertEqual(len(list(made.iterdir())), 2)
        done = canalrule("measure", self.reading, "--output", f"{self.reading}/results/")
        self.assert_refused(done, 4, "can't be made")

    def test_a_place_that_takes_no_files(self):
        done = canalrule("measure", self.reading, "--output", "/proc/out.json")
        self.assert_refused(done, 4, "/proc/out.json")

    def test_a_file_that_gets_no_further_leaves_the_old_one(self):
        # A limit on the size of files stands for a disk that is full: the write itself fails.
        def small_files():
            resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100))
        output = self.folder / "out.json"
        output.write_text('{"schema": "canalrule.result/1", "was": "there before"}')
        before = self.contents()
        done = canalrule("measure", self.reading, "--output", output, preexec_fn=small_files,
                         restore_signals=False)
        self.assert_refused(done, 4, "out.json", "can't be written")
        self.assertEqual(self.contents(), before)

    def test_standard_output_that_is_full_or_closed(self):
        for words in (["measure", self.reading], ["measure", self.reading, "--json"], ["criteria"], ["--help"]):
            with open("/dev/full", "wb") as full:
                done = subprocess.run([PROGRAM, *words], stdout=full, stderr=subprocess.PIPE)
            self.assertEqual(done.returncode, 4)
            self.assertIn(b"canalrule: standard output: ", done.stderr)


class LittleMemory(InFolder):
    def test_that_it_did_not_suffice_is_told_whichever_library_wanted_it(self):
        if b"__asan_init" in PROGRAM.read_bytes():
            self.skipTest("the sanitizers reserve terabytes of address space")
        told = 0
        for mib in range(60, 400, 3):
            room = mib << 20
            done = canalrule("measure", sample_with(".dcm", "known-length"), "--output", self.folder / "out.json",
                             preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_AS, (room, room)))
            if done.returncode == 0:
                break
            with self.subTest(mib=mib):
                self.assertNotIn(b"fault of the program", done.stderr)
            told += done.stderr == b"canalrule: the memory did not suffice\n"
        self.assertEqual(done.returncode, 0, "enough at last")
        self.assertGreater(told, 0)


if __name__ == "__main__":
    unittest.main()
