"""Invented weather of the logged weeks: seeded noise around a scripted course; no place's record."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from pack_air import dew_C, vapour_Pa
from pack_config import STEP_S, Config
from scipy.signal import lfilter


class Weather(NamedTuple):
    """Arrays of one value a step: degC, Pa, m/s, 1, W/m2, mm per step."""

    air_C: np.ndarray
    vapour_Pa: np.ndarray
    wind_m_s: np.ndarray
    cloud_frac: np.ndarray
    solar_W_m2: np.ndarray
    rain_mm: np.ndarray

    def humidity_frac(self) -> np.ndarray:
        """Relative humidity over water."""
        return self.vapour_Pa / vapour_Pa(self.air_C)


def make_weather(config: Config, seed: int) -> Weather:
    """Weather of every step."""
    random = np.random.default_rng([seed, 1])
    hour = 12.0 + np.arange(config.steps) * STEP_S / 3600.0  # standard time since the first midnight
    days = config.nights + 2
    rain = _rain_mm(config, np.random.default_rng([seed, 2]))
    muggy, wet = _muggy_share(config), _wet_share(rain)
    cloud = _cloud(hour, days, random)
    cloud = np.clip(cloud * (1.0 - muggy) + 0.96 * muggy, 0.0, 1.0)
    cloud = np.maximum(cloud, wet)
    mean = np.linspace(*config.mean_C, days) + _days_noise(days, 0.72, 1.7, random)
    air = _by_day(hour, mean) + config.half_swing_K * (1.0 - 0.55 * cloud) * _day_shape(hour) + _wander(
        config.steps, 0.22, 1500.0, random)
    dew = _by_day(hour, mean - config.dew_gap_K + _days_noise(days, 0.55, 1.5, random)) + _wander(
        config.steps, 0.25, 2400.0, random)
    air = air * (1.0 - muggy) + (22.6 + 0.7 * _day_shape(hour)) * muggy
    dew = dew * (1.0 - muggy) + (21.3 + 0.5 * _day_shape(hour)) * muggy
    air = air - 1.8 * wet
    dew = np.minimum(dew * (1.0 - wet) + (air - 0.7) * wet, air - 0.15)
    return Weather(air, vapour_Pa(dew), _wind(config, hour, muggy, random), cloud, _sun(config, hour, cloud), rain)


def wet_bulb_guess_C(weather: Weather) -> np.ndarray:
    """Temperature of falling rain: a third of the way from air to dew point."""
    return weather.air_C - (weather.air_C - dew_C(weather.vapour_Pa)) / 3.0


def _wander(n: int, sd: float, lag_s: float, random: np.random.Generator) -> np.ndarray:
    """Noise of a given spread that forgets itself within a given time."""
    keep = np.exp(-STEP_S / lag_s)
    noise = random.standard_normal(n)
    noise[0] /= np.sqrt(1.0 - keep * keep)
    return sd * np.sqrt(1.0 - keep * keep) * lfilter([1.0], [1.0, -keep], noise)


def _days_noise(days: int, keep: float, sd: float, random: np.random.Generator) -> np.ndarray:
    return sd * np.sqrt(1.0 - keep * keep) * lfilter([1.0], [1.0, -keep], random.standard_normal(days))


def _by_day(hour: np.ndarray, noons: np.ndarray) -> np.ndarray:
    """Values given at noon of every day, joined without corners."""
    place = (hour - 12.0) / 24.0
    first = np.minimum(place.astype(int), len(noons) - 2)
    into = place - first
    smooth = into * into * (3.0 - 2.0 * into)
    return noons[first] * (1.0 - smooth) + noons[first + 1] * smooth


def _day_shape(hour: np.ndarray) -> np.ndarray:
    """-1 before sunrise, +1 in the afternoon."""
    of_day = hour % 24.0
    rising = -np.cos(np.pi * (of_day - 6.0) / 9.0)
    falling = np.cos(np.pi * ((of_day - 15.0) % 24.0) / 15.0)
    return np.where((of_day >= 6.0) & (of_day < 15.0), rising, falling)


def _cloud(hour: np.ndarray, days: int, random: np.random.Generator) -> np.ndarray:
    """Mostly clear, now and then overcast; moves slowly within a night."""
    nights = random.beta(0.5, 1.2, days)
    return np.clip(_by_day(hour, nights) + _wander(len(hour), 0.12, 5400.0, random), 0.0, 1.0)


def _wind(config: Config, hour: np.ndarray, muggy: np.ndarray, random: np.random.Generator) -> np.ndarray:
    """Wind on the mast: gusty, calmer at night."""
    days = random.gamma(4.0, 0.25, config.nights + 2)
    course = config.wind_m_s * _by_day(hour, days) * (1.0 + 0.45 * _day_shape(hour))
    course = np.maximum(course, 0.35) * (1.0 - muggy) + 2.3 * muggy
    return course * np.exp(_wander(config.steps, 0.35, 900.0, random) - 0.06)


def _sun(config: Config, hour: np.ndarray, cloud: np.ndarray) -> np.ndarray:
    """Sunshine on the level from the sun's height, thinned by air and cloud."""
    first_day = config.dates()[0].timetuple().tm_yday
    day = first_day + hour / 24.0
    tilt = np.radians(-23.44) * np.cos(2.0 * np.pi * (day + 10.0) / 365.25)
    turn = np.radians(15.0 * (hour % 24.0 - 12.1))
    latitude = np.radians(config.latitude_deg)
    height = np.sin(latitude) * np.sin(tilt) + np.cos(latitude) * np.cos(tilt) * np.cos(turn)
    up = np.maximum(height, 1e-3)
    return np.where(height > 1e-3, 1361.0 * up * 0.72 ** (up ** -0.65), 0.0) * (1.0 - 0.7 * cloud ** 3)


def _muggy_share(config: Config) -> np.ndarray:
    """How far warm moist air rules: 1 in the muggy nights, fading within a few hours."""
    hours = np.arange(config.steps) * STEP_S / 3600.0
    share = np.zeros(config.steps)
    for date in config.muggy:
        middle = config.seconds(f"{date} 12:00") / 3600.0 + 14.0
        share = np.maximum(share, np.exp(-((hours - middle) / 9.5) ** 6))
    return share


def _rain_mm(config: Config, random: np.random.Generator) -> np.ndarray:
    """Rain of every step; showers swell and fade."""
    rain = np.zeros(config.steps)
    events = config.rain
    if events is None:
        count = random.poisson(config.nights / 8.0)
        events = [(random.uniform(0.0, config.nights * 24.0), random.uniform(1.0, 6.0),
                   random.exponential(9.0) + 1.0) for _ in range(count)]
    for start, length_h, depth_mm in events:
        first = config.place(start) if isinstance(start, str) else int(start * 3600.0 / STEP_S)
        steps = int(length_h * 3600.0 / STEP_S)
        shape = np.sin(np.pi * (np.arange(steps) + 0.5) / steps) * np.exp(_wander(steps, 0.7, 600.0, random))
        shape *= depth_mm / shape.sum()
        inside = slice(max(first, 0), min(first + steps, config.steps))
        rain[inside] += shape[inside.start - first:max(inside.stop - first, 0)]
    return rain


def _wet_share(rain: np.ndarray) -> np.ndarray:
    """1 while it rains, fading over the hour before and after."""
    width = 3600 // STEP_S
    near = np.convolve(rain > 0.0, np.ones(2 * width + 1), mode="same") > 0.0
    return np.convolve(near, np.ones(2 * width + 1) / (2 * width + 1), mode="same")
