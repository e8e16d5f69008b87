"""The tree-sitter grammar: the committed C is the grammar's, compiles, and reads as its corpus says."""

import ctypes
import hashlib
import json
import re
import subprocess

import pytest
from tree_sitter import Language, Parser, Query, QueryCursor

from conftest import PROJECT

GRAMMAR = PROJECT / "editors" / "tree-sitter"
EXAMPLES = sorted((PROJECT / "examples").rglob("*.trialfit"))


@pytest.fixture(scope="module")
def language(parser):
    """The compiled grammar, through the Python binding (py-tree-sitter)."""
    library = ctypes.CDLL(str(parser))
    library.tree_sitter_trialfit.restype = ctypes.c_void_p
    capsule = ctypes.pythonapi.PyCapsule_New
    capsule.restype = ctypes.py_object
    capsule.argtypes = (ctypes.c_void_p, ctypes.c_char_p, ctypes.c_void_p)
    return Language(capsule(library.tree_sitter_trialfit(), b"tree_sitter.Language", None))


# Slips behind which the reader guesses where a block begins or ends.
GUESSED = {"header-misspelt", "header-unknown", "header-indented", "no-header", "not-indented", "stray-line"}


def rules_found(program, path):
    done = subprocess.run([program, "check", str(path), "--form", "json"], capture_output=True, text=True, encoding="utf-8")
    return {finding["rule"] for file in json.loads(done.stdout)["files"] for finding in file["findings"]}


def test_most_examples_are_written_without_such_slips(program):
    assert sum(bool(GUESSED & rules_found(program, path)) for path in EXAMPLES) < len(EXAMPLES) / 4


def read(language, text):
    return Parser(language).parse(text.encode())


def captured(language, name, tree):
    query = Query(language, (GRAMMAR / "queries" / name).read_text(encoding="utf-8"))
    return QueryCursor(query).captures(tree.root_node)


def test_the_committed_parser_was_made_from_the_grammar():
    made_from = hashlib.sha256((GRAMMAR / "grammar.js").read_bytes() + (GRAMMAR / "words.js").read_bytes())
    note = (GRAMMAR / "src/made-from").read_text().strip()
    assert note == made_from.hexdigest(), "not current, run editors/tree-sitter/generate"


def test_the_language_has_the_newest_form_that_editors_read(language):
    assert language.abi_version == 15


CASES = re.findall(
    r"^=+\n([^\n]+)\n=+\n(.*?)\n---\n\n(.*?)(?=\n\n=+\n|\Z)",
    (GRAMMAR / "test/corpus/files.txt").read_text(encoding="utf-8"),
    re.DOTALL | re.MULTILINE,
)


def test_the_corpus_is_read_whole():
    assert len(CASES) == (GRAMMAR / "test/corpus/files.txt").read_text(encoding="utf-8").count("\n---\n") > 5


@pytest.mark.parametrize("text,expected", [case[1:] for case in CASES], ids=[case[0] for case in CASES])
@pytest.mark.parametrize("ending", ["\n", "\r\n"], ids=["lf", "crlf"])
def test_the_corpus_reads_as_it_says(language, text, expected, ending):
    root = read(language, text.replace("\n", ending)).root_node
    shape = re.sub(r"\b\w+: ", "", str(root))
    assert shape == re.sub(r"\s+", " ", expected).strip()


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_reads_without_a_fault_and_folds_as_the_server_folds(language, program, server, path):
    text = path.read_text(encoding="utf-8")
    tree = read(language, text)
    assert not tree.root_node.has_error
    # Where a block's bounds are guessed past a slip of the pen, shape alone does not tell them.
    if GUESSED & rules_found(program, path):
        return
    document = {"uri": f"file:///{path.name}", "languageId": "trialfit", "version": 1, "text": text}
    server.tell("textDocument/didOpen", {"textDocument": document})
    folds = server.ask("textDocument/foldingRange", {"textDocument": {"uri": document["uri"]}})
    expected = sorted((fold["startLine"], fold["endLine"]) for fold in folds if fold.get("kind") != "comment")
    nodes = captured(language, "folds.scm", tree).get("fold", [])
    found = sorted((node.start_point.row, node.end_point.row) for node in nodes)
    assert [fold for fold in found if fold[0] < fold[1]] == expected


def test_words_of_the_language_are_coloured_and_others_are_not(language):
    text = 'cable supply of reader\n  size  4 mm²  # why\n  frobnicate  12\n  passage  floor, hole 30 mm\n  note "a"\n'
    tree = read(language, text)
    colours = {
        text.encode()[node.start_byte : node.end_byte].decode(): name
        for name, nodes in captured(language, "highlights.scm", tree).items()
        for node in nodes
    }
    assert colours == {
        "cable": "keyword", "supply": "type", "of": "keyword.operator", "reader": "type", "size": "property",
        "4": "number", "mm²": "type.builtin", "# why": "comment", "12": "number", "passage": "property",
        "floor": "constant", ",": "punctuation.delimiter", "hole": "constant", "30": "number", "mm": "type.builtin",
        "note": "property", '"a"': "string",
    }  # fmt: skip
