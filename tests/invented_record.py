"""Three weeks of invented readings without a fault, in steps of five minutes, for tests that plant one fault each."""

from __future__ import annotations

import numpy as np
import pandas as pd

STEP_S = 300
DAY = 86400 // STEP_S
HOUR = 3600 // STEP_S


def record(days=21, seed=3):
    """A clean invented record: spray from 21 to 5, air and humidity with a daily swing, a store that cools at night."""
    rng = np.random.default_rng(seed)
    n = days * DAY
    index = pd.date_range("2026-06-01", periods=n, freq=f"{STEP_S}s", tz="UTC")
    hour = (np.arange(n) % DAY) / HOUR
    on = (hour >= 21) | (hour < 5)
    air = 20.0 + 6.0 * np.cos(2.0 * np.pi * (hour - 15.0) / 24.0) + 0.3 * rng.normal(size=n).cumsum() / 30.0
    night_h = (hour - 21.0) % 24.0
    store = 18.0 - np.where(night_h < 8.0, 0.4 * night_h, 3.2 - 0.2 * (night_h - 8.0))
    table = pd.DataFrame({
        "air_C": air + 0.05 * rng.normal(size=n),
        "humidity_frac": 0.62 - 0.02 * (air - 20.0) + 0.01 * rng.normal(size=n),
        "wind_m_s": np.abs(2.0 + rng.normal(size=n)),
        "store_C": store + 0.02 * rng.normal(size=n),
        "supply_C": store + 0.02 * rng.normal(size=n),
        "return_C": store - np.where(on, 1.5, 0.0) + 0.02 * rng.normal(size=n),
        "spray_L_min": np.where(on, 60.0 + 0.3 * rng.normal(size=n), 0.0),
        "pump_W": np.where(on, 400.0 + 3.0 * rng.normal(size=n), 0.0),
        "rain_mm": np.zeros(n),
        "store_m3": np.full(n, 15.0) + 0.01 * rng.normal(size=n),
        "makeup_L_min": np.zeros(n),
    }, index=index)
    return table, on
