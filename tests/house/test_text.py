"""The manual shows what the program really prints, and names only what exists.

In README.md, a block marked `console` holds commands after "$ " and the very output they give, run in the
project's folder; `python3 tests/house/test_text.py --rewrite` puts in what the program in build/ prints. A block marked `sh` holds
commands that write files: their programs and options must exist.
"""
import os
import pathlib
import re
import subprocess
import sys
import unittest

SOURCE = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = pathlib.Path(os.environ.get("CANALRULE", SOURCE / "build" / "canalrule"))
README = SOURCE / "README.md"
BLOCK = re.compile(r"^```(console|sh)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
SUBCOMMANDS = ("measure", "draw", "audit", "plan-audit", "grade", "simulate", "criteria")


def output_of(command):
    words = command.split()
    assert words[0] == "canalrule", command
    done = subprocess.run([PROGRAM, *words[1:]], cwd=SOURCE, capture_output=True, encoding="utf-8")
    return done.stdout + done.stderr


def real_block(block):
    """The block's commands, each with what it prints now."""
    commands = [line[2:] for line in block.splitlines() if line.startswith("$ ")]
    return "\n".join(f"$ {command}\n{output_of(command)}" for command in commands)


def rewritten(text):
    def put(match):
        return f"```console\n{real_block(match[2])}```" if match[1] == "console" else match[0]
    return BLOCK.sub(put, text)


class Manual(unittest.TestCase):
    def setUp(self):
        self.text = README.read_text(encoding="utf-8")
        self.blocks = BLOCK.findall(self.text)

    def test_shown_output_is_what_the_program_prints(self):
        shown = [block for kind, block in self.blocks if kind == "console"]
        self.assertGreaterEqual(len(shown), len(SUBCOMMANDS))
        for block in shown:
            self.assertEqual(block, real_block(block))

    def test_the_help_of_every_subcommand_is_shown(self):
        for name in SUBCOMMANDS:
            self.assertIn(f"$ canalrule {name} --help\n", self.text)

    def test_commands_exist(self):
        commands = [line for kind, block in self.blocks if kind == "sh"
                    for line in block.replace("\\\n", "").splitlines() if line and not line.startswith("#")]
        self.assertTrue(commands)
        for command in commands:
            words = command.split()
            if words[0].startswith("./"):
                self.assertTrue(os.access(SOURCE / words[0], os.X_OK), command)
            elif words[0] == "canalrule":
                self.assertIn(words[1], SUBCOMMANDS, command)
                options = output_of(f"canalrule {words[1]} --help")
                for option in (word for word in words if word.startswith("--")):
                    self.assertIn(f"  {option}", options, command)
            else:
                self.assertIn(words[0], ("cmake", "sudo", "tests/run"), command)

    def test_links_lead_somewhere(self):
        for name in ("README.md", "DEVELOPERS.md"):
            text = (SOURCE / name).read_text(encoding="utf-8")
            targets = re.findall(r"\]\((?!https?:)([^)#]+)\)", text)
            for target in targets:
                self.assertTrue((SOURCE / target).exists(), f"{name}: {target}")


class Help(unittest.TestCase):
    def test_it_fits_a_terminal(self):
        for words in ("--help", *(f"{name} --help" for name in SUBCOMMANDS)):
            for line in output_of("canalrule " + words).splitlines():
                self.assertLessEqual(len(line), 80, line)

    def test_both_ways_to_ask_give_the_same(self):
        for name in SUBCOMMANDS:
            self.assertEqual(output_of(f"canalrule help {name}"), output_of(f"canalrule {name} --help"))

    def test_it_names_every_exit_code_of_the_program(self):
        general = output_of("canalrule --help")
        for code in (0, 2, 3, 4, 5, 6, 70):
            self.assertRegex(general, rf"(?m)(^|\s){code} [a-z]")

    def test_the_version_names_what_films_are_read_with(self):
        lines = output_of("canalrule --version").splitlines()
        self.assertEqual([line.split()[0] for line in lines], ["canalrule", "OpenCV", "DCMTK"])
        for line in lines:
            self.assertRegex(line.split()[1], r"^\d+\.\d+\.\d+")


if __name__ == "__main__":
    if sys.argv[1:] == ["--rewrite"]:
        README.write_text(rewritten(README.read_text(encoding="utf-8")), encoding="utf-8")
    else:
        unittest.main()
