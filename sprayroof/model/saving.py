"""What was used less than the line of the time before tells for the same weather, and how sure that is."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sprayroof.model.change_point import ChangePoint

# Change of use from one year to the next that has nothing to do with the roof, 90 % half-width as a share of the
# expected use. Own judgement; no source.
UNRELATED_FRAC = 0.03


@dataclass(frozen=True)
class Saving:
    """What was used less after the change than the baseline tells for the same weather.

    Parameters
    ----------
    saved, low, high : float
        Saving over the reporting periods and its 90 % interval [unit of use]; negative: more was used.
    expected, used : float
        Baseline carried to the weather of the reporting periods, and what was used [unit of use].
    days : float
        Days of the reporting periods.
    shares : dict of str to float
        Part of the squared half-width that comes of the fit, of the days, and of unrelated changes of use.
    """

    saved: float
    low: float
    high: float
    expected: float
    used: float
    days: float
    shares: dict[str, float]

    @property
    def saved_frac(self) -> float:
        """Saving as a share of the expected use."""
        return self.saved / self.expected

    @property
    def range_frac(self) -> tuple[float, float]:
        """Ends of the 90 % interval as shares of the expected use."""
        return self.low / self.expected, self.high / self.expected


@dataclass(frozen=True)
class PublishedUncertainty:
    """Fractional uncertainty of the saving by formulas in print: 90 % half-widths as shares of the saving.

    Parameters
    ----------
    independent : float
        Periods that do not hang together, as months are taken to.
    correlated : float
        Neighbouring periods that hang together.
    """

    independent: float
    correlated: float


def saving(baseline: ChangePoint, use: np.ndarray, days: np.ndarray, t_out_C: np.ndarray) -> Saving:
    """What was used less than the baseline tells for the same weather.

    Parameters
    ----------
    baseline : ChangePoint
        Line of the time before.
    use, days, t_out_C : ndarray, shape (m,)
        Periods of the time after, as for `fit_change_point`.

    Notes
    -----
    Fit and days together by Student's t with n' - p degrees of freedom, for their spread is estimated; unrelated
    changes of use are a judgement with a half-width of its own, and join by the root of the sum of squares.
    """
    expected = baseline.use_per_day(t_out_C)
    t90_squared = t90(baseline.n_effective - sum(baseline.free)) ** 2
    total = float((expected * days).sum())
    parts = {
        "fit": t90_squared * baseline.variance_of_sum(days, t_out_C),
        "days": t90_squared * baseline.variance_of_days(days, t_out_C),
        "unrelated use": (UNRELATED_FRAC * total) ** 2,
    }
    half_squared = sum(parts.values())
    half = float(np.sqrt(half_squared))
    used = float(np.sum(use))
    return Saving(total - used, total - used - half, total - used + half, total, used, float(np.sum(days)),
                  {name: part / half_squared for name, part in parts.items()})


def published_uncertainty(baseline: ChangePoint, saved_frac: float, periods: int) -> PublishedUncertainty | None:
    """Both published forms of the fractional uncertainty of a saving, for comparison; None where nothing was saved.

    Parameters
    ----------
    baseline : ChangePoint
    saved_frac : float
        Saving as a share of the expected use.
    periods : int
        Periods of the time after.

    Notes
    -----
    Reddy & Claridge (2000), as in ASHRAE Guideline 14: 1.26 t CV / F sqrt((1 + 2/n) / m), and with correlated
    residuals 1.26 t CV / F sqrt(n/n' (1 + 2/n') / m), t at 90 % with n - p degrees of freedom.
    """
    if saved_frac <= 0.0:
        return None
    n, n_effective = baseline.n, baseline.n_effective
    scale = 1.26 * t90(n - sum(baseline.free)) * baseline.cv_rmse / saved_frac
    return PublishedUncertainty(
        float(scale * np.sqrt((1.0 + 2.0 / n) / periods)),
        float(scale * np.sqrt(n / n_effective * (1.0 + 2.0 / n_effective) / periods)))


def t90(freedom: float) -> float:
    """Student's t of a 90 % interval; at least one degree of freedom."""
    from scipy import stats

    return float(stats.t.ppf(0.95, max(freedom, 1.0)))
