"""A number and its noun."""

from __future__ import annotations

import pytest

from dictate.language.counted import counted


@pytest.mark.parametrize(("count", "told"), [(0, "0 notes"), (1, "1 note"), (2, "2 notes"), (21, "21 notes")])
def test_only_one_is_singular(count: int, told: str) -> None:
    assert counted(count, "note") == told
