"""The shapes of what six real editors send, replayed: what each declares of itself, and its messages in their order. Every
answer is held against the meta-model, and nothing is answered with a fault of the protocol."""

import json
from pathlib import Path

import pytest

from wire import Wire

SESSIONS = sorted((Path(__file__).parent / "sessions").glob("*.json"))


def filled(value, names):
    if isinstance(value, dict):
        return {key: filled(item, names) for key, item in value.items()}
    if isinstance(value, list):
        return [filled(item, names) for item in value]
    return names.get(value, value) if isinstance(value, str) else value


@pytest.mark.parametrize("session", SESSIONS, ids=lambda path: path.stem)
def test_a_session_replays_without_a_fault(command, workspace, session):
    document = (workspace / "one.trialfit").as_uri()
    names = {"{{folder}}": workspace.as_uri(), "{{path}}": str(workspace), "{{document}}": document}
    messages = filled(json.loads(session.read_text(encoding="utf-8")), names)
    server = Wire(command)
    answered = 0
    for message in messages:
        if message["method"] == "exit":
            break
        if "id" not in message:
            server.tell(message["method"], message.get("params"))
            continue
        answer = server.ask(message["method"], message.get("params"))
        assert "error" not in answer, (message, answer)
        answered += 1
        if message["method"] == "initialize":
            offered = answer["result"]["capabilities"].get("positionEncoding")
            asked = message["params"]["capabilities"].get("general", {}).get("positionEncodings", ["utf-16"])
            assert offered in asked
    assert answered >= 4
    server.listen(0.5)
    said = [it for it in server.heard if it["method"] == "textDocument/publishDiagnostics"]
    pulls = any(message["method"] == "initialize" and "diagnostic" in message["params"]["capabilities"]["textDocument"]
                and message["params"]["capabilities"].get("workspace", {}).get("diagnostics", {}).get("refreshSupport")
                for message in messages)
    assert bool(said) != bool(pulls), "findings are told to who does not ask, and to nobody else"
    # Some clients say no more than that, or nothing.
    server.server.stdin.close()
    shut_down = any(message["method"] == "shutdown" for message in messages)
    assert server.server.wait(10) == (0 if shut_down else 1)
