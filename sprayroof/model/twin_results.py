"""The pairs of the site file, one cooled and one not: what the cooling did to each pair."""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from sprayroof.errors import LogProblems
from sprayroof.evidence.gather import Gather
from sprayroof.evidence.twin_series import TwinSeries, read_twin
from sprayroof.model.twins import LARGEST_RHO, LEAST_DAYS, PairDoubt, TwinEffect, twin_effect
from sprayroof.results import Finding

if TYPE_CHECKING:
    from sprayroof.evidence.site import Site
    from sprayroof.evidence.site_file.logged import Twin

# Days of neither cooled stand for the others only in like weather: the room that is not cooled tells by its own level.
LEVEL_APART_K = 4.0
LEVEL_APART_FRAC = 0.3
MOST_DIGITS = 2


@dataclass(frozen=True)
class TwinResult:
    """One pair: its daily values, and the effect (None with too few days)."""

    series: TwinSeries
    effect: TwinEffect | None

    @property
    def row(self) -> dict[str, Any]:
        """The record in audit.json."""
        series = self.series
        row: dict[str, Any] = {"name": series.name, "quantity": series.quantity, "unit": series.unit,
                               "words": words(self), "words_ip": words(self, "ip")}
        if self.effect is not None:
            row |= dataclasses.asdict(self.effect)
        row["days_read"] = {
            "date": [str(day) for day in series.cooled.days], "cooled": series.cooled.cooled.tolist(),
            "control": series.cooled.control.tolist()}
        return row


@dataclass(frozen=True)
class TwinResults:
    """All pairs with what was found in reading them (findings, inputs as elsewhere)."""

    pairs: list[TwinResult]
    findings: list[Finding] = field(default_factory=list)
    inputs: list[dict[str, Any]] = field(default_factory=list)

    @property
    def rows(self) -> list[dict[str, Any]]:
        """A record a pair, as audit.json holds it."""
        return [pair.row for pair in self.pairs]


def twin_results(site: Site) -> TwinResults:
    """The effect of the cooling on every pair that the site file declares.

    Raises
    ------
    LogProblems
        With every problem of every pair.
    """
    gather = Gather()
    read = [(twin, read_twin(site, twin, gather)) for twin in site.twin]
    gather.stop_if_problems(LogProblems)
    pairs = [_result(twin, series, gather) for twin, series in read if series is not None]
    return TwinResults(pairs, gather.findings, [row for pair in pairs for row in pair.series.inputs])


def _result(twin: Twin, series: TwinSeries, gather: Gather) -> TwinResult:
    cooled, like = series.cooled, series.like
    effect = twin_effect(
        cooled.cooled, cooled.control, None if like is None else like.cooled, None if like is None else like.control,
        _doubt(twin, series), cooled.after_swap, None if like is None else like.after_swap)
    _tell(series, effect, gather)
    return TwinResult(series, effect)


def _doubt(twin: Twin, series: TwinSeries) -> PairDoubt:
    if series.quantity == "temperature":
        return PairDoubt(offset=twin.accuracy_K, pair=twin.like_difference_K)
    control = series.cooled.control[np.isfinite(series.cooled.control)]
    level = float(control.mean()) if len(control) else 0.0
    return PairDoubt(gain_frac=twin.meter_accuracy_frac, pair=twin.like_share_frac * level)


def _tell(series: TwinSeries, effect: TwinEffect | None, gather: Gather) -> None:
    if effect is None:
        gather.finding(
            "twin.few-days", f"{series.name} has {series.cooled.complete} complete days with one cooled; "
            f"{LEAST_DAYS} are needed.", series.name, {"disposition": "warn", "days": series.cooled.complete},
            "Nothing is claimed of this pair.")
        return
    if effect.rho >= LARGEST_RHO:
        gather.finding(
            "twin.days-alike", f"The difference of {series.name} is nearly the same from one day to the next "
            f"(correlation {effect.rho:g} or more).", series.name,
            {"disposition": "warn", "rho": effect.rho, "days": effect.days},
            "The range may be too narrow; no verdict is given.")
    if effect.like_days == 0:
        gather.finding(
            "twin.no-like-days", f"{series.name} was not logged for {LEAST_DAYS} complete days with neither cooled.",
            series.name, {"disposition": "warn", "systematic": effect.systematic},
            "What the two differ by anyway stays in the effect, and in its range as stated or assumed.")
        return
    apart = abs(effect.level - effect.like_level)
    most = LEVEL_APART_K if series.quantity == "temperature" else LEVEL_APART_FRAC * effect.level
    if apart > most:
        unit = "K" if series.quantity == "temperature" else "kWh a day"
        gather.finding(
            "twin.weather-differs", f"{series.name}: the room that was not cooled stood {apart:.1f} {unit} apart "
            "from its level on the days when neither was.", series.name,
            {"disposition": "warn", "level": effect.level, "like_level": effect.like_level},
            "What the two differ by may be another in other weather; the range does not hold that.")


# --- words --------------------------------------------------------------------------------------------------------


def words(result: TwinResult, units: str = "si") -> str:
    """What the pair says, in a sentence or two; `units` is "si" or "ip" (degrees Fahrenheit)."""
    series, effect = result.series, result.effect
    name = f"{series.name[:1].upper()}{series.name[1:]}"
    if effect is None:
        return f"{name}: too few complete days to compare the two."
    against = f" held against {effect.like_days} days with neither cooled" if effect.like_days else ""
    days = f"{effect.days} days{against}"
    if effect.verdict == "cannot tell":
        return (f"{name}: {days} cannot tell whether the cooling changed the {series.quantity} "
                f"({_range(series, effect, units)}).")
    if series.quantity == "temperature":
        what = "colder" if effect.verdict == "lower" else "warmer"
        return f"{name}: the cooled one was {_range(series, effect, units)} {what} by the cooling, by {days}."
    what = "less" if effect.verdict == "lower" else "more"
    return (f"{name}: the cooled one used {_range(series, effect, units)} a day {what} by the cooling, of "
            f"{effect.level:.3g} kWh of the other one, by {days}.")


def _range(series: TwinSeries, effect: TwinEffect, units: str) -> str:
    """The size of the effect and its range, with sign where the range holds zero."""
    factor, unit = {"electricity": (1.0, "kWh"), "temperature": (1.8, "°F") if units == "ip" else (1.0, "K")}[
        series.quantity]
    half = factor * math.hypot(effect.systematic, effect.random)
    digits = min(max(1 - math.floor(math.log10(half)), 0), MOST_DIGITS) if half > 0.0 else MOST_DIGITS
    sign = -1.0 if effect.effect < 0.0 and effect.verdict != "cannot tell" else 1.0
    value, low, high = (sign * factor * number for number in (effect.effect, effect.low, effect.high))
    low, high = min(low, high), max(low, high)
    return f"{value:.{digits}f} {unit} (90 % range {low:.{digits}f} to {high:.{digits}f})"
