"""A session steered by voice alone, recognisers and all: paused, asked what is missing, put right."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import soundfile as sf
import soxr

from dictate.board import Board
from dictate.listen.folder import begin
from dictate.listen.rehearsal import Rehearsal
from dictate.listen.session import Session
from dictate.listen.story import News
from dictate.note import Note
from dictate.pipeline import notes_from_source, second_hearing
from dictate.settings import Settings
from tests.speech.voices import missing_for, say

VOICE = "flite:rms"
LINES = (
    "Next wine, number four.", "Lemon and honey on the nose.", "The acidity is low.", "Pause the notes.",
    "The acidity is medium.", "Resume the notes.", "No, make the acidity high.", "What's missing?",
    "It is a very good wine.", "It is a full bodied wine.",
    "Pause the notes.", "The kettle is on.", "Next wine, number five.",
)  # fmt: skip
RATE, LEVEL, GAP_S = 16000, 0.08, 1.3


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    if reason := missing_for(VOICE):
        pytest.skip(reason)
    rng = np.random.default_rng(3)
    parts = [np.zeros(RATE, np.float32)]
    for line in LINES:
        samples, rate = say(VOICE, line)
        sound = np.asarray(soxr.resample(samples, rate, RATE), np.float32)
        parts += [sound * LEVEL / np.sqrt(np.mean(sound**2)), np.zeros(round(GAP_S * RATE), np.float32)]
    mixed = np.concatenate(parts)
    path = tmp_path_factory.mktemp("said") / "control.wav"
    sf.write(path, mixed + rng.normal(size=len(mixed)).astype(np.float32) * 0.001, RATE)
    return path


def first(boards: list[Board], number: int) -> list[Board]:
    return [b for b in boards if b.number == number]


@pytest.mark.model
def test_paused_asked_and_put_right(recording: Path, tmp_path: Path) -> None:
    boards: list[Board] = []
    news: list[News] = []
    played: list[str] = []

    class Player:
        def play(self, kind: str) -> None:
            played.append(kind)

    with begin(tmp_path / "tasting") as opened:
        notes = Session(
            opened, Settings(), source=Rehearsal(recording, pace=1), show=boards.append, player=Player(),
            on_news=lambda item, _: news.append(item),
        ).run()  # fmt: skip
    told = [n.kind for n in news if n.sure and n.kind not in ("revoked", "unheard")]
    assert told == ["begin", "pause_on", "pause_off", "missing", "pause_on", "begin"]
    assert [n.ends_pause for n in news if n.kind == "begin" and n.sure] == [False, True]
    assert {"paused", "resumed", "next"} <= set(played)

    paused = [b for b in boards if b.mode == "paused"]
    assert paused
    assert all("medium" not in repr(b.filled) for b in paused)
    asked = [b for b in boards if b.ask_missing]
    assert asked
    assert all("acid" not in b.missing and {"colour", "how good"} <= set(b.missing) for b in asked[-1:])
    assert not any(b.ask_missing for b in boards if "very good" in b.last_heard.lower())
    changed = {c.what: (c.before, c.after) for b in boards for c in b.changed}
    assert set(changed) == {"mouth acidity"}
    before, after = changed["mouth acidity"]
    assert float(before) < float(after)
    assert any(b.notice for b in boards)
    check_notes(notes)


def check_notes(notes: tuple[Note, ...]) -> None:
    one, two = notes
    assert one.palate.acidity is not None
    assert one.palate.acidity.level >= 7
    asides = " ".join(a.text.lower() for a in one.asides)
    assert "is medium" in asides
    assert "kettle" in asides
    assert one.palate.body is not None  # what was said behind the question and the pause is noted
    assert (one.wine.position, two.wine.position) == (4, 5)
    assert two.asides == []


@pytest.mark.model
def test_dictate_note_obeys_the_same_cues(recording: Path) -> None:
    from dictate.recognise import find_listeners
    from dictate.recognise.whisper import WhisperRecogniser

    settings = Settings()
    recogniser = WhisperRecogniser(find_listeners(None), again=second_hearing(settings))
    check_notes(notes_from_source(recording, recogniser=recogniser, settings=settings))
