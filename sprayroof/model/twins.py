"""Two like rooms side by side, one cooled: the effect of the cooling on the pair, with its uncertainty."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

LEAST_DAYS = 5
LARGEST_RHO = 0.95
EXACT = 1e-12  # of the readings: what scatters less is rounding of the arithmetic


@dataclass(frozen=True)
class PairDoubt:
    """What two instruments and two rooms may differ by with neither cooled, all 90 % half-widths.

    Parameters
    ----------
    offset : float
        Constant error of the difference of the two instruments [unit of the readings].
    gain_frac : float
        Error of the difference that grows with the reading, as a share of it [1].
    pair : float
        What the two rooms themselves may differ by [unit of the readings]; it counts where there are no days on which
        neither was cooled.
    """

    offset: float = 0.0
    gain_frac: float = 0.0
    pair: float = 0.0


@dataclass(frozen=True)
class TwinEffect:
    """Cooled less control, as the cooling changed it.

    Parameters
    ----------
    effect, low, high : float
        Mean change of the difference and its 90 % interval [unit of the readings; per day for electricity]. Negative:
        the cooled one was colder, or used less.
    systematic, random : float
        90 % half-widths of instruments and rooms, and of the days.
    verdict : str
        "lower", "higher" or "cannot tell".
    days, like_days : int
        Days that the effect rests on, and days when neither was cooled that it was held against (0 if none).
    n_effective : float
        Degrees of freedom of the days after their dependence on each other.
    level, like_level : float
        Mean of the control over the days of either kind [as `effect`]; NaN without such days.
    why : str
        What the systematic part rests on, in words.
    rho : float
        Largest correlation of neighbouring days among the means used, from 0 to 0.95.
    """

    effect: float
    low: float
    high: float
    systematic: float
    random: float
    verdict: str
    days: int
    like_days: int
    n_effective: float
    level: float
    like_level: float
    why: str
    rho: float


@dataclass(frozen=True)
class _Mean:
    """Mean of some days: its variance, degrees of freedom, number of days, mean of the control, and correlation."""

    value: float
    variance: float
    freedom: float
    days: int
    level: float
    rho: float


@dataclass(frozen=True)
class _Contrast:
    """An estimate of the effect: weighed means, and its systematic half-width with the reason."""

    parts: tuple[tuple[float, _Mean], ...]
    systematic: float
    why: str

    @property
    def value(self) -> float:
        return sum(weight * part.value for weight, part in self.parts)

    @property
    def variance(self) -> float:
        return sum(weight**2 * part.variance for weight, part in self.parts)

    @property
    def freedom(self) -> float:
        """Degrees of freedom of a sum of means (Welch 1947)."""
        squares = sum((weight**2 * part.variance) ** 2 / part.freedom for weight, part in self.parts)
        return self.variance**2 / squares if squares > 0.0 else min(part.freedom for _, part in self.parts)


def twin_effect(
    cooled: np.ndarray,
    control: np.ndarray,
    like_cooled: np.ndarray | None,
    like_control: np.ndarray | None,
    doubt: PairDoubt,
    after_swap: np.ndarray | None = None,
    like_after_swap: np.ndarray | None = None,
) -> TwinEffect | None:
    """The effect of the cooling on a pair, from daily values.

    Parameters
    ----------
    cooled, control : ndarray, shape (n,)
        Daily means (or sums) of either room while one was cooled, day after day; NaN where a day is not complete.
    like_cooled, like_control : ndarray, shape (m,), or None
        The same from a time when neither was cooled.
    doubt : PairDoubt
        What instruments and rooms may differ by.
    after_swap, like_after_swap : ndarray of bool, shape (n,) and (m,), or None
        Days on which the two instruments had changed places.

    Returns
    -------
    TwinEffect or None
        None with fewer than five complete days.

    Notes
    -----
    With cooling e, rooms that differ by p and instruments by d, the difference is e + p + d, and e + p - d after the
    instruments changed places; p + d and p - d where neither was cooled. Days of neither cooled in the same placing
    take out p and d. Without them the mean of both placings takes out d; p stays. Days hang together: n' = n (1 - rho)
    / (1 + rho).
    """
    placed = [_means(cooled, control, after_swap, swapped) for swapped in (False, True)]
    like = [None, None]
    if like_cooled is not None and like_control is not None:
        like = [_means(like_cooled, like_control, like_after_swap, swapped) for swapped in (False, True)]
    found = _contrast(placed, like, doubt)
    if found is None:
        return None
    used = [part for weight, part in found.parts if weight > 0.0]
    against = [part for weight, part in found.parts if weight < 0.0]
    random = _t90(found.freedom) * float(np.sqrt(found.variance))
    half = float(np.hypot(found.systematic, random))
    effect = found.value
    rho = max(part.rho for _, part in found.parts)
    verdict = "lower" if effect + half < 0.0 else "higher" if effect - half > 0.0 else "cannot tell"
    if rho >= LARGEST_RHO:  # at its bound: the days may hang together more than the range holds
        verdict = "cannot tell"
    return TwinEffect(effect, effect - half, effect + half, found.systematic, random, verdict, _days(used),
                      _days(against), found.freedom, _level(used), _level(against), found.why, rho)


def _contrast(placed: list[_Mean | None], like: list[_Mean | None], doubt: PairDoubt) -> _Contrast | None:
    """The estimate with the least systematic error that the days allow."""
    have = [part for part in placed if part is not None]
    if not have:
        return None
    same = [(there, base) for there, base in zip(placed, like, strict=True) if there is not None and base is not None]
    if same:
        return _against_like(same, doubt)
    bases = [base for base in like if base is not None]
    if bases and len(have) == 1:
        return _Contrast(((1.0, have[0]), (-1.0, bases[0])), 2.0 * _instruments(doubt, have[0].level),
                         "the instruments changed places between the days of neither cooled and the others, so that "
                         "their error counts twice")
    if len(have) == 2:
        return _Contrast(((0.5, have[0]), (0.5, have[1])), doubt.pair,
                         "the instruments changed places, which takes their error out; what the two differ by without "
                         "cooling stays in")
    return _Contrast(((1.0, have[0]),), float(np.hypot(_instruments(doubt, have[0].level), doubt.pair)),
                     "the two instruments as stated, and what the two may differ by without cooling")


def _against_like(same: list[tuple[_Mean, _Mean]], doubt: PairDoubt) -> _Contrast:
    """Each placing against the days of neither cooled in the same placing, weighed by how sure it is."""
    sure = [1.0 / max(there.variance + base.variance, 1e-30) for there, base in same]
    parts: list[tuple[float, _Mean]] = []
    for weight, (there, base) in zip(sure, same, strict=True):
        parts += [(weight / sum(sure), there), (-weight / sum(sure), base)]
    # an error of scale is taken out for the same use only
    moved = sum(weight * part.level for weight, part in parts)
    return _Contrast(tuple(parts), doubt.gain_frac * abs(moved),
                     "the days when neither was cooled, which take out what rooms and instruments differ by")


def _instruments(doubt: PairDoubt, level: float) -> float:
    return float(np.hypot(doubt.offset, doubt.gain_frac * level))


def _means(
    cooled: np.ndarray, control: np.ndarray, after_swap: np.ndarray | None, swapped: bool
) -> _Mean | None:
    """Mean difference of the complete days of one placing; None where they are too few."""
    placing = np.zeros(len(cooled), dtype=bool) if after_swap is None else np.asarray(after_swap, dtype=bool)
    difference = np.where(placing == swapped, cooled - control, np.nan)
    known = np.isfinite(difference)
    n = int(known.sum())
    if n < LEAST_DAYS:
        return None
    mean = float(difference[known].mean())
    level = float(np.mean(control[known]))
    is_exact = float(difference[known].std()) <= EXACT * max(abs(mean), abs(level))
    rho = 0.0 if is_exact else _correlation(difference - mean)
    n_effective = max(n * (1.0 - rho) / (1.0 + rho), 1.0)
    variance = float(difference[known].var(ddof=1)) / n_effective
    return _Mean(mean, variance, max(n_effective - 1.0, 1.0), n, level, rho)


def _correlation(centred: np.ndarray) -> float:
    """Correlation of neighbouring days, from 0 to 0.95; what few days take off it is given back (Kendall 1954)."""
    known = np.isfinite(centred)
    spread = float((centred[known] ** 2).mean())
    pairs = (centred[1:] * centred[:-1])[known[1:] & known[:-1]]
    if spread <= 0.0 or not len(pairs):
        return 0.0
    found = float(pairs.mean()) / spread
    return float(np.clip(found + (1.0 + 3.0 * found) / known.sum(), 0.0, LARGEST_RHO))


def _days(parts: list[_Mean]) -> int:
    return sum(part.days for part in parts)


def _level(parts: list[_Mean]) -> float:
    days = _days(parts)
    return sum(part.days * part.level for part in parts) / days if days else float("nan")


def _t90(freedom: float) -> float:
    from scipy import stats

    return float(stats.t.ppf(0.95, max(freedom, 1.0)))
