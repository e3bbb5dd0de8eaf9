"""The plan of a tasting, against the published rules and figures; the source stands beside each check."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import settings as with_settings
from hypothesis import strategies as st

from dictate import cli
from dictate.lexicon import load_lexicon, load_table
from dictate.personal import parse_wine_list
from dictate.personal.store import read_wine_list
from dictate.plan import Plan, Wishes, as_list, in_order, make_plan, plan_lines, plan_table, planned_wines
from dictate.plan.day import bottles, grams
from dictate.plan.kinds import kind_of
from dictate.values import ListedWine

TABLE = plan_table(load_table("plan"))
LEXICON = load_lexicon()
TEXTS = st.text(st.characters(codec="utf-8", categories=["L", "N", "P", "Zs", "S"]), max_size=12)
WINES = st.lists(
    st.builds(
        ListedWine,
        position=st.none() | st.integers(1, 60),
        producer=TEXTS,
        name=TEXTS | st.sampled_from(["Fino", "Rosado", "Vin jaune", "=1+1"]),
        origin=TEXTS | st.sampled_from(["Chablis", "Champagne", "Chinon", "Barolo"]),
        grapes=st.lists(st.sampled_from(["Riesling", "Syrah", "Furmint"]), max_size=2, unique=True).map(
            tuple
        ),
        vintage=st.none() | st.just("NV") | st.integers(1900, 2030),
        colour=st.sampled_from(["", "white", "red", "rosé", "orange", "?"]),
        style=st.sampled_from(["", "still", "sparkling", "sweet", "ice", "port", "flor", "mistelle"]),
        alcohol=st.none() | st.floats(5, 22).map(lambda v: round(v, 1)),
        sugar=st.none() | st.floats(0, 300).map(lambda v: round(v, 1)),
        oak=st.none() | st.booleans(),
    ),
    max_size=60,
)


def plan(wines: list[ListedWine], **wishes: object) -> Plan:
    return make_plan(wines, TABLE, lexicon=LEXICON, wishes=Wishes(**wishes))  # type: ignore[arg-type]


def dry(count: int) -> list[ListedWine]:
    return [ListedWine(producer=f"P{n}", colour="white", style="still") for n in range(count)]


def sweet(count: int) -> list[ListedWine]:
    return [ListedWine(producer=f"S{n}", style="sweet") for n in range(count)]


def sizes(made: Plan) -> list[list[int]]:
    """Wines a session, day by day."""
    days: list[list[int]] = [[] for _ in range(made.days)]
    for session in made.sessions:
        days[session.day - 1].append(len(session.wines))
    return days


@given(WINES)
@with_settings(max_examples=150)
def test_nothing_is_lost_nothing_twice_and_the_order_stands(wines: list[ListedWine]) -> None:
    made = plan(wines)
    assert sorted(one.listed for one in made.wines) == list(range(1, len(wines) + 1))
    assert Counter(one.wine for one in made.wines) == Counter(wines)
    places = [one.kind.wine_class.place for one in made.wines]
    assert places == sorted(places)
    again = in_order([one.wine for one in made.wines], TABLE, lexicon=LEXICON)  # in order already: as it is
    assert [one.listed for one in again] == list(range(1, len(wines) + 1))


@given(WINES)
@with_settings(max_examples=100)
def test_no_session_and_no_day_is_over_the_limits(wines: list[ListedWine]) -> None:
    """OIV/CONCOURS 332A/2009, Art. 10: at most 45 a day, sessions of 15 dry wines, of 10 others."""
    made = plan(wines)
    for session in made.sessions:
        others = sum(not one.kind.wine_class.is_dry for one in session.wines)
        assert others <= 10
        assert len(session.wines) <= (10 if others == len(session.wines) else 15)
        assert session.number <= 3
    assert all(sum(day) <= 45 for day in sizes(made))


def test_the_published_order_of_classes() -> None:
    """OIV/CONCOURS 332A/2009, 1.1 and Art. 6 (replaced by OIV-OENO 671A-2025); orange is ours, no source."""
    published = [
        "sparkling white", "still white", "sparkling rosé", "still rosé", "sparkling red", "still red",
        "under film", "naturally sweet", "ice wine", "liqueur wine", "mistelle",
    ]  # fmt: skip
    names = [c.name for c in TABLE.classes]
    assert [name for name in names if name in published] == published
    assert set(names) - set(published) == {"orange", "unknown"}
    assert len(set(names)) == len(names)


def test_the_published_temperatures() -> None:
    """OIV/CONCOURS 332A/2009, Art. 10, °C."""
    serve = {c.name: c.serve for c in TABLE.classes}
    assert serve["still white"] == serve["still rosé"] == (10, 12)
    assert serve["still red"] == (15, 18)
    assert serve["sparkling white"] == serve["sparkling rosé"] == serve["sparkling red"] == (8, 10)
    assert {serve[n] for n in ("naturally sweet", "ice wine", "liqueur wine", "mistelle")} == {(10, 14)}
    assert serve["under film"] == serve["orange"] == ()  # no figure in the source


@pytest.mark.parametrize(
    ("ml", "strength", "expected"),
    [
        (147.9, 12.0, 14.0),  # NIAAA's standard drink, 5 fl oz at 12 %
        (50.0, 12.5, 4.9),  # trade-facts, section 7: mL x % / 100 x 0.789 (OIML R 22)
        (15.0, 12.5, 1.5),
        (750.0, 12.5, 74.0),
    ],
)
def test_grams_of_alcohol(ml: float, strength: float, expected: float) -> None:
    assert grams(ml, strength) == pytest.approx(expected, abs=0.05)


def test_the_pour_is_that_of_the_tasting_glass() -> None:
    """ISO 3591:1977: 50 mL."""
    assert Wishes().pour_ml == TABLE.alcohol["pour"] == 50


def test_within_a_class_by_vintage_then_sugar_then_oak() -> None:
    """Which keys, in which order: 332A/2009, Art. 6. Which end comes first: common practice, no source."""
    wines = [
        ListedWine(producer="old", colour="white", style="still", vintage=2015),
        ListedWine(producer="oaked", colour="white", style="still", vintage=2020, sugar=2, oak=True),
        ListedWine(producer="sugar", colour="white", style="still", vintage=2020, sugar=8, oak=False),
        ListedWine(producer="plain", colour="white", style="still", vintage=2020, sugar=2, oak=False),
        ListedWine(producer="none", colour="white", style="still", vintage="NV"),
    ]
    placed = in_order(wines, TABLE, lexicon=LEXICON)
    assert [(one.wine.producer, one.why) for one in placed] == [
        ("none", "still white first"),
        ("plain", "2020 after NV"),
        ("oaked", "oak after no oak"),
        ("sugar", "8 g/L after 2 g/L"),
        ("old", "2015 after 2020"),
    ]


@pytest.mark.parametrize(
    ("wine", "name", "assumed"),
    [
        (ListedWine(colour="White", style="sparkling"), "sparkling white", ()),
        (ListedWine(style="Crémant", colour="rosé"), "sparkling rosé", ()),
        (ListedWine(style="extra dry", colour="white"), "sparkling white", ()),
        (ListedWine(style="dry red"), "still red", ()),
        (ListedWine(style="medium sweet", colour="white"), "still white", ()),
        (ListedWine(colour="tinto", name="Rosado"), "still red", ("still (nothing says other)",)),
        (ListedWine(origin="Chablis"), "still white", ("white (from Chablis)", "still (nothing says other)")),
        (ListedWine(grapes=("Syrah",)), "still red", ("red (from its grapes)", "still (nothing says other)")),
        (ListedWine(grapes=("Syrah", "Riesling")), "unknown", ("the list tells no colour that is known",)),
        (ListedWine(origin="Champagne"), "sparkling white",
         ("sparkling (from Champagne)", "white (nothing tells its colour)")),
        (ListedWine(name="Fino"), "under film", ("under film (from “fino”)",)),
        (ListedWine(style="Eiswein"), "ice wine", ()),
        (ListedWine(style="Aszú"), "naturally sweet", ()),
        (ListedWine(style="vin doux naturel"), "liqueur wine", ()),
        (ListedWine(style="mistelle"), "mistelle", ()),
        (ListedWine(producer="Red Ice Port", colour="white", style="still"), "still white", ()),
        (ListedWine(name="Port Road", colour="red", style="still"), "still red", ()),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)  # fmt: skip
def test_classes(wine: ListedWine, name: str, assumed: tuple[str, ...]) -> None:
    kind = kind_of(wine, TABLE, lexicon=LEXICON)
    assert (kind.wine_class.name, kind.assumed) == (name, assumed)


@pytest.mark.parametrize(
    ("sugar", "style", "name"),
    [  # (EU) 2019/33, Annex III: part B "sweet" from 45 g/L; part A makes no other class of sparkling
        (44.9, "still", "still white"),
        (45.0, "still", "naturally sweet"),
        (50.1, "sparkling", "sparkling white"),
        (100.0, "port", "liqueur wine"),
    ],
)
def test_sugar_makes_a_sweet_wine(sugar: float, style: str, name: str) -> None:
    wine = ListedWine(colour="white", style=style, sugar=sugar)
    assert kind_of(wine, TABLE, lexicon=LEXICON).wine_class.name == name


@pytest.mark.parametrize(
    ("wines", "expected"),
    [
        (dry(45), [[15, 15, 15]]),  # 332A/2009, Art. 10, 2.5
        (dry(30) + sweet(10), [[15, 15, 10]]),  # the same
        (dry(46), [[12, 12, 12], [10]]),
        (dry(20), [[10, 10]]),
        (dry(15), [[15]]),
        (dry(12) + sweet(2), [[14]]),  # mixed: the shares of both limits add up to one; ours
        (dry(12) + sweet(3), [[8, 7]]),
        (sweet(11), [[6, 5]]),
        ([], []),
    ],
    ids=["45", "30+10", "46", "20", "15", "12+2", "12+3", "11 sweet", "none"],
)
def test_sessions(wines: list[ListedWine], expected: list[list[int]]) -> None:
    assert sizes(plan(wines)) == expected


def test_a_warm_up_a_day_is_counted_in_glasses_and_grams() -> None:
    """332A/2009, 1, item 3: each morning one like sample is tasted first."""
    wines = [ListedWine(colour="white", style="still", alcohol=12.5) for _ in range(46)]
    made = plan(wines, tasters=2)
    assert made.glasses == (46 + 2) * 2
    assert [round(day.low, 1) for day in made.poured] == [round(37 * 4.93125, 1), round(11 * 4.93125, 1)]
    assert not any(day.is_assumed for day in made.poured)


def test_an_assumed_strength_gives_a_range_and_says_so() -> None:
    made = plan([ListedWine(colour="white", style="still")])
    (amount,) = made.poured
    assert (amount.low, amount.high) == (pytest.approx(2 * grams(50, 11)), pytest.approx(2 * grams(50, 15)))
    text = "\n".join(plan_lines(made, TABLE))
    assert "11 to 15 % vol taken, none is listed" in text
    assert "1 of 1 wines have no strength listed" in text


def test_times() -> None:
    made = plan(dry(16), start_min=9 * 60 + 30, minutes_a_wine=5, minutes_between=20)
    assert [(s.start_min, s.end_min) for s in made.sessions] == [(570, 615), (635, 675)]
    text = "\n".join(plan_lines(made, TABLE))
    assert "Session 1, 09:30 to 10:15: 8 wines" in text
    assert "Session 2, 10:35 to 11:15, after 20 minutes' rest: 8 wines" in text
    late = plan(dry(2), start_min=23 * 60 + 59)
    assert any("past midnight: begin earlier" in line for line in plan_lines(late, TABLE))


def test_bottles() -> None:
    assert [bottles(n, 50.0) for n in (1, 15, 16, 30)] == [1, 1, 2, 2]


def test_no_blood_alcohol_and_no_driving_limit_is_told() -> None:
    text = "\n".join(plan_lines(plan(dry(3)), TABLE)).lower()
    assert "blood" not in text
    assert "‰" not in text
    assert "nothing here is a measure for driving" in text


@given(WINES)
@with_settings(max_examples=60)
def test_the_list_written_is_read_back_in_the_planned_order(wines: list[ListedWine]) -> None:
    made = plan(wines)
    back = parse_wine_list(as_list(made).encode("utf-8-sig")).wines
    if not made.wines:
        assert back == ()
        return
    assert [w.position for w in back] == list(range(1, len(wines) + 1))
    for read, wine in zip(back, planned_wines(made), strict=True):
        for name in ("vintage", "colour", "style", "alcohol", "sugar", "oak", "grapes"):
            blank = getattr(wine, name) in ("?",)
            assert blank or getattr(read, name) == getattr(wine, name), name


LIST = (
    "No;Estate;Grape;Appellation;Year;Colour;ABV;RS\n"
    "1;Tin Whistle;Riesling;Clare Valley;2022;;12,5;3\n"
    "2;Heron's Rake;Cabernet Franc;Chinon;2018;red;13 %;\n"
    "3;Copper Ladle;;Champagne;NV;;;8\n"
)


@pytest.fixture
def listed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "list.csv"
    path.write_text(LIST, encoding="utf-8")
    return path


def test_the_command(listed: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.main(["plan", "list.csv", "--start", "9:30", "--to", "planned.csv"]) == 0
    out = capsys.readouterr().out
    places = [
        out.index(f" {name}")
        for name in ("Copper Ladle, Champagne, NV (listed as 3)", "Tin Whistle, Riesling")
    ]
    assert places == sorted(places)
    assert out.count("Do not drive after a tasting.") == 1
    planned = read_wine_list(listed.with_name("planned.csv"))
    assert [w.producer for w in planned.wines] == ["Copper Ladle", "Tin Whistle", "Heron's Rake"]
    assert [w.position for w in planned.wines] == [1, 2, 3]
    assert planned.remarks == ()


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["nosuch.csv"], "nosuch.csv: No such file"),
        (["list.csv", "--start", "25:00"], "'25:00' is no time; write it like 09:30"),
        (["list.csv", "--pour", "lots"], "'lots' is no number from 1 to 250"),
        (["list.csv", "--tasters", "0"], "'0' is no number of tasters"),
        (["list.csv", "--to", "list.csv"], "that is the list itself"),
        (["list.csv", "--to", "nowhere/planned.csv"], "nowhere: No such folder"),
        (["list.csv", "--to", "."], ".: Is a folder"),
        (["empty.csv"], "no wine in it"),
    ],
)
def test_what_cannot_be_done_is_one_line(
    listed: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], told: str
) -> None:
    listed.with_name("empty.csv").write_text("position,producer\n", encoding="utf-8")
    try:
        code = cli.main(["plan", *arguments])
    except SystemExit as stop:
        code = int(str(stop.code))
    error = capsys.readouterr().err
    assert code == 2
    assert told in error
    assert len(error.strip().splitlines()) == 1
