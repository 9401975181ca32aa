"""How well two records fit at each lag, window by window, and the lags that tell best: arithmetic only.

Lags are in steps; positive where the first record comes later than the second. An array of lags runs from -reach to
+reach.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

LEAST_SHARE = 0.5  # of a window that both records must know
NEAR_BEST = 0.5  # of the least gain: peaks this near to the best are as good, and the smallest lag of them is taken
LEAST_WINDOWS = 2  # of a piece with a lag of its own


@dataclass(frozen=True)
class Piece:
    """Windows `first` to `last` (not included) and the lag that fits them best [steps]; 0 where none is better."""

    first: int
    last: int
    lag: int


def moved_fits(first: np.ndarray, second: np.ndarray, start: int, stop: int, reach: int) -> np.ndarray | None:
    """Correlation of `first` in a window with `second` at every lag.

    Parameters
    ----------
    first, second : ndarray, shape (n,)
        NaN where unknown.
    start, stop : int
        The window of `first`.
    reach : int
        Longest lag [steps].

    Returns
    -------
    ndarray, shape (2 reach + 1,), or None
        0 where too little of the window is known at that lag; None where `first` does not change or is not known.
    """
    a = first[start:stop]
    padded = np.full(len(a) + 2 * reach, np.nan)
    low, high = max(start - reach, 0), min(stop + reach, len(second))
    padded[low - start + reach : high - start + reach] = second[low:high]
    known_a, known_b = np.isfinite(a), np.isfinite(padded)
    if known_a.sum() < LEAST_SHARE * len(a) or not known_b.any() or np.ptp(a[known_a]) == 0.0:
        return None
    # means taken out beforehand keep the sums of squares from losing their digits
    a0 = np.where(known_a, a - a[known_a].mean(), 0.0)
    b0 = np.where(known_b, padded - padded[known_b].mean(), 0.0)
    both = _sums(known_a.astype(float), known_b.astype(float), reach)
    many = np.maximum(both, 1.0)
    sum_a, sum_b = _sums(a0, known_b.astype(float), reach), _sums(known_a.astype(float), b0, reach)
    square_a = _sums(a0**2, known_b.astype(float), reach) - sum_a**2 / many
    square_b = _sums(known_a.astype(float), b0**2, reach) - sum_b**2 / many
    product = _sums(a0, b0, reach) - sum_a * sum_b / many
    scale = square_a * square_b
    least = 1e-9 * max(float(np.abs(scale).max()), 1e-300)
    told = (both >= LEAST_SHARE * len(a)) & (scale > least)
    return np.where(told, product / np.sqrt(np.where(told, scale, 1.0)), 0.0)


def _sums(x: np.ndarray, y: np.ndarray, reach: int) -> np.ndarray:
    """Sum over t of x(t) y(t - lag) for every lag; `y` begins `reach` steps before `x`."""
    size = 1 << (len(y) - 1).bit_length()
    product = np.fft.irfft(np.conj(np.fft.rfft(x, size)) * np.fft.rfft(y, size), size)
    return product[: 2 * reach + 1][::-1]


def pieces_of(fits: np.ndarray, least_fit: float, least_gain: float, least_jump: int) -> list[Piece]:
    """The lags that fit best, in as few pieces of constant lag as the fits ask for.

    Parameters
    ----------
    fits : ndarray, shape (windows, 2 reach + 1)
        In the order of time; only windows that tell something.
    least_fit : float
        Mean fit below which a piece tells nothing (it is left out).
    least_gain : float
        A lag counts beside none, and a change of lag beside none, only where the mean fit is better by this.
    least_jump : int
        Smallest change of the lag that is sought [steps].
    """
    if not len(fits):
        return []
    bounds = _without_idle_cuts(fits, _cuts(fits, least_gain), least_gain, least_jump)
    return [Piece(first, last, lag) for first, last in itertools.pairwise(bounds)
            if (lag := _best(fits[first:last], least_fit, least_gain)) is not None]


def _cuts(fits: np.ndarray, least_gain: float) -> list[int]:
    """Bounds of the pieces of the best path through the lags, in which a change costs twice `least_gain`."""
    from_lag = np.empty(fits.shape, dtype=int)
    lags = np.arange(fits.shape[1])
    best = fits[0].copy()
    for window in range(1, len(fits)):
        top = int(best.argmax())
        changed = best[top] - 2.0 * least_gain > best
        from_lag[window] = np.where(changed, top, lags)
        best = np.where(changed, best[top] - 2.0 * least_gain, best) + fits[window]
    path = [int(best.argmax())]
    for window in range(len(fits) - 1, 0, -1):
        path.append(int(from_lag[window][path[-1]]))
    return [0, *(np.flatnonzero(np.diff(path[::-1])) + 1).tolist(), len(fits)]


def _without_idle_cuts(fits: np.ndarray, bounds: list[int], least_gain: float, least_jump: int) -> list[int]:
    """Cuts taken out, the least worth first, until each parts pieces that last and truly differ."""
    while len(bounds) > 2:
        worths = [_worth(fits[first:cut], fits[cut:last], least_jump)
                  for first, cut, last in zip(bounds, bounds[1:], bounds[2:], strict=False)]
        least = int(np.argmin(worths))
        if worths[least] >= least_gain:
            break
        del bounds[least + 1]
    return bounds


def _worth(before: np.ndarray, after: np.ndarray, least_jump: int) -> float:
    """By how much two pieces fit better at their own lags than at each other's; -1 where they are short or alike."""
    means = before.mean(axis=0), after.mean(axis=0)
    old, new = int(means[0].argmax()), int(means[1].argmax())
    if min(len(before), len(after)) < LEAST_WINDOWS or abs(old - new) < least_jump:
        return -1.0
    return float(min(means[0][old] - means[0][new], means[1][new] - means[1][old]))


def _best(fits: np.ndarray, least_fit: float, least_gain: float) -> int | None:
    """The lag of the best mean fit [steps]; None where nothing fits."""
    mean = fits.mean(axis=0)
    reach = len(mean) // 2
    best = float(mean.max())
    if best < least_fit:
        return None
    if best - mean[reach] < least_gain:
        return 0
    padded = np.concatenate([[-np.inf], mean, [-np.inf]])
    peaks = np.flatnonzero((mean >= padded[:-2]) & (mean >= padded[2:]) & (mean >= best - NEAR_BEST * least_gain))
    return int(min(peaks - reach, key=abs))


def agreeing(fits: np.ndarray, piece: Piece, near: int) -> float:
    """Share of a piece's windows that by themselves fit about as well near its lag as anywhere."""
    own = fits[piece.first : piece.last]
    reach = own.shape[1] // 2
    low, high = max(reach + piece.lag - near, 0), reach + piece.lag + near + 1
    return float((own[:, low:high].max(axis=1) >= 0.9 * own.max(axis=1)).mean())
