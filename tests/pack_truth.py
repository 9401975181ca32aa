"""The invented truth: a run of the plant, its balances, and its sums by night."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from pack_air import sky_W_m2
from pack_config import LAYERS, Config, CP_J_kgK, RHO_kg_m3
from pack_plant import HEIGHTS_M, ROW, run
from pack_schedule import Schedule, floor_effectiveness, floor_step_kg, make_schedule
from pack_weather import Weather, make_weather, wet_bulb_guess_C


@dataclass(frozen=True)
class Truth:
    """What truly happened.

    Parameters
    ----------
    config : Config
        What it was made of.
    seed : int
        Of weather, users and pump.
    weather, schedule : Weather, Schedule
        Drivers, one value a step.
    rows : ndarray of records, shape (n,)
        Amounts and states of every step of 30 s from noon of the first day (standard time), told in `pack_plant.ROW`.
    layers_J : ndarray, shape (n, 10)
        Heat above 0 degC of the store's layers at the end of each step.
    start : dict of str to float
        store_kg, store_J, film_kg and roof_J before the first step.
    """

    config: Config
    seed: int
    weather: Weather
    schedule: Schedule
    rows: np.ndarray
    layers_J: np.ndarray
    start: dict[str, float]

    @cached_property
    def never_sprayed(self) -> Truth:
        """The same weeks without any spraying."""
        return make_truth(dataclasses.replace(self.config, spray=False), self.seed)

    def states(self, name: str) -> np.ndarray:
        """A state at the beginning of every step and at the end of the last: shape (n + 1,)."""
        return np.concatenate(([self.start[name]], self.rows[name]))

    def between(self, name: str, times: tuple[str, str]) -> float:
        """Amount of a span on the site's clock."""
        return float(self.rows[name][self.config.span(times)].sum())

    def content_m3(self, local: str) -> float:
        """Content of the store at a time on the site's clock."""
        return float(self.states("store_kg")[self.config.place(local)]) / RHO_kg_m3


def make_truth(config: Config, seed: int) -> Truth:
    """Run the invented plant through invented weather.

    Parameters
    ----------
    config : Config
        Plant, timetable and tests.
    seed : int
        Of weather, users and pump.

    Returns
    -------
    Truth
    """
    weather = make_weather(config, seed)
    schedule = make_schedule(config, weather.rain_mm, seed)
    plan = np.column_stack(schedule).astype(float)
    air = np.column_stack((weather.air_C, weather.vapour_Pa, weather.wind_m_s, skies_W_m2(weather), weather.solar_W_m2,
                           weather.rain_mm, wet_bulb_guess_C(weather)))
    plant = config.plant
    rows, layers_J = np.zeros(config.steps, ROW), np.empty((config.steps, LAYERS))
    run(plan, air, floor_step_kg(config), floor_effectiveness(config), plant, HEIGHTS_M, rows, layers_J)
    start_kg = plant.store_start_m3 * RHO_kg_m3
    start = {"store_kg": start_kg, "store_J": start_kg * CP_J_kgK * plant.store_start_C, "film_kg": 0.0,
             "roof_J": plant.deck_J_m2K * plant.roof_m2 * plant.wetted_frac * 25.0}
    return Truth(config, seed, weather, schedule, rows, layers_J, start)


def skies_W_m2(weather: Weather) -> np.ndarray:
    """Long-wave from the sky of every step."""
    return np.array([sky_W_m2(*now) for now in zip(weather.air_C, weather.vapour_Pa, weather.cloud_frac, strict=True)])
