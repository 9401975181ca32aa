"""Electricity or water against outdoor temperature: a level, and a line that rises above a change point.

Buildings that are heated with electricity have a second line that rises towards the cold. No part of the model of the
roof is used.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

STEP_C = 0.25  # of the search for the change point
HEATING_STEP_C = 0.5
STARTS = 8  # change points that are tried to the end
LEAST_EACH_SIDE = 3  # periods above and below a change point, or it rests on nothing
WEIGHT_FLOOR = 0.1  # of the mean use: small fitted amounts must not get endless weight
LARGEST_RHO = 0.95
EXACT = 1e-10  # of the mean use: residuals below this are rounding of the arithmetic
HEATS_T = -2.0  # Student's t of the fall of the residuals with temperature, beyond which a heating line is tried
BASE, SLOPE, CHANGE, HEATING_SLOPE, HEATING = range(5)
NO_HEATING_C = -273.15


@dataclass(frozen=True)
class ChangePoint:
    """Use per day = base + slope x (temperature above the change point) + heating slope x (below that of heating).

    Parameters
    ----------
    base_per_day : float
        Use per day between the change points [unit of use per d].
    slope_per_day_K : float
        Further use per kelvin above the change point [unit of use per (d K)].
    change_C : float
        Change point [degC]; the coldest period where use rises over the whole range.
    heating_slope_per_day_K, heating_C : float
        The same towards the cold; 0 and far below where nothing shows of heating.
    free : tuple of bool, length 5
        Which of base, slope, change, heating slope and heating point were fitted.
    covariance : ndarray, shape (p, p)
        Of the fitted ones, by the residuals themselves and their dependence on each other.
    covariance_even : ndarray, shape (p, p)
        The same if the residuals follow the assumed variance and lean on their neighbours alone.
    dispersion, dispersion_relative : float
        Variance of the use of periods over what was fitted for them, all together [unit of use]; and over the fitted
        use per day times what was fitted [d].
    rho : float
        Correlation of neighbouring residuals, not below 0.
    cv_rmse : float
        Root mean square of the residuals as a share of the mean use.
    n : int
        Periods.
    n_effective : float
        n (1 - rho) / (1 + rho).
    coldest_C, warmest_C : float
        Range of the temperatures of the periods.
    """

    base_per_day: float
    slope_per_day_K: float
    change_C: float
    heating_slope_per_day_K: float
    heating_C: float
    free: tuple[bool, ...]
    covariance: np.ndarray
    covariance_even: np.ndarray
    dispersion: float
    dispersion_relative: float
    rho: float
    cv_rmse: float
    n: int
    n_effective: float
    coldest_C: float
    warmest_C: float

    @property
    def heats(self) -> bool:
        """Whether use rises towards the cold."""
        return self.heating_slope_per_day_K > 0.0

    @property
    def parameters(self) -> np.ndarray:
        """Base, slope, change, heating slope, heating point."""
        return np.array([self.base_per_day, self.slope_per_day_K, self.change_C, self.heating_slope_per_day_K,
                         self.heating_C])

    def use_per_day(self, t_out_C: np.ndarray) -> np.ndarray:
        """Fitted use per day at outdoor temperatures [unit of use per d]."""
        return _use(self.parameters, np.asarray(t_out_C, dtype=float))

    def variance_of_sum(self, days: np.ndarray, t_out_C: np.ndarray) -> float:
        """Variance of the fitted use summed over periods, of the fit alone [square of the unit of use].

        The larger of the two covariances counts: the one from the residuals is too small for few periods, the other
        where the variance is not as assumed.
        """
        gradient = days @ _jacobian(self.parameters, np.asarray(t_out_C, dtype=float))[:, list(self.free)]
        return float(max(gradient @ matrix @ gradient for matrix in (self.covariance, self.covariance_even)))

    def variance_of_days(self, days: np.ndarray, t_out_C: np.ndarray) -> float:
        """Variance of the use summed over periods about the fitted one [square of the unit of use].

        The scatter may grow with the use or with its square; the larger of the two counts. Neighbouring periods hang
        together.
        """
        fitted = self.use_per_day(t_out_C)
        alone = max(self.dispersion * float((fitted * days).sum()),
                    self.dispersion_relative * float((fitted**2 * days).sum()))
        return alone * (1.0 + self.rho) / (1.0 - self.rho)


@dataclass(frozen=True)
class _Line:
    """A line that was tried: minus twice its log likelihood, parameters, and which of them are free."""

    deviance: float
    parameters: np.ndarray
    free: tuple[bool, ...]

    def criterion(self, log_n: float) -> float:
        """Deviance with what its parameters cost (Schwarz 1978)."""
        return self.deviance + log_n * sum(self.free)


def fit_change_point(use: np.ndarray, days: np.ndarray, t_out_C: np.ndarray) -> ChangePoint | None:
    """The change-point line through periods of use.

    Parameters
    ----------
    use : ndarray, shape (n,)
        Use of each period, in order of time [kWh, or any unit].
    days : ndarray, shape (n,)
        Its length [d].
    t_out_C : ndarray, shape (n,)
        Its mean outdoor temperature [degC].

    Returns
    -------
    ChangePoint or None
        None where use does not rise with temperature anywhere.

    Notes
    -----
    Three-parameter cooling model, five with heating, two where all periods lie above the change point (Kissock,
    Haberl & Claridge 2003); the one with the least criterion of Schwarz (1978) is taken. Weighted least squares with a
    variance in proportion to the fitted use and to the inverse of the period's length, base and slopes not negative,
    the change point by search and then by Gauss and Newton's steps. The covariance is the sandwich of the weighted
    residuals with Bartlett weights (Newey & West 1987) over n^(1/3) neighbours, or more where they hang together for
    longer (Andrews 1991).
    """
    use, days, t_out_C = (np.asarray(values, dtype=float) for values in (use, days, t_out_C))
    per_day = use / days
    lines = [line for line in (_whole_line(per_day, days, t_out_C), _hinged(per_day, days, t_out_C)) if line]
    log_n = float(np.log(len(per_day)))
    best = min(lines, key=lambda line: line.criterion(log_n)) if lines else None
    if best is None or _leans_to_cold(best, per_day, days, t_out_C):
        heated = _heated(per_day, days, t_out_C)
        if heated is not None and (best is None or _is_worth_it(heated, best, per_day, t_out_C, log_n)):
            best = heated
    return None if best is None else _fitted(best, per_day, days, t_out_C)


def _fitted(line: _Line, per_day: np.ndarray, days: np.ndarray, t_out_C: np.ndarray) -> ChangePoint:
    fitted = _use(line.parameters, t_out_C)
    residual = per_day - fitted
    weight = _weights(fitted, days)
    jacobian = _jacobian(line.parameters, t_out_C)[:, list(line.free)]
    n, freedom = len(per_day), len(per_day) - sum(line.free)
    rho = neighbour_correlation(residual * np.sqrt(weight), sum(line.free))
    scale = float((weight * residual**2).sum() / freedom)
    even = np.linalg.pinv(jacobian.T @ (jacobian * weight[:, None])) * scale * (1.0 + rho) / (1.0 - rho)
    squares = float(((days * residual) ** 2).sum()) * n / freedom
    rmse = float(np.sqrt((days * residual**2).sum() / days.sum() * n / freedom))
    mean = float((days * per_day).sum() / days.sum())
    return ChangePoint(
        *(float(value) for value in line.parameters),
        free=line.free,
        covariance=_sandwich(jacobian, residual, weight, rho),
        covariance_even=even,
        dispersion=squares / float((days * fitted).sum()),
        dispersion_relative=squares / float((days * fitted**2).sum()),
        rho=rho,
        cv_rmse=rmse / mean,
        n=n,
        n_effective=n * (1.0 - rho) / (1.0 + rho),
        coldest_C=float(t_out_C.min()),
        warmest_C=float(t_out_C.max()),
    )


# --- lines --------------------------------------------------------------------------------------------------------


def _whole_line(per_day: np.ndarray, days: np.ndarray, t_out_C: np.ndarray) -> _Line | None:
    """A straight line over the whole range of temperatures."""
    coldest_C = float(t_out_C.min())
    return _linear(coldest_C, NO_HEATING_C, per_day, days, t_out_C, change_free=False)


def _hinged(per_day: np.ndarray, days: np.ndarray, t_out_C: np.ndarray) -> _Line | None:
    """A level and a line above the change point."""
    tried = [_linear(change_C, NO_HEATING_C, per_day, days, t_out_C) for change_C in _between(t_out_C, STEP_C)]
    return _best_of(tried, per_day, days, t_out_C)


def _heated(per_day: np.ndarray, days: np.ndarray, t_out_C: np.ndarray) -> _Line | None:
    """A level with lines that rise above one change point and below another."""
    points_C = _between(t_out_C, HEATING_STEP_C)
    tried = [_linear(change_C, heating_C, per_day, days, t_out_C)
             for heating_C, change_C in itertools.combinations_with_replacement(points_C, 2)]
    return _best_of(tried, per_day, days, t_out_C)


def _best_of(
    tried: list[_Line | None], per_day: np.ndarray, days: np.ndarray, t_out_C: np.ndarray
) -> _Line | None:
    """The best line after polishing the best starts, each with another change point.

    A line's kinks make valleys of their own between the periods: from one start alone the deepest may be missed.
    """
    lines = sorted((line for line in tried if line is not None), key=lambda line: line.deviance)
    if not lines or len(per_day) - sum(lines[0].free) < 1:
        return None
    starts: dict[float, _Line] = {}
    for line in lines:
        starts.setdefault(float(line.parameters[CHANGE]), line)
    polished = [_polished(line, per_day, days, t_out_C) for line in list(starts.values())[:STARTS]]
    return min(polished, key=lambda line: line.deviance)


def _between(t_out_C: np.ndarray, step_C: float) -> np.ndarray:
    """Change points that leave enough periods on either side."""
    if len(t_out_C) < 2 * LEAST_EACH_SIDE:
        return np.zeros(0)
    ordered = np.sort(t_out_C)
    low, high = ordered[LEAST_EACH_SIDE - 1], ordered[-LEAST_EACH_SIDE]
    grid = np.arange(np.ceil(low / step_C) * step_C, high, step_C)
    return grid if len(grid) else np.array([low])[: int(low < high)]


def _linear(
    change_C: float, heating_C: float, per_day: np.ndarray, days: np.ndarray, t_out_C: np.ndarray,
    change_free: bool = True,
) -> _Line | None:
    """The weighted line for given change points; None where use does not rise on each side that has one."""
    from scipy.optimize import nnls

    sides = [np.ones(len(t_out_C)), np.maximum(t_out_C - change_C, 0.0)]
    heats = heating_C > NO_HEATING_C
    sides += [np.maximum(heating_C - t_out_C, 0.0)] if heats else []
    design = np.column_stack(sides)
    weight = days.copy()
    for _ in range(4):
        root = np.sqrt(weight)
        level, _ = nnls(design * root[:, None], per_day * root)
        weight = _weights(design @ level, days)
    if (level[1:] <= 0.0).any() or np.ptp(design[:, 1]) == 0.0:
        return None
    parameters = np.array([level[0], level[1], change_C, level[2] if heats else 0.0, heating_C])
    free = (bool(level[0] > 0.0), True, change_free, heats, heats)
    return _Line(_deviance(parameters, per_day, days, t_out_C), parameters, free)


def _polished(line: _Line, per_day: np.ndarray, days: np.ndarray, t_out_C: np.ndarray) -> _Line:
    """The line after Gauss and Newton's steps, each halved until it betters the fit."""
    best = line
    chosen = list(line.free)
    for _ in range(60):
        fitted = _use(best.parameters, t_out_C)
        root = np.sqrt(_weights(fitted, days))
        jacobian = _jacobian(best.parameters, t_out_C)[:, chosen]
        step, *_ = np.linalg.lstsq(jacobian * root[:, None], (per_day - fitted) * root, rcond=None)
        better = None
        for share in (1.0, 0.5, 0.25, 0.1, 0.02):
            parameters = best.parameters.copy()
            parameters[chosen] += share * step
            if _is_allowed(parameters, best.free, t_out_C):
                trial = _Line(_deviance(parameters, per_day, days, t_out_C), parameters, best.free)
                if trial.deviance < best.deviance - 1e-9:
                    better = trial
                    break
        if better is None:
            return best
        best = better
    return best


def _is_allowed(parameters: np.ndarray, free: tuple[bool, ...], t_out_C: np.ndarray) -> bool:
    base, slope, change_C, heating_slope, heating_C = parameters
    good = base >= 0.0 and slope > 0.0 and (t_out_C > change_C).sum() >= LEAST_EACH_SIDE
    if free[CHANGE]:
        good &= bool((t_out_C <= change_C).sum() >= LEAST_EACH_SIDE)
    if free[HEATING]:
        good &= bool(heating_slope > 0.0 and heating_C <= change_C and (t_out_C < heating_C).sum() >= LEAST_EACH_SIDE)
    return bool(good)


def _leans_to_cold(line: _Line, per_day: np.ndarray, days: np.ndarray, t_out_C: np.ndarray) -> bool:
    """Whether the residuals of the colder periods fall with temperature."""
    cold = t_out_C <= max(line.parameters[CHANGE], float(np.median(t_out_C)))
    t_C = t_out_C[cold]
    if len(t_C) < LEAST_EACH_SIDE + 1 or np.ptp(t_C) == 0.0:
        return False
    residual = (per_day - _use(line.parameters, t_out_C))[cold]
    design = np.column_stack([np.ones(len(t_C)), t_C - t_C.mean()])
    (_, fall), *_ = np.linalg.lstsq(design, residual, rcond=None)
    rest = residual - residual.mean() - fall * design[:, 1]
    spread = np.sqrt((rest**2).sum() / max(len(t_C) - 2, 1) / (design[:, 1] ** 2).sum())
    exact = EXACT * float(per_day.mean()) / float(np.ptp(t_C))
    return bool(fall < HEATS_T * max(spread, exact))


def _is_worth_it(heated: _Line, best: _Line, per_day: np.ndarray, t_out_C: np.ndarray, log_n: float) -> bool:
    """Whether two lines are so much better than one that their parameters and the search pay, days hanging together."""
    residual = per_day - _use(heated.parameters, t_out_C)
    rho = neighbour_correlation(residual, sum(heated.free))
    gained = (best.deviance - heated.deviance) * (1.0 - rho) / (1.0 + rho)
    return gained > log_n * (sum(heated.free) - sum(best.free) + 1)


# --- numbers ------------------------------------------------------------------------------------------------------


def _use(parameters: np.ndarray, t_out_C: np.ndarray) -> np.ndarray:
    base, slope, change_C, heating_slope, heating_C = parameters
    return base + slope * np.maximum(t_out_C - change_C, 0.0) + heating_slope * np.maximum(heating_C - t_out_C, 0.0)


def _jacobian(parameters: np.ndarray, t_out_C: np.ndarray) -> np.ndarray:
    _, slope, change_C, heating_slope, heating_C = parameters
    above, below = np.maximum(t_out_C - change_C, 0.0), np.maximum(heating_C - t_out_C, 0.0)
    return np.column_stack([np.ones(len(above)), above, np.where(above > 0.0, -slope, 0.0), below,
                            np.where(below > 0.0, heating_slope, 0.0)])


def _weights(fitted: np.ndarray, days: np.ndarray) -> np.ndarray:
    return days / np.maximum(fitted, WEIGHT_FLOOR * float(np.mean(fitted)))


def _deviance(parameters: np.ndarray, per_day: np.ndarray, days: np.ndarray, t_out_C: np.ndarray) -> float:
    """Minus twice the log likelihood where the variance follows the mean, so that heavy weights alone do not win."""
    fitted = _use(parameters, t_out_C)
    weight = _weights(fitted, days)
    least = weight.sum() * (EXACT * per_day.mean()) ** 2
    chi2 = max(float((weight * (per_day - fitted) ** 2).sum()), float(least))
    return float(len(per_day) * np.log(chi2) - np.log(weight).sum())


def _sandwich(jacobian: np.ndarray, residual: np.ndarray, weight: np.ndarray, rho: float) -> np.ndarray:
    """Covariance of the parameters under unequal and neighbouring-dependent residuals."""
    n, parameters = jacobian.shape
    bread = np.linalg.pinv(jacobian.T @ (jacobian * weight[:, None]))
    score = jacobian * (weight * residual)[:, None]
    meat = score.T @ score
    longest = 1.1447 * (4.0 * rho**2 / (1.0 - rho**2) ** 2 * n) ** (1.0 / 3.0)  # Andrews (1991), Bartlett weights
    reach = min(int(max(n ** (1.0 / 3.0), longest)), n // 3)
    for lag in range(1, reach + 1):
        beside = score[lag:].T @ score[:-lag]
        meat += (1.0 - lag / (reach + 1.0)) * (beside + beside.T)
    return bread @ meat @ bread * n / (n - parameters)


def neighbour_correlation(residual: np.ndarray, parameters: int) -> float:
    """Correlation of neighbouring residuals, from 0 to 0.95.

    A fit pushes residuals apart: what p smooth parameters take off the correlation of n of them, about p/n, is given
    back.
    """
    n = len(residual)
    spread = float((residual**2).sum())
    if spread <= 0.0 or n < 3:
        return 0.0
    found = float((residual[1:] * residual[:-1]).sum()) / spread
    return float(np.clip(found + parameters / n, 0.0, LARGEST_RHO))
