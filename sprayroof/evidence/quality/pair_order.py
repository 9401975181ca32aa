"""Whether supply and return are exchanged: by the store, by what air and sky cannot do, by the starts of the pump.

A truly negative night is true and stays; nothing is exchanged unasked.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sprayroof.evidence.channels.spray_times import widened
from sprayroof.evidence.gather import count_of
from sprayroof.evidence.quality.clock_witnesses import SIGNS
from sprayroof.evidence.steps import runs

if TYPE_CHECKING:
    from sprayroof.evidence.quality.masks import Bench

HOUR_S = 3600.0
NIGHT_LEAST_S = 2 * HOUR_S  # of spraying, for a night to count
LEAST_NIGHTS, SHARE = 5, 0.7
LEAST_MUST_COOL = 3  # nights on which the sign is bound
SMALL_K, STORE_K, START_K = 0.05, 0.3, 0.3  # differences that tell nothing
WARMER_K = 1.0  # than the air: beyond what two sensors may be apart
# Least heat that water warmer than the air gives off, for each kelvin, into still saturated air under an overcast sky:
# radiation 5, convection 2, evaporation at least 3, as the saturation pressure rises with temperature [W/m2 K].
LEAST_OUT_W_M2_K = 10.0
REST_S, EARLY_S, LATE_S = 3600.0, 900.0, 3600.0


@dataclass(frozen=True)
class Nights:
    """What each night of spraying says of the pair.

    Parameters
    ----------
    signs_K : ndarray, shape (n,)
        Mean of supply less return.
    falls_K : ndarray, shape (n,)
        By how much the store cooled; NaN where it does not tell.
    bound_K : ndarray, shape (n,)
        Mean of supply less return where the water must have cooled; NaN where nothing binds it.
    below_air : ndarray of bool, shape (n,)
        Whether the water was colder than the air, so that it may truly have been warmed.
    starts : ndarray, shape (n,)
        1 where the supply seems to come from the roof by the start of the pump, -1 where the return does, else 0.
    """

    signs_K: np.ndarray
    falls_K: np.ndarray
    bound_K: np.ndarray
    below_air: np.ndarray
    starts: np.ndarray


@dataclass(frozen=True)
class Vote:
    """Nights that tell by one sign, and those of them that speak for an exchanged pair."""

    told: int
    against: int
    least: int

    @property
    def exchanged(self) -> bool:
        """Whether most of enough nights say so."""
        return self.told >= self.least and self.against >= SHARE * self.told

    @property
    def right(self) -> bool:
        """Whether most of enough nights say that the pair is as declared."""
        return self.told >= self.least and self.told - self.against >= SHARE * self.told


def check_pair(bench: Bench) -> None:
    """Propose an exchanged pair, or say that negative nights are true, or that nothing tells."""
    supply, back = bench.values("supply_C"), bench.values("return_C")
    if supply is None or back is None or _clock_open(bench):
        return
    nights = _nights_of(bench, supply, back)
    negative = nights.signs_K < -SMALL_K
    if not negative.any():
        return
    mostly = len(negative) >= LEAST_NIGHTS and negative.sum() >= SHARE * len(negative)
    told = np.isfinite(nights.falls_K) & (np.abs(nights.falls_K) > STORE_K) & (np.abs(nights.signs_K) > SMALL_K)
    against = told & (np.sign(nights.signs_K) != np.sign(nights.falls_K))
    store = Vote(int(told.sum()), int(against.sum()), LEAST_NIGHTS)
    bound = Vote(int(np.isfinite(nights.bound_K).sum()), int((nights.bound_K < -SMALL_K).sum()), LEAST_MUST_COOL)
    starts = Vote(int((nights.starts != 0).sum()), int((nights.starts > 0).sum()), LEAST_NIGHTS)
    if store.exchanged:
        _propose(bench, store, f"On {store.against} of {count_of(store.told, 'night')} the return is warmer than the "
                 "supply while the store cools, and the other way round", "sign of the pair against the store's own "
                 "temperature")
    elif store.right:
        _confirm(bench, negative, negative & told & ~against, "the store says the same where it can tell")
    elif bound.exchanged:
        _propose(bench, bound, f"On {bound.against} of {count_of(bound.told, 'night')} the return is warmer than the "
                 "supply though both are warmer than the air, when air, sky and evaporation can only cool the water",
                 "sign of the pair where the water must cool")
    elif mostly and not bound.right and starts.exchanged:
        _propose(bench, starts, f"The return is warmer than the supply on {negative.sum()} of "
                 f"{count_of(len(negative), 'night')}, and at {starts.against} of "
                 f"{count_of(starts.told, 'start')} of the pump it is the supply that changes as roof water does",
                 "which of the two answers the start of the pump")
    elif (negative & told & ~against).any():
        _confirm(bench, negative, negative & told & ~against, "the store says the same where it can tell")
    elif (nights.below_air & negative).sum() >= SHARE * negative.sum():
        _confirm(bench, negative, negative & nights.below_air, "the air was warmer than the water where it is known")
    elif mostly and not bound.right and not starts.right:
        _ask(bench, negative)


def _clock_open(bench: Bench) -> bool:
    """Whether supply, return or the sign of spraying may stand at wrong times: their difference then means nothing."""
    at_stake = {"supply_C", "return_C", *SIGNS}
    return any(finding.code.startswith("cross.clock") and at_stake & set(finding.data["columns"])
               for finding in bench.gather.findings)


def spray_nights(bench: Bench) -> list[tuple[int, int]]:
    """First and last step of each spraying of two hours or more, pauses of under an hour joined."""
    on = bench.running()
    if on is None:
        return []
    joined = widened(on, 0, int(HOUR_S / bench.step_s))
    found = []
    for start, stop in runs(joined):
        ran = np.flatnonzero(on[start:stop])
        if len(ran) and len(ran) * bench.step_s >= NIGHT_LEAST_S:
            found.append((start, start + int(ran[-1]) + 1))
    return found


def _nights_of(bench: Bench, supply: np.ndarray, back: np.ndarray) -> Nights:
    on, store, air = bench.running(), _store_C(bench), _air_C(bench)
    rows = []
    for start, stop in spray_nights(bench):
        inside = np.arange(start, stop)[on[start:stop]]
        difference = (supply - back)[inside]
        if not np.isfinite(difference).any():
            continue
        fall = np.nan if store is None else _fall_K(store, start, stop, bench.step_s)
        bound, below = _bound(bench, supply[inside], back[inside], air[inside])
        rows.append((float(np.nanmean(difference)), fall, bound, below, _start_sign(bench, on, supply, back, start)))
    columns = np.array(rows, dtype=float).reshape(len(rows), 5).T
    return Nights(columns[0], columns[1], columns[2], columns[3] > 0.0, columns[4])


def _store_C(bench: Bench) -> np.ndarray | None:
    columns = [column for column in bench.table.columns if column.startswith("store_C")]
    if not columns:
        return None
    several = np.array([bench.values(column) for column in columns])
    known = np.isfinite(several)
    count = known.sum(axis=0)
    return np.where(count > 0, np.where(known, several, 0.0).sum(axis=0) / np.maximum(count, 1), np.nan)


def _air_C(bench: Bench) -> np.ndarray:
    """Air as logged, else of the measured weather record; NaN where neither is known."""
    air = bench.values("air_C")
    found = np.full(len(bench.table), np.nan) if air is None else air
    if bench.weather is None:
        return found
    return np.where(np.isfinite(found), found, bench.station_air_C())


def _fall_K(store_C: np.ndarray, start: int, stop: int, step_s: int) -> float:
    """By how much the store cooled from the hour before to the hour after."""
    hour = int(HOUR_S / step_s)
    before, after = store_C[max(start - hour, 0) : start], store_C[stop : stop + hour]
    if not (np.isfinite(before).any() and np.isfinite(after).any()):
        return np.nan
    return float(np.nanmean(before) - np.nanmean(after))


def _bound(bench: Bench, supply: np.ndarray, back: np.ndarray, air: np.ndarray) -> tuple[float, bool]:
    """Mean difference where the water must cool (NaN: nowhere long enough), and whether it was colder than the air.

    Water warmer than the air loses heat by convection, by evaporation (its vapour pressure is above any that the air
    can hold) and to the sky (no warmer than the air). Only the roof beneath can warm it: the first hour, in which the
    deck still holds the day's heat, is left out, and so is what a warm room could send through a thin deck.
    """
    hour = int(HOUR_S / bench.step_s)
    supply, back, air = supply[hour:], back[hour:], air[hour:]
    known = np.isfinite(supply) & np.isfinite(back) & np.isfinite(air)
    if known.sum() < hour:
        return np.nan, False
    colder = np.where(known, np.minimum(supply, back), np.nan)
    beneath = max((roof.deck_u_W_m2K.high * np.maximum(roof.beneath_temperature_C.high - colder, 0.0)
                   for roof in bench.site.roof), key=np.nansum)
    over_K = colder - air
    with np.errstate(invalid="ignore"):
        must = known & (over_K > WARMER_K) & (LEAST_OUT_W_M2_K * over_K > beneath)
    bound = float((supply - back)[must].mean()) if must.sum() >= hour else np.nan
    return bound, bool(np.nanmean(over_K) < 0.0)


def _start_sign(bench: Bench, on: np.ndarray, supply: np.ndarray, back: np.ndarray, start: int) -> int:
    """Which of the two answers the start as water from the roof does: 1 the supply, -1 the return, 0 neither.

    The roof's first water is warm from the deck and cools within the hour; the store's stays as it is. Where neither
    does so, the one whose standing water differs more from what flows after the start lies towards the roof.
    """
    rest, early, late = (int(span_s / bench.step_s) for span_s in (REST_S, EARLY_S, LATE_S))
    steady = slice(start + late, start + late + max(early, 2))
    if start < rest or on[start - rest : start].any() or not on[steady].all() or steady.stop > len(on):
        return 0
    first = slice(start + 1, start + 1 + max(early, 2))
    before = slice(start - max(rest // 2, 2), start)
    parts = np.array([[_known_mean(values[part]) for part in (before, first, steady)] for values in (supply, back)])
    cools = np.maximum(parts[:, 1] - parts[:, 2], 0.0)
    steps = np.abs(parts[:, 1] - parts[:, 0])
    for change in (cools, steps):
        apart = change[0] - change[1]
        if np.isfinite(apart) and abs(apart) > START_K:
            return int(np.sign(apart))
    return 0


def _known_mean(values: np.ndarray) -> float:
    known = values[np.isfinite(values)]
    return float(known.mean()) if len(known) >= 0.5 * len(values) and len(known) else np.nan


def _propose(bench: Bench, vote: Vote, found: str, rule: str) -> None:
    bench.gather.finding(
        "cross.pair-swapped", f"{found}: supply_temperature and return_temperature seem to be exchanged. They were "
        "read as declared.", "supply_C, return_C",
        {"disposition": "warn", "column": "supply_C, return_C", "nights": vote.told, "against": vote.against,
         "rule": rule},
        f"If so, the sign of all heat by pipe is wrong: {_line(bench)}, and check again. Until then the range of the "
        "heat holds both signs.")


def _line(bench: Bench) -> str:
    """What to write in the site file."""
    words = []
    for column, other, name in (("supply_C", "return_C", "supply_temperature"),
                                ("return_C", "supply_C", "return_temperature")):
        own, rows = bench.rows.get(column), bench.rows.get(other)
        if own is None or rows is None or own.entry != rows.entry:
            return "exchange the two names in the site file"
        twin = "return_temperature" if name == "supply_temperature" else "supply_temperature"
        words.append(f'column = "{rows.log.columns[twin].column}" at {own.entry}.columns.{name}')
    return f"write {' and '.join(words)}"


def _confirm(bench: Bench, negative: np.ndarray, confirmed: np.ndarray, how: str) -> None:
    bench.gather.finding(
        "cross.negative-nights", f"On {count_of(int(negative.sum()), 'night')} the spray warmed the water, and {how} "
        f"({int(confirmed.sum())}): true, and counted as negative cooling.", "supply_C, return_C",
        {"disposition": "note", "nights": int(negative.sum()), "rule": "sign of the pair against store and air"},
        "They lower the sum, as they should.")


def _ask(bench: Bench, negative: np.ndarray) -> None:
    bench.gather.finding(
        "cross.pair-unconfirmed", f"On {int(negative.sum())} of {count_of(len(negative), 'night')} the return is "
        "warmer than the supply, and neither store, air nor the starts of the pump tell whether the water was truly "
        "warmed.",
        "supply_C, return_C",
        {"disposition": "warn", "column": "supply_C, return_C", "nights": int(negative.sum()),
         "rule": "sign of the pair with nothing to confirm it"},
        f"Look which sensor is on which pipe; if they are exchanged, {_line(bench)}. Until then the range of the heat "
        "holds both signs.")
