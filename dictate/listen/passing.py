"""What the board shows for a while and then no more: an answer, what a correction changed. Pure.

Times are seconds of any one clock that goes on while nothing is recorded.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from dictate.note import LISTED, NEVER_STOPPED, STATED_DIFFERS, Change, Note

SHOWN_S = 8.0  # time to look up from the glass and read
PAUSE_OVER = "The pause is over: next wine."

_Key = tuple[str, str, str]


class Passing:
    """What passes; the caller tells what is heard, and asks what is to be seen."""

    def __init__(self) -> None:
        self._asked: tuple[int, float] | None = None  # in which breath group, and until when it is answered
        self._seen: dict[str, Counter[_Key]] = {}  # of each note the changes that were shown
        self._news: tuple[_Key, ...] = ()
        self._now: tuple[Change, ...] = ()  # all changes of the notes that are not closed
        self._changed_until_s = 0.0
        self._notice, self._notice_until_s = "", 0.0

    def ask(self, number: int, now_s: float) -> None:
        """The taster asked in this breath group what is missing."""
        self._asked = (number, now_s + SHOWN_S)

    def say(self, notice: str, now_s: float) -> None:
        """Something the program did by itself, a line."""
        self._notice, self._notice_until_s = notice, now_s + SHOWN_S

    def heard(self, number: int, *, spoke: bool) -> None:
        """A breath group was heard; `spoke`: there were words in it. The next phrase ends an answer."""
        if self._asked and spoke and number > self._asked[0]:
            self._asked = None

    def unask(self, number: int) -> None:
        """It was no question after all."""
        if self._asked and self._asked[0] == number:
            self._asked = None

    def knows(self, notes: Sequence[Note]) -> None:
        """What these notes' histories tell already is no news."""
        for note in notes:
            self._seen[note.id] = Counter(map(_key, _by_voice(note.history)))

    def change(self, notes: Sequence[Note], now_s: float) -> None:
        """The notes that are not closed are like this now; what changed last and is new is to be seen. The
        wine before is among them as long as the careful ear is behind."""
        self._now, news = (), Counter[_Key]()
        for note in notes:
            changes = tuple(_by_voice(note.history))
            keys = Counter(map(_key, changes))
            seen = self._seen.setdefault(note.id, Counter())
            news += keys - seen
            seen |= keys
            self._now += changes
        if news:
            self._news, self._changed_until_s = tuple(news.elements()), now_s + SHOWN_S

    def asks(self, now_s: float) -> bool:
        """Whether the answer to what is missing is to be seen."""
        return self._asked is not None and now_s < self._asked[1]

    def changes(self, now_s: float) -> tuple[Change, ...]:
        """The changes to be seen: those that still stand, for the careful ear may have taken them back."""
        if now_s >= self._changed_until_s:
            return ()
        return tuple(_last(self._now, Counter(self._news)))

    def notice(self, now_s: float) -> str:
        """The line to be seen, "" where there is none."""
        return self._notice if now_s < self._notice_until_s else ""


def _key(change: Change) -> _Key:
    return change.field, repr(change.before), repr(change.after)


def _last(changes: Sequence[Change], wanted: Counter[_Key]) -> Iterator[Change]:
    """Of the changes those wanted, the last where there are several alike."""
    found = []
    for change in reversed(changes):
        if wanted[_key(change)]:
            wanted[_key(change)] -= 1
            found.append(change)
    return reversed(found)


def _by_voice(history: Sequence[Change]) -> Iterator[Change]:
    """What the taster changed: neither what a list says otherwise nor what is remarked of the clock."""
    for change in history:
        told = f"{change.after}"
        remarks = told.startswith(NEVER_STOPPED) or STATED_DIFFERS in told
        if not change.later and not f"{change.before}".startswith(LISTED) and not remarks:
            yield change
