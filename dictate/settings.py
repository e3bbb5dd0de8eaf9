"""Settings of a run: one frozen object."""

from __future__ import annotations

from dataclasses import dataclass, replace

from dictate.personal.habits import LevelUse, Own
from dictate.personal.words import PersonalWord
from dictate.values import ListedWine


@dataclass(frozen=True, slots=True)
class Settings:
    """What a user can choose. `cues` are phrases of the taster's own, added to the defaults; `words`
    are known as the lexicon's are, `levels` go before the table's; `wines` fill in what is not said of a
    wine, and unless it is tasted blind their names are listened for."""

    model: str | None = None  # a folder or a name of models/catalogue.toml; None takes the first found
    language: str = "en"
    salvage: bool = False  # of a recording that is cut short, take what there is
    cues: tuple[tuple[str, tuple[str, ...]], ...] = ()
    words: tuple[PersonalWord, ...] = ()
    levels: tuple[LevelUse, ...] = ()  # what the taster means by a degree
    wines: tuple[ListedWine, ...] = ()  # a prepared list, in its order
    blind: bool = False
    wines_before: int = 0  # notes already made of this flight: where the list's order goes on


def with_own(settings: Settings, own: Own) -> Settings:
    """Settings with all that is a taster's own: words, what they mean by a degree, their cues."""
    habits = own.habits
    return replace(
        settings, words=own.words, levels=habits.levels, cues=(*settings.cues, *habits.cue_phrases)
    )
