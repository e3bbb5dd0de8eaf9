"""Settings of a run: one frozen object."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Settings:
    """What a user can choose. `cues` are phrases of the taster's own, added to the defaults."""

    model: str | None = None  # a folder or a name of models/catalogue.toml; None takes the first found
    language: str = "en"
    salvage: bool = False  # of a recording that is cut short, take what there is
    cues: tuple[tuple[str, tuple[str, ...]], ...] = ()
