"""Text of a log to rows of cells: the delimiter or the fixed width, the heading row, and rows that are no records."""

from __future__ import annotations

import csv
import difflib
import io
import re
from dataclasses import dataclass, field

import numpy as np

from sprayroof.evidence.gather import Gather, some_of
from sprayroof.evidence.site_file.entries import shown
from sprayroof.evidence.tables import DELIMITERS, HEADER_WITHIN_ROWS, plain_heading, split_line

FIXED_WIDTH = "fixed width"
DELIMITER_NAMES = {"\t": "tab", "tab": "\t"}
SEPARATOR_LINE = re.compile(r'"?sep=(.)"?')
# Any date, spreadsheet day or count of seconds: enough to tell rows of data from headings
TIME_SHAPE = re.compile(
    r"\d{1,4}[-/.]\d{1,2}[-/.]\d{2,4}.*|\d{1,2}[- ][A-Za-z]{3}[- ]\d{2,4}.*|[23456]\d{4}[.,]\d{2,}"
    r"|1\d{9}|1\d{12}|20\d{6}(?:\d{4,6})?"
)
SAMPLE_ROWS = 200
FEW_ABSENT = 3  # headings that a file lacks are told one by one; if it has none of more, it is another file
FIXED_SAMPLE = 3000  # rows that tell where fixed columns lie
TRIMMED_SHARE = 0.2  # of the rows: so many short ones had their empty cells trimmed and are not cut off
LONGEST_ODD = 100  # characters kept of a row that is no record


@dataclass(frozen=True)
class OddRow:
    """A row below the heading row that has not the cells of a record: its line, its text, and what is odd."""

    line: int
    text: str
    what: str  # "short" or "long"


@dataclass(frozen=True)
class RawTable:
    """Cells of the wanted columns, as written.

    Parameters
    ----------
    headings : tuple of str
        The heading row.
    heading_line : int
        Its line.
    cells : dict of str to ndarray of object, shape (n,)
        Heading as asked for -> texts without blanks around them.
    lines : ndarray of int, shape (n,)
        Line of each row.
    above : tuple of str
        Rows above the heading row, without empty ones.
    odd : tuple of OddRow
        Rows below it that are no records.
    delimiter : str
        One letter, "fixed width", or "" for a sheet.
    file_rows : int
        Rows of the file, all told.
    all_cells : dict of int to list of str
        Line -> all cells of the first rows below the heading row and of the row above it, where units may stand.
    merged : int
        Cells of the wanted columns that a merged cell of the sheet fills.
    """

    headings: tuple[str, ...]
    heading_line: int
    cells: dict[str, np.ndarray]
    lines: np.ndarray
    above: tuple[str, ...] = ()
    odd: tuple[OddRow, ...] = ()
    delimiter: str = ""
    file_rows: int = 0
    all_cells: dict[int, list[str]] = field(default_factory=dict)
    merged: int = 0


@dataclass(frozen=True)
class Layout:
    """One way to read the text: delimiter, place of the heading row, headings, and edges of fixed columns."""

    delimiter: str
    place: int
    headings: list[str]
    edges: tuple[tuple[int, int], ...] = ()

    def split(self, line: str) -> list[str]:
        """The cells of a line."""
        if self.edges:
            return joined_columns(self.edges, line)
        return split_line(line, self.delimiter)


def all_lines(text: str) -> list[str]:
    """Lines as an editor numbers them; an end-of-file mark of old systems and a last empty line are left out."""
    lines = text.lstrip("\ufeff").replace("\r\n", "\n").replace("\r", "\n").rstrip("\x1a").split("\n")
    while lines and not lines[-1].strip():
        lines.pop()
    return lines


def read_raw_table(
    text: str, wanted: dict[str, str], declared: str | None, where: str, entry: str, gather: Gather
) -> RawTable | None:
    """The cells of the wanted columns; None after a problem.

    Parameters
    ----------
    text : str
        The whole file.
    wanted : dict of str to str
        Heading -> entry of the site file that names it; the first is that of the times.
    declared : str or None
        Delimiter as the site file states it, "tab" and "fixed width" included.
    where : str
        Shown name of the file.
    entry : str
        "log.2".
    gather : Gather
        Receives problems.
    """
    lines = all_lines(text)
    layout = layout_of(lines, wanted, declared, where, entry, gather)
    if layout is None or not headings_are_single(layout.headings, wanted, where, layout.place + 1, gather):
        return None
    places = places_of(layout.headings, wanted)
    if layout.edges:
        return _fixed_rows(lines, layout, places)
    if any('"' in line for line in lines[layout.place + 1 :]):
        return _quoted_rows(lines, layout, places, where, gather)
    return _plain_rows(lines, layout, places, where, gather)


def places_of(headings: list[str], wanted: dict[str, str] | list[str]) -> dict[str, int]:
    """Wanted heading -> number of its column."""
    plain = [plain_heading(cell) for cell in headings]
    return {heading: plain.index(plain_heading(heading)) for heading in wanted}


# --- layout ------------------------------------------------------------------------------------------------------


def layout_of(
    lines: list[str], wanted: dict[str, str], declared: str | None, where: str, entry: str, gather: Gather
) -> Layout | None:
    """The one way of reading in which all wanted headings stand in a row with times below; a problem if none or two."""
    candidates = _candidates(lines, declared)
    found = [layout for delimiter in candidates if (layout := _layout_with(lines, delimiter, wanted)) is not None]
    if not found and declared is None:
        found = [layout for layout in (_fixed_layout(lines, wanted),) if layout is not None]
    fitting = [layout for layout in found if _times_follow(lines, layout, wanted)] or found[:1]
    if not fitting:
        if declared is None or not _tell_other_delimiter(lines, candidates[0], wanted, where, entry, gather):
            tell_no_heading(lines, candidates, wanted, where, gather)
        return None
    if len(fitting) > 1:
        names = [shown(DELIMITER_NAMES.get(layout.delimiter, layout.delimiter)) for layout in fitting]
        gather.problem(
            where,
            f"the cells can be parted by {' or by '.join(names)}",
            "one delimiter",
            f"add {' or '.join(f'delimiter = {name}' for name in names)} to {entry}",
        )
        return None
    return fitting[0]


def layout_by_shape(lines: list[str]) -> Layout | None:
    """A way of reading for text whose headings nobody names: times in one column, and words above them."""
    best: tuple[float, Layout] | None = None
    for delimiter in _candidates(lines, None):
        rows = [split_line(line, delimiter) for line in lines[: HEADER_WITHIN_ROWS + SAMPLE_ROWS]]
        place = _place_above_times(rows)
        if place is not None:
            width = len(rows[place])
            fitting = [row for row in rows[place + 1 :] if row and "".join(row).strip()]
            score = sum(len(row) == width for row in fitting) / max(len(fitting), 1) * min(width, 30)
            if best is None or score > best[0]:
                best = (score, Layout(delimiter, place, [cell.strip() for cell in rows[place]]))
    if best is not None:
        return best[1]
    return _fixed_by_shape(lines)


def _place_above_times(rows: list[list[str]]) -> int | None:
    """The heading row: the fullest row of words in the six above the first row with a time; None if there is none."""
    first = next((place for place, row in enumerate(rows) if len(row) > 1 and _has_time(row)), None)
    if not first:
        return None
    width = len(rows[first])
    above = [
        place for place in range(max(0, first - 6), first) if len(rows[place]) > 1 and not _has_number(rows[place])
    ]
    full = [place for place in above if sum(bool(cell.strip()) for cell in rows[place]) >= 0.6 * width]
    return full[0] if full else None


def _has_time(row: list[str]) -> bool:
    return any(TIME_SHAPE.fullmatch(cell.strip()) for cell in row)


def _has_number(row: list[str]) -> bool:
    return any(re.fullmatch(r"\s*[+-]?\d+(?:[.,]\d+)?\s*", cell) for cell in row)


def _fixed_by_shape(lines: list[str]) -> Layout | None:
    first = next(
        (
            place
            for place, line in enumerate(lines[:HEADER_WITHIN_ROWS])
            if len(words := line.split()) > 2 and _has_time(words[:2])
        ),
        None,
    )
    above = [place for place in range(first or 0) if len(lines[place].split()) > 1]
    if not above:
        return None
    for place in reversed(above[-3:]):
        layout = _fixed_layout(lines[place:], {lines[place].split()[0]: ""})
        if layout is not None and len(layout.headings) > 1:
            return Layout(layout.delimiter, place + layout.place, layout.headings, layout.edges)
    return None


def _candidates(lines: list[str], declared: str | None) -> tuple[str, ...]:
    if declared is not None:
        return (DELIMITER_NAMES.get(declared, declared),)
    stated = SEPARATOR_LINE.fullmatch(lines[0].strip(" \r\n")) if lines else None
    return (stated[1],) if stated else DELIMITERS


def _layout_with(lines: list[str], delimiter: str, wanted: dict[str, str]) -> Layout | None:
    if delimiter == FIXED_WIDTH:
        return _fixed_layout(lines, wanted)
    if len(delimiter) != 1:
        return None
    asked = {plain_heading(heading) for heading in wanted}
    for place, line in enumerate(lines[:HEADER_WITHIN_ROWS]):
        cells = split_line(line, delimiter)
        if asked <= {plain_heading(cell) for cell in cells}:
            return Layout(delimiter, place, [cell.strip() for cell in cells])
    return None


def _times_follow(lines: list[str], layout: Layout, wanted: dict[str, str]) -> bool:
    """Whether most rows below the heading row have a digit where the times should stand."""
    place = next(iter(places_of(layout.headings, wanted).values()))
    rows = [layout.split(line) for line in lines[layout.place + 1 : layout.place + 1 + SAMPLE_ROWS] if line.strip()]
    good = sum(len(row) > place and any(letter.isdigit() for letter in row[place]) for row in rows)
    return bool(rows) and good >= 0.5 * len(rows)


@dataclass(frozen=True)
class Likeliest:
    """The row that holds most of the wanted headings: how many, its cells and its line."""

    count: int
    cells: list[str]
    line: int


def _likeliest(lines: list[str], candidates: tuple[str, ...], wanted: dict[str, str]) -> Likeliest:
    asked = {plain_heading(heading) for heading in wanted}
    best, most = Likeliest(0, [], 0), (-1, 0)
    for delimiter in candidates:
        for place, line in enumerate(lines[:HEADER_WITHIN_ROWS]):
            cells = [cell.strip() for cell in (split_line(line, delimiter) if len(delimiter) == 1 else line.split())]
            count = (len(asked & {plain_heading(cell) for cell in cells}), len(cells))
            if count > most:
                best, most = Likeliest(count[0], [cell for cell in cells if cell], place + 1), count
    return best


def _tell_other_delimiter(
    lines: list[str], stated: str, wanted: dict[str, str], where: str, entry: str, gather: Gather
) -> bool:
    """Whether more of the headings stand in a row if another delimiter than the stated one parts it; one problem."""
    found = {delimiter: _likeliest(lines, (delimiter,), wanted) for delimiter in DELIMITERS if delimiter != stated}
    best = max(found, key=lambda delimiter: found[delimiter].count)
    most = found[best]
    if most.count < 2 or most.count <= _likeliest(lines, (stated,), wanted).count:
        return False
    name, other = (shown("tab" if letter == "\t" else letter) for letter in (stated, best))
    gather.problem(
        f"site file, {entry}.delimiter",
        f"{name}, but line {most.line} of {where} holds {most.count} of the {len(wanted)} declared headings where "
        f"{other} parts its cells",
        "the delimiter of the file",
        f"write delimiter = {other} at {entry}, or take the entry out",
    )
    return True


def tell_no_heading(
    lines: list[str], candidates: tuple[str, ...], wanted: dict[str, str], where: str, gather: Gather
) -> None:
    """A problem for each heading that the likeliest row lacks, with the nearest that it has; one if it has none."""
    best = _likeliest(lines, candidates, wanted)
    if best.count == 0 and _has_time(best.cells):
        gather.problem(
            where,
            f"no heading row: none of the {len(wanted)} declared headings stands in the first {HEADER_WITHIN_ROWS} "
            f"rows, and line {best.line} holds {_cells_shown(best.cells)}",
            "every declared column in one heading row above the times",
            "write the headings above the first row of a copy of the file, or export it again with headings",
        )
        return
    held = {plain_heading(cell) for cell in best.cells}
    absent = {heading: entry for heading, entry in wanted.items() if plain_heading(heading) not in held}
    far = [heading for heading in absent if nearest_heading(heading, best.cells) is None]
    if best.count == 0 and len(far) == len(absent) > FEW_ABSENT:
        gather.problem(
            where,
            f"none of the {len(wanted)} declared headings ({some_of([shown(name) for name in far], FEW_ABSENT)}) in "
            f"the first {HEADER_WITHIN_ROWS} rows; line {best.line} holds {_cells_shown(best.cells)}",
            "every declared column in one heading row",
            f"name the right file at {next(iter(wanted.values())).rpartition('.')[0]}.file, or correct its columns",
        )
        return
    for heading, entry in absent.items():
        tell_absent(heading, entry, best.cells, f"line {best.line}", where, gather)


def _cells_shown(cells: list[str]) -> str:
    return some_of([shown(cell) for cell in cells], 12) or "nothing"


def tell_absent(heading: str, entry: str, cells: list[str], row: str, where: str, gather: Gather) -> None:
    """The problem of one heading that `row` does not have."""
    close = nearest_heading(heading, cells)
    gather.problem(
        where,
        f"no column {shown(heading)} in the first {HEADER_WITHIN_ROWS} rows; {row} holds {_cells_shown(cells)}",
        "every declared column in one heading row",
        f"write {shown(close)} at {entry} if that is meant" if close else f"correct {entry}",
    )


def nearest_heading(heading: str, cells: list[str]) -> str | None:
    """The heading that `heading` most resembles: the same with a unit behind it, or a like spelling."""
    plain = {plain_heading(cell): cell for cell in cells if cell.strip()}
    asked = plain_heading(heading)
    longer = [name for name in plain if re.match(re.escape(asked) + r"[\s(\[,_]", name)]
    shorter = [name for name in plain if re.match(re.escape(name) + r"[\s(\[,_]", asked)]
    close = longer or shorter or difflib.get_close_matches(asked, plain, n=1, cutoff=0.6)
    return plain[close[0]] if close else None


def headings_are_single(headings: list[str], wanted: dict[str, str], where: str, line: int, gather: Gather) -> bool:
    """Whether no wanted heading stands twice in the row; a problem for each that does."""
    plain = [plain_heading(cell) for cell in headings]
    twice = {plain_heading(heading): heading for heading in wanted if plain.count(plain_heading(heading)) > 1}
    for name, heading in twice.items():
        gather.problem(
            f"{where}, line {line}",
            f"column {shown(heading)} stands there {plain.count(name)} times",
            "each declared heading once",
            "rename one of them in a copy of the file",
        )
    return not twice


# --- rows of delimited text --------------------------------------------------------------------------------------


def _plain_rows(
    lines: list[str], layout: Layout, places: dict[str, int], where: str, gather: Gather
) -> RawTable | None:
    """Rows of text without quotes, by the fast reader of pandas."""
    import pandas as pd

    delimiter, first = layout.delimiter, layout.place + 1
    below = lines[first:]
    counts = np.array([line.count(delimiter) + 1 for line in below], dtype=np.int64)
    is_blank = np.array([not line.strip() or line.lstrip()[0] == "#" for line in below], dtype=bool)
    width = len(layout.headings)
    long = np.flatnonzero((counts > width) & ~is_blank)
    long = [row for row in long if "".join(below[row].split(delimiter)[width:]).strip()]
    good, odd = _parted(counts, is_blank, np.array(long, dtype=int), places)
    if not _long_are_few(long, len(good), width, delimiter, first, where, gather):
        return None
    widest = int(counts[good].max()) if len(good) else width
    kept = below if len(good) == len(below) else [below[row] for row in good.tolist()]
    # a first row of full width, as the reader refuses columns that no row reaches
    full = delimiter * (max(widest, width) - 1)
    frame = pd.read_csv(
        io.StringIO("\n".join([full, *kept]) + "\n"),
        sep=delimiter,
        header=None,
        names=list(range(max(widest, width))),
        usecols=sorted(set(places.values())),
        dtype=object,
        na_filter=False,
        quoting=csv.QUOTE_NONE,
        skip_blank_lines=False,
        index_col=False,
    )[1:]
    cells = {heading: stripped(frame[place].to_numpy(dtype=object)) for heading, place in places.items()}
    rows = tuple(OddRow(first + 1 + row, below[row][:LONGEST_ODD], what) for row, what in odd)
    return RawTable(
        tuple(layout.headings),
        layout.place + 1,
        cells,
        good + first + 1,
        _above(lines, layout),
        rows,
        delimiter,
        len(lines),
        _near_heading(lines, layout),
    )


def _quoted_rows(
    lines: list[str], layout: Layout, places: dict[str, int], where: str, gather: Gather
) -> RawTable | None:
    """Rows of text in which cells are quoted, by the csv reader: a cell may then hold the delimiter."""
    first, width = layout.place + 1, len(layout.headings)
    rows, numbers = [], []
    reader = csv.reader(lines[first:], delimiter=layout.delimiter)
    try:
        for row in reader:
            rows.append(row)
            numbers.append(first + reader.line_num)
    except csv.Error as error:
        gather.problem(
            f"{where}, line {first + reader.line_num}",
            f"not delimited text ({error})",
            "one record a line",
            "export the file again",
        )
        return None
    counts = np.array([len(row) for row in rows], dtype=np.int64)
    is_blank = np.array([not "".join(row).strip() or row[0].lstrip().startswith("#") for row in rows], dtype=bool)
    long = [at for at, row in enumerate(rows) if len(row) > width and "".join(row[width:]).strip() and not is_blank[at]]
    good, odd = _parted(counts, is_blank, np.array(long, dtype=int), places)
    if not _long_are_few(long, len(good), width, layout.delimiter, first, where, gather):
        return None
    cells = {
        heading: np.array([rows[at][place].strip() if place < len(rows[at]) else "" for at in good], dtype=object)
        for heading, place in places.items()
    }
    told = tuple(OddRow(numbers[at], layout.delimiter.join(rows[at])[:LONGEST_ODD], what) for at, what in odd)
    lines_of_rows = np.array(numbers, dtype=np.int64)[good]
    return RawTable(
        tuple(layout.headings),
        layout.place + 1,
        cells,
        lines_of_rows,
        _above(lines, layout),
        told,
        layout.delimiter,
        len(lines),
        _near_heading(lines, layout),
    )


def _parted(
    counts: np.ndarray, is_blank: np.ndarray, long: np.ndarray, places: dict[str, int]
) -> tuple[np.ndarray, list[tuple[int, str]]]:
    """Rows that are records, and the others with what is odd about them."""
    least = max(places.values()) + 1
    is_long = np.zeros(len(counts), dtype=bool)
    is_long[long] = True
    is_short = (counts < least) & ~is_blank
    full = int((~is_short & ~is_blank).sum())
    has_time = counts > next(iter(places.values()))
    if (is_short & has_time & (counts > 1)).sum() > TRIMMED_SHARE * max(full, 1):
        is_short &= ~(has_time & (counts > 1))
    good = np.flatnonzero(~is_blank & ~is_long & ~is_short)
    odd = [(int(row), "long" if is_long[row] else "short") for row in np.flatnonzero(is_long | is_short)]
    return good, odd


def _long_are_few(
    long: list[int], good: int, width: int, delimiter: str, first: int, where: str, gather: Gather
) -> bool:
    if len(long) <= max(2, 0.05 * good):
        return True
    advice = (
        "if the comma is both delimiter and decimal mark, export again with ; between cells"
        if delimiter == ","
        else "export the file again"
    )
    gather.problem(
        where,
        f"more cells than the {width} headings: {some_of([f'line {first + 1 + row}' for row in long])}",
        f"at most {width} cells a row",
        advice,
    )
    return False


def stripped(cells: np.ndarray) -> np.ndarray:
    """Texts without blanks around them; the array itself where there are none."""
    import pandas as pd

    codes, uniques = pd.factorize(cells)
    bare = [text.strip() for text in uniques]
    if all(one == other for one, other in zip(bare, uniques, strict=True)):
        return cells
    return np.array([*bare, ""], dtype=object)[codes]


def _above(lines: list[str], layout: Layout) -> tuple[str, ...]:
    return tuple(
        line.strip()[:LONGEST_ODD]
        for place, line in enumerate(lines[: layout.place])
        if line.strip(" ;,\t|") and not (place == 0 and SEPARATOR_LINE.fullmatch(line.strip()))
    )


def _near_heading(lines: list[str], layout: Layout) -> dict[int, list[str]]:
    places = [*range(layout.place - 1, layout.place), *range(layout.place + 1, min(layout.place + 6, len(lines)))]
    return {place + 1: [cell.strip() for cell in layout.split(lines[place])] for place in places if place >= 0}


# --- fixed width -------------------------------------------------------------------------------------------------


def _fixed_layout(lines: list[str], wanted: dict[str, str]) -> Layout | None:
    """Columns parted by blanks that run down through all rows; columns without heading belong to the one before."""
    asked = [plain_heading(heading) for heading in wanted]
    for place, line in enumerate(lines[:HEADER_WITHIN_ROWS]):
        if not all(heading in plain_heading(line.expandtabs()) for heading in asked):
            continue
        below = lines[place + 1 :]
        sample = below[:: max(1, len(below) // FIXED_SAMPLE)]
        rows = [row.expandtabs() for row in sample if any(map(str.isdigit, row))]
        edges = _edges([line.expandtabs(), *rows])
        if len(edges) < 2 or not rows:
            continue
        headings = [line.expandtabs()[start:end].strip() for start, end in edges]
        merged = _named_edges(edges, headings)
        names = [line.expandtabs()[start:end].strip() for start, end in merged]
        if set(asked) <= {plain_heading(name) for name in names}:
            return Layout(FIXED_WIDTH, place, names, merged)
    return None


def _edges(rows: list[str]) -> list[tuple[int, int]]:
    width = max(map(len, rows))
    letters = np.array([list(row.ljust(width)) for row in rows])
    filled = np.concatenate(([False], (letters != " ").any(axis=0), [False]))
    starts, ends = np.flatnonzero(np.diff(filled.astype(int)) == 1), np.flatnonzero(np.diff(filled.astype(int)) == -1)
    return list(zip(starts.tolist(), ends.tolist(), strict=True))


def _named_edges(edges: list[tuple[int, int]], headings: list[str]) -> tuple[tuple[int, int], ...]:
    merged: list[tuple[int, int]] = []
    for (start, end), heading in zip(edges, headings, strict=True):
        if heading or not merged:
            merged.append((start, end))
        else:
            merged[-1] = (merged[-1][0], end)
    return tuple(merged)


def joined_columns(edges: tuple[tuple[int, int], ...], line: str) -> list[str]:
    """The cells of a line of fixed width: from the end of the column before, as numbers grow to the left."""
    text = line.expandtabs()
    starts = [0, *(end for _, end in edges[:-1])]
    ends = [*(end for _, end in edges[:-1]), None]
    return [text[start:end].strip() for start, end in zip(starts, ends, strict=True)]


def _fixed_rows(lines: list[str], layout: Layout, places: dict[str, int]) -> RawTable:
    first = layout.place + 1
    numbers = [at for at, line in enumerate(lines[first:], start=first) if line.strip() and line.lstrip()[0] != "#"]
    rows = [layout.split(lines[at]) for at in numbers]
    cells = {heading: np.array([row[place] for row in rows], dtype=object) for heading, place in places.items()}
    return RawTable(
        tuple(layout.headings),
        layout.place + 1,
        cells,
        np.array(numbers, dtype=np.int64) + 1,
        _above(lines, layout),
        (),
        FIXED_WIDTH,
        len(lines),
        _near_heading(lines, layout),
    )
