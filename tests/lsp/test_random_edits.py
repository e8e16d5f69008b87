"""Thousands of random edit scripts, sent as incremental changes with requests and cancellations in between, end in
exactly the text and the findings of a fresh open."""

import os
import random

import pytest

from test_every_request import capabilities
from wire import Wire, position, units, without_nulls

SCRIPTS = int(os.environ.get("TRIALFIT_EDIT_SCRIPTS", "700"))
PIECES = [
    "trialfit 1\r\n", "\n", "\r\n", "\r", "heater reader\n", "  datasheet air-2\n", "cable a of reader\n", "  size 4 mm²\n",
    "  run 1.2 m ± 3 cm # 🔥\r\n", "  sise 4mm²\n", "exhaust of reader\n", "  ends facing right\n", "🛟", "²", " ", "\t",
    "warm-air main of reader\n  tee cab, 45°\nwarm-air side\n  from main.cab\n", "space cab\n", "  in cab\n", "# β\n", '"', ",",
    "datasheet hose h-25\n  bore 25 mm\n", "size 4 mm²\n", "concession isolator-in-feed\n  on cable a of reader\n",
    'follows "workshop/sheets.trialfit"\n', "?", "4", "x", "\ufeff",
]
METHODS = ["hover", "completion", "definition", "documentHighlight", "prepareRename", "prepareCallHierarchy"]


def some_text(rng):
    return "".join(rng.choice(PIECES) for _ in range(rng.randrange(0, 12)))


def place_in(rng, text):
    at = rng.randrange(len(text) + 1)
    # Between CR and LF there is no place of its own.
    return at - 1 if 0 < at < len(text) and text[at - 1] == "\r" and text[at] == "\n" else at


def all_said(server, uri, text, encoding):
    document = {"textDocument": {"uri": uri}}
    end = position(text, len(text), encoding)
    whole = {**document, "range": {"start": {"line": 0, "character": 0}, "end": end}}
    options = {**document, "options": {"tabSize": 2, "insertSpaces": True}}
    asked = [
        ("textDocument/diagnostic", document), ("textDocument/documentSymbol", document), ("textDocument/foldingRange", document),
        ("textDocument/formatting", options), ("textDocument/semanticTokens/full", document), ("textDocument/inlayHint", whole),
        ("textDocument/codeLens", document), ("textDocument/documentLink", document),
        ("textDocument/selectionRange", {**document, "positions": [end]}),
    ]
    numbers = [server.post(method, params) for method, params in asked]
    said = []
    for number, (method, _) in zip(numbers, asked):
        answer = server.answer(number)
        assert "error" not in answer, (method, answer, text)
        result = answer["result"]
        if isinstance(result, dict):
            result.pop("resultId", None)
        said.append(str(without_nulls(result)).replace(uri, "URI"))
    return said


@pytest.mark.parametrize("encoding", ["utf-8", "utf-16", "utf-32"])
def test_edits_end_in_the_state_and_findings_of_a_fresh_open(command, workspace, encoding):
    seed = int(os.environ.get("TRIALFIT_SEED", "20261102"))
    rng = random.Random(f"{seed} {encoding}")
    server = Wire(command, validate=False)
    server.greet(capabilities(encoding), workspace, {"closedFiles": False})
    kept = "untitled:one.trialfit"
    server.open(kept, "", 0)
    text, version = "", 0
    for script in range(SCRIPTS):
        # Every third script starts afresh, the others go on with what the ones before left.
        if script % 3 == 0:
            server.close(kept)
            text, version = some_text(rng), 0
            server.open(kept, text, version)
        for _ in range(rng.randrange(1, 8)):
            changes = []
            for _ in range(rng.choice([1, 1, 1, 2, 3])):
                one, other = sorted((place_in(rng, text), place_in(rng, text)))
                if rng.random() < 0.6:
                    other = one
                new = rng.choice(PIECES) if rng.random() < 0.8 else ""
                span = {"start": position(text, one, encoding), "end": position(text, other, encoding)}
                change = {"range": span, "text": new}
                if rng.random() < 0.3:
                    change["rangeLength"] = units(text[one:other], encoding)
                if rng.random() < 0.05:
                    text = some_text(rng)
                    changes.append({"text": text})
                    continue
                text = text[:one] + new + text[other:]
                changes.append(change)
            version += 1
            server.change(kept, version, changes)
            while rng.random() < 0.6:
                at = position(text, place_in(rng, text), encoding)
                number = server.post("textDocument/" + rng.choice(METHODS), {"textDocument": {"uri": kept}, "position": at})
                server.ignored.add(number)
                if rng.random() < 0.5:
                    server.cancel(number)
            if rng.random() < 0.2:
                server.ignored.add(server.post("textDocument/diagnostic", {"textDocument": {"uri": kept}}))
        fresh = f"untitled:fresh-{script}.trialfit"
        server.open(fresh, text, 1)
        edited, opened = all_said(server, kept, text, encoding), all_said(server, fresh, text, encoding)
        assert edited == opened, f"script {script} of seed {seed} in {encoding}: {text!r}"
        server.close(fresh)
        server.heard.clear()
    server.goodbye()
    assert not server.ignored, "every request was answered, the cancelled ones too"
