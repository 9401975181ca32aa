"""A metered cooling load, on the weather's steps."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from sprayroof.errors import InputProblems
from sprayroof.evidence.files import EvidenceFile, read_evidence
from sprayroof.evidence.gather import Gather, some_of
from sprayroof.evidence.grid import Grid, on_grid
from sprayroof.evidence.running import RunningSum, local_seconds, of_intervals
from sprayroof.evidence.steps import fill_short, runs
from sprayroof.evidence.tables import Wanted, read_table, span_of
from sprayroof.evidence.times import standard_offset_h
from sprayroof.evidence.units import converts
from sprayroof.results import Finding

if TYPE_CHECKING:
    import pandas as pd

    from sprayroof.evidence.site import Site

LONGEST_FILL_H = 2.0


@dataclass(frozen=True)
class LoadSeries:
    """A metered cooling load.

    Parameters
    ----------
    load_kW : ndarray, shape (n,)
        Mean load of each step [kW].
    findings : list of Finding
    inputs : list of dict
        file, sha256, rows, span, use.
    """

    load_kW: np.ndarray
    findings: list[Finding] = field(default_factory=list)
    inputs: list[dict[str, Any]] = field(default_factory=list)


def read_load_series(site: Site, index: pd.DatetimeIndex, typical_year: bool) -> LoadSeries:
    """The load that `site.load` names, as the mean of each step.

    Parameters
    ----------
    site : Site
        Its `load` declares file, column, unit (of power, or of energy per interval), time column, zone and stamp.
    index : DatetimeIndex, shape (n,)
        Step starts (UTC), regular.
    typical_year : bool
        Whether `index` is a nominal year; the load's latest full year is then laid on by month, day and time of day.

    Raises
    ------
    InputProblems
        The file cannot be read, has gaps longer than 2 h, or does not cover the year.
    """
    gather = Gather()
    inputs: list[dict[str, Any]] = []
    file = read_evidence(site.folder, site.load.file, None, "load.file", gather)
    grid = None if file is None else _grid(file, site, gather, inputs)
    gather.stop_if_problems(InputProblems)
    assert file is not None
    assert grid is not None  # a reader that gives no grid has told a problem
    offset_h = standard_offset_h(site.place.time_zone, grid.end.year)
    energy = of_intervals(grid.values["load_kW"] * grid.interval_s / 3600.0, grid.start, grid.interval_s, offset_h)
    step_s = round((index[1] - index[0]).total_seconds())
    if typical_year:
        steps_kWh = _on_typical_year(energy, index, offset_h, step_s, file.where, gather)
    else:
        steps_kWh = _on_real_year(energy, index, offset_h, step_s, file.where, gather)
    gather.stop_if_problems(InputProblems)
    return LoadSeries(steps_kWh * 3600.0 / step_s, gather.findings, inputs)


def _grid(file: EvidenceFile, site: Site, gather: Gather, inputs: list[dict[str, Any]]) -> Grid | None:
    load = site.load
    is_energy = converts(load.unit, "kWh")
    wanted = {"load_kW": Wanted(load.column, load.unit, "kWh" if is_energy else "kW", "load.column")}
    table = read_table(file, wanted, load.time_column, load.time_format, load.time_zone, "load", gather)
    grid = None if table is None else on_grid(table, load.stamp, file.where, gather)
    if table is None or grid is None:
        return None
    inputs.append(file.entry(len(table.times), span_of(table.times), "cooling load"))
    values = grid.values["load_kW"] * (3600.0 / grid.interval_s if is_energy else 1.0)
    filled = fill_short(values, grid.interval_s, wraps=False, longest_h=LONGEST_FILL_H)
    _tell(values, filled, grid, file.where, gather)
    grid.values["load_kW"] = filled
    return grid


def _tell(values: np.ndarray, filled: np.ndarray, grid: Grid, where: str, gather: Gather) -> None:
    import pandas as pd

    def named(position: int) -> str:
        return f"{grid.start + pd.Timedelta(seconds=position * grid.interval_s):%Y-%m-%d %H:%M} UTC"

    bridged = np.flatnonzero(np.isnan(values) & ~np.isnan(filled))
    if len(bridged):
        gather.finding(
            "load.gaps-filled",
            f"The load of {where} is missing in {len(bridged)} intervals, first at {named(bridged[0])}; gaps of up to "
            f"{LONGEST_FILL_H:g} hours were bridged by a straight line.",
            where,
            {"intervals": len(bridged)},
        )
    left = [f"{named(start)} to {named(stop)}" for start, stop in runs(np.isnan(filled))]
    if left:
        gather.problem(
            f"{where}, load",
            f"missing from {some_of(left)}",
            f"no gap longer than {LONGEST_FILL_H:g} h",
            "fill the gap in a copy of the file and say so in the site file's note",
        )
    below = np.flatnonzero(filled < 0.0)
    if len(below):
        gather.problem(
            f"{where}, load",
            f"{filled[below[0]]:g} kW at {named(below[0])}, below zero in {len(below)} intervals",
            "a cooling load of zero or more",
            "name the column of the cooling load itself",
        )


def _on_real_year(
    energy: RunningSum, index: pd.DatetimeIndex, offset_h: float, step_s: int, where: str, gather: Gather
) -> np.ndarray:
    starts_s = local_seconds(index, offset_h)
    if not energy.covers(starts_s[0], starts_s[-1] + step_s, slack_s=0.0):
        gather.problem(
            where,
            f"the record runs from {energy.span_text()}",
            f"a record of the weather's year, {index[0]:%Y-%m-%d} to {index[-1]:%Y-%m-%d}",
            "name a load record of that year, or a typical weather year",
        )
    return energy.between(starts_s, starts_s + step_s)


def _on_typical_year(
    energy: RunningSum, index: pd.DatetimeIndex, offset_h: float, step_s: int, where: str, gather: Gather
) -> np.ndarray:
    years = energy.full_years()
    begin = np.datetime64(f"{years[-1]:04d}-01-01", "D") if years else energy.first_twelve_months()
    if begin is None:
        gather.problem(
            where, f"the record runs from {energy.span_text()}", "at least one full year", "name a longer load record"
        )
        return np.zeros(len(index))
    gather.finding(
        "load.other-year",
        f"The load of {where} is that of the twelve months from {begin}; the weather is a typical year.",
        where,
        {"from": str(begin)},
        "Hot days and working days of load and weather do not fall together.",
    )
    return energy.of_typical_year(index, step_s, offset_h, begin)
