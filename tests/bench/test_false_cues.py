"""The bench of false cues: its material is whole, and it judges right. No speech, no weights."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import numpy as np
import pytest

from dictate.values import Cue, CueKind, Heard, Step, Word
from tests.bench.false_heard import Result, Results, notes_and_cues
from tests.bench.false_jobs import VOICES, said_jobs, sentences, silent_jobs
from tests.bench.false_judge import Judged, cues_in_text, judge, upper_bound, upper_rate
from tests.bench.unspoken import KINDS, unspoken
from tests.speech.synth import RATE, Line


@pytest.mark.parametrize("running", [False, True], ids=["still", "running"])
@pytest.mark.parametrize("say", [one.say for one in sentences()])
def test_no_sentence_is_a_cue(say: str, running: bool) -> None:
    assert not cues_in_text(say, running=running)


def test_a_cue_alone_is_found_in_its_text() -> None:
    assert [c.kind for c in cues_in_text("It's gone.", running=True)] == ["gone"]
    assert [c.kind for c in cues_in_text("Still there.", running=False)] == []


def test_material_is_whole() -> None:
    found = sentences()
    assert len({s.say.lower().strip(".?!") for s in found}) == len(found)
    holding = [s for s in found if s.holds]
    assert len(holding) >= 130
    counts = Counter(s.tempts for s in holding)
    assert set(counts) == {"gone", "holding", "away", "begin", "take_back", "private", "end"}
    assert min(counts.values()) >= 15
    assert all(s.clock is (s.tempts in ("gone", "holding")) for s in found)


def test_halves_share_no_sentence() -> None:
    choose, report = sentences("choose"), sentences("report")
    assert set(choose).isdisjoint(report)
    assert set(choose) | set(report) == set(sentences())
    assert {s.tempts for s in choose} == {s.tempts for s in report}


def test_each_sentence_is_said_once_by_each_voice_in_each_setting_and_condition() -> None:
    jobs = said_jobs(None, ("clean", "15"))
    said = Counter((s, j.voice, j.running, j.snr_db) for j in jobs for s in j.sentences)
    assert set(said.values()) == {1}
    assert len(said) == len(sentences()) * len(VOICES) * 4
    assert len({j.key for j in jobs}) == len(jobs)
    assert set(said_jobs("report", ("15",))) < set(jobs)
    limited = said_jobs(None, ("clean", "15"), limit=3)
    assert len(limited) == 3 * 2 * 2 * 2  # halves, settings, conditions
    assert set(limited) <= set(jobs)


def test_sound_without_speech_is_an_hour_and_at_its_level() -> None:
    jobs = silent_jobs()
    assert sum(j.part == "silent" for j in jobs) * 60 == 3600
    assert len({j.key for j in jobs}) == len(jobs)
    made = {kind: unspoken(kind, level_db=-35, seed=1, seconds=4) for kind in KINDS}
    for kind, samples in made.items():
        assert samples.shape == (4 * RATE,), kind
        assert np.isfinite(samples).all(), kind
        level = 20 * np.log10(np.sqrt(np.mean(samples**2)) + 1e-12)
        assert level < -60 if kind in ("digital silence", "faint hiss") else abs(level + 35) < 1.5, kind
    other = unspoken("band", level_db=-35, seed=2, seconds=4)
    assert not np.array_equal(made["band"], other)


LINES = (
    Line("Next wine, number two.", "cue", "begin", 0.8, 2.0),
    Line("Spitting now.", "cue", "away", 3.0, 3.8),
    Line("It's gone to a gold.", "sentence", None, 6.8, 8.0),
    Line("For the record.", "sentence", None, 11.0, 12.0),
    Line("All gone.", "cue", "gone", 15.0, 15.6),
)


def cue(kind: CueKind, at_s: float) -> Cue:
    return Cue(kind, (Word("x", at_s, at_s + 0.3),), at_s)


SCRIPT = (cue("begin", 0.9), cue("away", 3.1), cue("gone", 15.1))


def test_cues_of_the_script_are_not_false() -> None:
    assert judge(LINES, SCRIPT, running=True) == (
        Judged("It's gone to a gold.", (), True),
        Judged("For the record.", (), True),
    )


def test_a_cue_in_a_sentence_is_false_and_what_it_stopped_no_longer_counts() -> None:
    false = cue("gone", 6.7)
    gold, record = judge(LINES, (*SCRIPT[:2], false, SCRIPT[2]), running=True)
    assert (gold.false, gold.as_meant, gold.counts) == ((false,), True, True)
    assert (record.false, record.as_meant, record.counts) == ((), False, False)


def test_a_missed_away_cue_leaves_sentences_uncounted_unless_a_cue_is_found() -> None:
    false = cue("private_on", 11.5)
    gold, record = judge(LINES, (SCRIPT[0], false), running=True)
    assert not gold.counts
    assert record.counts
    assert record.false == (false,)


def test_a_second_cue_at_a_line_and_a_cue_in_a_pause_are_false() -> None:
    twice, pause = cue("gone", 15.3), cue("holding", 9.4)
    gold, record = judge(LINES, (*SCRIPT[:2], pause, SCRIPT[2], twice), running=True)
    assert gold.false == (pause,)
    assert record.false == ()


def test_with_no_clock_wanted_a_running_one_does_not_count() -> None:
    first, second = judge(LINES[2:4], (cue("away", 7.0),), running=False)
    assert first.counts
    assert first.false
    assert not second.counts


def test_upper_bounds_are_those_of_the_closed_forms() -> None:
    assert upper_bound(0, 500) == pytest.approx(1 - 0.05 ** (1 / 500))
    assert upper_bound(2, 100) == pytest.approx(0.0616, abs=2e-4)  # Clopper and Pearson, 1934, one side
    assert upper_bound(5, 5) == 1
    assert upper_rate(0, 2.0) == pytest.approx(-np.log(0.05) / 2)
    assert upper_rate(1, 1.0) == pytest.approx(4.744, abs=1e-3)  # half of chi-square 0.95 with 4 degrees


def test_results_are_kept_and_a_torn_line_is_heard_again(tmp_path: Path) -> None:
    step = Step(0, 1, ("x",), ("y",), 0.5, "sound")
    result = Result(Heard((Word("x", 0.0, 0.4),), 3.0, "made", again=(step,)), LINES, "code")
    results = Results(tmp_path)
    results.put("a", result)
    results.put("b", result)
    file = tmp_path / "false-cues.jsonl"
    file.write_text(file.read_text()[:-20])
    kept = Results(tmp_path)
    assert kept.get("a") == result
    assert kept.get("b") is None
    kept.put("c", result)
    assert Results(tmp_path).get("c") == result
    assert Results(tmp_path, again=True).get("a") is None


def test_cues_are_those_of_the_pipeline() -> None:
    texts = ("Spitting now.", "salt", "All gone.")
    words = tuple(
        Word(w, n * 4 + k * 0.4, n * 4 + k * 0.4 + 0.4, 1.0, n)
        for n, text in enumerate(texts)
        for k, w in enumerate(text.split())
    )
    notes, cues = notes_and_cues(Heard(words, 12.0, "made"))
    assert [c.kind for c in cues] == ["away", "gone"]
    assert notes[0].finish.seconds == pytest.approx(8.0)
    assert notes_and_cues(Heard((), 60.0, "made")) == ((), ())
