"""Kakoune with the project's own configuration: what it draws, read from its JSON interface."""

import json
import os
import shutil
import subprocess
import threading

import pytest

from conftest import PROJECT

FOLDER = PROJECT / "editors" / "kakoune"


@pytest.mark.skipif(shutil.which("kak") is None, reason="LEFT OUT: no kak here")
def test_words_of_the_language_are_coloured(workspace, tmp_path):
    sources = "; ".join(f"source {FOLDER / name}" for name in ("trialfit-highlight.kak", "trialfit.kak"))
    faces = {"keyword": "red", "attribute": "green", "value": "blue", "type": "yellow", "string": "magenta", "comment": "cyan"}
    named = "; ".join(f"set-face global {face} {colour}" for face, colour in faces.items())
    editor = subprocess.Popen(
        ["kak", "-n", "-ui", "json", "-e", f"{named}; {sources}; edit {workspace / 'kiosk.trialfit'}"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        text=True,
        encoding="utf-8",
        env=os.environ | {"HOME": str(tmp_path), "XDG_RUNTIME_DIR": str(tmp_path), "KAKOUNE_POSIX_SHELL": "/bin/sh"},
    )
    patience = threading.Timer(20, editor.kill)
    patience.start()
    wanted = {
        "job": "red", "design-cold": "green", "°C": "yellow", "-15": "blue", "# Invented": "cyan", '"workshop': "magenta",
    }  # fmt: skip
    try:
        call = {"jsonrpc": "2.0", "method": "resize", "params": [24, 100]}
        editor.stdin.write(json.dumps(call) + "\n")
        editor.stdin.flush()
        left = dict(wanted)
        for message in editor.stdout:
            call = json.loads(message)
            if call["method"] != "draw":
                continue
            atoms = [atom for line in call["params"][0] for atom in line]
            left = {
                text: colour
                for text, colour in wanted.items()
                if not any(atom["contents"].startswith(text) and atom["face"]["fg"] == colour for atom in atoms)
            }
            if not left:
                break
        assert not left, f"not drawn in its colour: {left}"
    finally:
        patience.cancel()
        editor.kill()
        editor.wait()
