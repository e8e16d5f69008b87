"""Terminal and editor say the same of every example: same places, rules, titles, remedies, things not judged."""

import asyncio
import json
import subprocess
from pathlib import Path

import pytest
from lsprotocol import types

from conftest import client_of

PROJECT = Path(__file__).parent.parent.parent
EXAMPLES = sorted((PROJECT / "examples").rglob("*.dryfit"))
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


@pytest.mark.asyncio
async def test_terminal_and_editor_agree_on_every_example(command):
    program = command[0]
    if Path(program).name != "dryfit":
        pytest.skip("LEFT OUT: DRYFIT_SERVE names another program, which has no `check`")
    # From the project's folder, with the examples as the opened folder on both sides.
    checked = subprocess.run(
        [program, "check", "examples", "--form", "json", "--within", "examples"],
        cwd=PROJECT,
        capture_output=True,
        text=True,
        encoding="utf-8",
    )
    assert checked.returncode in (0, 1), checked.stderr
    files = {PROJECT / file["path"]: file for file in json.loads(checked.stdout)["files"]}
    assert set(files) == set(EXAMPLES) and len(files) > 8

    editor = client_of(PROJECT / "examples")
    await editor.client.start_io(*command)
    # The terminal counts columns in letters.
    general = types.GeneralClientCapabilities(position_encodings=["utf-32"])
    await editor.greet(types.ClientCapabilities(general=general))
    for path, terminal in files.items():
        uri = editor.open(path.relative_to(PROJECT / "examples"))
        found = await asyncio.wait_for(editor.findings(uri), 30)
        shown, unjudged = [], []
        for it in found:
            place = (it.range.start.line, it.range.start.character, it.range.end.line, it.range.end.character)
            if it.message.startswith("NOT JUDGED: "):
                assert it.severity == types.DiagnosticSeverity.Warning
                unjudged.append((place, it.code, it.message.split(", because ", 1)[1]))
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
        judged_not = [(it["rule"], it["because"]) for it in terminal["not_judged"]]
        assert [it[1:] for it in unjudged] == judged_not, path
    await editor.client.shutdown_session()
    await editor.client.stop()
