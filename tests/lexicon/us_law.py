"""Names in the wine law of the United States (us_wine_law.toml): an outside list."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

_DATA: dict[str, Any] = tomllib.loads(
    (Path(__file__).parent / "us_wine_law.toml").read_text(encoding="utf-8")
)
COUNTRIES: tuple[str, ...] = tuple(_DATA["foreign"])


def _names(text: str) -> tuple[str, ...]:
    return tuple(" ".join(name.split()) for name in text.split(";"))


def us_areas() -> tuple[str, ...]:
    """American viticultural areas."""
    return _names(_DATA["areas"])


def us_grapes() -> tuple[str, ...]:
    """Grape variety names allowed for American wine (those of the list that were seen)."""
    return _names(_DATA["grapes"])


def known_to_us_trade(country: str) -> tuple[str, ...]:
    """Foreign names that the law calls known to the trade as of one place, of one of `COUNTRIES`."""
    return _names(_DATA["foreign"][country])
