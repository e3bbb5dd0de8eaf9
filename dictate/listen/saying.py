"""What is to be seen while a breath group is still being said: the story, and what is sure of its words.

For the eye alone: nothing of it is written, told by a sound, or counts for what is derived later.
"""

from __future__ import annotations

from dataclasses import dataclass

from dictate.listen.asking import Growing
from dictate.listen.story import Story, is_paused, is_private
from dictate.note import Note


@dataclass(frozen=True, slots=True)
class Seen:
    """The open wine's note and how many wines there are since the last that closed; where the taster is; the
    words said last, nothing of what is off the record; whether that is what is being said; whether the notes
    are paused."""

    note: Note | None
    wines: int
    stage: str | None
    words: tuple[str, ...]
    private: bool
    paused: bool


class Saying:
    """A story, and the breath group that is being said."""

    def __init__(self, story: Story) -> None:
        self._story = story
        self._growing: Growing | None = None
        self._seen: Seen | None = None

    def grow(self, growing: Growing) -> None:
        """More of it is sure, or it was none."""
        self._growing = growing if growing.words else None
        self._seen = None

    def heard(self, number: int) -> None:
        """The story knows a breath group from an ear: it tells that one itself now."""
        self._seen = None
        if self._growing is not None and number >= self._growing.number:
            self._growing = None

    def seen(self) -> Seen:
        """What is to be seen now; derived once for each that is new."""
        if self._seen is None:
            self._seen = self._with_growing() or self._told()
        return self._seen

    def _told(self) -> Seen:
        story = self._story
        phrases = [p for p in story.now.phrases if p.cue is None]
        return Seen(
            story.open,
            len(story.now.notes),
            phrases[-1].stage if phrases else None,
            tuple(w.text for w in story.last_words),
            story.is_private,
            story.is_paused,
        )

    def _with_growing(self) -> Seen | None:
        growing, story = self._growing, self._story
        if growing is None:
            return None
        now = story.as_though(growing.number, growing.words)
        if now is None:
            return None
        private = (
            story.is_private
            or is_private(now.cues)
            or any(
                w.start_s <= end_s and start_s <= w.end_s
                for w in growing.words
                for start_s, end_s in now.private
            )
        )
        phrases = [p for p in now.phrases if p.cue is None]
        return Seen(
            now.notes[-1] if now.notes else None,
            len(now.notes),
            phrases[-1].stage if phrases else None,
            () if private else tuple(w.text for w in growing.words),
            private,
            is_paused(now.cues),
        )
