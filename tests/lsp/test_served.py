"""The built server over standard input and output, driven by an independent client library."""

import asyncio
import json
import os
import signal
import subprocess
import sys
import textwrap
import time
from pathlib import Path

import pytest
from lsprotocol import types

pytestmark = pytest.mark.asyncio
PATIENCE = 30


def place(line, character):
    return types.Position(line=line, character=character)


def span(line, start, end):
    return types.Range(start=place(line, start), end=place(line, end))


def at(uri, line, character):
    return {"text_document": types.TextDocumentIdentifier(uri=uri), "position": place(line, character)}


def line_of(text, part):
    return next(number for number, line in enumerate(text.splitlines()) if part in line)


def codes(found):
    return {finding.code for finding in found}


def by_hand(text, edits, encoding="utf-16"):
    """Applies edits in the encoding's columns to a text of LF lines; independent of the server."""
    codec, unit = {"utf-8": ("utf-8", 1), "utf-16": ("utf-16-le", 2)}[encoding]
    lines = text.split("\n")
    starts = [0]
    for line in lines:
        starts.append(starts[-1] + len(line) + 1)

    def offset(position):
        if position.line >= len(lines):
            return len(text)
        units = lines[position.line].encode(codec)[: unit * position.character]
        return starts[position.line] + len(units.decode(codec))

    for edit in sorted(edits, key=lambda edit: (edit.range.start.line, edit.range.start.character), reverse=True):
        text = text[: offset(edit.range.start)] + edit.new_text + text[offset(edit.range.end) :]
    return text


async def goodbye(editor):
    await editor.client.shutdown_session()
    assert editor.client._server.returncode == 0
    await editor.client.stop()


@pytest.mark.parametrize("known", ["visual-studio-code", "emacs", "neovim@v0.11.0", "neovim@v0.6.1"])
async def test_a_small_wire_is_found_explained_and_mended(start, capabilities, workspace, known):
    text = (workspace / "kiosk.trialfit").read_text(encoding="utf-8")
    assert len(text.splitlines()) == 166
    editor = await start()
    encoding = (await editor.greet(capabilities(known))).capabilities.position_encoding
    uri = editor.open("kiosk.trialfit")
    found = await asyncio.wait_for(editor.findings(uri), PATIENCE)
    assert [finding.code for finding in found] == ["starting-voltage-low"]
    low = found[0]
    assert low.severity == types.DiagnosticSeverity.Error
    line = line_of(text, "size          2.5 mm²")
    assert low.range == span(line, 16, 24 if encoding == "utf-8" else 23)
    assert "10.2 V" in low.message and "data sheet" in low.message

    hover = await editor.client.text_document_hover_async(types.HoverParams(**at(uri, line, 18)))
    assert hover.range == low.range
    # The working, checked by the law it names: 2 x 18 m of 2.5 mm² class 5 copper (IEC 60228: at most 7.98 ohm/km at
    # 20 °C) at -15 °C (IEC 60028: 0.00393 per kelvin), in milliohm.
    run = 2 * 18 * 7.98 * (1 + 0.00393 * (-15 - 20))
    assert f"{run:.0f} mΩ" in hover.contents.value, hover.contents.value
    assert "IEC 60228" in hover.contents.value and "R = R′ · 2 · L" in hover.contents.value
    assert hover.contents.kind == capabilities(known).text_document.hover.content_format[0]

    params = types.CodeActionParams(
        text_document=types.TextDocumentIdentifier(uri=uri),
        range=low.range,
        context=types.CodeActionContext(diagnostics=[low]),
    )
    actions = await editor.client.text_document_code_action_async(params)
    action = next(action for action in actions if action.diagnostics[0].code == "starting-voltage-low")
    assert action.kind == types.CodeActionKind.QuickFix
    if action.edit.document_changes:
        assert [change.text_document.version for change in action.edit.document_changes] == [1]
        edits = action.edit.document_changes[0].edits
    else:
        assert list(action.edit.changes) == [uri]
        edits = action.edit.changes[uri]
    mended = by_hand(text, edits, encoding)
    before, after = text.splitlines(), mended.splitlines()
    changed = [number for number in range(150) if before[number] != after[number]]
    assert changed == [line], "nothing else is changed"
    assert after[line].endswith("# too small for the long way round"), "the comment stays"
    for edit in edits:
        editor.edit(uri, edit.range, edit.new_text)
    assert await asyncio.wait_for(editor.findings(uri), PATIENCE) == []
    await goodbye(editor)


async def test_completion_symbols_and_formatting(start, capabilities, workspace):
    editor = await start()
    await editor.greet(capabilities("visual-studio-code"))
    text = "trialfit 1\nfollows \"workshop/sheets.trialfit\"\n\nheater   reader # here\n\tdatasheet air-2\n  \n"
    uri = editor.open("new.trialfit", text)

    async def labels(line, character):
        params = types.CompletionParams(**at(uri, line, character))
        return [item.label for item in await editor.client.text_document_completion_async(params)]

    inside = await labels(5, 2)
    assert "warm-end" in inside and "datasheet" not in inside, "properties not said yet"
    assert await labels(4, 13) == ["air-2", "?"], "the sheets of the followed file"
    assert "exhaust of" in await labels(6, 0)
    outline = await editor.client.text_document_document_symbol_async(
        types.DocumentSymbolParams(text_document=types.TextDocumentIdentifier(uri=uri))
    )
    assert [(symbol.name, [child.name for child in symbol.children]) for symbol in outline] == [
        ("heater reader", ["datasheet air-2"])
    ]
    edits = await editor.client.text_document_formatting_async(
        types.DocumentFormattingParams(
            text_document=types.TextDocumentIdentifier(uri=uri),
            options=types.FormattingOptions(tab_size=8, insert_spaces=False),
        )
    )
    tidied = by_hand(text, edits)
    assert tidied.splitlines()[3:] == [f"{'heater reader':<48}# here", "  datasheet     air-2"]
    assert all(edit.range.start.line >= 3 for edit in edits), "lines in order are left alone"
    definition = await editor.client.text_document_definition_async(types.DefinitionParams(**at(uri, 4, 13)))
    assert definition.uri == (workspace / "workshop" / "sheets.trialfit").as_uri()
    await goodbye(editor)


async def test_an_edit_of_the_workshop_file_reaches_the_open_job(start, capabilities, workspace):
    editor = await start()
    await editor.greet(capabilities("neovim@v0.11.0"))
    job, sheets = editor.open("kiosk.trialfit"), editor.open("workshop/sheets.trialfit")
    assert codes(await asyncio.wait_for(editor.findings(job), PATIENCE)) == {"starting-voltage-low"}
    text = (workspace / "workshop" / "sheets.trialfit").read_text(encoding="utf-8")
    line = line_of(text, "voltage       10.2 V")
    # The heater now works down to 8.5 V: the cable is not too small for that.
    editor.edit(sheets, span(line, 16, 20), "8.5")
    mended = lambda found: "starting-voltage-low" not in codes(found)
    await asyncio.wait_for(editor.findings_after(job, mended), PATIENCE)
    editor.client.text_document_did_close(
        types.DidCloseTextDocumentParams(text_document=types.TextDocumentIdentifier(uri=sheets))
    )
    back = lambda found: "starting-voltage-low" in codes(found)
    await asyncio.wait_for(editor.findings_after(job, back), PATIENCE)
    await goodbye(editor)


@pytest.mark.parametrize("encoding,start_column,end_column", [("utf-8", 11, 17), ("utf-16", 9, 15), ("utf-32", 8, 14)])
async def test_columns_are_counted_as_agreed(start, encoding, start_column, end_column):
    editor = await start()
    general = types.GeneralClientCapabilities(position_encodings=[encoding])
    greeting = await editor.greet(types.ClientCapabilities(general=general))
    assert greeting.capabilities.position_encoding == encoding
    uri = editor.open("new.trialfit", "trialfit 1\r\n\r\njob \"\U0001f6df\" behind\r\n")
    found = await asyncio.wait_for(editor.findings(uri), PATIENCE)
    assert span(2, start_column, end_column) in [finding.range for finding in found], found
    # Inside the letter is before it, behind the line's end is its end.
    editor.edit(uri, types.Range(start=place(2, start_column - 1), end=place(2, 900)), "")
    assert all(finding.code != "left-over" for finding in await asyncio.wait_for(editor.findings(uri), PATIENCE))
    await goodbye(editor)


def framed(method, params=None, number=None):
    message = {"jsonrpc": "2.0", "method": method, "params": params}
    if number is not None:
        message["id"] = number
    body = json.dumps(message).encode()
    return b"Content-Length: %d\r\n\r\n%s" % (len(body), body)


GREETING = framed("initialize", {"processId": None, "rootUri": None, "capabilities": {}}, 1) + framed("initialized", {})


@pytest.mark.parametrize(
    "said,close,code",
    [
        (GREETING + framed("shutdown", None, 2) + framed("exit"), False, 0),
        (GREETING + framed("exit"), False, 1),
        (GREETING, True, 1),
        (GREETING + framed("shutdown", None, 2), True, 0),
        (framed("exit"), False, 1),
        (b"", True, 1),
    ],
)
async def test_every_end_ends_the_process(command, said, close, code):
    server = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE)
    try:
        server.stdin.write(said)
        server.stdin.flush()
        if close:
            server.stdin.close()
        # With the input left open where it is not closed.
        assert server.wait(10) == code
    finally:
        server.kill()


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="the client's process is looked for in /proc")
async def test_a_client_killed_without_a_word_leaves_no_server(command, tmp_path):
    """The client's input pipe is held open by somebody else, so nothing but its process tells that it is gone."""
    note = tmp_path / "server"
    client = textwrap.dedent(
        """
        import json, os, subprocess, sys, time
        reader, writer = os.pipe()
        holder = subprocess.Popen(["sleep", "60"], pass_fds=[writer])
        server = subprocess.Popen(sys.argv[2:], stdin=reader, stdout=subprocess.DEVNULL)
        params = {"processId": os.getpid(), "rootUri": None, "capabilities": {}}
        body = json.dumps({"jsonrpc": "2.0", "id": 1, "method": "initialize", "params": params}).encode()
        os.write(writer, b"Content-Length: %d\\r\\n\\r\\n" % len(body) + body)
        open(sys.argv[1], "w").write(f"{server.pid} {holder.pid}")
        time.sleep(60)
        """
    )
    process = subprocess.Popen([sys.executable, "-c", client, str(note), *command])
    holder = None
    try:
        until = time.monotonic() + 20
        while not (note.exists() and " " in note.read_text()):
            assert time.monotonic() < until
            await asyncio.sleep(0.05)
        server, holder = (int(number) for number in note.read_text().split())
        await asyncio.sleep(1)
        process.kill()
        process.wait()
        until = time.monotonic() + 25
        while alive(server):
            assert time.monotonic() < until, "the server stays behind"
            await asyncio.sleep(0.2)
    finally:
        process.kill()
        if holder:
            os.kill(holder, signal.SIGKILL)


def alive(number):
    try:
        return Path(f"/proc/{number}/stat").read_text().rsplit(")", 1)[1].split()[0] not in "ZX"
    except FileNotFoundError:
        return False


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="processor time is read from /proc")
async def test_an_idle_server_rests(start, capabilities):
    editor = await start()
    await editor.greet(capabilities("visual-studio-code"))
    uri = editor.open("kiosk.trialfit")
    await asyncio.wait_for(editor.findings(uri), PATIENCE)
    stat = Path(f"/proc/{editor.client._server.pid}/stat")
    await asyncio.sleep(1)
    ticks = lambda: sum(int(field) for field in stat.read_text().rsplit(")", 1)[1].split()[11:13])
    before = ticks()
    await asyncio.sleep(3)
    assert ticks() - before <= 1
    await goodbye(editor)
