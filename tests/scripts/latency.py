#!/usr/bin/env python3
"""How long a keystroke takes until its findings, and completion and hover until their answers: p50, p95 and p99 for a
file of 150 lines and one of 5,000, over the wire of the built server. The quiet time is shown apart: it is a choice (how
long the text must rest), not work.

Usage: tests/scripts/latency.py [PROGRAM]    (default: target/release/trialfit, which is not built here)
"""

import json
import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

PROJECT = Path(__file__).resolve().parent.parent.parent
KEYSTROKES = 300
WARM_UP = 20


class Server:
    def __init__(self, program, quiet):
        self.process = subprocess.Popen([program, "serve"], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        self.last = 0
        folder = PROJECT / "tests/lsp/workspace"
        options = {"quietMilliseconds": quiet, "closedFiles": False}
        params = {"processId": os.getpid(), "rootUri": folder.as_uri(), "capabilities": {}, "initializationOptions": options}
        self.ask("initialize", params)
        self.tell("initialized", {})

    def send(self, message):
        body = json.dumps({"jsonrpc": "2.0", **message}).encode()
        self.process.stdin.write(b"Content-Length: %d\r\n\r\n%s" % (len(body), body))
        self.process.stdin.flush()

    def tell(self, method, params):
        self.send({"method": method, "params": params})

    def read(self):
        length = 0
        while (line := self.process.stdout.readline()) != b"\r\n":
            if line.lower().startswith(b"content-length"):
                length = int(line.split(b":")[1])
        return self.process.stdout.read(length)

    def ask(self, method, params):
        self.last += 1
        self.send({"id": self.last, "method": method, "params": params})
        mark = b'"id":%d' % self.last
        while True:
            body = self.read()
            if mark in body and b'"method"' not in body[:60]:
                return body

    def until_published(self, version):
        mark = b'"version":%d' % version
        while True:
            body = self.read()
            if b"publishDiagnostics" in body and mark in body:
                return body

    def end(self):
        self.ask("shutdown", None)
        self.tell("exit", None)
        self.process.wait(10)


def job(lines):
    """The kiosk's job, made longer by more of its own blocks: as many things on a page as people write."""
    text = (PROJECT / "tests/lsp/workspace/kiosk.trialfit").read_text(encoding="utf-8")
    number = 0
    while text.count("\n") < lines:
        number += 1
        text += (
            f"\nopening hatch-{number}\n  kind          window\n  into          cabin\n"
            f"  at            back {1000 + number} mm, left 1000 mm, up 900 mm\n  spans         back 300 mm, up 300 mm\n"
            f"\nkeep-clear pipe-{number}\n  kind          brake-line\n  outside       6 mm\n"
            f"  at            back {900 + number} mm, left 700 mm, up 400 mm\n  back          500 mm\n  left          120 mm, up 40 mm\n"
            f"  back          900 mm\n  ends          here\n"
        )
    return "\n".join(text.split("\n")[:lines]) + "\n"


def shares(times):
    cuts = statistics.quantiles(times, n=100, method="inclusive")
    return "  ".join(f"p{at} {cuts[at - 1] * 1000:7.2f} ms" for at in (50, 95, 99))


def measure(program, lines, quiet):
    server = Server(program, quiet)
    text = job(lines)
    uri = (PROJECT / f"tests/lsp/workspace/latency-{lines}.trialfit").as_uri()
    document = {"uri": uri, "languageId": "trialfit", "version": 0, "text": text}
    server.tell("textDocument/didOpen", {"textDocument": document})
    server.until_published(0)
    row = next(number for number, line in enumerate(text.split("\n")) if "18 m" in line and "run" in line)
    column = text.split("\n")[row].index("18")
    findings, completions, hovers = [], [], []
    for version in range(1, KEYSTROKES + WARM_UP + 1):
        change = {"range": {"start": {"line": row, "character": column}, "end": {"line": row, "character": column + 2}}, "text": str(10 + version % 90)}
        began = time.perf_counter()
        server.tell("textDocument/didChange", {"textDocument": {"uri": uri, "version": version}, "contentChanges": [change]})
        server.until_published(version)
        findings.append(time.perf_counter() - began)
        # Asked for right behind an edit, when nothing is known of the text yet.
        for method, times in (("completion", completions), ("hover", hovers)):
            server.tell("textDocument/didChange", {"textDocument": {"uri": uri, "version": version}, "contentChanges": [change]})
            began = time.perf_counter()
            server.ask(f"textDocument/{method}", {"textDocument": {"uri": uri}, "position": {"line": row, "character": column + 1}})
            times.append(time.perf_counter() - began)
    server.end()
    print(f"{lines} lines, {len(text.encode()):,} bytes, quiet time {quiet} ms")
    for name, times in (("keystroke to findings", findings), ("completion", completions), ("hover", hovers)):
        print(f"  {name:<24}{shares(times[WARM_UP:])}")
    if quiet:
        print(f"  {'findings, quiet taken off':<24} {shares([time - quiet / 1000 for time in findings[WARM_UP:]])}")


def main():
    program = sys.argv[1] if len(sys.argv) > 1 else str(Path(os.environ.get("CARGO_TARGET_DIR", PROJECT / "target")) / "release/trialfit")
    for lines in (150, 5000):
        measure(program, lines, 0)
    measure(program, 150, 40)


if __name__ == "__main__":
    main()
