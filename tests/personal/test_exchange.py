"""Words in and out as CSV and JSON: exact round trips, and whatever a hostile file holds."""

from __future__ import annotations

import csv
import io
import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.csvsafe import cell_text, safe_cell
from dictate.personal import PersonalWord, WordsError, make_word, merge_words
from dictate.personal.exchange import MAX_BYTES, words_from_file, words_to_csv, words_to_json
from tests.personal.made import WORDS

TWO = merge_words(
    (),
    [
        make_word("Tin Whistle", said=["the whistle"], heard_as=["thin thistle", "tin vessel"]),
        make_word("aunt's cupboard", "descriptor"),
    ],
)


@pytest.mark.parametrize("write", [words_to_csv, words_to_json])
@given(words=WORDS)
def test_round_trip_is_exact(write: object, words: list[PersonalWord]) -> None:
    merged = merge_words((), words)
    assert words_from_file(write(merged)) == merged  # type: ignore[operator]


@given(st.text())
def test_a_guarded_cell_is_no_formula_and_comes_back(text: str) -> None:
    assert cell_text(safe_cell(text)) == text
    assert not safe_cell(text).startswith(("=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠"))


FORMULAS = [
    "=1+1a",
    "+cmd a",
    "-2+3a",
    "@SUM(a1)",
    "'=a",
    "''+a",
    "＝a1",
    '=HYPERLINK("http://x.invalid","a")',
]


@pytest.mark.parametrize("term", FORMULAS)
def test_a_spreadsheet_sees_no_formula(term: str) -> None:
    words = (make_word(term, "descriptor", said=[f"{term} b"]),)
    data = words_to_csv(words)
    cells = [c for row in csv.reader(io.StringIO(data.decode("utf-8-sig"))) for c in row]
    assert not [c for c in cells if c.startswith(("=", "+", "-", "@", "＝"))]
    assert words_from_file(data) == words


def test_the_csv_is_as_told() -> None:
    assert words_to_csv(TWO).decode("utf-8") == (
        "\ufeffterm,kind,said,heard_as\r\n"
        "aunt's cupboard,descriptor,,\r\n"
        "Tin Whistle,producer,the whistle,thin thistle|tin vessel\r\n"
    )


def test_the_json_is_plain_and_one_word_a_line() -> None:
    data = words_to_json(TWO)
    assert json.loads(data)["words"][1]["heard_as"] == ["thin thistle", "tin vessel"]
    assert sum(b'"term"' in line for line in data.splitlines()) == 2
    assert json.loads(words_to_json(())) == {"format": "dictate-words/1", "words": []}
    assert words_from_file(words_to_json(())) == words_from_file(words_to_csv(())) == ()


@pytest.mark.parametrize(
    "text",
    [
        "term\nTin Whistle\n",
        "TERM;Kind;Said;Heard as\nTin Whistle;;;\n",
        "sep=;\nterm;kind\nTin Whistle;Producer\n",
        "term\tkind\nTin Whistle\tproducer\n",
        "\n\nterm,kind\n\n  Tin   Whistle , producer \n,,\n",
        'term,kind\r\n"Tin Whistle","producer"\r\n',
        "term,kind\rTin Whistle,producer\r",
        '[{"term": "Tin Whistle"}]',
        '{"words": [{"term": "Tin Whistle", "kind": "producer"}]}',
        'term\nTin Whistle\n"TIN Whistle"\nTin Whistle\n',
    ],
)
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "latin-1"])
def test_files_as_people_save_them(text: str, encoding: str) -> None:
    (word,) = words_from_file(text.encode(encoding))
    assert word == PersonalWord("Tin Whistle", word.kind)
    assert word.kind in ("producer", "descriptor")


def test_latin_1_accents() -> None:
    (word,) = words_from_file("term\nChâteau Hérisson\n".encode("latin-1"))
    assert word.term == "Château Hérisson"


HOSTILE: list[tuple[str, bytes, str]] = [
    ("10 MB", b"term\n" + b"a tin whistle\n" * 750_000, "4 MB"),
    ("a million rows", b"term\n" + b"a\n" * 1_000_000, "line 20002: more than 20000 rows"),
    ("a control character", b"term\nTin\nWhis\x07tle\n", "line 3: a control character"),
    ("an escape sequence", b"term\n\x1b[2Jx\n", r"line 2: a control character \(U\+001B\)"),
    ("NUL", b"term\nTin\x00 Whistle\n", r"line 2: .*U\+0000"),
    ("bidi", "term\nTin\nabc\u202edef\n".encode(), r"line 3: .*U\+202E"),
    ("bidi in a form", 'term,said\n"Tin","a|b\u2067"\n'.encode(), r"line 2: .*U\+2067"),
    ("half an encoding", b"\xff\xfet\x00e\x00r\x00m", "not whole utf-16"),
    ("broken UTF-8 behind a mark", b"\xef\xbb\xbfterm\n\xff\n", "not whole utf-8"),
    ("random bytes", bytes(range(256)) * 10, "line"),
    ("a spreadsheet's own file", b"PK\x03\x04" + b"\x00" * 100, "save it as CSV"),
    ("nothing", b"", "empty"),
    ("blank lines", b"\n\n \n", "empty"),
    ("no header", b"Tin Whistle,producer\n", "line 1: no column “term”"),
    ("an unknown column", b"term,price\nTin,3\n", "line 1: the column “price” is none of"),
    ("a column twice", b"term,term\nTin,Tin\n", "line 1: the column “term” stands twice"),
    ("an open quote", b'term,kind\n"Tin,producer\nWhistle,producer\n', "line 2: .*quote"),
    ("a wide row", b"term,kind\nTin,producer,more\n", "line 2: 3 cells, but the header has 2"),
    ("a row of a million cells", b"term\n" + b"," * 1_000_000 + b"x\n", "line 2: "),
    ("a cell of a megabyte", b"term\n" + b"x" * 1_000_000 + b"\n", "line 2: "),
    ("a term too long", b"term\nTin\n" + b"x" * 81 + b"\n", "line 3: .*longer than 80"),
    ("an unknown kind", b"term,kind\nTin,tree\n", "line 2: kind must be one of"),
    ("a term of figures", b"term\n2018\n", "line 2: .*no letter"),
    ("no term", b"term,kind\n,producer\n", "line 2: .*no letter"),
    (
        "thousands of forms",
        b"term,said\nTin," + b"|".join(b"f" + b"a" * n for n in range(60)) + b"\n",
        "forms",
    ),
    ("deep JSON", b"[" * 1_000_000, "deep"),
    ("deep JSON inside", b'{"words": ' + b'{"a":' * 500_000, "deep"),
    ("half a JSON", b'{"format": "dictate-words/1",\n "words": [\n{"term": "Tin"},', "line 3"),
    ("JSON and more", b'[]\n{"a": 1}', "line 2: Extra data"),
    ("JSON of another format", b'{"format": "x/9", "words": []}', "the format is not"),
    ("JSON without words", b'{"terms": []}', "no list “words”"),
    ("JSON words that are no list", b'{"words": {"term": "Tin"}}', "no list “words”"),
    ("JSON with a name twice", b'{"words": [],\n"words": []}', "line 2"),
    ("JSON with a word of no shape", b'[{"term": "Tin"},\n7]', "line 2: a word needs"),
    ("JSON with a term of no text", b'[\n{"term": 7}]', "line 2: a word needs"),
    ("JSON with forms of no text", b'[{"term": "Tin", "said": [1]}]', "line 1: .*lists of texts"),
    ("JSON with forms of no list", b'[{"term": "Tin", "said": "x"}]', "line 1: .*lists of texts"),
    ("JSON with another key", b'[{"term": "Tin", "sayd": []}]', "line 1: “sayd” is none of"),
    ("JSON with half a pair", b'[{"term": "Tin \\ud800"}]', r"line 1: .*U\+D800"),
    ("JSON with an escaped bell", b'[\n\n{"term": "Tin \\u0007"}]', r"line 3: .*U\+0007"),
    ("a number without end", b"[" + b"9" * 100_000 + b"]", "digits"),
]


@pytest.mark.parametrize(("data", "why"), [h[1:] for h in HOSTILE], ids=[h[0] for h in HOSTILE])
def test_hostile_files_are_refused_in_one_line(data: bytes, why: str) -> None:
    with pytest.raises(WordsError, match=why) as refused:
        words_from_file(data)
    assert "\n" not in str(refused.value)
    assert len(str(refused.value)) < 250
    assert str(refused.value).isprintable()


def words_or_line(data: bytes) -> tuple[PersonalWord, ...] | str:
    try:
        return words_from_file(data)
    except WordsError as error:
        return str(error)


GOOD, BAD = b"term,kind\nTin Whistle,producer\n", st.binary(max_size=80)


@given(st.binary(max_size=200) | st.tuples(st.just(GOOD), BAD).map(b"".join) | st.text().map(str.encode))
def test_any_bytes_give_words_or_one_line(data: bytes) -> None:
    words = words_or_line(data)
    assert isinstance(words, str) or words_from_file(words_to_json(words)) == words


PIECES = st.sampled_from(
    [*'{}[]:,"\\\n', '"term"', '"words"', '"kind"', '"Tin"', "1e999", "null", "NaN", " "]
)


@given(st.lists(PIECES, max_size=30).map("".join), st.sampled_from(["{", "[", '{"words":[', '[{"term":']))
def test_any_json_like_text_gives_words_or_one_line(text: str, start: str) -> None:
    words = words_or_line((start + text).encode())
    assert not isinstance(words, str) or "\n" not in words


def test_what_is_written_is_never_too_big_to_read() -> None:
    forms = [f"{'x' * 75} {a}{b}" for a in "abcd" for b in "abcde"]
    words = [
        make_word(f"{'y' * 70}{a}{b}{c}", "descriptor", said=forms, heard_as=[f + "z" for f in forms])
        for a in "abcdefghij" for b in "abcdefghij" for c in "abcdefghijkl"
    ]  # fmt: skip
    assert len(words_to_json(words[:1000])) < MAX_BYTES
    with pytest.raises(WordsError, match="remove some"):
        words_to_json(words)
