"""VS Code as it is served to browsers: the extension installed from the built `.vsix`, asked inside the editor, and seen
in the real window."""

import json
import os
import re
import shutil
import socket
import subprocess
import time
import urllib.request
import zipfile
from pathlib import Path

import pytest

from conftest import HERE, PROJECT

pytestmark = pytest.mark.skipif("TRIALFIT_CODE" not in os.environ, reason="LEFT OUT: no VS Code or no chromium here")

SETTINGS = {
    "security.workspace.trust.enabled": False,
    "telemetry.telemetryLevel": "off",
    "workbench.startupEditor": "none",
    "workbench.tips.enabled": False,
    "git.enabled": False,
    # On in a browser, unless it is said otherwise; the probe puts the job back as it is on the disk.
    "files.autoSave": "off",
    "chat.commandCenter.enabled": False,
    "editor.minimap.enabled": False,
    "workbench.secondarySideBar.defaultVisibility": "hidden",
}


def free_port():
    with socket.socket() as it:
        it.bind(("127.0.0.1", 0))
        return it.getsockname()[1]


class Code:
    """One served editor with a folder of its own; its extensions are installed as a user installs them."""

    def __init__(self, folder, program, environment):
        self.data = folder / "data"
        entry = Path(os.environ["TRIALFIT_CODE"]) / "node_modules/code-server/out/node/entry.js"
        # Its own configuration file is not to be written to the user's folder; its gallery is nowhere.
        self.command = ["node", str(entry), "--config", "/dev/null", "--user-data-dir", str(self.data),
                        "--extensions-dir", str(folder / "extensions")]  # fmt: skip
        self.environment = os.environ | environment | {
            "EXTENSIONS_GALLERY": '{"serviceUrl":"http://127.0.0.1:9/"}',
            "HOME": str(folder),
        }  # fmt: skip
        for name in ("User", "Machine"):
            (self.data / name).mkdir(parents=True)
            settings = SETTINGS | ({"trialfit.path": program} if name == "Machine" else {})
            (self.data / name / "settings.json").write_text(json.dumps(settings))

    def install(self, *packages):
        for package in packages:
            words = ["--install-extension", str(package)]
            done = subprocess.run([*self.command, *words], env=self.environment, capture_output=True, text=True, timeout=60)
            assert done.returncode == 0 and "successfully installed" in done.stdout, done.stdout + done.stderr

    def __enter__(self):
        port = free_port()
        words = ["--bind-addr", f"127.0.0.1:{port}", "--auth", "none", "--disable-telemetry", "--disable-update-check",
                 "--disable-workspace-trust"]  # fmt: skip
        self.log = open(self.data / "log", "w")
        self.process = subprocess.Popen([*self.command, *words], env=self.environment, stdout=self.log, stderr=self.log)
        self.address = f"http://127.0.0.1:{port}"
        until = time.monotonic() + 30
        while True:
            try:
                with urllib.request.urlopen(f"{self.address}/healthz", timeout=2):
                    return self
            except OSError:
                assert time.monotonic() < until and self.process.poll() is None, (self.data / "log").read_text()
                time.sleep(0.1)

    def __exit__(self, *_):
        # Ends its extension hosts and their language servers with it.
        self.process.terminate()
        try:
            self.process.wait(10)
        except subprocess.TimeoutExpired:
            self.process.kill()
        self.log.close()


@pytest.fixture(scope="module")
def seen(program, tmp_path_factory):
    """What the probe and the window saw; one start of the editor serves both."""
    folder = tmp_path_factory.mktemp("code")
    workspace = Path(shutil.copytree(HERE.parent / "lsp" / "workspace", folder / "workspace"))
    extension = Path(os.environ["TRIALFIT_EXTENSION"])
    vsce = extension / "node_modules/.bin/vsce"
    probe = folder / "probe.vsix"
    subprocess.run(
        [vsce, "package", "--no-dependencies", "--skip-license", "--allow-missing-repository", "--out", probe],
        cwd=HERE / "probe", check=True, capture_output=True,
    )  # fmt: skip
    picture = extension.parent.parent.parent / "window.png"
    environment = {
        "PROBE_RESULT": str(folder / "probe.json"),
        "WINDOW_RESULT": str(folder / "window.json"),
        "WINDOW_PICTURE": str(picture),
        "MACHINE_SETTINGS": str(folder / "data" / "Machine" / "settings.json"),
    }
    code = Code(folder, program, environment)
    code.install(extension / "trialfit.vsix", probe)
    with code:
        address = f"{code.address}/?folder={workspace}"
        subprocess.run(
            ["node", HERE / "window.mjs"], env=os.environ | environment | {"WINDOW_ADDRESS": address}, check=True, timeout=180
        )
    read = lambda name: json.loads((folder / name).read_text(encoding="utf-8")) if (folder / name).exists() else {}
    return {"probe": read("probe.json"), "window": read("window.json"), "picture": picture}


def test_the_package_is_small_and_holds_what_is_needed():
    with zipfile.ZipFile(Path(os.environ["TRIALFIT_EXTENSION"]) / "trialfit.vsix") as package:
        names = {info.filename.removeprefix("extension/") for info in package.infolist()}
        assert sum(info.compress_size for info in package.infolist()) < 200_000
    assert {"LICENSE.txt", "out/NOTICES.txt", "readme.md", "out/extension.js", "practice/practice.trialfit"} <= names
    assert not any(name.startswith(("node_modules", "src", "test")) for name in names)


def test_what_the_server_says_arrives_in_the_editor(seen, workspace):
    probe = seen["probe"]
    assert "missing" not in probe, probe["missing"]
    before = (workspace / "kiosk.trialfit").read_text(encoding="utf-8").splitlines()
    line = next(number for number, text in enumerate(before) if "size          2.5 mm²" in text)
    assert probe["language"] == "trialfit"
    (low,) = probe["findings"]
    assert (low["code"], low["severity"], low["source"]) == ("starting-voltage-low", 0, "trialfit")
    assert low["range"] == [line, 16, line, 23] and "10.2 V" in low["message"]
    assert low["related"][0] == "sheets.trialfit", "the line that sets the limit"
    assert "voltage left at" in probe["hover"] and "mΩ" in probe["hover"]
    assert any("supply" in name for name in probe["symbols"]) and probe["folds"] > 10
    assert probe["definition"] == ["sheets.trialfit"]
    assert "mm²" in probe["fixes"][0] and probe["mended"].split()[:3] == ["size", "4", "mm²"]
    assert probe["formatted"] == "  size          4 mm²"
    assert "insulation" in probe["completions"]
    assert probe["practice"] == {"scheme": "untitled", "language": "trialfit"}
    assert probe["tasks"] == ["check", "check before building"]
    manifest = json.loads((PROJECT / "editors/vscode/package.json").read_text(encoding="utf-8"))
    assert {command["command"] for command in manifest["contributes"]["commands"]} <= set(probe["commands"])


@pytest.mark.parametrize(
    "told",
    [
        pytest.param(lambda probe: probe["tokens"]["count"] > 50, id="semantic tokens"),
        pytest.param(lambda probe: probe["hints"] > 5, id="inlay hints, and none where they are off"),
        pytest.param(
            # What is left, and the low end of what the data sheet allows.
            lambda probe: any("9.45 V left at worst, at least 10.2 V" in lens["title"] for lens in probe["lenses"])
            and probe["leapt"],
            id="code lenses",
        ),
        pytest.param(
            lambda probe: {"trialfit.showFigures", "trialfit.showDrawing"} <= {lens["command"] for lens in probe["lenses"]},
            id="the ways to figures and drawing",
        ),
        pytest.param(lambda probe: probe["highlights"] > 5, id="highlights"),
        pytest.param(lambda probe: probe["references"] > 5, id="references"),
        pytest.param(lambda probe: probe["selections"] == sorted(set(probe["selections"])), id="growing selections"),
        pytest.param(lambda probe: "heater reader" in probe["workspaceSymbols"], id="symbols of the workspace"),
        pytest.param(lambda probe: probe["hanging"] == ["kiosk.trialfit"], id="what hangs on a data sheet"),
        pytest.param(lambda probe: probe["rangeFormatted"] == "  size          4 mm²", id="formatting of a range"),
        pytest.param(lambda probe: probe["typed"] == "  size          4 mm²", id="formatting while typing"),
        pytest.param(lambda probe: probe["follows"] == 'follows "workshop/parts.trialfit"', id="renaming a followed file"),
        pytest.param(lambda probe: probe["links"] == ["sheets.trialfit"], id="links"),
        pytest.param(
            lambda probe: probe["prepared"] == "house"
            and "battery leisure" in probe["renamed"]
            and re.search(r"from +leisure", probe["renamed"])
            and "house" not in probe["renamed"],
            id="renaming",
        ),
    ],
)
def test_what_the_server_offers_works_in_the_editor(seen, told):
    assert told(seen["probe"]), seen["probe"]


def test_a_user_sees_the_finding_the_drawing_the_figures_and_the_mend(seen, workspace):
    window = seen["window"]
    assert "missing" not in window, (window["missing"], seen["picture"])
    assert window["squiggles"] == 1 and "starting-voltage-low" in window["problem"]
    assert window["drawn"] > 8 and window["setOff"] == ["cable supply", "cable supply"], "set off in both views"
    assert window["marked"] == 2 and window["markedAfter"] == 0, "the drawing follows the text"
    assert window["paper"] == window["background"], "the sheet is as dark as the editor"
    job = (workspace / "kiosk.trialfit").read_text(encoding="utf-8").splitlines()
    exhaust = job.index("exhaust of reader")
    end = next(number for number, text in enumerate(job) if number > exhaust and text.startswith("  ends"))
    assert exhaust < window["line"] - 1 < end, "a click on a leg leads to the line that lays it"
    assert "carbon monoxide kills" in window["caution"]
    assert window["figures"] > 10 and any("voltage left" in title for title in window["pointed"])
    assert window["working"], "each step says where its formula is printed"
    assert "4 mm²" in window["offers"][0]
    volts = lambda shown: float(shown.split()[0])
    assert volts(window["after"]) > volts(window["before"]), "the figures follow the text"
    (told,) = window["told"]
    assert "there is no such command" in told and "Where is trialfit?" in told and "First steps" in told
    assert window["complaints"] == [], "the page loads its own style and script and nothing else"
