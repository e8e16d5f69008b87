"""The real editor with the project's own configuration, headless."""

import json
import os
import shutil
import subprocess
from pathlib import Path

import pytest

HERE = Path(__file__).parent
EDITOR_FOLDER = HERE.parent.parent / "editors" / "neovim"


@pytest.mark.skipif(shutil.which("nvim") is None, reason="LEFT OUT: no nvim here")
def test_a_job_is_opened_explained_mended_and_tidied(workspace, tmp_path):
    job = workspace / "kiosk.dryfit"
    before = job.read_text(encoding="utf-8").splitlines()
    result = tmp_path / "result.json"
    environment = os.environ | {
        "RESULT": str(result),
        "EDITOR_FOLDER": str(EDITOR_FOLDER),
        "HOME": str(tmp_path),
        "XDG_CONFIG_HOME": str(tmp_path / "config"),
        "XDG_STATE_HOME": str(tmp_path / "state"),
        "XDG_DATA_HOME": str(tmp_path / "data"),
    }
    editor = subprocess.run(
        ["nvim", "--headless", "--clean", "-u", str(HERE / "drive.lua"), str(job)],
        env=environment,
        capture_output=True,
        text=True,
        timeout=90,
    )
    assert result.exists(), editor.stderr
    seen = json.loads(result.read_text(encoding="utf-8"))
    assert editor.returncode == 0, (seen, editor.stderr)
    assert seen["filetype"] == "dryfit" and seen["commentstring"] == "# %s"
    assert seen["encoding"] == "utf-8"
    assert seen["root"] == str(workspace), "the folder that job and workshop share"
    line = next(number for number, text in enumerate(before) if "size          2.5 mm²" in text)
    # Byte columns: the sign of a square is two bytes.
    low = {"code": "starting-voltage-low", "line": line, "column": 16, "ends": 24, "severity": 1}
    assert seen["before"] == [low]
    assert "voltage left at" in seen["hover"] and "mΩ" in seen["hover"]
    changed = [number for number, text in enumerate(seen["text"]) if text != before[number]]
    assert changed == [line] and len(seen["text"]) == len(before), "nothing else is changed"
    assert seen["formatted"] == "  size          4 mm²"
    assert seen["stopped"], "the server ends with the editor"
