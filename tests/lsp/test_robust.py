"""What goes wrong at a bench: floods of edits, files that go or get other names under an open job, clients that are
killed or only wait. The server neither hangs nor shows a stale finding, and rests when nobody asks."""

import time
from pathlib import Path

import pytest

from test_every_request import capabilities, pushed
from wire import Wire


def ticks(number):
    """Processor time of a process, in clock ticks (proc(5), fields 14 and 15)."""
    fields = Path(f"/proc/{number}/stat").read_text().rsplit(")", 1)[1].split()
    return int(fields[11]) + int(fields[12])


def codes(params):
    return [it["code"] for it in params["diagnostics"]]


def test_a_flood_of_edits_ends_in_the_findings_of_its_last(command, workspace):
    server = Wire(command)
    server.greet(pushed(capabilities("utf-16")), workspace)
    uri = "untitled:flood.trialfit"
    server.open(uri, "trialfit 1\n\n", 0)
    for version in range(1, 2001):
        text = "sise 4 mm²\n" if version % 2 else ""
        span = {"start": {"line": 1, "character": 0}, "end": {"line": 1 + (1 - version % 2), "character": 0}}
        server.change(uri, version, [{"range": span, "text": text}])
        if version % 7 == 0:
            server.ignored.add(server.post("textDocument/completion", {"textDocument": {"uri": uri}, "position": {"line": 1, "character": 2}}))
    last = server.hear("textDocument/publishDiagnostics", lambda params: params.get("version") == 2000)
    server.change(uri, 2001, [{"range": {"start": {"line": 1, "character": 0}, "end": {"line": 1, "character": 0}}, "text": "sise\n"}])
    said = server.hear("textDocument/publishDiagnostics", lambda params: params.get("version") == 2001)
    assert codes(said) != codes(last)
    versions = [it["params"]["version"] for it in server.heard if it["method"] == "textDocument/publishDiagnostics" and it["params"]["uri"] == uri]
    assert versions == sorted(versions)
    server.goodbye()


def test_a_workshop_file_that_gets_another_name_leaves_no_stale_finding(command, workspace):
    server = Wire(command)
    server.greet(pushed(capabilities("utf-8")), workspace)
    kiosk, sheets = workspace / "kiosk.trialfit", workspace / "workshop" / "sheets.trialfit"
    uri = kiosk.as_uri()
    server.open(uri, kiosk.read_text(encoding="utf-8"))
    told = lambda wanted: server.hear("textDocument/publishDiagnostics", lambda it: it["uri"] == uri and wanted(codes(it)))
    told(lambda found: found == ["starting-voltage-low"])
    new = sheets.with_name("renamed.trialfit")
    sheets.rename(new)
    server.tell("workspace/didRenameFiles", {"files": [{"oldUri": sheets.as_uri(), "newUri": new.as_uri()}]})
    told(lambda found: "followed-file-missing" in found)
    # The file is there again under its old name, and the client tells of it as a change on the disk.
    new.rename(sheets)
    server.tell("workspace/didChangeWatchedFiles", {"changes": [{"uri": new.as_uri(), "type": 3}, {"uri": sheets.as_uri(), "type": 1}]})
    told(lambda found: found == ["starting-voltage-low"])
    server.goodbye()


def test_an_open_file_that_is_deleted_is_judged_by_its_text_until_it_is_closed(command, workspace):
    server = Wire(command)
    server.greet(pushed(capabilities("utf-16")), workspace)
    kiosk = workspace / "kiosk.trialfit"
    uri, text = kiosk.as_uri(), kiosk.read_text(encoding="utf-8")
    server.open(uri, text)
    server.hear("textDocument/publishDiagnostics", lambda it: it["uri"] == uri and codes(it) == ["starting-voltage-low"])
    kiosk.unlink()
    server.tell("workspace/didDeleteFiles", {"files": [{"uri": uri}]})
    server.change(uri, 2, [{"text": text.replace("2.5 mm²", "16 mm²")}])
    server.hear("textDocument/publishDiagnostics", lambda it: it["uri"] == uri and it.get("version") == 2)
    server.change(uri, 3, [{"text": text}])
    server.hear("textDocument/publishDiagnostics", lambda it: it["uri"] == uri and codes(it) == ["starting-voltage-low"])
    server.close(uri)
    server.hear("textDocument/publishDiagnostics", lambda it: it["uri"] == uri and codes(it) == [])
    server.listen(1)
    late = [it for it in server.heard if it["method"] == "textDocument/publishDiagnostics" and it["params"]["uri"] == uri]
    assert all(codes(it["params"]) == [] for it in late), "nothing comes back of a file that is gone"
    server.goodbye()


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="LEFT OUT: processor time is read from /proc, which is not here")
@pytest.mark.parametrize("pulls", [True, False])
def test_a_server_with_a_workspace_rests(command, workspace, pulls):
    for number in range(40):
        (workspace / f"job-{number}.trialfit").write_text(f"trialfit 1\nheater a{number}\n  datasheet nobody\n")
    server = Wire(command)
    able = capabilities("utf-16")
    server.greet(able if pulls else pushed(able), workspace)
    if pulls:
        items = server.result("workspace/diagnostic", {"previousResultIds": []})["items"]
        known = [{"uri": item["uri"], "value": item["resultId"]} for item in items]
        server.post("workspace/diagnostic", {"previousResultIds": known})
    server.open("untitled:a.trialfit", "trialfit 1\n")
    server.listen(3)
    before = ticks(server.server.pid)
    time.sleep(4)
    assert ticks(server.server.pid) - before <= 1
    server.kill()


def test_a_killed_client_ends_the_server(command, workspace):
    server = Wire(command)
    server.greet(pushed(capabilities("utf-16")), workspace)
    # A client that dies closes its ends; the server's answers then lead nowhere.
    for number in range(50):
        server.open(f"untitled:{number}.trialfit", "trialfit 1\nheater a\n" * 20)
        server.post("textDocument/semanticTokens/full", {"textDocument": {"uri": f"untitled:{number}.trialfit"}})
    server.server.stdin.close()
    assert server.server.wait(10) == 1


def test_requests_that_are_cancelled_are_answered_and_the_next_is_served(command, workspace):
    server = Wire(command, validate=False)
    server.greet(capabilities("utf-16"), workspace)
    uri = "untitled:a.trialfit"
    server.open(uri, "trialfit 1\n" + "cable a of b\n  size 4 mm²\n  run 1 m\n\n" * 600)
    asked = [server.post("textDocument/diagnostic", {"textDocument": {"uri": uri}}) for _ in range(40)]
    for number in asked:
        server.cancel(number)
    began = time.monotonic()
    place = {"textDocument": {"uri": uri}, "position": {"line": 1, "character": 1}}
    assert server.result("textDocument/hover", place)
    answers = [server.answer(number) for number in asked]
    cancelled = [it for it in answers if it.get("error", {}).get("code") == -32800]
    assert cancelled, "some were still waiting when they were cancelled"
    assert time.monotonic() - began < 30
    server.goodbye()
