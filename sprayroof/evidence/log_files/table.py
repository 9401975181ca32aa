"""The rows of one log file, as `reading.read_log_file` gives them and `channels` take them."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np


@dataclass(frozen=True)
class LogTable:
    """Rows of one log file: times settled, numbers parsed, everything else as written.

    Parameters
    ----------
    where : str
        Shown name of the file.
    times_ns : ndarray of int64, shape (n,)
        UTC, nanoseconds since 1970, strictly rising: stamps as written, with zone, daylight saving and clock checks
        settled, rows sorted, exact doubles and rows of one time with different values dropped.
    values : dict of str to ndarray of float, shape (n,)
        Channel name -> numbers in the file's unit; NaN for empty cells, codes for missing, and words without number.
    lines : ndarray of int, shape (n,)
        Line of the file (row of the sheet) behind each row.
    headings : tuple of str
        All headings of the file, in order.
    units_seen : dict of str to str
        Heading -> unit that a row of units, or brackets in the heading, name.
    metadata : tuple of str
        Title and footer rows.
    blanks : dict of str to ndarray of bool, shape (n,)
        Channel name -> where the cell is plainly empty (and no code for a bad reading). In a log of changes an empty
        cell says "as before". A channel that is absent here has no such cells.
    devices : dict of str to str
        Heading that the site file does not use -> the one device that it names throughout.
    """

    where: str
    times_ns: np.ndarray
    values: dict[str, np.ndarray]
    lines: np.ndarray
    headings: tuple[str, ...] = ()
    units_seen: dict[str, str] = field(default_factory=dict)
    metadata: tuple[str, ...] = ()
    blanks: dict[str, np.ndarray] = field(default_factory=dict)
    devices: dict[str, str] = field(default_factory=dict)
