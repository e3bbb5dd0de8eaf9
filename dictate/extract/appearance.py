"""Hue at the core and at the rim, and what is described in words: bubbles, tears, deposit."""

from __future__ import annotations

import re
from dataclasses import replace

from dictate.extract.parsed import Parsed
from dictate.extract.selfrepair import SELF_REPAIR
from dictate.language.mentions import Mention
from dictate.language.patterns import compile_any
from dictate.values import Reading

_RIM = compile_any(
    ["rim|edge|meniscus|edges|border|outside", "towards the outside", "where it meets|touches the glass"]
)
_TO_RIM = compile_any(["to|into the? very? rim|edge|meniscus"])  # how far the hue goes, not the rim's own
_CORE = compile_any(["core|middle|heart|centre|center"])
_TINGE = compile_any(
    ["bit|touch|hint|hints|tinge|tinges|glint|glints|flash|flashes|shade|suggestion|trace|highlights|lick of"]
)
_TINGED = compile_any(
    ["tinge|tinges|tint|tints|glint|glints|highlights|reflections|reflexes|flash|flashes|tinged"]
)
# what begins or ends the clause of a hue said in place of the one before: "gold, amber really"
_BETTER_BEGIN = frozenset(["more", "rather", "closer", "nearer"])
_BETTER_END = frozenset(["really", "actually"])
_SIMILE = compile_any(["the? colour|color of", "coloured|colored like", "colour|color like"])
_WORDS = {
    "appearance.bubbles": compile_any(["bubbles|bubble|bead|beads|beading|perlage"]),
    "appearance.tears": compile_any(["legs|tears|tear"]),
    "appearance.deposit": compile_any(
        ["sediment|deposit|crystals|tartrates|sludge|dregs", "bits at the bottom", "bits in it"]
    ),
}
_SHADES = ("ish", "ey", "en")  # "brownish", "orangey", "golden": of the hue behind them
_ADVERBS = frozenset(
    "very quite rather really fairly pretty slow quick fast fine small tiny steady persistent thick"
    " slowly".split()
)
_LEADING = frozenset(
    ["and", "with", "but", "then", "there", "'s", "are", "some", "well", "so", "it", "has", "also", "got"]
)


def _distance(mention: Mention, places: list[int]) -> int:
    return min((min(abs(mention.first - p), abs(mention.last - 1 - p)) for p in places), default=99)


def _tinge(parsed: Parsed, mention: Mention, span: tuple[int, int]) -> bool:
    """ "with a bit of green in it": a tinge beside the hue, not the hue."""
    before = any(
        span[0] <= a and b <= mention.first and mention.first - b <= 1 for a, b in parsed.line.spans(_TINGE)
    )
    after = any(mention.last <= a < span[1] and a - mention.last <= 1 for a, _ in parsed.line.spans(_TINGED))
    return before or after


def _hue_mentions(parsed: Parsed) -> list[Mention]:
    """Hues in order. "blackish purple", "amber gold": two hues said as one have their head last, as
    English has; what was said is both. "ruby tawny at the rim" are two: of the core and of the rim."""
    near_rims = {a - back for a, _ in parsed.line.spans(_RIM) for back in range(3)}
    made: list[Mention] = []
    for mention in parsed.mentions:
        if not mention.of("hue"):
            continue
        before = made[-1] if made else None
        shade = parsed.tokens[mention.first - 1]
        apart = not shade.text.endswith(_SHADES) and mention.last in near_rims
        if before and before.last == mention.first and not shade.pause and not apart:
            made[-1] = Mention(before.first, mention.last, mention.entries)
        else:
            made.append(mention)
    return made


def _places(parsed: Parsed, pattern: re.Pattern[str], span: tuple[int, int]) -> list[int]:
    return [a for a, _ in parsed.line.spans(pattern) if span[0] <= a < span[1]]


def read_hues(parsed: Parsed) -> list[Reading]:
    """Hues of an appearance phrase. In a clause that names rim and core, or one after the other, the
    hue nearest to "rim" is the rim's; a clause without either goes on about what was named last."""
    if parsed.phrase.stage != "appearance":
        return []
    found: list[Reading] = []
    part = "appearance.hue"
    core_known = False
    hues = _hue_mentions(parsed)
    if len(hues) > 1 and _only_colour(parsed, hues[0]):
        del hues[0]
    for span in parsed.clauses:
        rims, cores = _places(parsed, _RIM, span), _places(parsed, _CORE, span)
        inside = [m for m in hues if span[0] <= m.first < span[1]]
        if not inside:
            if rims and not cores:
                part = "appearance.rim"
            elif cores:
                part = "appearance.hue"
            continue
        reaching = {b - 1 for _, b in parsed.line.spans(_TO_RIM)}
        if (
            len(inside) == 1
            and not cores
            and all(_apart(parsed, inside[0], p) or p in reaching for p in rims)
        ):
            rims, cores = [], rims and [inside[0].first]
        rim = min(inside, key=lambda m: _distance(m, rims)) if rims else None
        if rims and cores and len(inside) == 1:
            rim = inside[0] if _distance(inside[0], rims) < _distance(inside[0], cores) else None
        for mention in inside:
            if mention is rim:
                field = part = "appearance.rim"
            elif cores or rims:
                field = part = "appearance.hue"
            else:
                field = part
            if field == "appearance.hue" and core_known and _tinge(parsed, mention, span):
                continue
            entry = mention.of("hue")
            assert entry is not None
            simile = parsed.scope(mention.first, mention.last).rule == "simile-of-colour"
            reading = parsed.reading(
                field, entry.term, scope="said" if simile else None, first=mention.first, last=mention.last,
                family=entry.family, rule="tinge" if _tinge(parsed, mention, span) else "",
            )  # fmt: skip
            core_known |= field == "appearance.hue" and reading.scope == "said"
            before = found[-1] if found else None
            again = before and (before.field, before.scope) == (field, "said") and mention is inside[0]
            if before and again and _said_better(parsed, span):  # what is said last, and better, is the hue
                found[-1] = replace(before, scope="denied", rule=SELF_REPAIR)
            found.append(reading)
    if not found:
        found += _simile(parsed)
    return found


def _only_colour(parsed: Parsed, mention: Mention) -> bool:
    """ "Red. Medium garnet.": the wine's colour, before its hue."""
    alone = parsed.clause_at(mention.first) == (mention.first, mention.last)
    return alone and mention.of("colour") is not None


def _said_better(parsed: Parsed, span: tuple[int, int]) -> bool:
    texts = [t.text for t in parsed.tokens[span[0] : span[1]] if t.text not in ("or", "well", "oh", "and")]
    return texts[0] in _BETTER_BEGIN or texts[-1] in _BETTER_END or texts[-2:] == ["in", "fact"]


def _apart(parsed: Parsed, mention: Mention, rim: int) -> bool:
    """ "a pale straw with a watery rim": the hue is not the rim's."""
    return parsed.said_within(mention.last, rim, texts=frozenset(["with"]))


def _simile(parsed: Parsed) -> list[Reading]:
    """ "the colour of weak tea", where no hue is named: the thing itself is the hue's word."""
    for _, last in parsed.line.spans(_SIMILE):
        end = parsed.clause_at(last - 1)[1]
        while last < end and parsed.tokens[last].text in ("a", "an", "the", "some", "my"):
            last += 1
        if 0 < end - last <= 5:
            return [
                parsed.reading(
                    "appearance.hue", parsed.text(last, end).lower(), first=last, last=end,
                    scope="said", rule="simile", known=False,
                )
            ]  # fmt: skip
    return []


def _described_on(parsed: Parsed, last: int) -> int:
    """ "tiny bubbles, very steady": a short clause of no other thing goes on with the description."""
    for first, end in parsed.clauses:
        plain = not any(first <= m.first < end for m in parsed.mentions)
        if first == last and end - first <= 3 and plain and parsed.tokens[first].text in _ADVERBS:
            return end
    return last


def read_described(parsed: Parsed) -> list[Reading]:
    """Bubbles, tears and deposit as described: the clause that names them, in the taster's words."""
    if parsed.phrase.stage != "appearance":
        return []
    found = []
    for field, pattern in _WORDS.items():
        for place, _ in parsed.line.spans(pattern):
            first, last = parsed.clause_at(place)
            while first < place and parsed.tokens[first].text in _LEADING:
                first += 1
            last = _described_on(parsed, last)
            mark = parsed.scope(place, place + 1)
            found.append(
                parsed.reading(
                    field, parsed.text(first, last), first=first, last=last, scope=mark.scope, rule=mark.rule
                )
            )
            break
    return found
