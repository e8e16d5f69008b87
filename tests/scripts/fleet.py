#!/usr/bin/env python3
"""Times whole processes on a generated fleet of jobs, as ratios to a floor measured in the same run.

The floor is what nobody can go below: open, read and sum every byte of the same files, in a checksum at C speed, on
one core. Nothing is measured against absolute times, so the numbers survive a slow or busy machine; the
smallest of several runs is taken, because noise only ever adds. Where others use the machine too, the ratio of the
processor times (all cores together) is the one to believe.

    cargo build --release
    python3 tests/scripts/fleet.py                      # 10,000 jobs
    python3 tests/scripts/fleet.py --jobs 100000 --program target/release/trialfit     # half a gibibyte of files, minutes

Python 3 standard library only. The generated jobs are invented, like the examples they are made from.
"""

import argparse
import math
import os
import pathlib
import random
import re
import resource
import shutil
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
        if name.endswith(".trialfit"):
            with open(os.path.join(folder, name), "rb", buffering=0) as file:
                total += zlib.adler32(file.read())
print(total)
"""


# Files whose faults are of the text itself: a fleet of those would time the messages, not the jobs.
FAULTY_TEXTS = {"slips-of-the-pen", "hurried-card", "loose-headers", "borrowed-papers"}


def texts():
    """The complete example jobs that follow the shared workshop file, and the files they follow."""
    jobs = []
    for path in sorted((PROJECT / "examples").glob("*.trialfit")):
        text = path.read_text(encoding="utf-8")
        if path.stem not in FAULTY_TEXTS:
            jobs.append((path.stem, text))
    return jobs, sorted((PROJECT / "examples" / "workshop").glob("*.trialfit"))


# Jobs whose lengths are varied one by one; a larger fleet is these again, each under its own number.
VARIANTS = 1_000
NUMBER = "MV-NUMBER"
# What makes a job of the second table faulty: so many lines, each a word that no opening knows.
SLIPS = 5


def varied(text, chance):
    """The job with its lengths varied by a few percent, and a place for its number."""

    def other(match):
        value = int(match.group(1))
        return f"{max(1, round(value * chance.uniform(0.97, 1.03)))} mm"

    lines = []
    for line in text.split("\n"):
        geometry = re.match(r"\s+(up|down|left|right|forward|back)\s", line)
        lines.append(re.sub(r"\b(\d{3,4}) mm\b", other, line) if geometry else line)
    text = "\n".join(lines).replace('follows "workshop/', 'follows "../workshop/')
    return re.sub(r"^(\s+number\s+)\S+", rf"\g<1>{NUMBER}", text, count=1, flags=re.M)


def write_fleet(folder, count, more=""):
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
    variants = [
        (name, varied(text + more, chance).encode())
        for name, text in (jobs[number % len(jobs)] for number in range(min(count, VARIANTS)))
    ]
    for number in range(count):
        where = folder / f"{number // 100:04}"
        if number % 100 == 0:
            where.mkdir()
        name, text = variants[number % len(variants)]
        text = text.replace(NUMBER.encode(), b"MV-%06d" % number)
        (where / f"{name}-{number:06}.trialfit").write_bytes(text)
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
    path = folder / f"long-{lines}.trialfit"
    path.write_text("\n".join(out) + "\n", encoding="utf-8")
    return path


def peak(command):
    """The most memory of a run in MiB, looked at while it runs: what the system adds up for ended processes begins with
    the memory of this script."""
    own = pathlib.Path("/proc/self/comm").read_text().strip()
    child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    most = 0
    while child.poll() is None:
        try:
            status = pathlib.Path(f"/proc/{child.pid}/status").read_text()
        except OSError:
            break
        seen = re.search(r"^Name:\s+(\S+)$.*^VmHWM:\s+(\d+) kB", status, flags=re.M | re.S)
        if seen and seen.group(1) != own:
            most = max(most, int(seen.group(2)))
        time.sleep(0.001)
    child.wait()
    return most / 1024


def timed(command, runs, codes=(0, 1)):
    """Of several runs the shortest, and the least processor time, both in seconds."""
    best, worked = math.inf, math.inf
    for _ in range(runs):
        start = time.perf_counter()
        child = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        _, status, used = os.wait4(child.pid, 0)
        best = min(best, time.perf_counter() - start)
        worked = min(worked, used.ru_utime + used.ru_stime)
        child.returncode = os.waitstatus_to_exitcode(status)
        if child.returncode not in codes:
            sys.exit(f"{command} ended with {child.returncode}")
    return best, worked


def count_findings(command):
    """How many findings a check prints, one a line."""
    return subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL).stdout.count(b"\n")


def by_the_thousand(folder, check, counts, runs):
    """What a finding costs where there are many, in processor time: the same jobs with and without slips, and the
    difference a finding."""
    slips = "".join(f"\nopening slip-{number}\n  kindly        window\n" for number in range(SLIPS))
    print("\n    jobs  findings  with cpu s  without cpu s  µs/finding  memory MiB  report cpu s")
    points = []
    for count in counts:
        write_fleet(folder / f"plain-{count}", count)
        write_fleet(folder / f"slips-{count}", count, slips)
        plain, slipped = ([*check, str(folder / f"{name}-{count}")] for name in ("plain", "slips"))
        more = count_findings(slipped) - count_findings(plain)
        _, without = timed(plain, runs)
        _, worked = timed(slipped, runs)
        _, report = timed([*slipped[:2], *slipped[4:]], runs)
        memory = peak(slipped)
        points.append((more, worked - without))
        print(
            f"{count:8,} {more:9,} {worked:11.4f} {without:14.4f} {(worked - without) / more * 1e6:11.2f} "
            f"{memory:11.1f} {report:13.4f}"
        )
    print(f"exponent over the number of findings, the two larger fleets: {slope(points[-2:]):.3f}")


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
    asked.add_argument("--program", default=str(PROJECT / "target" / "release" / "trialfit"))
    asked.add_argument("--runs", type=int, default=3)
    asked.add_argument("--under", help="an existing folder to write the fleets under; else the system's for such things")
    asked = asked.parse_args()
    if not os.access(asked.program, os.X_OK):
        sys.exit(f"{asked.program} is not there: cargo build --release")
    check = [asked.program, "check", "--form", "line", "--date", "2026-11-02"]
    true = start_up()
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    print(f"a process that does nothing: {true * 1e3:.1f} ms; of {asked.runs} runs the shortest; {os.cpu_count()} cores")
    with tempfile.TemporaryDirectory(prefix="fleet-", dir=asked.under) as folder:
        folder = pathlib.Path(folder)
        print("\n    jobs      MiB    lines  findings   floor s   check s  check/floor  cpu/floor  µs/job  ns/byte  memory MiB")
        points, memories = [], []
        counts = sorted({100, 1_000, min(10_000, asked.jobs), asked.jobs})
        for count in counts:
            tree = folder / str(count)
            size, lines = write_fleet(tree, count)
            idle, idly = timed([sys.executable, "-S", "-c", "pass"], asked.runs)
            floor, floor_worked = timed([sys.executable, "-S", "-c", FLOOR, str(tree)], asked.runs)
            floor, floor_worked = floor - idle, floor_worked - idly
            seconds, worked = timed([*check, str(tree)], asked.runs)
            memory = peak([*check, str(tree)])
            findings = count_findings([*check, str(tree)])
            points.append((count, seconds - true))
            memories.append((findings, memory * 2**20))
            print(
                f"{count:8,} {size / 2**20:8.2f} {lines:8,} {findings:9,} {floor:9.4f} {seconds:9.4f} {seconds / floor:12.2f} {worked / floor_worked:10.2f} "
                f"{(seconds - true) / count * 1e6:7.1f} {(seconds - true) / size * 1e9:8.1f} {memory:11.1f}"
            )
            if count > 10_000:
                shutil.rmtree(tree)
        print(f"exponent over the number of jobs: {slope(points):.3f}")
        (few, little), (many, much) = memories[0], memories[-1]
        print(f"memory from the smallest fleet to the largest: {(much - little) / max(1, many - few):.0f} bytes a finding")
        by_the_thousand(folder, check, [count for count in counts if count <= 10_000], asked.runs)
        print("\n   lines      KiB   check ms   over true ms   µs/line  memory MiB")
        points = []
        for lines in (150, 5_000, 50_000):
            path = write_long(folder / "long", lines)
            seconds, _ = timed([*check, str(path)], max(asked.runs, 5))
            memory = peak([*check, str(path)])
            points.append((lines, seconds - true))
            print(
                f"{lines:8,} {path.stat().st_size / 1024:8.1f} {seconds * 1e3:10.2f} {(seconds - true) * 1e3:14.2f} "
                f"{(seconds - true) / lines * 1e6:9.2f} {memory:11.1f}"
            )
        print(f"exponent over the number of lines, the two longer files: {slope(points[1:]):.3f}")


if __name__ == "__main__":
    main()
