"""Fitting the cue spotter's weights: material, rows, fit and table. No speech, no recogniser."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from dictate.audio.speech import Stretch
from dictate.cues import CUE_PHRASES, Evidence, plain
from dictate.cues.spotting import WEIGHTS, Candidate
from tests.bench.clock_heard import Job
from tests.bench.clock_texts import TEXTS
from tests.bench.cue_evidence import KINDS, Kept, Kind, Weighed, clock_runs, cue_in, pieces, short_remarks
from tests.bench.false_jobs import Said, sentences
from tests.bench.false_judge import cues_in_text
from tests.bench.fit_cues import (
    WEIGHT_OF,
    Case,
    cases_of,
    chances,
    cross_validated,
    differs,
    fit,
    fitted,
    folds_of,
    kind_of,
    outcome,
)
from tests.speech.synth import Line


def rows(count: int, true: tuple[float, ...]) -> tuple[np.ndarray, np.ndarray]:
    """Rows drawn from a logistic model with these weights, features of unlike sizes."""
    chance = np.random.default_rng(4)
    size = np.array([10, 1, 0.1])
    features = np.column_stack([chance.normal(3, 1, (count, 3)) * size, np.ones(count)])
    return features, chance.random(count) < 1 / (1 + np.exp(-features @ np.array(true)))


def test_known_weights_are_recovered() -> None:
    true = (0.08, -1.4, 6.0, 0.2)
    features, meant = rows(40_000, true)
    found = fit(features, meant, weights=np.ones(len(meant)))
    # standard errors at this size: about .0012, .015, .12, .08
    assert np.abs(found - true) / [0.005, 0.06, 0.5, 0.35] == pytest.approx(0, abs=1)


def test_a_row_of_weight_three_counts_as_three_rows() -> None:
    features, meant = rows(300, (0.05, 1.0, -4.0, -2.0))
    times = np.where(np.arange(300) % 2, 3, 1)
    weighed = fit(features, meant, weights=times.astype(float), strength=0)
    repeated = np.repeat(features, times, axis=0), np.repeat(meant, times)
    thrice = fit(*repeated, weights=np.ones(times.sum()), strength=0)
    assert weighed == pytest.approx(thrice, rel=1e-2)
    assert weighed != pytest.approx(fit(features, meant, weights=np.ones(300), strength=0), rel=1e-2)


def test_the_penalty_shrinks_alike_whatever_a_feature_is_measured_in() -> None:
    features, meant = rows(200, (0.05, 1.0, -4.0, -2.0))
    ones = np.ones(200)
    plainly = fit(features, meant, weights=ones)
    other = fit(features * [10, 1, 1, 1], meant, weights=ones)
    assert other * [10, 1, 1, 1] == pytest.approx(plainly, rel=1e-3)
    strong = fit(features, meant, weights=ones, strength=1e6)
    assert np.abs(strong[:-1] / plainly[:-1]).max() < 0.01
    # the bias is free: what is left is how often the outcome is so
    assert strong[-1] == pytest.approx(np.log(meant.mean() / (1 - meant.mean())), abs=0.01)


def test_outcomes_all_the_same_cannot_be_fitted() -> None:
    with pytest.raises(ValueError, match="both outcomes"):
        fit(np.ones((3, 2)), np.zeros(3, bool), weights=np.ones(3))
    with pytest.raises(ValueError, match="nothing to fit"):
        fitted([])


def evidence(phrase: str, gain: float, *, first: bool = False) -> Evidence:
    return Evidence(Candidate(phrase, f"{phrase.capitalize()}."), gain - 4, gain, first, 0.6, 0.1)


def weighed(cue: str | None, said: str, *tried: Evidence, free: str = "Fun.", score: float = -0.5) -> Weighed:
    return Weighed(cue, said, free, score, 0.7 if score < -1 else 0.1, tried)


GONE = weighed("gone", "all gone", evidence("all gone", 1.0, first=True), evidence("gone", -6.0))
SALT = weighed(None, "", evidence("all gone", -8.0), evidence("gone", -5.0), free="Salt.")


def made(kind: Kind, count: int, *, seed: int) -> list[Case]:
    """Recordings of two stretches: a cue (none in negatives) and a remark, of drawn gains."""
    chance = np.random.default_rng(seed)
    found = []
    for n in range(count):
        good, bad, worse = chance.normal((0, -4, -4), 2.5)
        own = [weighed(None, "", evidence("all gone", bad), evidence("gone", worse))]
        if kind == "clock":
            own.append(weighed("gone", "all gone", evidence("all gone", good), evidence("gone", bad)))
        found += cases_of(kind, f"{kind} {n}", stretches=own)
    return found


def test_a_row_is_a_candidate_and_its_outcome_whether_it_was_said() -> None:
    gone, salt = cases_of("clock", "a", stretches=(GONE, SALT))
    assert gone.features.tolist() == [list(e.features) for e in GONE.evidence]
    assert gone.meant.tolist() == [True, False]
    assert salt.meant.tolist() == [False, False]


def test_what_the_spotter_never_weighs_is_left_out_and_so_is_the_next_wine() -> None:
    written = weighed("gone", "all gone", *GONE.evidence, free="Okay, all gone.")
    begin = weighed("begin", "Next wine, number two.", evidence("next wine", 1.0))
    nothing = weighed("gone", "all gone")
    assert cases_of("clock", "a", stretches=(written, begin, nothing)) == []
    assert cases_of("clock", "a", stretches=(GONE,)) == [Case("clock", "a", GONE)]


def test_rows_weigh_by_the_kind_of_their_recording() -> None:
    cases = [c for kind in KINDS for c in made(kind, 12, seed=7)]
    weights = [WEIGHT_OF[c.kind] for c in cases for _ in c.stretch.evidence]
    features, meant = np.vstack([c.features for c in cases]), np.hstack([c.meant for c in cases])
    assert set(WEIGHT_OF) == set(KINDS)
    assert {0.3, 1.0} == set(weights)
    assert fitted(cases) == pytest.approx(fit(features, meant, weights=np.array(weights)))
    assert fitted(cases) != pytest.approx(fit(features, meant, weights=np.ones(len(meant))), rel=0.02)


def test_each_recording_is_judged_by_weights_fitted_without_it() -> None:
    cases = made("clock", 12, seed=3)
    fold = folds_of(c.script for c in cases)
    found = cross_validated(cases)
    for place in (0, 7):
        others = [c for c in cases if fold[c.script] != fold[cases[place].script]]
        assert len(others) < len(cases)
        assert found[place] == pytest.approx(chances(cases[place : place + 1], fitted(others))[0])


def test_folds_part_no_recording_and_are_even() -> None:
    scripts = [f"{n}" for n in range(23)]
    fold = folds_of(scripts * 2)
    assert fold == folds_of(reversed(scripts))
    sizes = [list(fold.values()).count(n) for n in range(5)]
    assert sorted(sizes) == [4, 4, 5, 5, 5]


@pytest.mark.parametrize(
    ("stretch", "chance", "expected"),
    [
        (GONE, (0.7, 0.1), "hit"),
        (GONE, (0.1, 0.7), "hit"),  # "gone" for "all gone" is the same cue
        (GONE, (0.5, 0.1), "miss"),
        (weighed("away", "spitting now", *GONE.evidence), (0.7, 0.1), "wrong"),
        (SALT, (0.1, 0.7), "false"),
        (SALT, (0.1, 0.5), "still"),
        (weighed(None, "", *SALT.evidence, score=-1.5), (0.1, 0.9), "still"),  # taken for no speech
        (weighed("gone", "gone", *GONE.evidence, score=-1.5), (0.9, 0.1), "miss"),
    ],
)
def test_outcomes(stretch: Weighed, chance: tuple[float, float], expected: str) -> None:
    assert outcome(Case("clock", "a", stretch), np.array(chance), at_least=0.6) == expected


def test_each_phrase_is_one_kind_of_cue() -> None:
    kinds = {phrase: kind_of(phrase) for phrase in CUE_PHRASES}
    assert (kinds["gone"], kinds["it's gone"], kinds["still there"]) == ("gone", "gone", "holding")
    assert (kinds["spitting now"], kinds["swallowing now"]) == ("away", "away")


def test_weights_differ_when_one_does() -> None:
    assert not differs([w + 0.004 for w in WEIGHTS])
    assert differs([*WEIGHTS[:-1], WEIGHTS[-1] + 0.05])
    assert differs(WEIGHTS[:-1])


@pytest.mark.parametrize("remark", short_remarks())
def test_a_short_remark_is_no_cue_and_not_of_the_half_to_report(remark: str) -> None:
    texts = TEXTS["report"]
    report = (*(s.say for s in sentences("report")), *texts.tasting, *texts.remarks, *texts.after)
    assert plain(remark) not in {plain(say) for say in report}
    assert not cues_in_text(f"{remark}.", running=True)


def test_material_is_of_the_half_to_choose_by() -> None:
    found = pieces()
    assert len({p.key for p in found}) == len(found)
    assert {p.kind for p in found} == set(KINDS)
    assert {p.source.session.half for p in found if isinstance(p.source, Job)} == {"choose", "explore"}
    said = {s for p in found if isinstance(p.source, Said) for s in p.source.sentences}
    assert said == set(sentences("choose"))
    assert len(set(short_remarks())) == len(short_remarks())
    assert [sum(p.kind == kind for p in pieces(2)) for kind in KINDS] == [2] * 4


def test_one_reading_clean_and_in_noise_is_one_script() -> None:
    for kind, ways in (("short", 2), ("clock", 2), ("said", 1), ("silent", 1)):
        found = [p for p in pieces() if p.kind == kind]
        assert len({p.script for p in found}) * ways == len(found)


LINES = (
    Line("Next wine, number two.", "identity", "begin", 0.8, 2.0),
    Line("okay,", "palate", None, 2.6, 3.0),
    Line("spitting now", "cue", "away", 3.2, 4.0),
    Line("still there", "finish", "holding", 6.0, 6.6),
    Line("all gone", "cue", "gone", 9.0, 9.6),
)


def test_the_clock_runs_between_its_cues() -> None:
    runs = [clock_runs(LINES, at_s) for at_s in (0.81, 2.6, 4.5, 6.0, 9.01, 9.9)]
    assert runs == [False, False, True, True, True, False]


def test_the_cue_of_a_stretch_is_the_last_that_lies_in_it() -> None:
    assert cue_in(LINES, Stretch(2.6, 4.0)) == LINES[2]
    assert cue_in(LINES, Stretch(0.8, 4.0)) == LINES[2]
    assert cue_in(LINES, Stretch(3.95, 5.0)) is None
    assert cue_in(LINES, Stretch(2.5, 3.1)) is None


def test_evidence_is_kept_and_a_torn_line_is_heard_again(tmp_path: Path) -> None:
    first, second = pieces(1)[:2]
    kept = Kept(tmp_path)
    kept.put(first, (GONE, SALT))
    kept.put(second, ())
    file = tmp_path / "evidence.jsonl"
    file.write_text(file.read_text()[:-20])
    again = Kept(tmp_path)
    assert again.get(first) == (GONE, SALT)
    assert again.get(second) is None
    again.put(second, (SALT,))
    assert Kept(tmp_path).get(second) == (SALT,)
    assert Kept(tmp_path).of_other_code([first, second]) == 0
    file.write_text(file.read_text().replace('"code": "', '"code": "0'))
    assert Kept(tmp_path).of_other_code([first, second]) == 2
    assert Kept(tmp_path, again=True).get(first) is None
