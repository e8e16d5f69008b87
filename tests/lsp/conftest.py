"""What the tests share: the command that serves, a copy of the workspace, and a client that has shaken hands."""

import os
import shlex
import shutil
from pathlib import Path

import pytest
from lsprotocol import types
from pygls.protocol import default_converter
from pytest_lsp import LanguageClient, client_capabilities

HERE = Path(__file__).parent


@pytest.fixture
def command():
    return shlex.split(os.environ["TRIALFIT_SERVE"])


@pytest.fixture
def workspace(tmp_path):
    """A copy of the workspace: a job with one fault, and the workshop file it follows."""
    return Path(shutil.copytree(HERE / "workspace", tmp_path / "workspace"))


class Editor:
    """An independent client (pygls and lsprotocol), and the documents it has open."""

    def __init__(self, client, workspace):
        self.client = client
        self.workspace = workspace
        self.versions = {}
        self.published = {}

    async def greet(self, capabilities, **more):
        params = types.InitializeParams(
            capabilities=capabilities,
            workspace_folders=[types.WorkspaceFolder(uri=self.workspace.as_uri(), name="workspace")],
            **more,
        )
        return await self.client.initialize_session(params)

    def open(self, name, text=None):
        path = self.workspace / name
        text = path.read_text(encoding="utf-8") if text is None else text
        uri = path.as_uri()
        self.versions[uri] = 1
        item = types.TextDocumentItem(uri=uri, language_id="trialfit", version=1, text=text)
        self.client.text_document_did_open(types.DidOpenTextDocumentParams(text_document=item))
        return uri

    def edit(self, uri, span, text):
        """One incremental change; `None` as span for the whole text."""
        self.versions[uri] += 1
        if span is None:
            change = types.TextDocumentContentChangeWholeDocument(text=text)
        else:
            change = types.TextDocumentContentChangePartial(range=span, text=text)
        self.client.text_document_did_change(
            types.DidChangeTextDocumentParams(
                text_document=types.VersionedTextDocumentIdentifier(uri=uri, version=self.versions[uri]),
                content_changes=[change],
            )
        )

    async def findings(self, uri):
        """The findings published for the version that is open."""
        while True:
            known = self.published.get(uri)
            if known is not None and known.version == self.versions[uri]:
                return list(known.diagnostics)
            await self.client.wait_for_notification(types.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)

    async def findings_after(self, uri, wanted):
        """The findings for the version that is open, once they are as wanted."""
        while True:
            found = await self.findings(uri)
            if wanted(found):
                return found
            await self.client.wait_for_notification(types.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)


def client_of(workspace):
    client = LanguageClient(converter_factory=default_converter)
    editor = Editor(client, workspace)

    @client.feature(types.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
    def keep(params: types.PublishDiagnosticsParams):
        editor.published[params.uri] = params

    @client.feature(types.CLIENT_REGISTER_CAPABILITY)
    def register(params: types.RegistrationParams):
        return None

    @client.feature(types.WORKSPACE_CONFIGURATION)
    def configuration(params: types.ConfigurationParams):
        return [None for _ in params.items]

    return editor


@pytest.fixture
def start(command, workspace):
    """Starts a server and gives the client; the test ends it."""

    async def begin():
        editor = client_of(workspace)
        await editor.client.start_io(*command)
        return editor

    return begin


@pytest.fixture
def capabilities():
    return client_capabilities
