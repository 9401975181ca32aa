"""What a store remembers of earlier nights, and the lasting difference between spraying every night and never.

The store follows the switch with a delay: its state after a night is s(n) = a s(n-1) + (1 - a) on(n), a the share of a
night's state that is left a day later. A day feels f s(n) + (1 - f) s(n-1): all of it where the night alone changes the
store, less where the store goes on changing by day. A day's reading is what else moves it + effect x that + a rest of
which days that follow each other share a part (first-order autoregression). Neither a, f, that likeness nor the state
before the first night is known: each is scanned, and every combination counts by how likely the readings are under it
(restricted likelihood; the effect's own scale is left out, so that a slow store gains nothing by moving little within
the weeks). The effect's distribution is the sum of their Student distributions, with the carry-over's own doubt in it.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

# Shares of the state left after a day: even steps up to the slow stores (time constants 0, 0.5 ... 5, 7.5 days)
LEFT_A_DAY = (0.0, 0.125, 0.25, 0.375, 0.5, 0.625, 0.75, 0.82, 0.875)
AT_ONCE = (0.5, 0.75, 1.0)  # share of a night's change that the day after it feels
LIKENESS = (0.0, 0.15, 0.3, 0.45, 0.6, 0.75, 0.9, 0.95)  # of days that follow each other
BEFORE = (0.0, 0.5, 1.0)  # state before the first night: settled off, between, settled on
LEAST_FREEDOM = 3  # nights more than what moves them
UNSETTLED_FRAC = 0.25  # of the state, still left at the end of the blocks (95 %)
WIDER_TAIL = 0.01  # beyond the far end of the range where the store does not settle
_LEAST_SPREAD = 1e-6  # of the switched state, beside what else moves the days


@dataclass(frozen=True)
class Lasting:
    """Effect of spraying every night less never.

    Parameters
    ----------
    value, low, high : float
        Median and 90 % range; where the store did not settle, the end away from zero is that of 99 %.
    left_frac, left_low_frac, left_high_frac : float
        Share of a night's state left a day later: median and 90 % range of the scanned values.
    likeness : float
        Mean likeness of the rest on days that follow each other.
    settled : bool
        Whether blocks were long enough for the store to forget the state before, whatever scanned value is true.
    """

    value: float
    low: float
    high: float
    left_frac: float
    left_low_frac: float
    left_high_frac: float
    likeness: float
    settled: bool


def states_of(on: list[bool | None], left_frac: float, before: float, at_once_frac: float = 1.0) -> np.ndarray:
    """State of the store on the day after each night, 0 (as if never sprayed) to 1 (as if always).

    Parameters
    ----------
    on : list of bool or None
        Every night in turn; None where nothing tells. After such a night the state is `before` again.
    left_frac : float
        Share of the state left a day later.
    before : float
        State before the first night.
    at_once_frac : float
        Share of a night's change that the day after it feels.

    Returns
    -------
    ndarray, shape (n,)
    """
    states, state = np.empty(len(on)), before
    for night, switched in enumerate(on):
        last, state = state, before if switched is None else left_frac * state + (1.0 - left_frac) * switched
        states[night] = state + (1.0 - at_once_frac) * (last - state)
    return states


def lasting_effect(y: np.ndarray, beside: np.ndarray, places: np.ndarray, on: list[bool | None]) -> Lasting | None:
    """The lasting effect on a day's reading; None where switching cannot be told from what else moves the days.

    Parameters
    ----------
    y : ndarray, shape (n,)
        Readings of the days that count.
    beside : ndarray, shape (n, k)
        What else moves them, with a column of ones.
    places : ndarray of int, shape (n,)
        Rising places of those days in `on`.
    on : list of bool or None
        Every night, also those that do not count.
    """
    freedom = len(y) - beside.shape[1] - 1
    if freedom < LEAST_FREEDOM:
        return None
    states = [(left, states_of(on, left, before, at_once)[places])
              for left, before, at_once in itertools.product(LEFT_A_DAY, BEFORE, AT_ONCE)]
    fits = np.array([(*fit, left, likeness) for likeness in LIKENESS
                     for left, fit in _fits(y, beside, np.diff(places), likeness, states, freedom)])
    if not len(fits):
        return None
    log_weights, effects, errors, left, likeness = fits.T
    weights = np.exp(log_weights - log_weights.max())
    weights /= weights.sum()
    left_low, left_middle, left_high = (_weighted_quantile(left, weights, share) for share in (0.05, 0.5, 0.95))
    settled = left_high ** shortest_hold(on, places) <= UNSETTLED_FRAC
    low, value, high = (_mixed_quantile(effects, errors, weights, freedom, share) for share in (0.05, 0.5, 0.95))
    if not settled and value < 0.0:
        low = _mixed_quantile(effects, errors, weights, freedom, WIDER_TAIL)
    if not settled and value > 0.0:
        high = _mixed_quantile(effects, errors, weights, freedom, 1.0 - WIDER_TAIL)
    return Lasting(value, low, high, left_middle, left_low, left_high, float(weights @ likeness), settled)


def shortest_hold(on: list[bool | None], places: np.ndarray) -> int:
    """Nights of the longest block of that state whose longest block is the shorter one."""
    longest = {True: 0, False: 0}
    for state, nights in itertools.groupby(on[:int(places[-1]) + 1]):
        if state is not None:
            longest[bool(state)] = max(longest[bool(state)], len(list(nights)))
    return min(longest.values())


def _fits(y: np.ndarray, beside: np.ndarray, gaps: np.ndarray, likeness: float,
          states: list[tuple[float, np.ndarray]], freedom: int) -> list[tuple[float, tuple[float, ...]]]:
    """Share left a day later, with (log weight, effect, its standard error), for each of the states."""
    shared = likeness ** gaps
    own = np.sqrt(1.0 - shared ** 2)

    def alone(values: np.ndarray) -> np.ndarray:
        """Days freed of what they share with the day before."""
        freed = values.astype(float).copy()
        freed[1:] = ((values[1:].T - shared * values[:-1].T) / own).T
        return freed

    frame, triangle = np.linalg.qr(alone(beside))
    sizes = np.abs(np.diag(triangle))
    if sizes.min() < 1e-9 * sizes.max():
        return []

    def rest(values: np.ndarray) -> np.ndarray:
        freed = alone(values)
        return freed - frame @ (frame.T @ freed)

    left_over = rest(y)
    # readings that are all alike leave nothing; a trace of their size stands for rounding
    trace = 1e-18 * float(y @ y) + 1e-30
    weight = -np.log(own).sum() - np.log(sizes).sum()
    found = []
    for left, state in states:
        moved = rest(state)
        spread = float(moved @ moved)
        if spread < _LEAST_SPREAD * len(y):
            continue
        effect = float(moved @ left_over) / spread
        squares = float(left_over @ left_over) - effect ** 2 * spread
        squares = max(squares, 0.0) + trace
        found.append((left, (weight - 0.5 * freedom * np.log(squares), effect,
                             float(np.sqrt(squares / freedom / spread)))))
    return found


def _weighted_quantile(values: np.ndarray, weights: np.ndarray, share: float) -> float:
    order = np.argsort(values)
    reached = np.searchsorted(np.cumsum(weights[order]), share)
    return float(values[order][min(int(reached), len(values) - 1)])


def _mixed_quantile(middles: np.ndarray, errors: np.ndarray, weights: np.ndarray, freedom: int, share: float) -> float:
    """Quantile of a sum of Student distributions."""
    from scipy import optimize, stats

    def over(x: float) -> float:
        return float(weights @ stats.t.cdf((x - middles) / errors, freedom)) - share

    ends = [middles + sign * float(stats.t.ppf(0.9999, freedom)) * errors for sign in (-1.0, 1.0)]
    return float(optimize.brentq(over, float(ends[0].min()), float(ends[1].max())))
