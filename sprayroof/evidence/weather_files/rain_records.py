"""A rain record of its own, laid on the weather's steps.

Interval records keep the sum of every interval. A daily record does not say when it rained: each day's depth is laid
evenly over 15:00 to 19:00 local standard time (convective rain of warm seasons peaks in the late afternoon), and the
date is that of the day the rain is booked to. On a typical year a full year of rain is laid by month, day and time of
day; rain of a 29 February falls away then.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from sprayroof.evidence.files import read_evidence
from sprayroof.evidence.gather import Gather, count_of, some_of
from sprayroof.evidence.grid import on_grid
from sprayroof.evidence.running import (
    DAY_S,
    RunningSum,
    day_text,
    local_seconds,
    new_year_s,
    of_intervals,
)
from sprayroof.evidence.tables import Table, Wanted, read_table, span_of
from sprayroof.evidence.weather_files.rain_column import MISSING_ALLOWED_FRAC, MOST_HOUR_MM, MOST_YEAR_MM

if TYPE_CHECKING:
    import pandas as pd

    from sprayroof.evidence.site import Site

DAILY_FROM_H = 15.0
DAILY_TO_H = 19.0
MOST_DAY_MM = 1000.0


def lay_rain_record(
    index: pd.DatetimeIndex,
    step_s: int,
    utc_offset_h: float,
    typical: bool,
    site: Site,
    gather: Gather,
    inputs: list[dict[str, Any]],
) -> tuple[np.ndarray, str]:
    """Rain per step from the record that `site.weather.rain` declares.

    Parameters
    ----------
    index : DatetimeIndex, shape (n,)
        Step starts (UTC).
    step_s : int
        Length of a step [s].
    utc_offset_h : float
        Local standard time less UTC [h].
    typical : bool
        Whether the weather is a typical year, on which rain is laid by month and day.
    site : Site
    gather : Gather
        Receives problems and findings.
    inputs : list of dict
        Receives the row of this file.

    Returns
    -------
    rain_mm : ndarray, shape (n,)
        0 throughout after a problem.
    used : str
        For `Weather.names["rain"]`.
    """
    dry = np.zeros(len(index))
    declared = site.weather.rain
    file = read_evidence(site.folder, declared.file, None, "weather.rain.file", gather)
    if file is None:
        return dry, ""
    wanted = {"rain_mm": Wanted(declared.column, declared.unit, "mm", "weather.rain.column")}
    daily = declared.kind == "daily"
    table = read_table(
        file, wanted, declared.time_column, declared.time_format, declared.time_zone, "weather.rain", gather, daily
    )
    if table is None:
        return dry, ""
    inputs.append(file.entry(len(table.times), span_of(table.times), "rain"))
    sums = (
        _daily_sums(table, file.where, gather)
        if daily
        else _interval_sums(table, declared.stamp, utc_offset_h, file.where, gather)
    )
    if sums is None:
        return dry, ""
    if typical:
        return _on_typical_year(sums, index, step_s, utc_offset_h, file.where, gather)
    starts_s = local_seconds(index, utc_offset_h)
    if not sums.covers(starts_s[0], starts_s[-1] + step_s):
        gather.problem(
            file.where,
            f"the record runs from {sums.span_text()}",
            f"a record of the weather's year, {day_text(starts_s[0])} to {day_text(starts_s[-1])}",
            "name a rain record of that year, or a typical weather year",
        )
        return dry, ""
    return sums.between(starts_s, starts_s + step_s), f"record {file.where}"


# --- sums --------------------------------------------------------------------------------------------------------


def _interval_sums(table: Table, stamp: str, utc_offset_h: float, where: str, gather: Gather) -> RunningSum | None:
    grid = on_grid(table, stamp, where, gather, longest_s=86400)
    if grid is None:
        return None
    rain = _believable(grid.values["rain_mm"], grid.lines, grid.interval_s, where, gather)
    if rain is None:
        return None
    return of_intervals(rain, grid.start, grid.interval_s, utc_offset_h)


def _daily_sums(table: Table, where: str, gather: Gather) -> RunningSum | None:
    days = table.times.to_numpy().astype("datetime64[D]").astype(int)
    rain = np.full(days[-1] - days[0] + 1, np.nan)
    lines = np.zeros(len(rain), dtype=int)
    rain[days - days[0]], lines[days - days[0]] = table.values["rain_mm"], table.lines
    rain = _believable(rain, lines, int(DAY_S), where, gather)
    if rain is None:
        return None
    gather.finding(
        "weather.rain-daily",
        f"{where} holds daily depths; each was laid evenly over {DAILY_FROM_H:.0f}:00 to "
        f"{DAILY_TO_H:.0f}:00 local standard time.",
        where,
        {"from_h": DAILY_FROM_H, "to_h": DAILY_TO_H},
        "Sums are kept; in which hours rain stops the spraying is a convention.",
    )
    midnights_s = (days[0] + np.arange(len(rain))) * DAY_S
    corners_s = np.stack([midnights_s + DAILY_FROM_H * 3600.0, midnights_s + DAILY_TO_H * 3600.0], axis=1).ravel()
    fallen = np.cumsum(rain)
    running = np.stack([fallen - rain, fallen], axis=1).ravel()
    return RunningSum(corners_s, running, midnights_s[0], midnights_s[-1] + DAY_S)


def _believable(rain: np.ndarray, lines: np.ndarray, interval_s: int, where: str, gather: Gather) -> np.ndarray | None:
    """`rain` with few missing records as none; None after a problem."""
    missing = np.isnan(rain)
    share = float(missing.mean())
    if share > MISSING_ALLOWED_FRAC:
        gather.problem(
            where,
            f"{count_of(int(missing.sum()), 'record')} of {len(rain)} missing ({100 * share:.0f} %)",
            f"at most {100 * MISSING_ALLOWED_FRAC:.0f} % missing",
            "fill the record from a neighbouring gauge",
        )
        return None
    if missing.any():
        gather.finding(
            "weather.rain-gaps",
            f"The rain of {where} is missing in {count_of(int(missing.sum()), 'record')}; none was taken there.",
            where,
            {"records": int(missing.sum())},
            "Rain caught is understated a little.",
        )
    rain = np.where(missing, 0.0, rain)
    most = MOST_HOUR_MM if interval_s <= 3600 else MOST_DAY_MM
    bad = np.flatnonzero((rain < 0.0) | (rain > most))
    years = max(1.0, len(rain) * interval_s / (365.0 * DAY_S))
    if len(bad):
        gather.problem(
            where,
            f"impossible depths: {some_of([f'line {lines[at]} {rain[at]:g} mm' for at in bad])}",
            f"0 to {most:g} mm per record",
            "correct weather.rain.unit or these cells",
        )
    elif rain.sum() / years > MOST_YEAR_MM:
        gather.problem(
            where,
            f"{rain.sum() / years:.0f} mm a year",
            f"at most {MOST_YEAR_MM:.0f} mm a year",
            "correct weather.rain.unit",
        )
    elif not rain.any():
        gather.finding("weather.rain-missing", f"{where} holds no rain at all.", where, {}, "Rain caught is zero.")
    return None if len(bad) or rain.sum() / years > MOST_YEAR_MM else rain


# --- a typical year ----------------------------------------------------------------------------------------------


def _on_typical_year(
    sums: RunningSum, index: pd.DatetimeIndex, step_s: int, utc_offset_h: float, where: str, gather: Gather
) -> tuple[np.ndarray, str]:
    years = sums.full_years()
    if years:
        begin, year_text = _chosen_year(sums, years, where, gather)
    else:
        begin = sums.first_twelve_months()
        year_text = f"twelve months from {begin}"
    if begin is None:
        gather.problem(
            where, f"the record runs from {sums.span_text()}", "at least one full year", "name a longer rain record"
        )
        return np.zeros(len(index)), ""
    rain = sums.of_typical_year(index, step_s, utc_offset_h, begin)
    return rain, f"record {where}, {year_text}, laid on by month and day"


def _chosen_year(sums: RunningSum, years: list[int], where: str, gather: Gather) -> tuple[np.datetime64, str]:
    bounds = np.array([[new_year_s(year), new_year_s(year + 1)] for year in years])
    totals = sums.between(bounds[:, 0], bounds[:, 1])
    chosen = int(np.argmin(np.abs(totals - totals.mean())))
    if len(years) > 1:
        gather.finding(
            "weather.rain-year",
            f"{where} holds {len(years)} full years with {totals.min():.0f} to {totals.max():.0f} mm; "
            f"{years[chosen]} ({totals[chosen]:.0f} mm) is nearest to their mean of {totals.mean():.0f} mm and was "
            "used.",
            where,
            {"years": {str(year): round(float(total), 1) for year, total in zip(years, totals, strict=True)}},
        )
    return np.datetime64(f"{years[chosen]:04d}-01-01", "D"), f"year {years[chosen]}"
