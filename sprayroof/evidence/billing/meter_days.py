"""A meter read every hour or day to the use of whole local days."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sprayroof.evidence.billing.columns import ask_whether_netted, is_export
from sprayroof.evidence.billing.period_means import means_over
from sprayroof.evidence.files import EvidenceFile
from sprayroof.evidence.gather import Gather, count_of, some_of
from sprayroof.evidence.local_days import DAY_NS, day_starts_ns, local_clock_ns, local_days
from sprayroof.evidence.log_files.series_file import Asked, SeriesForm, read_series
from sprayroof.evidence.log_files.spans import Spans, row_intervals_ns, row_spans
from sprayroof.evidence.log_files.table import LogTable

WHOLE_FRAC = 0.995  # of a day that must be known
NEARLY_A_DAY_NS = 23 * 3600 * 10**9  # an interval at least this long is that of a daily file
LEAST_BELOW_FRAC = 0.01  # of the largest amount: smaller ones below zero are the meter's own
LEAST_RISING = 50  # readings that do nothing but rise are a running total


@dataclass(frozen=True)
class MeterForm:
    """What a row of the file is.

    Parameters
    ----------
    every : str
        "day": a row a day, whose date is that day. "hour": a row an hour, or several.
    is_rate : bool
        Whether numbers are amounts per hour (kW) and not per interval.
    stamp_stated : bool
        Whether the site file says what times mark.
    netted : bool
        Whether amounts below zero are exports.
    asks_netted : bool
        Whether a column that speaks of solar electricity is to be asked about.
    """

    every: str
    is_rate: bool
    stamp_stated: bool
    netted: bool
    asks_netted: bool = False


@dataclass(frozen=True, eq=False)
class DaySums:
    """Use of local days.

    Parameters
    ----------
    days : ndarray of datetime64[D], shape (n,)
        Rising; days that are not complete are left out.
    lengths : ndarray, shape (n,)
        Length of each in days: 23 or 25 hours where the clock is changed.
    amounts : ndarray, shape (n,)
        In the unit of energy or volume of the file.
    rows : int
        Rows of the file.
    """

    days: np.ndarray
    lengths: np.ndarray
    amounts: np.ndarray
    rows: int


def read_meter_days(
    file: EvidenceFile, asked: Asked, form: SeriesForm, how: MeterForm, zone: str, gather: Gather
) -> DaySums | None:
    """The use of whole days of a meter; None after a problem.

    Parameters
    ----------
    file : EvidenceFile
    asked : Asked
        The amounts.
    form : SeriesForm
        How the file is declared.
    how : MeterForm
        What a row is.
    zone : str
        IANA name of the site's clock.
    gather : Gather
        Receives problems and findings.
    """
    table = read_series(file, [asked], form, zone, gather)
    if table is None:
        return None
    values = table.values[asked.name]
    exports = [heading for heading in table.headings if how.asks_netted and is_export(heading)]
    if exports and asked.heading not in exports:
        ask_whether_netted(f"{file.where}, column {exports[0]}", "a column that speaks of solar electricity",
                           form.entry, gather)
        return None
    if _is_running_total(values):
        gather.problem(
            f"{file.where}, column {asked.heading}",
            f"{len(values)} numbers that only rise, from {values[0]:g} to {values[-1]:g}: a running total",
            "the use of each interval",
            'take the differences in a copy, or declare the meter as a [[log]] with kind "counter"')
        return None
    below = np.flatnonzero(values < -LEAST_BELOW_FRAC * np.nanmax(np.abs(values))) if np.isfinite(values).any() else []
    if len(below) and not how.netted:
        gather.problem(
            f"{file.where}, column {asked.heading}", f"{count_of(len(below), 'amount')} below zero, first line "
            f"{table.lines[below[0]]}: a meter that runs backwards counts solar electricity", "what was used",
            f'add netted = true and solar_file = "bills/solar.csv" to {form.entry}')
        return None
    if how.every == "day":
        return _of_days(table, values, form, how, zone, gather)
    return _of_hours(table, values, str(form.settings["stamp"]), how.is_rate, zone, gather)


def _is_running_total(values: np.ndarray) -> bool:
    known = values[np.isfinite(values)]
    return len(known) >= LEAST_RISING and bool((np.diff(known) >= 0.0).all()) and known[-1] > known[0] > 0.0


def day_labels(table: LogTable, form: SeriesForm, stamp_stated: bool) -> np.ndarray:
    """The day that each row of a daily file speaks of: its date, or the day before where it marks an end."""
    clock_ns = local_clock_ns(table.times_ns, str(form.settings["time_zone"]))
    ends = stamp_stated and form.settings["stamp"] == "end" and bool((clock_ns % DAY_NS == 0).all())
    return (clock_ns // DAY_NS - int(ends)).astype("datetime64[D]")


def reading_spans(table: LogTable, form: SeriesForm, stamp_stated: bool, zone: str) -> Spans:
    """The stretch of time of each row: its interval by the declared stamp; in a daily file the day of its date.

    Parameters
    ----------
    table : LogTable
    form : SeriesForm
        How the file is declared.
    stamp_stated : bool
        Whether the site file says what times mark.
    zone : str
        IANA name of the site's clock.
    """
    intervals_ns = row_intervals_ns(table.times_ns, None)
    if np.median(intervals_ns) < NEARLY_A_DAY_NS:
        return row_spans(table.times_ns, intervals_ns, str(form.settings["stamp"]))
    days = day_labels(table, form, stamp_stated)
    return Spans(day_starts_ns(days, zone), day_starts_ns(days + 1, zone))


def _of_days(
    table: LogTable, values: np.ndarray, form: SeriesForm, how: MeterForm, zone: str, gather: Gather
) -> DaySums | None:
    days = day_labels(table, form, how.stamp_stated)
    distinct, counts = np.unique(days, return_counts=True)
    if (counts > 1).any():
        gather.problem(
            f"{table.where}, times", f"{count_of(int((counts > 1).sum()), 'day')} with several rows, first "
            f"{distinct[counts > 1][0]}", "one row a day", f'write every = "hour" at {form.entry}')
        return None
    known = np.isfinite(values)
    _tell_gaps(days[known], table.where, gather)
    days = days[known]
    lengths = (day_starts_ns(days + 1, zone) - day_starts_ns(days, zone)) / DAY_NS
    return DaySums(days, lengths, values[known] * (24.0 * lengths if how.is_rate else 1.0), len(table.times_ns))


def _of_hours(
    table: LogTable, values: np.ndarray, stamp: str, is_rate: bool, zone: str, gather: Gather
) -> DaySums | None:
    spans = row_spans(table.times_ns, row_intervals_ns(table.times_ns, None), stamp)
    lengths_h = spans.lengths_s / 3600.0
    with np.errstate(divide="ignore", invalid="ignore"):
        rates = values if is_rate else np.where(lengths_h > 0.0, values / lengths_h, np.nan)
    days, means, known = day_means(spans, rates, zone)
    whole = known >= WHOLE_FRAC
    inner = np.zeros(len(days), dtype=bool)
    inner[1:-1] = True
    _tell_incomplete(days[inner & ~whole], int(inner.sum()), table.where, gather)
    if not whole.any():
        gather.problem(table.where, "no complete day", "a row for each hour, or shorter", "export the file again")
        return None
    lengths = (day_starts_ns(days[whole] + 1, zone) - day_starts_ns(days[whole], zone)) / DAY_NS
    return DaySums(days[whole], lengths, means[whole] * 24.0 * lengths, len(table.times_ns))


def day_means(spans: Spans, values: np.ndarray, zone: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Local days from the first reading to the last, the mean of each, and the share of it that is known."""
    ends = local_days(np.array([spans.starts_ns[0], spans.ends_ns[-1] - 1]), zone)
    days = np.arange(ends[0], ends[1] + 1)
    means, known = means_over(spans, values, day_starts_ns(days, zone), day_starts_ns(days + 1, zone))
    return days, means, known


def _tell_gaps(days: np.ndarray, where: str, gather: Gather) -> None:
    missing = np.setdiff1d(np.arange(days[0], days[-1] + 1), days) if len(days) else days
    _tell_incomplete(missing, len(days) + len(missing), where, gather)


def _tell_incomplete(days: np.ndarray, of: int, where: str, gather: Gather) -> None:
    if len(days):
        gather.finding(
            "bills.day-incomplete", f"{where} lacks rows on {len(days)} of {of} days: "
            f"{some_of([str(day) for day in days])}. These days are not used.", where,
            {"disposition": "exclude", "file": where, "rows": len(days), "first": str(days[0]), "last": str(days[-1]),
             "rule": f"less than {WHOLE_FRAC:.1%} of the day known"},
            "Days missing at random do no harm; if a fault took the hot ones, the line is off.")
