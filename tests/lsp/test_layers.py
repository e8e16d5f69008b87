"""Kits and layers at a bench: a kit that is edited beside an open job, and what the job is told of it across files. The
files are the example district's."""

import shutil
from pathlib import Path

import pytest

from test_every_request import capabilities, pushed
from wire import Wire

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"


@pytest.fixture
def district(tmp_path):
    return Path(shutil.copytree(EXAMPLES, tmp_path / "examples"))


def at(text, words, within, more=0):
    """The position of some words behind others, so many characters into them."""
    start = text.index(words, text.index(within)) + more
    before = text[:start]
    return {"line": before.count("\n"), "character": start - (before.rfind("\n") + 1)}


def codes(params):
    return sorted(it["code"] for it in params["diagnostics"])


def test_a_kit_that_is_edited_is_felt_in_the_open_job_and_named_there(command, district):
    server = Wire(command)
    server.greet(pushed(capabilities("utf-16")), district)
    job, kit = district / "district/post/post-11.trialfit", district / "district/kits/van-heat.trialfit"
    job_text, kit_text = job.read_text(encoding="utf-8"), kit.read_text(encoding="utf-8")
    server.open(job.as_uri(), job_text)
    told = lambda wanted: server.hear("textDocument/publishDiagnostics", lambda it: it["uri"] == job.as_uri() and wanted(it))
    told(lambda it: codes(it) == [])

    # The kit's exhaust gets shorter in its own editor; the job says so where it fits the kit, and leads to the line.
    server.open(kit.as_uri(), kit_text)
    server.change(kit.as_uri(), 2, [{"text": kit_text.replace("right         750 mm", "right         600 mm")}])
    found = told(lambda it: codes(it) == ["exhaust-ends-under-vehicle"])["diagnostics"][0]
    assert found["range"]["start"]["line"] == job_text[: job_text.index("fit van-heat")].count("\n")
    assert kit.as_uri() in [it["location"]["uri"] for it in found["relatedInformation"]]
    server.change(kit.as_uri(), 3, [{"text": kit_text}])
    told(lambda it: codes(it) == [])

    # What is asked for is explained at its answer, and found where the kit asks for it and uses it.
    here = {"textDocument": {"uri": job.as_uri()}, "position": at(job_text, "feed", "fit van-heat", 1)}
    hover = server.result("textDocument/hover", here)["contents"]["value"]
    assert "1.1 m" in hover and "usually 1.6 m" in hover, hover
    places = server.result("textDocument/references", here | {"context": {"includeDeclaration": True}})
    fleet = district / "district/post-fleet.trialfit"
    assert {it["uri"] for it in places} == {job.as_uri(), kit.as_uri(), fleet.as_uri()} and len(places) == 4, places
    kit_name = {"textDocument": {"uri": job.as_uri()}, "position": at(job_text, "van-heat", "fit van-heat", 1)}
    defined = server.result("textDocument/definition", kit_name)
    defined = defined if isinstance(defined, list) else [defined]
    assert [it.get("uri", it.get("targetUri")) for it in defined] == [kit.as_uri()]

    # Renamed in all files at once: the fleet's table has a column for it.
    edit = server.result("textDocument/rename", here | {"newName": "reach"})
    changed = edit.get("changes") or {it["textDocument"]["uri"]: it["edits"] for it in edit["documentChanges"]}
    assert {uri: len(edits) for uri, edits in changed.items()} == {job.as_uri(): 1, kit.as_uri(): 2, fleet.as_uri(): 1}

    # Behind the answers the next question is offered.
    unanswered = job_text.replace("  shelf-way     900 mm\n", "  \n")
    server.change(job.as_uri(), 2, [{"text": unanswered}])
    place = at(unanswered, "  \n", "fit van-heat", 2)
    offered = server.result("textDocument/completion", {"textDocument": {"uri": job.as_uri()}, "position": place})
    offered = offered if isinstance(offered, list) else offered["items"]
    assert [it["label"] for it in offered] == ["shelf-way"], offered
    server.goodbye()
