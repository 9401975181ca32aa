"""What the meters say without any model: `measure`. It calls; it does not reckon."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from sprayroof.catalogue import QUANTITIES
from sprayroof.evidence.channels.spray_times import widened as steps_widened
from sprayroof.model.measured_agreement import Contradiction, contradictions, widened
from sprayroof.model.measured_amounts import Amount, MeasuredValue, months_no_better_than_b, no_better_than_b
from sprayroof.model.measured_bounds import Refusal, refused
from sprayroof.model.measured_findings import findings_of_heat, findings_of_switching, findings_of_water
from sprayroof.model.measured_nights import Night, nights_of
from sprayroof.model.measured_open import names_at_stake, other_readings, widened_by
from sprayroof.model.measured_outliers import Outlier, without_outliers
from sprayroof.model.measured_rain import rain_mm
from sprayroof.model.measured_readings import Readings, sprayed
from sprayroof.model.measured_split import Leak, Split, leak_of, split_of
from sprayroof.model.measured_store import fitted_ua_W_K
from sprayroof.model.measured_totals import (
    NightHeat,
    amounts_of,
    bases_of,
    estimates_of,
    heat_of,
    median_difference_frac,
    months_of,
    row_of,
    totals_of,
)
from sprayroof.model.measured_water import NightWater, rain_of, water_of
from sprayroof.model.on_off import Effect, on_off_of
from sprayroof.model.site_tests import SiteTests, read_site_tests
from sprayroof.results import Finding, Quantity

if TYPE_CHECKING:
    from sprayroof.evidence.logs import Logs
    from sprayroof.evidence.site import Site
    from sprayroof.evidence.weather import Weather


@dataclass(frozen=True)
class Measured:
    """The measured period.

    Parameters
    ----------
    start, end : str
        Date on which the first night began, and the day after the last night began (ISO).
    nights : list of dict
        A row a night.
    months : list of dict
        A row a month: the measured nights' total by identifier.
    totals : dict of str to MeasuredValue
        Sums over the nights that were measured, by identifier.
    estimates : dict of str to MeasuredValue
        The same for all nights: those not measured are put at the mean of like nights.
    tests : list of dict
        What each test found and changed.
    on_off : list of Effect
        What switching on and off tells; empty where nothing was switched.
    leak, split : Leak, Split
        How the unseen water was parted.
    ua_W_K : tuple of float
        Heat transfer of the store's walls and its 90 % half-width.
    pipe_tank_frac : float or None
        Median over nights of the difference of both ways to measure heat.
    findings : list of Finding
    notes : list of str
        How it was done, where the site left a choice.
    """

    start: str
    end: str
    nights: list[dict[str, Any]]
    months: list[dict[str, Any]]
    totals: dict[str, MeasuredValue]
    estimates: dict[str, MeasuredValue]
    tests: list[dict[str, Any]]
    on_off: list[Effect]
    leak: Leak
    split: Split
    ua_W_K: tuple[float, float]
    pipe_tank_frac: float | None
    findings: list[Finding] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


def measure(site: Site, logs: Logs, weather: Weather | None = None) -> Measured:
    """The night ledger of heat and water.

    Parameters
    ----------
    site : Site
        With its tests, switched nights and measured period.
    logs : Logs
        From `read_logs`: corrected by calibrations, pair tests, draw-downs and dips.
    weather : Weather, optional
        Measured weather of the same time stands in for what was not logged; a typical year is left aside.
    """
    own = _reckon(site, logs, weather)
    nights, heats, waters, split, leak = own.nights, own.heats, own.waters, own.split, own.leak
    others = [(source, _amounts_on(nights, _reckon(site, other, weather))) for source, other in other_readings(logs)]
    amounts = widened_by(own.amounts, others)
    bases, effects = bases_of(own.readings, leak), on_off_of(own.readings, nights)
    months, totals = months_of(nights, amounts, bases), totals_of(nights, amounts, bases)
    estimates = estimates_of(own.readings, nights, heats, amounts, bases)
    at_stake = names_at_stake(amounts, [source for source, _ in others])
    if own.apart or own.refusals:
        at_stake |= {name for name in estimates if name.startswith("cooling_")}
    months = months_no_better_than_b(months, at_stake)
    totals, estimates = (no_better_than_b(values, at_stake) for values in (totals, estimates))
    return Measured(
        start=nights[0].date.isoformat() if nights else "",
        end=_day_after(nights[-1].date) if nights else "",
        nights=[row_of(own.readings, *parts) for parts in zip(nights, heats, waters, amounts, strict=True)],
        months=months, totals=totals, estimates=estimates, tests=own.tests.outcomes, on_off=effects,
        leak=leak, split=split, ua_W_K=(own.ua_W_K.value, own.ua_W_K.half_width),
        pipe_tank_frac=median_difference_frac(heats),
        findings=[*own.tests.findings, *findings_of_heat(own.readings, nights, heats, own.apart, own.refusals),
                  *findings_of_water(own.readings, nights, waters, leak, split, own.outliers),
                  *findings_of_switching(effects)],
        notes=_notes(own.rain, leak, split),
    )


@dataclass(frozen=True)
class _Reckoned:
    """The ledger of one reading of the logs, before totals."""

    readings: Readings
    tests: SiteTests
    nights: list[Night]
    leak: Leak
    rain: Any
    ua_W_K: Amount
    heats: list[NightHeat]
    refusals: list[Refusal]
    apart: list[Contradiction]
    waters: list[NightWater]
    outliers: list[Outlier]
    split: Split
    amounts: list[dict[str, Amount | None]]


def _reckon(site: Site, logs: Logs, weather: Weather | None) -> _Reckoned:
    tests = read_site_tests(site, logs)
    readings = Readings(site, logs, tests, *sprayed(logs, tests.aside), weather)
    nights = nights_of(readings)
    leak = leak_of(readings)
    rain = rain_of(readings, nights, leak.L_h)
    ua_W_K = fitted_ua_W_K(readings, _disturbed(readings))
    metered = [heat_of(readings, night, rain.per_step_L, ua_W_K) for night in nights]
    heats, refusals = refused(readings, nights, metered)
    apart = contradictions(heats)
    heats = widened(heats, apart)
    sprayed_L = [heat.sprayed_L for heat in heats]
    waters, outliers = without_outliers(nights, [water_of(readings, night, rain) for night in nights], sprayed_L, leak)
    split = split_of(readings, nights, waters, sprayed_L, rain, leak)
    amounts = [amounts_of(readings, *parts) for parts in zip(heats, waters, split.nights, strict=True)]
    return _Reckoned(readings, tests, nights, leak, rain, ua_W_K, heats, refusals, apart, waters, outliers, split,
                     amounts)


def _amounts_on(nights: list[Night], other: _Reckoned) -> list[dict[str, Amount | None]]:
    """Another reading's amounts on the same dates; unknown where it has no such night."""
    by_date = dict(zip([night.date for night in other.nights], other.amounts, strict=True))
    none = dict.fromkeys(other.amounts[0]) if other.amounts else {}
    return [by_date.get(night.date, none) for night in nights]


def quantities(measured: Measured) -> dict[str, Quantity]:
    """The measured period's quantities by identifier, for all nights of the period."""
    return {id: Quantity(found.value, found.low, found.high, QUANTITIES[id].unit, QUANTITIES[id].label, found.basis,
                         found.grade)
            for id, found in measured.estimates.items() if id in QUANTITIES}


def _day_after(date) -> str:
    import datetime

    return (date + datetime.timedelta(days=1)).isoformat()


def _disturbed(readings: Readings) -> np.ndarray:
    """Steps in which more than the walls moved the store's heat: spray and an hour after, make-up, rain, floors."""
    hour = readings.steps_in(3600.0)
    moved = steps_widened(readings.running_frac > 0.0, 1, hour) | readings.unsure
    rain = rain_mm(readings)
    moved |= steps_widened(np.isnan(rain) | (rain > 0.0), hour, hour)
    for name in ("makeup_L_min", "cooling_L_min", "pump_W"):
        for column in readings.columns_like(name):
            moved |= steps_widened(np.nan_to_num(readings.column(column)) > 0.0, 1, hour)
    if readings.site.emitter and not readings.columns_like("cooling_L_min"):
        moved |= readings.in_hours(readings.site.load.from_h, readings.site.load.to_h)
    return moved


def _notes(rain, leak: Leak, split: Split) -> list[str]:
    """How it was done, in sentences."""
    by_level = sum(shower.by_level for shower in rain.showers)
    notes = [f"Rain caught: by the rise of the level in {by_level} of {len(rain.showers)} showers, by gauge and stated "
             "roofs in the others."] if rain.showers else []
    notes.append({"test": "Leaks are those of the leak test.", "stated": "Leaks are as the site file states them.",
                  "": "Leaks are not known and stay in the remainder."}[leak.by])
    notes.append("Evaporation and drift are not told apart." if split.share is None else
                 "Evaporation is told from drift by the tracer; what dried on the roof counts as evaporated.")
    return notes
