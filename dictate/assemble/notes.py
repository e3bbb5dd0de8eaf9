"""Readings, phrases and cues to finished notes, one a wine. Nothing said is lost."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from dictate.assemble.draft import Draft
from dictate.assemble.finish import Clock, read_clock, stated_beside_timed, timed_finish
from dictate.assemble.infer import infer_wine
from dictate.language.tokens import spoken_text
from dictate.lexicon.entries import Lexicon
from dictate.note import (
    SECTIONS,
    Change,
    MadeWith,
    Note,
    Recording,
    Text,
    TranscriptPhrase,
    TranscriptWord,
)
from dictate.values import Phrase, Reading


def _text(phrase: Phrase) -> Text:
    said = spoken_text(phrase.words)
    sure = min((w.confidence for w in phrase.words), default=1.0)
    return Text(text=said, said=said, at=_span(phrase), confidence=min(1.0, max(0.0, sure)))


def _span(phrase: Phrase) -> tuple[float, float]:
    return phrase.words[0].start_s, max(phrase.words[-1].end_s, phrase.words[0].start_s)


def _transcribed(phrase: Phrase) -> TranscriptPhrase:
    words = [
        TranscriptWord(
            text=w.text, at=(w.start_s, max(w.start_s, w.end_s)),
            confidence=min(1.0, max(0.0, w.confidence)), heard=w.heard,
        )
        for w in phrase.words
    ]  # fmt: skip
    return TranscriptPhrase(
        text=" ".join(w.text for w in phrase.words), at=_span(phrase), stage=phrase.stage, words=words
    )


def _taken_back(phrases: Sequence[Phrase]) -> list[Change]:
    return [
        Change(
            when=f"{p.words[0].start_s:.2f} s into the recording", field="transcript",
            before=spoken_text(p.words), after=None, said="strike that",
        )
        for p in phrases
        if p.taken_back and (p.cue is None or p.cue.kind == "holding")
    ]  # fmt: skip


def _finish(draft: Draft, clock: Clock) -> list[Change]:
    """Timed wins over stated, which the history (given back) keeps; words alone make it described."""
    changes: list[Change] = []
    timed = timed_finish(clock)
    if timed:
        stated = draft.values.pop("finish.seconds", None)
        if stated is not None:
            reading, _ = draft.steps["finish.seconds", ""][-1]
            words = draft.phrases[reading.phrase].words[reading.first : reading.last]
            changes.append(stated_beside_timed(stated, timed["seconds"], words=words))
        draft.values.update({f"finish.{k}": v for k, v in timed.items()})
    elif "finish.seconds" in draft.values:
        draft.values["finish.how"] = "stated"
    elif "finish.length" in draft.values or draft.lists.get("finish.flavours"):
        draft.values["finish.how"] = "described"
    return changes


def _sections(draft: Draft) -> dict[str, Any]:
    made: dict[str, dict[str, Any]] = {s: {} for s in SECTIONS}
    for path, value in draft.values.items():
        section, name = path.split(".")
        made[section][name] = value
    for path, items in draft.lists.items():
        if "." in path:
            section, name = path.split(".")
            made[section][name] = list(items.values())
    return made


def _note(
    wine: int, phrases: Sequence[Phrase], readings: Sequence[Reading], *, lexicon: Lexicon,
    recording: Recording, made_with: MadeWith,
) -> Note:  # fmt: skip
    draft = Draft(phrases)
    for reading in readings:
        draft.fold(reading)
    clock = read_clock(phrases)
    beside = _finish(draft, clock)
    infer_wine(draft, lexicon)
    unread = [
        p for i, p in enumerate(phrases)
        if p.cue is None and not p.taken_back and i not in draft.fed
    ]  # fmt: skip
    changes = sorted(
        [*draft.history(), *beside, *clock.changes, *_taken_back(phrases)],
        key=lambda c: float(c.when.split()[0]),
    )
    # an onset found in the samples may lie a little outside the word's own times
    onsets = [p.cue.onset_s for p in phrases if p.cue]
    span = (
        min([phrases[0].words[0].start_s, *onsets]),
        max([*(p.words[-1].end_s for p in phrases), *onsets]),
    )
    return Note(
        id=f"{recording.sha256[:16] or 'typed'}-{wine + 1}",
        **_sections(draft),
        faults=list(draft.lists.get("faults", {}).values()),
        remarks=[_text(p) for p in unread if p.stage != "aside"],
        asides=[_text(p) for p in unread if p.stage == "aside"],
        transcript=[_transcribed(p) for p in phrases],
        # made anew, not copied: a copy would not be rounded
        recording=Recording(path=recording.path, sha256=recording.sha256, start_s=span[0], end_s=span[1]),
        made_with=made_with,
        history=changes,
    )


def assemble_notes(
    readings: Sequence[Reading], phrases: Sequence[Phrase], *, lexicon: Lexicon, recording: Recording,
    made_with: MadeWith,
) -> tuple[Note, ...]:  # fmt: skip
    """One note a wine, in order. Each phrase feeds a field, remarks or asides; a cue or a phrase
    taken back stays in the transcript, and the history tells of corrections. A recording in which
    nothing was said of a wine and no cue began one still gives its words as one note."""
    by_wine: dict[int, list[int]] = {}
    for place, phrase in enumerate(phrases):
        by_wine.setdefault(phrase.wine, []).append(place)
    read: dict[int, list[Reading]] = {}
    for reading in readings:
        read.setdefault(phrases[reading.phrase].wine, []).append(reading)
    notes = []
    for wine, places in sorted(by_wine.items()):
        mine = [phrases[i] for i in places]
        if all(p.cue is not None and p.cue.kind == "end" for p in mine):
            continue
        local = {place: i for i, place in enumerate(places)}
        own = [replace(r, phrase=local[r.phrase]) for r in read.get(wine, ())]
        notes.append(_note(wine, mine, own, lexicon=lexicon, recording=recording, made_with=made_with))
    return tuple(notes)
