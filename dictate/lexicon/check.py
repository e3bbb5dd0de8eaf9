"""What a word file may hold: keys, families and values of each kind. Pure."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from difflib import get_close_matches
from typing import Any

from dictate.lexicon.entries import Entry

BERRIES = ("white", "black", "pink", "grey")
COLOURS = ("white", "rosé", "orange", "red")
STYLES = ("still", "sparkling", "fortified")
FAMILIES: Mapping[str, Sequence[str]] = {  # kinds not named have families of their own
    "grape": BERRIES,
    "texture": ("tannin", "mouth", "both"),
    "hue": COLOURS,
    "colour": COLOURS,
    "style": STYLES,
}
REFERS = {"grapes": "grape", "hints": "descriptor"}  # key -> the kind whose terms it lists


def _text(value: object, _: Entry) -> str:
    return "" if isinstance(value, str) and value.strip() else "must be text"


def _flag(value: object, _: Entry) -> str:
    return "" if isinstance(value, bool) else "must be true or false"


def _words(value: object, _: Entry) -> str:
    good = isinstance(value, list) and value and all(isinstance(v, str) and v.strip() for v in value)
    return "" if good else "must be a list of words"


def _forms(value: object, entry: Entry) -> str:
    if problem := _words(value, entry):
        return problem
    strange = [v for v in value if v not in entry.said]  # type: ignore[attr-defined]
    return f"{strange[0]!r} is not among its forms; add it to 'said' or take it out" if strange else ""


def _one_of(choices: Sequence[str]) -> Callable[[object, Entry], str]:
    return lambda value, _: "" if value in choices else f"must be one of {', '.join(choices)}, not {value!r}"


def _colours(value: object, entry: Entry) -> str:
    if problem := _words(value, entry):
        return problem
    others = [c for c in COLOURS if c != entry.family]
    strange = [v for v in value if v not in others]  # type: ignore[attr-defined]
    return f"must be of {', '.join(others)}, not {strange[0]!r}" if strange else ""


def _order(value: object, _: Entry) -> str:
    good = isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value <= 10
    return "" if good else "must be a number from 0 to 10"


_ALL: Mapping[str, Callable[[Any, Entry], str]] = {"risky": _flag, "ambiguous": _forms}
_KEYS: Mapping[str, Mapping[str, Callable[[Any, Entry], str]]] = {
    "origin": {"colour": _one_of(COLOURS), "style": _one_of(STYLES), "grapes": _words},
    "hue": {"order": _order, "also": _colours},
    "fault": {"compound": _text, "threshold": _text, "source": _text, "hints": _words},
}


def unknown(what: str, name: object, *, known: Iterable[str]) -> str:
    """ "unknown key 'sadi': did you mean 'said'?", or the choices where none is near."""
    choices = list(known)
    near = get_close_matches(str(name), choices, n=1)
    cure = f"did you mean {near[0]!r}?" if near else f"it must be one of {', '.join(choices)}"
    return f"unknown {what} {name!r}; {cure}"


def family_problem(kind: str, family: str) -> str:
    """What is wrong with a family of this kind, "" where nothing is."""
    known = FAMILIES.get(kind)
    if not family.strip():
        return "a family needs a name"
    return unknown("family", family, known=known) if known and family not in known else ""


def data_problem(entry: Entry) -> str:
    """What is wrong with an entry's data (all but how it is said), "" where nothing is."""
    checks = _KEYS.get(entry.kind, {})
    for key, value in entry.data.items():
        check = checks.get(key) or _ALL.get(key)
        if check is None:
            return unknown("key", key, known=("said", *_ALL, *checks))
        if problem := check(value, entry):
            return f"{key!r} {problem}" if problem.startswith("must") else f"{key!r}: {problem}"
    if "threshold" in entry.data and "source" not in entry.data:
        return "a threshold without 'source'; say where the number is from"
    return ""


def said_problem(term: str, said: object) -> str:
    """What is wrong with a term or its list of other ways to say it, "" where nothing is."""
    if not term.strip() or not term.isprintable():
        return "a term must be a word or words, without tabs or line breaks"
    if not isinstance(said, list) or not all(isinstance(s, str) and s.strip() for s in said):
        return "'said' must be a list of words"
    broken = next((s for s in said if not s.isprintable()), None)
    if broken is not None:
        return f"{broken!r} must be words, without tabs or line breaks"
    twice = next((s for n, s in enumerate(said) if s == term or s in said[:n]), None)
    return f"{twice!r} is said twice; keep one" if twice is not None else ""
