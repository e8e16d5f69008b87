#!/usr/bin/env python3
"""Makes THIRD-PARTY-NOTICES.txt: every crate that is linked into the `trialfit` binary, with its version, its licence
and the licence's text. Whoever hands the binary on hands this file on with it.

Usage: tests/licences/notices.py [--check]
Without `--check` it writes the file. With it, it writes nothing, says what is not current and exits with 1.
Cargo says what is linked; the texts are those that each crate brings.
"""

import json
import re
import subprocess
import sys
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[2]
NOTICES = PROJECT / "THIRD-PARTY-NOTICES.txt"
# The file is one for all of these, so that it is the same wherever it is made.
PLATFORMS = [
    "x86_64-unknown-linux-gnu",
    "aarch64-unknown-linux-gnu",
    "x86_64-apple-darwin",
    "aarch64-apple-darwin",
    "x86_64-pc-windows-msvc",
]
# Where a crate leaves the choice, the first of these that it offers is taken.
PREFERRED = ["MIT", "MIT-0", "ISC", "Zlib", "Unicode-3.0", "Apache-2.0"]
# How the file is called that holds the text, where a crate brings several.
NAMES = {"MIT": "mit", "Apache-2.0": "apache", "Unicode-3.0": "unicode"}
RULE = "-" * 100

HEAD = """\
Third-party notices

The `trialfit` binary holds code of the crates below. Each stands with its version and its licence; where a crate leaves
the choice of licence, the one that is taken here is named. trialfit itself is under the licence in the file LICENSE.

Made by tests/licences/notices.py for Linux, macOS and Windows; a test holds it to Cargo.lock. Do not edit it by hand.

The binary also holds parts of the Rust standard library (MIT OR Apache-2.0, Copyright (c) The Rust Project Contributors).
Which parts, the toolchain that builds the binary decides. It brings their licences in the file
share/doc/rust/COPYRIGHT-library.html; hand that file on with the binary too.
"""


def cargo(*words):
    done = subprocess.run(["cargo", *words], cwd=PROJECT, stdout=subprocess.PIPE, text=True)
    if done.returncode != 0:
        sys.exit(f"cargo {words[0]} failed")
    return done.stdout


def linked():
    """The linked crates of others: neither for tests and builds alone, nor macros, which run in the compiler."""
    targets = [word for platform in PLATFORMS for word in ("--target", platform)]
    tree = cargo("tree", "--locked", "--package", "trialfit", "--edges", "normal,no-proc-macro", "--prefix", "none",
                 "--format", "{p}", *targets)
    wanted = {tuple(line.split()[:2]) for line in tree.splitlines() if line}
    packages = json.loads(cargo("metadata", "--locked", "--format-version", "1"))["packages"]
    found = [package for package in packages
             if package["source"] and (package["name"], f"v{package['version']}") in wanted]
    return sorted(found, key=lambda package: (package["name"], package["version"]))


def chosen(package):
    """The licences that are taken, one for each part of the crate's expression that is joined by AND."""
    expression = package["license"] or sys.exit(f"{package['name']} names no licence: somebody must read what it brings")
    taken = []
    for part in re.split(r"\s+AND\s+", expression):
        offered = [word.strip(" ()") for word in re.split(r"\s+OR\s+|/", part)]
        known = [licence for licence in PREFERRED if licence in offered]
        if not known:
            sys.exit(f"{package['name']} is under {expression}: no licence that this project takes (see PREFERRED)")
        taken.append(known[0])
    return taken


def texts(package, licences):
    """The texts that a crate brings: of the licences taken, what it says of copyright, and of tables it was made from."""
    folder = Path(package["manifest_path"]).parent
    files = sorted(path for path in folder.rglob("*")
                   if path.is_file() and re.match(r"(un)?licen[cs]e|copying|copyright|notice", path.name, re.IGNORECASE)
                   and not {"tests", "benches", "examples", "scripts"} & set(path.relative_to(folder).parts))
    at_top = [path for path in files if path.parent == folder]
    # A name without a licence in it (LICENSE, LICENSE.md) holds the only one, or all.
    plain = [path for path in at_top if re.fullmatch(r"licen[cs]e(\.(md|txt))?", path.name, re.IGNORECASE)]
    kept = []
    for licence in licences:
        named = [path for path in at_top if re.match(r"licen[cs]e", path.name, re.IGNORECASE)
                 and NAMES.get(licence, licence).lower() in path.name.lower()]
        if not named and not plain:
            sys.exit(f"{package['name']} brings no text of {licence}")
        kept += named[:1] or plain[:1]
    kept += [path for path in at_top if re.match(r"copyright|notice", path.name, re.IGNORECASE)]
    kept += [path for path in files if path.parent != folder]
    return ["\n".join(line.rstrip() for line in path.read_text(encoding="utf-8").strip().splitlines())
            for path in dict.fromkeys(kept)]


def made():
    crates = []
    # Crates that bring the same words share them.
    under = {}
    for package in linked():
        licences = chosen(package)
        name = f"{package['name']} {package['version']}"
        taken = " AND ".join(licences)
        offered = "" if package["license"] == taken else f" (of {package['license']})"
        crates.append(f"{name}: {taken}{offered}")
        for text in texts(package, licences):
            under.setdefault(text, []).append(name)
    pieces = [HEAD, "\n".join(crates) + "\n"]
    pieces += [f"{RULE}\n{', '.join(names)}\n\n{text}\n" for text, names in under.items()]
    return "\n".join(pieces)


def main():
    if sys.argv[1:] not in ([], ["--check"]):
        sys.exit(__doc__)
    text = made()
    if not sys.argv[1:]:
        NOTICES.write_text(text, encoding="utf-8")
        return
    if not NOTICES.exists() or NOTICES.read_text(encoding="utf-8") != text:
        sys.exit(f"{NOTICES.name} is not current: run tests/licences/notices.py and commit what it writes")


main()
