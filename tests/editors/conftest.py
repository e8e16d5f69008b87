"""What the tests in real editors share: the built binary, a copy of the workspace, the server without any editor."""

import json
import os
import shutil
import subprocess
from pathlib import Path

import pytest

HERE = Path(__file__).parent
PROJECT = HERE.parent.parent


@pytest.fixture(scope="session")
def program():
    """The built `trialfit`."""
    return os.environ["TRIALFIT"]


@pytest.fixture
def workspace(tmp_path):
    """A copy of the workspace that the server's own tests use: a job with one fault, and the workshop file it follows."""
    return Path(shutil.copytree(HERE.parent / "lsp" / "workspace", tmp_path / "workspace"))


@pytest.fixture(scope="session")
def parser(tmp_path_factory):
    """The tree-sitter grammar's committed C, compiled as an editor loads it."""
    grammar = PROJECT / "editors" / "tree-sitter"
    library = tmp_path_factory.mktemp("parser") / "trialfit.so"
    compiler = shutil.which("cc")
    if not compiler:
        pytest.skip("LEFT OUT: no C compiler here, which the tree-sitter grammar needs")
    sources = [str(grammar / "src" / name) for name in ("parser.c", "scanner.c")]
    words = ["-O1", "-fPIC", "-shared", "-Wall", "-Wextra", "-Werror", "-Wno-unused-parameter", "-I", str(grammar / "src")]
    subprocess.run([compiler, *words, *sources, "-o", str(library)], check=True)
    return library


class Server:
    """The server, spoken to without any editor: one request after another, on a folder of its own."""

    def __init__(self, program, folder):
        self.process = subprocess.Popen([program, "serve"], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        self.number = 0
        greeting = {"processId": None, "rootUri": folder.as_uri(), "capabilities": {}}
        self.ask("initialize", greeting)
        self.tell("initialized", {})

    def send(self, message):
        body = json.dumps({"jsonrpc": "2.0"} | message).encode()
        self.process.stdin.write(b"Content-Length: %d\r\n\r\n%s" % (len(body), body))
        self.process.stdin.flush()

    def tell(self, method, params):
        self.send({"method": method, "params": params})

    def ask(self, method, params=None):
        self.number += 1
        self.send({"id": self.number, "method": method, "params": params})
        while True:
            length = 0
            while (line := self.process.stdout.readline().strip()):
                if line.lower().startswith(b"content-length:"):
                    length = int(line.split(b":")[1])
            message = json.loads(self.process.stdout.read(length))
            if message.get("id") == self.number and "method" not in message:
                return message["result"]

    def end(self):
        self.ask("shutdown")
        self.tell("exit", None)
        self.process.stdin.close()
        self.process.wait(10)


@pytest.fixture
def server(program, tmp_path):
    serving = Server(program, tmp_path)
    yield serving
    serving.end()
