"""A comparison as plain JSON data."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from dictate.compare.values import Comparison


def as_document(comparison: Comparison) -> dict[str, Any]:
    """The comparison as JSON data, `kind` first. What was not said has no key, or null; never 0."""
    data = asdict(comparison)
    return {"kind": data.pop("kind"), **data}
