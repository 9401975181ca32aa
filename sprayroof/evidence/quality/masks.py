"""Quality of logged channels: every doubtful value gets a mask with a name, and each mask a finding with its rows."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.channels.spray_times import running
from sprayroof.evidence.gather import Gather, count_of
from sprayroof.evidence.log_times.row_names import time_text
from sprayroof.evidence.logs import Instrument
from sprayroof.evidence.quality import odd_readings
from sprayroof.evidence.quality.crosschecks import cross_check
from sprayroof.evidence.quality.losses import Loss, coarseness, loss_of, resting_on
from sprayroof.evidence.quality.origins import Origins, places_text
from sprayroof.evidence.quality.wetted_sensors import sunlit, wetted
from sprayroof.evidence.site_file.channel_table import CHANNELS, ChannelMeaning
from sprayroof.evidence.steps import runs

if TYPE_CHECKING:
    import pandas as pd

    from sprayroof.evidence.log_files.rows import LogRows
    from sprayroof.evidence.site import Site

Masks = dict[str, dict[str, np.ndarray]]
Doubted = tuple[int, str, np.ndarray]
Effect = Callable[["Bench", str, np.ndarray], Loss]
LINES_KEPT = 20  # places of a finding that its data name

# Hours without any change after which a channel counts as frozen. Own judgement; calm nights and still stores are true.
FROZEN_H = {"humidity": 8.0, "air_temperature": 8.0, "wind": 30.0, "pressure": 24.0, "long_wave": 6.0,
            "supply_temperature": 30.0, "return_temperature": 30.0, "store_temperature": 72.0, "room_temperature": 72.0,
            "room_humidity": 48.0, "surface_temperature": 48.0, "conductivity": 240.0}
FROZEN_COARSE = 3.0  # times as long where the reading is coarse
SATURATED_FRAC, SATURATED_H = 0.985, 48.0
COARSE = {"degC": 0.4, "1": 0.04}


@dataclass
class Bench:
    """What the checks of quality share.

    Parameters
    ----------
    table : DataFrame
        As `Logs.table`; not changed here.
    step_s : int
        Step [s].
    site : Site
    instruments : dict of str to Instrument
        Changed where a reading proves coarse.
    gather : Gather
    weather : DataFrame or None
        Measured weather of the same time.
    masks : dict
        Grows.
    rows : dict of str to LogRows
        Column -> the log that it comes from; without it each column counts as a log of its own.
    origins : Origins
        Rows of the files behind the steps.
    doubted : list of tuple
        Number of a finding, its channel, steps, and what tells its effect once all masks are known.
    """

    table: pd.DataFrame
    step_s: int
    site: Site
    instruments: dict[str, Instrument]
    gather: Gather
    weather: pd.DataFrame | None
    masks: Masks
    rows: dict[str, LogRows] = field(default_factory=dict)
    origins: Origins = field(default_factory=Origins)
    doubted: list[tuple[int, str, np.ndarray, Effect]] = field(default_factory=list)

    def log_of(self, column: str) -> str:
        """The log whose clock a column has ("log.2"), else the column itself."""
        return self.rows[column].entry if column in self.rows else column if column in self.table else ""

    def interval_s(self, column: str) -> float:
        """The interval between the readings of a column [s]; 0 where it has none."""
        rows = self.rows.get(column)
        return rows.interval_s if rows is not None and rows.is_regular else 0.0

    def values(self, column: str) -> np.ndarray | None:
        """A channel with what is masked so far taken out; None if it is not logged."""
        if column not in self.table:
            return None
        values = self.table[column].to_numpy(dtype=float)
        for name, where in self.masks.get(column, {}).items():
            if not name.startswith("note"):
                values = np.where(where, np.nan, values)
        return values

    def station(self, name: str) -> np.ndarray:
        """A column of the weather record at the steps of the logs, held for an hour at most; NaN outside its time."""
        held = self.weather[name].reindex(self.table.index, method="ffill", limit=max(1, int(3600 / self.step_s)))
        return held.to_numpy(dtype=float)

    def station_air_C(self) -> np.ndarray:
        """Air of the weather record at the steps of the logs, straight between its readings."""
        air = self.weather["t_air_C"].reindex(self.table.index).interpolate(limit=int(3600 / self.step_s))
        return air.to_numpy(dtype=float)

    def running(self) -> np.ndarray | None:
        """Steps in which the spray ran; None if nothing tells."""
        return running({name: self.table[name].to_numpy(dtype=float) for name in self.table.columns})

    def time(self, step: int) -> str:
        """Start of a step in words."""
        return time_text(self.table.index[int(step)].value)

    def evidence(self, disposition: str, column: str, where: np.ndarray, rule: str, **more: object) -> dict:
        """The `data` of a finding about the steps where `where` holds."""
        steps = np.flatnonzero(where)
        data: dict[str, object] = {"disposition": disposition, "column": column, "rows": len(steps)}
        if len(steps):
            data |= {"first": self.time(steps[0]), "last": self.time(steps[-1])}
        return {**data, "rule": rule, **more}

    def finding(self, code: str, message: str, column: str, mask: str, where: np.ndarray, rule: str,
                effect: Effect = loss_of, **more: object) -> None:
        """Mask some steps of a channel and tell it, with file, column and lines; "note..." and "" leave them in use.

        The effect follows when all masks are known (`tell_effects`).
        """
        if mask:
            self.masks.setdefault(column, {})[mask] = where
        in_use = not mask or mask.startswith("note")
        places = self.origins.places(column, where)
        data = {**self.evidence("warn" if in_use else "exclude", column, where, rule, **more),
                "file": self.origins.where(column),
                "lines": [f"{place.file}, {place.lines_text}" for place in places[:LINES_KEPT]]}
        rows = f" Rows: {places_text(places)}." if places else ""
        self.doubted.append((len(self.gather.findings), column, where, effect))
        self.gather.finding(code, message + rows, column, data)

    def tell_effects(self) -> None:
        """What each doubted stretch costs the headline."""
        for number, column, where, effect in self.doubted:
            found, loss = self.gather.findings[number], effect(self, column, where)
            self.gather.findings[number] = dataclasses.replace(found, effect=loss.words,
                                                               data={**found.data, **loss.numbers})


def judge(
    table: pd.DataFrame, step_s: int, site: Site, instruments: dict[str, Instrument], gather: Gather,
    weather_table: pd.DataFrame | None, rows: dict[str, LogRows] | None = None, origins: Origins | None = None,
    doubted: Sequence[Doubted] = (),
) -> Masks:
    """Masks of doubtful values, with a finding for each.

    Parameters
    ----------
    table : DataFrame, shape (n, channels)
        As `Logs.table`; not changed.
    step_s : int
        Step [s].
    site : Site
    instruments : dict of str to Instrument
        Resolution is widened where readings prove coarse.
    gather : Gather
        Receives findings.
    weather_table : DataFrame or None
        Measured weather of the same time, as `Weather.table`.
    rows : dict of str to LogRows, optional
        Column -> the log that it comes from.
    origins : Origins, optional
        Rows of the files behind the table; without them findings name times only.
    doubted : sequence of (int, str, ndarray), optional
        Findings told before, whose steps are NaN in the table: number in `gather`, channel, steps.

    Returns
    -------
    dict of str to dict of str to ndarray of bool, shape (n,)
        Column -> mask -> where it holds. Masks that begin with "note" leave the values in use.
    """
    bench = Bench(table, step_s, site, instruments, gather, weather_table, {}, rows or {}, origins or Origins(),
                  [(*one, loss_of) for one in doubted])
    channels = {column: meaning for column in table.columns if (meaning := _meaning(column)) is not None}
    for column, meaning in channels.items():
        _check_range(bench, column, meaning)
        _check_frozen(bench, column, meaning)
        _check_clipped(bench, column, meaning)
        _check_coarse(bench, column, meaning)
    _check_saturated(bench)
    wetted(bench)
    sunlit(bench)
    cross_check(bench)
    bench.tell_effects()
    return bench.masks


def _meaning(column: str) -> ChannelMeaning | None:
    """The channel that a column of the table holds."""
    plain = column[:-2] if column[-2:-1] == "_" and column[-1:].isdigit() else column
    return next((meaning for meaning in CHANNELS.values() if meaning.column in (column, plain)), None)


def _check_range(bench: Bench, column: str, meaning: ChannelMeaning) -> None:
    values = bench.values(column)
    with np.errstate(invalid="ignore"):
        outside = (values < meaning.low) | (values > meaning.high)
    if outside.any():
        worst = values[outside][np.argmax(np.abs(values[outside] - 0.5 * (meaning.low + meaning.high)))]
        bench.finding(
            "quality.out-of-range",
            f"{column} lies outside {meaning.low:g} to {meaning.high:g} {meaning.unit} in "
            f"{count_of(int(outside.sum()), 'step')}, at worst {worst:g}; these are not "
            "used.", column, "range", outside,
            f"outside {meaning.low:g} to {meaning.high:g}")


def _check_frozen(bench: Bench, column: str, meaning: ChannelMeaning) -> None:
    hours = FROZEN_H.get(meaning.name)
    if hours is None:
        return
    values = bench.values(column)
    if odd_readings.usual_step(values) >= COARSE.get(meaning.unit, np.inf):
        hours *= FROZEN_COARSE
    found = odd_readings.frozen(values, int(hours * 3600 / bench.step_s))
    if meaning.unit == "1":
        with np.errstate(invalid="ignore"):
            found &= values < SATURATED_FRAC  # saturated air is judged by itself
    if found.any():
        blocks = list(runs(found))
        longest = max(stop - start for start, stop in blocks) * bench.step_s / 3600.0
        bench.finding(
            "quality.stuck",
            f"{column} does not change at all for {hours:g} h or more, {count_of(len(blocks), 'time')}, first at "
            f"{bench.time(blocks[0][0])}, longest {longest:.0f} h; these are not used.", column, "stuck", found,
            f"no change for {hours:g} h")


def _check_clipped(bench: Bench, column: str, meaning: ChannelMeaning) -> None:
    if meaning.kind == "status" or meaning.name in ("humidity", "room_humidity", "rain", "level"):
        return
    values = bench.values(column)
    top = odd_readings.clipped_at(values)
    if top is None:
        return
    where = np.nan_to_num(values, nan=-np.inf) == top
    bench.finding(
        "quality.clipped",
        f"{column} stops at {top:g} {meaning.unit} again and again, as at the end of a measuring range, first at "
        f"{bench.time(np.flatnonzero(where)[0])}; the true values may be larger.", column, "note_clipped", where,
        "sits at its largest value", resting_on)


def _check_coarse(bench: Bench, column: str, meaning: ChannelMeaning) -> None:
    limit = COARSE.get(meaning.unit)
    if limit is None or meaning.kind == "status":
        return
    size = odd_readings.usual_step(bench.values(column))
    instrument = bench.instruments.get(column)
    if size < limit or instrument is None:
        return
    bench.instruments[column] = dataclasses.replace(instrument, resolution=max(size, instrument.resolution))
    known = np.isfinite(bench.values(column))
    bench.finding(
        "quality.coarse", f"{column} is read in steps of {size:.3g} {meaning.unit}; its uncertainty was widened by "
        "half a step.", column, "", known, "usual step of the readings",
        lambda bench, column, _: coarseness(bench, column, size), old=instrument.resolution, new=size)


def _check_saturated(bench: Bench) -> None:
    for column in bench.table.columns:
        if not column.startswith(("humidity_frac", "room_humidity_frac")):
            continue
        values = bench.values(column)
        least = int(SATURATED_H * 3600 / bench.step_s)
        with np.errstate(invalid="ignore"):
            wet = np.where(np.isnan(values), False, values >= SATURATED_FRAC)
        found = np.zeros(len(wet), dtype=bool)
        for start, stop in runs(wet):
            found[start:stop] = stop - start >= least
        if found.any():
            bench.finding(
                "quality.humidity-saturated",
                f"{column} stands at {SATURATED_FRAC:.1%} or more for {SATURATED_H:g} h on end, first at "
                f"{bench.time(np.flatnonzero(found)[0])}: a wet or worn-out sensor; these are not "
                "used.", column, "saturated", found,
                f"{SATURATED_FRAC:.1%} or more for {SATURATED_H:g} h")
