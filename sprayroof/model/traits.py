"""Yes/no and text facts of a site that the report's cautions and method page depend on."""

from __future__ import annotations

from typing import Any

from sprayroof.evidence.weather_files.cloud_layers import COVERS
from sprayroof.model.members import rivals
from sprayroof.model.simulate import Trace
from sprayroof.physics.convection_rivals import CONVECTION
from sprayroof.results import Quantity

FLAT_BELOW_DEG = 5.0


def traits(site: Any, weather: Any, trace: Trace, quantities: dict[str, Quantity]) -> dict[str, Any]:
    """What the cautions look at.

    Parameters
    ----------
    site, weather
        Site file and weather.
    trace : Trace
        The simulated year.
    quantities : dict of str to Quantity
        Of the year.

    Returns
    -------
    dict
        Names as printed here; hours are those of the best estimate.
    """
    day = trace.days[0]
    hours = {name: float(day[name].sum()) / 3600.0 for name in ("warm_mist_s", "frost_s", "dew_limited_s")}
    return {
        "flat_roof": any(roof.slope_deg.value < FLAT_BELOW_DEG for roof in site.roof),
        "backflow": site.safety.backflow, "water_treatment": site.safety.water_treatment,
        "people_near_spray": site.safety.people_near_spray, "potable_labels": site.safety.potable_labels,
        "hours_store_20_45_spraying_h": hours["warm_mist_s"], "frost_hours_spraying_h": hours["frost_s"],
        "dew_limited_hours_h": hours["dew_limited_s"],
        "has_prices": "money_net" in quantities, "prices_date": site.prices.date, "prices_tax": site.prices.tax,
        "typical_year": bool(weather.names["typical_year"]),
        "rain_known": not any(one.code.startswith("weather.rain") and one.level == "doubt" for one in weather.findings),
        "load_kind": site.load.kind,
        "cop_source": site.air_conditioner.rated_cop.source, "drift_measured": False,
        "data_repaired": False, "booster": site.booster is not None, "ac_kind": site.air_conditioner.kind,
        "part_load": site.air_conditioner.part_load,
        "mains_rule": site.mains.rule,
        "sky_model": site.weather.sky_model, "cloud_model": site.weather.cloud_model,
        "cloud_layers": set(COVERS) <= set(weather.table.columns),
        "long_wave": weather.names["long_wave"], "convection": CONVECTION[site.weather.convection_model].words,
        "convection_model": site.weather.convection_model,
        "formulas_drawn": [kind for kind, names in rivals(site).items() if len(names) > 1],
        "covers": [] if site.panels is not None else sorted(
            {roof.cover for roof in site.roof if roof.sprayed} - {"none"}),
        "panels": "" if site.panels is None else site.panels.kind,
        "evaporation": "Chilton-Colburn analogy", "weather_file": weather.names["file"],
    }
