"""Prints how fast an audit goes, what memory it takes and how long a join is. Not a test.

  python3 tests/benchmark/audit.py PROGRAM [--rate 400] [--memory 1000 10000] [--join 100000]

Readings of the sample films by twenty readers, each with another note, so that each is measured anew. Rate: films
per second by one worker and by two. Memory: the largest resident size of the process. Join: four parts, the rows those of one small
film. Run it on a machine that does nothing else.
"""
import argparse
import json
import os
import pathlib
import subprocess
import tempfile
import time

SAMPLES = pathlib.Path(__file__).resolve().parents[2] / "sample-images"
DESCRIPTION = {
    "schema": "canalrule.phantom/1", "seed": 5,
    "detector": {"columns": 160, "rows": 300, "pixel_mm": 0.06, "bits": 12, "response": "log"},
    "canals": [{"name": "1", "fill": {"terminus_mm": 0.8}}]}


def write_readings(folder, count):
    """A list of `count` cases over all sample films."""
    templates = []
    for file in sorted(SAMPLES.glob("*.reading.json")):
        document = json.loads(file.read_text(encoding="utf-8"))
        document["image"]["file"] = str(SAMPLES / document["image"]["file"])
        for mark in document.get("scale", []):
            if "from" in mark:
                mark["from"]["reading"] = str(SAMPLES / mark["from"]["reading"])
        templates.append(document)
    with open(folder / "cases.csv", "w", encoding="utf-8") as out:
        out.write("case,reading,operator\n")
        for number in range(count):
            document = {**templates[number % len(templates)], "reader": f"reader {number % 20}",
                        "note": f"copy {number}"}
            (folder / f"{number}.reading.json").write_text(json.dumps(document), encoding="utf-8")
            out.write(f"K{number},{number}.reading.json,Dr {number % 20}\n")
    return folder / "cases.csv"


def run(program, *words):
    """Seconds and largest resident size in MiB."""
    start = time.monotonic()
    process = subprocess.Popen([program, "audit", *map(str, words)], stdout=subprocess.DEVNULL,
                               stderr=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    code = process.returncode = os.waitstatus_to_exitcode(status)
    assert code in (0, 5), code
    return time.monotonic() - start, used.ru_maxrss / 1024


def rate(program, count):
    seconds = {}
    for jobs in (1, 2):
        with tempfile.TemporaryDirectory() as folder:
            folder = pathlib.Path(folder)
            cases = write_readings(folder, count)
            seconds[jobs], _ = run(program, cases, "--output", folder / "out", "--jobs", jobs, "--pictures", "none")
            print(f"{count} readings, {jobs} workers: {count / seconds[jobs]:.2f} films per second", flush=True)
    print(f"efficiency on two cores: {seconds[1] / seconds[2] / 2:.3f}", flush=True)


def memory(program, counts):
    for count in counts:
        with tempfile.TemporaryDirectory() as folder:
            folder = pathlib.Path(folder)
            cases = write_readings(folder, count)
            _, size = run(program, cases, "--output", folder / "out", "--jobs", 2, "--pictures", "none")
            print(f"{count} readings, 2 workers: at most {size:.0f} MiB", flush=True)


def join(program, rows, parts=4):
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        (folder / "small.phantom.json").write_text(json.dumps(DESCRIPTION), encoding="utf-8")
        subprocess.run([program, "simulate", folder / "small.phantom.json", "--output", folder / "small.png",
                        "--reading", folder / "small.reading.json"], check=True)
        with open(folder / "cases.csv", "w", encoding="utf-8") as out:
            out.write("case,reading,operator,patient\n")
            out.writelines(f"K{n},small.reading.json,Dr {n % 20},P{n // 2}\n" for n in range(rows))
        folders = [folder / f"part-{number}" for number in range(1, parts + 1)]
        for number, part in enumerate(folders, 1):
            run(program, folder / "cases.csv", "--part", f"{number}/{parts}", "--output", part, "--pictures", "none")
        seconds, size = run(program, "--join", *folders, "--output", folder / "joined")
        print(f"join of {rows} rows in {parts} parts: {seconds:.1f} s, at most {size:.0f} MiB", flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("program")
    parser.add_argument("--rate", type=int, default=400)
    parser.add_argument("--memory", type=int, nargs="*", default=[1000, 10000])
    parser.add_argument("--join", type=int, default=100000)
    asked = parser.parse_args()
    if asked.rate:
        rate(asked.program, asked.rate)
    memory(asked.program, asked.memory)
    if asked.join:
        join(asked.program, asked.join)


if __name__ == "__main__":
    main()
