"""Descriptors: by the lexicon, and by shape where it does not know the thing; with strength."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from dictate.extract.leveltable import LevelTable
from dictate.extract.parsed import Parsed
from dictate.extract.shapes import ShapeTable, unknown_things
from dictate.extract.strengths import strength_before, strengths_behind
from dictate.language.mentions import Mention
from dictate.lexicon.entries import Entry, match_key, spelled
from dictate.values import Reading

FIELD = {"nose": "nose.aromas", "palate": "palate.flavours", "finish": "finish.flavours"}
# said of tannin even where the word itself does not stand near; and words too ordinary without it
_TANNIN = frozenset(["tannin", "tannins"])
_GRIP = frozenset(["grippy", "drying", "astringent", "gripping"])
_ORDINARY = frozenset(["fine", "firm", "green", "ripe", "hard", "tight"])
_OF_TANNIN = frozenset(["tannin", "tannins", "tannic", "grip"])
_FOCUS = _OF_TANNIN | frozenset(
    "acid acidity body texture mouthfeel palate fruit mousse bodied bubble bubbles fizz alcohol finish spirit"
    " middle core entry".split()
)
_MEASURED = frozenset(["acidity", "acid", "alcohol", "bubble", "bubbles", "fizz"])
_FEELS_LIKE = "feels-like"  # a rule of scope.toml
_ACIDITY, _MOUSSE = "palate.acidity", "palate.mousse"
_SOFT = frozenset(["soft", "gentle", "delicate", "fine"])  # of a mousse a degree, and no texture
_NOT_FLAVOUR_AFTER = frozenset(["wine", "wines", "glass", "bottle", "coloured", "colored"])


def _chosen(mention: Mention, stage: str) -> Entry | None:
    """The descriptor (or on the palate the texture) that a mention is, in this stage."""
    descriptor, texture = mention.of("descriptor"), mention.of("texture")
    if texture and stage in ("palate", "finish"):
        return texture
    return descriptor


def _term(parsed: Parsed, mention: Mention, entry: Entry) -> str:
    """The lexicon's term; where what was said is another word for it ("graphite" for pencil lead)
    the taster's own, which the lexicon knows as well; of a word that the taster added, the term
    told with it."""
    said = tuple(match_key(t.text) for t in parsed.tokens[mention.first : mention.last])
    if told := entry.data.get("own", {}).get(said):
        return str(told)
    form = next((f for f in entry.said if spelled(f) == said), entry.term)
    akin = {k[:4] for k in spelled(entry.term)} & {k[:4] for k in said}
    return entry.term if akin else form.lower()


def _texture_field(entry: Entry, focus: str) -> str:
    if entry.family == "tannin" and focus != "tannin" and entry.term not in _GRIP:
        return "" if entry.term in _ORDINARY else "palate.texture"
    if entry.family == "tannin":
        return "palate.tannin_texture"
    if entry.family == "mouth":
        return "palate.texture"
    return "palate.tannin_texture" if focus == "tannin" else "palate.texture"


def _focus_at(parsed: Parsed, place: int, before: str) -> str:
    """Whether tannin (or something else) is being talked of at a token."""
    focus = parsed.last_named(place, names=_FOCUS)
    focus = "tannin" if focus in _OF_TANNIN else focus or before
    for at, token in enumerate(parsed.tokens[place : place + 4], place):
        if token.text in ("tannin", "tannins", "middle", "core", "entry", "texture", "mouthfeel"):
            return "tannin" if token.text.startswith("tannin") else token.text
        if token.pause and not _bare_tannin(parsed, at + 1):
            break
    return focus


def _bare_tannin(parsed: Parsed, place: int) -> bool:
    """ "dusty, the tannins": the thing named behind its adjective, in a clause of its own."""
    first, last = parsed.clause_at(place)
    return 0 < last - first <= 2 and parsed.said_within(first, last, texts=_TANNIN)


def _mentioned(
    parsed: Parsed, table: LevelTable, *, focus: str, of_acid: frozenset[int]
) -> Iterator[Reading]:
    """Readings of the lexicon's words; `of_acid` are the words that a level of acidity is told in."""
    stage = parsed.phrase.stage
    behind = strengths_behind(parsed, table=table)
    for mention in parsed.mentions:
        entry = _chosen(mention, stage)
        if entry is None or mention.of("fault"):
            continue
        if _when(parsed, mention):
            continue
        after = parsed.tokens[mention.last].text if mention.last < len(parsed.tokens) else ""
        if after in _NOT_FLAVOUR_AFTER and not parsed.tokens[mention.last - 1].pause:
            continue
        field = FIELD[stage]
        if entry.kind == "texture":
            field = _texture_field(entry, _focus_at(parsed, mention.first, focus))
            measured = after in _MEASURED and not parsed.tokens[mention.last - 1].pause
            if not field or measured or parsed.tokens[mention.first].word in of_acid:
                continue  # "soft acidity", "acids soft": a degree, not a texture
        told = behind.get(mention.first)
        mark = parsed.scope(mention.first, mention.last)
        feel = entry.kind == "texture" and mark.rule == _FEELS_LIKE  # "tannins like velvet" feel velvety
        yield parsed.reading(
            field, _term(parsed, mention, entry), first=mention.first, last=mention.last, family=entry.family,
            strength=told.value if told else strength_before(parsed, mention.first, table=table),
            scope="said" if feel else mark.scope, rule="" if feel else mark.rule,
        )  # fmt: skip


def _when(parsed: Parsed, mention: Mention) -> bool:
    """ "wet slate after rain": the rain says when, not what."""
    place = mention.first - 1
    while place > 0 and parsed.tokens[place].text in ("the", "a", "some"):
        place -= 1
    before = parsed.mention_at.get(place - 1)
    stands = before is not None and before.last == place
    return stands and parsed.tokens[place].text == "after" and not parsed.tokens[place - 1].pause


def read_descriptors(
    parsed: Parsed, shape: ShapeTable, *, levels: LevelTable, focus: str, level_words: Sequence[Reading]
) -> list[Reading]:
    """Aromas, flavours and textures of one phrase of nose, palate or finish; none of other stages.

    Known terms come by their lexicon name; unknown ones as said, `known` false, without hedges.
    """
    if parsed.phrase.stage not in FIELD:
        return []
    of_acid = frozenset(w for r in level_words if r.field == _ACIDITY for w in range(r.first, r.last))
    of_acid |= {
        w for r in level_words if r.field == _MOUSSE for w in range(r.first, r.last)
        if parsed.phrase.words[w].text.lower().strip(".,") in _SOFT
    }  # fmt: skip
    found = list(_mentioned(parsed, levels, focus=focus, of_acid=of_acid))
    busy_words = {w for r in level_words for w in range(r.first, r.last)}
    told = strengths_behind(parsed, table=levels).values()
    busy = frozenset(i for i, t in enumerate(parsed.tokens) if t.word in busy_words)
    busy |= {place for one in told for place in range(one.first, one.last)}
    for first, last in unknown_things(parsed, shape, level_places=busy):
        found.append(
            parsed.reading(
                FIELD[parsed.phrase.stage], parsed.text(first, last).lower(), first=first, last=last,
                known=False, strength=strength_before(parsed, first, table=levels), rule="shape",
            )
        )  # fmt: skip
    return sorted(found, key=lambda r: r.first)
