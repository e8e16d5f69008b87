"""The real editor with the project's own configuration, headless: the newest, and an old one by its fallback."""

import json
import os
import re
import shutil
import subprocess
from pathlib import Path
from xml.etree import ElementTree

import pytest

from conftest import HERE, PROJECT

EDITOR_FOLDER = PROJECT / "editors" / "neovim"
# Debian's; the first `nvim` on the path is the one that the tests install.
OLD = Path("/usr/bin/nvim")


def drive(program, nvim, workspace, tmp_path, **more):
    result = tmp_path / "result.json"
    environment = os.environ | more | {
        "TRIALFIT": program,
        "RESULT": str(result),
        "EDITOR_FOLDER": str(EDITOR_FOLDER),
        "HOME": str(tmp_path),
        "XDG_CONFIG_HOME": str(tmp_path / "config"),
        "XDG_STATE_HOME": str(tmp_path / "state"),
        "XDG_DATA_HOME": str(tmp_path / "data"),
        "XDG_CACHE_HOME": str(tmp_path / "cache"),
    }  # fmt: skip
    editor = subprocess.run(
        [nvim, "--headless", "--clean", "-u", str(HERE / "neovim.lua"), str(workspace / "kiosk.trialfit")],
        env=environment,
        capture_output=True,
        text=True,
        timeout=120,
    )
    assert result.exists(), editor.stderr
    seen = json.loads(result.read_text(encoding="utf-8"))
    assert editor.returncode == 0, (seen, editor.stderr)
    return seen


def assert_served(seen, workspace):
    before = (workspace / "kiosk.trialfit").read_text(encoding="utf-8").splitlines()
    assert seen["filetype"] == "trialfit" and seen["commentstring"] == "# %s"
    assert seen["root"] == str(workspace), "the folder that job and workshop share"
    assert seen["groups"] == [
        "trialfitFile", "trialfitHeader", "trialfitProperty", "trialfitText", "trialfitUnit", "trialfitComment", "trialfitName",
    ]  # fmt: skip
    line = next(number for number, text in enumerate(before) if "size          2.5 mm²" in text)
    # Byte columns: the sign of a square is two bytes.
    low = {"code": "starting-voltage-low", "line": line, "column": 16, "ends": 24, "severity": 1}
    assert seen["before"] == [low]
    assert "voltage left at" in seen["hover"] and "mΩ" in seen["hover"]
    changed = [number for number, text in enumerate(seen["text"]) if text != before[number]]
    assert changed == [line] and len(seen["text"]) == len(before), "nothing else is changed"
    assert seen["formatted"] == "  size          4 mm²"
    assert ElementTree.fromstring(seen["drawing"]).tag.endswith("}svg") and "exhaust of reader" in seen["drawing"]
    assert seen["drawn_below"], "nothing is written outside the editor's cache"
    assert seen["indented"] == "  probe"
    assert "insulation" in seen["completions"]
    renamed = "\n".join(seen["renamed"])
    assert "battery leisure" in renamed and re.search(r"from +leisure", renamed) and "house" not in renamed
    assert seen["highlights"] > 5
    assert seen["stopped"], "the server ends with the editor"


@pytest.mark.skipif(shutil.which("nvim") is None, reason="LEFT OUT: no nvim here")
def test_a_job_is_opened_explained_mended_and_tidied(program, workspace, tmp_path, parser):
    queries = PROJECT / "editors/tree-sitter/queries/highlights.scm"
    more = {"TREE_SITTER": str(parser), "TREE_SITTER_HIGHLIGHTS": str(queries)}
    seen = drive(program, shutil.which("nvim"), workspace, tmp_path, **more)
    assert seen["version"] == "0.11"
    assert seen["encoding"] == "utf-8"
    assert_served(seen, workspace)
    assert seen["captures"] == ["type.builtin"]
    assert seen["hints"] > 5 and seen["token"] == "keyword"


def version_of(nvim):
    said = subprocess.run([nvim, "--version"], capture_output=True, text=True).stdout
    return tuple(int(part) for part in re.match(r"NVIM v(\d+)\.(\d+)", said).groups())


@pytest.mark.skipif(not OLD.exists(), reason="LEFT OUT: no older nvim here")
def test_an_older_one_is_served_by_the_fallback(program, workspace, tmp_path):
    if version_of(OLD) >= (0, 11):
        pytest.skip("the system's nvim is no older one")
    seen = drive(program, str(OLD), workspace, tmp_path)
    assert_served(seen, workspace)
