"""The weights of `lexicon/rules/doubt.toml` as a table. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from dictate.doubt.evidence import EVIDENCE, KINDS


class DoubtTableError(ValueError):
    """A table that cannot be used; the message names the key."""


@dataclass(frozen=True, slots=True)
class DoubtTable:
    """`routine`: from this chance on a value is not doubtful. `weights`: log-odds that a value needs no
    correction, one for each of EVIDENCE and KINDS, and the bias; `usual`: what each piece of evidence is on
    the whole. `given`: chances by source where nothing was heard. `unread`: as `weights`, for words that fed
    no field, and the chance from which they are shown."""

    routine: float
    bias: float
    weights: tuple[float, ...]
    usual: tuple[float, ...]
    given: Mapping[str, float]
    unread: Mapping[str, float]


def doubt_table(data: Mapping[str, Any]) -> DoubtTable:
    """The table from the plain data of `doubt.toml`. Raises DoubtTableError naming what is missing."""
    try:
        weights, kinds, usual = data["weights"], data["kind"], data["usual"]
        return DoubtTable(
            routine=float(data["routine"]),
            bias=float(data["bias"]),
            weights=(*(float(weights[n]) for n in EVIDENCE), *(float(kinds[n]) for n in KINDS)),
            usual=tuple(float(usual[n]) for n in EVIDENCE),
            given={name: float(chance) for name, chance in data["given"].items()},
            unread={name: float(value) for name, value in data["unread"].items()},
        )
    except KeyError as missing:
        raise DoubtTableError(f"doubt.toml: {missing} is missing; make it anew: fit_doubt.py") from None
    except (TypeError, ValueError, AttributeError) as error:
        raise DoubtTableError(f"doubt.toml: {error}; make it anew: fit_doubt.py") from error
