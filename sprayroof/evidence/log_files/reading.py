"""One file of loggers or meters to rows with true times and numbers: the order of the steps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.files import EvidenceFile
from sprayroof.evidence.gather import Gather, count_of, some_of
from sprayroof.evidence.log_files.devices import candidates, only_devices, rows_of_device
from sprayroof.evidence.log_files.export_checks import check_copied_blocks, check_hand_rounded, check_row_limits
from sprayroof.evidence.log_files.raw_cells import column_of_cells, decimal_fits, file_mark, read_column, tell_commas
from sprayroof.evidence.log_files.raw_table import FIXED_WIDTH, OddRow, RawTable, nearest_heading, read_raw_table
from sprayroof.evidence.log_files.row_order import after_reset, distinct_times, is_newest_first, rising_order
from sprayroof.evidence.log_files.spans import has_one_interval
from sprayroof.evidence.log_files.table import LogTable
from sprayroof.evidence.log_files.text import decode_log
from sprayroof.evidence.log_files.units_seen import units_seen_in
from sprayroof.evidence.log_files.workbooks import is_workbook, read_sheet
from sprayroof.evidence.log_times.half_day_clock import is_half_day_clock, of_whole_days
from sprayroof.evidence.log_times.hidden_saving import check_hidden_saving
from sprayroof.evidence.log_times.named_zone import check_named_zone
from sprayroof.evidence.log_times.row_names import RowNames
from sprayroof.evidence.log_times.stamp_cells import NAT
from sprayroof.evidence.log_times.stamp_forms import parts_of
from sprayroof.evidence.log_times.stamps import Stamps, read_stamps
from sprayroof.evidence.log_times.zone import offsets_h, on_true_time, to_utc_ns
from sprayroof.evidence.site_file.channel_table import channel_of
from sprayroof.evidence.site_file.entries import shown

if TYPE_CHECKING:
    from sprayroof.evidence.site_file.logged import Log, LogColumn

MOST_UNREADABLE = 0.05  # of the rows between first and last time


@dataclass(frozen=True, eq=False)
class TimedRows:
    """Rows with a time, oldest first: place among the raw rows, and the time (UTC)."""

    rows: np.ndarray
    times_ns: np.ndarray


def read_log_file(
    file: EvidenceFile, log: Log, entry: str, gather: Gather, site_zone: str | None = None
) -> LogTable | None:
    """The rows of a log file, or None after a problem.

    Parameters
    ----------
    file : EvidenceFile
        As read: text or an XLSX workbook.
    log : Log
        The [[log]] block of the site file.
    entry : str
        Its place, "log.2", for messages.
    gather : Gather
        Receives problems and findings. Raw files are never altered.
    site_zone : str or None
        IANA name of the site's clock; where the log's is stated as fixed, it tells whether it was changed after all.

    Returns
    -------
    LogTable or None
    """
    before = len(gather.problems)
    used = dict(log.columns)  # those with `use = false` are read too: they are held against what is used
    raw = _raw_table(file, log, used, entry, gather)
    raw = None if raw is None else rows_of_device(raw, log, file.where, entry, gather)
    if raw is None:
        return None
    if raw.merged:
        _tell_merged(raw, file.where, gather)
    cells = _time_cells(raw, log, file.where, entry, gather)
    names = RowNames(file.where, raw.lines)
    stamps = read_stamps(cells, log, entry, names, gather) if cells is not None and len(cells) else None
    if stamps is None:
        if len(gather.problems) == before:
            gather.problem(file.where, "no rows below the headings", "a row for each time", "export the file again")
        return None
    is_time = stamps.clock_ns != NAT
    devices = _devices(file, log, raw, is_time, entry, gather) if entry.startswith("log") else {}
    if devices is None:
        return None
    metadata = _tell_rows_left_out(raw, cells, is_time, file.where, gather)
    timed = _timed(stamps, np.flatnonzero(is_time), log, site_zone, entry, names, gather)
    if timed is None:
        return None
    _tell_form(stamps, log, timed, names, gather)
    check_named_zone((*metadata, log.time_column), timed.times_ns, log, entry, names, gather)
    check_row_limits(raw.file_rows, len(raw.lines), names, gather)
    table = _table(raw, timed, log, used, metadata, entry, file.where, gather, before)
    return None if table is None else replace(table, devices=devices)


def _table(
    raw: RawTable,
    timed: TimedRows,
    log: Log,
    used: dict[str, LogColumn],
    metadata: tuple[str, ...],
    entry: str,
    where: str,
    gather: Gather,
    before: int,
) -> LogTable | None:
    """Numbers of the timed rows, every time once."""
    names = RowNames(where, raw.lines[timed.rows], timed.times_ns)
    columns = [
        column_of_cells(name, declared, raw.cells[declared.column][timed.rows]) for name, declared in used.items()
    ]
    mark = file_mark(columns)
    if log.decimal is None:
        tell_commas(columns, names, gather)
    elif not decimal_fits(columns, log.decimal, names, entry, gather):
        return None
    values, blanks = {}, {}
    for column in columns:
        pad = gather if used[column.channel].use else Gather()
        read = read_column(column, log.decimal, mark, names, entry, pad)
        if pad is gather or not pad.problems:
            values[column.channel], blanks[column.channel] = read
    if len(gather.problems) > before:
        return None
    keep = distinct_times(
        timed.times_ns,
        values,
        _counted(log, used, timed.times_ns),
        log.values == "last value holds",
        names,
        entry,
        gather,
    )
    if keep is None:
        return None
    blanks = {name: np.logical_and.reduceat(blank, keep) for name, blank in blanks.items() if blank.any()}
    values = {name: column[keep] for name, column in values.items()}
    names = RowNames(where, names.lines[keep], timed.times_ns[keep])
    check_copied_blocks(timed.times_ns[keep], values, names, gather)
    for name, column in values.items():
        check_hand_rounded(column, used[name].column, names, gather)
    units = units_seen_in(raw, {log.time_column, log.clock_column or ""}, int(raw.lines[timed.rows].min()))
    return LogTable(where, timed.times_ns[keep], values, names.lines, raw.headings, units, metadata, blanks)


# --- rows and cells ----------------------------------------------------------------------------------------------


def _devices(
    file: EvidenceFile, log: Log, raw: RawTable, is_time: np.ndarray, entry: str, gather: Gather
) -> dict[str, str] | None:
    """The device that each unused column names; None, with a problem, where one names several."""
    headings = candidates(raw, log)
    again = _raw_table(file, log, log.columns, entry, Gather(), headings) if headings else None
    return {} if again is None else only_devices(again, headings, is_time, file.where, entry, gather)


def _raw_table(
    file: EvidenceFile,
    log: Log,
    used: dict[str, LogColumn],
    entry: str,
    gather: Gather,
    more: Sequence[str] = (),
) -> RawTable | None:
    wanted = {log.time_column: f"{entry}.time_column"}
    if log.clock_column is not None:
        wanted[log.clock_column] = f"{entry}.clock_column"
    if log.device_column is not None:
        wanted.setdefault(log.device_column, f"{entry}.device_column")
    for name, column in used.items():
        wanted.setdefault(column.column, f"{entry}.columns.{name}.column")
    for heading in more:
        wanted.setdefault(heading, entry)
    if is_workbook(file.raw):
        return read_sheet(file.raw, log.sheet, wanted, file.where, entry, gather)
    text = decode_log(file.raw, log.encoding, file.where, entry, gather)
    if text is None:
        return None
    return read_raw_table(text, wanted, log.delimiter, file.where, entry, gather)


def _tell_merged(raw: RawTable, where: str, gather: Gather) -> None:
    gather.finding(
        "log.merged-cells",
        f"Merged cells of {where} cover {count_of(raw.merged, 'cell')} of the columns read; each was given "
        "the value of the merged cell.",
        where,
        {
            "disposition": "repair",
            "file": where,
            "rows": raw.merged,
            "rule": "the merged cell's value for all it covers",
        },
        "None, if the merged value is meant for every row it covers.",
    )


def _time_cells(raw: RawTable, log: Log, where: str, entry: str, gather: Gather) -> np.ndarray | None:
    """The texts of the times, date and clock joined; None after a problem."""
    dates = raw.cells[log.time_column]
    if log.clock_column is None:
        return dates if _has_clock(dates, raw, where, entry, gather) else None
    clocks = raw.cells[log.clock_column]
    # a sheet gives dates with a midnight, and clocks with a day that means nothing
    dates = np.array([text.removesuffix(" 00:00:00") for text in dates], dtype=object)
    clocks = np.array(
        [text.rpartition(" ")[2] if text.startswith(("1899-", "1900-", "1904-")) else text for text in clocks],
        dtype=object,
    )
    return np.array([f"{date} {clock}".strip() for date, clock in zip(dates, clocks, strict=True)], dtype=object)


def _has_clock(cells: np.ndarray, raw: RawTable, where: str, entry: str, gather: Gather) -> bool:
    """False, with a problem, where the cells are dates alone and each stands in many rows."""
    sample = [parts for text in cells[:200] if (parts := parts_of(text)) is not None]
    if not sample or any(parts.has_clock for parts in sample) or len(set(cells)) > 0.5 * len(cells):
        return True
    near = nearest_heading("clock", list(raw.headings)) or nearest_heading("time", list(raw.headings))
    clock = next(
        (
            head
            for place, head in enumerate(raw.headings)
            if any(len(row) > place and _is_clock(row[place]) for row in raw.all_cells.values())
        ),
        near,
    )
    gather.problem(
        f"{where}, times",
        f"dates without time of day, each in many rows ({shown(cells[0])})",
        "the time of day of each row",
        f"add clock_column = {shown(clock or 'its heading')} to {entry}",
    )
    return False


def _is_clock(text: str) -> bool:
    hours, mark, rest = text.partition(":")
    return bool(mark) and hours.isdigit() and rest[:2].isdigit()


def _tell_rows_left_out(
    raw: RawTable, cells: np.ndarray, is_time: np.ndarray, where: str, gather: Gather
) -> tuple[str, ...]:
    """Title and footer rows; told as a note. Rows between that are no records are told as excluded."""
    lines = raw.lines[is_time]
    if not len(lines):
        return raw.above
    strange = [
        OddRow(int(line), shown(text)[:60], "no time")
        for line, text in zip(raw.lines[~is_time], cells[~is_time], strict=True)
    ]
    odd = sorted([*raw.odd, *strange], key=lambda row: row.line)
    cut = [row for row in odd if _is_record(row)]
    outside = [row for row in odd if not _is_record(row) and not lines[0] < row.line < lines[-1]]
    inside = [row for row in odd if row not in outside]
    if raw.above or outside:
        gather.finding(
            "log.title-rows",
            f"{count_of(len(raw.above) + len(outside), 'row')} of titles, units or statistics left out of {where}.",
            where,
            {
                "disposition": "repair",
                "file": where,
                "rows": len(raw.above) + len(outside),
                "rule": "rows without a time",
                "texts": [*raw.above, *(row.text for row in outside)][:20],
            },
            "None: these rows hold no reading.",
        )
    if inside:
        _tell_unreadable(inside, len(lines), cut, where, gather)
    return (*raw.above, *(row.text for row in outside))


def _is_record(row: OddRow) -> bool:
    """Whether an odd row begins as a record does: it was cut off or has too many cells."""
    head = row.text.replace(";", ",").replace("\t", ",").replace("|", ",").split(",")[0]
    return row.what != "no time" and parts_of(head.strip().strip('"')) is not None


def _tell_unreadable(rows: list[OddRow], good: int, cut: list[OddRow], where: str, gather: Gather) -> None:
    told = some_of(
        [f"line {row.line} {row.text[:40] if row.what == 'no time' else shown(row.text[:40])}" for row in rows]
    )
    if len(rows) > max(3, MOST_UNREADABLE * good):
        gather.problem(
            where,
            f"{count_of(len(rows), 'row')} among {good} are no records: {told}",
            "a row for each time",
            "export the file again",
        )
        return
    gather.finding(
        "log.rows-unreadable",
        f"{count_of(len(rows), 'row')} of {where} are no records: {told}. They are not used.",
        where,
        {
            "disposition": "exclude",
            "file": where,
            "rows": len(rows),
            "first": f"line {rows[0].line}",
            "last": f"line {rows[-1].line}",
            "rule": "no time, or cells missing",
            "cut_off": len(cut),
        },
        f"{count_of(len(rows), 'row')} missing.",
    )


# --- times -------------------------------------------------------------------------------------------------------


def _timed(
    stamps: Stamps, rows: np.ndarray, log: Log, site_zone: str | None, entry: str, names: RowNames, gather: Gather
) -> TimedRows | None:
    """Rows with their times in UTC, oldest first; None after a problem."""
    keep = after_reset(stamps.clock_ns[rows], RowNames(names.file, names.lines[rows]), entry, gather)
    if keep is None:
        return None
    rows = rows[keep]
    if is_newest_first(stamps.clock_ns[rows]):
        rows = rows[::-1]
        _tell_newest_first(RowNames(names.file, names.lines[rows]), gather)
    clock_ns = stamps.clock_ns[rows]
    here = RowNames(names.file, names.lines[rows])
    if not stamps.has_half and not stamps.in_utc and is_half_day_clock(clock_ns):
        whole = of_whole_days(clock_ns, here, entry, gather)
        if whole is None:
            return None
        clock_ns = whole
    if stamps.in_utc:
        times_ns: np.ndarray | None = clock_ns
        _tell_own_zone(clock_ns, stamps, log, entry, here, gather)
    elif check_hidden_saving(clock_ns, log, site_zone, entry, here, gather):
        times_ns = to_utc_ns(clock_ns, log, entry, here, gather)
    else:
        times_ns = None
    times_ns = None if times_ns is None else on_true_time(times_ns, log, entry, here, gather)
    if times_ns is None:
        return None
    order = rising_order(times_ns, RowNames(names.file, here.lines, times_ns), gather)
    return TimedRows(rows[order], times_ns[order])


def _tell_newest_first(names: RowNames, gather: Gather) -> None:
    gather.finding(
        "log.newest-first",
        f"The rows of {names.file} run from the newest to the oldest; they were turned round.",
        names.file,
        names.evidence("repair", np.arange(len(names.lines)), "rows turned round"),
        "None: rows keep their times.",
    )


def _tell_own_zone(times_ns: np.ndarray, stamps: Stamps, log: Log, entry: str, names: RowNames, gather: Gather) -> None:
    """A doubt where times that carry their own zone are declared on a clock of another zone."""
    told = offsets_h(log.time_zone, times_ns)
    if not stamps.own_offsets_h or stamps.own_offsets_h <= told:
        return
    apart = max(abs(own - hours) for own in stamps.own_offsets_h for hours in told)
    gather.finding(
        "log.zone-contradicts",
        f"The times of {names.file} carry their own zone ({stamps.form}), which is not that of "
        f'"{log.time_zone}". The cells were followed.',
        names.file,
        {
            "disposition": "warn",
            "file": names.file,
            "rule": f"{entry}.time_zone",
            "old": log.time_zone,
            "new": stamps.form,
        },
        f"If the site file is right, all rows lie up to {apart:g} h off.",
    )


def _tell_form(stamps: Stamps, log: Log, timed: TimedRows, names: RowNames, gather: Gather) -> None:
    if not stamps.notes:
        return
    all_names = RowNames(names.file, names.lines[timed.rows], timed.times_ns)
    gather.finding(
        "log.time-form",
        f"The times of {names.file} were read as {' and '.join(stamps.notes)}.",
        names.file,
        all_names.evidence("repair", np.arange(len(timed.rows)), "form of the times", new=stamps.form),
        "None: the form can be read one way only.",
    )


def _counted(log: Log, used: dict[str, LogColumn], times_ns: np.ndarray) -> frozenset[str]:
    """Channels in which a row stands for a tip: rows at no interval, of tips alone."""

    def kind(name: str, column: LogColumn) -> str:
        found = channel_of(name)
        return column.kind or (found[0].kind if found else log.values)

    if any(kind(name, column) != "tips" for name, column in used.items()) or has_one_interval(np.unique(times_ns)):
        return frozenset()
    return frozenset(used)


def delimiter_words(delimiter: str) -> str:
    """A delimiter as `delimiter` of a [[log]] block states it."""
    return "tab" if delimiter == "\t" else delimiter or FIXED_WIDTH
