"""From the traces of an ensemble to quantities with ranges, months and nights."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
import pandas as pd

from sprayroof.catalogue import QUANTITIES
from sprayroof.model.drivers import night_dates
from sprayroof.model.records import FLOW, as_numbers
from sprayroof.model.simulate import Trace
from sprayroof.model.uncertainty import interval
from sprayroof.model.weeks import typical_week
from sprayroof.physics.constants import RHO_WATER
from sprayroof.results import Quantity

J_PER_KWH = 3.6e6
KG_PER_M3 = RHO_WATER
KG_PER_L = RHO_WATER / 1000.0
# what stands on the roof, and the heat of the decks, belong to the balance too
ON_ROOF = {"store_kg": ("roof_kg",), "store_heat_J": ("roof_heat_J", "deck_heat_J"), "salt_kg": ()}
GRADE_LIMITS = (("B", 0.25), ("C", 0.50))
LAST_DIGITS = 1e-11  # of a sum of a year's steps that two ways of summing may differ in

# Members of a quantity by id, (members,) each
Members = dict[str, np.ndarray]


def totals(trace: Trace, days: np.ndarray | slice) -> Members:
    """Sums of every flow over some days, by field name, for all members."""
    sums = as_numbers(trace.days)[:, days].sum(axis=1)
    return {name: sums[:, place] for place, name in enumerate(FLOW.names)}


def quantities_of(flows: Members, without: Members) -> Members:
    """Amounts of a period by their fixed identifiers, all members; `without` is the same period never sprayed."""
    kWh = {name: flows[name] / J_PER_KWH for name in flows if name.endswith("_J")}
    m3 = {name: flows[name] / KG_PER_M3 for name in flows if name.endswith("_kg")}
    unsprayed = {name: without[name] / J_PER_KWH for name in without if name.endswith("_J")}
    boosted = without["booster_J"] > 0.0
    stored = kWh["roof_J"] - kWh["pump_heat_J"]
    # beside a booster only the difference to the unsprayed year can be told the roof's
    not_roof = {name: np.where(boosted, unsprayed[name], 0.0) for name in ("delivered_J", "useful_J")}
    useful_caused = kWh["useful_J"] - unsprayed["useful_J"]
    # electricity is what spraying changes: the same store, never sprayed, would have cooled a little too
    whole = kWh["ac_without_J"] - kWh["ac_with_J"]
    booster_spared = less(unsprayed["booster_electric_J"], kWh["booster_electric_J"])
    avoided = whole - (unsprayed["ac_without_J"] - unsprayed["ac_with_J"]) + booster_spared
    cooling_side = kWh["circulator_J"] + kWh["standing_cooling_J"]
    own = (kWh["spray_pump_J"] + kWh["standing_J"] + cooling_side
           - unsprayed["circulator_J"] - unsprayed["standing_cooling_J"])
    mains = m3["mains_kg"] + m3["bypass_kg"]
    return {
        "cooling_roof_kWh": kWh["roof_J"], "cooling_stored_kWh": stored,
        "cooling_delivered_kWh": kWh["delivered_J"] - not_roof["delivered_J"],
        "cooling_useful_kWh": kWh["useful_J"] - not_roof["useful_J"],
        "longwave_kWh": kWh["longwave_J"], "convection_kWh": kWh["convection_J"],
        "evaporation_heat_kWh": kWh["latent_J"], "roof_conduction_kWh": kWh["deck_J"],
        "electricity_avoided_kWh": avoided, "electricity_own_kWh": own, "electricity_net_kWh": avoided - own,
        "ac_electricity_kWh": kWh["ac_without_J"], "load_kWh": kWh["load_J"], "free_cooling_kWh": kWh["free_J"],
        "sprayed_m3": m3["sprayed_kg"], "evaporation_m3": m3["evaporation_kg"],
        "condensation_m3": m3["condensation_kg"], "drift_m3": m3["drift_kg"], "bleed_m3": m3["bleed_kg"],
        "leak_m3": m3["leak_kg"], "other_uses_m3": m3["uses_kg"], "overflow_m3": m3["overflow_kg"],
        "flush_lost_m3": m3["flush_lost_kg"], "dried_m3": m3["dried_kg"],
        "store_evaporation_m3": m3["surface_kg"], "rain_caught_m3": m3["rain_kg"], "mains_m3": mains,
        "mains_bypass_m3": m3["bypass_kg"],
        "mains_caused_m3": less(mains, (without["mains_kg"] + without["bypass_kg"]) / KG_PER_M3),
        "unmet_uses_m3": m3["unmet_kg"],
        "unmet_caused_m3": less(m3["unmet_kg"], without["unmet_kg"] / KG_PER_M3),
        "booster_cooling_kWh": kWh["booster_J"], "booster_electricity_kWh": kWh["booster_electric_J"],
        "booster_spared_kWh": booster_spared,
        "useful_without_spray_kWh": unsprayed["useful_J"], "useful_caused_kWh": useful_caused,
        "electricity_avoided_whole_kWh": whole,
        "spray_hours_h": flows["spray_s"] / 3600.0,
    }


def less(with_it: np.ndarray, without: np.ndarray) -> np.ndarray:
    """The difference of two sums over the same year; 0 where they differ by the last digits of their sums alone."""
    difference = with_it - without
    return np.where(np.abs(difference) <= LAST_DIGITS * (np.abs(with_it) + np.abs(without)), 0.0, difference)


def add_ratios(amounts: Members) -> None:
    """Shares and specific figures of a period, added in place; NaN where there is nothing to divide by."""
    ac, useful = amounts["ac_electricity_kWh"], amounts["useful_caused_kWh"]
    lost = (amounts["evaporation_m3"] - amounts["condensation_m3"] + amounts["drift_m3"] + amounts["bleed_m3"]
            + amounts["flush_lost_m3"] + amounts["dried_m3"])
    demand = (lost + amounts["other_uses_m3"] + amounts["mains_bypass_m3"] + amounts["leak_m3"]
              + amounts["unmet_uses_m3"])
    amounts["ac_offset_frac"] = _ratio(amounts["electricity_avoided_kWh"], ac)
    amounts["ac_offset_net_frac"] = _ratio(amounts["electricity_net_kWh"], ac)
    amounts["water_per_useful_L_kWh"] = _ratio(1000.0 * lost, useful)
    amounts["useful_per_own_kWh_kWh"] = _ratio(useful, amounts["electricity_own_kWh"])
    not_rain = amounts["mains_m3"] + amounts["unmet_uses_m3"] + np.maximum(0.0, -amounts["storage_change_m3"])
    amounts["refill_reliability_frac"] = np.clip(1.0 - _ratio(not_rain, demand), 0.0, 1.0)


def _ratio(above: np.ndarray, below: np.ndarray) -> np.ndarray:
    some = np.abs(below) > 1e-9
    return np.where(some, above / np.where(some, below, 1.0), np.nan)


def add_year_only(amounts: Members, trace: Trace) -> None:
    """Figures that make sense for the whole period only, added in place."""
    amounts["storage_change_m3"] = (trace.ends["store_kg"][:, -1] + trace.ends["roof_kg"][:, -1]
                                    - trace.start["store_kg"]) / KG_PER_M3
    amounts["coldest_store_C"] = trace.residual["coldest_C"]


def add_money(amounts: Members, site: Any, values: Members) -> None:
    """Money and carbon a year, added in place where the site file gives the prices."""
    net = amounts["electricity_net_kWh"]
    if site.prices.electricity_per_kWh is not None and site.prices.water_per_m3 is not None:
        water = amounts["mains_caused_m3"] * values["prices.water"]
        sewer = (amounts["bleed_m3"] + amounts["flush_lost_m3"]) * values["prices.sewer"]
        amounts["money_net"] = net * values["prices.electricity"] - water - sewer - values["prices.upkeep"]
    if site.prices.carbon_kg_kWh is not None:
        amounts["carbon_net_kg"] = net * values["prices.carbon"]


def quantity(id: str, members: np.ndarray, basis: str, currency: str = "") -> Quantity:
    """A quantity with its 90 % interval and the grade its basis and width earn."""
    known = members[np.isfinite(members)]
    whole = known.size == members.size
    value, low, high = interval(members if whole else np.array([np.nan])) if members.size else (np.nan,) * 3
    meaning = QUANTITIES[id]
    unit = currency if meaning.unit == "currency" else meaning.unit
    return Quantity(value, low, high, unit, meaning.label, basis, grade(value, low, high, basis))


def grade(value: float, low: float, high: float, basis: str) -> str:
    """A measured within 10 %, B within 25 %, C fitted within 50 %, D otherwise or where the sign is open."""
    if basis in ("modelled", "assumed") or not np.isfinite(value) or low < 0.0 < high or value == 0.0:
        return "D"
    width = 0.5 * (high - low) / abs(value)
    if basis == "measured" and width <= 0.10:
        return "A"
    return next((letter for letter, limit in GRADE_LIMITS if width <= limit), "D")


def months_of(trace: Trace, without: Trace, dates: pd.DatetimeIndex) -> tuple[dict[str, Any], ...]:
    """A row a month: month number and, by id, best estimate and range."""
    rows = []
    for month in range(1, 13):
        days = np.flatnonzero(dates.month == month)
        amounts = quantities_of(totals(trace, days), totals(without, days))
        row: dict[str, Any] = {"month": f"{month:02d}"}
        for id, members in amounts.items():
            value, low, high = interval(members)
            row[id] = {"value": value, "low": low, "high": high}
        rows.append(row)
    return tuple(rows)


def nights_of(trace: Trace, site: Any, weather: Any, drivers: np.ndarray) -> tuple[dict[str, Any], ...]:
    """A row a night, best estimate: what was sprayed, what it did, and the weather meanwhile."""
    table = pd.DataFrame(as_numbers(trace.steps), columns=list(FLOW.names))
    table["date"] = night_dates(site, weather.table.index)
    table["rain_mm"] = drivers["rain_mm"]
    dark = (weather.table["sun_elevation_deg"] < 0.0).to_numpy()
    for name, source in (("t_air_C", "t_air_C"), ("t_wetbulb_C", "t_wetbulb_C"), ("wind_m_s", "wind_station_m_s")):
        table[name] = np.where(dark, drivers[source], np.nan)
    table["store_C"] = trace.states["t_outlet_C"]
    grouped = table.groupby("date", sort=True)
    sums, means = grouped.sum(numeric_only=True), grouped.mean(numeric_only=True)
    ran = table[table["spray_s"] > 0.0].groupby("date")["store_C"]
    first, last = ran.first(), ran.last()
    return tuple(_night(date, sums.loc[date], means.loc[date], first.get(date), last.get(date)) for date in sums.index)


def _night(date: Any, sums: pd.Series, means: pd.Series, start_C: float | None, end_C: float | None) -> dict[str, Any]:
    return {
        "date": date.isoformat(), "spray_hours_h": float(sums["spray_s"]) / 3600.0,
        "sprayed_m3": float(sums["sprayed_kg"]) / KG_PER_M3,
        "cooling_roof_kWh": float(sums["roof_J"]) / J_PER_KWH, "longwave_kWh": float(sums["longwave_J"]) / J_PER_KWH,
        "convection_kWh": float(sums["convection_J"]) / J_PER_KWH,
        "evaporation_heat_kWh": float(sums["latent_J"]) / J_PER_KWH,
        "roof_conduction_kWh": float(sums["deck_J"]) / J_PER_KWH,
        "evaporation_m3": float(sums["evaporation_kg"]) / KG_PER_M3,
        "condensation_m3": float(sums["condensation_kg"]) / KG_PER_M3,
        "drift_m3": float(sums["drift_kg"]) / KG_PER_M3,
        "useful_kWh": float(sums["useful_J"]) / J_PER_KWH,
        "mains_m3": float(sums["mains_kg"] + sums["bypass_kg"]) / KG_PER_M3,
        "store_start_C": None if start_C is None else float(start_C),
        "store_end_C": None if end_C is None else float(end_C),
        "t_air_mean_C": float(means["t_air_C"]), "t_wetbulb_mean_C": float(means["t_wetbulb_C"]),
        "wind_mean_m_s": float(means["wind_m_s"]), "rain_mm": float(sums["rain_mm"]),
    }


def closure_of(traces: Iterable[Trace]) -> dict[str, dict[str, float]]:
    """Largest residuals of the water, heat and salt balances, over any step and over the whole period."""
    result: dict[str, dict[str, float]] = {}
    for trace in traces:
        flows = totals(trace, slice(None))
        water_in = flows["rain_kg"] + flows["mains_kg"] + flows["condensation_kg"]
        water_out = sum(flows[name] for name in ("evaporation_kg", "drift_kg", "flush_lost_kg", "dried_kg",
                                                 "surface_kg", "uses_kg", "leak_kg", "bleed_kg", "overflow_kg"))
        gains = sum(flows[name] for name in ("pump_heat_J", "cooling_side_J", "water_in_J", "deck_J", "deck_gain_J"))
        losses = sum(flows[name] for name in ("roof_J", "walls_J", "surface_J", "booster_J", "water_out_J", "dried_J",
                                              "rain_deck_J"))
        for part, field, inward, outward in (("water_kg", "store_kg", water_in, water_out),
                                             ("heat_J", "store_heat_J", gains, losses),
                                             ("salt_kg", "salt_kg", flows["salt_in_kg"], flows["salt_out_kg"])):
            names = (field, *ON_ROOF[field])
            start, end = sum(trace.start[name] for name in names), sum(trace.ends[name][:, -1] for name in names)
            residual = np.abs(start + inward - outward - end)
            stem = part.split("_")[0]
            row = {
                "step_abs": float(trace.residual[f"{stem}_step_{'J' if stem == 'heat' else 'kg'}"].max()),
                "step_rel": float(trace.residual[f"{stem}_step_rel"].max()),
                "period_abs": float(residual.max()),
                "period_rel": float((residual / (np.abs(start) + np.abs(inward) + np.abs(outward) + 1e-9)).max()),
            }
            known = result.setdefault(part, row)
            result[part] = {key: max(known[key], row[key]) for key in row}
    return result


def steps_table(trace: Trace, weather: Any, time_zone: str) -> pd.DataFrame:
    """Every step of the best estimate: local time, weather, store, heat and water (for steps.csv)."""
    index = weather.table.index.tz_convert(time_zone)
    power = {name: trace.steps[name] / trace.dt_s for name in FLOW.names if name.endswith("_J")}
    columns: dict[str, Any] = {
        "time_local": [moment.isoformat() for moment in index],
        "t_air_C": weather.table["t_air_C"].to_numpy(), "wind_m_s": weather.table["wind_m_s"].to_numpy(),
        "rain_mm": weather.table["rain_mm"].to_numpy(),
        "store_m3": trace.states["store_kg"] / KG_PER_M3, "t_store_C": trace.states["t_outlet_C"],
        "t_return_C": trace.states["t_return_C"], "running": trace.states["running"],
        "cooling_roof_W": power["roof_J"], "longwave_W": power["longwave_J"], "convection_W": power["convection_J"],
        "evaporation_heat_W": power["latent_J"], "roof_conduction_W": power["deck_J"],
        "walls_W": power["walls_J"], "delivered_W": power["delivered_J"], "useful_W": power["useful_J"],
        "load_W": power["load_J"],
        "evaporation_kg": trace.steps["evaporation_kg"], "condensation_kg": trace.steps["condensation_kg"],
        "drift_kg": trace.steps["drift_kg"], "rain_kg": trace.steps["rain_kg"],
        "mains_kg": trace.steps["mains_kg"] + trace.steps["bypass_kg"], "uses_kg": trace.steps["uses_kg"],
        "overflow_kg": trace.steps["overflow_kg"],
    }
    return pd.DataFrame(columns)


def week_series(
    trace: Trace, weather: Any, drivers: np.ndarray, time_zone: str, panels: bool = False,
) -> dict[str, Any]:
    """A typical week with spraying (or with the panels running), hourly, best estimate: store, outdoor air, wet bulb,
    water off the roof."""
    index = weather.table.index.tz_convert(time_zone)
    a_day = round(86400.0 / trace.dt_s)
    days = len(index) // a_day * a_day
    daily = [trace.steps[name][:days].reshape(-1, a_day).sum(axis=1) for name in ("spray_s", "roof_J", "useful_J")]
    first_day, sprayed = typical_week(*daily)
    first = first_day * a_day
    hour = round(3600.0 / trace.dt_s)
    rows = slice(first, first + 7 * a_day)
    frame = pd.DataFrame({
        "Store": trace.states["t_outlet_C"][rows], "Outdoor air": drivers["t_air_C"][rows],
        "Wet bulb": drivers["t_wetbulb_C"][rows],
        f"Water off the {'panels' if panels else 'roof'}": trace.states["t_return_C"][rows],
    })
    hourly = frame.groupby(np.arange(len(frame)) // hour).mean()
    values = {name: [None if not np.isfinite(number) else round(float(number), 3) for number in column]
              for name, column in hourly.items()}
    running = "with the panel loop running" if panels else "with spraying"
    title = f"A typical week {running}" if sprayed else "A week with much useful cooling"
    return {"title": title, "unit": "degC",
            "time": [moment.isoformat() for moment in index[rows][::hour]], "values": values}


def level_series(trace: Trace, dates: pd.DatetimeIndex) -> dict[str, Any]:
    """Content of the store at the end of every day, best estimate, with rain, mains and overflow of the day."""
    day = trace.days[0]
    return {"title": "Content of the store", "unit": "m3", "time": [date.date().isoformat() for date in dates],
            "values": {"Content": [round(float(value) / KG_PER_M3, 4) for value in trace.ends["store_kg"][0]],
                       "Rain": [round(float(value) / KG_PER_M3, 4) for value in day["rain_kg"]],
                       "Mains": [round(float(value) / KG_PER_M3, 4) for value in day["mains_kg"]],
                       "Overflow": [round(float(value) / KG_PER_M3, 4) for value in day["overflow_kg"]]}}
