"""A client that speaks the wire itself and holds every message of the server against the protocol's published
meta-model, through the types that `lsprotocol` generates from it. What messages mean is the tests' business."""

import json
import queue
import subprocess
import threading
import time

from lsprotocol import converters, types

CONVERTER = converters.get_converter()
PATIENCE = 60
CODECS = {"utf-8": ("utf-8", 1), "utf-16": ("utf-16-le", 2), "utf-32": ("utf-32-le", 4)}

# A client that can do everything.
CAPABILITIES = {
    "general": {"positionEncodings": ["utf-16"]},
    "window": {"workDoneProgress": True},
    "workspace": {
        "applyEdit": True,
        "configuration": True,
        "workspaceFolders": True,
        "workspaceEdit": {"documentChanges": True},
        "didChangeWatchedFiles": {"dynamicRegistration": True},
        "fileOperations": {"willRename": True, "didRename": True, "didCreate": True, "didDelete": True},
        "diagnostics": {"refreshSupport": True},
        "symbol": {},
    },
    "textDocument": {
        "diagnostic": {"relatedInformation": True, "tagSupport": {"valueSet": [1, 2]}, "codeDescriptionSupport": True},
        "publishDiagnostics": {"relatedInformation": True, "tagSupport": {"valueSet": [1]}, "codeDescriptionSupport": True},
        "hover": {"contentFormat": ["markdown", "plaintext"]},
        "completion": {"completionItem": {"snippetSupport": True, "labelDetailsSupport": True, "documentationFormat": ["markdown"]}},
        "codeAction": {
            "codeActionLiteralSupport": {"codeActionKind": {"valueSet": ["", "quickfix", "refactor", "source"]}},
            "isPreferredSupport": True,
            "dataSupport": True,
            "resolveSupport": {"properties": ["edit"]},
        },
        "rename": {"prepareSupport": True},
        "documentSymbol": {"hierarchicalDocumentSymbolSupport": True},
        "semanticTokens": {
            "requests": {"range": True, "full": {"delta": True}},
            "tokenTypes": ["keyword"],
            "tokenModifiers": [],
            "formats": ["relative"],
        },
        "callHierarchy": {},
        "inlayHint": {},
        "codeLens": {},
        "foldingRange": {},
        "selectionRange": {},
        "documentLink": {},
    },
}


class Fault(AssertionError):
    """A message that the meta-model does not allow."""


def without_nulls(value):
    if isinstance(value, dict):
        return {key: without_nulls(item) for key, item in value.items() if item is not None}
    if isinstance(value, list):
        return [without_nulls(item) for item in value]
    return value


def hold_against_model(message, kind):
    """The message read as its type and written again must be what it was: nothing unknown, nothing of another kind."""
    try:
        again = json.loads(json.dumps(CONVERTER.unstructure(CONVERTER.structure(message, kind), kind)))
    except Exception as error:  # whatever the converter makes of it, the message is at fault
        raise Fault(f"{kind.__name__}: {message}: {error!r}") from error
    if without_nulls(again) != without_nulls(message):
        raise Fault(f"{kind.__name__}: {without_nulls(message)} is read as {without_nulls(again)}")


class Wire:
    """One server, over its standard input and output."""

    def __init__(self, command, settings=None, validate=True):
        self.server = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        self.settings = settings
        self.validate = validate
        self.incoming = queue.Queue()
        self.answers = {}
        self.heard = []
        self.asked = {}
        self.last = 0
        self.ignored = set()
        threading.Thread(target=self._read, daemon=True).start()

    def _read(self):
        out = self.server.stdout
        while True:
            length = None
            while True:
                line = out.readline()
                if not line:
                    self.incoming.put(None)
                    return
                if line == b"\r\n":
                    break
                name, value = line.split(b":", 1)
                if name.lower() == b"content-length":
                    length = int(value)
            self.incoming.put(json.loads(out.read(length)))

    def send(self, message):
        body = json.dumps(message, ensure_ascii=False).encode()
        self.server.stdin.write(b"Content-Length: %d\r\n\r\n%s" % (len(body), body))
        self.server.stdin.flush()

    def tell(self, method, params=None):
        self.send({"jsonrpc": "2.0", "method": method, "params": params} if params is not None else {"jsonrpc": "2.0", "method": method})

    def post(self, method, params=None):
        self.last += 1
        message = {"jsonrpc": "2.0", "id": self.last, "method": method}
        if params is not None:
            message["params"] = params
        self.asked[self.last] = method
        self.send(message)
        return self.last

    def cancel(self, number):
        self.tell("$/cancelRequest", {"id": number})

    def _take(self, timeout):
        message = self.incoming.get(timeout=max(timeout, 0.001))
        assert message is not None, "the server has gone"
        if "method" in message:
            known = types.METHOD_TO_TYPES.get(message["method"])
            if self.validate:
                assert known, f"a method that the model does not have: {message}"
                hold_against_model(message, known[0])
            self.heard.append(message)
            if "id" in message:
                result = None
                if message["method"] == "workspace/configuration":
                    result = [self.settings for _ in message["params"]["items"]]
                self.send({"jsonrpc": "2.0", "id": message["id"], "result": result})
            return
        number = message["id"]
        method = self.asked.pop(number)
        if self.validate:
            if "error" in message:
                hold_against_model(message, types.ResponseErrorMessage)
            elif method in types.METHOD_TO_TYPES:
                hold_against_model(message, types.METHOD_TO_TYPES[method][1])
        if number in self.ignored:
            self.ignored.discard(number)
        else:
            self.answers[number] = message

    def answer(self, number, patience=PATIENCE):
        until = time.monotonic() + patience
        while number not in self.answers:
            self._take(until - time.monotonic())
        return self.answers.pop(number)

    def ask(self, method, params=None):
        return self.answer(self.post(method, params))

    def result(self, method, params=None):
        answer = self.ask(method, params)
        assert "error" not in answer, (method, params, answer)
        return answer["result"]

    def hear(self, method, wanted=lambda params: True, patience=PATIENCE):
        """The next message of the server with that method whose parameters are as wanted."""
        until = time.monotonic() + patience
        passed = 0
        while True:
            while passed < len(self.heard):
                message = self.heard[passed]
                if message["method"] == method and wanted(message["params"]):
                    del self.heard[: passed + 1]
                    return message["params"]
                passed += 1
            self._take(until - time.monotonic())

    def listen(self, seconds):
        """Takes whatever comes in that time."""
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            try:
                self._take(until - time.monotonic())
            except queue.Empty:
                return

    def greet(self, capabilities, folder=None, options=None):
        params = {"processId": None, "rootUri": None, "capabilities": capabilities}
        if folder is not None:
            params["workspaceFolders"] = [{"uri": folder.as_uri(), "name": folder.name}]
        if options is not None:
            params["initializationOptions"] = options
        result = self.result("initialize", params)
        self.tell("initialized", {})
        return result["capabilities"]

    def open(self, uri, text, version=1):
        self.tell("textDocument/didOpen", {"textDocument": {"uri": uri, "languageId": "trialfit", "version": version, "text": text}})

    def change(self, uri, version, changes):
        self.tell("textDocument/didChange", {"textDocument": {"uri": uri, "version": version}, "contentChanges": changes})

    def close(self, uri):
        self.tell("textDocument/didClose", {"textDocument": {"uri": uri}})

    def goodbye(self):
        assert self.result("shutdown") is None
        self.tell("exit")
        assert self.server.wait(10) == 0

    def kill(self):
        self.server.kill()
        self.server.wait(10)


def line_starts(text):
    """Lines end with LF, CRLF or CR (LSP 3.17, text documents)."""
    starts = [0]
    for at, letter in enumerate(text):
        if letter == "\n" or (letter == "\r" and text[at + 1 : at + 2] != "\n"):
            starts.append(at + 1)
    return starts


def units(text, encoding):
    codec, size = CODECS[encoding]
    return len(text.encode(codec)) // size


def position(text, letter, encoding, starts=None):
    """Line and column of a letter; independent of the server."""
    starts = starts or line_starts(text)
    line = max(number for number, start in enumerate(starts) if start <= letter)
    return {"line": line, "character": units(text[starts[line] : letter], encoding)}


def letter(text, place, encoding, starts=None):
    """The letter at a position that lies in the text; anything else is a fault."""
    starts = starts or line_starts(text)
    assert place["line"] < len(starts), place
    start = starts[place["line"]]
    end = starts[place["line"] + 1] if place["line"] + 1 < len(starts) else len(text)
    line = text[start:end].rstrip("\r\n")
    at = column = 0
    while column < place["character"] and at < len(line):
        column += units(line[at], encoding)
        at += 1
    assert column == place["character"], f"{place} is inside a letter or past the end of {line!r}"
    return start + at


def slice_of(text, span, encoding):
    return text[letter(text, span["start"], encoding) : letter(text, span["end"], encoding)]


def applied(text, edits, encoding):
    """The text with edits made that must not overlap."""
    places = sorted(
        (letter(text, edit["range"]["start"], encoding), letter(text, edit["range"]["end"], encoding), edit["newText"])
        for edit in edits
    )
    for (_, end, _), (start, _, _) in zip(places, places[1:]):
        assert end <= start, f"edits overlap: {places}"
    for start, end, new in reversed(places):
        text = text[:start] + new + text[end:]
    return text


def edits_of(edit):
    """The edits of a workspace edit, by address."""
    if "documentChanges" in edit:
        return {change["textDocument"]["uri"]: change["edits"] for change in edit["documentChanges"]}
    return edit.get("changes", {})
