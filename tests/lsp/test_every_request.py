"""Every request that the server announces, in each encoding, on a text with emoji and CRLF, with every message held
against the published meta-model; and clients that lack what they may lack."""

import copy
import time
from xml.etree import ElementTree

import pytest

import wire
from wire import CAPABILITIES, Wire, applied, edits_of, position, slice_of

ENCODINGS = ["utf-8", "utf-16", "utf-32"]

# What is announced, and the requests and notifications that follow from it. A capability that is not here fails.
ANNOUNCED = {
    "positionEncoding": [],
    "experimental": [],
    "textDocumentSync": ["textDocument/didOpen", "textDocument/didChange", "textDocument/didSave", "textDocument/didClose"],
    "hoverProvider": ["textDocument/hover"],
    "completionProvider": ["textDocument/completion"],
    "definitionProvider": ["textDocument/definition"],
    "referencesProvider": ["textDocument/references"],
    "documentHighlightProvider": ["textDocument/documentHighlight"],
    "documentSymbolProvider": ["textDocument/documentSymbol"],
    "workspaceSymbolProvider": ["workspace/symbol"],
    "codeActionProvider": ["textDocument/codeAction", "codeAction/resolve"],
    "codeLensProvider": ["textDocument/codeLens"],
    "documentFormattingProvider": ["textDocument/formatting"],
    "documentRangeFormattingProvider": ["textDocument/rangeFormatting"],
    "documentOnTypeFormattingProvider": ["textDocument/onTypeFormatting"],
    "renameProvider": ["textDocument/prepareRename", "textDocument/rename"],
    "documentLinkProvider": ["textDocument/documentLink"],
    "foldingRangeProvider": ["textDocument/foldingRange"],
    "selectionRangeProvider": ["textDocument/selectionRange"],
    "semanticTokensProvider": [
        "textDocument/semanticTokens/full", "textDocument/semanticTokens/full/delta", "textDocument/semanticTokens/range",
    ],
    "callHierarchyProvider": ["textDocument/prepareCallHierarchy", "callHierarchy/incomingCalls", "callHierarchy/outgoingCalls"],
    "inlayHintProvider": ["textDocument/inlayHint"],
    "diagnosticProvider": ["textDocument/diagnostic", "workspace/diagnostic"],
    "workspace": [
        "workspace/didChangeWorkspaceFolders", "workspace/willRenameFiles", "workspace/didRenameFiles",
        "workspace/didCreateFiles", "workspace/didDeleteFiles",
    ],
}


def capabilities(encoding, **without):
    able = copy.deepcopy(CAPABILITIES)
    able["general"]["positionEncodings"] = [encoding]
    for part, names in without.items():
        for name in names:
            able[part].pop(name)
    return able


class Desk:
    """A server, an open document, and where things stand in it."""

    def __init__(self, command, workspace, encoding, able=None, options=None):
        self.wire = Wire(command)
        self.encoding = encoding
        self.workspace = workspace
        self.announced = self.wire.greet(able or capabilities(encoding), workspace, options)
        assert self.announced["positionEncoding"] == encoding
        self.uri = (workspace / "kiosk.trialfit").as_uri()
        self.sheets = (workspace / "workshop" / "sheets.trialfit").as_uri()
        text = (workspace / "kiosk.trialfit").read_text(encoding="utf-8")
        # Emoji before and on the lines that are asked about, and CRLF.
        text = text.replace("cable supply of reader", "# 🔥🔥 warm\ncable supply of reader  # 🛟")
        self.text = text.replace("\n", "\r\n")
        self.version = 1
        self.wire.open(self.uri, self.text)
        self.used = set()

    def at(self, part, within="", plus=0):
        start = self.text.index(within) if within else 0
        return position(self.text, self.text.index(part, start) + plus, self.encoding)

    def here(self, place=None):
        return {"textDocument": {"uri": self.uri}, **({"position": place} if place else {})}

    def whole(self):
        return {"start": {"line": 0, "character": 0}, "end": position(self.text, len(self.text), self.encoding)}

    def ask(self, method, params):
        self.used.add(method)
        return self.wire.result(method, params)

    def slice(self, span):
        return slice_of(self.text, span, self.encoding)

    def edit(self, part, new, within=""):
        start = self.text.index(part, self.text.index(within) if within else 0)
        span = {"start": position(self.text, start, self.encoding), "end": position(self.text, start + len(part), self.encoding)}
        self.text = self.text[:start] + new + self.text[start + len(part) :]
        self.version += 1
        self.wire.change(self.uri, self.version, [{"range": span, "text": new}])


@pytest.fixture(params=ENCODINGS)
def desk(request, command, workspace):
    desk = Desk(command, workspace, request.param)
    yield desk
    desk.wire.kill()


def test_every_request_that_is_announced_is_answered_and_means_what_it_says(desk):
    text, ask = desk.text, desk.ask
    for name, methods in desk.announced.items():
        assert name in ANNOUNCED, f"announced and not asked for by any test: {name}"
    wanted = {method for name in desk.announced for method in ANNOUNCED[name]}

    hover = ask("textDocument/hover", desk.here(desk.at("2.5 mm²", plus=1)))
    assert desk.slice(hover["range"]) == "2.5 mm²" and "Ω" in hover["contents"]["value"]

    # A value of a sheet: what follows from it in the jobs, of which none need be open.
    shop = (desk.workspace / "workshop" / "sheets.trialfit").read_text(encoding="utf-8")
    desk.wire.open(desk.sheets, shop)
    for part, follows in [("10.2 V ..", "error: "), ("exhaust-limit 2 m", "exhaust of reader: ")]:
        place = position(shop, shop.index(part) + len(part) - 3, desk.encoding)
        value = ask("textDocument/hover", {"textDocument": {"uri": desk.sheets}, "position": place})["contents"]["value"]
        assert "what follows from it" in value and f"- kiosk.trialfit: {follows}" in value, value
    desk.wire.close(desk.sheets)

    # Names: where they are defined, used, highlighted, renamed.
    inside = desk.at("reader", "cable supply of", plus=2)
    definition = ask("textDocument/definition", desk.here(inside))
    assert definition["uri"] == desk.uri and desk.slice(definition["range"]) == "reader"
    assert text[wire.letter(text, definition["range"]["start"], desk.encoding) - 7 :].startswith("heater reader")
    sheet = ask("textDocument/definition", desk.here(desk.at("air-2", plus=1)))
    assert sheet["uri"] == desk.sheets
    followed = ask("textDocument/definition", desk.here(desk.at("workshop/sheets", plus=3)))
    assert followed["uri"] == desk.sheets and followed["range"]["start"] == {"line": 0, "character": 0}
    references = ask("textDocument/references", {**desk.here(inside), "context": {"includeDeclaration": True}})
    assert len(references) > 6 and all(desk.slice(it["range"]) == "reader" for it in references)
    fewer = ask("textDocument/references", {**desk.here(inside), "context": {"includeDeclaration": False}})
    assert len(fewer) == len(references) - 1
    of_sheet = ask("textDocument/references", {**desk.here(desk.at("air-2", plus=1)), "context": {"includeDeclaration": True}})
    assert {it["uri"] for it in of_sheet} == {desk.uri, desk.sheets}
    lights = ask("textDocument/documentHighlight", desk.here(inside))
    assert sorted(str(it["range"]) for it in lights) == sorted(str(it["range"]) for it in references)
    assert sorted(it["kind"] for it in lights)[-1] == 3, "one of them is the definition"
    prepared = ask("textDocument/prepareRename", desk.here(inside))
    assert prepared["placeholder"] == "reader" and desk.slice(prepared["range"]) == "reader"
    renamed = edits_of(ask("textDocument/rename", {**desk.here(inside), "newName": "stove"}))
    assert set(renamed) == {desk.uri}
    after = applied(text, renamed[desk.uri], desk.encoding)
    assert "reader" not in after and after.count("stove") == len(references)
    moved = edits_of(ask("textDocument/rename", {**desk.here(desk.at("air-2", plus=1)), "newName": "air-two"}))
    assert set(moved) == {desk.uri, desk.sheets}, "the closed file of the sheet, too"

    # What a text is made of.
    symbols = ask("textDocument/documentSymbol", desk.here())
    names = [desk.slice(symbol["selectionRange"]) for symbol in symbols]
    assert "cable supply of reader" in names
    found = ask("workspace/symbol", {"query": "heaterair2"})
    assert {it["location"]["uri"] for it in found} == {desk.sheets}, "closed files, by their letters in order"
    folds = ask("textDocument/foldingRange", desk.here())
    assert len(folds) > 8
    links = ask("textDocument/documentLink", desk.here())
    assert [(desk.slice(link["range"]), link["target"]) for link in links] == [("workshop/sheets.trialfit", desk.sheets)]
    grown = ask("textDocument/selectionRange", {"textDocument": {"uri": desk.uri}, "positions": [inside, desk.at("mm²", "size          2.5")]})
    assert desk.slice(grown[0]["range"]) == "reader" and desk.slice(grown[1]["parent"]["range"]) == "2.5 mm²"

    # Tokens: every one lies in its line, and differences add up.
    def decoded(data):
        line = column = 0
        legend = desk.announced["semanticTokensProvider"]["legend"]
        for at in range(0, len(data), 5):
            down, right, length, kind, bits = data[at : at + 5]
            line, column = line + down, right if down else column + right
            start = {"line": line, "character": column}
            yield desk.slice({"start": start, "end": {"line": line, "character": column + length}}), legend["tokenTypes"][kind], bits

    full = ask("textDocument/semanticTokens/full", desk.here())
    tokens = list(decoded(full["data"]))
    assert ("# 🛟", "comment", 0) in tokens and ("mm²", "number", 0) in tokens and ("reader", "variable", 1) in tokens
    ranged = ask("textDocument/semanticTokens/range", {"textDocument": {"uri": desk.uri}, "range": {"start": desk.at("size", "cable supply"), "end": desk.at("size", "cable supply")}})
    assert [token[0] for token in decoded(ranged["data"])][:2] == ["size", "2.5"]
    desk.edit("2.5 mm²", "6 mm² # 🔥", "cable supply")
    delta = ask("textDocument/semanticTokens/full/delta", {**desk.here(), "previousResultId": full["resultId"]})
    data = list(full["data"])
    for edit in sorted(delta["edits"], key=lambda edit: -edit["start"]):
        data[edit["start"] : edit["start"] + edit["deleteCount"]] = edit.get("data", [])
    assert data == ask("textDocument/semanticTokens/full", desk.here())["data"]
    assert len(delta["edits"][0].get("data", [])) < 60, "a small edit is a small difference"
    desk.edit("6 mm² # 🔥", "2.5 mm²", "cable supply")

    # Findings, and what is done about them.
    report = ask("textDocument/diagnostic", desk.here())
    low = next(it for it in report["items"] if it["code"] == "starting-voltage-low")
    assert desk.slice(low["range"]) == "2.5 mm²" and "codeDescription" not in low, "no page is kept anywhere"
    again = ask("textDocument/diagnostic", {**desk.here(), "previousResultId": report["resultId"]})
    assert again["kind"] == "unchanged"
    closed = ask("workspace/diagnostic", {"previousResultIds": []})
    assert {item["uri"] for item in closed["items"]} == {desk.sheets}, "the closed files"
    context = {"diagnostics": [low]}
    actions = ask("textDocument/codeAction", {"textDocument": {"uri": desk.uri}, "range": low["range"], "context": context})
    mend = next(it for it in actions if it["kind"] == "quickfix" and it.get("diagnostics"))
    mended = applied(desk.text, edits_of(mend["edit"])[desk.uri], desk.encoding)
    assert mended != desk.text and mended.count("\r\n") == mended.count("\n")
    pipe = desk.at("steel, 24 mm bore")
    shared = ask("textDocument/codeAction", {"textDocument": {"uri": desk.uri}, "range": {"start": pipe, "end": pipe}, "context": {"diagnostics": [], "only": ["refactor.extract"]}})
    assert len(shared) == 1 and "edit" not in shared[0], "large edits of this client are made when one is chosen"
    changed = edits_of(ask("codeAction/resolve", shared[0])["edit"])
    assert set(changed) == {desk.uri, desk.sheets}
    assert "  pipe          steel-24\r\n" in applied(desk.text, changed[desk.uri], desk.encoding)
    sheets = applied((desk.workspace / "workshop" / "sheets.trialfit").read_text(encoding="utf-8"), changed[desk.sheets], desk.encoding)
    assert sheets.endswith("\n\ndatasheet pipe steel-24\n  made-of       steel\n  bore          24 mm\n  outside       27 mm\n")
    rewrites = ask(
        "textDocument/codeAction",
        {"textDocument": {"uri": desk.uri}, "range": {"start": desk.at("18 m", "cable supply"), "end": desk.at("18 m", "cable supply")}, "context": {"diagnostics": [], "only": ["refactor"]}},
    )
    assert "write as 59.0551 ft" in [it["title"] for it in rewrites]
    assert all(it["kind"].startswith("refactor.") for it in rewrites)

    # Layout.
    desk.edit("size          2.5 mm²", "size 2.5mm²", "cable supply")
    options = {"tabSize": 4, "insertSpaces": True}
    edits = ask("textDocument/formatting", {**desk.here(), "options": options})
    line = desk.at("size 2.5mm²")
    some = ask("textDocument/rangeFormatting", {**desk.here(), "range": {"start": line, "end": line}, "options": options})
    typed = {**desk.here({"line": line["line"] + 1, "character": 0}), "ch": "\n", "options": options}
    on_type = ask("textDocument/onTypeFormatting", typed)
    assert len(some) == len(on_type) == 1 and some[0] in edits and on_type == some
    assert "  size          2.5 mm²" in applied(desk.text, some, desk.encoding)
    desk.edit("size 2.5mm²", "size          2.5 mm²", "cable supply")

    # What follows from lines.
    hints = ask("textDocument/inlayHint", {**desk.here(), "range": desk.whole()})
    labels = [hint["label"] for hint in hints]
    assert any("V left" in label for label in labels) and any("bends" in label for label in labels)
    lenses = ask("textDocument/codeLens", desk.here())
    assert any("of at most" in lens["command"]["title"] for lens in lenses)
    assert all(lens["command"]["command"] == "" for lens in lenses), "this client named no command of its own"

    # The drawing: its elements stand for parts of the text, and the one at the cursor is set off.
    assert desk.announced["experimental"]["drawing"] is True
    leg = desk.at("500 mm", "fuel-line of reader", plus=1)
    answer = desk.wire.ask("trialfit/drawing", {**desk.here(leg), "width": 900})["result"]
    assert answer["version"] == desk.version
    sheet = ElementTree.fromstring(answer["svg"])
    assert sheet.get("viewBox").split()[2] == "900"
    drawn = {node.get("id"): node for node in sheet.iter() if node.get("id")}
    assert [element["id"] for element in answer["elements"]] == list(drawn)
    said = {element["id"]: desk.slice(element["range"]) for element in answer["elements"] if element["uri"] == desk.uri}
    for name, part in said.items():
        assert part.encode() == desk.text.encode()[int(drawn[name].get("data-start")) : int(drawn[name].get("data-end"))]
    assert any(part.startswith("exhaust of reader") for part in said.values())
    here = {said[name] for name, node in drawn.items() if "here" in node.get("class").split()}
    assert len(here) == 1 and "500 mm" in here.pop(), "the leg at the cursor and nothing else"
    plain = desk.wire.ask("trialfit/drawing", desk.here())["result"]["svg"]
    assert not any("here" in node.get("class", "").split() for node in ElementTree.fromstring(plain).iter())
    assert desk.wire.ask("trialfit/drawing", {"textDocument": {"uri": desk.sheets}})["result"] is None, "not open"

    # What hangs on what.
    (item,) = ask("textDocument/prepareCallHierarchy", desk.here(desk.at("air-2", plus=1)))
    assert item["uri"] == desk.sheets
    users = ask("callHierarchy/incomingCalls", {"item": item})
    assert [call["from"]["name"] for call in users] == ["heater reader"]
    of_heater = ask("callHierarchy/incomingCalls", {"item": users[0]["from"]})
    names = [call["from"]["name"] for call in of_heater]
    assert "cable supply of reader" in names and any(name.startswith("job ") for name in names)
    used = ask("callHierarchy/outgoingCalls", {"item": users[0]["from"]})
    assert "datasheet heater air-2" in [call["to"]["name"] for call in used]

    # Completion.
    desk.edit("reader", "reader\r\n  ", "cable supply of")
    items = ask("textDocument/completion", desk.here(desk.at("\r\n", "cable supply of reader\r\n  ", plus=4)))
    assert any(item.get("insertTextFormat") == 2 for item in items) and all("labelDetails" in item for item in items)
    desk.edit("workshop/sheets.trialfit", "")
    paths = ask("textDocument/completion", desk.here(desk.at('follows "', plus=9)))
    assert [item["label"] for item in paths] == ["workshop/sheets.trialfit"]
    desk.edit('follows ""', 'follows "workshop/sheets.trialfit"')
    desk.edit("18 m", "18", "cable supply")
    behind = ask("textDocument/completion", desk.here(desk.at("18", "cable supply", plus=2)))
    assert {"m", "ft"} <= {item["label"] for item in behind} and behind[0]["textEdit"]["newText"].startswith(" ")

    # Files that get other names.
    new = (desk.workspace / "shop" / "sheets.trialfit").as_uri()
    renames = {"files": [{"oldUri": desk.sheets, "newUri": new}]}
    edits = edits_of(ask("workspace/willRenameFiles", renames))
    assert 'follows "shop/sheets.trialfit"' in applied(desk.text, edits[desk.uri], desk.encoding)
    folder = {"files": [{"oldUri": (desk.workspace / "workshop").as_uri(), "newUri": (desk.workspace / "shop").as_uri()}]}
    assert edits_of(ask("workspace/willRenameFiles", folder)) == edits
    (desk.workspace / "workshop").rename(desk.workspace / "shop")
    desk.wire.tell("workspace/didRenameFiles", folder)
    found = ask("textDocument/diagnostic", desk.here())["items"]
    assert "followed-file-missing" in [it["code"] for it in found]
    (desk.workspace / "shop").rename(desk.workspace / "workshop")
    desk.wire.tell("workspace/didCreateFiles", {"files": [{"uri": desk.sheets}]})
    desk.wire.tell("workspace/didDeleteFiles", {"files": [{"uri": new}]})
    found = ask("textDocument/diagnostic", desk.here())["items"]
    assert "followed-file-missing" not in [it["code"] for it in found]
    desk.wire.tell("textDocument/didSave", desk.here())
    added = {"uri": desk.workspace.parent.as_uri(), "name": "more"}
    desk.wire.tell("workspace/didChangeWorkspaceFolders", {"event": {"added": [added], "removed": []}})
    desk.wire.close(desk.uri)
    assert ask("textDocument/hover", desk.here(inside)) is None
    told = {"textDocument/didOpen", "textDocument/didChange", "textDocument/didSave", "textDocument/didClose",
            "workspace/didRenameFiles", "workspace/didCreateFiles", "workspace/didDeleteFiles", "workspace/didChangeWorkspaceFolders"}
    assert wanted - desk.used - told == set()
    desk.wire.goodbye()


def test_a_rename_is_refused_where_it_would_change_a_meaning(desk):
    def refused(place, name):
        answer = desk.wire.ask("textDocument/rename", {**desk.here(place), "newName": name})
        assert answer["error"]["code"] == -32803, answer
        return answer["error"]["message"]

    inside = desk.at("reader", "cable supply of", plus=2)
    for name in ["", "of", "heater", "up", "two words", "a.b", "4", "# x"]:
        assert "`" in refused(inside, name), name
    space = desk.at("cabin", "space cabin", plus=1)
    desk.edit("space cabin", "space stall\r\n\r\nspace cabin")
    assert "a space" in refused(desk.at("cabin", "space cabin", plus=1), "stall") or "`stall`" in refused(
        desk.at("cabin", "space cabin", plus=1), "stall"
    )
    assert space
    sheets = desk.workspace / "workshop" / "sheets.trialfit"
    sheets.chmod(0o444)
    assert "write-protected" in refused(desk.at("air-2", plus=1), "air-two")
    assert desk.wire.ask("textDocument/prepareRename", desk.here(desk.at("18 m")))["result"] is None


def test_clients_that_lack_a_capability_get_what_they_can_take(command, workspace):
    able = capabilities("utf-16", textDocument=["semanticTokens", "diagnostic", "codeAction", "rename"], workspace=["fileOperations", "workspaceEdit"])
    able["workspace"]["configuration"] = False
    desk = Desk(command, workspace, "utf-16", able, {"inlayHints": False, "codeLenses": False})
    for name in ["semanticTokensProvider", "diagnosticProvider", "codeActionProvider"]:
        assert name not in desk.announced, name
    assert desk.announced["renameProvider"] is True and "fileOperations" not in desk.announced["workspace"]
    assert desk.ask("textDocument/inlayHint", {**desk.here(), "range": desk.whole()}) == []
    assert desk.ask("textDocument/codeLens", desk.here()) == []
    inside = desk.at("reader", "cable supply of", plus=2)
    edit = desk.ask("textDocument/rename", {**desk.here(inside), "newName": "stove"})
    assert set(edit) == {"changes"}, "plain changes, since versions would not be understood"
    desk.wire.kill()


def test_settings_are_taken_when_they_change_and_lead_to_the_rule_pages(command, workspace):
    desk = Desk(command, workspace, "utf-8")
    hints = {**desk.here(), "range": desk.whole()}
    assert desk.ask("textDocument/inlayHint", hints)
    desk.wire.settings = {"inlayHints": False, "rulePages": "https://pages.invalid/rules/#"}
    desk.wire.tell("workspace/didChangeConfiguration", {"settings": None})
    until = time.monotonic() + 20
    while desk.ask("textDocument/inlayHint", hints):
        assert time.monotonic() < until
    low = desk.ask("textDocument/diagnostic", desk.here())["items"][0]
    assert low["codeDescription"]["href"] == "https://pages.invalid/rules/#" + low["code"]
    page = desk.wire.ask("trialfit/rulePage", {"rule": low["code"]})["result"]
    assert page.startswith(f"### `{low['code']}`")
    assert "V" in desk.wire.ask("trialfit/figures", {"textDocument": {"uri": desk.uri}})["result"]
    account = desk.wire.ask("trialfit/account", {"textDocument": {"uri": desk.uri}})["result"]
    assert "questions:" in account and "rests on line" in account
    desk.wire.kill()


def test_commands_are_called_only_where_the_client_named_them(command, workspace):
    desk = Desk(command, workspace, "utf-16", None, {"commands": ["trialfit.showDrawing"]})
    lenses = desk.ask("textDocument/codeLens", desk.here())
    called = [lens["command"] for lens in lenses if lens["command"]["command"]]
    assert called and {command["command"] for command in called} == {"trialfit.showDrawing"}
    job = next(lens for lens in lenses if lens["range"]["start"] == desk.at('job "'))
    assert job["command"]["title"] == "drawing", "above the job's header, too"
    assert called[0]["arguments"][0] == desk.uri
    desk.wire.kill()


def pushed(able):
    able = copy.deepcopy(able)
    able["textDocument"].pop("diagnostic")
    return able


def test_closed_files_are_judged_and_taken_back(command, workspace):
    (workspace / "other.trialfit").write_text('trialfit 1\nfollows "workshop/sheets.trialfit"\n\nheater a\n  datasheet nobody\n')
    (workspace / ".gitignore").write_text("left-out.trialfit\n")
    (workspace / "left-out.trialfit").write_text("heater\n")
    able = pushed(capabilities("utf-16"))
    server = Wire(command)
    server.greet(able, workspace)
    other = (workspace / "other.trialfit").as_uri()

    def told(wanted):
        return server.hear(
            "textDocument/publishDiagnostics",
            lambda params: params["uri"] == other and wanted([it["code"] for it in params["diagnostics"]]),
        )

    assert "version" not in told(lambda codes: "name-not-found" in codes)
    assert not any("left-out" in str(message) for message in server.heard)
    # The edit of an open workshop file reaches the closed job.
    sheets = (workspace / "workshop" / "sheets.trialfit").as_uri()
    text = (workspace / "workshop" / "sheets.trialfit").read_text(encoding="utf-8")
    server.open(sheets, text.replace("heater air-2", "heater nobody"))
    told(lambda codes: "name-not-found" not in codes)
    server.close(sheets)
    told(lambda codes: "name-not-found" in codes)
    # A file that goes takes its findings with it.
    (workspace / "other.trialfit").unlink()
    server.tell("workspace/didChangeWatchedFiles", {"changes": [{"uri": other, "type": 3}]})
    told(lambda codes: codes == [])
    server.goodbye()


def test_a_client_that_asks_for_the_workspace_is_answered_when_there_is_news(command, workspace):
    server = Wire(command)
    server.greet(capabilities("utf-8"), workspace)
    first = server.result("workspace/diagnostic", {"previousResultIds": []})["items"]
    assert len(first) == 2
    known = {"previousResultIds": [{"uri": item["uri"], "value": item["resultId"]} for item in first]}
    held = server.post("workspace/diagnostic", known)
    server.listen(1)
    assert held not in server.answers, "nothing is new"
    kiosk = workspace / "kiosk.trialfit"
    kiosk.write_text(kiosk.read_text(encoding="utf-8").replace("2.5 mm²", "16 mm²"), encoding="utf-8")
    server.tell("workspace/didChangeWatchedFiles", {"changes": [{"uri": kiosk.as_uri(), "type": 2}]})
    items = server.answer(held)["result"]["items"]
    assert sorted(item["kind"] for item in items) == ["full", "unchanged"]
    known = {"previousResultIds": [{"uri": item["uri"], "value": item["resultId"]} for item in items]}
    held = server.post("workspace/diagnostic", known)
    server.cancel(held)
    assert server.answer(held)["error"]["code"] == -32800
    server.goodbye()


def test_long_work_is_shown_and_can_be_cancelled(command, workspace):
    for number in range(300):
        (workspace / f"job-{number}.trialfit").write_text(f"trialfit 1\nheater a{number}\n  datasheet nobody\n")
    server = Wire(command)
    server.greet(pushed(capabilities("utf-16")), workspace)
    begun = server.hear("$/progress", lambda params: params["value"]["kind"] == "begin")
    assert begun["value"]["cancellable"]
    server.tell("window/workDoneProgress/cancel", {"token": begun["token"]})
    server.hear("$/progress", lambda params: params["value"]["kind"] == "end")
    server.goodbye()


def test_no_file_outside_the_opened_folder_is_read_for_an_address_that_a_client_makes_up(command, workspace):
    outside = workspace.parent / "outside.trialfit"
    outside.write_text("trialfit 1\nheater secret\nexhaust of secret\n")
    server = Wire(command)
    server.greet(capabilities("utf-8"), workspace)
    nowhere = {"start": {"line": 1, "character": 0}, "end": {"line": 1, "character": 13}}
    item = {"name": "x", "kind": 19, "uri": outside.as_uri(), "range": nowhere, "selectionRange": nowhere, "data": {"start": 9, "end": 22}}
    assert server.result("callHierarchy/incomingCalls", {"item": item}) is None
    assert server.result("callHierarchy/outgoingCalls", {"item": item}) in (None, [])
    assert not [it for it in server.result("workspace/symbol", {"query": "secret"}) if "secret" in it["name"]]
    server.goodbye()


@pytest.mark.parametrize("folder", ["file:///c%3A/jobs", "file:///C:/jobs", "file://server/share"])
def test_addresses_of_another_system_are_answered(command, folder):
    server = Wire(command)
    params = {"processId": None, "rootUri": folder, "capabilities": capabilities("utf-16")}
    server.result("initialize", params)
    server.tell("initialized", {})
    uri = folder + "/van%203/job.trialfit"
    server.open(uri, "trialfit 1\nheater a\nexhaust of a\n")
    place = {"textDocument": {"uri": uri}, "position": {"line": 2, "character": 11}}
    assert server.result("textDocument/definition", place)["uri"] == uri
    server.result("textDocument/diagnostic", {"textDocument": {"uri": uri}})
    server.goodbye()


def test_several_folders_are_one_workspace(command, workspace):
    second = workspace.parent / "second"
    second.mkdir()
    (second / "more.trialfit").write_text('trialfit 1\nfollows "../workspace/workshop/sheets.trialfit"\n\nheater b\n  datasheet air-2\n')
    server = Wire(command)
    folders = [{"uri": folder.as_uri(), "name": folder.name} for folder in (workspace, second)]
    able = capabilities("utf-16")
    server.result("initialize", {"processId": None, "rootUri": None, "capabilities": able, "workspaceFolders": folders})
    server.tell("initialized", {})
    sheets = workspace / "workshop" / "sheets.trialfit"
    text = sheets.read_text(encoding="utf-8")
    server.open(sheets.as_uri(), text)
    place = position(text, text.index("air-2") + 1, "utf-16")
    params = {"textDocument": {"uri": sheets.as_uri()}, "position": place, "newName": "air-two"}
    edits = edits_of(server.result("textDocument/rename", params))
    assert set(edits) == {sheets.as_uri(), (workspace / "kiosk.trialfit").as_uri(), (second / "more.trialfit").as_uri()}
    server.goodbye()
