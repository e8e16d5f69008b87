"""Terminal and editor say the same of every example: same places, rules, titles, remedies, things not judged."""

import asyncio
import json
import subprocess
from pathlib import Path

import pytest
from lsprotocol import types

from conftest import client_of

PROJECT = Path(__file__).parent.parent.parent
EXAMPLES = sorted((PROJECT / "examples").rglob("*.trialfit"))
SEVERITIES = {
    "error": types.DiagnosticSeverity.Error,
    "warning": types.DiagnosticSeverity.Warning,
    "advice": types.DiagnosticSeverity.Information,
}


def told(terminal):
    """What the terminal says of one file, in the editor's terms."""
    for finding in terminal["findings"]:
        start, end = finding["place"]["start"], finding["place"]["end"]
        here = finding["place"]["path"] == terminal["path"]
        aside = finding["conceded"] is not None
        yield (
            (start["line"] - 1, start["column"] - 1, end["line"] - 1, end["column"] - 1) if here else "elsewhere",
            finding["rule"],
            types.DiagnosticSeverity.Hint if aside else SEVERITIES[finding["severity"]],
            finding["title"],
            tuple(remedy["title"] for remedy in finding["remedies"]),
        )


def checked(program, folder, paths):
    """What the terminal says of files, with their common folder as the opened one."""
    done = subprocess.run(
        [program, "check", *paths, "--form", "json", "--within", folder.name],
        cwd=folder.parent,
        capture_output=True,
        text=True,
        encoding="utf-8",
    )
    assert done.returncode in (0, 1), done.stderr
    return {folder.parent / file["path"]: file for file in json.loads(done.stdout)["files"]}


async def assert_same(command, folder, files):
    """The editor is told of each file what the terminal tells."""
    editor = client_of(folder)
    await editor.client.start_io(*command)
    # The terminal counts columns in letters.
    general = types.GeneralClientCapabilities(position_encodings=["utf-32"])
    await editor.greet(types.ClientCapabilities(general=general))
    for path, terminal in files.items():
        uri = editor.open(path.relative_to(folder))
        found = await asyncio.wait_for(editor.findings(uri), 30)
        shown, unjudged = [], []
        for it in found:
            place = (it.range.start.line, it.range.start.character, it.range.end.line, it.range.end.character)
            if it.message.startswith("NOT JUDGED: "):
                assert it.severity == types.DiagnosticSeverity.Warning
                unjudged.append((it.code, it.message.split(", because ", 1)[1]))
                continue
            title = it.message.split("\n", 1)[0]
            if it.severity == types.DiagnosticSeverity.Hint:
                assert title.startswith("set aside by "), title
                title = title.split(": ", 1)[1]
            remedies = tuple(remedy["title"] for remedy in it.data["remedies"])
            shown.append((place, it.code, it.severity, title, remedies))
        expected = list(told(terminal))
        assert len(shown) == len(expected), (path, shown, expected)
        for one, other in zip(shown, expected):
            assert one[1:] == other[1:], path
            assert other[0] in ("elsewhere", one[0]), path
        assert unjudged == [(it["rule"], it["because"]) for it in terminal["not_judged"]], path
    await editor.client.shutdown_session()
    await editor.client.stop()


@pytest.fixture
def program(command):
    if Path(command[0]).name != "trialfit":
        pytest.skip("LEFT OUT: TRIALFIT_SERVE names another program, which has no `check`")
    return command[0]


@pytest.mark.asyncio
async def test_terminal_and_editor_agree_on_every_example(command, program):
    files = checked(program, PROJECT / "examples", ["examples"])
    assert set(files) == set(EXAMPLES) and len(files) > 8
    await assert_same(command, PROJECT / "examples", files)


@pytest.mark.asyncio
async def test_terminal_and_editor_agree_on_files_that_cannot_be_followed(command, program, workspace):
    (workspace / "folder.trialfit").mkdir()
    (workspace / "wide.trialfit").write_bytes("trialfit 1\n".encode("utf-16"))
    (workspace / "old.trialfit").write_bytes(b"trialfit 1\nheater caf\xe9\n")
    (workspace / "mark.trialfit").write_bytes("\ufefftrialfit 1\r\nheater x\r\n".encode("utf-8"))
    (workspace.parent / "outside.trialfit").write_text("trialfit 1\n")
    (workspace / "linked.trialfit").symlink_to(workspace.parent / "outside.trialfit")
    (workspace / "loop-a.trialfit").write_text('trialfit 1\nfollows "loop-b.trialfit"\n')
    (workspace / "loop-b.trialfit").write_text('trialfit 1\nfollows "loop-a.trialfit"\n')
    for number, followed in enumerate(
        ["folder.trialfit", "wide.trialfit", "old.trialfit", "mark.trialfit", "linked.trialfit", "loop-a.trialfit", "none.trialfit",
         "../outside.trialfit", "workshop/../workshop/sheets.trialfit", "/etc/hostname", "", "a/b/../../mark.trialfit"]
    ):
        (workspace / f"job-{number}.trialfit").write_text(f'trialfit 1\nfollows "{followed}"\n\njob "{number}"\n')
    jobs = sorted(f"{workspace.name}/{path.name}" for path in workspace.glob("job-*.trialfit"))
    await assert_same(command, workspace, checked(program, workspace, jobs))
