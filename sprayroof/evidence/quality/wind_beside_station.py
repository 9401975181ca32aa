"""The logged wind beside that of the weather record: a roof is seldom windier than the mast of a station."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.quality.compare import factor_near

if TYPE_CHECKING:
    from sprayroof.evidence.quality.masks import Bench

MOST_TIMES = 1.5  # the station's wind; a roof in the boundary layer of a town sees less than a mast at 10 m
LEAST_H = 72.0
SPEED_FACTORS = ((3.6, "km/h and m/s"), (1.944, "knots and m/s"), (2.237, "mph and m/s"))


def check_wind(bench: Bench) -> None:
    """Tell a wind that is on average far above the weather record's."""
    wind = bench.values("wind_m_s")
    if wind is None or bench.weather is None or "wind_m_s" not in bench.weather:
        return
    station = bench.station("wind_m_s")
    both = np.isfinite(wind) & np.isfinite(station)
    if both.sum() * bench.step_s < LEAST_H * 3600.0 or station[both].mean() <= 0.0:
        return
    ratio = float(wind[both].mean() / station[both].mean())
    if ratio <= MOST_TIMES:
        return
    mark = factor_near(ratio, SPEED_FACTORS)
    hint = f" The ratio is that between {mark[1]}." if mark else ""
    bench.gather.finding(
        "cross.wind-above-station",
        f"The logged wind is on average {wind[both].mean():.3g} m/s, {ratio:.3g} times that of the weather record; on "
        f"a roof it is mostly less.{hint} Check the unit of the wind column and the station.", "wind_m_s",
        bench.evidence("warn", "wind_m_s", both, f"more than {MOST_TIMES:g} times the weather record", ratio=ratio),
        "Drift and evaporation by the model grow with the wind; water and heat by pipe, store and meters do not rest "
        "on it.")
