"""The rules of the house (DEVELOPERS.md), checked on the source: sizes, directions, purity, docstrings."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
HOUSE = ROOT / "dictate"
ROOMS = (
    "repair", "cues", "segment", "extract", "assemble", "compare", "publish", "plan", "find", "form",
    "doubt", "learn", "language", "phonetics",
)  # fmt: skip
SHARED = ("language", "phonetics")  # pure, but no step of the way
MAX_FILE, MAX_FUNCTION, MAX_POSITIONAL = 400, 60, 2
EDGES = set(
    """audio recognise lexicon listen board localweb library review personal commands pictures redo
    batch""".split()
)

# what a room may import of the house, beside itself: values and language, and types of the lexicon
ANY_ROOM = {"dictate.values": None, "dictate.language": None, "dictate.lexicon.entries": None}
LEXICON_TYPES = {"Entry", "Lexicon"}  # of `dictate.lexicon`
ALSO = {
    "assemble": {"dictate.note", "dictate"},  # it gives notes
    "compare": {"dictate.note", "dictate.export", "dictate.csvsafe"},  # it takes notes, and shows them
    "repair": {"dictate.phonetics"},
    "form": {"dictate.note"},  # it writes notes as text and reads them
    "publish": {"dictate.note", "dictate.export", "dictate.csvtext"},  # it begins with notes
    "plan": {"dictate.csvtext"},
    "doubt": {"dictate.note", "dictate.sense"},  # it judges notes
    # it reads corrections in notes, hears how alike words are, and gives what is the taster's own
    "learn": {"dictate.note", "dictate.phonetics", "dictate.personal.words", "dictate.personal.habits"},
}
# what an edge may take from a room: the recogniser hears doubtful words again where the repair room says so
FROM_ROOMS = {
    "recognise": {
        ("dictate.repair", "Decided"),
        ("dictate.repair", "SecondHearing"),
        # ... and a cue where the cues room finds the evidence good enough
        ("dictate.cues", "AT_LEAST"),
        ("dictate.cues", "CERTAIN"),
        ("dictate.cues", "CUE_PHRASES"),
        ("dictate.cues", "Earlier"),
        ("dictate.cues", "Evidence"),
        ("dictate.cues", "Frames"),
        ("dictate.cues", "PERHAPS"),
        ("dictate.cues", "candidates"),
        ("dictate.cues", "chance"),
        ("dictate.cues", "clock_after"),
        ("dictate.cues", "likeliest"),
        ("dictate.cues", "plain"),
        ("dictate.cues", "without_fillers"),
    },
    # the library makes SQL of the tree of a query, and keeps what a hand put right, or a list gave
    "library": {
        ("dictate.form", "keep_corrections"),
        ("dictate.assemble", "keep_listed"),
        ("dictate.find", "NUMBERS"),
        ("dictate.find", "TEXTS"),
        ("dictate.find", "All"),
        ("dictate.find", "Any"),
        ("dictate.find", "Mentions"),
        ("dictate.find", "Not"),
        ("dictate.find", "Query"),
        ("dictate.find", "Range"),
        ("dictate.find.fields", "ANYWHERE"),
    },
    # what reads slices of a recording stands for its samples
    "listen": {("dictate.cues", "Samples")},
    # what draws a comparison takes what is to be seen
    "pictures": {("dictate.compare.sheet", name) for name in ("Column", "Mark", "Row", "Sheet")},
}
EDGE_MODULES = set(
    """os sys io pathlib time logging random secrets socket subprocess shutil tempfile urllib http requests
    threading asyncio sqlite3 av soundfile sounddevice faster_whisper ctranslate2 onnxruntime rich""".split()
)
EDGE_CALLS = {"open", "print", "input", "exec", "eval", "breakpoint", "__import__"}
EDGE_METHODS = {
    "read_text",
    "write_text",
    "read_bytes",
    "write_bytes",
    "now",
    "utcnow",
    "today",
    "unlink",
    "mkdir",
}


def files(*folders: str) -> list[Path]:
    chosen = [HOUSE / folder for folder in folders] if folders else [HOUSE]
    return sorted(p for folder in chosen for p in folder.rglob("*.py"))


def named(path: Path) -> str:
    return str(path.relative_to(ROOT))


FUNCTION = (ast.FunctionDef, ast.AsyncFunctionDef)
Function = ast.FunctionDef | ast.AsyncFunctionDef


def read(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def functions(text: str) -> Iterator[Function]:
    return (node for node in ast.walk(ast.parse(text)) if isinstance(node, FUNCTION))


def imports(text: str, package: str) -> Iterator[tuple[str, set[str], int]]:
    """Module, names taken from it (empty: the module itself), line. Relative imports are made whole."""
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield alias.name, set(), node.lineno
        elif isinstance(node, ast.ImportFrom):
            above = package.split(".")[: len(package.split(".")) - node.level + 1] if node.level else []
            yield (
                ".".join([*above, *([node.module] if node.module else [])]),
                {a.name for a in node.names},
                node.lineno,
            )


def too_big(text: str) -> list[str]:
    found = [f.name for f in functions(text) if (f.end_lineno or 0) - f.lineno + 1 > MAX_FUNCTION]
    return found + (["the file"] if len(text.splitlines()) > MAX_FILE else [])


def silent(text: str) -> list[str]:
    """Public functions, and public methods of public classes, without a docstring."""
    tree = ast.parse(text)
    found = [] if ast.get_docstring(tree) else ["the file"]
    for node in tree.body:
        inner = node.body if isinstance(node, ast.ClassDef) and not node.name.startswith("_") else [node]
        found += [
            n.name
            for n in inner
            if isinstance(n, FUNCTION) and not n.name.startswith("_") and not ast.get_docstring(n)
        ]
    return found


def crowded(text: str) -> list[str]:
    """Public functions with more than two arguments by position; private ones are called in sight."""
    found = []
    for function in functions(text):
        names = [a.arg for a in (*function.args.posonlyargs, *function.args.args)]
        by_position = [n for n in names if n not in ("self", "cls")]
        if len(by_position) > MAX_POSITIONAL and not function.name.startswith("_"):
            found.append(function.name)
    return found


def strange_imports(text: str, room: str) -> list[str]:
    own, found = f"dictate.{room}", []
    for module, names, line in imports(text, own):
        if module.partition(".")[0] != "dictate" or module == own or module.startswith(own + "."):
            continue
        allowed = any(module == m or module.startswith(m + ".") for m in ANY_ROOM)
        if module == "dictate.lexicon":
            allowed = names <= LEXICON_TYPES
        allowed = allowed or any(
            module == m or (m != "dictate" and module.startswith(m + ".")) for m in ALSO.get(room, ())
        )
        if not allowed:
            found.append(f"line {line}: {module} {sorted(names)}")
    return found


def reaches_out(text: str) -> list[str]:
    """Files, devices, network, clock and chance, by import or by call."""
    found = [
        f"line {line}: {m}" for m, _, line in imports(text, "dictate") if m.partition(".")[0] in EDGE_MODULES
    ]
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.Call):
            called = node.func
            if isinstance(called, ast.Name) and called.id in EDGE_CALLS:
                found.append(f"line {node.lineno}: {called.id}()")
            if isinstance(called, ast.Attribute) and called.attr in EDGE_METHODS:
                found.append(f"line {node.lineno}: .{called.attr}()")
    return found


def test_the_rooms_are_all_here_and_each_has_a_door() -> None:
    folders = {p.name for p in HOUSE.iterdir() if (p / "__init__.py").exists()}
    assert set(ROOMS) <= folders
    assert folders - set(ROOMS) <= EDGES


@pytest.mark.parametrize("path", files(), ids=named)
def test_sizes(path: Path) -> None:
    assert too_big(read(path)) == []


@pytest.mark.parametrize("path", files(), ids=named)
def test_public_functions_say_what_they_do(path: Path) -> None:
    assert silent(read(path)) == []


@pytest.mark.parametrize("path", files(), ids=named)
def test_arguments_behind_the_second_are_named(path: Path) -> None:
    assert crowded(read(path)) == []


@pytest.mark.parametrize("path", files(*ROOMS), ids=named)
def test_a_room_imports_values_language_and_lexicon_types_only(path: Path) -> None:
    assert strange_imports(read(path), path.relative_to(HOUSE).parts[0]) == []


@pytest.mark.parametrize("path", files(*ROOMS), ids=named)
def test_a_room_touches_no_file_device_network_or_clock(path: Path) -> None:
    assert reaches_out(read(path)) == []


@pytest.mark.parametrize(
    "name",
    [
        "lexicon/entries.py", "values.py", "note.py", "export.py", "csvsafe.py", "pipeline.py",
        "library/revisions.py", "redo/older.py", "redo/parts.py", "redo/heard.py", "redo/lines.py",
    ],
)  # fmt: skip
def test_these_hold_no_edge_module_either(name: str) -> None:
    # the pipeline hands paths on to the edges
    allowed = {"pathlib"} if name == "pipeline.py" else set()
    found = {m.partition(".")[0] for m, _, _ in imports(read(HOUSE / name), "dictate")}
    assert found & EDGE_MODULES <= allowed


def rooms_reached(text: str, edge: str) -> list[str]:
    """What a file of an edge takes from rooms and may not."""
    rooms = tuple(f"dictate.{room}" for room in ROOMS if room not in SHARED)
    allowed = FROM_ROOMS.get(edge, set())
    return [
        f"line {line}: {module} {sorted(names)}"
        for module, names, line in imports(text, "dictate." + edge)
        if module.startswith(rooms) and not (names and {(module, name) for name in names} <= allowed)
    ]


OWN_EDGES = (
    "audio", "recognise", "lexicon", "personal", "listen", "board", "localweb", "library", "pictures",
)  # fmt: skip


@pytest.mark.parametrize("path", files(*OWN_EDGES), ids=named)
def test_edges_do_not_reach_into_rooms(path: Path) -> None:
    """Only the pipeline knows the rooms; but see FROM_ROOMS."""
    assert rooms_reached(read(path), path.relative_to(HOUSE).parts[0]) == []


PLANTED = (
    '''"""A file that breaks each rule."""

import time
from dictate.segment import segment_words
from ..audio import load_recording
from dictate.lexicon import Lexicon, load_lexicon
from dictate.repair import SecondHearing


def crowd(a, b, c):
    """Says so."""
    with open(a) as file:
        return file.read_text()


def long():
'''
    + "    pass\n" * MAX_FUNCTION
)


def test_the_checks_above_find_what_they_forbid() -> None:
    assert too_big(PLANTED) == ["long"]
    assert too_big("x = 1\n" * (MAX_FILE + 1)) == ["the file"]
    assert silent(PLANTED) == ["long"]
    assert crowded(PLANTED) == ["crowd"]
    assert [line.split(":")[0] for line in strange_imports(PLANTED, "cues")] == [
        "line 4",
        "line 5",
        "line 6",
        "line 7",
    ]
    assert [line.split(":")[0] for line in rooms_reached(PLANTED, "audio")] == ["line 4", "line 7"]
    assert [line.split(":")[0] for line in rooms_reached(PLANTED, "recognise")] == ["line 4"]
    assert strange_imports("from dictate.phonetics.terms import TermSounds\n", "repair") == []
    assert strange_imports("from dictate.phonetics.terms import TermSounds\n", "cues") != []
    assert [line.split(": ")[1] for line in reaches_out(PLANTED)] == ["time", "open()", ".read_text()"]
