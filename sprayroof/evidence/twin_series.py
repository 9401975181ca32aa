"""Two rooms logged side by side, one cooled: the values of either for whole local days."""

from __future__ import annotations

import datetime
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import numpy as np

from sprayroof.evidence.billing.meter_days import day_means, reading_spans
from sprayroof.evidence.files import read_evidence
from sprayroof.evidence.gather import Gather, some_of
from sprayroof.evidence.local_days import DAY_NS, day_starts_ns
from sprayroof.evidence.log_files.series_file import Asked, SeriesForm, read_series, settings_of, written_block
from sprayroof.evidence.log_files.spans import Spans
from sprayroof.evidence.log_files.table import LogTable
from sprayroof.evidence.units import NotAQuantity, Scale, scale_to, unit_words

if TYPE_CHECKING:
    from sprayroof.evidence.site import Site
    from sprayroof.evidence.site_file.logged import Twin

# Share of a day that both must have been read: a mean bears a gap of an hour, a sum bears none.
LEAST_KNOWN = {"temperature": 0.95, "electricity": 0.995}
UNITS = {"temperature": "degC", "electricity": "kWh"}
COLDEST_C, WARMEST_C = -30.0, 60.0  # means of a day in a room or a test box; what lies beyond is in another unit


@dataclass(frozen=True)
class TwinDays:
    """Values of the pair on local days, day after day; NaN where a day is not complete.

    Parameters
    ----------
    days : ndarray of datetime64[D], shape (n,)
    cooled, control : ndarray, shape (n,)
        Of the room that was cooled and the other one, the instruments' changing of places settled
        [degC, or kWh per day].
    after_swap : ndarray of bool, shape (n,)
        Days after the instruments had changed places.
    """

    days: np.ndarray
    cooled: np.ndarray
    control: np.ndarray
    after_swap: np.ndarray

    @property
    def complete(self) -> int:
        """Days on which both are known."""
        return int(np.isfinite(self.cooled - self.control).sum())


@dataclass(frozen=True)
class TwinSeries:
    """What was logged of a pair.

    Parameters
    ----------
    name, quantity, unit, entry : str
        Name; "temperature" or "electricity"; "degC" or "kWh"; block of the site file ("twin.1").
    cooled : TwinDays
        While one was cooled.
    like : TwinDays or None
        While neither was.
    inputs : list of dict
        file, sha256, rows, span, use.
    """

    name: str
    quantity: str
    unit: str
    entry: str
    cooled: TwinDays
    like: TwinDays | None
    inputs: list[dict[str, Any]] = field(default_factory=list)


def read_twin(site: Site, twin: Twin, gather: Gather) -> TwinSeries | None:
    """Daily values of a pair; None after a problem.

    Parameters
    ----------
    site : Site
    twin : Twin
        One of `site.twin`.
    gather : Gather
        Receives problems and findings.
    """
    before = len(gather.problems)
    entry = f"twin.{1 + next(place for place, block in enumerate(site.twin) if block is twin)}"
    _check_entries(twin, entry, gather)
    scale, is_rate = _scale(twin, entry, gather)
    file = read_evidence(site.folder, twin.file, None, f"{entry}.file", gather)
    if file is None or scale is None:
        return None
    zone = site.place.time_zone
    asked = [Asked("cooled", twin.cooled_column, twin.unit, f"{entry}.cooled_column"),
             Asked("control", twin.control_column, twin.unit, f"{entry}.control_column")]
    form = SeriesForm(entry, settings_of(twin, twin.time_column, twin.time_format, twin.time_zone))
    table = read_series(file, asked, form, zone, gather)
    if table is None or len(gather.problems) > before:
        return None
    stamp_stated = "stamp" in written_block(site, "twin", entry)
    every = _daily(table, reading_spans(table, form, stamp_stated, zone), twin, scale, is_rate, zone)
    if not _plausible(every, twin, entry, file.where, gather):
        return None
    cooled = _of_span(every, twin.cooled_from, twin.cooled_to, zone)
    like = None
    if twin.like_from is not None and twin.like_to is not None:
        like = _of_span(every, twin.like_from, twin.like_to, zone)
    _tell_incomplete(cooled, like, twin, file.where, gather)
    span = f"{every.days[0]} to {every.days[-1]}"
    return TwinSeries(twin.name, twin.quantity, UNITS[twin.quantity], entry, cooled, like,
                      [file.entry(len(table.times_ns), span, f"pair: {twin.name}")])


def _check_entries(twin: Twin, entry: str, gather: Gather) -> None:
    """Spans that run forwards and apart, and what a column means after the instruments changed places."""
    spans = {"cooled": (twin.cooled_from, twin.cooled_to), "like": (twin.like_from, twin.like_to)}
    if (twin.like_from is None) != (twin.like_to is None):
        missing = "like_to" if twin.like_to is None else "like_from"
        gather.problem(f"site file, {entry}.{missing}", "the entry is missing", "start and end of the time",
                       f'add {missing} = "2026-05-27 00:00" to {entry}, or take the other one out')
    ends = {name: [None if side is None else side.replace(tzinfo=None) for side in pair]
            for name, pair in spans.items()}
    for name, (start, end) in ends.items():
        if start is not None and end is not None and start >= end:
            gather.problem(f"site file, {entry}.{name}_to", f"{end} is not after {start}", "a time after the start",
                           f"correct {name}_from or {name}_to")
    (start, end), (like_start, like_end) = ends["cooled"], ends["like"]
    if like_start is not None and like_end is not None and like_start < end and start < like_end:
        gather.problem(f"site file, {entry}", "the time when neither was cooled lies over the time when one was",
                       "two times apart", "correct the four entries")
    if twin.swapped_on is not None and twin.columns_follow is None:
        gather.problem(
            f"site file, {entry}", f"the instruments changed places on {twin.swapped_on}, but not what a column means "
            "since then", "whether a column goes with its instrument or stays with its room",
            f'add columns_follow = "instrument" to {entry} if the columns go with the instruments, or columns_follow = '
            '"room" if they were exchanged in the file')


def _scale(twin: Twin, entry: str, gather: Gather) -> tuple[Scale | None, bool]:
    """Conversion to degC or kWh, and whether the numbers are kW."""
    wanted = UNITS[twin.quantity]
    error: NotAQuantity | None = None
    for unit, is_rate in ((wanted, False), ("kW", True)):
        if is_rate and twin.quantity == "temperature":
            continue
        try:
            return scale_to(twin.unit, unit), is_rate
        except NotAQuantity as why:
            error = error or why
    assert error is not None
    gather.problem(f"site file, {entry}.unit", f'"{twin.unit[:40]}"{error.why}',
                   f"a unit that converts to {unit_words(wanted)}", error.do)
    return None, False


def _daily(table: LogTable, spans: Spans, twin: Twin, scale: Scale, is_rate: bool, zone: str) -> TwinDays:
    """Every local day that the file touches."""
    both = np.isfinite(table.values["cooled"]) & np.isfinite(table.values["control"])
    hours = spans.lengths_s / 3600.0
    sums = twin.quantity == "electricity"
    found = []
    for name in ("cooled", "control"):
        values = np.where(both, scale(table.values[name]), np.nan)
        if sums and not is_rate:
            with np.errstate(divide="ignore", invalid="ignore"):
                values = np.where(hours > 0.0, values / hours, np.nan)
        days, means, known = day_means(spans, values, zone)
        lengths_h = (day_starts_ns(days + 1, zone) - day_starts_ns(days, zone)) / DAY_NS * 24.0
        whole = np.where(known >= LEAST_KNOWN[twin.quantity], means, np.nan)
        found.append(whole * lengths_h if sums else whole)
    cooled, control = found
    after, on_day = np.zeros(len(days), dtype=bool), np.zeros(len(days), dtype=bool)
    if twin.swapped_on is not None:
        swap = np.datetime64(twin.swapped_on, "D")
        after, on_day = days > swap, days == swap
        if twin.columns_follow == "instrument":
            cooled, control = np.where(after, control, cooled), np.where(after, cooled, control)
    return TwinDays(days, np.where(on_day, np.nan, cooled), np.where(on_day, np.nan, control), after)


def _plausible(every: TwinDays, twin: Twin, entry: str, where: str, gather: Gather) -> bool:
    values = np.concatenate([every.cooled, every.control])
    values = values[np.isfinite(values)]
    low, high = (COLDEST_C, WARMEST_C) if twin.quantity == "temperature" else (0.0, np.inf)
    odd = values[(values < low) | (values > high)]
    if len(odd):
        unit = "°C" if twin.quantity == "temperature" else "kWh"
        wanted = f"means of a day from {low:g} to {high:g} °C" if twin.quantity == "temperature" else \
            "electricity of zero or more"
        gather.problem(where, f"days of {some_of([f'{value:.1f} {unit}' for value in odd])}", wanted,
                       f"correct {entry}.unit, {entry}.cooled_column or {entry}.control_column")
    return not len(odd)


def _of_span(every: TwinDays, start: datetime.datetime, end: datetime.datetime, zone: str) -> TwinDays:
    """Days that lie wholly between two times; days without a row stand there as unknown."""
    starts_ns, ends_ns = day_starts_ns(every.days, zone), day_starts_ns(every.days + 1, zone)
    inside = (starts_ns >= _utc_ns(start, zone)) & (ends_ns <= _utc_ns(end, zone))
    return TwinDays(every.days[inside], every.cooled[inside], every.control[inside], every.after_swap[inside])


def _utc_ns(moment: datetime.datetime, zone: str) -> int:
    aware = moment if moment.tzinfo else moment.replace(tzinfo=ZoneInfo(zone))
    return round(aware.timestamp()) * 10**9


def _tell_incomplete(cooled: TwinDays, like: TwinDays | None, twin: Twin, where: str, gather: Gather) -> None:
    sides = [cooled] if like is None else [cooled, like]
    days = [day for side in sides for day in side.days[~np.isfinite(side.cooled - side.control)]]
    if days:
        total = sum(len(side.days) for side in sides)
        gather.finding(
            "twin.day-incomplete", f"{where}: {len(days)} of {total} days of {twin.name} are not complete: "
            f"{some_of([str(day) for day in sorted(days)])}. They are not used.", where,
            {"disposition": "exclude", "file": where, "rows": len(days), "first": str(min(days)),
             "last": str(max(days)), "rule": f"less than {LEAST_KNOWN[twin.quantity]:.1%} of the day read in both, "
                 "or the day on which the instruments changed places"},
            "Fewer days, a wider range.")
