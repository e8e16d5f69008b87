"""Emacs with the project's own mode and eglot, in batch."""

import json
import os
import subprocess
from xml.etree import ElementTree

import pytest

from conftest import HERE, PROJECT


@pytest.mark.skipif("TRIALFIT_EMACS" not in os.environ, reason="LEFT OUT: no emacs with eglot here")
def test_a_job_is_opened_mended_tidied_completed_and_renamed(program, workspace, tmp_path):
    job = workspace / "kiosk.trialfit"
    before = job.read_text(encoding="utf-8").splitlines()
    result = tmp_path / "result.json"
    subprocess.run(["git", "init", "--quiet", str(workspace)], check=True)
    # Not `-Q`, which leaves out what Debian's own start files put on the load path: eglot.
    editor = subprocess.run(
        [os.environ["TRIALFIT_EMACS"], "-q", "--batch", "-L", str(PROJECT / "editors/emacs"), "-l", str(HERE / "emacs.el"),
         "--eval", f"(drive {json.dumps(str(job))})"],
        env=os.environ | {"RESULT": str(result), "TRIALFIT": program, "HOME": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=120,
    )  # fmt: skip
    assert result.exists(), editor.stderr
    seen = json.loads(result.read_text(encoding="utf-8"))
    assert editor.returncode == 0, (seen, editor.stderr)
    assert seen["mode"] == "trialfit-mode"
    assert seen["faces"] == [
        "font-lock-preprocessor-face",
        "font-lock-keyword-face",
        "font-lock-variable-name-face",
        "font-lock-string-face",
        "font-lock-type-face",
        "font-lock-comment-delimiter-face",
        "font-lock-function-name-face",
    ]
    line = next(number for number, text in enumerate(before) if "size          2.5 mm²" in text)
    assert (seen["findings"], seen["line"], seen["marked"]) == (1, line, "2.5 mm²")
    assert "voltage" in seen["hover"] and "mΩ" in seen["hover"]
    assert seen["fixes"] and "mm²" in seen["fixes"][0]
    assert seen["mended"].split()[:3] == ["size", "4", "mm²"]
    assert ElementTree.fromstring(seen["drawing"]).tag.endswith("}svg") and "exhaust of reader" in seen["drawing"]
    assert seen["formatted"] == "  size          4 mm²"
    assert "insulation" in seen["completions"]
    assert "battery leisure" in seen["renamed"] and "from          leisure" in seen["renamed"]
    assert "house" not in seen["renamed"]
    assert seen["indented"] == (
        'job "one"\n  number 1\n  runs-for 3 h\n\nheater reader\n  datasheet ?\nexhaust of reader\n'
    )
    assert seen["commented"].strip() == "# size 4 mm²"
