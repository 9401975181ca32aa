"""Whether more wind blew more water away: calm and windy nights compared.

Evaporation goes with the vapour-pressure difference from the water to the air, and with wind; drift goes with wind
alone. How warm the water is where it evaporates is not known, so the coldest and the warmest water are tried, and the
range spans both. What drifts in still air cannot be found this way: it looks like evaporation of another kind of night.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sprayroof.model.measured_amounts import Amount
from sprayroof.model.measured_nights import Night
from sprayroof.model.measured_readings import Readings

LEAST_NIGHTS = 10
LEAST_WIND_m_s = 0.5  # range of the nights' winds below which nothing can be said of wind


@dataclass(frozen=True)
class WindSlope:
    """Rise of the share of sprayed water that is lost as drops, for a metre per second more wind.

    Parameters
    ----------
    value, low, high : float
        Best estimate and 90 % range [1/(m/s)].
    nights : int
        Nights behind it.
    """

    value: float
    low: float
    high: float
    nights: int

    @property
    def is_clear(self) -> bool:
        """Whether wind surely blew water away."""
        return self.low > 0.0


def wind_slope(readings: Readings, nights: list[Night], losses: list[Amount | None],
               sprayed: list[Amount | None]) -> WindSlope | None:
    """The slope by regression over nights; None where they are too few or their winds too alike.

    Parameters
    ----------
    readings : Readings
    nights : list of Night
    losses, sprayed : list of Amount or None
        Water lost by spraying, leaks taken off, and water sprayed in each night [L].
    """
    rows = [row for night, loss, litres in zip(nights, losses, sprayed, strict=True)
            if loss is not None and litres is not None and litres.value > 0.0
            and (row := _row(readings, night, loss.value / litres.value)) is not None]
    table = np.array(rows)
    if len(rows) < LEAST_NIGHTS or np.ptp(table[:, 3]) < LEAST_WIND_m_s:
        return None
    fits = [_fit(table[:, 0], table[:, place], table[:, 3]) for place in (1, 2)]
    low, high = min(value - half for value, half in fits), max(value + half for value, half in fits)
    return WindSlope(0.5 * (fits[0][0] + fits[1][0]), low, high, len(rows))


def _row(readings: Readings, night: Night, lost_frac: float) -> tuple[float, ...] | None:
    """Share lost, vapour-pressure differences from the return and from the supply water [kPa], and wind."""
    from sprayroof.physics.moistair import saturation_pressure_Pa

    columns = [readings.column(name)[night.spray] for name in ("return_C", "supply_C")]
    columns += [readings.weather_column(logged, station)[night.spray] for logged, station in (
        ("air_C", "t_air_C"), ("humidity_frac", "humidity_frac"), ("wind_m_s", "wind_m_s"))]
    running = readings.running_frac[night.spray] > 0.5
    known = np.isfinite(columns).all(axis=0) & running
    if known.sum() < 0.5 * max(running.sum(), 1):
        return None
    back, supply, air_C, humidity, wind = (column[known] for column in columns)
    vapour_Pa = humidity * saturation_pressure_Pa(air_C)
    apart = [float((saturation_pressure_Pa(water) - vapour_Pa).mean()) / 1000.0 for water in (back, supply)]
    return lost_frac, *apart, float(wind.mean())


def _fit(lost: np.ndarray, apart_kPa: np.ndarray, wind_m_s: np.ndarray) -> tuple[float, float]:
    """Slope and 90 % half-width of: share lost = difference x (a + b wind) + d + e wind, by least squares."""
    from scipy import stats

    design = np.column_stack([wind_m_s, apart_kPa, apart_kPa * wind_m_s, np.ones(len(lost))])
    found, *_ = np.linalg.lstsq(design, lost, rcond=None)
    freedom = len(lost) - design.shape[1]
    rest = lost - design @ found
    variance = float(np.linalg.pinv(design.T @ design)[0, 0]) * float(rest @ rest) / freedom
    return float(found[0]), float(stats.t.ppf(0.95, freedom)) * float(np.sqrt(variance))
