"""A channel of one log in its own unit, on the stretches of time that its readings speak of."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.log_files.rows import LogRows
from sprayroof.evidence.log_files.spans import Spans
from sprayroof.evidence.site_file.channel_table import ChannelMeaning

if TYPE_CHECKING:
    from sprayroof.evidence.site_file.logged import LogColumn


@dataclass(frozen=True, eq=False)
class Record:
    """A channel as one log has it.

    Parameters
    ----------
    name : str
        Channel as written in the site file.
    column : str
        Its column in `Logs.table`.
    meaning : ChannelMeaning
    declared : LogColumn
        How the site file describes it.
    entry : str
        "log.1.columns.spray_flow".
    rows : LogRows
        The log.
    kind : str
        What a number of the column is.
    spans : Spans, shape (m,)
    first, last : ndarray, shape (m,)
        Value at start and end of each span, in the channel's unit; rain in mm/h. The same array where it is constant.
    row_of : ndarray of int, shape (m,)
        Row of the log behind each span.
    slope : float
        Channel's units for one unit of the file (levels: on the mean of the table).
    convert : callable
        Readings of the file -> channel's unit (states and rates), without `add`.
    spread : ndarray of bool, shape (m,), or None
        Spans whose amount is known but not its time within them.
    events_ns, event_amounts : ndarray, shape (k,), or None
        Amounts at points of time (tips); the spans then only tell what is covered, with value 0.
    """

    name: str
    column: str
    meaning: ChannelMeaning
    declared: LogColumn
    entry: str
    rows: LogRows
    kind: str
    spans: Spans
    first: np.ndarray
    last: np.ndarray
    row_of: np.ndarray
    slope: float
    convert: Callable[[np.ndarray], np.ndarray]
    spread: np.ndarray | None = None
    events_ns: np.ndarray | None = None
    event_amounts: np.ndarray | None = None
    events: list = field(default_factory=list)

    @property
    def is_amount(self) -> bool:
        """Whether the table holds amounts per step (rain), not means."""
        return self.meaning.kind == "sum"

    @property
    def where(self) -> str:
        """File and column, for messages."""
        return f"{self.rows.where}, column {self.declared.column}"

    def evidence(self, disposition: str, rows: np.ndarray, rule: str, **more: object) -> dict:
        """The `data` of a finding about some rows of the log."""
        return self.rows.evidence(disposition, self.declared.column, rows, rule, channel=self.column, **more)
