"""Reads the open register of EU wine PDOs (Candiago et al. 2022) where it is at hand; never shipped."""

from __future__ import annotations

import csv
import os
import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

REGISTER = Path(os.environ.get("WINE_PDO_REGISTER", "/work/shared/data/eu_wine_pdo.csv"))
_BERRY = {"B": "white", "N": "black", "Rs": "pink", "Rg": "pink", "G": "grey"}


@dataclass(frozen=True, slots=True)
class Row:
    """A protected name in all its spellings, its country (two letters) and its permitted varieties."""

    country: str
    names: tuple[str, ...]
    varieties: tuple[str, ...]


def read_register() -> Iterator[Row]:
    """All rows, in the register's order."""
    with REGISTER.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            names = (row["name"], *re.split(r"\s*/\s*", row["name"]))
            varieties = tuple(v.strip() for v in row["varieties"].split("/") if v.strip())
            yield Row(row["country"], names, varieties)


def register_grapes() -> Iterator[tuple[str, str]]:
    """Each permitted variety of each wine: its name and the letter of its berry colour."""
    for row in read_register():
        for variety in row.varieties:
            match = re.fullmatch(r"(.*?)\s+(B|N|Rs|Rg|G)", variety)
            if match:
                yield match[1], match[2]


def berry_letter(letter: str) -> str:
    """Our word for a berry colour letter (B, N, Rs, Rg, G)."""
    return _BERRY[letter]
