"""What the sky formulas say for published weather files and radiation stations, and how far off they are."""

from __future__ import annotations

import numpy as np
import pandas as pd
from outside_data import Record

from sprayroof.physics import moistair, sky
from sprayroof.physics.constants import CLOUD_BASE_PRIOR


def martin_berdahl_column(table: pd.DataFrame) -> np.ndarray:
    """Horizontal infrared of a TMY3 file: Berdahl & Martin by the file's hour, opaque cloud with its base at 2 km."""
    t, dew = table["t_C"].to_numpy(), table["dew_C"].to_numpy()
    clear = sky.sky_emissivity_berdahl_martin(t, dew, 0.0, table["pressure_Pa"].to_numpy(), table["hour"].to_numpy())
    effect = sky.cloud_effect_martin_berdahl(clear, table["opaque"].to_numpy() / 10.0, CLOUD_BASE_PRIOR)
    return sky.all_sky_emissivity(clear, effect) * sky.black_flux_W_m2(t)


def clark_allen_column(table: pd.DataFrame) -> np.ndarray:
    """Horizontal infrared of older files: Clark & Allen with the polynomial in opaque tenths."""
    t, dew = table["t_C"].to_numpy(), table["dew_C"].to_numpy()
    clear = sky.sky_emissivity_clark_allen(t, dew, 0.0, 101325.0, 0.0)
    effect = sky.cloud_effect_clark_allen(clear, table["opaque"].to_numpy() / 10.0, CLOUD_BASE_PRIOR)
    return sky.all_sky_emissivity(clear, effect) * sky.black_flux_W_m2(t)


def rmse(ours: np.ndarray, theirs: np.ndarray) -> float:
    """Root of the mean square difference."""
    return float(np.sqrt(np.mean((np.asarray(ours) - np.asarray(theirs)) ** 2)))


def flux(record: Record, clear_model: str, cloud_model: str | None) -> np.ndarray:
    """Long-wave flux at a station's nights [W/m2]; without a cloud model the sky is taken as clear."""
    table = record.table
    t, p = table["t_C"].to_numpy(), table["pressure_Pa"].to_numpy()
    e_Pa = table["humidity_frac"].to_numpy() * moistair.saturation_pressure_Pa(np.maximum(t, 0.0))
    e_Pa = np.where(t < 0.0, table["humidity_frac"].to_numpy() * _over_water_Pa(t), e_Pa)
    dew = moistair.dew_point_C(e_Pa)
    clear = sky.CLEAR_SKY[clear_model](t, dew, e_Pa, p, table["solar_hour_h"].to_numpy())
    effect = 0.0
    if cloud_model:
        effect = sky.CLOUDS[cloud_model](clear, table["cloud_frac"].to_numpy(), CLOUD_BASE_PRIOR)
    return sky.all_sky_emissivity(clear, effect) * sky.black_flux_W_m2(t)


def _over_water_Pa(t_C: np.ndarray) -> np.ndarray:
    """Saturation over undercooled water, to which humidity sensors refer (Magnus form, WMO)."""
    return 611.2 * np.exp(17.62 * t_C / (243.12 + t_C))


def miss(record: Record, clear_model: str, cloud_model: str | None, chosen: np.ndarray) -> tuple[int, float, float]:
    """Count, bias and RMSE of ours less measured [W/m2]."""
    ours, measured = flux(record, clear_model, cloud_model)[chosen], record.table["infrared"].to_numpy()[chosen]
    return int(chosen.sum()), float(np.mean(ours - measured)), rmse(ours, measured)


def clear_nights(record: Record) -> np.ndarray:
    """Hours with at most one okta of cloud."""
    return record.table["cloud_frac"].to_numpy() < 0.2


def all_nights(record: Record) -> np.ndarray:
    """Every hour."""
    return np.ones(len(record.table), bool)
