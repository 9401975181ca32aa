"""Where doubted readings stand in the files: from steps of the grid back to the rows that made them."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from sprayroof.evidence.channels.grid import LogGrid
from sprayroof.evidence.channels.record import Record
from sprayroof.evidence.gather import count_of
from sprayroof.evidence.steps import runs

PLACES_SHOWN = 3
PLACES_SOUGHT = 200  # stretches traced back to rows; a year of doubted nights has more than anybody reads
NEIGHBOURS = 5  # rows on either side that tell the odd row from good ones
ODD_SHARE = 0.5  # of the largest distance from the neighbours: rows this far off are odd too


@dataclass(frozen=True)
class Place:
    """Rows of a file.

    Parameters
    ----------
    file : str
    column : str
        Heading in the file.
    first_line, last_line : int
        Lines as a text editor or a spreadsheet counts them, the headings included.
    """

    file: str
    column: str
    first_line: int
    last_line: int

    @property
    def lines_text(self) -> str:
        """`line 12` or `lines 12 to 40`."""
        if self.first_line == self.last_line:
            return f"line {self.first_line}"
        return f"lines {self.first_line} to {self.last_line}"


@dataclass(frozen=True)
class Origins:
    """The records behind each channel of the grid; without any, nothing can be traced (tables made by hand)."""

    records: dict[str, list[Record]] = field(default_factory=dict)
    grid: LogGrid | None = None

    def where(self, column: str) -> str:
        """`logs/roof_*.csv, column T supply` for a channel, or for several with commas between; "" if unknown."""
        names = [record.where for channel in column.split(", ") for record in self.records.get(channel, [])]
        return "; ".join(dict.fromkeys(names))

    def places(self, column: str, where: np.ndarray) -> list[Place]:
        """The rows behind the steps of a channel at which `where` holds, a place for each stretch.

        Parameters
        ----------
        column : str
            Column of `Logs.table`.
        where : ndarray of bool, shape (n,)

        Returns
        -------
        list of Place
            In the order of time, of the first 200 stretches; a stretch that no row touches (a gap) has none.
        """
        found = [self._place(record, start, stop) for start, stop in runs(where)[:PLACES_SOUGHT]
                 for record in self.records.get(column, [])]
        return list(dict.fromkeys(place for place in found if place is not None))

    def _place(self, record: Record, start: int, stop: int) -> Place | None:
        step_ns = self.grid.step_s * 10**9
        begin_ns, end_ns = self.grid.start_ns + start * step_ns, self.grid.start_ns + stop * step_ns
        starts_ns, ends_ns = record.spans.starts_ns, record.spans.ends_ns
        low, high = int(np.searchsorted(ends_ns, begin_ns, "right")), int(np.searchsorted(starts_ns, end_ns, "left"))
        if low >= high:
            return None
        spans = np.arange(low, high)
        within = spans[(starts_ns[spans] >= begin_ns) & (ends_ns[spans] <= end_ns)]
        spans = within if len(within) else _odd_ones(record.first, low, high)
        rows = record.row_of[spans]
        lines, files = record.rows.lines[rows], record.rows.file_of[rows]
        same = files == files[0]  # a stretch that goes on in the next file is named by where it begins
        return Place(record.rows.files[int(files[0])], record.declared.column, int(lines[same].min()),
                     int(lines[same].max()))


def _odd_ones(values: np.ndarray, low: int, high: int) -> np.ndarray:
    """Of the spans from `low` to `high` those whose value is far from the ones around."""
    spans = np.arange(low, high)
    around = np.concatenate([values[max(low - NEIGHBOURS, 0):low], values[high:high + NEIGHBOURS]])
    around = around[np.isfinite(around)]
    if not len(around):
        return spans
    apart = np.nan_to_num(np.abs(values[low:high] - np.median(around)))
    return spans[apart >= ODD_SHARE * apart.max()]


def places_text(places: list[Place]) -> str:
    """`logs/roof_1.csv, column T supply, line 12, lines 40 to 43; ... and 2 places more`."""
    parts, last = [], None
    for place in places[:PLACES_SHOWN]:
        head = f"{place.file}, column {place.column}, "
        parts.append(f"{'' if head == last else head}{place.lines_text}")
        last = head
    more = len(places) - PLACES_SHOWN
    least = "at least " if len(places) >= PLACES_SOUGHT else ""
    return "; ".join(parts) + (f" and {least}{count_of(more, 'place')} more" if more > 0 else "")
