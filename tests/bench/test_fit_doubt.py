"""What the benches of doubt and of learning reckon with: order, bins, halves, the hand that puts right."""

from __future__ import annotations

import argparse
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.stats import mannwhitneyu

from dictate.doubt import held_values
from dictate.learn import corrections_of
from dictate.lexicon import load_lexicon
from dictate.pipeline import notes_from_source
from dictate.settings import Settings
from tests.bench.fit_doubt import Rows, auc, calibration, first_looks, halves, phrase_rows, value_rows
from tests.bench.gold_hand import put_right
from tests.bench.score_corpus import make_sources
from tests.bench.spoken_notes import Case, is_right

DEV = Path(__file__).parents[1] / "corpus" / "dev"


@pytest.fixture(scope="module", params=["a01", "a11", "b07"])
def case(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Case:
    """A note of the tuning corpus, from its true words."""
    out = tmp_path_factory.mktemp("out")
    options = argparse.Namespace(speech=False, voices="", per_note=1, only=request.param)
    (spoken,) = make_sources(DEV, out, options=options)
    notes = notes_from_source(spoken.source, recogniser=None, settings=Settings())
    note = max(notes, key=lambda n: len(n.transcript))
    return Case(request.param, "quiet", spoken, note, spoken.source)


def test_the_order_is_that_of_mann_and_whitney() -> None:
    """Against scipy's statistic, ties and all."""
    chance = np.random.default_rng(3)
    score, hit = chance.integers(0, 9, 200).astype(float), chance.random(200) < 0.3
    wanted = mannwhitneyu(score[hit], score[~hit]).statistic / (hit.sum() * (~hit).sum())
    assert auc(score, hit) == pytest.approx(wanted)
    assert auc(hit.astype(float), hit) == 1


def test_the_bins_tell_expected_and_observed_and_leave_none_out() -> None:
    expected = np.array([0.05, 0.95, 0.95, 0.95, 0.99, 0.0])
    table = calibration(expected, np.array([False, True, True, False, True, False]))
    lines = table.splitlines()
    assert len(lines) == 12
    assert lines[1].split() == ["0.0", "to", "0.1", "0.025", "0.000", "2"]
    assert lines[10].split() == ["0.9", "to", "1.0", "0.960", "0.750", "4"]
    assert lines[-1].strip().startswith(f"mean gap {(2 * 0.025 + 4 * 0.21) / 6:.3f} of 6")


def test_the_first_looks_are_at_the_most_doubtful_of_each_note() -> None:
    right = np.array([False, *[True] * 6, False])
    rows = Rows(np.zeros((8, 1)), right, np.array([0, 0, 0, 0, 0, 0, 1, 1]), np.array(["a"] * 8))
    seen = first_looks(np.array([0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.95]), rows)
    assert seen.strip().startswith("2 of 2 wrong values are among the first 5")
    hidden = first_looks(np.array([0.9, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.95]), rows)
    assert hidden.strip().startswith("1 of 2 wrong values")


def test_a_text_is_in_one_half_with_all_its_notes() -> None:
    texts = [f"t{n % 7}" for n in range(40)]
    one, other = halves(texts)
    assert sorted([*one, *other]) == sorted(set(texts))
    assert halves(texts[::-1]) == (one, other)


def test_a_note_that_was_put_right_needs_nothing_more(case: Case) -> None:
    lexicon = load_lexicon()
    after, acts = put_right(case, lexicon)
    anew = replace(case, note=after)
    assert put_right(anew, lexicon)[1] == 0
    assert all(is_right(held, anew) is not False for held in held_values(after))
    assert bool(corrections_of(after)) == (acts > 0)


def test_each_value_that_the_gold_knows_gives_a_row(case: Case) -> None:
    told = [is_right(held, case) for held in held_values(case.note)]
    assert [right for _, right, _, _ in value_rows([case])] == [t for t in told if t is not None]
    remarks = list(phrase_rows([case]))
    assert len(remarks) <= len(case.note.remarks)
