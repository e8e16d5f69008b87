#!/usr/bin/env python3
"""Times whole processes on a generated fleet of jobs, as ratios to a floor measured in the same run.

The floor is what nobody can go below: open, read and sum every byte of the same files, in a checksum at C speed, on
one core. Nothing is measured against absolute times, so the numbers survive a slow or busy machine; the
smallest of several runs is taken, because noise only ever adds.

    cargo build --release
    python3 tests/scripts/fleet.py                      # 10,000 jobs
    python3 tests/scripts/fleet.py --jobs 100000 --program target/release/dryfit

Python 3 standard library only. The generated jobs are invented, like the examples they are made from.
"""

import argparse
import math
import os
import pathlib
import random
import re
import resource
import subprocess
import sys
import tempfile
import time

PROJECT = pathlib.Path(__file__).resolve().parents[2]
FLOOR = """
import os, sys, zlib
total = 0
for folder, _, names in os.walk(sys.argv[1]):
    for name in names:
        if name.endswith(".dryfit"):
            with open(os.path.join(folder, name), "rb", buffering=0) as file:
                total += zlib.adler32(file.read())
print(total)
"""


# Files whose faults are of the text itself: a fleet of those would time the messages, not the jobs.
FAULTY_TEXTS = {"slips-of-the-pen", "hurried-card", "loose-headers", "borrowed-papers"}


def texts():
    """The complete example jobs that follow the shared workshop file, and the files they follow."""
    jobs = []
    for path in sorted((PROJECT / "examples").glob("*.dryfit")):
        text = path.read_text(encoding="utf-8")
        if path.stem not in FAULTY_TEXTS:
            jobs.append((path.stem, text))
    return jobs, sorted((PROJECT / "examples" / "workshop").glob("*.dryfit"))


def varied(text, number, chance):
    """The job with its lengths varied by a few percent, so that no two files are the same."""

    def other(match):
        value = int(match.group(1))
        return f"{max(1, round(value * chance.uniform(0.97, 1.03)))} mm"

    lines = []
    for line in text.split("\n"):
        geometry = re.match(r"\s+(up|down|left|right|forward|back)\s", line)
        lines.append(re.sub(r"\b(\d{3,4}) mm\b", other, line) if geometry else line)
    text = "\n".join(lines)
    return re.sub(r"^(\s+number\s+)\S+", rf"\g<1>MV-{number:06}", text, count=1, flags=re.M)


def write_fleet(folder, count):
    """`count` jobs in folders of a hundred, above them the shared workshop files. Returns bytes and lines."""
    chance = random.Random(count)
    jobs, workshop = texts()
    shared = folder / "workshop"
    shared.mkdir(parents=True)
    size = lines = 0
    for path in workshop:
        text = path.read_bytes()
        (shared / path.name).write_bytes(text)
        size += len(text)
        lines += text.count(b"\n")
    for number in range(count):
        where = folder / f"{number // 100:04}"
        if number % 100 == 0:
            where.mkdir()
        name, text = jobs[number % len(jobs)]
        text = varied(text, number, chance).replace('follows "workshop/', 'follows "../workshop/').encode()
        (where / f"{name}-{number:06}.dryfit").write_bytes(text)
        size += len(text)
        lines += text.count(b"\n")
    return size, lines


def write_long(folder, lines):
    """One file of about so many lines: one example job and as many brake pipes as it takes."""
    chance = random.Random(lines)
    (folder / "workshop").mkdir(parents=True, exist_ok=True)
    for path in texts()[1]:
        (folder / "workshop" / path.name).write_bytes(path.read_bytes())
    name, text = texts()[0][0]
    out = [text.rstrip("\n")]
    count = text.count("\n")
    number = 0
    while count < lines:
        legs = [f"  {way:<14}{chance.randint(80, 900)} mm" for way in ("forward", "left", "down", "back", "up")]
        start = f"  at            back {chance.randint(9_000, 90_000)} mm, left 9000 mm, up 500 mm"
        head = [f"\nkeep-clear shelf-{number}", "  kind          brake-line", start]
        block = [*head, *legs, "  ends          here"]
        out.append("\n".join(block))
        count += len(block) + 1
        number += 1
    path = folder / f"long-{lines}.dryfit"
    path.write_text("\n".join(out) + "\n", encoding="utf-8")
    return path


def timed(command, runs, codes=(0, 1)):
    """The shortest of several runs in seconds, and the most memory in MiB."""
    best, memory = math.inf, 0.0
    for _ in range(runs):
        start = time.perf_counter()
        child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        _, status, used = os.wait4(child.pid, 0)
        best = min(best, time.perf_counter() - start)
        child.returncode = os.waitstatus_to_exitcode(status)
        if child.returncode not in codes:
            sys.exit(f"{command} ended with {child.returncode}")
        memory = max(memory, used.ru_maxrss / 1024)
    return best, memory


def start_up():
    """What a process costs before its first instruction of its own."""
    return timed(["/bin/true"], 20)[0]


def slope(points):
    """Exponent of a power law through points of (size, seconds), by least squares on logarithms."""
    xs = [math.log(size) for size, _ in points]
    ys = [math.log(seconds) for _, seconds in points]
    x, y = sum(xs) / len(xs), sum(ys) / len(ys)
    return sum((a - x) * (b - y) for a, b in zip(xs, ys)) / sum((a - x) ** 2 for a in xs)


def main():
    asked = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    asked.add_argument("--jobs", type=int, default=10_000, help="jobs in the largest fleet")
    asked.add_argument("--program", default=str(PROJECT / "target" / "release" / "dryfit"))
    asked.add_argument("--runs", type=int, default=3)
    asked = asked.parse_args()
    if not os.access(asked.program, os.X_OK):
        sys.exit(f"{asked.program} is not there: cargo build --release")
    check = [asked.program, "check", "--form", "line", "--date", "2026-11-02"]
    true = start_up()
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    print(f"a process that does nothing: {true * 1e3:.1f} ms; of {asked.runs} runs the shortest; {os.cpu_count()} cores")
    with tempfile.TemporaryDirectory(prefix="fleet-") as folder:
        folder = pathlib.Path(folder)
        print("\n    jobs      MiB    lines   floor s   check s  check/floor  µs/job  ns/byte  memory MiB")
        points = []
        for count in sorted({100, 1_000, asked.jobs}):
            tree = folder / str(count)
            size, lines = write_fleet(tree, count)
            interpreter = timed([sys.executable, "-S", "-c", "pass"], asked.runs)[0]
            floor = timed([sys.executable, "-S", "-c", FLOOR, str(tree)], asked.runs)[0] - interpreter
            seconds, memory = timed([*check, str(tree)], asked.runs)
            points.append((count, seconds - true))
            print(
                f"{count:8,} {size / 2**20:8.2f} {lines:8,} {floor:9.4f} {seconds:9.4f} {seconds / floor:12.2f} "
                f"{(seconds - true) / count * 1e6:7.1f} {(seconds - true) / size * 1e9:8.1f} {memory:11.1f}"
            )
        print(f"exponent over the number of jobs: {slope(points):.3f}")
        print("\n   lines      KiB   check ms   over true ms   µs/line  memory MiB")
        points = []
        for lines in (150, 5_000, 50_000):
            path = write_long(folder / "long", lines)
            seconds, memory = timed([*check, str(path)], max(asked.runs, 5))
            points.append((lines, seconds - true))
            print(
                f"{lines:8,} {path.stat().st_size / 1024:8.1f} {seconds * 1e3:10.2f} {(seconds - true) * 1e3:14.2f} "
                f"{(seconds - true) / lines * 1e6:9.2f} {memory:11.1f}"
            )
        print(f"exponent over the number of lines, the two longer files: {slope(points[1:]):.3f}")


if __name__ == "__main__":
    main()
