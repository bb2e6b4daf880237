"""No output of `canalrule audit` names a patient, a person or a file unless it was asked for."""
import json
import shutil
import unittest

import pydicom

from audits import Audits
from program import SAMPLES

SECRETS = ["Mustermann", "Erika", "19700102", "1970-01-02", "PID-4711", "Dr Adler", "Dr Berger", "Reader Falke",
           "Reader Habicht", "Mustermann_36.png", "kept-on-this-machine", "Gartenweg"]


class Privacy(Audits):
    def setUp(self):
        super().setUp()
        self.home = self.folder / "kept-on-this-machine"
        self.home.mkdir()
        shutil.copy(self.films / "small.png", self.home / "Mustermann_36.png")
        film = pydicom.dcmread(SAMPLES / "curved.dcm")
        film.PatientName, film.PatientID, film.PatientBirthDate = "Mustermann^Erika", "PID-4711", "19700102"
        film.PatientAddress = "Gartenweg 7"
        film.save_as(self.home / "Mustermann.dcm")
        here = "kept-on-this-machine/"
        self.make_reading(here + "png", reader="Reader Falke", film="Mustermann_36.png")
        self.make_reading(here + "lost", reader="Reader Falke", film="Erika.png")
        self.make_reading(here + "unscaled", reader="Reader Falke", film="Mustermann_36.png", scale=[])
        self.make_reading(here + "wrong", reader="Reader Falke", film="Mustermann_36.png", tooth=["Erika's"],
                          scale="Mustermann")
        (self.home / "torn.reading.json").write_text('{"reader": "Reader Falke", Erika', encoding="utf-8")
        self.make_reading(here + "unread", reader="Reader Falke", film="Mustermann_36.png",
                          not_assessable="Erika's own film, 1970-01-02, moved")
        self.make_reading(here + "dots", reader="Reader Falke", film="…")
        marks = (SAMPLES / "curved.reading.json").read_text(encoding="utf-8")
        document = json.loads(marks)
        document.update(reader="Reader Habicht", image={"file": "Mustermann.dcm"})
        (self.home / "dicom.reading.json").write_text(json.dumps(document), encoding="utf-8")
        rows = [["case", "reading", "operator", "patient", "patient_name", "Birth date", "film_path", "ADDRESS",
                 "Full name", "ID number", "film", "Image", "picture", "clinic"]]
        for case in ("png", "dicom", "lost", "unscaled", "wrong", "torn", "nowhere", "unread", "dots"):
            rows.append([f"C-{case}", self.home / f"{case}.reading.json", "Dr Adler", "PID-4711", "Mustermann, Erika",
                         "1970-01-02", str(self.home / "Mustermann_36.png"), "Gartenweg 7", "Erika Mustermann",
                         "PID-4711", *["Mustermann_36.png"] * 3, "North"])
        rows.append(["C-own", self.home / "png.reading.json", "Dr Berger", "PID-4711", *[""] * 9, "North"])
        self.write_list(rows)

    def all_that_is_written(self, done):
        """File by file."""
        written = {"(standard error)": done.stderr, "(standard output)": done.stdout}
        for path in self.output.rglob("*"):
            written[str(path.relative_to(self.output))] = path.read_bytes() if path.is_file() else b""
        return written

    def named_in(self, written):
        return {secret: [name for name, content in written.items()
                         if secret.encode() in content or secret in name] for secret in SECRETS}

    def test_nothing_is_named(self):
        for words in ((), ("--pictures", "png"), ("--part", "1/1")):
            done = self.audit(self.folder / "cases.csv", "--output", self.output, *words)
            self.assert_code(done, 5)
            written = self.all_that_is_written(done)
            self.assertGreater(len(written), 4)
            for secret, places in self.named_in(written).items():
                self.assertEqual(places, [], secret)
            for name, content in written.items():
                self.assertNotIn(str(self.folder).encode(), content, name)
                self.assertNotIn(str(self.films).encode(), content, name)
            shutil.rmtree(self.output)
            (self.folder / "results.key.csv").unlink()

    def test_nothing_is_named_while_it_runs(self):
        self.assert_code(self.audit(self.folder / "cases.csv", "--output", self.output), 5)
        (self.output / "audit.rows").rename(self.output / "unfinished.rows")
        for path in self.output.iterdir():
            if path.is_file():
                for secret in SECRETS:
                    self.assertNotIn(secret.encode(), path.read_bytes(), path)

    def test_people_stand_under_pseudonyms_and_the_key_lies_apart(self):
        self.assert_code(self.audit(self.folder / "cases.csv", "--output", self.output), 5)
        table = self.table("cases.csv")
        self.assertEqual(len({row["operator"] for row in table}), 2)
        self.assertEqual(len({row["patient"] for row in table}), 1)
        self.assertEqual(len({row["reader"] for row in table if row["status"] == "measured"}), 2)
        for column in ("patient_name", "film", "Image", "picture"):
            self.assertNotIn(f"list: {column}", table[0])
        self.assertEqual(table[0]["list: clinic"], "North")
        key = (self.folder / "results.key.csv").read_text(encoding="utf-8")
        for row in table:
            self.assertIn(f'{row["operator"]},operator,"{"Dr Berger" if row["case"] == "C-own" else "Dr Adler"}"', key)
        self.assertNotIn("PID-4711", key)
        self.assertEqual((self.folder / "results.key.csv").stat().st_mode & 0o777, 0o600)

    def test_a_key_in_the_folder_that_is_given_away_is_refused(self):
        for key in (self.output / "key.csv", self.output / "a" / ".." / "key.csv"):
            done = self.audit(self.folder / "cases.csv", "--output", self.output, "--key", key)
            self.assert_code(done, 2)
            self.assertIn("--key", done.stderr.decode())
        self.assertFalse(self.output.exists())

    def test_a_key_is_used_again(self):
        self.assert_code(self.audit(self.folder / "cases.csv", "--output", self.output), 5)
        first = {row["case"]: row["operator"] for row in self.table("cases.csv")}
        with open(self.folder / "cases.csv", "a", encoding="utf-8") as out:
            out.write(f"C-new,{self.home / 'png.reading.json'},Dr Adler,,,,,,,,South\r\n")
        other = self.folder / "other"
        done = self.audit(self.folder / "cases.csv", "--output", other, "--key", self.folder / "results.key.csv")
        self.assert_code(done, 5)
        again = {row["case"]: row["operator"] for row in self.table("cases.csv", other)}
        self.assertEqual(first, {case: again[case] for case in first})
        self.assertEqual(again["C-new"], first["C-png"])
        apart = self.folder / "apart"
        self.assert_code(self.audit(self.folder / "cases.csv", "--output", apart), 5)
        self.assertNotEqual({row["operator"] for row in self.table("cases.csv", apart)}, set(first.values()))

    def test_they_are_named_where_it_is_asked_for(self):
        done = self.audit(self.folder / "cases.csv", "--output", self.output, "--named")
        self.assert_code(done, 5)
        self.assertFalse((self.folder / "results.key.csv").exists())
        row = self.table("cases.csv")[0]
        self.assertEqual((row["operator"], row["reader"], row["patient"], row["list: patient_name"]),
                         ("Dr Adler", "Reader Falke", "PID-4711", "Mustermann, Erika"))
        self.assertIn(str(self.home), self.table("cases.csv")[6]["reason"])
        done = self.audit(self.folder / "cases.csv", "--output", self.output)
        self.assert_code(done, 5)
        for secret, places in self.named_in(self.all_that_is_written(done)).items():
            self.assertEqual(places, [], secret)


if __name__ == "__main__":
    unittest.main()
