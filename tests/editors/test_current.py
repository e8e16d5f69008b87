"""What stands in `editors/` besides code: made files are current, lock files name no registry, snippets and the practice
job are right by the checker itself."""

import json
import re
import subprocess
import sys

import pytest

from conftest import PROJECT

EDITORS = PROJECT / "editors"


def check(program, text):
    """What the checker says of a text, by rule."""
    done = subprocess.run(
        [program, "check", "-", "--form", "json"], input=text, capture_output=True, text=True, encoding="utf-8"
    )
    assert done.returncode in (0, 1), done.stderr
    return json.loads(done.stdout)["files"][0]["findings"]


def test_what_is_made_from_the_languages_table_is_current(program):
    done = subprocess.run([sys.executable, EDITORS / "generate", "--check"], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


def test_lock_files_name_no_registry():
    locks = [path for path in PROJECT.rglob("package-lock.json") if "node_modules" not in path.parts]
    locks = [path for path in locks if "target" not in path.relative_to(PROJECT).parts]
    assert locks
    for path in locks:
        assert '"resolved"' not in path.read_text(encoding="utf-8"), path


def test_every_version_is_exact():
    for path in (EDITORS / "vscode/package.json", PROJECT / "tests/editors/package.json"):
        manifest = json.loads(path.read_text(encoding="utf-8"))
        for name, version in (manifest["dependencies"] | manifest.get("devDependencies", {})).items():
            assert re.fullmatch(r"\d+\.\d+\.\d+", version), f"{path.name}: {name} {version}"


MANIFEST = json.loads((EDITORS / "vscode/package.json").read_text(encoding="utf-8"))


def test_every_line_of_the_one_line_form_is_read_by_one_problem_matcher(program):
    done = subprocess.run(
        [program, "check", "--form", "line", "examples"], cwd=PROJECT, capture_output=True, text=True, encoding="utf-8"
    )
    patterns = [matcher["pattern"] for matcher in MANIFEST["contributes"]["problemMatchers"]]
    lines = done.stdout.splitlines()
    severities = set()
    for line in lines:
        ((pattern, found),) = [(it, match) for it in patterns if (match := re.match(it["regexp"], line))]
        part = lambda name: found.group(pattern[name])
        assert (PROJECT / part("file")).exists() and int(part("line")) > 0 and int(part("column")) > 0
        assert part("message") and part("code") and part("message").find(" [") == -1, line
        severities.add(part("severity"))
    assert {"error", "warning"} <= severities and len(lines) > 20


def test_the_manifest_names_files_that_are_there():
    contributes = MANIFEST["contributes"]
    named = [language["configuration"] for language in contributes["languages"]]
    named += [it["path"] for it in contributes["grammars"] + contributes["snippets"]]
    named += [step["media"]["markdown"] for walk in contributes["walkthroughs"] for step in walk["steps"]]
    assert all((EDITORS / "vscode" / name).is_file() for name in named)
    commands = {command["command"] for command in contributes["commands"]}
    asked = re.findall(r"command:(trialfit\.\w+)", json.dumps(contributes["walkthroughs"]))
    assert asked and set(asked) <= commands


def expanded(body):
    """A snippet as it stands when nothing in it is changed: each place with its text or its first choice."""
    text = "\n".join(body)
    for number, said in re.findall(r"\$\{(\d+):([^}]*)\}", text):
        text = text.replace(f"${{{number}:{said}}}", said)
    text = re.sub(r"\$\{\d+\|([^,|]*)[^|]*\|\}", r"\1", text)
    text = text.replace("$0", "")
    assert "$" not in text
    return text


SNIPPETS = json.loads((EDITORS / "vscode/snippets/trialfit.json").read_text(encoding="utf-8"))


@pytest.mark.parametrize("name", SNIPPETS)
def test_a_snippet_is_read_without_a_slip(program, name):
    """The text's own rules find nothing but blanks left open; the white space is in order."""
    body = expanded(SNIPPETS[name]["body"])
    text = f"trialfit 1\n\n{body.rstrip()}\n"
    slips = [it for it in check(program, text) if it["family"] == FAMILY_OF_TEXT]
    # A block by itself is no job, and a heater in it is told of.
    assert {it["rule"] for it in slips} <= {"value-blank", "heater-without-job", "job-without-heater"}, slips
    tidied = subprocess.run([program, "tidy", "-"], input=text, capture_output=True, text=True, encoding="utf-8")
    assert tidied.stdout == text


def test_there_is_a_snippet_for_every_kind_of_block_of_a_job(program):
    words = json.loads(subprocess.run([program, "words", "--form", "json"], capture_output=True, text=True).stdout)
    kinds = {kind["header"] for kind in words["kinds"]} - {"", "stock", "datasheet"}
    # Rare.
    kinds -= {"coolant-line"}
    assert {snippet["prefix"] for snippet in SNIPPETS.values()} == kinds


def test_the_practice_job_has_its_fault_and_its_first_remedy_mends_it(program):
    text = (EDITORS / "vscode/practice/practice.trialfit").read_text(encoding="utf-8")
    found = check(program, text)
    (low,) = [it for it in found if it["rule"] == "starting-voltage-low"]
    assert [it["rule"] for it in found if it["severity"] == "error"] == ["starting-voltage-low"]
    (edit,) = low["remedies"][0]["edits"]
    bytes_of = text.encode()
    start, end = (edit["place"][side]["byte"] for side in ("start", "end"))
    mended = (bytes_of[:start] + edit["insert"].encode() + bytes_of[end:]).decode()
    left = [it["rule"] for it in check(program, mended)]
    assert left == [it["rule"] for it in found if it is not low]


FAMILY_OF_TEXT = "the text itself"
