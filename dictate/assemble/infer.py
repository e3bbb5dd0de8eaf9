"""What follows safely from what was said: colour and style of the wine, marked `inferred`."""

from __future__ import annotations

from dictate.assemble.draft import Draft
from dictate.lexicon.entries import Lexicon
from dictate.note import Term, Text

_BERRY = {"white": "white", "grey": "white", "pink": "white", "black": "red"}
_COLOURS = ("white", "rosé", "orange", "red")  # a taster's own hue is of no colour that we know
_NOT_A_COLOUR = ("sparkling",)


def _inferred(term: str, said: str) -> Term:
    return Term(term=term, said=said, confidence=0.9, source="inferred")


def infer_wine(draft: Draft, lexicon: Lexicon) -> None:
    """Fills `wine.colour` and `wine.style` where they were not said; never over what was said.

    Colour by the law of the origin, else by the hue seen (amber says little: an old white is amber
    too; brown, where wines of any colour end, says nothing), else by the grapes' berries (only
    still wine, all of one colour). Common practice, no source.
    """
    values = draft.values
    origin = values.get("wine.origin")
    place = lexicon.lookup(origin.text, "origin") if isinstance(origin, Text) else None
    if place and "wine.style" not in values and place.data.get("style"):
        values["wine.style"] = _inferred(str(place.data["style"]), origin.said)  # type: ignore[union-attr]
    if "wine.colour" in values:
        return
    hue = values.get("appearance.hue")
    seen = lexicon.lookup(hue.term, "hue") if isinstance(hue, Term) else None
    seen = seen if seen and seen.family in _COLOURS and seen.term != "brown" else None
    style = values.get("wine.style")
    if place and place.data.get("colour"):
        values["wine.colour"] = _inferred(str(place.data["colour"]), origin.said)  # type: ignore[union-attr]
    elif seen and hue is not None and not (seen.family == "orange" and draft.lists.get("wine.grapes")):
        values["wine.colour"] = _inferred(seen.family, hue.said)
    elif not (isinstance(style, Term) and style.term in _NOT_A_COLOUR):
        _by_grapes(draft, lexicon)


def _by_grapes(draft: Draft, lexicon: Lexicon) -> None:
    grapes = list(draft.lists.get("wine.grapes", {}).values())
    berries = [lexicon.lookup(g.term, "grape") for g in grapes]
    colours = {_BERRY.get(b.family) for b in berries if b}
    if len(colours) == 1 and all(berries) and None not in colours:
        draft.values["wine.colour"] = _inferred(str(colours.pop()), ", ".join(g.said for g in grapes))
