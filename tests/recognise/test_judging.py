"""Judging what was heard: the recording so far decides between a cue and what was written. No weights but in
the last tests."""

from __future__ import annotations

import pickle
from dataclasses import replace

import numpy as np
import pytest

from dictate.audio import Recording, find_speech
from dictate.cues import Evidence, chance
from dictate.cues.spotting import Candidate, usual_s
from dictate.recognise.judging import CueHeard, Judge, Weighed, may_win, wins
from dictate.recognise.recogniser import joined
from dictate.recognise.whisper import WhisperRecogniser
from dictate.recognise.windows import in_windows
from dictate.values import Word


def word(text: str, start_s: float = 1.0) -> Word:
    return Word(text, start_s, start_s + 0.4)


def evidence(phrase: str, *, first: float, free: str) -> Evidence:
    text = f"{phrase[0].upper()}{phrase[1:]}."
    return Evidence(
        Candidate(phrase, text), -14.0, gain=-1.0, first=first, seconds=usual_s(text), silence=0.1, free=free
    )


def sound(seed: int, frames: int = 30) -> np.ndarray:
    return np.random.default_rng(seed).normal(size=(frames, 8)).astype(np.float32)


def short(written: str, phrase: str, *, first: float = 1.0, seed: int = 1) -> Weighed:
    """Written so, and it may be the phrase, if the clock runs."""
    said = evidence(phrase, first=first, free=written)
    return Weighed(
        (word(written),),
        cue=CueHeard(
            written,
            sound(seed),
            {True: (said,), False: ()},
            {said.candidate.text: (word("It's"), word("gone."))},
        ),
    )


def test_a_cue_of_the_clock_counts_while_it_runs() -> None:
    assert chance(evidence("it's gone", first=1.0, free="Dawn on.")) > 0.6
    heard = Judge(running=True).judge(short("Dawn on.", "it's gone"))
    assert [w.text for w in heard.words] == ["It's", "gone."]
    assert heard.perhaps is not None
    assert [w.text for w in heard.perhaps.written] == ["Dawn on."]
    idle = Judge(running=False).judge(short("Dawn on.", "it's gone"))
    assert [w.text for w in idle.words] == ["Dawn on."]
    assert idle.perhaps is None


def test_the_clock_runs_behind_the_cue_that_starts_it_and_stops_behind_the_other() -> None:
    judge = Judge()
    judge.judge(Weighed((word("Spitting"), word("now."))))
    assert judge.running
    judge.judge(short("Dawn on.", "it's gone"))
    assert not judge.running


def test_a_cue_is_known_again_by_how_it_sounded_earlier() -> None:
    weak = short("Dawn on.", "it's gone", first=0.0, seed=4)
    (said,) = weak.cue.evidence[True] if weak.cue else ()
    weaker = replace(said, fit=-24.0, gain=-9.0)
    assert weak.cue is not None
    doubtful = replace(weak, cue=replace(weak.cue, evidence={True: (weaker,), False: ()}))
    assert not wins([weaker], 0.6)
    assert may_win([weaker]) == ("It's gone.",)
    assert Judge(running=True).judge(doubtful).words == (word("Dawn on."),)
    judge = Judge(running=True)
    known = Weighed((word("It's gone."),), cue=CueHeard("It's gone.", sound(4), {True: (), False: ()}))
    judge.judge(known)
    judge.running = True
    assert [w.text for w in judge.judge(doubtful).words] == ["It's", "gone."]


def test_breath_groups_are_counted_where_they_have_words() -> None:
    judge = Judge()
    heard = [judge.judge(Weighed(words)) for words in ((word("pale"),), (), (word("ruby"), word("core")))]
    assert [[w.utterance for w in each.words] for each in heard] == [[0], [], [1, 1]]


def test_what_was_heard_goes_from_process_to_process() -> None:
    weighed = short("Dawn on.", "it's gone")
    there = pickle.loads(pickle.dumps(weighed))
    assert Judge(running=True).judge(there) == Judge(running=True).judge(weighed)


@pytest.mark.model
def test_heard_in_spans_and_out_of_order_the_words_are_the_same(
    recogniser: WhisperRecogniser, reading: Recording
) -> None:
    """Spans begin where a window does."""
    stretches = find_speech(reading.samples)
    runs = in_windows(stretches)
    assert len(runs) > 1
    whole = recogniser.recognise(reading)

    found = {run: list(recogniser.weigh(reading.samples, run)) for run in reversed(runs)}
    judge = recogniser.judge()
    spans = pickle.loads(pickle.dumps([each for run in runs for each in found[run]]))
    heard = [judge.judge(each) for each in spans]
    assert joined(heard, reading.duration_s, recogniser=recogniser.name) == whole
