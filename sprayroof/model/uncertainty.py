"""Draws of everything that is not known exactly, and the 90 % intervals that follow from them.

Member 0 is the best estimate; the others are a Latin hypercube over the site's facts and the model's coefficients.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy import stats
from scipy.stats import qmc

from sprayroof.physics.constants import CONSTANTS

Z_90 = 1.6448536269514722
INTERVAL = (5.0, 95.0)


@dataclass(frozen=True)
class Doubt:
    """One quantity that is drawn.

    Parameters
    ----------
    entry : str
        Entry of the site file, or "model.NAME" for a coefficient.
    value, low, high : float
        Best estimate and 90 % range.
    unit, label, source : str
        For the register of assumptions.
    lognormal : bool
        Whether the logarithm is normal (a factor) rather than the number itself.
    """

    entry: str
    value: float
    low: float
    high: float
    unit: str
    label: str
    source: str
    lognormal: bool = False


@dataclass(frozen=True)
class Draws:
    """All draws of an ensemble.

    Parameters
    ----------
    doubts : tuple of Doubt
        What was drawn, in the order of the columns of `z`.
    z : (members, doubts) array
        Standard normal scores; row 0 is zero.
    values : dict of str to (members,) array
        The numbers by entry.
    cloud_error : (members, nights) array
        Error of the cloud effect of each night; row 0 is zero.
    """

    doubts: tuple[Doubt, ...]
    z: np.ndarray
    values: dict[str, np.ndarray]
    cloud_error: np.ndarray


def model_doubts() -> list[Doubt]:
    """Coefficients of the model that no site file states, with the priors of the table of constants."""
    rows = []
    for name, entry, label in (
        ("PRIOR_F_H", "model.wind_cooling_factor", "Factor on wind-driven heat transfer of the roof"),
        ("PRIOR_F_DROP", "model.drop_factor", "Factor on heat and water lost by falling drops"),
    ):
        constant = CONSTANTS[name]
        spread = math.sqrt(math.log(0.5 + math.sqrt(0.25 + (constant.sd / constant.value) ** 2)))
        rows.append(Doubt(entry, constant.value, constant.value * math.exp(-Z_90 * spread),
                          constant.value * math.exp(Z_90 * spread), "1", label, "prior of the model", True))
    return rows


def draw(doubts: list[Doubt], runs: int, nights: int, cloud_sd: float, seed: int) -> Draws:
    """Draw an ensemble.

    Parameters
    ----------
    doubts : list of Doubt
        What to draw; those without width stay at their value.
    runs : int
        Members beside the best estimate, 0 or more.
    nights : int
        Nights of the weather.
    cloud_sd : float
        Standard deviation of a night's cloud error [1].
    seed : int
        Same seed, same draws.

    Returns
    -------
    Draws
        With `runs` + 1 members.
    """
    drawn = tuple(doubt for doubt in doubts if doubt.high > doubt.low)
    z = np.zeros((runs + 1, len(drawn)))
    cloud_error = np.zeros((runs + 1, nights))
    if runs > 0:
        hypercube = qmc.LatinHypercube(d=max(1, len(drawn)), rng=np.random.default_rng([seed, 1]))
        z[1:] = stats.norm.ppf(hypercube.random(runs))[:, : len(drawn)]
        cloud_error[1:] = cloud_sd * np.random.default_rng([seed, 2]).standard_normal((runs, nights))
    values = {doubt.entry: np.full(runs + 1, doubt.value) for doubt in doubts}
    for column, doubt in enumerate(drawn):
        values[doubt.entry] = _at_scores(doubt, z[:, column])
    return Draws(drawn, z, values, cloud_error)


def _at_scores(doubt: Doubt, z: np.ndarray) -> np.ndarray:
    """Numbers at normal scores: median the value, 5 and 95 % points the range; sign and share limits kept."""
    if doubt.lognormal:
        return doubt.value * np.exp(z * math.log(doubt.high / doubt.value) / Z_90)
    width = np.where(z > 0.0, doubt.high - doubt.value, doubt.value - doubt.low)
    numbers = doubt.value + z * width / Z_90
    if doubt.low >= 0.0:
        numbers = np.maximum(numbers, 0.0 if doubt.low == 0.0 else 0.2 * doubt.low)
    if doubt.unit == "1" and doubt.high <= 1.0:
        numbers = np.minimum(numbers, 1.0)
    return numbers


def interval(members: np.ndarray) -> tuple[float, float, float]:
    """Best estimate (member 0) and the ends of the 90 % interval, widened to contain the best estimate.

    Parameters
    ----------
    members : (members,) array

    Returns
    -------
    tuple of float
        value, low, high.
    """
    value = float(members[0])
    if members.size < 2:
        return value, value, value
    low, high = np.percentile(members[1:], INTERVAL)
    return value, min(float(low), value), max(float(high), value)


def effects(z: np.ndarray, result: np.ndarray) -> np.ndarray:
    """How far each doubt moves a result over half its 90 % range, by regression on the scores of all members.

    Parameters
    ----------
    z : (members, doubts) array
    result : (members,) array

    Returns
    -------
    (doubts,) array
        Signed effect, in the unit of the result; NaN where there are too few members to tell, or where the effect is
        below twice its standard error.
    """
    runs, count = z.shape[0] - 1, z.shape[1]
    if runs < 2 * count + 10:
        return np.full(count, np.nan)
    design = np.column_stack([np.ones(runs), z[1:]])
    slopes, *_ = np.linalg.lstsq(design, result[1:], rcond=None)
    noise = result[1:] - design @ slopes
    variance = noise @ noise / (runs - count - 1) * np.diag(np.linalg.pinv(design.T @ design))
    clear = np.abs(slopes) > 2.0 * np.sqrt(variance)
    return np.where(clear, slopes, np.nan)[1:] * Z_90
