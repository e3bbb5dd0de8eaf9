"""What the European Union's labels call a wine of so much sugar.

Source: Commission Delegated Regulation (EU) 2019/33, Annex III, parts A (sparkling wines) and B
(other wines). "dry" is at most 4 (9) g/L in a still wine and 17 to 32 g/L in a sparkling one, so a
word of sweetness says nothing without the wine's style.

The bands touch and overlap, and the regulation lets the producer choose (Article 52(2)). Here the
drier of the words that fit is taken, but for "brut nature", which also promises that no sugar was
added: that cannot be seen in an amount, so it is given only when `no_sugar_added` says so.
"""

from __future__ import annotations

import math

_EXTRA_BRUT, _BRUT, _EXTRA_DRY, _DRY, _MEDIUM_DRY = 6.0, 12.0, 17.0, 32.0, 50.0


def word_for_sugar(
    grams_per_litre: float, *, style: str, total_acidity: float | None = None, no_sugar_added: bool = False
) -> str:
    """The label's word for sugar (glucose and fructose, g/L) in a wine of a style.

    `style` is still, sparkling or fortified; `total_acidity` is in g/L as tartaric acid and counts in
    wines of part B alone, where acidity hides sugar. Raises ValueError on any other style and on an
    amount that is negative or no number.
    """
    for amount in (grams_per_litre, 0.0 if total_acidity is None else total_acidity):
        if not math.isfinite(amount) or amount < 0:
            raise ValueError(f"{amount!r} is no amount in grams per litre")
    if style == "sparkling":
        return _sparkling(grams_per_litre, no_sugar_added=no_sugar_added)
    if style in ("still", "fortified"):
        return _other(grams_per_litre, total_acidity=total_acidity)
    raise ValueError(f"style must be still, sparkling or fortified, not {style!r}")


def _sparkling(sugar: float, *, no_sugar_added: bool) -> str:
    if sugar < 3 and no_sugar_added:
        return "brut nature"
    if sugar <= _EXTRA_BRUT:
        return "extra brut"
    if sugar < _BRUT:
        return "brut"
    if sugar <= _EXTRA_DRY:
        return "extra dry"
    if sugar <= _DRY:
        return "dry"
    return "medium dry" if sugar <= _MEDIUM_DRY else "sweet"


def _other(sugar: float, *, total_acidity: float | None) -> str:
    # differences to 0.001 g/L, so that 8.0 - 2 is not told from 6.0 by binary fractions
    hidden = -math.inf if total_acidity is None else round(total_acidity - sugar, 3)
    if sugar <= 4 or (sugar <= 9 and hidden >= -2):
        return "dry"
    if sugar <= 12 or (sugar <= 18 and hidden >= -10):
        return "medium dry"
    return "medium sweet" if sugar <= 45 else "sweet"
