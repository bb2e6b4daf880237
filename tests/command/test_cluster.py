"""docs/cluster.md on a real scheduler: its own scripts, a part killed and requeued, the same bytes in the end."""
import os
import pathlib
import re
import subprocess
import tempfile
import unittest

import slurm_node
from audits import Audits
from program import PROGRAM

DOCUMENT = pathlib.Path(os.environ["CANALRULE_SOURCE"]) / "docs" / "cluster.md"
PARTS = 3


def scripts():
    """The page's blocks: the two batch scripts by name, and the commands that submit them."""
    text = DOCUMENT.read_text(encoding="utf-8")
    named = dict(re.findall(r"^`(\w+\.sbatch)`:\n\n```bash\n(.*?)^```$", text, re.MULTILINE | re.DOTALL))
    submit = [block for block in re.findall(r"^```bash\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)
              if block.startswith("export PARTS")]
    assert sorted(named) == ["join.sbatch", "part.sbatch"] and len(submit) == 1, text
    return named, submit[0]


class Page(unittest.TestCase):
    def test_its_scripts_are_whole(self):
        named, submit = scripts()
        for script in [*named.values(), submit]:
            done = subprocess.run(["bash", "-n"], input=script.encode(), capture_output=True)
            self.assertEqual((done.returncode, done.stderr), (0, b""))


class OnSlurm(Audits):
    def test_array_with_a_part_requeued_then_join(self):
        if reason := slurm_node.why_not():
            self.skipTest(reason)
        # Enough for each part that it can be caught at work.
        file = self.make_list(60, broken=(7,))
        self.assert_code(self.audit(file, "--output", self.output), 5)
        work = self.folder / "work"
        work.mkdir()
        for path in [file, *self.folder.glob("*.reading.json")]:
            path.rename(work / path.name)
        named, submit = scripts()
        for name, script in named.items():
            (work / name).write_text(script, encoding="utf-8")
        self.assertIn("PARTS=16", submit)
        with tempfile.TemporaryDirectory() as state, slurm_node.SlurmNode(state) as node:
            environment = {**node.environment, "PATH": f"{PROGRAM.parent}:/usr/bin:/bin:/usr/sbin:/sbin"}
            done = subprocess.run(["bash", "-e", "-c", submit.replace("PARTS=16", f"PARTS={PARTS}")], cwd=work,
                                  env=environment, capture_output=True, encoding="utf-8", timeout=60)
            self.assertEqual((done.returncode, done.stderr), (0, ""))
            join = re.fullmatch(r"Submitted batch job (\d+)", done.stdout.strip())[1]
            array = str(int(join) - 1 if self.state(node, str(int(join) - 1)) else 0)
            self.assertNotEqual(array, "0")

            journal = work / "part-2" / "unfinished.rows"
            node.wait_for(lambda: journal.exists() and journal.read_bytes().count(b"\n") >= 2, "part 2 at work", 120)
            done = subprocess.run([slurm_node.find("scontrol"), "requeue", f"{array}_2"], env=environment,
                                  capture_output=True, encoding="utf-8", timeout=60)
            self.assertEqual((done.returncode, done.stderr), (0, ""))
            measured = journal.read_bytes().count(b"\n")
            self.assertTrue(journal.exists(), "the part was not caught at work")
            self.assertIn("Restarts=1", self.wait_for_restart(node, f"{array}_2"))
            node.wait_for(lambda: "COMPLETED" in self.state(node, join) or "FAILED" in self.state(node, join),
                          "the join", 300)
            said = "\n".join(f"{log.name}: {log.read_text()}" for log in sorted(work.glob("*.log")))
            self.assertIn("COMPLETED", self.state(node, join), said)
        self.assertGreaterEqual(measured, 2)
        self.assertRegex((work / "part-2.log").read_text(), r"[1-9][0-9]* as measured before")
        self.assert_same_tree(self.tree(), self.tree(work / "results"))

    def state(self, node, job):
        found = re.search(r"JobState=(\w+)", node.ask("scontrol", "show", "job", job))
        return found[1] if found else ""

    def wait_for_restart(self, node, job):
        shown = lambda: node.ask("scontrol", "show", "job", job)
        node.wait_for(lambda: "Restarts=1" in shown() and "JobState=PENDING" not in shown(), "the restart", 180)
        return shown()


if __name__ == "__main__":
    unittest.main()
