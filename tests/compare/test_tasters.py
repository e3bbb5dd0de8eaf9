"""Several tasters' notes of one flight."""

from __future__ import annotations

import csv
import random
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.compare import compare_tasters
from dictate.compare.agreement import intraclass, kendall_w
from dictate.note import Note
from tests.compare.made import note, notes

HERE = Path(__file__).parent


def acidity(taster: str, *levels: float | None) -> list[Note]:
    return [
        note(f"{taster}{n}", position=n, levels={} if level is None else {"palate.acidity": level})
        for n, level in enumerate(levels, 1)
    ]


def test_means_agreement_and_who_stands_apart() -> None:
    found = compare_tasters(
        {"Ann": acidity("a", 5, 7, 8), "Bo": acidity("b", 5, 6, 9), "Cy": acidity("c", 2, 4, 4)}
    )
    assert found.tasters == ("Ann", "Bo", "Cy")
    means = {r.wine: r.spread.mean for r in found.rated}
    assert means == {1: 4, 2: pytest.approx(17 / 3), 3: 7}
    (agreement,) = found.agreement
    table = [[5, 5, 2], [7, 6, 4], [8, 9, 4]]
    assert (agreement.kendall_w, agreement.icc) == (kendall_w(table), intraclass(table))
    assert (agreement.wines, agreement.incomplete, agreement.silent) == (3, 0, ())
    first = found.apart[0]
    assert (first.taster, first.field, first.n) == ("Cy", "levels", 3)
    assert first.difference == pytest.approx((2 - 5 + 4 - 6.5 + 4 - 8.5) / 3)
    assert first.distance == pytest.approx(-first.difference)


def test_holes_are_told_and_filled_by_nothing() -> None:
    found = compare_tasters(
        {
            "Ann": acidity("a", 5, 7, 8, 2),
            "Bo": acidity("b", 5, None, 9, 3),
            "Cy": acidity("c", None, None, None, None),
        }
    )
    (agreement,) = found.agreement
    assert (agreement.tasters, agreement.silent) == (("Ann", "Bo"), ("Cy",))
    assert (agreement.wines, agreement.incomplete) == (3, 1)
    assert agreement.kendall_w == kendall_w([[5, 5], [8, 9], [2, 3]])
    second = next(r for r in found.rated if r.wine == 2)
    assert (second.values, second.spread.n, second.spread.sd) == ({"Ann": 7}, 1, None)


def test_one_taster_alone_is_refused() -> None:
    with pytest.raises(ValueError, match="two tasters"):
        compare_tasters({"Ann": acidity("a", 1)})


def test_bitterness_of_nine_judges_as_notes() -> None:
    """The 72 ratings of Randall 1989 (see test_agreement.py), tenths of the response as levels."""
    rows = list(csv.DictReader((HERE / "bitterness.csv").read_text().splitlines()))
    judges: dict[str, list[Note]] = {}
    for row in rows:
        level = float(row["response"]) / 10
        name = f"{row['judge']}-{row['bottle']}"
        judges.setdefault(row["judge"], []).append(
            note(name, code=f"bottle {row['bottle']}", levels={"palate.bitterness": level})
        )
    found = compare_tasters(judges)
    assert found.matched_by == "code"
    assert len(found.wines) == 8
    cold, warm = (
        sum(r.spread.mean for r in found.rated if r.wine in wines) / 4
        for wines in ((1, 2, 3, 4), (5, 6, 7, 8))
    )
    assert (round(10 * cold, 1), round(10 * warm, 1)) == (35.8, 58.6)
    (agreement,) = found.agreement
    assert agreement.kendall_w == pytest.approx(0.614500442086649)  # pingouin 0.7.0, reference.json
    assert agreement.icc is not None
    assert agreement.icc.single == pytest.approx(0.4525255993161758)


def scores(*points: float, out_of: float = 100) -> dict[str, list[Note]]:
    return {f"T{n}": [note(f"s{n}", position=1, points=p, out_of=out_of)] for n, p in enumerate(points, 1)}


def test_scores_more_than_seven_points_from_the_mean_are_named() -> None:
    """OIV/CONCOURS 332A/2009, Art. 13 (history: replaced by OIV-OENO 671A-2025); the arithmetic is our
    own: the mean of 88, 90, 86, 89 and 72 is 85, so 72 is 13 off, and without it the mean is 353 / 4 =
    88.25."""
    (found,) = compare_tasters(scores(88, 90, 86, 89, 72)).outlying
    assert (found.mean, found.named, found.mean_without) == (85, ("T5",), 88.25)


def test_exactly_seven_points_is_not_more_than_seven() -> None:
    (found,) = compare_tasters(scores(80, 94)).outlying
    assert (found.mean, found.named, found.mean_without) == (87, (), None)
    (found,) = compare_tasters(scores(80, 94.2)).outlying
    assert (found.named, found.mean_without) == (("T1", "T2"), None)  # nobody is left to make a mean


def test_the_rule_is_for_scores_out_of_a_hundred_alone() -> None:
    found = compare_tasters(scores(18, 5, 17, out_of=20))
    assert found.outlying == ()
    assert [a.field for a in found.agreement] == ["verdict.score/20"]


def test_wines_are_matched_by_name_where_places_say_nothing() -> None:
    def own(taster: str) -> list[Note]:
        return [
            note(f"{taster}1", producer="Tin Whistle", vintage=2018, levels={"palate.body": 3}),
            note(f"{taster}2", producer="Copper Ladle", vintage=2018, levels={"palate.body": 5}),
            note(f"{taster}3"),
        ]

    found = compare_tasters({"Ann": own("a"), "Bo": own("b")})
    assert found.matched_by == "wine"
    assert len(found.wines) == 2
    assert len(found.left_out) == 2


def test_a_second_note_is_left_out_and_differing_names_are_cautioned() -> None:
    found = compare_tasters(
        {
            "Ann": [note("a1", position=1, producer="Tin Whistle"), note("a2", position=1)],
            "Bo": [note("b1", position=1, producer="Copper Ladle")],
        }
    )
    assert [one.title for one in found.left_out] == ["Ann: 1, Tin Whistle"]
    assert found.cautions == ()  # of the note that was kept no name is known
    found = compare_tasters(
        {
            "Ann": [note("a", position=1, producer="Tin Whistle")],
            "Bo": [note("b", position=1, producer="Heron's Rake")],
        }
    )
    (caution,) = found.cautions
    assert "Heron's Rake (Bo)" in caution
    assert "named differently" in caution


def test_descriptors_by_how_many_tasters_cite_them() -> None:
    found = compare_tasters(
        {
            "Ann": [note("a", position=1, smells=("lemon", "toast"))],
            "Bo": [note("b", position=1, smells=("lemon",))],
        }
    )
    assert [(c.term, c.tasters) for c in found.cited] == [("lemon", ("Ann", "Bo")), ("toast", ("Ann",))]


@given(st.lists(notes(most=5), min_size=2, max_size=4), st.randoms(use_true_random=False))
def test_laws(flights: list[list[Note]], chance: random.Random) -> None:
    by_taster = {f"T{n}": own for n, own in enumerate(flights)}
    found = compare_tasters(by_taster)
    for one in found.rated:
        assert set(one.values) <= set(found.tasters)
        assert one.spread.n == len(one.values) > 0
    for agreement in found.agreement:
        assert agreement.kendall_w is None or 0 <= agreement.kendall_w <= 1
        assert agreement.wines + agreement.incomplete == len(found.wines)
    shuffled = list(by_taster.items())
    chance.shuffle(shuffled)
    assert compare_tasters({name: chance.sample(own, len(own)) for name, own in shuffled}) == found


@given(
    st.lists(st.lists(st.sampled_from([0.0, 2.5, 5.0, 10.0]), min_size=3, max_size=3), min_size=2, max_size=5)
)
def test_differences_from_the_others_cancel_out(values: list[list[float]]) -> None:
    found = compare_tasters({f"T{n}": acidity(f"t{n}", *own) for n, own in enumerate(values)})
    assert sum(a.difference for a in found.apart if a.field == "levels") == pytest.approx(0, abs=1e-9)
