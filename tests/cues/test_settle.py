"""Doubtful cues of the clock, settled by what stands around them: each rule where it acts and where not."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from dictate.cues import find_cues, settle_cues
from dictate.cues.spotting import CERTAIN
from dictate.values import Heard, Perhaps, Step, Word
from tests.cues.said import TABLE, heard, said

Line = str | tuple[str, str, float]  # what was said, or: written, the cue it may have been, how likely


def hearing(*lines: Line, at_least: float = 0.6) -> Heard:
    """Breath groups 1.5 s apart; doubtful ones in the reading that is likelier by itself."""
    words: list[Word] = []
    perhaps: list[Perhaps] = []
    for number, line in enumerate(lines):
        at = words[-1].end_s + 1.5 if words else 1.0
        if isinstance(line, str):
            words += said(line, at=at, utterance=number)
            continue
        written, cue, chance = line
        doubt = Perhaps(
            tuple(said(cue, at=at, utterance=number)), tuple(said(written, at=at, utterance=number)), chance
        )
        perhaps.append(doubt)
        words += doubt.cue if chance >= at_least else doubt.written
    return Heard(tuple(words), words[-1].end_s, "made", perhaps=tuple(perhaps))


def cues(*lines: Line) -> list[str]:
    return heard(find_cues(settle_cues(hearing(*lines), TABLE).words, TABLE))


BEGIN, AWAY = "Next wine, number four.", "Spitting now."
NEXT = "Next wine, number five."


@pytest.mark.parametrize(
    ("lines", "found"),
    [
        # the clock runs when the next wine begins: the likeliest word was the one that stopped it
        ([BEGIN, AWAY, "Long, lemon.", ("Guys.", "It's gone.", 0.45), NEXT], "gone: It's gone"),
        ([BEGIN, AWAY, ("Are you.", "All gone.", 0.3), ("Guys.", "Gone.", 0.5), NEXT], "gone: Gone"),
        ([BEGIN, AWAY, ("Guys.", "Gone.", 0.5), "Very good.", "End of tasting."], "gone: Gone"),
        # none is likely enough, or nothing tells yet that it must have stopped
        ([BEGIN, AWAY, ("Lime pith.", "All gone.", 0.35), NEXT], ""),
        ([BEGIN, AWAY, ("Guys.", "Gone.", 0.5), "Very good."], ""),
        # it is in front of the away cue, or behind the next wine
        ([BEGIN, ("Guys.", "Gone.", 0.5), AWAY, NEXT], ""),
        ([BEGIN, AWAY, NEXT, ("Guys.", "Gone.", 0.5)], ""),
        # said once: the surer counts, whichever came first
        ([BEGIN, AWAY, ("Better or", "It's gone.", 0.7), "All gone."], "gone: All gone"),
        ([BEGIN, AWAY, ("Better or", "It's gone.", 0.7), ("Guys.", "Gone.", 0.8)], "gone: Gone"),
        ([BEGIN, AWAY, ("Guys.", "Gone.", 0.8), ("Better or", "It's gone.", 0.7)], "gone: Gone"),
        ([BEGIN, AWAY, ("Guys.", "Gone.", 0.7)], "gone: Gone"),
        ([BEGIN, AWAY, ("Guys.", "Gone.", 0.95), ("Or on.", "All gone.", 0.2), NEXT], "gone: Gone"),
        # still there behind it: it had not gone
        ([BEGIN, AWAY, ("Better or", "It's gone.", 0.7), "Still there."], ""),
        ([BEGIN, AWAY, ("Better or", "It's gone.", 0.7), "Still there.", ("Guys.", "Gone.", 0.45), NEXT],
         "gone: Gone"),
        ([BEGIN, AWAY, "Still there.", ("Guys.", "Gone.", 0.7)], "gone: Gone"),
        # taken back, it counts as not said; the true one comes behind
        ([BEGIN, AWAY, ("Better or", "It's gone.", 0.8), "Strike that.", ("Guys.", "Gone.", 0.7), NEXT],
         "gone: It's gone|gone: Gone"),
        # words between: those are taken back, and the cue stands
        ([BEGIN, AWAY, ("Better or", "It's gone.", 0.8), "Lime pith.", "Strike that.",
          ("Guys.", "Gone.", 0.7), NEXT],
         "gone: It's gone"),
        ([BEGIN, AWAY, ("Better or", "It's gone.", 0.8), "Off the record.", "Awful.", "Back on the record.",
          "Strike that.", ("Guys.", "Gone.", 0.7), NEXT], "gone: It's gone|gone: Gone"),
        # what is likely by itself holds until a likelier one is sure
        ([BEGIN, AWAY, ("Guys.", "All gone.", 0.65), ("Lime.", "Gone.", 0.55)], "gone: All gone"),
    ],
)  # fmt: skip
def test_what_stopped_the_clock(lines: list[Line], found: str) -> None:
    assert [c for c in cues(*lines) if c.startswith("gone")] == (found.split("|") if found else [])


@pytest.mark.parametrize(
    ("lines", "found"),
    [
        ([BEGIN, "Dry.", ("Sw sw", "Swallowing now.", 0.4), "It's gone.", NEXT], "away: Swallowing now"),
        ([BEGIN, ("Sw sw", "Swallowing now.", 0.3), ("Hm.", "Spitting now.", 0.5), "Gone."],
         "away: Spitting now"),
        ([BEGIN, ("Sw sw", "Swallowing now.", 0.1), "It's gone."], ""),
        ([BEGIN, ("Sw sw", "Swallowing now.", 0.4), "Very dry.", NEXT], ""),
        ([("Sw sw", "Swallowing now.", 0.4), BEGIN, "It's gone."], ""),
        ([BEGIN, "It's gone.", ("Sw sw", "Swallowing now.", 0.4)], ""),
        # what stopped it is in doubt itself
        ([BEGIN, ("Sw sw", "Swallowing now.", 0.4), ("Guys.", "Gone.", 0.5), NEXT], ""),
        # it runs already: a second start needs to be heard
        ([BEGIN, AWAY, ("Sw sw", "Swallowing now.", 0.4), "It's gone."], "away: Spitting now"),
    ],
)  # fmt: skip
def test_what_started_the_clock(lines: list[Line], found: str) -> None:
    assert [c for c in cues(*lines) if c.startswith("away")] == ([found] if found else [])


def test_off_the_record_nothing_is_settled() -> None:
    lines = [BEGIN, AWAY, "Off the record.", ("Guys.", "Gone.", 0.5), "Back on the record.", NEXT]
    before = hearing(*lines)
    assert settle_cues(before, TABLE) == before


@pytest.mark.parametrize("written", ["Off record.", "Strike that.", "Still there."])
def test_another_cue_is_never_settled_away(written: str) -> None:
    before = hearing(BEGIN, AWAY, (written, "Gone.", 0.5), NEXT)
    assert settle_cues(before, TABLE) == before


def test_steps_go_with_the_words_they_are_of() -> None:
    def step(first: int, last: int) -> Step:
        return Step(first, last, ("a",), ("b",), 0.9, "made")

    before = replace(
        hearing(BEGIN, AWAY, ("Are you.", "Gone.", 0.5), NEXT, "Lime pith and chalk."),
        again=(step(0, 1), step(6, 8), step(12, 14)),
        refused=(step(7, 8),),
    )
    after = settle_cues(before, TABLE)
    assert [w.text for w in after.words[6:8]] == ["Gone.", "Next"]
    assert after.again == (step(0, 1), step(11, 13))
    assert after.refused == ()


LINES = st.lists(
    st.one_of(
        st.sampled_from([BEGIN, AWAY, "All gone.", "Still there.", "Lime pith.", "Off the record.",
                         "Back on the record.", "Strike that.", "End of tasting."]),
        st.tuples(
            st.sampled_from(["Guys.", "Are you going?", "Better or"]),
            st.sampled_from(["Gone.", "It's gone.", "Yeah, all gone.", "Spitting now.", "Still there."]),
            st.floats(0.1, 1.0),
        ),
    ),
    min_size=1,
    max_size=12,
)  # fmt: skip


@given(LINES)
def test_only_doubtful_breath_groups_change_and_settling_again_changes_nothing(lines: list[Line]) -> None:
    before = hearing(*lines)
    after = settle_cues(before, TABLE)
    doubts = {p.cue[0].utterance: p for p in before.perhaps}
    for number in range(len(lines)):
        was, now = (tuple(w for w in h.words if w.utterance == number) for h in (before, after))
        assert now == was or now in (doubts[number].cue, doubts[number].written)
    assert [w.start_s for w in after.words] == sorted(w.start_s for w in after.words)
    runs: list[list[bool]] = []  # of each run of the clock the words that stopped it: in doubt or not
    found = find_cues(after.words, TABLE)
    before_it, said_until_s = "", 0.0  # the cue in front, privacy aside
    for cue in found.cues:
        if cue.kind in ("away", "begin", "end"):
            runs.append([])
        elif cue.kind == "gone" and runs:
            doubt = doubts.get(cue.words[0].utterance)
            runs[-1].append(doubt is not None and doubt.chance < CERTAIN)
        elif cue.kind == "take_back" and before_it == "gone" and runs:
            between = [w for w in found.kept if said_until_s <= w.start_s < cue.words[0].start_s]
            runs[-1] = runs[-1] if between else runs[-1][:-1]  # reached, it counts as not said
        if not cue.kind.startswith("private"):
            before_it, said_until_s = cue.kind, cue.words[-1].end_s
    started = [c.kind == "away" for c in found.cues if c.kind in ("away", "begin", "end")]
    assert all(len(run) == 1 or not any(run) for run, away in zip(runs, started, strict=True) if away)
