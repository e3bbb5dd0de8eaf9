"""What is said to the page: one breath group to a command, a correction of the note, or nothing. Pure.

Commands are whole breath groups (`lexicon/rules/review.toml`). All else is read as what is said at the bench
is, behind the words in which the value looked at was said; what that tells becomes changes (`corrected.py`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal, get_args

from dictate.form import Vocabulary
from dictate.form.amend import KINDS
from dictate.form.layout import value_at
from dictate.note import Note, TranscriptPhrase, stage_of
from dictate.pipeline import Remark
from dictate.recognise.recogniser import HeardStretch
from dictate.review.corrected import Answers, Correction, Looked, Nothing, correction_of
from dictate.review.sayings import Saying, plain, saying
from dictate.review.sheet import Value
from dictate.values import Word

Do = Literal[
    "accept", "accept_all", "next", "back", "next_note", "look", "play", "play_all", "undo", "remove",
    "higher", "lower", "stop_listening",
]  # fmt: skip
NOT_UNDERSTOOD: Final = "not understood"
OFF_RECORD: Final = "off the record"
_LATER_S: Final = 1.0  # between what was said then and what is said now
_WORD_S: Final = 0.3
Read = Callable[[HeardStretch, Sequence[Word]], Remark]


class SpokenTableError(ValueError):
    """A table of what can be said that cannot be used; the message names what is wrong in it."""


@dataclass(frozen=True, slots=True)
class Command:
    """Something to do; `key`: the value it is about by its name on the page, "" for the one looked at."""

    do: Do
    key: str = ""


Understood = Command | Correction | Nothing


@dataclass(frozen=True, slots=True)
class SpokenTable:
    """The rules of `lexicon/rules/review.toml`. `moves`: commands that change no note."""

    commands: tuple[tuple[Do, Saying], ...]
    misheard: tuple[tuple[Do, Saying], ...]
    moves: frozenset[Do]
    ways: tuple[tuple[Saying, str], ...]
    answers: Answers
    says: Mapping[str, str]


def spoken_table(data: Mapping[str, object]) -> SpokenTable:
    """The rules from plain data (`load_table("review")`). Raises SpokenTableError."""
    try:
        return _table(dict(data))
    except (KeyError, TypeError, ValueError) as error:
        raise SpokenTableError(f"review.toml: {error}") from error


def _table(data: dict[str, object]) -> SpokenTable:
    edges = _words(data["before"]), _words(data["behind"])
    commands: list[tuple[Do, Saying]] = []
    misheard: list[tuple[Do, Saying]] = []
    moves: set[Do] = set()
    for rule in _tables(data["commands"]):
        do = next((each for each in get_args(Do) if each == rule["do"]), None)
        if do is None:
            raise ValueError(f"{rule['do']!r} is nothing that can be done")
        commands.append((do, saying(_words(rule["phrases"]), edges=edges)))
        misheard.append((do, saying(_words(rule.get("misheard", [])), edges=edges)))
        if rule.get("moves"):
            moves.add(do)
    ways = [(saying(_words(r["phrases"]), edges=edges), str(r["means"])) for r in _tables(data["ways"])]
    (answers,) = _tables([data["answers"]])
    most = answers["most_words"]
    assert isinstance(most, int)
    leads = {
        name: tuple(_words(answers[name]))
        for name in ("leads", "instead", "adds", "states", "names", "swaps")
    }
    (says,) = _tables([data["says"]])
    return SpokenTable(
        tuple(commands), tuple(misheard), frozenset(moves), tuple(ways), Answers(**leads, most_words=most),
        {path: str(text) for path, text in says.items()},
    )  # fmt: skip


def _words(data: object) -> list[str]:
    if not isinstance(data, list) or not all(isinstance(each, str) for each in data):
        raise ValueError("a list of words is wanted")
    return data


def _tables(data: object) -> list[dict[str, object]]:
    if not isinstance(data, list) or not all(isinstance(each, dict) for each in data):
        raise ValueError("tables are wanted")
    return data


def command_in(text: str, table: SpokenTable, *, values: Sequence[Value] = ()) -> Command | None:
    """The command that a whole breath group is. `values`: what is on the page, so that one can be named by
    what it is of ("acidity") or by itself ("the cedar"); one that is not there makes no command."""
    asks = text.rstrip(" \"'”’").endswith("?")  # "And you?" is asked of somebody
    for do, way in table.commands if asks else (*table.commands, *table.misheard):
        for slots in way.found(text):
            if "value" not in slots:
                return Command(do)
            key = _named(slots["value"], values)
            if key:
                return Command(do, key)
    return None


def _named(name: str, values: Sequence[Value]) -> str:
    """The key of the value that goes by a name; of several of that kind the one that is looked for first."""
    exact = [v for v in values if name in (plain(v.edit), plain(v.shown), plain(v.edit) + "s")]
    kind = [v for v in values if name in (plain(v.name), v.path.rpartition(".")[2].replace("_", " "))]
    found = exact or sorted(kind, key=lambda v: v.rank or len(values) + 1)
    return found[0].key if found else ""


def understood(
    heard: HeardStretch,
    note: Note,
    *,
    values: Sequence[Value],
    looked: Value | None,
    table: SpokenTable,
    read: Read,
    known: Vocabulary,
) -> Understood:
    """What a breath group asks for. `values`: the note's on the page, `looked` the one looked at; `read`: how
    words are read behind others (`pipeline.remark_in`)."""
    text = " ".join(word.text for word in heard.words)
    if not plain(text):
        return Nothing("nothing was heard")
    command = command_in(text, table, values=values)
    if command is not None:
        return command
    place = Looked(looked.path, looked.index, looked.rank is not None) if looked is not None else None
    before = words_before(note, looked)
    remark = read(_behind(heard, ()), ())
    if before:
        remark = _likelier(remark, read(_behind(heard, before), before), note, place)
    if remark.is_private:
        return Nothing(OFF_RECORD)
    found = correction_of(remark, note, looked=place, answers=table.answers, known=known)
    if isinstance(found, Correction) or found.why:
        return found
    said = " ".join(word.text for word in remark.words)
    for means, slots in ((m, s) for way, m in table.ways for s in way.found(said)):
        again = read(_spoken(means.format_map(slots), heard), ())
        answer = correction_of(again, note, looked=place, answers=table.answers, known=known)
        if isinstance(answer, Correction):
            return answer
    bare = table.answers.bare(said)
    if place is not None and place.path in table.says and 0 < len(bare.split()) <= table.answers.most_words:
        again = read(_spoken(f"{table.says[place.path]} {bare}", heard), ())
        is_thing = plain(said).removesuffix(bare).split()[-1:] in (["a"], ["an"])  # "it's a zero" is no level
        if _is_answer(again, place.path) and (not is_thing or KINDS[place.path] == "term"):
            return correction_of(again, note, looked=place, answers=table.answers, known=known)
    return Nothing(NOT_UNDERSTOOD)


def _likelier(alone: Remark, behind: Remark, note: Note, looked: Looked | None) -> Remark:
    """The words read by themselves, or behind those of the value looked at where they go on from these: where
    they tell of that value, or, naming no stage and nothing that is in the note, of its stage."""
    if alone.is_private or not alone.readings or behind.is_private:
        return alone if alone.is_private else behind
    fields = {r.field for r in behind.readings}
    if looked is None or not fields or looked.path in fields:
        return behind if fields else alone
    is_near = all(f.partition(".")[0] == looked.path.partition(".")[0] for f in fields)
    is_there = any(_holds(note, r.field, str(r.value)) for r in alone.readings)
    return behind if is_near and not is_there else alone


def _holds(note: Note, path: str, term: str) -> bool:
    held = value_at(note, path) if path in KINDS else None
    return isinstance(held, list) and any(plain(getattr(each, "term", "")) == plain(term) for each in held)


def words_before(note: Note, looked: Value | None) -> tuple[Word, ...]:
    """The words behind which something is said of the value looked at: the phrase in which it was said, else
    the last one of its stage."""
    if looked is None:
        return ()
    stage = stage_of(looked.path)
    phrases = [p for p in note.transcript if p.stage == stage and p.words]
    at = getattr(_item(note, looked), "at", None)
    own = [p for p in phrases if at is not None and p.at[0] <= at[0] < p.at[1]]
    phrase: TranscriptPhrase | None = next(iter([*own, *reversed(phrases)]), None)
    if phrase is None:
        return ()
    return tuple(Word(w.text, *w.at, w.confidence, heard=w.heard) for w in phrase.words)


def _item(note: Note, looked: Value) -> object:
    held = value_at(note, looked.path)
    if looked.index is None:
        return held
    return held[looked.index] if looked.index < len(held) else None


def _is_answer(remark: Remark, path: str) -> bool:
    """Whether words tell of this field, and of nothing else up to their end: "high", but not "high time"."""
    said = [r for r in remark.readings if r.scope == "said"]
    if not said or any(r.field != path for r in remark.readings):
        return False
    words = remark.phrases[said[-1].phrase].words
    return said[-1].last == len(words) and words[-1] == remark.words[-1]


def _behind(heard: HeardStretch, before: Sequence[Word]) -> HeardStretch:
    """The breath group at a time behind what was said before, and one of its own."""
    if not heard.words:
        return heard
    by_s = (before[-1].end_s + _LATER_S if before else 0.0) - heard.words[0].start_s

    def later(word: Word) -> Word:
        return Word(word.text, word.start_s + by_s, word.end_s + by_s, word.confidence, 1, word.heard)

    return heard.with_words(later)


def _spoken(text: str, heard: HeardStretch) -> HeardStretch:
    """Other words as though they had been heard."""
    sure = min((word.confidence for word in heard.words), default=1.0)
    return HeardStretch(
        tuple(
            Word(word, place * _WORD_S, (place + 1) * _WORD_S - 0.02, sure, 1)
            for place, word in enumerate(text.split())
        )
    )
