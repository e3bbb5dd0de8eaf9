"""Made tastings whose finish clocks are known to the sample: the material of bench_clock.py.

A session is one recording of one voice with four wines: "Next wine, number N, a GRAPE", a tasting sentence
or two, the away cue, talk or none, the gone cue, a remark or none. All is drawn from a seed. The half
"choose" is for looking at and choosing by, and so is "explore", which widens it; "report" is for figures. No
sentence (but for the cues) and no voice stands in two of them, but for piper:joe, of which there is no second
of its kind.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256
from typing import Literal, TypeVar

import numpy as np

from tests.bench.clock_texts import AWAY, GONE, HOLDING, TEXTS, Half, Texts
from tests.bench.surroundings import in_room, with_pouring
from tests.speech import synth
from tests.speech.synth import RATE, Line

Condition = Literal["clean", "20", "15", "10", "room"]
CONDITIONS: tuple[Condition, ...] = ("clean", "20", "15", "10", "room")
VOICES: dict[Half, tuple[str, ...]] = {
    "choose": ("piper:joe", "kokoro:jf_alpha@en-gb-x-rp", "flite:rms", "kokoro:jm_kumo@en-gb-x-rp"),
    "explore": (
        "kokoro:jf_gongitsune@en-us", "flite:kal16", "kokoro:jf_nezumi@en-us",
        "kokoro:jf_tebukuro@en-gb-x-rp", "kokoro:jf_alpha@en-us", "kokoro:jf_gongitsune@en-gb-x-rp",
    ),
    "report": (
        "flite:slt", "kokoro:jf_tebukuro@en-us", "flite:awb", "kokoro:jf_nezumi@en-gb-x-rp", "piper:joe",
        "kokoro:jm_kumo@en-us",
    ),
}  # fmt: skip
SESSIONS: dict[Half, int] = {"choose": 26, "explore": 24, "report": 52}  # report alone has its 200 clocks
CLOCKS = 4  # in a session
SHORTEST_S, LONGEST_S = 2.5, 45.0  # of a finish, onset to onset
APART_S = 0.6  # silence between two things said while the clock runs, at least
BABBLERS = ("flite:rms", "flite:slt", "flite:awb", "piper:joe")  # quick to make
VERSION = 1  # raise it when the sound of a session changes: kept results are then of another key
_Option = TypeVar("_Option")


@dataclass(frozen=True, slots=True)
class Wine:
    """What is said of one wine, and its clock. A cue is (words in front, the cue itself)."""

    begin: str
    tasting: tuple[str, ...]
    away: tuple[str, str]
    talk: tuple[str, ...]
    gone: tuple[str, str]
    after: str  # "": nothing
    length_s: float  # drawn; the talk may need more


@dataclass(frozen=True, slots=True)
class Session:
    """One recording's script."""

    half: Half
    number: int
    voice: str
    wines: tuple[Wine, ...]

    @property
    def name(self) -> str:
        """Names the script: of another text, voice or length it is another."""
        print_of = sha256(f"{VERSION}|{self.voice}|{self.wines}".encode()).hexdigest()[:8]
        return f"{self.half}-{self.number:02}-{print_of}"

    @property
    def texts(self) -> tuple[str, ...]:
        """All that the voice has to say, each once."""
        said = (t for w in self.wines for t in (w.begin, *w.tasting, *w.away, *w.talk, *w.gone, w.after))
        return tuple(dict.fromkeys(t for t in said if t))


@dataclass(frozen=True, slots=True)
class Clock:
    """One finish as it truly is: onsets of the cues' first words, seconds into the recording."""

    away_s: float
    gone_s: float
    away: str  # as said, words in front with it
    gone: str
    away_cue: str  # the cue alone
    gone_cue: str
    talk: bool  # something was said between

    @property
    def seconds(self) -> float:
        """Onset to onset."""
        return self.gone_s - self.away_s


@dataclass(frozen=True, slots=True)
class Take:
    """A session as sound: samples (n,) at 16 kHz, what is said when, and the true clocks. Of a line with a
    cue `start_s` is the onset of its sound."""

    samples: np.ndarray
    lines: tuple[Line, ...]
    clocks: tuple[Clock, ...]


def sessions(half: Half) -> tuple[Session, ...]:
    """The half's scripts, always the same: shares of phrases and of lengths are kept exactly (as near as
    the count allows), their order is drawn."""
    chance = random.Random(f"clocks {half}")
    texts, voices, count = TEXTS[half], VOICES[half], SESSIONS[half] * CLOCKS
    away, gone = _deck(AWAY, count, chance), _deck(GONE, count, chance)
    talks = _deck([(0, 4), (1, 1), (2, 1), (3, 1), (4, 1)], count, chance)
    holding = _deck([(True, 1), (False, 2)], sum(map(bool, talks)), chance)
    after = _deck([(True, 1), (False, 1)], count, chance)
    spread = [SHORTEST_S * (LONGEST_S / SHORTEST_S) ** ((n + chance.random()) / count) for n in range(count)]
    chance.shuffle(spread)
    made: list[Session] = []
    for number in range(SESSIONS[half]):
        own = _own_texts(texts, number % len(voices))
        wines = []
        for place in range(CLOCKS):
            n = number * CLOCKS + place
            talk = chance.sample(own.remarks, talks[n])
            if talk and holding.pop():
                talk[chance.randrange(len(talk))] = HOLDING
            tasting = chance.sample(own.tasting, chance.randint(1, 2))
            remark = chance.choice(own.after) if after[n] else ""
            wines.append(
                Wine(texts.begins[place], tuple(tasting), away[n], tuple(talk), gone[n], remark, spread[n])
            )
        made.append(Session(half, number, voices[number % len(voices)], tuple(wines)))
    return tuple(made)


def _deck(options: Sequence[tuple[_Option, float]], count: int, chance: random.Random) -> list[_Option]:
    """`count` cards of options with their shares, shuffled."""
    whole = sum(share for _, share in options)
    cards = []
    for n in range(count):
        place, at = (n + 0.5) / count * whole, 0
        while place > options[at][1] and at < len(options) - 1:
            place -= options[at][1]
            at += 1
        cards.append(options[at][0])
    chance.shuffle(cards)
    return cards


def _own_texts(texts: Texts, voice: int) -> Texts:
    """Two thirds of the sentences for each voice: the Kokoro voices take 4 s of a core for one."""
    return replace(
        texts,
        tasting=tuple(t for n, t in enumerate(texts.tasting) if (n + voice) % 3),
        remarks=tuple(t for n, t in enumerate(texts.remarks) if (n + voice) % 3),
        after=tuple(t for n, t in enumerate(texts.after) if (n + voice) % 3),
    )


def begins(spoken: np.ndarray) -> int:
    """The sample at which a cut piece of speech begins: the first 2 ms as loud as the hundredth of a second
    at which `synth.speech` cuts (2 % of the loudest, -34 dB)."""
    step, frame = RATE // 500, RATE // 100
    square = np.asarray(spoken, "float64") ** 2
    loudest = square[: len(square) // frame * frame].reshape(-1, frame).mean(axis=1).max()
    short = square[: len(square) // step * step].reshape(-1, step).mean(axis=1)
    return int(np.argmax(short > loudest * 0.02**2)) * step


class _Tape:
    """Speech put one after another; `end` is the sample behind the last."""

    def __init__(self, voice: str) -> None:
        self.voice, self.end = voice, round(0.8 * RATE)
        self.parts: list[tuple[int, np.ndarray]] = []
        self.lines: list[Line] = []

    def say(self, text: str, stage: str, *, gap: int, cue: str | None = None) -> int:
        """Says a text `gap` samples behind the last; returns the sample at which its sound begins."""
        spoken = synth.speech(self.voice, text)
        start = self.end + gap
        onset = start + begins(spoken)
        self.end = start + len(spoken)
        self.parts.append((start, spoken))
        self.lines.append(Line(text, stage, cue, (onset if cue else start) / RATE, self.end / RATE))
        return onset

    def samples(self) -> np.ndarray:
        """All of it and a second of silence."""
        samples = np.zeros(self.end + RATE, "float32")
        for start, spoken in self.parts:
            samples[start : start + len(spoken)] += spoken
        return samples


def take(session: Session) -> Take:
    """The session as sound, clean. Its voice must be installed."""
    chance = random.Random(f"take {session.half} {session.number}")
    tape, clocks = _Tape(session.voice), []

    def gap(low_s: float, high_s: float) -> int:
        return round(chance.uniform(low_s, high_s) * RATE)

    for place, wine in enumerate(session.wines):
        tape.say(wine.begin, "identity", gap=gap(0.9, 2.0) if place else 0, cue="begin")
        for text in wine.tasting:
            tape.say(text, "palate", gap=gap(0.6, 1.6))
        clocks.append(_clock(tape, wine, chance))
        if wine.after:
            tape.say(wine.after, "verdict", gap=gap(0.6, 1.5))
    return Take(tape.samples(), tuple(tape.lines), tuple(clocks))


def _clock(tape: _Tape, wine: Wine, chance: random.Random) -> Clock:
    front, cue = wine.away
    wait = round(chance.uniform(0.5, 1.5) * RATE)
    if front:
        tape.say(front, "palate", gap=wait)
        wait = round(chance.uniform(0.12, 0.3) * RATE)
    away = tape.say(cue, "cue", gap=wait, cue="away")
    front, cue = wine.gone
    close = round(chance.uniform(0.12, 0.3) * RATE) if front else 0
    before = len(synth.speech(tape.voice, front)) + close if front else 0
    lead = before + begins(synth.speech(tape.voice, cue))  # from the first thing's start to the onset
    least = round(APART_S * RATE)
    talk = sum(len(synth.speech(tape.voice, t)) + least for t in wine.talk)
    gone_wanted = max(away + round(wine.length_s * RATE), tape.end + talk + least + lead)
    spare = gone_wanted - lead - tape.end - talk - least
    cuts = sorted(chance.randint(0, spare) for _ in wine.talk)
    for text, a, b in zip(wine.talk, [0, *cuts], cuts, strict=False):
        holding = "holding" if text == HOLDING else None
        tape.say(text, "finish", gap=least + b - a, cue=holding)
    wait = gone_wanted - lead - tape.end
    if front:
        tape.say(front, "finish", gap=wait)
        wait = close
    gone = tape.say(cue, "cue", gap=wait, cue="gone")
    return Clock(
        away / RATE,
        gone / RATE,
        away=" ".join(wine.away).strip(),
        gone=" ".join(wine.gone).strip(),
        away_cue=wine.away[1],
        gone_cue=wine.gone[1],
        talk=bool(wine.talk),
    )


def in_condition(made: Take, session: Session, *, condition: Condition) -> np.ndarray:
    """The samples (n,) of a take under a condition; all times stay. With noise, the whole of it (babble,
    clinks, pouring) lies that many dB below the power of the speech."""
    if condition == "clean":
        return made.samples
    if condition == "room":
        return in_room(made.samples)
    seed = int.from_bytes(sha256(session.name.encode()).digest()[:4], "big")
    others = [v for v in BABBLERS if v != session.voice]
    noise = synth.room_noise(len(made.samples), seed=seed, voices=others)
    spans = [(c.away_s, c.gone_s) for c in made.clocks]
    noise = with_pouring(noise, seed=seed, spans=spans)
    return synth.with_noise(made.samples, noise, snr_db=float(condition), lines=made.lines)


def speech_wanted(chosen: Sequence[Session], *, noisy: bool) -> Iterator[tuple[str, str]]:
    """(voice, text) of all speech that the sessions are made of, each once, quick voices first."""
    wanted = {(s.voice, text) for s in chosen for text in s.texts}
    if noisy:
        wanted |= {(voice, text) for voice in BABBLERS for text in synth.BABBLE}
    yield from sorted(wanted)
