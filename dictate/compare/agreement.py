"""Agreement of tasters on one field: Kendall's W and two intraclass correlations.

A table is wines by tasters without holes (rows wines, columns tasters). W is Friedman's statistic of
scipy, which corrects for ties, divided by its greatest value: W = chi2 / (m (n - 1)), m tasters, n wines
(the identity holds in Siegel 1956 and in Kendall & Gibbons, Rank Correlation Methods; from memory). No
permissively licensed library gives intraclass correlations (pingouin, which does, is GPL-3 and would bind
this program), so the mean squares are turned into them here; the tests hold the result against pingouin
and a published example.
"""

from __future__ import annotations

import math
import warnings
from collections.abc import Sequence

import numpy as np

from dictate.compare.values import Intraclass

LEAST_WINES, LEAST_WINES_W, LEAST_TASTERS = 2, 3, 2
_SHARE = 0.95  # of the intervals
_NOTHING = 1e-12  # of the whole variation: less is the rounding of numbers

Table = Sequence[Sequence[float]]


def kendall_w(table: Table) -> float | None:
    """Kendall's coefficient of concordance, 0 to 1, of wines (rows) by tasters (columns), ties corrected.

    None where there are fewer than 3 wines or 2 tasters, or where every taster gave all wines the same.
    """
    from scipy.stats import friedmanchisquare  # late: it takes its time to import

    rows, columns = len(table), len(table[0]) if table else 0
    if rows < LEAST_WINES_W or columns < LEAST_TASTERS:
        return None
    if all(len(set(taster)) == 1 for taster in zip(*table, strict=True)):
        return None  # all tied: there is no order to agree on
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of small samples, which spoil the p-value only
        statistic = float(friedmanchisquare(*table).statistic)
    return min(1.0, max(0.0, statistic / (columns * (rows - 1))))


def intraclass(table: Table) -> Intraclass | None:
    """ICC(2,1) and ICC(2,k) of wines (rows) by tasters (columns): both drawn at random, absolute
    agreement, of one taster and of the mean of all k.

    Shrout & Fleiss 1979, Psychol. Bull. 86: 420-428; the 95 % interval as given there and in McGraw & Wong
    1996, Psychol. Methods 1: 30-46. Either may be below 0, which says that there is no agreement. None
    where there are fewer than 2 wines or tasters, or where all values are the same, or nothing but
    contradiction is left ([[1, 2], [2, 1]]).
    """
    values = np.asarray(table, dtype=np.float64)
    if values.ndim != 2 or values.shape[0] < LEAST_WINES or values.shape[1] < LEAST_TASTERS:
        return None
    n, k = values.shape
    total = float(((values - values.mean()) ** 2).sum())
    scale = float((values**2).sum())
    if total <= _NOTHING * scale:
        return None
    rows = k * float(((values.mean(axis=1) - values.mean()) ** 2).sum())
    columns = n * float(((values.mean(axis=0) - values.mean()) ** 2).sum())
    left = total - rows - columns
    left = 0.0 if left <= _NOTHING * total else left
    of_wines, of_tasters, of_error = rows / (n - 1), columns / (k - 1), left / ((n - 1) * (k - 1))
    below = of_wines + (k - 1) * of_error + k * (of_tasters - of_error) / n
    if below <= _NOTHING * total:  # two wines, two tasters, each the other way round: nothing is left of it
        return None
    single = (of_wines - of_error) / below
    interval = _interval(single, n, k, squares=(of_wines, of_tasters, of_error)) if of_error else None
    average_below = of_wines + (of_tasters - of_error) / n
    average = (of_wines - of_error) / average_below if average_below > _NOTHING * below else None
    # Spearman and Brown's way from one to the mean of k has a pole at -1 / (k - 1)
    stepped = interval and average is not None and 1 + (k - 1) * interval[0] > 0
    average_interval = (
        (_stepped_up(interval[0], k), _stepped_up(interval[1], k)) if stepped and interval else None
    )
    return Intraclass(single, interval, average, average_interval)


def _interval(
    single: float, n: int, k: int, *, squares: tuple[float, float, float]
) -> tuple[float, float] | None:
    from scipy.stats import f

    of_wines, of_tasters, of_error = squares
    ratio = of_tasters / of_error
    part = n * (1 + (k - 1) * single) - k * single
    freedom = (k - 1) * (n - 1) * (k * single * ratio + part) ** 2
    freedom /= (n - 1) * (k * single * ratio) ** 2 + part**2
    if not freedom > 0:
        return None
    tail = 1 - (1 - _SHARE) / 2
    upper, lower = float(f.ppf(tail, n - 1, freedom)), float(f.ppf(tail, freedom, n - 1))
    rest = k * of_tasters + (k * n - k - n) * of_error
    low = n * (of_wines - upper * of_error) / (upper * rest + n * of_wines)
    high = n * (lower * of_wines - of_error) / (rest + n * lower * of_wines)
    return (low, high) if math.isfinite(low) and math.isfinite(high) else None


def _stepped_up(single: float, k: int) -> float:
    """Spearman and Brown: the mean of k from one."""
    return single * k / (1 + single * (k - 1))
