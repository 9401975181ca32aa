"""All logs of a site as channels on one grid: `read_logs`.

The order: files of each pattern, their tables, overlaps, columns to channels, the grid, tests on site, checks of the
channels against each other, quality masks, short gaps. All problems of a stage are told together, and a stage begins
only when the one before it found none.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import numpy as np

from sprayroof.errors import LogProblems
from sprayroof.evidence.channels.clock_tests import on_true_time, tell_stamp
from sprayroof.evidence.channels.column import record_of
from sprayroof.evidence.channels.gaps import fill, tell_missing_rows
from sprayroof.evidence.channels.grid import LEAST_KNOWN, Laid, LogGrid, grid_of
from sprayroof.evidence.channels.instruments import instrument_of
from sprayroof.evidence.channels.record import Record
from sprayroof.evidence.gather import Gather, some_of
from sprayroof.evidence.log_files.copies import check_copied_channels, is_copy
from sprayroof.evidence.log_files.merge import joined
from sprayroof.evidence.log_files.patterns import read_files
from sprayroof.evidence.log_files.rows import LogRows
from sprayroof.evidence.log_files.table import LogTable
from sprayroof.evidence.log_times.row_names import time_text
from sprayroof.evidence.logs import Logs
from sprayroof.evidence.quality.compare import check_ratings, compare_records
from sprayroof.evidence.quality.corrections import apply_tests
from sprayroof.evidence.quality.dates_outside import check_dates
from sprayroof.evidence.quality.diluted import check_diluted
from sprayroof.evidence.quality.impossible_amounts import check_amounts
from sprayroof.evidence.quality.level_against_meters import check_meters
from sprayroof.evidence.quality.level_checks import check_barometer, note_held_water
from sprayroof.evidence.quality.masks import judge
from sprayroof.evidence.quality.origins import Origins
from sprayroof.evidence.quality.rain_gauge import check_gauge
from sprayroof.evidence.quality.spike_rows import signs_of_running, tell_spikes, without_spikes
from sprayroof.evidence.quality.standing_sensors import check_standing
from sprayroof.evidence.quality.stated_powers import check_stated_powers
from sprayroof.evidence.quality.work import LogWork
from sprayroof.evidence.site_file.channel_table import ChannelMeaning

if TYPE_CHECKING:
    import pandas as pd

    from sprayroof.evidence.site import Site
    from sprayroof.evidence.weather import Weather

Progress = Callable[[str], None]


def _quiet(message: str) -> None:
    """Progress that nobody wants to hear."""


def read_logs(site: Site, weather: Weather | None = None, progress: Progress = _quiet) -> Logs:
    """What the logs that the site file declares say.

    Parameters
    ----------
    site : Site
        From `read_site`, with at least one [[log]].
    weather : Weather, optional
        Measured weather of the same time is a witness for rain and air pressure; a typical year is left aside.
    progress : callable
        Is told each stage in words.

    Returns
    -------
    Logs
        All that was logged, tests applied; the measured period (`site.logged`) is not cut out here.

    Raises
    ------
    LogProblems
        A file cannot be read, or a column cannot be used as it stands; all problems found.
    """
    gather, inputs = Gather(), []
    seen: dict[str, tuple[str, str]] = {}
    found = [_rows_of_log(site, number, seen, gather, inputs, progress) for number in range(len(site.log))]
    return _logs(site, found, weather, gather, inputs, progress)


def logs_of_tables(site: Site, tables: dict[int, list[LogTable]], weather: Weather | None = None) -> Logs:
    """`read_logs` from tables at hand: number of the [[log]] from 0 -> tables of its files (raises LogProblems)."""
    gather = Gather()
    found = [_joined(site, number, ready, gather) for number, ready in tables.items()]
    return _logs(site, found, weather, gather, [], _quiet)


def _logs(site: Site, found: list[LogRows | None], weather: Weather | None, gather: Gather,
          inputs: list[dict[str, Any]], progress: Progress) -> Logs:
    logs = [rows for rows in found if rows is not None]
    check_copied_channels(logs, gather)
    records = [record for rows in logs for name in rows.values
               if (record := record_of(rows, name, site, _pad(rows, name, gather))) is not None]
    gather.stop_if_problems(LogProblems)
    progress("laying the channels on one grid")
    grid = grid_of(records, site, gather)
    gather.stop_if_problems(LogProblems)
    assert grid is not None  # a grid that cannot be made has told a problem
    for rows in logs:
        tell_missing_rows(rows, site.place.time_zone, gather)
        tell_stamp(rows, {record.kind for record in records if record.rows is rows}, gather)
    work = _laid_out(records, grid, site, weather, gather)
    progress("checking the channels")
    _check(work)
    gather.stop_if_problems(LogProblems)
    return _finished(work, weather, inputs)


def _pad(rows: LogRows, name: str, gather: Gather) -> Gather:
    """Where a channel's problems go: those of one that is only held against another stop nothing."""
    return gather if rows.log.columns[name].use else Gather()


def _rows_of_log(site: Site, number: int, seen: dict[str, tuple[str, str]], gather: Gather,
                 inputs: list[dict[str, Any]], progress: Progress) -> LogRows | None:
    """The rows of one [[log]]; None after a problem. `seen` holds the files of those before it (see `is_copy`)."""
    from sprayroof.evidence.log_files.reading import read_log_file

    log, entry = site.log[number], f"log.{number + 1}"
    tables = []
    for file in read_files(site.folder, log.file, f"{entry}.file", gather):
        if is_copy(file, entry, seen, gather):
            continue
        progress(f"reading {file.where}")
        table = read_log_file(file, log, entry, gather, site.place.time_zone)
        if table is not None:
            tables.append(table)
            inputs.append(file.entry(len(table.times_ns), _span(table), "log of " + ", ".join(table.values)))
    return _joined(site, number, tables, gather)


def _span(table: LogTable) -> str:
    if not len(table.times_ns):
        return ""
    return f"{time_text(table.times_ns[0])[:10]} to {time_text(table.times_ns[-1])[:10]}"


def _joined(site: Site, number: int, tables: list[LogTable], gather: Gather) -> LogRows | None:
    blocks = site.record.get("log", [])
    raw = blocks[number] if number < len(blocks) else {}
    rows = joined(tables, site.log[number], f"log.{number + 1}", raw, gather)
    if rows is None:
        return None
    _tell_unused_columns(rows, gather)
    return on_true_time(rows, site, gather)


def _tell_unused_columns(rows: LogRows, gather: Gather) -> None:
    log = rows.log
    used = {log.time_column, log.clock_column, log.device_column, *(column.column for column in log.columns.values())}
    unused = [heading for heading in rows.headings if heading and heading not in used]
    if unused:
        gather.finding("log.columns-unused", f"{rows.where} has columns that the site file does not name: "
                       f"{some_of(unused, 8)}.", rows.where,
                       {"disposition": "note", "file": rows.where, "columns": unused, "rule": "not declared"},
                       "None; a channel among them would need an entry.")


def _laid_out(records: list[Record], grid: LogGrid, site: Site, weather: Weather | None, gather: Gather) -> LogWork:
    """Every channel on the grid, several records of one channel held against each other and joined; tests applied."""
    work = LogWork(site, grid, {}, {}, {}, gather, _elsewhere(weather, "rain_mm", grid),
                   _elsewhere(weather, "pressure_Pa", grid))
    by_column: dict[str, list[Record]] = {}
    for record in records:
        by_column.setdefault(record.column, []).append(record)
    on, spiked = signs_of_running(records, grid), []
    for column, written in by_column.items():
        spikes = [without_spikes(record, on, grid, site.store.volume_m3.value) for record in written]
        several = [record if one is None else one.record for record, one in zip(written, spikes, strict=True)]
        laid = [grid.lay(record) for record in several]
        if len(several) > 1:
            compare_records(column, several, laid, work)
        used = [pair for pair in zip(several, laid, strict=True) if pair[0].declared.use]
        if not used:
            continue
        work.records[column], work.laid[column] = used[0][0], _one_after_another([pair[1] for pair in used])
        work.used[column] = [pair[0] for pair in used]
        work.instruments[column] = instrument_of(used[0][0])
        spiked += [one for one in spikes if one is not None and one.record.declared.use]
    for one in spiked:
        tell_spikes(one, work)
    check_standing(work)
    apply_tests(work)
    return work


def _one_after_another(parts: list[Laid]) -> Laid:
    """The first record where it is known, else the next."""
    whole = parts[0]
    for part in parts[1:]:
        take = np.isnan(whole.values) & np.isfinite(part.values)
        spreads = [np.zeros(len(take), dtype=bool) if one.spread is None else one.spread for one in (whole, part)]
        whole = Laid(np.where(take, part.values, whole.values), np.where(take, part.known, whole.known),
                     np.where(take, spreads[1], spreads[0]))
    return whole


def _elsewhere(weather: Weather | None, column: str, grid: LogGrid) -> np.ndarray | None:
    """A column of a measured weather record on the grid: amounts shared evenly, other values held."""
    if weather is None or weather.names.get("typical_year") or column not in weather.table:
        return None
    starts_ns = weather.table.index.as_unit("ns").asi8
    step_ns = int(starts_ns[1] - starts_ns[0])
    places = (grid.starts_ns() - starts_ns[0]) // step_ns
    inside = (places >= 0) & (places < len(starts_ns))
    if not inside.any():
        return None
    values = weather.table[column].to_numpy()[np.clip(places, 0, len(starts_ns) - 1)]
    share = grid.step_s * 1e9 / step_ns if column == "rain_mm" else 1.0
    return np.where(inside, values * share, np.nan)


def _check(work: LogWork) -> None:
    check_dates(work)
    check_ratings(work)
    check_diluted(work)
    check_barometer(work)
    check_gauge(work)
    check_meters(work)
    note_held_water(work)
    check_amounts(work)
    check_stated_powers(work)


def _finished(work: LogWork, weather: Weather | None, inputs: list[dict[str, Any]]) -> Logs:
    """Table, quality masks, short gaps filled."""
    import pandas as pd

    for column, laid in work.laid.items():
        gap = laid.known < LEAST_KNOWN
        if gap.any():
            work.mask(column, "gap", gap)
        if laid.spread is not None and laid.spread.any():
            work.mask(column, "note_spread", laid.spread)
    table = pd.DataFrame({column: laid.values for column, laid in work.laid.items()}, index=work.grid.index())
    _blank_masked(table, work.masks)
    _judge(table, work, weather)
    work.gather.stop_if_problems(LogProblems)
    _blank_masked(table, work.masks)
    meanings: dict[str, ChannelMeaning] = {column: record.meaning for column, record in work.records.items()}
    useless = fill(table, meanings, work.masks, work.grid.step_s, work.gather)
    table = table.drop(columns=useless)
    heights_m = {column: record.declared.height_m for column, record in work.records.items()
                 if record.declared.height_m is not None and record.name.startswith("store_temperature")}
    return Logs(
        table=table, step_s=work.grid.step_s, known={column: work.laid[column].known for column in table.columns},
        masks={column: work.masks.get(column, {}) for column in table.columns},
        instruments={column: work.instruments[column] for column in table.columns},
        heights_m={column: height for column, height in heights_m.items() if column in table.columns},
        findings=work.gather.findings, inputs=inputs,
    )


def _judge(table: pd.DataFrame, work: LogWork, weather: Weather | None) -> None:
    """The single call of the quality room: its masks join those of the channels."""
    measured = None if weather is None or weather.names.get("typical_year") else weather.table
    rows = {column: record.rows for column, record in work.records.items()}
    masks = judge(table, work.grid.step_s, work.site, work.instruments, work.gather, measured, rows,
                  Origins(work.used, work.grid), work.doubted)
    for column, named in masks.items():
        for name, where in named.items():
            work.mask(column, name, np.asarray(where, dtype=bool))


def _blank_masked(table: pd.DataFrame, masks: dict[str, dict[str, np.ndarray]]) -> None:
    """NaN under every mask but those that only note."""
    for column, named in masks.items():
        barred = [where for name, where in named.items() if name != "filled" and not name.startswith("note")]
        if barred and column in table:
            table[column] = np.where(np.logical_or.reduce(barred), np.nan, table[column].to_numpy())
