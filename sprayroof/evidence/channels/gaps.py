"""Missing rows and short gaps: what is missing is marked and told, what may be bridged is bridged, the rest stays out.

Water temperatures are bridged over 30 minutes, weather and rooms over 6 hours (`ChannelMeaning.fill_min`); flows, rain,
draw, level, electricity and statuses never.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.channels.change_of_value import silences
from sprayroof.evidence.gather import Gather, count_of
from sprayroof.evidence.log_files.rows import LogRows
from sprayroof.evidence.log_times.row_names import time_text
from sprayroof.evidence.site_file.channel_table import ChannelMeaning
from sprayroof.evidence.steps import runs

if TYPE_CHECKING:
    import pandas as pd

MANY, WEAK, USELESS = 0.05, 0.20, 0.50  # shares of a channel's values that were filled
HOUR_NS = 3600 * 10**9
MAY_FILL = ("gap", "spike", "range")  # masks under which a short gap may be bridged


def tell_missing_rows(rows: LogRows, zone: str, gather: Gather) -> None:
    """A finding for rows that are missing from a log with an interval, or for long silences of a log of changes."""
    if not len(rows.times_ns) or all(_kind(rows, name) == "last value holds" for name in rows.log.columns):
        _tell_silences(rows, gather)
        return
    if not rows.is_regular:
        return
    gaps_ns, usual_ns = np.diff(rows.times_ns), rows.intervals_ns[1:]
    after = np.flatnonzero(gaps_ns > 1.5 * usual_ns)
    if not len(after):
        return
    missing = int(np.rint(gaps_ns[after] / usual_ns[after] - 1.0).sum())
    longest = int(after[gaps_ns[after].argmax()])
    days, nights = _days_without_rows(rows, after, zone), _nights_with_long_gaps(rows, after, zone)
    share = missing / (missing + len(rows.times_ns))
    whole = f", among them {count_of(len(days), 'whole day')} ({_some_days(days)})" if days else ""
    gather.finding(
        "channel.rows-missing",
        f"{count_of(missing, 'row')} of {rows.where} ({share:.1%}) {'is' if missing == 1 else 'are'} missing in "
        f"{count_of(len(after), 'gap')}, the longest of {_span_text(gaps_ns[longest])} after "
        f"{rows.row_text(longest)}{whole}.", rows.where,
        {"disposition": "exclude", "file": rows.where, "rows": missing, "first": rows.row_text(int(after[0])),
         "last": rows.row_text(int(after[-1])), "rule": "spacing above one and a half intervals", "days": days,
         "share": share},
        f"{count_of(nights, 'night')} {'has' if nights == 1 else 'have'} a gap of more than 60 minutes.")


def _kind(rows: LogRows, name: str) -> str:
    return rows.log.columns[name].kind or rows.log.values


def _span_text(span_ns: float) -> str:
    minutes = span_ns / HOUR_NS * 60.0
    return f"{minutes:.3g} min" if minutes < 120.0 else f"{minutes / 60.0:.3g} h"


def _some_days(days: list[str]) -> str:
    return ", ".join(days[:3]) + (f" and {len(days) - 3} more" if len(days) > 3 else "")


def _tell_silences(rows: LogRows, gather: Gather) -> None:
    if rows.log.hold_h is not None:
        return
    after = silences(rows.times_ns)
    if not len(after):
        return
    hours = np.diff(rows.times_ns)[after] / HOUR_NS
    longest = int(after[hours.argmax()])
    gather.finding(
        "channel.held-long",
        f"{rows.where} has no row for more than a day {count_of(len(after), 'time')}, longest {hours.max():.0f} h "
        f"after {rows.row_text(longest)}; the last values were held all that time.", rows.where,
        {"disposition": "warn", "file": rows.where, "rows": len(after), "first": rows.row_text(int(after[0])),
         "last": rows.row_text(int(after[-1])), "rule": "last value holds until the next row",
         "hours": float(hours.sum())},
        f"{hours.sum():.0f} h rest on values that may be old; add hold to {rows.entry} to end them.")


def _local_days(times_ns: np.ndarray, zone: str, shift_h: float = 0.0) -> np.ndarray:
    """Number of the local day, since 1970, of each time."""
    import pandas as pd

    local = pd.DatetimeIndex(times_ns.view("datetime64[ns]")).tz_localize("UTC").tz_convert(zone).tz_localize(None)
    local_ns = local.as_unit("ns").asi8
    return (local_ns + round(shift_h * HOUR_NS)) // (24 * HOUR_NS)


def _days_without_rows(rows: LogRows, after: np.ndarray, zone: str) -> list[str]:
    """Local days that lie wholly in a gap."""
    long = after[np.diff(rows.times_ns)[after] > 23 * HOUR_NS]
    first, last = (_local_days(rows.times_ns[at], zone) for at in (long, long + 1))
    return [str(np.datetime64(int(day), "D")) for low, high in zip(first, last, strict=True)
            for day in range(int(low) + 1, int(high))]


def _nights_with_long_gaps(rows: LogRows, after: np.ndarray, zone: str) -> int:
    """Nights, noon to noon, that a gap of more than an hour touches."""
    long = after[np.diff(rows.times_ns)[after] > HOUR_NS]
    if not len(long):
        return 0
    first, last = (_local_days(rows.times_ns[at], zone, -12.0) for at in (long, long + 1))
    return len({night for low, high in zip(first, last, strict=True) for night in range(int(low), int(high) + 1)})


def fill(table: pd.DataFrame, meanings: dict[str, ChannelMeaning], masks: dict[str, dict[str, np.ndarray]],
         step_s: int, gather: Gather) -> list[str]:
    """Bridge short gaps in `table`, mark them "filled", tell how much; names of channels left too thin to use.

    Parameters
    ----------
    table : DataFrame
        Changed in place.
    meanings : dict of str to ChannelMeaning
        Column -> its channel.
    masks : dict of str to dict of str to ndarray of bool
        Column -> masks; "filled" is added.
    step_s : int
        Step [s].
    gather : Gather
        Receives the findings.

    Returns
    -------
    list of str
        Columns of which more than half is filled.
    """
    shares: dict[str, float] = {}
    for column in list(table.columns):
        longest_s, values = 60.0 * meanings[column].fill_min, table[column].to_numpy(copy=True)
        if longest_s <= 0.0:
            continue
        filled = _bridged(values, longest_s / step_s, masks.get(column, {}))
        if not filled.any():
            continue
        known = np.flatnonzero(np.isfinite(values))
        values[filled] = np.interp(np.flatnonzero(filled), known, values[known])
        table[column] = values
        masks.setdefault(column, {})["filled"] = filled
        shares[column] = float(filled.sum() / (filled.sum() + len(known)))
    _tell_few([column for column, share in shares.items() if share <= MANY], masks, table, step_s, gather)
    for column, share in shares.items():
        if share > MANY:
            _tell_many(column, masks[column]["filled"], share, table, step_s, gather)
    return [column for column, share in shares.items() if share > USELESS]


def _bridged(values: np.ndarray, longest_steps: float, masks: dict[str, np.ndarray]) -> np.ndarray:
    """Where a missing value lies in a gap that may be bridged: short, between known values, no other cause."""
    missing, barred = np.isnan(values), np.zeros(len(values), dtype=bool)
    for name, mask in masks.items():
        if name not in MAY_FILL and not name.startswith("note"):
            barred |= mask
    filled = np.zeros(len(values), dtype=bool)
    for start, stop in runs(missing):
        inner = start > 0 and stop < len(values)
        if inner and stop - start <= longest_steps + 1e-9 and not barred[start:stop].any():
            filled[start:stop] = True
    return filled


def _ends(filled: np.ndarray, table: pd.DataFrame) -> dict[str, str]:
    places = np.flatnonzero(filled)
    return {end: time_text(table.index[place].value) for end, place in (("first", places[0]), ("last", places[-1]))}


def _tell_few(columns: list[str], masks: dict[str, dict[str, np.ndarray]], table: pd.DataFrame, step_s: int,
              gather: Gather) -> None:
    """One note for all channels with few and short gaps."""
    if not columns:
        return
    minutes = {column: float(masks[column]["filled"].sum()) * step_s / 60.0 for column in columns}
    ends = _ends(np.logical_or.reduce([masks[column]["filled"] for column in columns]), table)
    told = ", ".join(f"{column} {number:.0f} min" for column, number in minutes.items())
    gather.finding(
        "channel.filled", f"Short gaps were bridged by straight lines: {told}; first at {ends['first']}, last at "
        f"{ends['last']}.", ", ".join(columns),
        {"disposition": "repair", "column": ", ".join(columns), "rows": round(sum(minutes.values()) * 60.0 / step_s),
         **ends, "rule": "straight line over a short gap", "minutes": minutes},
        f"At most {MANY:.0%} of each of these channels is interpolated.")


def _tell_many(column: str, filled: np.ndarray, share: float, table: pd.DataFrame, step_s: int,
               gather: Gather) -> None:
    ends, minutes = _ends(filled, table), float(filled.sum()) * step_s / 60.0
    words = "; the channel is not used" if share > USELESS else "; its grade is lowered" if share > WEAK else ""
    gather.finding(
        "channel.left-out" if share > USELESS else "channel.filled-weak" if share > WEAK else "channel.filled-much",
        f"{minutes:.0f} min of {column} ({share:.1%} of its values) in gaps were bridged by straight lines, "
        f"first at {ends['first']}, last at {ends['last']}{words}.", column,
        {"disposition": "exclude" if share > USELESS else "repair", "column": column, "rows": int(filled.sum()),
         **ends, "rule": "straight line over a short gap", "share": share,
         "grade": "lowered" if share > WEAK else "kept"},
        f"{share:.1%} of {column} is interpolated.")
