"""The cue table as patterns. Pure.

A cue is told from the same words in a sentence by what is in front of it (a breath, a sentence,
fillers), what is behind it, and whether a finish clock runs; `lexicon/rules/cues.toml` says it all.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, get_args

from dictate.language.tokens import split_word
from dictate.values import CueKind

Tokens = tuple[str, ...]
_BREAKS = {"any": 0, "comma": 1, "pause": 1, "breath": 2, "bare": 3}
_LISTS = (
    "blocked_before",
    "blocked_after",
    "blocked_beyond",
    "blocked_across",
    "blocked_later",
    "needs_after",
)
_KEYS = {"kind", "name", "position", "after", "needs_clock", "needs_pause", "phrases", "misheard", "fillers",
         "question", "example", "counter", *_LISTS}  # fmt: skip


class CueTableError(ValueError):
    """A cue table that cannot be used; the message names the rule and the key."""


@dataclass(frozen=True, slots=True)
class Rule:
    """One way of saying one cue. `position` and `after` are break strengths, 0 (none) to 3 (breath)."""

    kind: CueKind
    name: str
    phrases: tuple[Tokens, ...]  # the longest first
    fillers: tuple[Tokens, ...]
    position: int
    after: int
    needs_clock: bool = False
    needs_pause: bool = False
    question: bool = True
    blocked_before: tuple[Tokens, ...] = ()
    blocked_after: tuple[Tokens, ...] = ()
    blocked_beyond: tuple[Tokens, ...] = ()
    blocked_across: tuple[Tokens, ...] = ()
    blocked_later: tuple[Tokens, ...] = ()
    needs_after: tuple[Tokens, ...] = ()


@dataclass(frozen=True, slots=True)
class CueTable:
    """All rules, and the times (seconds) that make a pause. `spoken`: the phrases of each kind, as said."""

    rules: tuple[Rule, ...]
    hesitations: tuple[Tokens, ...]
    spoken: Mapping[CueKind, tuple[str, ...]]
    pause_s: float
    inner_s: float
    reach_s: float


def cut(text: str) -> Tokens:
    """A phrase as the tokeniser cuts it: "It's gone" -> ("it", "'s", "gone"); a bare "'s" stays one."""
    words = text.split()
    return tuple(p for w in words for p in ((w,) if w.startswith("'") else split_word(w)[0]))


def _phrases(texts: object, where: str) -> tuple[Tokens, ...]:
    if not isinstance(texts, list | tuple) or not all(isinstance(t, str) and cut(t) for t in texts):
        raise CueTableError(f"cues: {where}: must be a list of words")
    return tuple(sorted({cut(t) for t in texts}, key=lambda t: (-len(t), t)))


def _rule(data: Mapping[str, Any], fillers: Sequence[str], added: Sequence[str]) -> Rule:
    name = str(data.get("name", data.get("kind")))
    unknown = set(data) - _KEYS
    if unknown:
        raise CueTableError(f"cues: {name}: unknown key {min(unknown)!r}")
    if data.get("kind") not in get_args(CueKind):
        raise CueTableError(f"cues: {name}: kind must be one of {', '.join(get_args(CueKind))}")
    for key in ("position", "after"):
        if data.get(key) not in _BREAKS:
            raise CueTableError(f"cues: {name}: {key} must be one of {', '.join(_BREAKS)}")
    texts = [*data.get("phrases", ()), *data.get("misheard", ()), *added]
    if not texts:
        raise CueTableError(f"cues: {name}: needs phrases")
    return Rule(
        kind=data["kind"],
        name=name,
        phrases=_phrases(texts, f"{name}: phrases"),
        fillers=_phrases([*fillers, *data.get("fillers", ())], f"{name}: fillers"),
        position=_BREAKS[data["position"]],
        after=_BREAKS[data["after"]],
        needs_clock=bool(data.get("needs_clock", False)),
        needs_pause=bool(data.get("needs_pause", False)),
        question=bool(data.get("question", True)),
        **{key: _phrases(data.get(key, ()), f"{name}: {key}") for key in _LISTS},
    )


def cue_table(data: Mapping[str, Any], *, added: Mapping[str, Sequence[str]] | None = None) -> CueTable:
    """The table as in `lexicon/rules/cues.toml`, with a taster's own phrases (`added`: kind -> phrases).

    Added phrases join the first rule of their kind. Raises CueTableError on an unknown kind or key,
    a rule without phrases, or a list that holds something else than words.
    """
    added = dict(added or {})
    for kind in added:
        if kind not in get_args(CueKind):
            raise CueTableError(f"cues: {kind!r} is no cue; the cues are {', '.join(get_args(CueKind))}")
        _phrases(added[kind], kind)
    rules: list[Rule] = []
    spoken: dict[CueKind, tuple[str, ...]] = {}
    for item in data.get("rules", ()):
        own = () if item.get("kind") in spoken else added.get(item.get("kind"), ())
        rule = _rule(item, data.get("fillers", ()), own)
        rules.append(rule)
        said = (*spoken.get(rule.kind, ()), *own, *item.get("phrases", ()))
        spoken[rule.kind] = tuple(dict.fromkeys(said))
    return CueTable(
        tuple(rules),
        _phrases(data.get("hesitations", ()), "hesitations"),
        spoken,
        pause_s=float(data.get("pause_s", 0.3)),
        inner_s=float(data.get("inner_s", 0.6)),
        reach_s=float(data.get("reach_s", 1.0)),
    )
