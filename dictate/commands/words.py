"""`dictate words`: a taster's own words, kept on this computer and used in each note. EDGE."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from rapidfuzz import process

from dictate.commands import DONE
from dictate.commands.keep import add_library_option
from dictate.language.counted import counted
from dictate.language.tokens import fold
from dictate.lexicon.entries import KINDS, spelled
from dictate.personal import PersonalWord, WordsError, make_word, merge_words
from dictate.personal.habits import CuePhrase, LevelUse, Own
from dictate.personal.store import (
    change_own,
    change_words,
    export_words,
    import_words,
    load_own,
    load_words,
)
from dictate.personal.words import word_key
from dictate.show import show_lines

_NEAR = 60  # of 100: how alike a word must be to be offered for one that is not there


def add_words_command(commands: argparse._SubParsersAction[Any]) -> None:
    """The options of `dictate words` and what is below it."""
    words = commands.add_parser("words", help="your own words: producers, pet words", allow_abbrev=False)
    below = words.add_subparsers(dest="words_command", required=True, metavar="COMMAND")
    add = below.add_parser("add", help="add a word, or forms to one", allow_abbrev=False)
    add.add_argument("term", metavar="TERM", help="as it shall stand in a note")
    _add_kind(add, "what it is (default: a producer if it has a capital, else a descriptor)")
    add.add_argument(
        "--said", nargs="+", action="extend", default=[], metavar="FORM", help="other ways to say it"
    )
    add.add_argument(
        "--heard-as", nargs="+", action="extend", default=[], metavar="FORM", help="what is heard instead"
    )
    add.set_defaults(run=_add)
    below.add_parser("list", help="all of them", allow_abbrev=False).set_defaults(run=_list)
    remove = below.add_parser("remove", help="take one out", allow_abbrev=False)
    remove.add_argument("term", metavar="TERM")
    _add_kind(remove, "only that of this kind")
    remove.set_defaults(run=_remove)
    _add_learning_commands(below)
    for name, run, told in (
        ("import", _import, "take in those of a CSV or JSON file: all, or none if one is wrong"),
        ("export", _export, "write them to a .csv or .json"),
    ):
        command = below.add_parser(name, help=told, allow_abbrev=False)
        command.add_argument("file", type=Path, metavar="FILE")
        command.set_defaults(run=run)


def _add_learning_commands(below: argparse._SubParsersAction[Any]) -> None:
    heard = below.add_parser(
        "heard", help="how well each kind of word is heard, by what you put right", allow_abbrev=False
    )
    learn = below.add_parser(
        "learn", help="what could be learnt from what you put right: you say yes or no", allow_abbrev=False
    )
    learn.add_argument("--yes", action="store_true", help="accept all of it")
    for command, name in ((heard, "run_heard"), (learn, "run_learn")):
        add_library_option(command)
        command.set_defaults(run=partial(_of_learning, name))


def _of_learning(name: str, options: argparse.Namespace) -> int:
    from dictate.commands import learning  # the other commands here need no lexicon

    run: Callable[[argparse.Namespace], int] = getattr(learning, name)
    return run(options)


def _add_kind(parser: argparse.ArgumentParser, told: str) -> None:
    parser.add_argument(
        "--kind", choices=KINDS, default="", metavar="KIND", help=f"{told}: {', '.join(KINDS)}"
    )


def _add(options: argparse.Namespace) -> int:
    def change(words: tuple[PersonalWord, ...]) -> tuple[PersonalWord, ...]:
        kinds = {w.kind for w in words if spelled(w.term) == spelled(options.term)}
        kind = options.kind or (kinds.pop() if len(kinds) == 1 else "")
        word = make_word(options.term, kind, said=options.said, heard_as=options.heard_as)
        added.append(word_key(word))
        return merge_words(words, [word])

    added: list[tuple[str, tuple[str, ...]]] = []
    words = change_words(change)
    show_lines(_line(w) for w in words if word_key(w) in added)
    return DONE


def _list(_: argparse.Namespace) -> int:
    own = load_own()
    lines = [*map(_line, own.words), *_habit_lines(own.habits.levels, own.habits.cues)]
    show_lines(lines or ["No words of your own yet; add one: dictate words add TERM"])
    return DONE


def _habit_lines(levels: Iterable[LevelUse], cues: Iterable[CuePhrase]) -> list[str]:
    told = []
    for use in levels:
        of = f" of {use.field.partition('.')[2].replace('_', ' ')}" if use.field else ""
        told.append(f"{use.word}{of} (level): {use.level:g}")
    return [*told, *(f"{cue.phrase} (cue: {cue.kind})" for cue in cues)]


def _line(word: PersonalWord) -> str:
    forms = (("also said", word.said), ("heard as", word.heard_as))
    told = "".join(f"; {name}: {', '.join(values)}" for name, values in forms if values)
    return f"{word.term} ({word.kind}){told}"


def _remove(options: argparse.Namespace) -> int:
    def change(own: Own) -> Own:
        key, words = spelled(options.term), own.words
        gone = [w for w in words if spelled(w.term) == key and options.kind in ("", w.kind)]
        removed.extend(f"{w.term} ({w.kind})" for w in gone)
        levels = [u for u in own.habits.levels if spelled(u.word) == key and not options.kind]
        cues = [c for c in own.habits.cues if spelled(c.phrase) == key and not options.kind]
        removed.extend(_habit_lines(levels, cues))
        if not removed:
            kind = f" of kind {options.kind}" if options.kind else ""
            cure = _nearest(options.term, words)
            raise WordsError(f"“{options.term[:80]}” is none of your words{kind}; {cure}")
        habits = replace(
            own.habits,
            levels=tuple(u for u in own.habits.levels if u not in levels),
            cues=tuple(c for c in own.habits.cues if c not in cues),
        )
        return Own(tuple(w for w in words if w not in gone), habits)

    removed: list[str] = []
    change_own(change)
    show_lines(f"removed: {line}" for line in removed)
    return DONE


def _nearest(term: str, words: Sequence[PersonalWord]) -> str:
    terms = [f"{w.term} ({w.kind})" for w in words]
    near = process.extractOne(term[:80], [w.term for w in words], processor=fold, score_cutoff=_NEAR)
    return f"did you mean {terms[near[2]]}?" if near else "see them with: dictate words list"


def _import(options: argparse.Namespace) -> int:
    more = import_words(options.file)
    before = [0]

    def change(words: tuple[PersonalWord, ...]) -> tuple[PersonalWord, ...]:
        before[0] = len(words)
        return merge_words(words, more)

    words = change_words(change)
    new = len(words) - before[0]
    told = f"{new} new, {len(more) - new} known before; {len(words)} in all"
    show_lines([f"{counted(len(more), 'word')} read: {told}"])
    return DONE


def _export(options: argparse.Namespace) -> int:
    words = load_words()
    export_words(words, options.file)
    show_lines([f"{counted(len(words), 'word')} written to {options.file}"])
    return DONE
