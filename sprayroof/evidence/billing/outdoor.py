"""The mean outdoor temperature of each period of bills: a file of their own, else the logs, else measured weather.

One source serves all periods of a meter: two thermometers that differ by half a kelvin would pass for a saving.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from sprayroof.evidence.billing.meter_days import reading_spans
from sprayroof.evidence.billing.period_means import means_over
from sprayroof.evidence.billing.periods import placed_bills
from sprayroof.evidence.billing.rows import BillHeadings, read_bill_rows
from sprayroof.evidence.files import EvidenceFile, read_evidence
from sprayroof.evidence.gather import Gather, some_of
from sprayroof.evidence.local_days import DAY_NS, day_starts_ns, local_days
from sprayroof.evidence.log_files.series_file import Asked, SeriesForm, read_series, settings_of
from sprayroof.evidence.log_files.spans import Spans
from sprayroof.evidence.units import NotAQuantity, Scale, scale_to, unit_words

if TYPE_CHECKING:
    from sprayroof.evidence.logs import Logs
    from sprayroof.evidence.site import Site
    from sprayroof.evidence.site_file.logged import Bills
    from sprayroof.evidence.weather import Weather

LEAST_KNOWN = 0.9  # of a period
LEAST_PERIODS = 0.5  # of the periods: a source that knows fewer is none
COLDEST_C, WARMEST_C = -45.0, 45.0  # means of a day; what lies beyond is in another unit


@dataclass(frozen=True)
class Outdoor:
    """Outdoor temperatures of periods.

    Parameters
    ----------
    t_out_C : ndarray, shape (n,)
        Mean of each period [degC]; NaN where unknown.
    source : str
        Where they come from, in words.
    inputs : list of dict
        file, sha256, rows, span, use.
    """

    t_out_C: np.ndarray
    source: str
    inputs: list[dict[str, Any]] = field(default_factory=list)


def outdoor_of(
    site: Site, bills: Bills, entry: str, days: tuple[np.ndarray, np.ndarray], weather: Weather | None,
    logs: Logs | None, gather: Gather
) -> Outdoor | None:
    """Mean outdoor temperatures of periods; None after a problem.

    Parameters
    ----------
    site : Site
    bills : Bills
        The block of the meter.
    entry : str
        Its place, "bills.1".
    days : tuple of ndarray of datetime64[D], shape (n,)
        First day of each period, and the day after the last.
    weather : Weather or None
        A typical year is never taken for the weather of the bills.
    logs : Logs or None
    gather : Gather
        Receives the problem where no source knows them.
    """
    if bills.temperature_file is not None:
        return _of_file(site, bills, entry, days, gather)
    starts_ns, ends_ns = (day_starts_ns(side, site.place.time_zone) for side in days)
    best: Outdoor | None = None
    for source, spans, values in _recorded(weather, logs):
        means, known = means_over(spans, values, starts_ns, ends_ns)
        found = Outdoor(np.where(known >= LEAST_KNOWN, means, np.nan), source)
        if best is None or _known(found) > _known(best):
            best = found
    if best is None or _known(best) < LEAST_PERIODS * len(starts_ns):
        _ask(bills, entry, days, weather, best, gather)
        return None
    return best


def _known(outdoor: Outdoor) -> int:
    return int(np.isfinite(outdoor.t_out_C).sum())


def _recorded(weather: Weather | None, logs: Logs | None) -> list[tuple[str, Spans, np.ndarray]]:
    """Air temperatures of the logs and of measured weather, as stretches of time; the logs first."""
    found = []
    if logs is not None and logs.has("air_C"):
        found.append(("the logged air temperature", _grid(logs.table.index), logs.table["air_C"].to_numpy()))
    if weather is not None and not weather.names.get("typical_year"):
        words = f"the measured weather of {weather.names.get('file', 'the weather file')}"
        found.append((words, _grid(weather.table.index), weather.table["t_air_C"].to_numpy()))
    return found


def _grid(index: Any) -> Spans:
    starts_ns = np.array(index.as_unit("ns").asi8)
    step_ns = starts_ns[1] - starts_ns[0] if len(starts_ns) > 1 else 3600 * 10**9
    return Spans(starts_ns, starts_ns + step_ns)


def _ask(
    bills: Bills, entry: str, days: tuple[np.ndarray, np.ndarray], weather: Weather | None, best: Outdoor | None,
    gather: Gather
) -> None:
    span = f"{days[0].min()} to {days[1].max() - np.timedelta64(1, 'D')}"
    if weather is not None and weather.names.get("typical_year"):
        found = f"the weather file is a typical year, not the weather of {span}"
    elif best is not None:
        found = f"{best.source} covers {_known(best)} of {len(best.t_out_C)} periods"
    else:
        found = f"no measured outdoor temperature of {span}"
    gather.problem(
        f"site file, {entry}", found, "the measured outdoor temperature of the time of the bills",
        f'add temperature_file = "bills/temperature.csv" and temperature_column = "t_air" to {entry}, with the '
        "readings of a nearby station for the same days")


# --- a file of temperatures ---------------------------------------------------------------------------------------


def _of_file(
    site: Site, bills: Bills, entry: str, days: tuple[np.ndarray, np.ndarray], gather: Gather
) -> Outdoor | None:
    if bills.temperature_column is None:
        gather.problem(f"site file, {entry}.temperature_column", "the entry is missing",
                       "the heading of the temperatures", f'add temperature_column = "t_air" to {entry}')
        return None
    assert bills.temperature_file is not None  # asked before
    scale = _scale(bills.temperature_unit, entry, gather)
    file = read_evidence(site.folder, bills.temperature_file, None, f"{entry}.temperature_file", gather)
    if scale is None or file is None:
        return None
    asked = Asked("temperature", bills.temperature_column, bills.temperature_unit, f"{entry}.temperature_column")
    per_bill = bills.every == "bill" and bills.temperature_time_column is None
    zone = site.place.time_zone
    read = (_by_bills if per_bill else _by_times)(file, asked, bills, entry, zone, gather)
    if read is None:
        return None
    spans, values, rows = read
    starts_ns, ends_ns = (day_starts_ns(side, zone) for side in days)
    means, known = means_over(spans, scale(values), starts_ns, ends_ns)
    t_out_C = np.where(known >= LEAST_KNOWN, means, np.nan)
    if not _plausible(t_out_C, bills, entry, file.where, gather):
        return None
    first, last = local_days(np.array([spans.starts_ns[0], spans.ends_ns[-1] - 1]), zone)
    use = f"outdoor temperature for {bills.name}"
    return Outdoor(t_out_C, file.where, [file.entry(rows, f"{first} to {last}", use)])


def _scale(unit: str, entry: str, gather: Gather) -> Scale | None:
    try:
        return scale_to(unit, "degC")
    except NotAQuantity as error:
        gather.problem(f"site file, {entry}.temperature_unit", f'"{unit[:40]}"{error.why}',
                       f"a unit that converts to {unit_words('degC')}", error.do)
        return None


def _plausible(t_out_C: np.ndarray, bills: Bills, entry: str, where: str, gather: Gather) -> bool:
    known = t_out_C[np.isfinite(t_out_C)]
    if not len(known):
        gather.problem(where, "no temperature for the days of any bill", "temperatures of the time of the bills",
                       f"name another file at {entry}.temperature_file")
        return False
    odd = known[(known < COLDEST_C) | (known > WARMEST_C)]
    if len(odd):
        do = f"correct {entry}.temperature_unit or {entry}.temperature_column"
        if odd.max() > WARMEST_C and bills.temperature_unit.strip() in ("degC", "°C", "C"):
            do = f'write temperature_unit = "degF" at {entry} if that is the unit'
        gather.problem(
            where, f"mean outdoor temperatures of {some_of([f'{value:.0f} °C' for value in odd])}",
            f"means of a day or more from {COLDEST_C:.0f} to {WARMEST_C:.0f} °C", do)
    return not len(odd)


Read = tuple[Spans, np.ndarray, int]


def _by_bills(
    file: EvidenceFile, asked: Asked, bills: Bills, entry: str, zone: str, gather: Gather
) -> Read | None:
    """Temperatures of the periods of the bills, under the same headings."""
    form = SeriesForm(entry, settings_of(bills, bills.to_column, bills.time_format, zone), {"time_column": "to_column"})
    first = Asked("first day", bills.from_column, "1", f"{entry}.from_column") if bills.from_column else None
    headings = BillHeadings(Asked("last day", bills.to_column, "1", f"{entry}.to_column"), asked, first)
    pad = Gather()
    rows = read_bill_rows(file, headings, form, zone, pad)
    placed = None if rows is None else placed_bills(rows, entry, True, False, pad)
    gather.findings += [finding for finding in pad.findings if finding.code != "bills.first-open"]
    for problem in pad.problems:
        more = "" if "no column" not in problem.found else \
            f"; if the file goes by days or hours, add temperature_time_column to {entry}"
        gather.problem(problem.where, problem.found, problem.wanted.removeprefix("wanted "), problem.do + more)
    if placed is None or rows is None or pad.problems:
        return None
    starts, ends = (np.array([getattr(bill, side) for bill in placed.bills]) for side in ("start", "end"))
    spans = Spans(day_starts_ns(starts, zone), day_starts_ns(ends, zone))
    return spans, np.array([bill.amount for bill in placed.bills]), len(rows.lines)


def _by_times(
    file: EvidenceFile, asked: Asked, bills: Bills, entry: str, zone: str, gather: Gather
) -> Read | None:
    """Temperatures by days, whose dates are those days, or by hours."""
    heading = bills.temperature_time_column or bills.to_column
    own = bills.temperature_time_column is not None
    clock = bills.temperature_time_zone or bills.time_zone or zone
    form_of_times = bills.temperature_time_format or (None if own else bills.time_format)
    names = {"time_column": "temperature_time_column" if own else "to_column",
             "time_format": "temperature_time_format", "time_zone": "temperature_time_zone"}
    settings = settings_of(bills, heading, form_of_times, clock)
    if own:
        settings["clock_column"] = None
    form = SeriesForm(entry, settings, names)
    table = read_series(file, [asked], form, zone, gather)
    if table is None:
        return None
    spans = reading_spans(table, form, False, zone)
    if (spans.starts_ns[1:] < spans.ends_ns[:-1]).any() or np.median(np.diff(spans.starts_ns)) > 1.5 * DAY_NS:
        gather.problem(f"{file.where}, times", "rows that are neither days nor hours", "a row a day, or an hour",
                       "take means of days")
        return None
    return spans, table.values[asked.name], len(table.times_ns)
