"""Invented audits for the tests of the report: plausible figures, consistent with one another, of sites that are not.

Nothing here is output of the program: the figures are set by hand and by the small formulas below.
"""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date, datetime, timedelta, timezone

from sprayroof.catalogue import QUANTITIES
from sprayroof.results import Audit, Claim, Finding, Option, Period, Quantity

LATENT_KWH_PER_M3 = 680.3  # 2453.5 kJ/kg x 998.2 kg/m3 / 3600
MONTH_SHARE = (0.0, 0.0, 0.02, 0.06, 0.11, 0.17, 0.22, 0.21, 0.13, 0.06, 0.02, 0.0)
MONTH_LOAD_MWh = (1.2, 1.5, 3.1, 6.0, 11.2, 17.9, 23.6, 22.8, 14.1, 6.9, 2.4, 1.3)

HOSTILE_NAME = '</para><b>Roof & Sons</b> <font size=99>“Ünïcødé”\x07\x00 =HYPERLINK("http://example.invalid")'
HOSTILE_WORD = "Donau" + "dampfschiff" * 40


def quantity(
    id: str,
    value: float,
    spread: float,
    basis: str = "modelled",
    grade: str = "D",
    low: float | None = None,
    high: float | None = None,
) -> Quantity:
    """A quantity with a half-width of `spread` times its size, or with given ends."""
    meaning = QUANTITIES[id]
    half = abs(value) * spread
    return Quantity(
        value,
        value - half if low is None else low,
        value + half if high is None else high,
        meaning.unit,
        meaning.label,
        basis,
        grade,
    )


def year_quantities() -> dict[str, Quantity]:
    """A year in which a large shed roof in a dry summer climate does well."""
    evaporation, condensation = 47.9, 2.1
    evaporation_heat = (evaporation - condensation) * LATENT_KWH_PER_M3
    longwave, convection, conduction = 19_840.0, 3_120.0, -3_650.0
    roof = longwave + convection + evaporation_heat + conduction
    useful, avoided, own = 30_960.0, 10_320.0, 1_870.0
    drift, bleed, flush, uses, overflow, leak = 11.4, 6.2, 1.1, 188.0, 214.0, 3.6
    rain, mains, storage_change = 438.0, 41.3, 7.4
    lost = evaporation + drift + bleed + flush - condensation
    ids = {
        "cooling_roof_kWh": (roof, 0.21),
        "cooling_stored_kWh": (roof - 1_240.0, 0.21),
        "cooling_delivered_kWh": (36_700.0, 0.19),
        "cooling_useful_kWh": (useful, 0.18),
        "longwave_kWh": (longwave, 0.22),
        "convection_kWh": (convection, 1.35),
        "evaporation_heat_kWh": (evaporation_heat, 0.31),
        "roof_conduction_kWh": (conduction, 0.45),
        "electricity_avoided_kWh": (avoided, 0.21),
        "electricity_own_kWh": (own, 0.12),
        "electricity_net_kWh": (avoided - own, 0.25),
        "ac_electricity_kWh": (41_280.0, 0.2),
        "ac_offset_frac": (avoided / 41_280.0, 0.18),
        "ac_offset_net_frac": ((avoided - own) / 41_280.0, 0.22),
        "sprayed_m3": (15_420.0, 0.09),
        "evaporation_m3": (evaporation, 0.3),
        "condensation_m3": (condensation, 0.6),
        "drift_m3": (drift, 0.8),
        "bleed_m3": (bleed, 0.5),
        "leak_m3": (leak, 0.99),
        "other_uses_m3": (uses, 0.15),
        "overflow_m3": (overflow, 0.3),
        "flush_lost_m3": (flush, 0.5),
        "rain_caught_m3": (rain, 0.1),
        "mains_m3": (mains, 0.5),
        "mains_caused_m3": (22.6, 0.55),
        "storage_change_m3": (storage_change, 0.4),
        "unmet_uses_m3": (0.0, 0.0),
        "refill_reliability_frac": (0.84, 0.08),
        "water_per_useful_L_kWh": (lost * 1000.0 / useful, 0.3),
        "useful_per_own_kWh_kWh": (useful / own, 0.25),
        "money_net": ((avoided - own) * 0.24 - 22.6 * 2.4 - 7.3 * 2.2 - 420.0, 0.34),
        "carbon_net_kg": ((avoided - own) * 0.31, 0.25),
        "booster_cooling_kWh": (0.0, 0.0),
        "spray_hours_h": (1_285.0, 0.06),
    }
    found = {id: quantity(id, *numbers) for id, numbers in ids.items()}
    found["leak_m3"] = replace(found["leak_m3"], basis="assumed")
    found["coldest_store_C"] = quantity("coldest_store_C", 11.3, 0.0, low=9.8, high=12.7)
    return found


def facts(prices: bool = True) -> list[dict]:
    """Facts of the site file: given ones and defaults."""
    rows = [
        ("roof.1.area", "Roof area, long shed", 1240.0, 1221.4, 1258.6, "m2", "drawing", "sheet A-102", True),
        ("roof.1.slope", "Roof slope", 4.0, 3.5, 4.5, "deg", "drawing", "", True),
        ("roof.1.wetted_share", "Share of the roof that stays wet", 0.8, 0.55, 1.0, "frac", "default", "", False),
        ("roof.1.deck_u", "Roof deck U-value", 0.42, 0.3, 0.55, "W/m2K", "guess", "", True),
        ("roof.1.deck_capacity", "Roof deck heat capacity", 8.0, 4.8, 11.2, "kJ/m2K", "default", "", False),
        ("roof.1.beneath_temperature", "Temperature beneath the roof", 24.0, 21.0, 27.0, "C", "default", "", False),
        ("spray.flow", "Spray flow", 200.0, 190.0, 210.0, "L/min", "measured", "bucket and watch, 3 times", True),
        ("spray.drop_size", "Drop size (Sauter)", 1.5, 0.8, 2.5, "mm", "default", "", False),
        ("spray.pump_power", "Spray pump power", 1150.0, 1092.5, 1207.5, "W", "nameplate", "", True),
        ("store.volume", "Store volume", 45.0, 43.9, 46.1, "m3", "owner", "“about the size of the old tank”", True),
        ("store.u", "Store wall U-value", 1.0, 0.3, 3.0, "W/m2K", "default", "", False),
        ("use.toilets.draw", "Draw of toilets", 740.0, 573.5, 906.5, "L/day", "owner", "", True),
        (
            "emitter.slab.resistance",
            "Resistance water to floor surface",
            0.1,
            0.05,
            0.15,
            "m2K/W",
            "default",
            "",
            False,
        ),
        ("load.ua", "Heat gain per kelvin", 2.1, 1.68, 2.52, "kW/K", "guess", "", True),
        ("load.balance_point", "Balance point", 19.0, 17.5, 20.5, "C", "guess", "", True),
        ("air_conditioner.rated_cop", "Rated COP", 3.0, 2.7, 3.3, "1", "nameplate", "", True),
        ("weather.air_offset", "Offset of the air temperature", 0.0, -0.5, 0.5, "K", "default", "", False),
        ("weather.wind_factor", "Wind at the roof over the station's", 1.0, 0.7, 1.4, "frac", "default", "", False),
        ("standing.1.power", "Controller and dosing pump", 70.0, 66.5, 73.5, "W", "measured", "clamp meter", True),
    ]
    if prices:
        rows += [
            ("prices.electricity", "Price of electricity", 0.24, 0.228, 0.252, "EUR/kWh", "owner", "bill", True),
            ("prices.water", "Price of water", 2.4, 2.28, 2.52, "EUR/m3", "owner", "bill", True),
            ("prices.sewer", "Sewer charge", 2.2, 2.09, 2.31, "EUR/m3", "owner", "bill", True),
            ("prices.upkeep", "Upkeep per year", 420.0, 294.0, 546.0, "EUR/year", "guess", "", True),
        ]
    keys = ("entry", "label", "value", "low", "high", "unit", "source", "note", "given")
    return [dict(zip(keys, row, strict=True)) for row in rows]


def traits(**changes) -> dict:
    """Traits as the model writes them."""
    base = {
        "flat_roof": True,
        "backflow": "not sighted",
        "water_treatment": "",
        "people_near_spray": True,
        "hours_store_20_45_spraying_h": 212.4,
        "frost_hours_spraying_h": 0.0,
        "dew_limited_hours_h": 61.0,
        "has_prices": True,
        "prices_date": "2024-01",
        "typical_year": True,
        "rain_known": True,
        "potable_labels": "not sighted",
        "load_kind": "balance point",
        "cop_source": "nameplate",
        "drift_measured": False,
        "data_repaired": False,
        "sky_model": "berdahl_martin",
        "cloud_model": "martin_berdahl",
        "convection": "turbulent plate",
        "evaporation": "chilton_colburn",
        "long_wave": "model",
    }
    return {**base, **changes}


def months(year: dict[str, Quantity]) -> tuple[dict, ...]:
    """Twelve rows that add up to the year's best estimates."""
    rows = []
    for index, share in enumerate(MONTH_SHARE):
        row: dict = {"month": f"{index + 1:02d}"}
        for id in (
            "cooling_roof_kWh",
            "cooling_useful_kWh",
            "electricity_avoided_kWh",
            "evaporation_m3",
            "drift_m3",
            "mains_caused_m3",
            "sprayed_m3",
            "spray_hours_h",
        ):
            row[id] = _scaled(year[id], share)
        for id in ("rain_caught_m3", "other_uses_m3", "electricity_own_kWh"):
            row[id] = _scaled(year[id], 1.0 / 12.0)
        own, avoided = row["electricity_own_kWh"], row["electricity_avoided_kWh"]
        row["electricity_net_kWh"] = {
            "value": avoided["value"] - own["value"],
            "low": avoided["low"] - own["high"],
            "high": avoided["high"] - own["low"],
        }
        row["load_kWh"] = {
            "value": MONTH_LOAD_MWh[index] * 1000.0,
            "low": MONTH_LOAD_MWh[index] * 800.0,
            "high": MONTH_LOAD_MWh[index] * 1200.0,
        }
        rows.append(row)
    return tuple(rows)


def _scaled(quantity: Quantity, share: float) -> dict[str, float]:
    return {"value": quantity.value * share, "low": quantity.low * share, "high": quantity.high * share}


def nights(count: int) -> tuple[dict, ...]:
    """`count` nights from 1 May 2001 on, some of them without spraying."""
    rows = []
    for index in range(count):
        swing = 0.5 + 0.5 * math.sin(index * 0.9)
        off = index % 9 == 4
        hours = 0.0 if off else 4.0 + 5.0 * swing
        rows.append(
            {
                "date": (date(2001, 5, 1) + timedelta(days=index)).isoformat(),
                "spray_hours_h": hours,
                "sprayed_m3": hours * 12.0,
                "cooling_roof_kWh": hours * 34.5,
                "longwave_kWh": hours * 15.0,
                "convection_kWh": hours * (4.0 - 6.0 * swing),
                "evaporation_heat_kWh": hours * 21.0,
                "evaporation_m3": hours * 0.031,
                "drift_m3": hours * 0.009,
                "store_start_C": 22.0 + 2.0 * swing,
                "store_end_C": 22.0 + 2.0 * swing - hours * 0.66,
                "t_air_mean_C": 17.0 + 4.0 * swing,
                "t_wetbulb_mean_C": 13.2 + 2.0 * swing,
                "wind_mean_m_s": 1.2 + 2.4 * swing,
                "rain_mm": 7.4 if off else 0.0,
                "reason_off": "rain" if off else "",
            }
        )
    return tuple(rows)


def week() -> dict:
    """A week of store and air temperatures, hourly, on local time."""
    zone = timezone(timedelta(hours=2))
    start = datetime(2001, 7, 9, tzinfo=zone)
    hours = range(7 * 24)
    return {
        "title": "Week of 9 July",
        "unit": "C",
        "time": [(start + timedelta(hours=h)).isoformat() for h in hours],
        "values": {
            "Store": [19.5 + 2.6 * math.sin((h - 14) / 24.0 * 2 * math.pi) + 0.008 * h for h in hours],
            "Outdoor air": [23.0 + 7.0 * math.sin((h - 9) / 24.0 * 2 * math.pi) for h in hours],
            "Wet bulb": [16.0 + 2.0 * math.sin((h - 9) / 24.0 * 2 * math.pi) for h in hours],
        },
    }


def level() -> dict:
    """A year of the store's content: 30 m3 but for ten days at the reserve with mains water and five at the brim."""
    days = [(date(2001, 1, 1) + timedelta(days=day)).isoformat() for day in range(365)]
    content, rain, mains, overflow = [30.0] * 365, [0.0] * 365, [0.0] * 365, [0.0] * 365
    for day in range(200, 210):
        content[day], mains[day] = 6.0, 1.5
    for day in range(300, 305):
        content[day], rain[day], overflow[day] = 45.0, 12.0, 4.0
    return {
        "title": "Content of the store",
        "unit": "m3",
        "time": days,
        "values": {"Content": content, "Rain": rain, "Mains": mains, "Overflow": overflow},
    }


def with_level() -> Audit:
    """The first site with its year of content and the reserve of the site file."""
    audit = works()
    reserve = {**audit.site["facts"][9], "entry": "store.reserve", "label": "Content below which spraying stops"}
    reserve |= {"value": 7.0, "low": 7.0, "high": 7.0, "note": ""}
    audit = changed_site(audit, facts=[*audit.site["facts"], reserve])
    return replace(audit, series={**audit.series, "level": level()})


def with_unsprayed() -> Audit:
    """The first site, where the store would give a part of the useful cooling without spraying."""
    return changed_year(
        works(),
        useful_without_spray_kWh=(9_288.0, 7_000.0, 11_600.0),
        useful_caused_kWh=(21_672.0, 17_120.0, 26_220.0),
        water_per_useful_L_kWh=(64.5 * 1000.0 / 21_672.0, 2.1, 3.9),
    )


def with_booster() -> Audit:
    """The first site with a chiller on the same store: most of what is avoided is the chiller's."""
    return changed_year(
        works(),
        booster_cooling_kWh=(21_000.0, 18_000.0, 24_000.0),
        booster_electricity_kWh=(6_200.0, 5_300.0, 7_100.0),
        booster_spared_kWh=(7_120.0, 5_100.0, 9_000.0),
        cooling_delivered_kWh=(9_600.0, 6_100.0, 13_000.0),
        cooling_useful_kWh=(9_400.0, 6_000.0, 12_800.0),
        useful_without_spray_kWh=(27_300.0, 24_000.0, 31_000.0),
        useful_caused_kWh=(9_400.0, 6_000.0, 12_800.0),
    )


PANEL_LOSSES = (
    "evaporation_m3",
    "condensation_m3",
    "drift_m3",
    "dried_m3",
    "bleed_m3",
    "flush_lost_m3",
    "mains_caused_m3",
    "evaporation_heat_kWh",
    "roof_conduction_kWh",
    "water_per_useful_L_kWh",
)


def with_panels(**quantities: tuple[float, float, float]) -> Audit:
    """The first site with closed panels in place of the spray: nothing lost, 19 840 + 3 120 kWh to sky and air."""
    zero = (0.0, 0.0, 0.0)
    year = {
        **dict.fromkeys(PANEL_LOSSES, zero),
        "cooling_roof_kWh": (22_960.0, 18_000.0, 27_000.0),
        "cooling_stored_kWh": (21_720.0, 17_000.0, 26_000.0),
        "cooling_delivered_kWh": (17_200.0, 14_000.0, 20_400.0),
        "cooling_useful_kWh": (16_600.0, 13_400.0, 19_900.0),
        "useful_without_spray_kWh": (4_150.0, 3_000.0, 5_300.0),
        "useful_caused_kWh": (12_450.0, 10_000.0, 15_000.0),
        "useful_per_own_kWh_kWh": (12_450.0 / 1_870.0, 5.0, 8.3),
        "money_net": (8_450.0 * 0.24 - 420.0, 1_000.0, 2_200.0),
        **quantities,
    }
    audit = changed_site(changed_year(works(), **year), traits=traits(panels="covered", ac_kind="packaged"))
    idle = {"spray.drop_size", "roof.1.wetted_share", "roof.1.deck_u", "roof.1.deck_capacity"}
    named = {"spray.flow": "Flow of all nozzles together", "spray.pump_power": "Electric power of the spray pump"}
    rows = [
        {**row, "label": named.get(row["entry"], row["label"]), "used": row["entry"] not in idle}
        for row in audit.site["facts"]
    ]
    panels = {**rows[0], "entry": "panels.area", "label": "Area of all panels", "value": 400.0, "low": 388.0}
    dry = {"evaporation_heat_kWh": 0.0, "evaporation_m3": 0.0, "drift_m3": 0.0}
    nights_of_panels = tuple({**row, **dry} for row in audit.nights)
    series = {
        **audit.series,
        "level": level(),
        "week": {**week(), "title": "A typical week with the panel loop running"},
    }
    series["week"]["values"]["Water off the panels"] = [12.0 if hour % 24 < 5 else None for hour in range(7 * 24)]
    reserve = {**rows[0], "entry": "store.reserve", "label": "Content below which spraying stops", "value": 7.0}
    site_facts = [*rows, panels, {**reserve, "low": 7.0, "high": 7.0, "unit": "m3"}]
    return replace(changed_site(audit, facts=site_facts), nights=nights_of_panels, series=series)


def assumptions() -> tuple[dict, ...]:
    """Assumptions with their effect on useful cooling."""
    rows = [
        ("Share of the roof that stays wet", "roof.1.wetted_share", 0.8, 0.55, 1.0, "frac", "default", 4_310.0),
        ("Heat gain per kelvin", "load.ua", 2.1, 1.68, 2.52, "kW/K", "guess", 2_980.0),
        ("Drop size (Sauter)", "spray.drop_size", 1.5, 0.8, 2.5, "mm", "default", -2_240.0),
        ("Cloud on each night", "weather.cloud_error", 0.0, -0.33, 0.33, "frac", "default", -1_720.0),
        ("Balance point", "load.balance_point", 19.0, 17.5, 20.5, "C", "guess", -1_310.0),
        ("Wind at the roof over the station's", "weather.wind_factor", 1.0, 0.7, 1.4, "frac", "default", 890.0),
        ("Store wall U-value", "store.u", 1.0, 0.3, 3.0, "W/m2K", "default", -620.0),
        ("Temperature beneath the roof", "roof.1.beneath_temperature", 24.0, 21.0, 27.0, "C", "default", -410.0),
        ("Spray flow", "spray.flow", 200.0, 190.0, 210.0, "L/min", "measured", 240.0),
        ("Roof area, long shed", "roof.1.area", 1240.0, 1221.4, 1258.6, "m2", "drawing", 190.0),
    ]
    keys = ("label", "entry", "value", "low", "high", "unit", "source", "effect")
    return tuple({**dict(zip(keys, row, strict=True)), "effect_unit": "kWh useful cooling"} for row in rows)


def works(paper: str = "A4", night_count: int = 153) -> Audit:
    """A site where the roof works, at the price of some mains water."""
    year = year_quantities()
    return Audit(
        site={
            "name": "Marrow Lane Packing Shed",
            "place": "Port Willunda",
            "owner": "Quillfeather Growers' Co-operative",
            "auditor": "T. Ashgrove",
            "report_date": "2024-03-11",
            "currency": "EUR",
            "paper": paper,
            "facts": facts(),
            "traits": traits(),
        },
        periods={"year": Period("2001-01-01", "2002-01-01", year)},
        findings=(
            Finding(
                "weather.rain-missing",
                "doubt",
                "The weather file carries no rain: 8760 of 8760 hours are coded -9900.",
                "weather/willunda.epw, column 33",
                {"hours": 8760},
                "Rain is taken from the rain record instead; mains water stands on that record alone.",
            ),
            Finding(
                "site.spray-density",
                "note",
                "The spray density is 0.16 L/min m2.",
                "site.toml, spray.flow",
                {"density": 0.161},
                "",
            ),
        ),
        fit={},
        options=(),
        claims=(),
        closure={
            "water_kg": {"step_abs": 3.1e-10, "step_rel": 4.2e-15, "period_abs": 8.8e-7, "period_rel": 1.1e-12},
            "heat_J": {"step_abs": 2.4e-4, "step_rel": 6.1e-13, "period_abs": 1.9, "period_rel": 3.4e-11},
            "salt_kg": {"step_abs": 1.2e-13, "step_rel": 2.2e-14, "period_abs": 4.4e-10, "period_rel": 7.0e-12},
        },
        months=months(year),
        nights=nights(night_count),
        inputs=(
            {"file": "site.toml", "sha256": "9f" * 32, "rows": 96, "span": "", "use": "site facts"},
            {
                "file": "weather/willunda.epw",
                "sha256": "3c" * 32,
                "rows": 8760,
                "span": "typical year, hourly",
                "use": "air, humidity, wind, cloud",
            },
            {
                "file": "weather/rain.csv",
                "sha256": "a7" * 32,
                "rows": 365,
                "span": "2001-01-01 to 2001-12-31",
                "use": "rain, daily at 09:00",
            },
        ),
        made={
            "versions": {"sprayroof": "0.1.0", "numpy": "2.4.6", "python": "3.11"},
            "seed": 20240311,
            "runs": 400,
            "command": "sprayroof audit marrow_lane --runs 400",
        },
        assumptions=assumptions(),
        series={"week": week()},
    )


def changed_year(audit: Audit, **quantities: tuple[float, float, float]) -> Audit:
    """`audit` with some of the year's quantities set to (value, low, high)."""
    year = audit.periods["year"]
    replaced = dict(year.quantities)
    for id, (value, low, high) in quantities.items():
        replaced[id] = quantity(id, value, 0.0, low=low, high=high)
    return replace(
        audit, periods={**audit.periods, "year": replace(year, quantities=replaced)}, months=months(replaced)
    )


def changed_site(audit: Audit, **changes) -> Audit:
    """`audit` with some keys of its site replaced."""
    return replace(audit, site={**audit.site, **changes})


def does_not_pay() -> Audit:
    """A humid site with a small load: the pumps and the standby eat what the roof gives."""
    audit = changed_year(
        works(),
        cooling_roof_kWh=(9_400.0, 4_100.0, 14_300.0),
        cooling_stored_kWh=(8_700.0, 3_500.0, 13_500.0),
        cooling_delivered_kWh=(4_200.0, 2_300.0, 6_100.0),
        cooling_useful_kWh=(1_900.0, 900.0, 3_000.0),
        electricity_avoided_kWh=(610.0, 280.0, 990.0),
        electricity_own_kWh=(1_930.0, 1_720.0, 2_150.0),
        electricity_net_kWh=(-1_320.0, -1_700.0, -900.0),
        money_net=(-780.0, -1_010.0, -560.0),
        longwave_kWh=(8_100.0, 5_900.0, 10_200.0),
        convection_kWh=(-2_300.0, -5_100.0, 300.0),
        evaporation_heat_kWh=(2_500.0, -900.0, 5_800.0),
        roof_conduction_kWh=(1_100.0, 300.0, 1_900.0),
        carbon_net_kg=(-409.0, -530.0, -280.0),
        ac_offset_frac=(0.015, 0.007, 0.024),
        ac_offset_net_frac=(-0.032, -0.042, -0.022),
        evaporation_m3=(5.8, 2.1, 10.4),
        condensation_m3=(2.1, 0.8, 4.4),
        drift_m3=(1.9, 0.4, 3.6),
        mains_m3=(3.4, 0.8, 6.6),
        mains_caused_m3=(1.2, 0.2, 2.4),
        bleed_m3=(0.0, 0.0, 0.0),
        overflow_m3=(240.1, 170.0, 310.0),
        water_per_useful_L_kWh=(3.5, 0.9, 6.6),
    )
    return changed_site(audit, name="Tidewater Hall", place="Lower Brimsea", owner="Parish of Brimsea")


def cannot_tell() -> Audit:
    """A site whose net money lies on both sides of zero."""
    audit = changed_year(
        works(),
        electricity_avoided_kWh=(3_100.0, 1_400.0, 5_200.0),
        electricity_net_kWh=(1_230.0, -480.0, 3_330.0),
        money_net=(-140.0, -640.0, 420.0),
    )
    return changed_site(audit, name="Old Tannery Workshops")


def without_prices() -> Audit:
    """The first site, its prices not given."""
    audit = works()
    year = audit.periods["year"]
    left = {id: quantity for id, quantity in year.quantities.items() if id not in ("money_net", "carbon_net_kg")}
    audit = replace(audit, periods={"year": replace(year, quantities=left)})
    return changed_site(audit, facts=facts(prices=False), traits=traits(has_prices=False, prices_date=""))


def hostile() -> Audit:
    """Names, notes and messages that try to be markup, formulas, control codes or very long words."""
    audit = works(night_count=3)
    rows = [dict(row) for row in audit.nights]
    rows[0]["reason_off"] = '=CMD("calc")'
    rows[1]["reason_off"] = '+1+1; rain, "quoted"\nsecond line'
    site_facts = [dict(fact) for fact in audit.site["facts"]]
    site_facts[0]["note"] = '=1+2 <img src="file:///etc/passwd"/> & <para>'
    site_facts[1]["label"] = HOSTILE_WORD
    site_facts[2]["note"] = "long note " * 900
    findings = (
        *audit.findings,
        Finding("site.strange", "doubt", "@SUM(A1:A9) <b>never closed", HOSTILE_WORD, {}, "-2+3"),
    )
    audit = replace(audit, nights=tuple(rows), findings=findings)
    return changed_site(
        audit,
        name=HOSTILE_NAME,
        owner=HOSTILE_WORD,
        place="בית קירור 17 · 冷却屋顶 · مبنى",
        auditor="\u202egnp.exe \ud800 half a pair",
        facts=site_facts,
    )


def with_everything() -> Audit:
    """A site with logs, options, claims and a fit: the parts that are optional."""
    audit = works()
    logged = {
        id: replace(quantity(id, value, spread), basis="measured", grade="A")
        for id, value, spread in (
            ("cooling_roof_kWh", 9_870.0, 0.05),
            ("sprayed_m3", 2_910.0, 0.03),
            ("evaporation_m3", 9.1, 0.2),
        )
    }
    year = audit.periods["year"]
    fitted = {id: replace(q, basis="fitted", grade="C") for id, q in year.quantities.items()}
    options = (
        Option(
            "Switch the controller's standby off",
            {
                "cooling_useful_kWh": {"value": 0.0, "low": 0.0, "high": 0.0, "unit": "kWh"},
                "electricity_net_kWh": {"value": 590.0, "low": 540.0, "high": 640.0, "unit": "kWh"},
                "mains_m3": {"value": 0.0, "low": 0.0, "high": 0.0, "unit": "m3"},
                "money_net": {"value": 142.0, "low": 128.0, "high": 156.0, "unit": "currency"},
            },
            {"value": 120.0, "low": 80.0, "high": 200.0},
            {"value": 0.85, "low": 0.5, "high": 1.5},
            (),
        ),
        Option(
            "A second tank of 45 m3",
            {
                "cooling_useful_kWh": {"value": 1_900.0, "low": -300.0, "high": 4_100.0, "unit": "kWh"},
                "electricity_net_kWh": {"value": 560.0, "low": -140.0, "high": 1_300.0, "unit": "kWh"},
                "mains_m3": {"value": -14.0, "low": -25.0, "high": -4.0, "unit": "m3"},
                "money_net": {"value": -210.0, "low": -380.0, "high": -40.0, "unit": "currency"},
            },
            None,
            None,
            ("needs 20 m2 of ground", "its own overflow"),
        ),
    )
    return replace(
        audit,
        periods={"logged": Period("2023-07-01", "2023-08-15", logged), "year": replace(year, quantities=fitted)},
        options=options,
        fit={
            "convection_multiplier": {"prior": [1.3, 0.35], "posterior": [1.12, 0.14]},
            "nmbe": 0.02,
            "cv_rmse": 0.14,
            "n": 31,
            "autocorrelation": 0.31,
        },
        claims=(
            Claim("Cuts air-conditioner electricity by half", "ac_offset_frac", 0.5, 0.02, "not supported"),
            Claim("Needs no mains water", "mains_m3", 0.0, 0.31, "cannot tell"),
        ),
    )
