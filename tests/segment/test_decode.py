"""The stage decoder by itself: evidence in, stages out."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.segment import decode
from dictate.segment.decode import ORDER, Clause, decode_stages
from dictate.values import Stage


def clause(stage: Stage | None = None, weight: float = 4.0, **more: Any) -> Clause:
    return Clause(evidence={stage: weight} if stage else {}, **more)


def test_no_clauses() -> None:
    assert decode_stages([]) == ()


def test_the_usual_order_is_followed() -> None:
    assert decode_stages([clause(s) for s in ORDER]) == ORDER


@pytest.mark.parametrize("stage", ORDER)
def test_a_clause_that_says_nothing_stays_in_its_stage(stage: Stage) -> None:
    assert decode_stages([clause(stage), clause(), clause()]) == (stage,) * 3


@pytest.mark.parametrize("stage", ORDER)
def test_an_aside_leaves_the_stage_where_it_was(stage: Stage) -> None:
    assert decode_stages([clause(stage), clause("aside"), clause(stage, 0.3)]) == (stage, "aside", stage)


def test_what_says_nothing_behind_an_aside_goes_on_with_it() -> None:
    assert decode_stages([clause("nose"), clause("aside"), clause()]) == ("nose", "aside", "aside")


@pytest.mark.parametrize(("weight", "second"), [(4.0, "nose"), (0.5, "palate")])
def test_going_back_needs_more_evidence(weight: float, second: Stage) -> None:
    assert decode_stages([clause("palate"), clause("nose", weight)])[1] == second


@pytest.mark.parametrize(("new_breath", "second"), [(True, "palate"), (False, "nose")])
def test_a_weak_sign_changes_the_stage_only_with_a_breath(new_breath: bool, second: Stage) -> None:
    assert decode_stages([clause("nose"), clause("palate", 1.6, new_breath=new_breath)])[1] == second


@pytest.mark.parametrize(("early", "second"), [(True, "palate"), (False, "identity")])
def test_what_follows_the_name_leaves_it_cheaply_while_nothing_else_is_told(
    early: bool, second: Stage
) -> None:
    assert decode_stages([clause("identity"), clause("palate", 3.0, early=early)])[1] == second


@pytest.mark.parametrize(("sentence", "second"), [(True, "palate"), (False, "nose")])
def test_behind_a_full_stop_a_sign_changes_the_stage_sooner(sentence: bool, second: Stage) -> None:
    clauses = [clause("nose"), clause("palate", 2.2, new_breath=False, new_sentence=sentence)]
    assert decode_stages(clauses)[1] == second


@pytest.mark.parametrize(("goes_on", "second"), [(True, "palate"), (False, "finish")])
def test_what_ends_what_was_begun_stays(goes_on: bool, second: Stage) -> None:
    clauses = [clause("palate"), clause("finish", 3.0, goes_on=goes_on)]
    assert decode_stages(clauses)[1] == second


@pytest.mark.parametrize(("running", "stage"), [(True, "finish"), (False, "nose")])
def test_words_while_the_clock_runs_are_of_the_finish(running: bool, stage: Stage) -> None:
    clauses = [clause("palate"), clause("nose", 3.0, clock_running=running)]
    assert decode_stages(clauses)[1] == stage


def test_a_new_wine_begins_again_with_its_name() -> None:
    assert decode_stages([clause("verdict"), clause(new_wine=True)]) == ("verdict", "identity")
    assert decode_stages([clause("verdict"), clause()]) == ("verdict", "verdict")


def test_a_clause_apart_has_its_own_stage_and_changes_no_other() -> None:
    apart = Clause(evidence={"appearance": 9.0}, apart=("appearance",))
    assert decode_stages([clause("palate"), apart, clause()]) == ("palate", "appearance", "palate")


def test_a_clause_apart_that_may_be_of_several_stages_is_of_the_one_we_were_in_last() -> None:
    apart = Clause(apart=("nose", "palate"))
    said = [clause("nose"), clause("palate"), clause("verdict"), apart, clause()]
    assert decode_stages(said) == ("nose", "palate", "verdict", "palate", "verdict")
    assert decode_stages([clause("verdict"), apart]) == ("verdict", "nose")


def test_a_wine_that_begins_with_a_correction_still_begins() -> None:
    apart = Clause(apart=("identity",), new_wine=True)
    assert decode_stages([clause("verdict"), apart, clause()]) == ("verdict", "identity", "identity")


WEIGHTS = st.dictionaries(st.sampled_from([*ORDER, "aside"]), st.floats(0, 12, allow_nan=False), max_size=4)
CLAUSES = st.lists(
    st.builds(
        Clause,
        evidence=WEIGHTS,
        new_breath=st.booleans(),
        new_wine=st.booleans(),
        clock_running=st.booleans(),
        apart=st.just(()) | st.lists(st.sampled_from(ORDER), max_size=2).map(tuple),
    ),
    max_size=30,
)


@given(CLAUSES)
def test_each_clause_has_one_stage_and_a_clause_apart_keeps_its_own(clauses: list[Clause]) -> None:
    stages = decode_stages(clauses)
    assert len(stages) == len(clauses)
    assert set(stages) <= {*ORDER, "aside"}
    assert all(not c.apart or s in c.apart for c, s in zip(clauses, stages, strict=True))


@given(CLAUSES)
def test_the_best_path_is_found(clauses: list[Clause]) -> None:
    """Against all paths of up to three clauses, scored by the decoder's own costs."""
    chain = [c for c in clauses if not c.apart][:3]
    found = decode_stages(chain)

    def best(path: tuple[Stage, ...] | None) -> float:
        """The best score of any state sequence that shows these stages (None: any)."""
        states = decode._STATES
        shown = [[s for s in states if path is None or ("aside" if s[1] else ORDER[s[0]]) == path[i]]
                 for i in range(len(chain))]  # fmt: skip
        start = {(0, False): 0.0, (0, True): -1.0} | {(i, False): -0.8 for i in range(1, len(ORDER))}
        score = {s: start.get(s, -99.0) + decode._fit(s, chain[0]) for s in shown[0]}
        for place in range(1, len(chain)):
            here, bonus = chain[place], 4.0 if chain[place].new_wine else 0.0
            score = {
                s: max(v - (0.0 if here.new_wine else decode._change(b, s, here)) for b, v in score.items())
                + (bonus if s == (0, False) else 0.0)
                + decode._fit(s, here)
                for s in shown[place]
            }
        return max(score.values())

    if chain:
        assert best(found) == pytest.approx(best(None))


def test_work_grows_in_step_with_the_clauses(monkeypatch: pytest.MonkeyPatch) -> None:
    def calls(size: int) -> int:
        count = 0
        real = decode._change

        def counted(*args: decode.State | Clause) -> float:
            nonlocal count
            count += 1
            return real(*args)  # type: ignore[arg-type]

        with monkeypatch.context() as patch:
            patch.setattr(decode, "_change", counted)
            decode_stages([clause("nose")] * size)
        return count

    few, many = calls(101), calls(1001)
    assert many == 10 * few
