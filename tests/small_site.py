"""A small invented site, invented weather for it, and one call that runs the model. Nothing here is measured."""

from __future__ import annotations

import copy
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd

from sprayroof.evidence.site import Site, site_from_dict
from sprayroof.model.drivers import drivers, formulas_of
from sprayroof.model.members import ensemble, rivals
from sprayroof.model.simulate import Trace, simulate

RECORD = {
    "site": {"name": "Quillhaven Depot", "report_date": "2026-02-28"},
    "place": {"latitude": 36.1, "longitude": -79.95, "elevation": 273, "time_zone": "Etc/GMT+5"},
    "weather": {"file": "data/723170TYA.CSV", "package": "pvlib"},
    "roof": [{"name": "long roof", "area": 400, "surface": "weathered metal"}],
    "spray": {"flow": 60, "pump_power": 400},
    "store": {"volume": 20},
    "emitter": [{"name": "floor", "kind": "floor", "area": 200, "flow": 30, "pump_power": 60}],
    "load": {"ua": 1.5, "balance_point": 16},
    "use": [{"name": "yard", "draw": 40}],
    "mains": {"rule": "top up", "top_up_below": 12, "top_up_to": 14, "flow": 60},
}


def small_site(**changes: Any) -> Site:
    """The invented site; `changes` gives sections, merged entry by entry (mains, lists and None replace)."""
    record = copy.deepcopy(RECORD)
    for section, entries in changes.items():
        if entries is None:
            record.pop(section, None)
        elif isinstance(entries, dict) and section != "mains":
            record[section] = {**record.get(section, {}), **entries}
        else:
            record[section] = entries
    return site_from_dict(record)


def steady_weather(days: int, step_min: int = 10, rain_mm: Any = 0.0, zone: str = "Etc/GMT+5", **values: float) -> Any:
    """Weather that does not change, but for rain (a number or an array a step) on a regular index."""
    steps = days * 24 * 60 // step_min
    index = pd.date_range("2001-01-01", periods=steps, freq=f"{step_min}min", tz=zone).tz_convert("UTC")
    held = {
        "t_air_C": 15.0,
        "t_dew_C": 8.0,
        "humidity_frac": 0.6,
        "pressure_Pa": 98000.0,
        "wind_m_s": 2.0,
        "cloud_frac": 0.0,
        "long_wave_W_m2": np.nan,
        "solar_W_m2": 0.0,
        "sun_elevation_deg": -20.0,
        "solar_hour_h": 0.0,
        **values,
    }
    table = pd.DataFrame(held, index=index)
    table["rain_mm"] = rain_mm
    return SimpleNamespace(
        table=table, names={"file": "invented", "typical_year": True, "long_wave": "model"}, findings=[]
    )


def run(site: Site, weather: Any, runs: int = 0, seed: int = 1, sprays: bool = True) -> Trace:
    """The model from site and weather to a trace."""
    driven = drivers(site, weather)
    members = ensemble(site, driven, runs, seed)
    chosen = members if sprays else members.without_spray()
    step_s = (weather.table.index[1] - weather.table.index[0]).total_seconds()
    formulas = formulas_of(site, weather, rivals(site))
    return simulate(driven, formulas, members.draws.cloud_error, chosen, step_s)


def total(trace: Trace, flow: str, member: int = 0) -> float:
    """Sum of a flow over the whole run."""
    return float(trace.days[flow][member].sum())
