"""A file of bills, or of a meter read by days or hours, to periods and amounts; several meters of a file added."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.billing.doubts import check_bills
from sprayroof.evidence.billing.joins import joined_bills
from sprayroof.evidence.billing.meter_days import MeterForm, read_meter_days
from sprayroof.evidence.billing.periods import DAY, Period, placed_bills
from sprayroof.evidence.billing.rows import BillHeadings, BillRows, read_bill_rows
from sprayroof.evidence.files import EvidenceFile
from sprayroof.evidence.gather import Gather, count_of, some_of
from sprayroof.evidence.log_files.series_file import Asked, SeriesForm, settings_of, written_block
from sprayroof.evidence.site_file.entries import toml_value

if TYPE_CHECKING:
    from sprayroof.evidence.site import Site
    from sprayroof.evidence.site_file.logged import Bills


ALL = "all"  # every meter of the file, added


@dataclass(frozen=True, eq=False)
class Amounts:
    """Periods of a meter and what it counted, in the file's unit of energy or volume.

    Parameters
    ----------
    starts, ends : ndarray of datetime64[D], shape (n,)
        First day of each period, and the day after its last.
    days : ndarray, shape (n,)
        Its length [d].
    amounts : ndarray, shape (n,)
    rows : int
        Rows of the file.
    """

    starts: np.ndarray
    ends: np.ndarray
    days: np.ndarray
    amounts: np.ndarray
    rows: int

    def of(self, chosen: np.ndarray) -> Amounts:
        """Some of the periods."""
        return Amounts(self.starts[chosen], self.ends[chosen], self.days[chosen], self.amounts[chosen], self.rows)

    def span(self) -> str:
        """First and last day."""
        return f"{self.starts.min()} to {self.ends.max() - DAY}" if len(self.starts) else ""

    def named(self) -> str:
        """The first few periods by their days."""
        return some_of([f"{start} to {end - DAY}" if end - start > DAY else str(start)
                        for start, end in zip(self.starts, self.ends, strict=True)])


def read_amounts(
    site: Site, bills: Bills, entry: str, file: EvidenceFile, is_rate: bool, gather: Gather, is_solar: bool = False
) -> Amounts | None:
    """Periods and amounts of a file that `bills` declares; None after a problem.

    Parameters
    ----------
    site : Site
    bills : Bills
        The block; headings, form of dates, whether bills, days or hours.
    entry : str
        Its place, "bills.1".
    file : EvidenceFile
    is_rate : bool
        Whether numbers are amounts per hour.
    gather : Gather
        Receives problems and findings.
    is_solar : bool
        Whether the file tells what panels made, and not what was billed.
    """
    zone = site.place.time_zone
    asked = Asked("amount", bills.amount_column, bills.unit, f"{entry}.amount_column")
    clock = bills.time_zone or zone
    form = SeriesForm(entry, settings_of(bills, bills.to_column, bills.time_format, clock),
                      {"time_column": "to_column"})
    written = written_block(site, "bills", entry)
    netted_stated = bills.netted or "netted" in written
    if bills.every != "bill":
        how = MeterForm(bills.every, is_rate, "stamp" in written, bills.netted, not netted_stated and not is_solar)
        days = read_meter_days(file, asked, form, how, zone, gather)
        return None if days is None else Amounts(days.days, days.days + 1, days.lengths, days.amounts, days.rows)
    rows = _rows(bills, entry, file, asked, form, zone, gather)
    before = len(gather.problems)
    if rows is not None and not is_solar:
        check_bills(rows, bills, entry, netted_stated, gather)
    return None if rows is None or len(gather.problems) > before else _of_bills(rows, bills, entry, file, gather)


def _rows(
    bills: Bills, entry: str, file: EvidenceFile, asked: Asked, form: SeriesForm, zone: str, gather: Gather
) -> BillRows | None:
    def named(what: str, heading: str | None, attribute: str) -> Asked | None:
        return Asked(what, heading, "1", f"{entry}.{attribute}") if heading else None

    headings = BillHeadings(
        Asked("last day", bills.to_column, "1", f"{entry}.to_column"), asked,
        named("first day", bills.from_column, "from_column"), named("mark", bills.estimated_column, "estimated_column"),
        named("meter", bills.meter_column, "meter_column"))
    return read_bill_rows(file, headings, form, zone, gather)


def _of_bills(rows: BillRows, bills: Bills, entry: str, file: EvidenceFile, gather: Gather) -> Amounts | None:
    meters = _meters(rows, bills, entry, gather)
    if meters is None:
        return None
    found = [_of_meter(meter, bills, entry, gather) for meter in meters]
    if any(periods is None for periods in found):
        return None
    periods = _added([periods for periods in found if periods is not None], [meter.meters[0] for meter in meters],
                     file.where, entry, gather)
    if not periods:
        if periods is not None:
            gather.problem(file.where, "no usable bill", "bills with an actual reading", "correct the file in a copy")
        return None
    starts, ends = (np.array([getattr(period, side) for period in periods]) for side in ("start", "end"))
    return Amounts(starts, ends, (ends - starts) / DAY, np.array([period.amount for period in periods]),
                    len(rows.lines))


def _meters(rows: BillRows, bills: Bills, entry: str, gather: Gather) -> list[BillRows] | None:
    """Rows of each meter of the file, or of the one that is asked for."""
    if bills.meter is not None and bills.meter_column is None:
        gather.problem(f"site file, {entry}.meter", f"meter {bills.meter[:40]} without its column",
                       "the heading of the meters' numbers", f'add meter_column = "meter" to {entry}')
        return None
    names = list(dict.fromkeys(rows.meters.tolist()))
    if bills.meter is None and len(names) > 1:
        gather.problem(
            f"{rows.where}, column {bills.meter_column}", f"{len(names)} meters: {some_of(names)}",
            "which of them counts: the use of a meter behind another one stands in both",
            f"add meter = {toml_value(names[0])} or another to {entry}, or meter = {toml_value(ALL)} to add them if "
            "none counts what another does")
        return None
    if bills.meter is not None and (bills.meter != ALL or ALL in names):
        if bills.meter not in names:
            gather.problem(
                f"{rows.where}, column {bills.meter_column}", f"no meter {bills.meter[:40]}; there are "
                f"{some_of(names)}",
                "the number of one of these meters", f"correct {entry}.meter")
            return None
        names = [bills.meter]
    return [rows.of(np.flatnonzero(rows.meters == name)) for name in names]


def _of_meter(rows: BillRows, bills: Bills, entry: str, gather: Gather) -> list[Period] | None:
    placed = placed_bills(rows, entry, bills.netted, bills.covers == "building", gather)
    return None if placed is None else joined_bills(placed, rows.where, bills.netted, gather)


def _added(
    meters: list[list[Period]], names: list[str], where: str, entry: str, gather: Gather
) -> list[Period] | None:
    """The sum of several meters, over stretches that begin and end with a reading of each."""
    if len(meters) == 1:
        return meters[0]
    edges = [{period.start for period in periods} | {period.end for period in periods} for periods in meters]
    common = sorted(set.intersection(*edges))
    added = []
    for start, end in itertools.pairwise(common):
        inside = [[period for period in periods if start <= period.start and period.end <= end] for periods in meters]
        if all(sum(period.days for period in part) == int((end - start) / DAY) for part in inside):
            every = [period for part in inside for period in part]
            added.append(Period(start, end, sum(period.amount for period in every),
                                sorted(line for period in every for line in period.lines)))
    if len(added) < 0.5 * max(len(periods) for periods in meters):
        gather.problem(
            where, f"meters {some_of(names)} are read on different days: only "
                   f"{count_of(len(added), 'stretch', 'stretches')} "
            "begin and end with a reading of each", "one meter, or meters that are read on the same days",
            f"repeat the block for each meter, with meter = \"{names[0]}\" and so on at {entry}")
        return None
    gather.finding(
        "bills.meters-added", f"{where} holds meters {some_of(names)}; they were added over {len(added)} stretches "
        "that begin and end with a reading of each.", where,
        {"disposition": "repair", "file": where, "rows": sum(len(periods) for periods in meters),
         "rule": "sum over common days"}, "None, if all belong to the building and none counts what another does.")
    return added
