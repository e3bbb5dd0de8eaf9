"""Which words were put right in notes. Pure."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from dictate.batch.manifest import Repaired
from dictate.note import Note, TranscriptWord

_MARKS = '.,;:!?…“”"()'


def repaired_in(notes: Iterable[Note]) -> tuple[Repaired, ...]:
    """What was heard and what is written in its place, the most often first; marks and capitals apart."""
    counted = Counter(pair for note in notes for phrase in note.transcript for pair in _pairs(phrase.words))
    return tuple(Repaired(heard, written, times) for (heard, written), times in _in_order(counted))


def together(many: Iterable[tuple[Repaired, ...]]) -> tuple[Repaired, ...]:
    """Those of several recordings as one."""
    counted: Counter[tuple[str, str]] = Counter()
    for each in many:
        counted.update({(r.heard, r.written): r.times for r in each})
    return tuple(Repaired(heard, written, times) for (heard, written), times in _in_order(counted))


def _in_order(counted: Counter[tuple[str, str]]) -> list[tuple[tuple[str, str], int]]:
    return sorted(counted.items(), key=lambda item: (-item[1], item[0]))


def _pairs(words: Iterable[TranscriptWord]) -> Iterator[tuple[str, str]]:
    """Runs of words that were put in place together: the first tells what was heard, the others "" do."""
    heard, written = "", list[str]()
    for word in words:
        if word.heard == "" and written:
            written.append(word.text)
            continue
        yield from _pair(heard, written)
        heard, written = word.heard or "", [word.text] if word.heard else []
    yield from _pair(heard, written)


def _pair(heard: str, written: list[str]) -> Iterator[tuple[str, str]]:
    before, after = (" ".join(text.lower().split()).strip(_MARKS) for text in (heard, " ".join(written)))
    if before and after and before != after:
        yield before, after
