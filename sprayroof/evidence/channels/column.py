"""One column of a log to one channel: its numbers in the channel's unit, on the time that each speaks of."""

from __future__ import annotations

import datetime
import zoneinfo
from typing import TYPE_CHECKING, Any

import numpy as np

from sprayroof.evidence.channels import change_of_value
from sprayroof.evidence.channels.counter_findings import tell_counter
from sprayroof.evidence.channels.counters import Counted, Swap, counted, modulus_of
from sprayroof.evidence.channels.levels import MOST_OUTSIDE, level_advice, level_scale, outside
from sprayroof.evidence.channels.record import Record
from sprayroof.evidence.channels.unit_doubts import unit_is_plausible
from sprayroof.evidence.channels.units import check_unit_seen, kind_of, scale_of
from sprayroof.evidence.channels.zero_codes import zeros_are_plausible
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.log_files.rows import LogRows
from sprayroof.evidence.log_files.spans import Spans
from sprayroof.evidence.site_file.channel_table import ChannelMeaning, channel_of, column_of

if TYPE_CHECKING:
    from sprayroof.evidence.site import Site
    from sprayroof.evidence.site_file.logged import LogColumn

LONG_INTERVAL_S = 3600.0  # an amount over a longer time says little of when


def record_of(rows: LogRows, name: str, site: Site, gather: Gather) -> Record | None:
    """A channel of a log.

    Parameters
    ----------
    rows : LogRows
    name : str
        Channel as written in the site file; `rows.log.columns` declares it.
    site : Site
        Tells the store behind a level.
    gather : Gather
        Receives problems and findings.

    Returns
    -------
    Record or None
        None after a problem.
    """
    declared, entry = rows.log.columns[name], f"{rows.entry}.columns.{name}"
    found = channel_of(name)
    assert found is not None  # the site file's reader refuses unknown channels
    meaning, readings = found[0], rows.values[name] + declared.add
    if not np.isfinite(readings).any():
        gather.problem(f"{rows.where}, column {declared.column}", "no number in the whole column",
                       f"readings of {meaning.meaning}", f"correct column at {entry}, or take the channel out")
        return None
    kind = kind_of(rows.log, declared, meaning)
    base = {"name": name, "column": column_of(name), "meaning": meaning, "declared": declared, "entry": entry,
            "rows": rows, "kind": kind}
    if not _has_interval(rows, kind, meaning, declared, entry, gather):
        return None
    if meaning.name == "level":
        return _level(base, readings, site, gather)
    scale = scale_of(declared, meaning, kind, readings, entry, gather)
    if scale is None:
        return None
    if kind in ("sum", "counter", "tips"):
        return _amounts(base, readings, scale.factor, gather)
    target = f"{meaning.unit}/h" if meaning.kind == "sum" else meaning.unit
    seen = rows.units_seen.get(declared.column)
    if not check_unit_seen(declared, seen, target, entry, rows.where, gather):
        return None
    values = scale(readings)
    if not (unit_is_plausible(declared, meaning, readings, values, entry, rows.where, gather)
            and zeros_are_plausible(rows, name, kind, values, entry, gather)):
        return None
    return _states(base, values, scale.factor, scale)


def _has_interval(rows: LogRows, kind: str, meaning: ChannelMeaning, declared: LogColumn, entry: str,
                  gather: Gather) -> bool:
    """False, with a problem, where a number of the kind needs an interval and the rows keep none."""
    holds = kind == "status" and rows.log.values == "last value holds"
    events = kind in ("sum", "tips") and meaning.kind == "sum"  # a gauge may write a row for every tip
    if rows.is_regular or holds or events or kind in ("last value holds", "counter"):
        return True
    changes = f'add values = "last value holds" to {rows.entry} if a row is written when something changes, or '
    gather.problem(
        f"{rows.where}, column {declared.column}",
        f'rows follow each other at no one interval, and the kind is "{kind}"',
        "rows at an interval" + ("" if kind == "sum" else ", or numbers that hold until the next row"),
        ("" if kind == "sum" else changes) + f"add interval to {rows.entry} if every row stands for so many minutes")
    return False


def _states(base: dict[str, Any], values: np.ndarray, slope: float, convert: Any) -> Record:
    """Means, instants, held values and statuses."""
    rows, kind, log = base["rows"], base["kind"], base["rows"].log
    base |= {"slope": slope, "convert": convert}
    if kind == "last value holds" or (kind == "status" and log.values == "last value holds"):
        longest_s = None if log.hold_h is None else 3600.0 * log.hold_h
        spans, held, row_of = change_of_value.held(rows.times_ns, values, rows.blanks.get(base["name"]), longest_s)
        return Record(**base, spans=spans, first=held, last=held, row_of=row_of)
    everyone = np.arange(len(values))
    if kind == "instant" or (kind == "status" and log.values == "instant"):
        # a status stands until the next reading; other readings run in a straight line to it
        last = values[:-1] if kind == "status" else values[1:]
        return Record(**base, spans=rows.between, first=values[:-1], last=last, row_of=everyone[:-1])
    return Record(**base, spans=rows.spans, first=values, last=values, row_of=everyone)


def _level(base: dict[str, Any], readings: np.ndarray, site: Site, gather: Gather) -> Record | None:
    rows, declared, entry = base["rows"], base["declared"], base["entry"]
    if base["kind"] in ("sum", "counter", "tips", "status"):
        gather.problem(f"site file, {entry}.kind", f'"{base["kind"]}"',
                       'one of "mean", "instant", "last value holds" for a level', "correct the entry")
        return None
    scale = level_scale(declared, site, entry, gather)
    seen = rows.units_seen.get(declared.column)
    if scale is None or not all(check_unit_seen(declared, seen, unit, entry, rows.where, gather)
                                for unit in ("m", "m3", "1")):
        return None
    values, full_m3 = scale.content_m3(readings), site.store.volume_m3.value
    out = outside(values, full_m3)
    if out.sum() > MOST_OUTSIDE * np.isfinite(values).sum():
        at = int(np.flatnonzero(out)[0])
        gather.problem(
            f"{rows.where}, column {declared.column}", f"{values[at]:.6g} m3 ({scale.words}) at {rows.row_text(at)}, "
            f"outside the store in {int(out.sum())} of {int(np.isfinite(values).sum())} readings",
            f"0 to {full_m3:g} m3 and 2 %", level_advice(declared, readings, site, entry))
        return None
    if out.any():
        _tell_outside(base, np.flatnonzero(out), values, full_m3, gather)
        values = np.where(out, np.nan, values)
    if not zeros_are_plausible(rows, base["name"], base["kind"], values, entry, gather):
        return None
    return _states(base, values, scale.slope_m3, scale.content_m3)


def _tell_outside(base: dict[str, Any], out: np.ndarray, values: np.ndarray, full_m3: float, gather: Gather) -> None:
    rows, column = base["rows"], base["declared"].column
    gather.finding(
        "channel.level-outside", f"{len(out)} readings of column {column} of {rows.where} lie outside the store "
        f"(0 to {full_m3:g} m3), first {values[out[0]]:.4g} m3 at {rows.row_text(int(out[0]))}; they are not used.",
        rows.where, rows.evidence("exclude", column, out, "content outside 0 to full and 2 %", channel=base["column"]),
        f"The level is unknown in {len(out)} rows.")


def _amounts(base: dict[str, Any], readings: np.ndarray, factor: float, gather: Gather) -> Record | None:
    """Sums per interval, running totals and tips, as rates: per minute (L), per hour (Wh, mm)."""
    rows, meaning = base["rows"], base["meaning"]
    per_s = 60.0 if meaning.counts == "L" else 3600.0
    base |= {"slope": factor, "convert": lambda given: given * factor}
    if base["kind"] == "counter":
        return _counter(base, readings, factor, per_s, gather)
    if meaning.kind == "sum" and (not rows.is_regular or (base["kind"] == "tips" and rows.log.values == "instant")):
        return _events(base, readings * factor)
    lengths_s = rows.spans.lengths_s
    with np.errstate(divide="ignore", invalid="ignore"):
        rates = np.where(lengths_s > 0.0, readings * factor * per_s / lengths_s, np.nan)
    if not _never_negative(base, readings, gather):
        return None
    spread = lengths_s > LONG_INTERVAL_S
    return Record(**base, spans=rows.spans, first=rates, last=rates, row_of=np.arange(len(rates)),
                  spread=spread if spread.any() else None)


def _never_negative(base: dict[str, Any], readings: np.ndarray, gather: Gather) -> bool:
    rows = base["rows"]
    below = np.flatnonzero(readings < 0.0)
    if len(below) <= 0.01 * np.isfinite(readings).sum():
        return True
    gather.problem(
        f"{rows.where}, column {base['declared'].column}",
        f"{readings[below[0]]:g} at {rows.row_text(int(below[0]))}, below zero in {len(below)} rows",
        "amounts of zero or more", f"correct column or kind at {base['entry']}")
    return False


def _events(base: dict[str, Any], amounts: np.ndarray) -> Record:
    """A row for every tip, at no interval: what lies between the rows is dry."""
    rows = base["rows"]
    spans = Spans(rows.times_ns[:1], rows.times_ns[-1:])
    none, known = np.zeros(1), np.isfinite(amounts) & (amounts > 0.0)
    return Record(**base, spans=spans, first=none, last=none, row_of=np.array([len(amounts) - 1]),
                  events_ns=rows.times_ns[known], event_amounts=amounts[known])


def _counter(base: dict[str, Any], readings: np.ndarray, factor: float, per_s: float, gather: Gather) -> Record | None:
    rows, declared, meaning = base["rows"], base["declared"], base["meaning"]
    modulus = None if declared.rolls_over_at is None else modulus_of(declared.rolls_over_at)
    highest = float(np.nanmax(readings))
    if modulus is not None and highest >= modulus:
        gather.problem(f"site file, {base['entry']}.rolls_over_at",
                       f"{declared.rolls_over_at:g}, but {rows.where} reads {highest:g}",
                       "a number that the meter never passes", "correct the entry or take it out")
        return None
    # no meter counts faster than the channel's bound; rain: mm an hour
    fastest = meaning.high / factor / per_s
    result = counted(rows.times_ns, readings, modulus, _swaps(declared, rows.log.time_zone), fastest)
    if not result.is_total:
        falls = float((np.diff(readings[np.isfinite(readings)]) < 0.0).mean())
        gather.problem(f"{rows.where}, column {declared.column}",
                       f'the readings fall in {falls:.0%} of the steps, and the kind is "counter"',
                       "a running total, which falls only when it starts again",
                       f'write kind = "sum" at {base["entry"]} if the numbers are amounts per interval')
        return None
    record = _counter_record(base, result, factor, per_s)
    tell_counter(record, result, factor, modulus is not None, gather)
    return record


def _counter_record(base: dict[str, Any], result: Counted, factor: float, per_s: float) -> Record:
    lengths_s = result.spans.lengths_s
    with np.errstate(divide="ignore", invalid="ignore"):
        rates = np.where(lengths_s > 0.0, result.amounts * factor * per_s / lengths_s, np.nan)
    usual_s = float(np.median(lengths_s)) if len(lengths_s) else 0.0
    spread = (lengths_s > max(LONG_INTERVAL_S, 1.5 * usual_s)) & (result.amounts > 0.0)
    return Record(**base, spans=result.spans, first=rates, last=rates, row_of=result.rows,
                  spread=spread if spread.any() else None, events=result.events)


def _swaps(declared: LogColumn, zone: str) -> tuple[Swap, ...]:
    """Declared changes of the meter, on UTC (naive times are on the clock of the file)."""
    return tuple(Swap(moment_ns(when, zone), old + declared.add, new + declared.add)
                 for when, old, new in declared.swaps or ())


def moment_ns(when: datetime.datetime, zone: str) -> int:
    """A point in time as UTC nanoseconds since 1970; without an offset it is on the clock of `zone`."""
    aware = when if when.tzinfo else when.replace(tzinfo=zoneinfo.ZoneInfo(zone))
    return round(aware.timestamp()) * 10**9
