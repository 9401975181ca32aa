"""A [[log]] block to paste for a file that the site file does not name: what was found in it, and the reasons.

Lines that are certain are TOML; what must be settled first stands as a remark. Nothing proposed is used unasked.
"""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.gather import Gather, count_of, some_of
from sprayroof.evidence.log_files.column_guess import Guess, guesses_of, seen_of
from sprayroof.evidence.log_files.copies import sha256_of
from sprayroof.evidence.log_files.devices import devices_in, names_devices
from sprayroof.evidence.log_files.looks import (
    Look,
    Times,
    ZoneGuess,
    one_guess_each,
    one_head,
    one_zone,
    same_columns,
    with_one_form,
)
from sprayroof.evidence.log_files.number_forms import marks_of
from sprayroof.evidence.log_files.patterns import names_of
from sprayroof.evidence.log_files.raw_table import (
    FIXED_WIDTH,
    Layout,
    RawTable,
    all_lines,
    layout_by_shape,
    read_raw_table,
)
from sprayroof.evidence.log_files.row_order import is_newest_first
from sprayroof.evidence.log_files.spans import has_one_interval
from sprayroof.evidence.log_files.text import decode_log
from sprayroof.evidence.log_files.units_seen import units_seen_in
from sprayroof.evidence.log_files.workbooks import (
    OLD_MARK,
    is_workbook,
    joined_headings,
    read_sheet,
    sheet_names,
    sheet_rows,
    text_of,
)
from sprayroof.evidence.log_times.half_day_clock import is_half_day_clock
from sprayroof.evidence.log_times.named_zone import named_offsets_h
from sprayroof.evidence.log_times.stamp_cells import NAT, common_example, cut_apart, readings_in_order
from sprayroof.evidence.log_times.stamp_forms import codes_of, orders_of, parts_of
from sprayroof.evidence.log_times.stamps import number_stamps
from sprayroof.evidence.log_times.zone import clock_text, fixed_zone, offsets_h, year_of
from sprayroof.evidence.log_times.zone_steps import zone_steps
from sprayroof.evidence.site_file.entries import shown, toml_value
from sprayroof.evidence.tables import DELIMITERS, split_line

if TYPE_CHECKING:
    from sprayroof.evidence.site import Site

LARGEST_BYTES = 60_000_000
MOST_TOGETHER_BYTES = 30_000_000  # of the files of one pattern: what is looked into, some ten seconds
LOG_ENDINGS = (".csv", ".txt", ".tsv", ".dat", ".log", ".asc", ".xlsx", ".xlsm", ".prn")
# What records are also kept in, and how each becomes a file that can be read
OTHER_FORMS = {
    **dict.fromkeys((".xls", ".xlsb", ".ods", ".fods", ".numbers"), "save the sheet as XLSX or CSV"),
    **dict.fromkeys((".json", ".jsonl", ".xml", ".html", ".htm", ".parquet"), "export the records again as CSV"),
    **dict.fromkeys((".pdf", ".doc", ".docx", ".rtf"), "ask for the records as CSV or XLSX"),
    **dict.fromkeys((".db", ".sqlite", ".sqlite3", ".mdb", ".accdb"), "export the table as CSV"),
    **dict.fromkeys((".zip", ".gz", ".7z", ".rar", ".tar", ".tgz", ".xz", ".bz2"), "unpack it"),
}
MOST_COLUMNS = 60
DAY_NS = 86400 * 10**9


# --- which files -------------------------------------------------------------------------------------------------


def proposals(site: Site) -> list[str]:
    """Lines to print for all files in the site's logs folder that no entry of the site file names."""
    lines: list[str] = []
    groups: dict[str, list[Path]] = {}
    twins = _twins_of_declared(site)
    for path, first in twins.items():
        name, declared = (one.relative_to(site.folder).as_posix() for one in (path, first))
        lines += ["", f"Not declared: {name}. It has the same bytes as {declared}, which the site file names."]
    for path in undeclared(site):
        if path in twins:
            continue
        groups.setdefault(re.sub(r"\d+", "*", path.relative_to(site.folder).as_posix()), []).append(path)
    for pattern, paths in groups.items():
        alike = len(paths) > 1 and len({_first_row(path) for path in paths}) == 1 and pattern.count("*") < 6
        together = propose_together(paths, site.folder, site.place.time_zone, pattern) if alike else None
        named = {pattern: together} if together else {
            path.relative_to(site.folder).as_posix(): propose(path, site.folder, site.place.time_zone) for path in paths
        }
        for name, block in named.items():
            told = f"Not declared: {name}. If it belongs to the audit, paste this into site.toml and go through it:"
            lines += ["", told, *block]
    return lines


def not_readable(site: Site, below: str = "logs") -> list[str]:
    """Lines to print for files in a folder of the site whose form is that of records, but is not read."""
    named = declared_files(site)
    lines: list[str] = []
    for path in sorted((site.folder / below).rglob("*")):
        mend = OTHER_FORMS.get(path.suffix.lower())
        if mend and path.is_file() and not path.name.startswith((".", "~")) and path.resolve() not in named:
            lines += ["", f"Not read: {safe(path.relative_to(site.folder).as_posix())}. Files of the form "
                      f"{path.suffix.lower()} are not read; {mend} into the same folder."]
    return lines


def undeclared(site: Site, below: str = "logs") -> list[Path]:
    """Files in a folder of the site, also in its folders, that the site file names nowhere."""
    folder = site.folder / below
    if not folder.is_dir():
        return []
    files = [
        path
        for path in sorted(folder.rglob("*"))
        if path.is_file() and path.suffix.lower() in LOG_ENDINGS and not path.name.startswith((".", "~"))
    ]
    named = declared_files(site)
    return [path for path in files if path.resolve() not in named]


def declared_files(site: Site) -> set[Path]:
    """Files that the site file names, resolved."""
    names = [log.file for log in site.log]
    names += [part.file for part in (*site.bills, *site.twin)]
    names += [name for bills in site.bills for name in (bills.temperature_file, bills.solar_file) if name]
    named = {
        (site.folder / name).resolve() for pattern in names for name in names_of(site.folder, pattern, "log", Gather())
    }
    return named | {Path(path).resolve() for path in (site.rain_path(), site.load_path(), site.weather_path()) if path}


def _twins_of_declared(site: Site) -> dict[Path, Path]:
    """Undeclared file -> the declared one beside it that has the same bytes."""
    folder = site.folder.resolve()
    inside = [path for path in sorted(declared_files(site)) if path.is_file() and path.is_relative_to(folder)]
    sizes = {path: path.stat().st_size for path in inside}
    twins: dict[Path, Path] = {}
    for path in undeclared(site):
        alike = [one for one in inside if sizes[one] == path.stat().st_size and sha256_of(one) == sha256_of(path)]
        twins |= {path: site.folder / alike[0].relative_to(folder)} if alike else {}
    return twins


def _first_row(path: Path) -> bytes:
    if is_workbook(path.read_bytes()[:4]):
        return path.name.encode()
    with path.open("rb") as opened:
        return opened.readline()[:2000]


# --- one file, or several of one form -----------------------------------------------------------------------------


def propose(path: Path, folder: Path, zone: str) -> list[str]:
    """Lines of a [[log]] block for a file, with the reasons as remarks.

    Parameters
    ----------
    path : Path
        The file.
    folder : Path
        Folder of the site file; paths in it are written relative to it.
    zone : str
        IANA name of the site's clock.

    Returns
    -------
    list of str
        Valid TOML, or remarks alone where the file cannot be read as a log.
    """
    look = _look_into(path, folder)
    return [f"# {safe(_shown_name(path, folder))}: {look}"] if isinstance(look, str) else _block(
        [look], look.file, zone, path.stem)


def propose_together(paths: list[Path], folder: Path, zone: str, pattern: str) -> list[str] | None:
    """Lines of one block for files that follow each other; None where they are not of one form.

    All files are looked into, of a large heap as many as `MOST_TOGETHER_BYTES` holds, the first and the last among
    them. What one file shows stands for all; where two show different things, both are told.

    Parameters
    ----------
    paths : list of Path
        Two or more.
    folder, zone
        As in `propose`.
    pattern : str
        What the block names.
    """
    chosen = _within_reach(paths)
    looks: list[Look] = []
    for path in chosen:
        look = _look_into(path, folder)
        if isinstance(look, str):
            return None
        looks.append(look.thinned() if looks else look)
    if not same_columns(looks):
        return None
    left = [] if len(chosen) == len(paths) else [
        remark(f"{len(chosen)} of {len(paths)} files were looked into, the first and the last among them.")]
    return _block(looks, pattern, zone, paths[0].stem, left)


def _within_reach(paths: list[Path]) -> list[Path]:
    """The files to look into: all, or so many spread evenly that their sizes stay within bounds."""
    largest = max(path.stat().st_size for path in paths)
    if sum(path.stat().st_size for path in paths) <= MOST_TOGETHER_BYTES:
        return paths
    count = min(max(2, MOST_TOGETHER_BYTES // max(largest, 1)), len(paths))
    return [paths[round(place)] for place in np.linspace(0, len(paths) - 1, count)]


def _shown_name(path: Path, folder: Path) -> str:
    return path.relative_to(folder).as_posix() if path.is_relative_to(folder) else path.name


def _look_into(path: Path, folder: Path) -> Look | str:
    """What a file shows, or why it cannot be read as a log."""
    if path.stat().st_size > LARGEST_BYTES:
        return f"{path.stat().st_size / 1e6:.0f} MB, too large to look into; declare it by hand."
    head: list[str] = []
    table = table_of(path.read_bytes(), head)
    if table is None:
        return head[-1] if head else "no table with times was found in it."
    raw, time_column, clock_column = table
    texts = raw.cells[time_column]
    if clock_column:
        texts = np.array(
            [f"{date} {clock}".strip() for date, clock in zip(texts, raw.cells[clock_column], strict=True)],
            dtype=object,
        )
    devices = {heading: devices_in(cells, least=1) for heading, cells in raw.cells.items() if names_devices(heading)}
    return Look(_shown_name(path, folder), raw, tuple(head), time_column, clock_column, times_of(texts), devices)


def _block(looks: list[Look], name: str, zone: str, file_words: str, left: list[str] | None = None) -> list[str]:
    """The lines of a block for files of one form."""
    looks, form_lines = with_one_form(looks)
    first = looks[0]
    headings = {first.time_column, first.clock_column or first.time_column}
    guesses = one_guess_each(looks, [_guesses(look.raw, look.times, headings, file_words) for look in looks])
    return [
        "[[log]]",
        *_span_lines(looks),
        *(left or []),
        f"file = {toml_value(name)}",
        *one_head(looks),
        f"time_column = {toml_value(first.time_column)}",
        *([f"clock_column = {toml_value(first.clock_column)}"] if first.clock_column else []),
        *_device_lines(looks),
        *form_lines,
        *one_zone(looks, [_zone_of(look, zone) for look in looks]),
        *_stamp_lines(_all_times(looks), guesses),
        "",
        *_column_lines(guesses),
    ]


def _all_times(looks: list[Look]) -> Times:
    return replace(looks[0].times, clock_ns=np.concatenate([look.times.clock_ns for look in looks]))


def table_of(raw_bytes: bytes, head: list[str]) -> tuple[RawTable, str, str | None] | None:
    """Cells of a file, the heading of its times, and that of the times of day where those stand apart; None without.

    `head` takes lines for the block, or the reason last where there is no table.
    """
    return _sheet_table(raw_bytes, head) if is_workbook(raw_bytes) else _text_table(raw_bytes, head)


def safe(text: str) -> str:
    """Text of a file as it may stand inside quotes or behind a remark."""
    return shown(text)[1:-1] if text else ""


def remark(text: str) -> str:
    """A line of TOML that only people read."""
    return "# " + "".join(letter if letter.isprintable() else "?" for letter in text)


def _text_table(raw_bytes: bytes, head: list[str]) -> tuple[RawTable, str, str | None] | None:
    gather = Gather()
    text = decode_log(raw_bytes, None, "the file", "log", gather)
    if text is None:
        head.append(str(gather.problems[0].found) + ".")
        return None
    lines = all_lines(text)
    layout = layout_by_shape(lines)
    if layout is None:
        return None
    columns = _time_columns(lines, layout)
    if columns is None:
        return None
    headings = [heading for heading in layout.headings if heading and layout.headings.count(heading) == 1]
    wanted = {columns[0]: "", **{heading: "" for heading in [columns[1], *headings][:MOST_COLUMNS] if heading}}
    raw = read_raw_table(text, wanted, layout.delimiter, "the file", "log", gather)
    if raw is None or not len(raw.lines):
        head.append(str(gather.problems[0].found) + "." if gather.problems else "there are no rows below the headings.")
        return None
    head += [f"# encoding: {finding.data['new']}" for finding in gather.findings if finding.code == "log.encoding"]
    if sum(_splits(lines[layout.place], delimiter) for delimiter in DELIMITERS) > 1 or layout.delimiter == FIXED_WIDTH:
        head.append(f"delimiter = {toml_value('tab' if layout.delimiter == chr(9) else layout.delimiter)}")
    return raw, columns[0], columns[1]


def _splits(line: str, delimiter: str) -> bool:
    return len(split_line(line, delimiter)) > 1


def _time_columns(lines: list[str], layout: Layout) -> tuple[str, str | None] | None:
    """Heading of the times, and of the times of day where they stand apart."""
    rows = [layout.split(line) for line in lines[layout.place + 1 : layout.place + 60] if line.strip()]
    return time_columns(layout.headings, rows)


def time_columns(headings: list[str], rows: list[list[str]]) -> tuple[str, str | None] | None:
    """Heading of the times, and of the times of day where those stand in the column beside; None if there are none."""

    def share(place: int, test: object) -> float:
        cells = [row[place].strip() for row in rows if place < len(row) and row[place].strip()]
        return sum(bool(test(cell)) for cell in cells) / max(len(rows), 1)  # type: ignore[operator]

    shares = [share(place, parts_of) for place in range(len(headings))]
    if not shares or max(shares) < 0.5:
        numbers = [place for place in range(len(headings)) if share(place, _is_count_of_time) > 0.8]
        return (headings[numbers[0]], None) if numbers and headings[numbers[0]] else None
    place = shares.index(max(shares))
    if not headings[place]:
        return None
    dates_alone = share(place, lambda cell: (parts := parts_of(cell)) is not None and not parts.has_clock) > 0.5
    for beside in (place + 1, place - 1):
        if dates_alone and 0 <= beside < len(headings) and share(beside, _is_clock) > 0.5:
            return headings[place], headings[beside]
    return headings[place], None


def _is_clock(cell: str) -> bool:
    return re.fullmatch(r"\d{1,2}[:.]\d{2}(?:[:.]\d{2})?(?:\s?[AaPp][Mm])?", cell) is not None


def _is_count_of_time(cell: str) -> bool:
    return re.fullmatch(r"[23456]\d{4}[.,]\d{2,}|1[0-9]{9}|1[0-9]{12}|20\d{10}|20\d{12}", cell) is not None


def _sheet_table(raw_bytes: bytes, head: list[str]) -> tuple[RawTable, str, str | None] | None:
    if raw_bytes[:4] == OLD_MARK:
        head.append("a workbook of the old form, or one locked with a password; save it as XLSX or CSV.")
        return None
    sheets = sheet_names(raw_bytes)
    for sheet in sheets:
        rows = [[text_of(cell) for cell in row] for row in sheet_rows(raw_bytes, sheet, 60)]
        for place, single in enumerate(rows[:-1]):
            row = joined_headings(rows, place) or single
            found = time_columns(row, rows[place + 1 :])
            headings = [cell for cell in row if cell]
            if found is None or len(headings) < 2 or parts_of(found[0]) is not None:
                continue
            wanted = {found[0]: "", **{heading: "" for heading in [found[1], *headings][:MOST_COLUMNS] if heading}}
            wanted = {heading: "" for heading in wanted if row.count(heading) == 1}
            gather = Gather()
            raw = read_sheet(raw_bytes, sheet, wanted, "the file", "log", gather)
            if raw is None:
                head.append(gather.problems[0].found + "." if gather.problems else "it cannot be read.")
                return None
            head += [f"sheet = {toml_value(sheet)}"] if len(sheets) > 1 else []
            return raw, found[0], found[1]
    return None


def _device_lines(looks: list[Look]) -> list[str]:
    """The question which device, where a column names several."""
    for heading in looks[0].devices:
        found: dict[str, int] = {}
        for look in looks:
            for name, count in look.devices[heading].items():
                found[name] = found.get(name, 0) + count
        if len(found) > 1:
            told = some_of([f"{toml_value(name)} ({count_of(count, 'row')})" for name, count in found.items()])
            return [
                remark(f"column {toml_value(heading)} names {len(found)} devices: {told}. A block for each of use:"),
                f"device_column = {toml_value(heading)}",
                f"device = {toml_value(next(iter(found)))}  # or another; \"all\" if one took the other's place",
            ]
    return []


# --- times -------------------------------------------------------------------------------------------------------


def times_of(texts: np.ndarray) -> Times:
    """Times in their likeliest form, and lines that say or ask for it."""
    sample = texts[:200]
    if sum(_is_count_of_time(text) for text in sample) > 0.5 * len(sample):
        stamps = number_stamps(texts, "", Gather())
        if stamps is not None:
            return Times(stamps.clock_ns, stamps.in_utc, stamps.form, (f"# times: {stamps.form}",))
    example = common_example(texts)
    if example is None:
        return Times(np.full(len(texts), NAT), False, "")
    readings = readings_in_order(texts, example)
    forms = [codes_of(example, reading.order) or "" for reading in readings]
    parts = parts_of(example)
    apart = cut_apart(texts, example)
    first = readings[0]
    in_utc = bool(set(apart.zones(first.clock_ns != NAT)) - {""})
    if len(readings) > 1:
        lines = [
            "# Day or month first? Dates such as " + safe(example) + " can be read either way. Keep one of:",
            *(f"# time_format = {toml_value(form)}" for form in forms),
        ]
    elif parts is not None and len(orders_of(parts)) > 1:
        lines = [f"time_format = {toml_value(forms[0])}  # the only reading that all rows allow"]
    else:
        lines = [f"# times such as {safe(example)}"]
    several = {form: reading.clock_ns for form, reading in zip(forms, readings, strict=True)}
    return Times(first.clock_ns, in_utc, forms[0], tuple(lines), several if len(several) > 1 else None)


def _span_lines(looks: list[Look]) -> list[str]:
    """Rows, interval, first and last time; order and clock of the hours as in the first file."""
    times = looks[0].times
    known = _all_times(looks).clock_ns
    known = known[known != NAT]
    if len(known) < 2:
        return [remark(f"{count_of(len(known), 'row')} with a time.")]
    own = times.clock_ns[times.clock_ns != NAT]
    every = "at no fixed interval"
    if len(own) > 1 and has_one_interval(np.unique(own)):
        every = f"mostly every {float(np.median(np.abs(np.diff(own)))) / 60e9:g} min"
    first, last = (
        str(np.datetime64(int(ns) // 10**9, "s")).replace("T", " ")[:16] for ns in (known.min(), known.max())
    )
    newest_first = len(own) > 1 and is_newest_first(own)
    files = f" in {count_of(len(looks), 'file')}" if len(looks) > 1 else ""
    lines = [
        remark(f"{count_of(len(known), 'row')}{files}, {every}, {first} to {last}"
               + (", newest first" if newest_first else ""))
    ]
    if not times.in_utc and "%p" not in times.form and is_half_day_clock(own[::-1] if newest_first else own):
        lines.append("# The hours look like those of a 12-hour clock without AM and PM: a 24-hour export is safer.")
    return lines


def _zone_of(look: Look, zone: str) -> ZoneGuess:
    """The clock of a file with the reason, or with the question."""
    times, raw = look.times, look.raw
    known = times.clock_ns[times.clock_ns != NAT]
    if times.in_utc:
        return ZoneGuess("UTC", "the times carry their own zone", True)
    odd = tuple(row.text for row in raw.odd)
    named = named_offsets_h((*raw.above, *odd, look.time_column), known) if len(known) else None
    if named is not None:
        return _named_zone(named, known, zone)
    fixed = fixed_zone(zone, year_of(int(np.median(known)))) if len(known) else zone
    if fixed == zone or len(known) < 2 or len(offsets_h(zone, known)) == 1:
        other = "" if fixed in (zone, "UTC") else f' if it stays on standard time, write "{fixed}";'
        return ZoneGuess(zone, f'the site\'s clock is assumed;{other} if it is UTC, "UTC"', False)
    return _zone_by_change(known, zone, fixed)


def _named_zone(named: tuple[str, set[float]], known: np.ndarray, zone: str) -> ZoneGuess:
    if named[1] == offsets_h(zone, known):
        return ZoneGuess(zone, f"the file names {safe(named[0])}", True)
    hours = named[1].pop() if len(named[1]) == 1 else None
    if hours is not None and hours == int(hours):
        name = f"Etc/GMT{-int(hours):+d}" if hours else "UTC"
        return ZoneGuess(name, f"the file names {safe(named[0])}", True)
    return ZoneGuess(zone, f"the file names {safe(named[0])}: write the IANA name of that clock", True)


def _zone_by_change(known: np.ndarray, zone: str, fixed: str) -> ZoneGuess:
    """A change of the clocks lies within the rows: does the file follow it?"""
    steps = zone_steps(zone, int(known.min()), int(known.max()))
    ordered = known[::-1] if is_newest_first(known) else known
    gone, twice = steps.unclear(ordered)
    if gone.any():
        return ZoneGuess(fixed, f"a changed clock never showed {clock_text(ordered[gone][0])}", True)
    if (np.diff(ordered[twice]) < 0).sum() == 1:
        return ZoneGuess(zone, f"the hour of {clock_text(ordered[twice][0])[:10]} stands there twice", True)
    if _runs_on(known, ordered[twice]):
        return ZoneGuess(fixed, "it ran on when clocks were changed; on summer time it would be an hour off", True)
    return ZoneGuess(
        zone, f'clocks were changed within these rows: did this one follow, or is it "{fixed}"?', False)


def _runs_on(known: np.ndarray, twice: np.ndarray) -> bool:
    """Whether rows at an interval go straight on through the hour that a changed clock would show twice."""
    steps = np.diff(np.sort(known))
    if not len(twice) or not has_one_interval(np.unique(known)):
        return False
    around = (np.sort(known)[1:] >= twice.min() - DAY_NS // 8) & (np.sort(known)[1:] <= twice.min() + DAY_NS // 8)
    return bool((np.abs(steps[around] - np.median(steps)) < 0.1 * np.median(steps)).all())


def _stamp_lines(times: Times, guesses: list[Guess]) -> list[str]:
    known = np.unique(times.clock_ns[times.clock_ns != NAT])
    if any(guess.kind == "tips" for guess in guesses) and not has_one_interval(known):
        return ['values = "instant"  # a row for every tip']
    if len(known) > 10 and not has_one_interval(known):
        return [
            'values = "last value holds"  # rows at no interval, as in a log of changes; "instant" if spot readings'
        ]
    return ['stamp = "end"  # or "start": does a time mark the end or the start of its interval?']


# --- columns -----------------------------------------------------------------------------------------------------


def _guesses(raw: RawTable, times: Times, time_headings: set[str], file_words: str) -> list[Guess]:
    """What each column probably is, from its cells in order of time."""
    clock_ns = times.clock_ns[: len(raw.lines)]
    rows = np.flatnonzero(clock_ns != NAT)
    rows = rows[np.argsort(clock_ns[rows], kind="stable")]
    first_line = int(raw.lines[rows].min()) if len(rows) else int(raw.lines.max()) + 1
    units = units_seen_in(raw, time_headings, first_line)
    headings = [heading for heading in raw.cells if heading not in time_headings]
    marks = {heading: marks_of(list(dict.fromkeys(raw.cells[heading][rows][:2000]))).certain for heading in headings}
    mark = "," if "," in marks.values() else "."
    seen = [
        seen_of(heading, units.get(heading), raw.cells[heading][rows], marks[heading] or mark) for heading in headings
    ]
    return guesses_of(seen, file_words)


def _column_lines(guesses: list[Guess]) -> list[str]:
    """The [log.columns] table: certain columns as entries, others as remarks with the question."""
    lines = ["[log.columns]"]
    for guess in guesses:
        entry = _entry_of(guess)
        why = "; ".join(guess.reasons)
        if guess.channel and guess.certain and guess.column.isprintable():
            lines.append(f"{entry}  # {_plain(why)}")
        elif guess.channel:
            lines.append(remark(f"{entry}  # {_plain(why)}; {_plain(guess.question) or 'is it that?'}"))
        else:
            lines.append(remark(f"column {toml_value(guess.column)}: no channel recognised{_because(why)}"))
    return lines


def _because(why: str) -> str:
    return f" ({_plain(why)})" if why else ""


def _plain(text: str) -> str:
    return "".join(letter if letter.isprintable() else "?" for letter in text)


def _entry_of(guess: Guess) -> str:
    parts = [f"column = {toml_value(guess.column)}", f"unit = {toml_value(guess.unit)}"]
    parts += [f"kind = {toml_value(guess.kind)}"] if guess.kind else []
    parts += (
        ["words = {" + ", ".join(f"{toml_value(word)} = {number:g}" for word, number in guess.words.items()) + "}"]
        if guess.words
        else []
    )
    return f"{guess.channel} = {{ {', '.join(parts)} }}"
