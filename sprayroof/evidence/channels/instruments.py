"""How far a logged channel may be off: what the site file states, else an ordinary instrument."""

from __future__ import annotations

import numpy as np

from sprayroof.evidence.channels.record import Record
from sprayroof.evidence.log_files.rows import resolution_of
from sprayroof.evidence.logs import Instrument


def instrument_of(record: Record) -> Instrument:
    """The instrument behind a record, before any test on site.

    Accuracy, resolution and `add` are stated in the unit of the column; a level's are carried to content by the mean
    rise of its table. A resolution that is not stated is the step in which the readings are written.
    """
    declared, meaning, slope = record.declared, record.meaning, abs(record.slope)
    is_rate_of_amounts = record.kind in ("sum", "counter", "tips")
    offset = meaning.offset if declared.accuracy is None else declared.accuracy * slope
    gain = meaning.gain if declared.gain_accuracy_frac is None else declared.gain_accuracy_frac
    resolution = declared.resolution * slope
    if not resolution and not is_rate_of_amounts and record.kind != "status":
        resolution = resolution_of(record.rows.values[record.name]) * slope
    return Instrument(
        offset=offset, gain=gain, resolution=resolution,
        stated=declared.accuracy is not None or declared.gain_accuracy_frac is not None,
        added=0.0 if is_rate_of_amounts else declared.add * record.slope,
    )


def is_proportional(record: Record) -> bool:
    """Whether an instrument of this channel errs by a share of its reading (flows, meters), not by a constant."""
    return record.meaning.offset == 0.0 and record.meaning.gain > 0.0 and record.meaning.name != "level"


def usual_error(record: Record, value: float) -> float:
    """90 % half-width of an ordinary instrument of the channel at `value` [channel's unit]."""
    return float(np.hypot(record.meaning.offset, record.meaning.gain * value))
