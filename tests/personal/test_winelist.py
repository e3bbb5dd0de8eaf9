"""Wine lists as people keep them, and lists that cannot be read."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.personal import parse_wine_list
from dictate.personal.sheet import SheetError
from dictate.personal.winelist import WineList
from dictate.values import ListedWine

FULL = ListedWine(3, "B7", "Heron's Rake", "Three Herons", "Chinon", ("Cabernet Franc",), 2018)


def one(text: str) -> ListedWine:
    (wine,) = parse_wine_list(text.encode()).wines
    return wine


@pytest.mark.parametrize(
    "header",
    [
        "position,code,producer,name,origin,grapes,vintage",
        "No.,Glass,Estate,Cuvée,Region,Grape,Year",
        "#,SAMPLE,Grower,Label,Appellation,Varieties,Millésime",
        " Pos. , Sample no. ,Winery, Wine ,Place,Cépage, VINTAGE ",
        "Wine,Code,House,Cuvee,Région,grape variety,Jahrgang",
        "Order,Bag,Château,Bottling,A.O.C.,Cépages,Année",
        "N°,Glass code,Weingut,Wine name,Sub-region,Rebsorte,Annata",
        "Wine #,Verre,Domaine,Wein,Country,Uva,Añada",
    ],
)
def test_headers_are_forgiving(header: str) -> None:
    assert one(f"{header}\n3,B7,Heron's Rake,Three Herons,Chinon,Cabernet Franc,2018\n") == FULL


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252"]
)
@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_however_it_was_saved(encoding: str, delimiter: str, line_end: str) -> None:
    rows = [["Pos", "Domaine", "Cuvée"], ["1", "Château Hérisson", "L'Été"], ["2", "Grüner Hof", ""]]
    data = line_end.join(delimiter.join(row) for row in rows).encode(encoding)
    assert parse_wine_list(data).wines == (
        ListedWine(1, producer="Château Hérisson", name="L'Été"), ListedWine(2, producer="Grüner Hof"),
    )  # fmt: skip


@pytest.mark.parametrize("first", ["sep=;", '"sep=;"', "sep=;;;"])
def test_the_line_that_tells_excel_the_delimiter(first: str) -> None:
    assert one(f"{first}\npos;producer\n1;Rake, Hook and Line\n").producer == "Rake, Hook and Line"


@pytest.mark.parametrize(
    "above", ["Tuesday's flight\n", "Flight of wines;;\n;;\n25 November;;\n\n", '"A; B";;\n']
)
def test_a_title_may_stand_above_the_header(above: str) -> None:
    assert one(f"{above}No;Estate;Year\n1;Tin Whistle;2018\n") == ListedWine(
        1, producer="Tin Whistle", vintage=2018
    )


def test_a_row_with_a_known_word_in_it_is_no_header() -> None:
    assert one("estate,note\nWine House,wine\n").producer == "Wine House"
    with pytest.raises(SheetError, match="line 8: position"):
        one("a\n\nb\nc\nd\npos,wine\n\nx,y\n")


def test_quotes_blank_lines_missing_columns_and_short_rows() -> None:
    text = '\nproducer,vintage,grapes\n\n"Rake, Hook ""and""\nLine",2019\n,,\nTin Whistle\n'
    assert parse_wine_list(text.encode()).wines == (
        ListedWine(producer='Rake, Hook "and" Line', vintage=2019), ListedWine(producer="Tin Whistle"),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("cell", "vintage"),
    [
        ("2018", 2018), ("2018.0", 2018), (" 2018 ", 2018), ("2018 (magnum)", 2018), ("c. 1985", 1985),
        ("vendange 2018", 2018), ("2018/19", 2018), ("２０１８", 2018),
        ("NV", "NV"), ("n.v.", "NV"), ("N V", "NV"), ("non-vintage", "NV"), ("Non Vintage", "NV"),
        ("MV", "NV"),
        ("multi-vintage", "NV"), ("sans millésime", "NV"), ("s.a.", "NV"), ("no vintage", "NV"),
        ("", None), ("-", None), ("?", None), ("n/a", None), ("unknown", None),
    ],
)  # fmt: skip
def test_vintages(cell: str, vintage: Any) -> None:
    assert one(f"producer;vintage\nTin Whistle;{cell}\n").vintage == vintage


@pytest.mark.parametrize("cell", ["18", "soon", "1066", "20188", "2018 2019", "12/2018/2019", "nvx", "3018"])
def test_what_is_no_vintage_is_refused(cell: str) -> None:
    with pytest.raises(SheetError, match="line 2: vintage"):
        one(f"producer;vintage\nTin Whistle;{cell}\n")


@pytest.mark.parametrize(
    ("cell", "position"),
    [
        ("3", 3),
        ("03", 3),
        ("3.", 3),
        ("#3", 3),
        ("No. 3", 3),
        ("n° 3", 3),
        ("3.0", 3),
        ("wine 3", 3),
        ("", None),
        ("999", 999),
    ],
)
def test_positions(cell: str, position: Any) -> None:
    assert one(f"position;producer\n{cell};Tin Whistle\n").position == position


@pytest.mark.parametrize("cell", ["A3", "0", "1000", "-3.5", "three", "3-4", "1e3"])
def test_what_is_no_position_is_refused(cell: str) -> None:
    with pytest.raises(SheetError, match="line 2: position"):
        one(f"position;producer\n{cell};Tin Whistle\n")


@pytest.mark.parametrize(
    ("cell", "grapes"),
    [
        ("Merlot", ("Merlot",)),
        ("Merlot, Cabernet Franc", ("Merlot", "Cabernet Franc")),
        ("Merlot/Malbec", ("Merlot", "Malbec")),
        ("Merlot & Malbec", ("Merlot", "Malbec")),
        ("Merlot and Malbec", ("Merlot", "Malbec")),
        ("Merlot AND Malbec + Syrah", ("Merlot", "Malbec", "Syrah")),
        ("60% Merlot, 40 % Malbec", ("Merlot", "Malbec")),
        ("Merlot (60%), Malbec (40%)", ("Merlot", "Malbec")),
        ("Merlot, merlot", ("Merlot",)),
        ("Grand Noir", ("Grand Noir",)),  # no "and"
        ("Mandilaria", ("Mandilaria",)),
        ("", ()),
        ("-", ()),
        (", /", ()),
    ],
)
def test_grapes(cell: str, grapes: tuple[str, ...]) -> None:
    assert one(f"producer\tgrapes\nTin Whistle\t{cell}\n").grapes == grapes


def test_the_narrower_place_counts_and_the_wider_where_it_is_empty() -> None:
    text = "name,country,appellation\nA b,France,Chinon\nC d,France,\n"
    assert [w.origin for w in parse_wine_list(text.encode()).wines] == ["Chinon", "France"]


def test_a_column_wine_is_a_position_only_where_it_counts() -> None:
    assert one("wine,producer\n4,Tin Whistle\n").position == 4
    assert one("wine,producer\nThree Herons,Tin Whistle\n").name == "Three Herons"
    assert one("wine,position\n4,2\n") == ListedWine(2, name="4")


def test_unknown_columns_are_told_in_one_line() -> None:
    made = parse_wine_list(b"pos,Price,producer,Importer\n1,12,Tin Whistle,x\n")
    assert made == WineList(
        (ListedWine(1, producer="Tin Whistle"),), ("columns not used: “Price”, “Importer”",)
    )
    assert parse_wine_list(b"pos,producer,\n1,Tin Whistle,\n").remarks == ()


def test_a_position_that_stands_twice_is_told() -> None:
    made = parse_wine_list(b"pos,producer\n1,Tin Whistle\n2,Heron\n1,Rake\n")
    assert made.remarks == ("position 1 stands on lines 2, 4",)
    assert len(made.wines) == 3


def test_marks_that_show_nothing_are_dropped() -> None:
    wine = one("\ufeffpos,producer\n1,\u202eTin\u200b Whis\u00adtle\u2069\n")
    assert wine == ListedWine(1, producer="Tin Whistle")


def test_a_guard_against_formulas_is_undone() -> None:
    assert one("pos,producer\n1,'=Tin Whistle\n").producer == "=Tin Whistle"
    assert one("pos,producer\n1,'t Haantje\n").producer == "'t Haantje"


def test_a_header_alone_is_an_empty_list() -> None:
    assert parse_wine_list(b"pos,producer\n\n , \n") == WineList(())


def test_five_thousand_rows() -> None:
    rows = "".join(f"{n % 999 + 1},S{n},Producer {n},2018\n" for n in range(5000))
    wines = parse_wine_list(f"pos,code,producer,vintage\n{rows}".encode()).wines
    assert len(wines) == 5000
    assert wines[-1] == ListedWine(5, "S4999", "Producer 4999", vintage=2018)


REFUSED: list[tuple[str, bytes, str]] = [
    ("nothing", b"", "empty"),
    ("no header", b"1,Tin Whistle,2018\n", "line 1: no column is known; name the columns position"),
    ("prose", b"Dear all,\nthe tasting is at nine.\n", "line 1: no column is known"),
    ("a spreadsheet's own file", b"PK\x03\x04" + bytes(200), "save it as CSV"),
    ("too big", b"pos,name\n" + b"1,Tin Whistle\n" * 200_000, "2 MB"),
    ("too many rows", b"pos,name\n" + b"1,x\n" * 20_001, "line 20002: more than 20000 rows"),
    ("an unquoted comma", b"pos,producer\n1,Rake, Hook\n", "line 2: 3 cells, but the header has 2"),
    ("an open quote", b'pos,producer\n1,Tin\n2,"Whistle\n3,Rake\n', "line 3: .*quote"),
    ("a control character", b"pos,producer\n1,Tin\x08\n", "line 2: a control character"),
    ("NUL", b"pos,producer\n1,Tin\x00\n", r"line 2: .*U\+0000"),
    ("a long cell", b"pos,producer\n1," + b"x" * 201 + b"\n", "line 2: producer .* longer than 200"),
    ("a line behind a cell of two lines", b'pos,producer\n1,"Tin\nWhistle"\nx,Rake\n', "line 4: position"),
    ("a line behind blank ones and sep", b"\nsep=;\n\npos;producer\n\nx;Rake\n", "line 6: position"),
    ("sep with a letter", b"sep=a\nposaproducer\n", "cannot part cells"),
    (
        "many grapes",
        b"grapes\n" + b'"' + b",".join(b"g%d" % n for n in range(30)) + b'"\n',
        "line 2: more than 20",
    ),
    ("broken UTF-8 behind a mark", b"\xef\xbb\xbfpos\n\xff\n", "not whole utf-8"),
]


@pytest.mark.parametrize(("data", "why"), [r[1:] for r in REFUSED], ids=[r[0] for r in REFUSED])
def test_what_cannot_be_read_is_one_line(data: bytes, why: str) -> None:
    with pytest.raises(SheetError, match=why) as refused:
        parse_wine_list(data)
    assert "\n" not in str(refused.value)
    assert len(str(refused.value)) < 250


CELLS = st.sampled_from(
    ["pos", "wine", "producer", "vintage", "grapes", "1", "2018", "NV", "a, b", '"', "", "é", "\u202e"]
)
SHEETS = st.lists(st.lists(CELLS, max_size=4).map(",".join), max_size=6).map("\n".join)


@given(st.binary(max_size=200) | SHEETS.map(str.encode) | SHEETS.map(lambda s: s.encode("utf-16")))
def test_any_bytes_give_wines_or_one_line(data: bytes) -> None:
    made: Any
    try:
        made = parse_wine_list(data)
    except SheetError as error:
        made = str(error)
    if isinstance(made, str):
        assert "\n" not in made
    else:
        assert ListedWine() not in made.wines
        for wine in made.wines:
            assert wine.position is None or 1 <= wine.position <= 999
