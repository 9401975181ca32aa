"""A site and logs made by hand for the night ledger, with numbers from which the answer can be worked on paper."""

from __future__ import annotations

from typing import Any

import numpy as np
import pandas as pd
from small_site import small_site

from sprayroof.evidence.logs import Instrument, Logs
from sprayroof.evidence.site import Site

# A litre of water at 20 degC: 0.998207 kg, 4184.05 J/(kg K) (IAPWS-95): 4176.55 J/K, or 1.160153 kWh a m3 and kelvin
KWH_M3_K = 0.998207 * 4184.05 / 3600.0
LEAK_TEST = {"kind": "leak", "from": "2026-06-01 13:00", "to": "2026-06-01 19:00", "volume": 0.006, "accuracy": 0.1}
NO_LEAK = LEAK_TEST | {"volume": 0.0, "accuracy": 0.0}
# Supply and return that were never tested against each other
UNTESTED = {"supply_C": Instrument(0.1, 0.0), "return_C": Instrument(0.1, 0.0), "spray_L_min": Instrument(0.0, 0.03)}
NOON_UTC = pd.Timestamp("2026-06-01 17:00", tz="UTC")  # noon of Etc/GMT+5
EXACT = Instrument(0.0, 0.0, stated=True)


def sure(value: float) -> dict[str, float]:
    """A fact without range."""
    return {"value": value, "low": value, "high": value}


def hand_site(**changes: Any) -> Site:
    """A store of 20 m3, 2 m deep, outdoors; no users, no mains, no rain, nothing that takes the cold."""
    record = {
        "store": {"volume": sure(20), "height": sure(2), "placement": "outdoors"},
        "roof": [{"name": "long roof", "area": sure(400), "catches_rain": False}],
        "spray": {"flow": 100, "pump_power": 500, "pump_heat_share": {"value": 0.8, "low": 0.6, "high": 1.0}},
        "mains": {"rule": "none"}, "use": None, "emitter": None,
    }
    for name, value in changes.items():
        record[name] = {**record[name], **value} if isinstance(record.get(name), dict) and isinstance(
            value, dict) and name != "mains" else value
    return small_site(**record)


class Hours:
    """Steps of a log from an hour before the first noon, told in hours since that noon."""

    def __init__(self, nights: int = 2, step_min: int = 10):
        self.step_s = 60 * step_min
        count = (24 * nights + 2) * 60 // step_min
        self.index = pd.date_range(NOON_UTC - pd.Timedelta(hours=1), periods=count, freq=f"{step_min}min")
        self.starts = np.arange(count) * step_min / 60.0 - 1.0

    def between(self, start: float, stop: float) -> np.ndarray:
        """Steps within two times [h after the first noon]."""
        middles = self.starts + self.step_s / 7200.0
        return (middles >= start) & (middles < stop)

    def held(self, *parts: tuple[float, float], after: float = 0.0) -> np.ndarray:
        """A value from each time on: pairs of time [h] and value; `after` before the first."""
        values = np.full(len(self.starts), float(after))
        for start, value in parts:
            values[self.starts + self.step_s / 7200.0 >= start] = value
        return values

    def logs(self, instruments: dict[str, Instrument] | None = None, **columns: Any) -> Logs:
        """Logs of these columns (numbers or arrays); instruments are exact unless told."""
        table = pd.DataFrame({name: np.broadcast_to(np.asarray(values, dtype=float), len(self.index)).copy()
                              for name, values in columns.items()}, index=self.index)
        held = {name: EXACT for name in table.columns} | (instruments or {})
        return Logs(table=table, step_s=self.step_s, instruments=held)


def quiet_columns(hours: Hours) -> dict[str, Any]:
    """Channels of a store at 20 degC with 15 m3 that nothing moves, in air of 20 degC."""
    return {"spray_L_min": 0.0, "supply_C": 20.0, "return_C": 20.0, "store_C": 20.0, "store_m3": 15.0, "pump_W": 0.0,
            "air_C": 20.0, "humidity_frac": 0.6, "wind_m_s": 2.0}


def sprayed_columns(hours: Hours, *spells: tuple[float, float], flow: float = 100.0, fall_K: float = 2.0,
                    pump_W: float = 500.0) -> dict[str, Any]:
    """The same with spells of spraying: flow, a return colder than the supply by `fall_K`, the pump's power."""
    running = np.zeros(len(hours.starts), dtype=bool)
    for spell in spells:
        running |= hours.between(*spell)
    return {**quiet_columns(hours), "spray_L_min": np.where(running, flow, 0.0),
            "return_C": np.where(running, 20.0 - fall_K, 20.0), "pump_W": np.where(running, pump_W, 0.0)}


def codes(measured: Any) -> set[str]:
    """Codes of all findings."""
    return {finding.code for finding in measured.findings}
