"""How long a batch will take yet, from what was done so far. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class Going:
    """A recording being heard: ending, bytes, the share that is done (0 to 1), seconds so far."""

    ending: str
    size: int
    share: float = 0.0
    for_s: float = 0.0


@dataclass(slots=True)
class Pace:
    """Seconds of work a byte, of each ending by itself: an hour of one recorder is much like the next, and
    may have a hundred times the bytes of another's. `workers` go on side by side."""

    workers: int
    _bytes: dict[str, float] = field(default_factory=dict)
    _took_s: dict[str, float] = field(default_factory=dict)

    def did(self, ending: str, size: int, *, took_s: float) -> None:
        """A recording of so many bytes took so many seconds."""
        for key in (ending, ""):
            self._bytes[key] = self._bytes.get(key, 0.0) + size
            self._took_s[key] = self._took_s.get(key, 0.0) + took_s

    def left_s(self, left: Iterable[tuple[str, int]], going: Iterable[Going] = ()) -> float | None:
        """Seconds that the recordings left (ending, bytes) and those at hand will take; None where nothing
        tells."""
        so_far = Pace(self.workers, dict(self._bytes), dict(self._took_s))
        at_hand = list(going)
        for each in at_hand:
            if each.share > 0:
                so_far.did(each.ending, round(each.size * each.share), took_s=each.for_s)
        rates = so_far._rates()
        if not rates:
            return None
        work_s = sum(_rate(rates, ending) * size for ending, size in left)
        work_s += sum(_rate(rates, each.ending) * each.size * (1 - each.share) for each in at_hand)
        return work_s / self.workers

    def _rates(self) -> dict[str, float]:
        return {key: self._took_s[key] / size for key, size in self._bytes.items() if size}


def _rate(rates: Mapping[str, float], ending: str) -> float:
    return rates.get(ending, rates[""])
