"""Phrases to readings: every reader on every phrase, scope first, with what was said before in mind."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from dictate.extract.amends import (
    LIST_FIELDS,
    amended,
    in_place_of,
    of_the_rim,
    remember,
    strike_misnamed,
)
from dictate.extract.appearance import read_described, read_hues
from dictate.extract.carried import (
    EXCUSED,
    answer,
    answered,
    as_remembered,
    asks_at_the_end,
    excuses,
    goes_on_remembering,
    of_the_end,
    put_right,
    was_asked,
)
from dictate.extract.corrections import read_corrections
from dictate.extract.descriptors import read_descriptors
from dictate.extract.faults import read_faults
from dictate.extract.identity import read_identity
from dictate.extract.levels import read_levels
from dictate.extract.leveltable import LevelTable, degree_in, level_table, with_own_degrees
from dictate.extract.parsed import Context, Parsed, parse_phrase
from dictate.extract.scope import ScopeRule, looks_back, scope_rules
from dictate.extract.selfrepair import keep_unrepaired
from dictate.extract.shapes import ShapeTable, shape_table
from dictate.extract.sugar import map_sugar, read_sugar
from dictate.extract.terms import TermField, read_terms, term_fields
from dictate.extract.verdict import read_score, read_stated_seconds, read_window
from dictate.lexicon.entries import Lexicon
from dictate.values import Phrase, Reading

ASIDE = 12  # words: an aside longer than this answers nothing
ONE_BREATH_S = 2.5  # a denial this soon after a phrase may be of it
NAMES = ("wine.grapes", "wine.origin", "wine.producer", "wine.name")
LISTED = (*LIST_FIELDS, "faults")


@dataclass(frozen=True, slots=True)
class Rules:
    """All compiled rule tables that reading needs."""

    scope: tuple[ScopeRule, ...]
    levels: LevelTable
    shapes: ShapeTable
    terms: tuple[TermField, ...]


def compile_rules(table: Callable[[str], dict[str, Any]]) -> Rules:
    """Compiles the tables `scope`, `levels`, `shape` and `terms`, fetched by name.

    Raises KeyError or ValueError naming the table's fault.
    """
    return Rules(
        scope_rules(table("scope")),
        level_table(table("levels")),
        shape_table(table("shape")),
        term_fields(table("terms")),
    )


def with_usage(rules: Rules, usage: Sequence[tuple[str, float, str]]) -> Rules:
    """The rules with what one taster means by a degree: the words as tokens ("medium plus"), the level (0 to
    10), and the field, or "" for whatever is measured. Of the same words the taster's own level holds."""
    return replace(rules, levels=with_own_degrees(rules.levels, usage)) if usage else rules


def degree_of(rules: Rules, words: str) -> float | None:
    """The level (0 to 10) of words that fit any measurable thing ("medium plus"), None where they are no
    degree. `words`: as tokens."""
    return degree_in(rules.levels, words)


def _read_phrase(
    parsed: Parsed, rules: Rules, context: Context, *, own: frozenset[str]
) -> tuple[list[Reading], Context]:
    levels, after = read_levels(parsed, rules.levels, context=context, everyday=rules.shapes.everyday)
    readings = [
        *read_identity(parsed, own=own),
        *read_hues(parsed),
        *read_described(parsed),
        *levels,
        *read_descriptors(parsed, rules.shapes, levels=rules.levels, focus=context.focus, level_words=levels),
        *read_faults(parsed),
        *read_terms(parsed, rules.terms),
        *read_score(parsed),
        *read_window(parsed),
        *read_stated_seconds(parsed),
        *read_sugar(parsed),
    ]
    kept = strike_misnamed(parsed, keep_unrepaired(readings))
    return read_corrections(parsed, kept, levels=rules.levels), after


def _deny_before(found: list[Reading], phrases: Sequence[Phrase], parsed: Parsed, *, rule: str) -> None:
    """ "I looked for oxidation" ... "and there isn't any": what the phrase before expected is denied;
    where it expected nothing, what it said last."""
    before = parsed.index - 1
    if before < 0 or phrases[before].wine != parsed.phrase.wine or phrases[before].stage == "cue":
        return
    if parsed.phrase.words[0].start_s - phrases[before].words[-1].end_s > ONE_BREATH_S:
        return
    mine = [i for i, r in enumerate(found) if r.phrase == before and (r.field in LISTED or r.scope != "said")]
    hoped = [i for i in mine if found[i].scope in ("expected", "past")]
    for place in hoped or mine[-1:]:
        found[place] = replace(found[place], scope="denied", rule=rule)


def _of_the_one_before(
    found: list[Reading], parsed: Parsed, *, asked: tuple[int, int] | None
) -> list[Reading]:
    """Readings of a breath that only the one right before it explains: a number that puts right the last
    one. An answer to the question there ("yes") is noted in `found`."""
    before = parsed.index - 1
    said = answer(parsed) if asked and asked[0] == before else ""
    if asked and said:
        for place in [i for i, r in enumerate(found) if r.phrase == before and r.first >= asked[1]]:
            if was_asked(found[place]):
                found[place] = answered(found[place], said=said)
    if excuses(parsed):
        for place in [i for i, r in enumerate(found) if r.phrase == before and r.field == "faults"]:
            found[place] = replace(found[place], scope="figurative", rule=EXCUSED)
    return put_right(parsed, [r for r in found if r.phrase == before])


def read_fields(phrases: Sequence[Phrase], lexicon: Lexicon, *, rules: Rules) -> tuple[Reading, ...]:
    """Readings in order of phrases. A reading points at words said; one that is denied, expected or
    remembered carries that scope and the rule that found it, and is no value. Cues, asides and
    phrases taken back give none."""
    found: list[Reading] = []
    context, stage, wine = Context(), "", -1
    held: dict[str, object] = {}
    listed: dict[str, str] = {}
    own = set[str]()  # names that this wine was given
    remembers = False  # the phrase before ended in a memory
    asked: tuple[int, int] | None = None  # phrase and word with which a question begins that ends the phrase
    for index, phrase in enumerate(phrases):
        aside = phrase.stage == "aside"
        if phrase.stage == "cue" or phrase.taken_back or (aside and len(phrase.words) > ASIDE):
            continue
        if phrase.wine != wine or (phrase.stage != stage and not aside):
            context = Context()
        if phrase.wine != wine:
            remembers = False
            held, listed, own, asked = {}, {}, set(), None
        stage, wine = stage if aside else phrase.stage, phrase.wine
        parsed = parse_phrase(phrase, index=index, lexicon=lexicon, rules=rules.scope, own=frozenset(own))
        if not parsed.tokens:
            continue
        told = _of_the_one_before(found, parsed, asked=asked)
        asked = None
        if told or aside:
            remember(told, held=held, listed=listed)
            found.extend(told)
            continue
        asks = asks_at_the_end(parsed)
        asked = None if asks is None else (index, asks)
        rule = looks_back(parsed.tokens, rules.scope) if found else ""
        if rule:
            _deny_before(found, phrases, parsed, rule=rule)
        readings, context = _read_phrase(parsed, rules, context, own=frozenset(own))
        if remembers and goes_on_remembering(parsed):
            readings = as_remembered(readings)
        remembers = parsed.marks[-1].scope == "past"
        readings = in_place_of(amended(parsed, readings, held=held), listed=listed)
        readings = of_the_rim(readings, held=held)
        readings = of_the_end(parsed, readings, held=held)
        remember(readings, held=held, listed=listed)
        own |= {str(r.value) for r in readings if r.field in NAMES and r.scope == "said"}
        found.extend(readings)
    return tuple(map_sugar(found, phrases, lexicon=lexicon, levels=rules.levels.sugar))
