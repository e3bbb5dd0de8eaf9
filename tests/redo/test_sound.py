"""Recordings heard again: by ears that hear otherwise than before, and by the real one."""

from __future__ import annotations

import signal
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from dictate import cli
from dictate.audio.recording import Recording
from dictate.commands.note import LateRecogniser
from dictate.form import Put, Vocabulary, amended
from dictate.library import REVIEWED, Library
from dictate.listen.eventlog import Began, EventLog, GapEvent
from dictate.note import Level, MadeWith, Note, as_document
from dictate.pipeline import notes_from_source
from dictate.recognise import Weights, weights
from dictate.redo import Hear, Outcome, gathered, redo_source
from dictate.settings import Settings
from dictate.values import Heard
from tests.build import words

ROOT = Path(__file__).parents[2]
PRESENT = MadeWith(program="9.0", model="told", lexicon="new")
Said = Sequence[tuple[str, float]]
WINE: Said = (
    ("next wine, number one, Riesling", 1.0),
    ("lime on the nose", 5.0),
    ("the acidity is high", 20.0),
)
PRIVATE: Said = (("off the record", 8.0), ("he owes me money", 10.0), ("back on the record", 14.0))


class Told:
    """Ears that hear what they are told: the real ones mishear no cue when it is wanted."""

    def __init__(self, *said: tuple[str, float], meanwhile: Callable[[], None] = lambda: None) -> None:
        self.name, self.meanwhile, self.times = "told", meanwhile, 0
        ordered = enumerate(sorted(said, key=lambda each: each[1]))
        self._words = tuple(w for n, (text, at) in ordered for w in words(text, at=at, utterance=n))

    def recognise(self, recording: Recording, *, progress: Callable[[float], None] | None = None) -> Heard:
        self.times += 1
        self.meanwhile()
        return Heard(self._words, recording.duration_s, self.name)


@pytest.fixture
def sound(tmp_path: Path) -> Path:
    """A quiet room, and a tone where the two cues of the clock begin."""
    samples = np.random.default_rng(1).normal(0, 1e-3, 16_000 * 40)
    for at in (22.05, 31.1):
        first = round(at * 16_000)
        samples[first : first + 9_600] += 0.3 * np.sin(np.arange(9_600) * 0.2)
    path = tmp_path / "tank.wav"
    soundfile.write(path, samples, 16_000, subtype="PCM_16")
    return path


@pytest.fixture
def library(own_home: Path) -> Path:
    return own_home / "library.sqlite"


def older(note: Note) -> Note:
    return note.model_copy(update={"made_with": MadeWith(program="0.0.1", model="older", lexicon="0ld")})


def put_in(library: Path, sound: Path, ears: Any) -> None:
    with Library.open(library) as opened:
        opened.add_all(older(n) for n in notes_from_source(sound, recogniser=ears, settings=Settings()))


def redo(library: Path, ears: Any, **more: Any) -> Outcome:
    with Library.open(library) as opened:
        choice = gathered(opened, PRESENT, hears=more.get("by", "sound") == "sound")
        (source,) = choice.sources
        return redo_source(source, opened, hear=Hear(Settings(), recogniser=ears, **more))


def kept(library: Path) -> str:
    """All that the library's file holds, as text."""
    with Library.open(library) as opened:
        notes = [n for hit in opened.find().hits for _, n in opened.in_effect(str(hit.number))]
        return " ".join(str(as_document(note)) for note in notes)


def test_what_was_off_the_record_stays_out_however_it_is_heard_now(library: Path, sound: Path) -> None:
    put_in(library, sound, Told(*WINE, *PRIVATE))
    misheard = (("of the wreck", 8.0), ("he owes me money", 10.0), ("pack on the rack", 14.0))
    (redone,) = redo(library, Told(*WINE, *misheard)).redone
    assert "money" not in kept(library)
    assert "money" not in str(redone)
    assert "wreck" not in kept(library)
    assert redone.note.palate.acidity is not None, "what was said behind it is there"
    assert "off the record" in " ".join(p.text for p in redone.note.transcript)
    for file in library.parent.rglob("*.sqlite*"):
        assert b"money" not in file.read_bytes()


def test_what_is_heard_as_off_the_record_now_goes_too(library: Path, sound: Path) -> None:
    misheard = (("of the wreck", 8.0), ("he owes me money", 10.0), ("pack on the rack", 14.0))
    put_in(library, sound, Told(*WINE, *misheard))
    (redone,) = redo(library, Told(*WINE, *PRIVATE)).redone
    assert "money" not in " ".join(p.text for p in redone.note.transcript)


def test_of_a_note_that_was_removed_it_stays_out_too(library: Path, sound: Path) -> None:
    second: Said = (("next wine, number two, Merlot", 25.0), ("plum on the nose", 29.0))
    put_in(library, sound, Told(*WINE, *PRIVATE, *second))
    with Library.open(library) as opened:
        opened.remove(["1"])
    outcome = redo(library, Told(*WINE, ("he owes me money", 10.0), *second))
    assert [r.number for r in outcome.redone] == [2]
    assert outcome.problems == ()
    assert "money" not in kept(library)


def test_what_a_hand_changed_while_it_was_heard_is_kept(library: Path, sound: Path) -> None:
    put_in(library, sound, Told(*WINE))

    def by_hand() -> None:
        with Library.open(library) as opened:
            made = amended(opened.get("1"), Put("palate.acidity", "3"), known=Vocabulary(), when="2026")
            opened.change(1, made, revision=1, why=REVIEWED)

    (redone,) = redo(library, Told(*WINE[:2], ("the acidity is low", 20.0), meanwhile=by_hand)).redone
    assert redone.note.palate.acidity is not None
    assert redone.note.palate.acidity.level == 3
    (field,) = redone.difference.of_kind("conflict")
    assert field.path == "palate.acidity"


def test_a_note_removed_while_it_was_heard_stays_removed(library: Path, sound: Path) -> None:
    put_in(library, sound, Told(*WINE))

    def remove() -> None:
        with Library.open(library) as opened:
            opened.remove(["1"])

    outcome = redo(library, Told(*WINE, ("next wine, number two, Merlot", 25.0), meanwhile=remove))
    assert outcome.redone == ()
    with Library.open(library) as opened:
        assert opened.find().total == 0


CLOCK: Said = (("spitting now", 22.0), ("it's gone", 31.0))


def test_words_alone_leave_the_clock_as_the_sound_told_it(library: Path, sound: Path) -> None:
    put_in(library, sound, Told(*WINE, *CLOCK))
    with Library.open(library) as opened:
        note = opened.get("1")
        timed = note.finish.model_copy(
            update={"seconds": 9.21, "from_s": 21.9, "to_s": 31.11, "confidence": 0.8}
        )
        opened.add(note.model_copy(update={"finish": timed}))
    (redone,) = redo(library, None, by="words").redone
    assert redone.note.finish == timed
    assert redone.note.made_with is not None
    assert (redone.note.made_with.program, redone.note.made_with.model) == ("0.1.0", "older")
    assert [f for f in redone.difference.fields if f.path.startswith("finish")] == []


@pytest.mark.parametrize("there", [True, False])
def test_a_clock_that_words_tell_anew_is_read_in_the_sound_or_is_about(
    library: Path, sound: Path, there: bool
) -> None:
    """The older program took neither cue for one."""
    put_in(library, sound, Told(*WINE, *CLOCK))
    with Library.open(library) as opened:
        note = opened.get("1")
        opened.add(note.model_copy(update={"finish": type(note.finish)()}))
    if not there:
        sound.unlink()
    (redone,) = redo(library, None, by="words").redone
    finish = redone.note.finish
    assert finish.seconds == pytest.approx(9.05 if there else 9.0, abs=0.015)
    assert finish.confidence is not None
    assert (finish.confidence > 0.5) is there


@pytest.mark.parametrize("lost", [True, False])
def test_where_a_session_lost_sound_is_known_from_its_log(
    library: Path, tmp_path: Path, sound: Path, lost: bool
) -> None:
    folder = tmp_path / "session"
    folder.mkdir()
    session = sound.rename(folder / "recording.wav")
    put_in(library, session, Told(*WINE, *CLOCK))
    with EventLog(folder / "session.jsonl") as log:
        log.append(Began(when="2026-03-01T10:00:00+00:00", program="0.0.1"))
        if lost:
            log.append(GapEvent(at_s=25.0, seconds=2.0, reason="device"))
    finish = redo(library, Told(*WINE, *CLOCK)).redone[0].note.finish
    assert finish.confidence is not None
    assert (finish.confidence < 0.5) is lost


def test_ctrl_c_ends_between_recordings_and_the_same_command_goes_on(
    library: Path, sound: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    other = tmp_path / "vat.wav"
    soundfile.write(other, np.random.default_rng(2).normal(0, 1e-3, 16_000 * 40), 16_000, subtype="PCM_16")
    for path in (sound, other):
        put_in(library, path, Told(*WINE))
    ears = Told(*WINE, meanwhile=lambda: signal.raise_signal(signal.SIGINT) if ears.times == 1 else None)
    monkeypatch.setattr(LateRecogniser, "_load", lambda self: ears)
    monkeypatch.setattr(LateRecogniser, "name", ears.name)
    assert cli.main(["redo", "--yes"]) == 130
    told = capsys.readouterr().err.splitlines()
    assert [line.partition(":")[2].partition(";")[0] for line in told] == [
        " stopping when this recording is done", " 1 of 2 recordings done, about a minute left",
        " stopped",
    ]  # fmt: skip
    assert "1 recording left; the same command goes on" in told[-1]
    assert cli.main(["redo", "--yes"]) == 0
    assert "1 note of 1 recording to make again" in capsys.readouterr().out
    assert ears.times == 2
    assert cli.main(["redo", "--yes"]) == 0
    assert ears.times == 2


@pytest.mark.parametrize("handler", [signal.default_int_handler, signal.SIG_IGN], ids=["usual", "ignored"])
def test_a_second_ctrl_c_leaves_the_recording_at_work_as_it_was(
    library: Path, sound: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any, handler: Any
) -> None:
    """Also in a program that was started with Ctrl-C ignored, behind `&` in a script."""
    put_in(library, sound, Told(*WINE))
    before = signal.signal(signal.SIGINT, handler)

    def twice() -> None:
        signal.raise_signal(signal.SIGINT)
        signal.raise_signal(signal.SIGINT)

    monkeypatch.setattr(LateRecogniser, "_load", lambda self: Told(*WINE, meanwhile=twice))
    monkeypatch.setattr(LateRecogniser, "name", "told")
    try:
        assert cli.main(["redo", "--yes"]) == 130
    finally:
        signal.signal(signal.SIGINT, before)
    assert "the same command goes on" in capsys.readouterr().err
    with Library.open(library) as opened:
        assert len(opened.revisions("1")) == 1


def test_no_weights_are_loaded_to_know_their_name(
    library: Path, sound: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    put_in(library, sound, Told(*WINE))
    monkeypatch.setattr(
        "dictate.commands.note.find_listeners", lambda _: (Weights("small", sound, "option"),)
    )
    monkeypatch.setattr(weights, "has_cuda", lambda: False)
    monkeypatch.delattr(LateRecogniser, "_load")
    assert cli.main(["redo", "--look", "--as", "json"]) == 0
    assert "→ whisper-small int8" in capsys.readouterr().out


def test_without_weights_a_recording_is_told_and_its_note_stays(
    library: Path, sound: Path, tmp_path: Path, capsys: Any
) -> None:
    put_in(library, sound, Told(*WINE))
    assert cli.main(["redo", "--yes", "--model", str(tmp_path / "nowhere")]) == 2
    assert "--model" in capsys.readouterr().err
    with Library.open(library) as opened:
        assert len(opened.revisions("1")) == 1


@pytest.mark.model
def test_the_real_ear_hears_a_recording_again(
    library: Path, tmp_path: Path, recogniser: Any, monkeypatch: pytest.MonkeyPatch, capsys: Any
) -> None:
    whole = ROOT / "audio_demo" / "after-lunch.flac"
    samples, rate = soundfile.read(whole, dtype="float32", stop=16_000 * 6)
    path = tmp_path / "piece.wav"
    soundfile.write(path, samples, rate)
    made = notes_from_source(path, recogniser=recogniser, settings=Settings())
    assert made[0].transcript
    with Library.open(library) as opened:
        opened.add_all(replace_levels(older(note)) for note in made)
    monkeypatch.setattr(LateRecogniser, "_load", lambda self: recogniser)
    monkeypatch.setattr(LateRecogniser, "name", recogniser.name)
    assert cli.main(["redo", "--yes"]) == 0
    with Library.open(library) as opened:
        for place, note in enumerate(made, 1):
            again = opened.get(str(place))
            assert again.recording == note.recording
            assert again.model_copy(update={"made_with": None}) == note.model_copy(update={"made_with": None})
            assert again.made_with is not None
            assert again.made_with.model == recogniser.name
    assert "Read otherwise: depth: 9.5" in capsys.readouterr().out
    assert cli.main(["redo"]) == 0
    assert "Nothing to make again" in capsys.readouterr().out


def replace_levels(note: Note) -> Note:
    look = note.appearance.model_copy(update={"depth": Level(level=9.5)})
    return note.model_copy(update={"appearance": look})
