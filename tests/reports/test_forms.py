"""The forms of `trialfit check` that build servers read, held to their published schemas and loaded by independent readers."""

import json
import os
import re
import resource
import shutil
import signal
import subprocess
from collections import Counter
from pathlib import Path
from urllib.parse import unquote

import jsonschema
import pytest
from junitparser import Error, Failure, JUnitXml, Skipped
from lxml import etree
from sarif import loader

PROJECT = Path(__file__).resolve().parents[2]
SCHEMAS = Path(__file__).resolve().parent / "schemas"
TRIALFIT = os.environ["TRIALFIT"]
DAY = ["--date", "2026-11-02"]

# Invented. Marks that break careless writers: a byte-order mark, CRLF and CR, letters of one to four bytes, what XML and
# JSON and links and placeholders are written with, control characters.
ODD = (
    "\ufefftrialfit 1\r\n\r\njob \"Invented: <a> & \u00b2\U0001f525 ]]> {0} [x](1)\"\r"
    "  nunber X-1\r\n  \U0001f525nunber \u0001\u000b\ufffe <&>\r"
    "space caf\u00e9 \U0001f525\n  volmue 3 m\u00b3\r\n  follows \"a](b\"\n"
)


def run(folder, *arguments, code=None, **more):
    ran = subprocess.run([TRIALFIT, *arguments], cwd=folder, capture_output=True, timeout=120, **more)
    if code is not None:
        assert ran.returncode == code, ran.stderr.decode()
    return ran


@pytest.fixture(scope="module")
def fleet(tmp_path_factory):
    """The examples as a repository, with an odd file, one that is no text and one that is clean."""
    folder = tmp_path_factory.mktemp("fleet")
    shutil.copytree(PROJECT / "examples", folder / "jobs")
    (folder / ".git").mkdir()
    (folder / "jobs" / "odd [1] 100% caf\u00e9.trialfit").write_bytes(ODD.encode())
    (folder / "jobs" / "latin.trialfit").write_bytes(b"trialfit 1\n# caf\xe9\n")
    (folder / "jobs" / "clean.trialfit").write_text("trialfit 1\n\nstock cable\n  sizes         4 mm²\n", encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def found(fleet):
    """The same run in the form `json`, which the others must agree with."""
    return json.loads(run(fleet, "check", "--form", "json", *DAY, code=2).stdout)


def sarif_of(fleet, *arguments):
    document = json.loads(run(fleet, "check", "--form", "sarif", *DAY, *arguments).stdout)
    schema = json.loads((SCHEMAS / "sarif-schema-2.1.0.json").read_text())
    faults = [f"{fault.json_path}: {fault.message[:200]}" for fault in jsonschema.Draft7Validator(schema).iter_errors(document)]
    assert not faults, faults[:5]
    return document


def test_sarif_says_what_json_says(fleet, found):
    document = sarif_of(fleet)
    (one,) = document["runs"]
    failing = Counter(
        (result["ruleId"], result["level"]) for result in one["results"] if result["kind"] == "fail" and result["ruleId"] != "not-judged"
    )
    word = {"error": "error", "warning": "warning", "advice": "note"}
    want = Counter((item["rule"], word[item["severity"]]) for file in found["files"] for item in file["findings"])
    assert failing == want
    prints = {item["fingerprint"] for file in found["files"] for item in file["findings"]}
    assert prints == {
        result["partialFingerprints"]["trialfitContent/v1"]
        for result in one["results"]
        if result["kind"] == "fail" and result["ruleId"] != "not-judged"
    }
    assert len(prints) == sum(want.values()), "no two findings share a fingerprint"
    # What could not be judged: open results as §3.27.9 and §3.27.10 ask, and one failing result for each such file.
    left = [item["rule"] for file in found["files"] for item in file["not_judged"]]
    open_results = [result for result in one["results"] if result["kind"] == "open"]
    assert sorted(result["ruleId"] for result in open_results) == sorted(left) and left
    assert all(result["level"] == "none" for result in open_results)
    unjudged = [result for result in one["results"] if result["ruleId"] == "not-judged"]
    assert len(unjudged) == sum(bool(file["not_judged"]) for file in found["files"])
    assert all(result["level"] == "error" and result["properties"]["lifeSafety"] for result in unjudged)
    # Concessions, §3.35; on all results or on none, §3.27.23.
    aside = [result for result in one["results"] if result["suppressions"]]
    assert len(aside) == found["summary"]["set_aside"] > 0
    for result in aside:
        (suppression,) = result["suppressions"]
        assert (suppression["kind"], suppression["status"]) == ("inSource", "accepted") and suppression["justification"]
    (invocation,) = one["invocations"]
    assert invocation["exitCode"] == 2 and not invocation["executionSuccessful"]
    said = invocation["toolExecutionNotifications"]
    assert [(item["level"], item["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]) for item in said] == [
        ("error", "jobs/latin.trialfit")
    ]
    # Every result's rule is described at its index, with its page.
    rules = one["tool"]["driver"]["rules"]
    for result in one["results"]:
        rule = rules[result["ruleIndex"]]
        assert rule["id"] == result["ruleId"] and rule["help"]["text"] and rule["help"]["markdown"] and "helpUri" not in rule
    assert len({rule["id"] for rule in rules}) == len(rules)


def parts(value, key):
    """Every value under a key, anywhere in a document."""
    if isinstance(value, dict):
        for name, inner in value.items():
            if name == key:
                yield inner
            yield from parts(inner, key)
    elif isinstance(value, list):
        for inner in value:
            yield from parts(inner, key)


def test_sarif_names_files_by_relative_references_and_ranges_that_agree(fleet):
    document = sarif_of(fleet)
    assert str(fleet) not in json.dumps(document) and str(fleet.parent) not in json.dumps(document)
    for place in parts(document, "artifactLocation"):
        assert place["uriBaseId"] == "SRCROOT"
        # RFC 3986 section 4.2: no scheme, no root, only characters of a reference.
        assert re.fullmatch(r"(?:[A-Za-z0-9._~-]|%[0-9A-F]{2}|/)+", place["uri"]) and not place["uri"].startswith("/")
        assert ".." not in place["uri"].split("/")
        assert (fleet / unquote(place["uri"])).exists(), place
    checked = 0
    for holder in [*parts(document, "physicalLocation"), *(change for changes in parts(document, "artifactChanges") for change in changes)]:
        raw = (fleet / unquote(holder["artifactLocation"]["uri"])).read_bytes()
        regions = [holder["region"]] if "region" in holder else [item["deletedRegion"] for item in holder.get("replacements", [])]
        for region in regions:
            by_bytes = raw[region["byteOffset"] : region["byteOffset"] + region["byteLength"]].decode()
            text = raw.decode()
            mark = text.startswith("\ufeff")
            text = text[1:] if mark else text  # text ranges do not know the mark, §3.30.2
            by_letters = text[region["charOffset"] : region["charOffset"] + region["charLength"]]
            lines = re.split("(?<=\r\n)|(?<=\n)|(?<=\r)(?!\n)", text)
            starts = [0]
            for line in lines:
                starts.append(starts[-1] + len(line))
            first = starts[region["startLine"] - 1] + region["startColumn"] - 1
            last = starts[region["endLine"] - 1] + region["endColumn"] - 1
            assert by_letters == text[first:last], (holder, region)
            assert by_letters == by_bytes.lstrip("\ufeff"), (holder, region)
            checked += 1
    assert checked > 400


def test_sarif_is_the_same_on_any_number_of_cores_and_from_any_folder(fleet):
    def bytes_of(folder, cores):
        pinned = lambda: os.sched_setaffinity(0, cores)
        return run(folder, "check", "--form", "sarif", *DAY, str(fleet / "jobs"), preexec_fn=pinned).stdout

    everywhere = os.sched_getaffinity(0)
    one = bytes_of(fleet, {min(everywhere)})
    assert one == bytes_of(fleet, everywhere) == bytes_of(fleet, everywhere)
    # From another folder only messages that name the path as people see it may differ: places and fingerprints do not.
    other = json.loads(bytes_of(fleet / "jobs" / "workshop", everywhere))
    here = json.loads(one)
    for mine, theirs in zip(here["runs"][0]["results"], other["runs"][0]["results"], strict=True):
        assert mine == theirs


def test_sarif_fixes_mend_what_they_are_for(fleet):
    """Applied by an independent hand, as text and as bytes (§3.55 to §3.57): the same text, and the finding is gone."""
    applied = mended = 0
    for result in sarif_of(fleet)["runs"][0]["results"]:
        for fix in result.get("fixes", []):
            assert fix["description"]["text"].endswith("(look before you apply it)") != fix["properties"]["unseen"]
            before = {}
            for change in fix["artifactChanges"]:
                path = fleet / unquote(change["artifactLocation"]["uri"])
                before[path] = path.read_bytes()
                as_bytes, as_text = before[path], before[path].decode("utf-8-sig")
                for item in sorted(change["replacements"], key=lambda item: -item["deletedRegion"]["byteOffset"]):
                    region, new = item["deletedRegion"], item["insertedContent"]["text"]
                    first = region["byteOffset"]
                    as_bytes = as_bytes[:first] + new.encode() + as_bytes[first + region["byteLength"] :]
                    first = region["charOffset"]
                    as_text = as_text[:first] + new + as_text[first + region["charLength"] :]
                assert as_bytes.decode("utf-8-sig") == as_text
                path.write_bytes(as_bytes)
            applied += 1
            if fix["properties"]["unseen"]:
                place = unquote(result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"])
                after = json.loads(run(fleet, "check", "--form", "json", *DAY, place).stdout)
                left = {item["fingerprint"] for file in after["files"] for item in file["findings"]}
                assert result["partialFingerprints"]["trialfitContent/v1"] not in left, (result, fix)
                mended += 1
            for path, raw in before.items():
                path.write_bytes(raw)
    assert applied > 20 and mended > 5, (applied, mended)


def test_an_independent_reader_of_sarif_counts_the_same(fleet, tmp_path):
    path = tmp_path / "out.sarif"
    path.write_bytes(run(fleet, "check", "--form", "sarif", *DAY).stdout)
    read = loader.load_sarif_file(str(path))
    document = json.loads(path.read_text())
    levels = Counter(result["level"] for result in document["runs"][0]["results"])
    assert Counter(record["Severity"] for record in read.get_records()) == levels
    for record, result in zip(read.get_records(), document["runs"][0]["results"], strict=True):
        place = result["locations"][0]["physicalLocation"]
        assert record["Location"] == place["artifactLocation"]["uri"]
        assert int(record["Line"]) == place.get("region", {}).get("startLine", 1)
        assert record["Code"] == result["ruleId"] and record["Tool"] == "trialfit"


def test_junit_keeps_to_its_schema_and_counts_what_json_counts(fleet, found, tmp_path):
    raw = run(fleet, "check", "--form", "junit", *DAY, "--fail-on", "warning", code=2).stdout
    tree = etree.fromstring(raw)
    schema = etree.XMLSchema(etree.parse(str(SCHEMAS / "junit-10.xsd")))
    assert schema.validate(tree), schema.error_log.last_error
    path = tmp_path / "out.xml"
    path.write_bytes(raw)
    read = JUnitXml.fromfile(str(path))
    suites = {suite.name: suite for suite in read}
    assert set(suites) == {file["path"] for file in found["files"]} | {"jobs/latin.trialfit"}
    total = Counter()
    for file in found["files"]:
        want = {"judged": None}
        for item in file["findings"]:
            counts = item["conceded"] is None and item["severity"] != "advice"
            if want.get(item["rule"]) is not Failure:
                want[item["rule"]] = Failure if counts else Skipped
        want.update({item["rule"]: Error for item in file["not_judged"]})
        got = {case.name: (type(case.result[0]) if case.result else None) for case in suites[file["path"]]}
        assert got == want, file["path"]
        total.update(want.values())
    assert [type(case.result[0]) for case in suites["jobs/latin.trialfit"]] == [Error]
    assert [case.name for case in suites["jobs/clean.trialfit"]] == ["judged"]
    assert (read.tests, read.failures, read.errors) == (sum(total.values()) + 1, total[Failure], total[Error] + 1)
    for suite in read:
        # The written sums are the counted ones.
        counted = Counter(type(case.result[0]) if case.result else None for case in suite)
        assert (suite.tests, suite.failures, suite.errors, suite.skipped) == (
            len(list(suite)), counted[Failure], counted[Error], counted[Skipped]
        )


def test_a_full_disk_leaves_the_record_as_it_was(fleet, tmp_path):
    def full():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (64, 64))

    record = tmp_path / "known.txt"
    jobs = tmp_path / "jobs"
    jobs.mkdir()
    job = jobs / "a.trialfit"
    job.write_text("stock cable\n  sizes         4 mm²\n", encoding="utf-8")
    ran = run(tmp_path, "adopt", "jobs", "--record", str(record), preexec_fn=full)
    assert ran.returncode == 2 and b"it was not written" in ran.stderr, ran.stderr
    assert not record.exists() and sorted(tmp_path.iterdir()) == [jobs]
    run(tmp_path, "adopt", "jobs", "--record", str(record), code=0)
    before = record.read_bytes()
    job.write_text("trialfit 1\n\nstock cable\n  sizes         4 mm²\n", encoding="utf-8")
    ran = run(tmp_path, "check", "jobs", "--known", str(record), "--shrink", preexec_fn=full)
    assert ran.returncode == 2 and b"it stays as it was" in ran.stderr, ran.stderr
    assert record.read_bytes() == before and sorted(tmp_path.iterdir()) == [jobs, record]


@pytest.mark.parametrize("form", ["report", "line", "json", "sarif", "junit", "summary"])
def test_output_that_cannot_be_written_is_said_and_ends_with_2(fleet, form):
    with open("/dev/full", "wb") as full:
        ran = subprocess.run([TRIALFIT, "check", "--form", form], cwd=fleet, stdout=full, stderr=subprocess.PIPE, timeout=120)
    assert ran.returncode == 2
    assert b"the output could not be written" in ran.stderr
