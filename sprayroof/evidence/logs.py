"""What the loggers and meters say: channels on one regular UTC index, with their instruments and findings."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from sprayroof.results import Finding

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Instrument:
    """How far a channel may be off, all 90 % half-widths, drawn once per instrument (systematic).

    Parameters
    ----------
    offset : float
        Constant error [unit of the channel].
    gain : float
        Error as a share of the reading [1].
    resolution : float
        Step of the reading [unit of the channel]; 0 where it is fine.
    stated : bool
        Whether the site file or a test states it; else an ordinary instrument is assumed.
    added : float
        Known correction that was already added to the readings [unit of the channel]; its mean where it changes.
    multiplied : float
        Known factor that the readings were already multiplied by [1]; its mean where it changes.
    tied_to : str
        Column whose error this one shares: a pair test left only the difference to it uncertain, by `offset`. Draw the
        other column's errors, and add this one's own.
    """

    offset: float
    gain: float
    resolution: float = 0.0
    stated: bool = False
    added: float = 0.0
    multiplied: float = 1.0
    tied_to: str = ""


@dataclass(frozen=True)
class Logs:
    """Channels of all declared files on one regular index.

    Parameters
    ----------
    table : DataFrame, shape (n, channels)
        Index: tz-aware UTC, regular, interval starts. Columns as `channel_table.column_of` names them: interval means
        (rain: amount per interval). NaN where missing or masked.
    step_s : int
        Length of an interval [s]; divides 3600.
    known : dict of str to ndarray, shape (n,)
        Column -> share of the interval that the record covers before any filling, 0 to 1.
    masks : dict of str to dict of str to ndarray of bool, shape (n,)
        Column -> name of the mask ("gap", "range", "stuck", "spike", "clock", "wetted", "sprayed" (tips of the rain
        gauge), "diluted" (averaged over standing water), "filled", "note_spread" (amount known, its time not),
        "note_held" (level short of the water on the roof), ...) -> where it holds. Values under every mask but
        "filled" and "note..." are NaN in `table`, unless they were filled.
    instruments : dict of str to Instrument
        Column -> instrument.
    heights_m : dict of str to float
        Store temperature column -> height of the sensor above the store's floor, where stated.
    findings : list of Finding
        What was repaired, excluded or doubted; `data` holds disposition, rows, first, last, count, rule, old, new.
    inputs : list of dict
        file, sha256, rows, span, use.
    """

    table: pd.DataFrame
    step_s: int
    known: dict[str, np.ndarray] = field(default_factory=dict)
    masks: dict[str, dict[str, np.ndarray]] = field(default_factory=dict)
    instruments: dict[str, Instrument] = field(default_factory=dict)
    heights_m: dict[str, float] = field(default_factory=dict)
    findings: list[Finding] = field(default_factory=list)
    inputs: list[dict[str, Any]] = field(default_factory=list)

    def has(self, *columns: str) -> bool:
        """Whether all these channels were logged."""
        return all(column in self.table for column in columns)
