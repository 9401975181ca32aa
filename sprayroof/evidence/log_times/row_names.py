"""How rows of a log are named in messages, and the data of a finding about some of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np


def time_text(time_ns: int) -> str:
    """A time in UTC, to the minute, or to the second where it has one."""
    text = str(np.datetime64(int(time_ns) // 10**9, "s")).replace("T", " ")
    return f"{text.removesuffix(':00') if text.endswith(':00') else text} UTC"


@dataclass(frozen=True, eq=False)
class RowNames:
    """Rows of a file: where each stands and what time it is.

    Parameters
    ----------
    file : str
        Shown name.
    lines : ndarray of int, shape (n,)
    times_ns : ndarray of int64, shape (n,), or None
        UTC; None where the zone is not settled yet.
    """

    file: str
    lines: np.ndarray
    times_ns: np.ndarray | None = None

    def of(self, row: int) -> str:
        """`line 12, 2026-06-01 00:10 UTC`."""
        line = f"line {int(self.lines[row])}"
        return line if self.times_ns is None else f"{line}, {time_text(int(self.times_ns[row]))}"

    def evidence(self, disposition: str, rows: np.ndarray, rule: str, column: str = "", **more: Any) -> dict[str, Any]:
        """The `data` of a finding about some rows (numbers of them, in order)."""
        data: dict[str, Any] = {"disposition": disposition, "file": self.file, "column": column, "rows": len(rows)}
        if len(rows):
            data |= {"first": self.of(int(rows[0])), "last": self.of(int(rows[-1]))}
        return {**data, "rule": rule, **more}
