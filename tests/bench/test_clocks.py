"""The clocks' material tells the truth of its own samples, and the bench's judge finds what is wrong."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest

from dictate.values import Word
from tests.bench import clocks
from tests.bench.clock_heard import Job, Kept
from tests.bench.clock_judge import FoundCue, FoundFinish, Judged, heard_near, judge, plain_clock
from tests.bench.clock_report import share, spread
from tests.bench.clock_texts import TEXTS, Half
from tests.bench.clocks import APART_S, LONGEST_S, SHORTEST_S, Clock, Session, sessions, take
from tests.bench.surroundings import LOUDER_DB, impulse_response, in_room, pouring, with_pouring
from tests.speech import synth
from tests.speech.synth import RATE, Line

HALVES: tuple[Half, ...] = ("choose", "explore", "report")


def tone(voice: str, text: str, *, rate: int = RATE) -> np.ndarray:
    """A voice of tests: a tone as long as the text, behind silence that differs from text to text."""
    silence = np.zeros(len(text) % 7 * rate // 500, "float32")
    time = np.arange(round(len(text) * 0.06 * rate)) / rate
    return np.concatenate([silence, 0.1 * np.sin(2 * np.pi * 300 * time + 1)]).astype("float32")


@pytest.fixture
def toned(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(synth, "speech", tone)


def test_there_are_clocks_enough_always_the_same() -> None:
    assert len(sessions("report")) * clocks.CLOCKS >= 208
    for half in HALVES:
        assert sessions(half) == sessions(half)
        assert len({s.name for s in sessions(half)}) == len(sessions(half))


def test_the_halves_share_no_sentence_and_say_each_cue_as_often_as_asked() -> None:
    def sentences(half: Half) -> set[str]:
        texts = TEXTS[half]
        return {*texts.begins, *texts.tasting, *texts.remarks, *texts.after}

    for one, other in combinations(HALVES, 2):
        assert sentences(one).isdisjoint(sentences(other))
        shared = {"piper:joe"} if "explore" not in (one, other) else set()
        assert set(clocks.VOICES[one]) & set(clocks.VOICES[other]) == shared
    wines = [w for s in sessions("report") for w in s.wines]
    away, gone = Counter(w.away for w in wines), Counter(w.gone for w in wines)
    assert away["", "spitting now"] / len(wines) == pytest.approx(0.6, abs=0.01)
    assert gone["", "all gone"] / len(wines) == pytest.approx(0.35, abs=0.01)
    assert sum(not w.talk for w in wines) == len(wines) / 2
    assert sum("still there" in w.talk for w in wines) == pytest.approx(len(wines) / 6, abs=1)
    assert sum(w.length_s < np.sqrt(SHORTEST_S * LONGEST_S) for w in wines) == pytest.approx(
        len(wines) / 2, abs=1
    )


def is_silent(samples: np.ndarray, from_s: float, to_s: float) -> bool:
    return float(np.abs(samples[round(from_s * RATE) : round(to_s * RATE)]).max()) < 1e-6


@pytest.mark.usefixtures("toned")
@pytest.mark.parametrize("half", HALVES)
def test_a_cue_begins_where_the_samples_begin_to_sound(half: Half) -> None:
    for session in sessions(half)[:6]:
        made = take(session)
        cues = {(line.cue, line.start_s) for line in made.lines if line.cue}
        for clock, wine in zip(made.clocks, session.wines, strict=True):
            assert {("away", clock.away_s), ("gone", clock.gone_s)} <= cues
            for onset_s in (clock.away_s, clock.gone_s):
                assert is_silent(made.samples, onset_s - 0.1, onset_s)
                assert not is_silent(made.samples, onset_s, onset_s + 0.005)
            assert clock.seconds >= SHORTEST_S
            if not wine.talk:  # tones leave room for the shortest length drawn
                assert clock.seconds == pytest.approx(wine.length_s, abs=1 / RATE)


@pytest.mark.usefixtures("toned")
def test_what_is_said_while_the_clock_runs_lies_between_its_cues_and_apart() -> None:
    for session in sessions("choose")[:6]:
        made = take(session)
        for clock, wine in zip(made.clocks, session.wines, strict=True):
            inside = [n for n in made.lines if clock.away_s < n.start_s < clock.gone_s]
            fronts = [wine.gone[0]] if wine.gone[0] else []
            assert [n.say for n in inside] == [*wine.talk, *fronts]
            assert [n.cue for n in inside] == ["holding" if n.say == "still there" else None for n in inside]
            away = next(n for n in made.lines if n.start_s == clock.away_s)
            ends = [away.end_s, *(n.end_s for n in inside)]
            for end_s, line in zip(ends, inside, strict=False):
                assert line.start_s - end_s >= APART_S - 1e-3


@pytest.mark.voices
def test_a_real_voice_is_heard_from_the_true_onset_on() -> None:
    session = next(s for s in sessions("report") if s.voice == "flite:slt")
    made = take(session)
    for clock in made.clocks:
        for onset_s in (clock.away_s, clock.gone_s):
            at = round(onset_s * RATE)
            spans = ((at - 1600, at), (at, at + 320))
            before, behind = (np.sqrt(np.mean(made.samples[a:b] ** 2)) for a, b in spans)
            assert behind > 5 * before
            assert behind > 1e-3


@pytest.mark.usefixtures("toned")
def test_noise_lies_under_speech_as_far_as_asked_and_moves_nothing() -> None:
    session = sessions("choose")[0]
    made = take(session)
    loud = clocks.in_condition(made, session, condition="10") - made.samples
    soft = clocks.in_condition(made, session, condition="20") - made.samples
    said = np.concatenate([made.samples[round(n.start_s * RATE) : round(n.end_s * RATE)] for n in made.lines])
    snr_db = 10 * np.log10(np.mean(said**2) / np.mean(loud**2))
    assert snr_db == pytest.approx(10, abs=0.2)
    assert np.allclose(loud, soft * np.sqrt(10), atol=1e-4)


def test_pouring_is_never_much_louder_than_the_babble() -> None:
    babble = np.random.default_rng(1).normal(size=60 * RATE).astype("float32")
    for seed in range(5):
        poured = with_pouring(babble, seed=seed, spans=[(20.0, 30.0)]) - babble
        second = poured.reshape(-1, RATE)
        sounding = np.flatnonzero(np.abs(second).max(axis=1) > 0)
        assert 3 <= len(sounding) <= 8
        assert any(20 <= s <= 33 for s in sounding)
        per_pour = np.sqrt(np.sum(poured**2) / (3 * RATE))
        assert per_pour <= np.sqrt(2) * 10 ** (LOUDER_DB / 20) * 1.01


def test_pouring_rises_as_the_glass_fills() -> None:
    sound = pouring(3)
    power = [np.abs(np.fft.rfft(part)) ** 2 for part in (sound[:RATE], sound[-RATE:])]
    middle = [float(np.sum(p * np.arange(len(p))) / np.sum(p)) for p in power]
    assert middle[1] > 1.3 * middle[0]


def test_the_room_keeps_onsets_and_rings_for_four_tenths_of_a_second() -> None:
    answer = impulse_response()
    assert answer[0] == 1.0
    assert np.abs(answer).max() == 1.0
    left = np.cumsum((answer**2)[::-1])[::-1]
    decay_db = 10 * np.log10(left / left[0] + 1e-12)
    first, last = (int(np.argmax(decay_db < level)) for level in (-5, -35))  # ISO 3382's T30
    assert 2 * (last - first) / RATE == pytest.approx(0.4, abs=0.03)
    click = np.zeros(RATE, "float32")
    click[4000] = 0.5
    heard = in_room(click)
    assert int(np.abs(heard).argmax()) == 4000
    assert float(np.abs(heard[:3990]).max()) < 1e-4
    assert float(np.abs(heard[4100:]).max()) > 1e-3


CLOCK = Clock(10.0, 15.0, "spitting now", "all gone", "spitting now", "all gone", talk=False)
SECOND = replace(CLOCK, away_s=30.0, gone_s=50.0)
LINES = tuple(
    Line(say, "cue", cue, at_s, at_s + 0.8)
    for say, cue, at_s in (
        ("Next wine.", "begin", 2.0), ("lemon", None, 5.0), ("spitting now", "away", 10.0),
        ("all gone", "gone", 15.0), ("spitting now", "away", 30.0), ("all gone", "gone", 50.0),
    )
)  # fmt: skip
BEGIN = FoundCue("begin", "Next wine", 2.01, 1.0)


def judged(cues: list[FoundCue], finishes: list[FoundFinish]) -> Judged:
    return judge(LINES, (CLOCK, SECOND), voice="v", cues=cues, finishes=finishes)


def test_all_found_is_nothing_missed() -> None:
    found = judged(
        [
            BEGIN,
            *(FoundCue("away", "", s, 1.0) for s in (10.0, 30.01)),
            *(FoundCue("gone", "", s, 1.0) for s in (15.02, 49.4)),
        ],
        [FoundFinish(5.02, 10.0, 15.02, 0.9), FoundFinish(19.39, 30.01, 49.4, 0.2)],
    )
    assert all(c.found for c in found.cues)
    assert not found.false
    assert not found.imagined
    assert [c.error_s for c in found.clocks] == pytest.approx([0.02, 0.61])


def test_a_cue_too_far_off_or_of_another_kind_is_missed_and_false() -> None:
    found = judged(
        [
            BEGIN,
            FoundCue("away", "", 10.0, 1.0),
            *(FoundCue("gone", "", s, 1.0) for s in (15.8, 30.0)),
        ],
        [FoundFinish(5.8, 10.0, 15.8, 1.0)],
    )
    missed = [(c.line.cue, c.line.start_s) for c in found.cues if c.found is None]
    assert missed == [("gone", 15.0), ("away", 30.0), ("gone", 50.0)]
    assert [f.onset_s for f in found.false] == [15.8, 30.0]
    first, second = found.clocks
    assert first.away is not None
    assert first.gone is None
    assert first.error_s == pytest.approx(0.8)
    assert second.finish is None
    assert second.error_s is None


def test_one_found_cue_is_not_two_and_the_nearest_is_taken() -> None:
    lines = (LINES[2], replace(LINES[2], start_s=10.9))
    found = judge(lines, (), voice="v", cues=[FoundCue("away", "", 10.6, 1.0)], finishes=[])
    assert [c.found is None for c in found.cues] == [True, False]


def test_a_number_over_no_clock_is_imagined_and_one_over_two_counts_once() -> None:
    found = judged([], [FoundFinish(3.0, 20.0, 23.0, 1.0), FoundFinish(40.0, 10.0, 50.0, 1.0)])
    assert [f.seconds for f in found.imagined] == [3.0]
    assert [c.finish is None for c in found.clocks] == [True, False]


def test_the_plain_recognisers_words_are_looked_for_near_the_truth() -> None:
    words = [
        Word("All", 3.0, 3.2), Word("gone", 3.2, 3.5), Word("Spitting", 9.6, 10.2), Word("now.", 10.2, 10.5),
        Word("All", 14.5, 14.9), Word("gone.", 14.9, 15.3),
    ]  # fmt: skip
    assert plain_clock(CLOCK, words=words) == (9.6, 14.5)
    assert plain_clock(SECOND, words=words) == (None, None)
    assert plain_clock(replace(CLOCK, gone_cue="it's gone"), words=words) == (9.6, None)
    assert heard_near(words, 15.0) == "All (-0.5) gone. (-0.1)"
    assert heard_near(words, 25.0) == "nothing"


def test_figures_say_their_count() -> None:
    assert share(3, 208) == "3 of 208 = 1.4%"
    assert share(0, 0) == "0 of 0"
    assert spread([]) == "n 0"
    assert spread([0.01, 0.02, 0.5]) == "n 3, median 20 ms, 95 % 452 ms, max 500 ms"


def test_what_was_heard_is_kept_and_a_torn_line_is_heard_anew(tmp_path: Path) -> None:
    jobs = [Job(session, "clean") for session in sessions("choose")[:2]]
    kept = Kept(tmp_path)
    kept.put("plain", {"key": jobs[0].key, "words": [{"text": "Gone.", "start_s": 1.0, "end_s": 1.5}]})
    with (tmp_path / "plain.jsonl").open("a", encoding="utf-8") as file:
        file.write('{"key": "' + jobs[1].key)
    again = Kept(tmp_path)
    assert again.words("plain", jobs[0]) == (Word("Gone.", 1.0, 1.5),)
    assert again.wanted("plain", jobs[1])
    again.put("plain", {"key": jobs[1].key, "words": []})
    assert Kept(tmp_path).words("plain", jobs[1]) == ()
    assert Kept(tmp_path, again=["plain"]).wanted("plain", jobs[0])


def test_a_key_is_of_its_script() -> None:
    session = sessions("choose")[0]
    other: Session = replace(session, wines=(replace(session.wines[0], after="No."), *session.wines[1:]))
    assert Job(session, "clean").key != Job(other, "clean").key
