"""A file of bills, or of anything given for the periods of bills, to rows: first day, last day, amount, mark, meter."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np

from sprayroof.evidence.billing.columns import unasked
from sprayroof.evidence.files import EvidenceFile
from sprayroof.evidence.gather import Gather, count_of, some_of
from sprayroof.evidence.local_days import DAY_NS, local_clock_ns
from sprayroof.evidence.log_files.raw_cells import column_of_cells, read_column, tell_commas
from sprayroof.evidence.log_files.raw_table import RawTable, read_raw_table
from sprayroof.evidence.log_files.series_file import Asked, SeriesForm, as_log, tell_again
from sprayroof.evidence.log_files.text import decode_log
from sprayroof.evidence.log_files.workbooks import is_workbook, read_sheet
from sprayroof.evidence.log_times.row_names import RowNames
from sprayroof.evidence.log_times.stamps import NAT, read_stamps
from sprayroof.evidence.site_file.entries import shown
from sprayroof.evidence.site_file.logged import Log

ACTUAL, ESTIMATED, CORRECTION, CANCELLED = range(4)
_WORDS = {
    ACTUAL: "no n false 0 a act actual read reading metered measured customer c nein gelesen abgelesen réel reel "
            "réelle réelles relevé relevée real leída rilevata effettiva werkelijk gemeten rebill rebilled - --",
    ESTIMATED: "yes y true 1 x e est est. estimate estimated estimation ja j geschätzt g estimé estimée estimés oui "
               "estimado estimada sí si stimato stimata sì geschat",
    CORRECTION: "correction corrected adjustment adjusted true-up trueup credit korrektur gutschrift régularisation "
                "regularisation avoir corrección conguaglio correctie",
    CANCELLED: "cancelled canceled cancellation void voided reversed replaced superseded storno storniert annulé "
               "annulée anulado anulada annullato annullata stornato stornata geannuleerd",
}
MARKS = {word: kind for kind, words in _WORDS.items() for word in words.split()}
MARKS |= {"true up": CORRECTION, "": ACTUAL}
NO_DAY = np.datetime64("NaT", "D")


@dataclass(frozen=True)
class BillHeadings:
    """Headings of the columns to read, and the entries that name them; None where there is no such column.

    Parameters
    ----------
    last, amount : Asked
        Last day, and the amount with its unit.
    first, mark, meter : Asked or None
        First day; mark of estimated readings; number of the meter.
    """

    last: Asked
    amount: Asked
    first: Asked | None = None
    mark: Asked | None = None
    meter: Asked | None = None

    def wanted(self) -> dict[str, str]:
        """Heading -> entry; the last day first."""
        wanted: dict[str, str] = {}
        for column in (self.last, self.first, self.amount, self.mark, self.meter):
            if column is not None:
                wanted.setdefault(column.heading, column.entry)
        return wanted


@dataclass(frozen=True, eq=False)
class BillRows:
    """Rows as they stand, those without a date or an amount left out and told.

    Parameters
    ----------
    where : str
        Shown name of the file.
    first, last : ndarray of datetime64[D], shape (n,)
        First day (not a time where the file has none) and last day, as written.
    amounts : ndarray, shape (n,)
        In the file's unit.
    marks : ndarray of int, shape (n,)
        ACTUAL, ESTIMATED or CORRECTION; bills that were cancelled are left out.
    meters : ndarray of object, shape (n,)
        Number of the meter, "" where the file has none.
    lines : ndarray of int, shape (n,)
        Line of each row.
    others : dict of str to ndarray of object, shape (n,)
        Heading -> cells of the columns that nobody asked for.
    """

    where: str
    first: np.ndarray
    last: np.ndarray
    amounts: np.ndarray
    marks: np.ndarray
    meters: np.ndarray
    lines: np.ndarray
    others: dict[str, np.ndarray] = field(default_factory=dict)

    def of(self, rows: np.ndarray) -> BillRows:
        """Some of the rows, or the same in another order."""
        return BillRows(self.where, self.first[rows], self.last[rows], self.amounts[rows], self.marks[rows],
                        self.meters[rows], self.lines[rows],
                        {heading: cells[rows] for heading, cells in self.others.items()})

    def named(self, row: int) -> str:
        """`line 12, 2025-01-31` (last day)."""
        return f"line {self.lines[row]}, {self.last[row]}"

    def evidence(self, disposition: str, rows: list[int], rule: str, **more: object) -> dict[str, object]:
        """The `data` of a finding about some rows."""
        data: dict[str, object] = {"disposition": disposition, "file": self.where, "rows": len(rows)}
        if rows:
            data |= {"first": self.named(rows[0]), "last": self.named(rows[-1])}
        return {**data, "rule": rule, **more}


def read_bill_rows(
    file: EvidenceFile, headings: BillHeadings, form: SeriesForm, site_zone: str, gather: Gather
) -> BillRows | None:
    """Rows of a file of bills; None after a problem.

    Parameters
    ----------
    file : EvidenceFile
        Text or XLSX workbook.
    headings : BillHeadings
    form : SeriesForm
        How the file is declared.
    site_zone : str
        IANA name; for dates that carry a zone of their own.
    gather : Gather
        Receives problems and findings.
    """
    asked = [column for column in (headings.amount, headings.mark, headings.meter) if column is not None]
    log = as_log(form, [headings.amount])
    pad = Gather()
    rows = _rows(file, headings, log, form.entry, site_zone, pad)
    tell_again(pad, asked, form, gather)
    return None if pad.problems else rows


def _rows(
    file: EvidenceFile, headings: BillHeadings, log: Log, entry: str, site_zone: str, gather: Gather
) -> BillRows | None:
    raw = _raw_table(file, headings.wanted(), log, entry, gather)
    if raw is None:
        return None
    dates = _dates(raw, headings, log, entry, site_zone, RowNames(file.where, raw.lines), gather)
    if dates is None:
        return None
    first, last = dates
    dated = ~np.isnat(last) & (~np.isnat(first) if headings.first else True)
    if not dated.any():
        gather.problem(file.where, "no rows below the headings", "a row for each bill", "export the file again")
        return None
    names = RowNames(file.where, raw.lines[dated])
    asked = headings.amount
    column = column_of_cells(asked.name, log.columns[asked.name], raw.cells[asked.heading][dated])
    amounts, _ = read_column(column, log.decimal, None, names, entry, gather)
    marks = _marks(raw, headings.mark, dated, file.where, gather)
    if gather.problems or marks is None:
        return None
    if log.decimal is None:
        tell_commas([column], names, gather)
    meters = raw.cells[headings.meter.heading][dated] if headings.meter else np.full(int(dated.sum()), "", dtype=object)
    rows = BillRows(file.where, first[dated], last[dated], amounts, marks, meters, raw.lines[dated],
                    _others(file, raw, headings.wanted(), log, entry, raw.lines[dated]))
    _tell_left_out(raw, dated, ~np.isnat(first) | ~np.isnat(last), headings, file.where, gather)
    return _without_cancelled(_with_amounts(rows, gather), gather)


def _raw_table(file: EvidenceFile, wanted: Mapping[str, str], log: Log, entry: str, gather: Gather) -> RawTable | None:
    if is_workbook(file.raw):
        return read_sheet(file.raw, log.sheet, dict(wanted), file.where, entry, gather)
    text = decode_log(file.raw, log.encoding, file.where, entry, gather)
    if text is None:
        return None
    return read_raw_table(text, dict(wanted), log.delimiter, file.where, entry, gather)


def _others(
    file: EvidenceFile, raw: RawTable, wanted: Mapping[str, str], log: Log, entry: str, lines: np.ndarray
) -> dict[str, np.ndarray]:
    """Cells of the columns that nobody asked for, on given lines."""
    headings = unasked(raw, wanted)
    every = _raw_table(file, {**wanted, **dict.fromkeys(headings, entry)}, log, entry, Gather()) if headings else None
    if every is None:
        return {}
    places = {int(line): place for place, line in enumerate(every.lines)}
    rows = [places.get(int(line)) for line in lines]
    return {heading: np.array(["" if row is None else every.cells[heading][row] for row in rows], dtype=object)
            for heading in headings}


# --- dates --------------------------------------------------------------------------------------------------------


def _dates(
    raw: RawTable, headings: BillHeadings, log: Log, entry: str, site_zone: str, names: RowNames, gather: Gather
) -> tuple[np.ndarray, np.ndarray] | None:
    """First and last day of each row; where day and month can change places, the order of all dates tells.

    Bills run on: first day, last day, first day of the next, ... rise, or fall where the newest bill stands first.
    """
    columns = [headings.first, headings.last] if headings.first else [headings.last]
    cells = np.column_stack([raw.cells[column.heading] for column in columns])
    lines = np.repeat(names.lines, len(columns))
    pads = []
    for order in (slice(None), slice(None, None, -1)):
        pad = Gather()
        ordered = RowNames(names.file, lines.reshape(cells.shape)[order].ravel())
        stamps = read_stamps(cells[order].ravel(), log, entry, ordered, pad)
        if stamps is not None and not pad.problems:
            gather.findings += pad.findings
            clock_ns = stamps.clock_ns.reshape(cells.shape)[order]
            days = _days_of(clock_ns, site_zone if stamps.in_utc else None)
            return (days[:, 0] if headings.first else np.full(len(days), NO_DAY)), days[:, -1]
        pads.append(pad)
    gather.problems += pads[0].problems
    return None


def _days_of(clock_ns: np.ndarray, zone: str | None) -> np.ndarray:
    known = clock_ns != NAT
    if zone is not None:
        clock_ns = np.where(known, local_clock_ns(np.where(known, clock_ns, 0).ravel(), zone).reshape(known.shape), NAT)
    return np.where(known, (clock_ns // DAY_NS).astype("datetime64[D]"), NO_DAY)


# --- marks and amounts --------------------------------------------------------------------------------------------


def _marks(
    raw: RawTable, asked: Asked | None, dated: np.ndarray, where: str, gather: Gather
) -> np.ndarray | None:
    if asked is None:
        return np.full(int(dated.sum()), ACTUAL)
    texts = [" ".join(str(text).split()).casefold() for text in raw.cells[asked.heading][dated]]
    unknown = [row for row, text in enumerate(texts) if text not in MARKS]
    if unknown:
        lines = raw.lines[dated]
        gather.problem(
            f"{where}, column {asked.heading}",
            some_of([f"line {lines[row]} {shown(texts[row])}" for row in unknown]),
            "yes, no, estimated, actual, E, A, correction, true-up or cancelled",
            f"write one of these in a copy of the file, or take {asked.entry} out",
        )
        return None
    return np.array([MARKS[text] for text in texts])


def _tell_left_out(
    raw: RawTable, dated: np.ndarray, half_dated: np.ndarray, headings: BillHeadings, where: str, gather: Gather
) -> None:
    """Rows without any date are titles and totals; rows with one of two dates are bills that cannot be placed."""
    halves = np.flatnonzero(~dated & half_dated)
    if len(halves):
        named = some_of([f"line {raw.lines[row]}" for row in halves])
        gather.finding(
            "bills.row-unusable",
            f"{where} has {count_of(len(halves), 'row')} without a first or last day: {named}. They are not used.",
            where,
            {"disposition": "exclude", "file": where, "rows": len(halves), "first": f"line {raw.lines[halves[0]]}",
             "last": f"line {raw.lines[halves[-1]]}", "rule": "a date is missing"},
            "The use of these bills is missing from the comparison.",
        )
    others = [f"line {raw.lines[row]}" for row in np.flatnonzero(~half_dated)]
    others += [f"line {row.line}" for row in raw.odd]
    if others:
        gather.finding(
            "bills.rows-left-out",
            f"{where} has {count_of(len(others), 'row')} that hold no bill (no date, or not all cells): "
            f"{some_of(others)}. They were left out.",
            where,
            {"disposition": "repair", "file": where, "rows": len(others), "rule": "rows without a date"},
            "None, if they are titles and totals.",
        )


def _with_amounts(rows: BillRows, gather: Gather) -> BillRows:
    empty = [int(row) for row in np.flatnonzero(~np.isfinite(rows.amounts))]
    if empty:
        gather.finding(
            "bills.row-unusable",
            f"{rows.where} has {count_of(len(empty), 'bill')} without an amount: "
            f"{some_of([rows.named(row) for row in empty])}. They are not used.",
            rows.where,
            rows.evidence("exclude", empty, "no amount"),
            "The use of these bills is missing from the comparison.",
        )
    return rows.of(np.flatnonzero(np.isfinite(rows.amounts)))


def _without_cancelled(rows: BillRows, gather: Gather) -> BillRows:
    """Bills that the utility took back count for nothing, nor does the row that took them back.

    A row marked so with an amount below zero that takes back a bill which stands unmarked is a correction of it.
    """
    marks = rows.marks.copy()
    out: list[int] = []
    for row in np.flatnonzero(marks == CANCELLED):
        same = (rows.last == rows.last[row]) & (rows.meters == rows.meters[row]) & (rows.amounts == -rows.amounts[row])
        back = [int(other) for other in np.flatnonzero(same) if other != row and other not in out]
        if rows.amounts[row] >= 0.0:
            out += [int(row), *back[:1]]
        elif not any(marks[other] == CANCELLED for other in back):
            marks[row] = CORRECTION
    if out:
        gather.finding(
            "bills.cancelled", f"{rows.where} has {count_of(len(out), 'row')} of bills that were cancelled: "
            f"{some_of([rows.named(row) for row in sorted(out)])}. They are not used.", rows.where,
            rows.evidence("exclude", sorted(out), "marked as cancelled"),
            "None, if the bills that took their place stand in the file.")
    return replace(rows, marks=marks).of(np.setdiff1d(np.arange(len(marks)), out))
