"""The running sheet and the falling drop solved anew: published correlations, other properties, scipy's solvers.

Nothing of `sprayroof` is used. Saturation and humidity come from psychrolib, properties of air and water from CoolProp;
the vapour diffusivity is the published equation (Marrero & Mason 1972), written out once more.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import CoolProp.CoolProp as CP
import numpy as np
import psychrolib
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

SIGMA = 5.670374419e-8
psychrolib.SetUnitSystem(psychrolib.SI)


@dataclass(frozen=True)
class Night:
    """Air and sky over a wet roof: degC, fractions, Pa, m/s, W/m2."""

    t_C: float
    humidity: float
    wind_m_s: float
    sky_W_m2: float
    pressure_Pa: float = 101325.0
    length_m: float = 20.0
    factor: float = 1.0
    emissivity: float = 0.96
    deck_W_m2K: float = 0.0
    t_deck_C: float = 24.0

    @property
    def ratio(self) -> float:
        """Humidity ratio [kg/kg dry air]."""
        return psychrolib.GetHumRatioFromRelHum(self.t_C, self.humidity, self.pressure_Pa)

    @property
    def fraction(self) -> float:
        """Vapour mass fraction [kg/kg]."""
        return self.ratio / (1.0 + self.ratio)

    @property
    def density(self) -> float:
        """Density of the moist air [kg/m3]."""
        return psychrolib.GetMoistAirDensity(self.t_C, self.ratio, self.pressure_Pa)

    @property
    def conductivity(self) -> float:
        """Of dry air [W/(m K)]."""
        return CP.PropsSI("L", "T", self.t_C + 273.15, "P", self.pressure_Pa, "Air")

    @property
    def viscosity(self) -> float:
        """Kinematic [m2/s]."""
        return CP.PropsSI("V", "T", self.t_C + 273.15, "P", self.pressure_Pa, "Air") / self.density

    @property
    def heat_capacity(self) -> float:
        """Of the moist air [J/(kg K)]."""
        return CP.HAPropsSI("cp_ha", "T", self.t_C + 273.15, "W", self.ratio, "P", self.pressure_Pa)

    @property
    def diffusivity(self) -> float:
        """Of vapour in air [m2/s]."""
        return 1.87e-10 * (self.t_C + 273.15) ** 2.072 * 101325.0 / self.pressure_Pa

    @property
    def lewis(self) -> float:
        """Lewis number."""
        return self.conductivity / (self.density * self.heat_capacity * self.diffusivity)

    @property
    def wet_bulb_C(self) -> float:
        """Thermodynamic wet bulb."""
        return psychrolib.GetTWetBulbFromRelHum(self.t_C, self.humidity, self.pressure_Pa)


def latent_heat(t_C: float) -> float:
    """Latent heat of water [J/kg]."""
    return _water("H", t_C, 1) - _water("H", t_C, 0)


def _water(name: str, t_C: float, quality: int) -> float:
    return CP.PropsSI(name, "T", max(t_C, 0.02) + 273.15, "Q", quality, "Water")


def saturated_fraction(t_C: float, pressure_Pa: float) -> float:
    """Vapour mass fraction of saturated air [kg/kg]."""
    ratio = psychrolib.GetSatHumRatio(t_C, pressure_Pa)
    return ratio / (1.0 + ratio)


class Sheet:
    """A wetted square metre under a night; convection of a turbulent plate with natural convection."""

    def __init__(self, night: Night):
        self.night = night
        reynolds = night.wind_m_s * night.length_m / night.viscosity
        nusselt = 0.037 * reynolds**0.8 * 0.71 ** (1 / 3)
        self.forced = night.factor * nusselt * night.conductivity / night.length_m
        self.mass = night.lewis ** (-2 / 3) / night.heat_capacity

    def convection_W_m2K(self, t_C: float) -> float:
        """Cubic sum when the air at the water is the lighter, else the larger."""
        night = self.night
        w = saturated_fraction(t_C, night.pressure_Pa)
        lighter = (t_C + 273.15) * (1 + 0.6078 * w) - (night.t_C + 273.15) * (1 + 0.6078 * night.fraction)
        if lighter > 0.0:
            virtual = (night.t_C + 273.15) * (1 + 0.6078 * night.fraction)
            rayleigh_m3 = 9.80665 * lighter / virtual / night.viscosity**2 * 0.71
            natural = 0.15 * night.conductivity * rayleigh_m3 ** (1 / 3)
            return (self.forced**3 + natural**3) ** (1 / 3)
        return max(self.forced, 1.81 * (-lighter) ** (1 / 3) / 2.382)

    def fluxes(self, t_C: float) -> tuple[float, float]:
        """Heat without latent heat [W/m2] and evaporation [kg/(m2 s)]."""
        night = self.night
        h = self.convection_W_m2K(t_C)
        w = saturated_fraction(t_C, night.pressure_Pa)
        evaporation = h * self.mass * math.log1p((w - night.fraction) / (1.0 - w))
        dry = (
            h * (t_C - night.t_C)
            + night.emissivity * (SIGMA * (t_C + 273.15) ** 4 - night.sky_W_m2)
            + night.deck_W_m2K * (t_C - night.t_deck_C)
        )
        return dry, evaporation

    def settled_C(self) -> float:
        """Where a film without through-flow comes to rest."""

        def balance(t_C: float) -> float:
            dry, evaporation = self.fluxes(t_C)
            return dry + evaporation * latent_heat(t_C)

        return brentq(balance, self.night.t_C - 40.0, self.night.t_C + 40.0, xtol=1e-8)

    def solve(self, t_in_C: float, feed_kg_m2s: float, ridge_share: float) -> tuple[float, float, float, float]:
        """Outlet [degC], mean temperature [degC], heat given off [W/m2] and evaporation [kg/(m2 s)].

        G dT/dx = G_u (T_in - T) - q(T)/c and dG/dx = G_u - e(T), from the ridge (x = 0) to the eave (x = 1); the flow
        shrinks as water leaves it.
        """
        even = (1.0 - ridge_share) * feed_kg_m2s
        if ridge_share == 0.0:
            return self._even(t_in_C, feed_kg_m2s)
        cp = CP.PropsSI("C", "T", t_in_C + 273.15, "P", 101325.0, "Water")

        def along(x: float, state: np.ndarray) -> list[float]:
            t_C, flow = state[0], state[1]
            dry, evaporation = self.fluxes(t_C)
            heat = dry + evaporation * latent_heat(t_C)
            return [(even * (t_in_C - t_C) - heat / cp) / flow, even - evaporation, t_C, heat, evaporation]

        found = solve_ivp(along, (0.0, 1.0), [t_in_C, ridge_share * feed_kg_m2s, 0.0, 0.0, 0.0], rtol=1e-8, atol=1e-10)
        outlet, _, mean, heat, evaporation = found.y[:, -1]
        return outlet, mean, heat, evaporation

    def _even(self, t_in_C: float, feed: float) -> tuple[float, float, float, float]:
        """Fed evenly: one temperature everywhere, by the balance of a mixed square metre."""
        cp = CP.PropsSI("C", "T", t_in_C + 273.15, "P", 101325.0, "Water")

        def balance(t_C: float) -> float:
            dry, evaporation = self.fluxes(t_C)
            return feed * cp * (t_in_C - t_C) - dry - evaporation * latent_heat(t_C)

        t_C = brentq(balance, self.night.t_C - 40.0, max(t_in_C, self.night.t_C) + 40.0, xtol=1e-8)
        dry, evaporation = self.fluxes(t_C)
        return t_C, t_C, dry + evaporation * latent_heat(t_C), evaporation


def fallen_drop(diameter_m: float, height_m: float, t_in_C: float, night: Night) -> tuple[float, float, float]:
    """Temperature at the roof [degC], evaporated share and speed [m/s] of a drop that falls from rest.

    Schiller & Naumann drag; Ranz & Marshall for heat (Pr) and for vapour (Sc), each its own number; the drop shrinks.
    """
    air_density, nu, k = night.density, night.viscosity, night.conductivity
    schmidt = nu / night.diffusivity
    rho = CP.PropsSI("D", "T", t_in_C + 273.15, "P", 101325.0, "Water")
    cp = CP.PropsSI("C", "T", t_in_C + 273.15, "P", 101325.0, "Water")
    mass_0 = rho * math.pi / 6 * diameter_m**3

    def along(_time: float, state: np.ndarray) -> list[float]:
        speed, _, t_C, mass = state
        d = (6 * mass / math.pi / rho) ** (1 / 3)
        reynolds = max(speed, 1e-9) * d / nu
        drag = max(0.44, 24 / reynolds * (1 + 0.15 * reynolds**0.687))
        acceleration = 9.80665 * (1 - air_density / rho) - 0.75 * air_density / rho / d * drag * speed**2
        area = math.pi * d**2
        heat = (2 + 0.6 * math.sqrt(reynolds) * 0.71 ** (1 / 3)) * k / d * area * (t_C - night.t_C)
        w = saturated_fraction(t_C, night.pressure_Pa)
        vapour = (
            (2 + 0.6 * math.sqrt(reynolds) * schmidt ** (1 / 3))
            * air_density
            * night.diffusivity
            / d
            * area
            * math.log1p((w - night.fraction) / (1 - w))
        )
        return [acceleration, speed, -(heat + vapour * latent_heat(t_C)) / (mass * cp), -vapour]

    def landed(_time: float, state: np.ndarray) -> float:
        return state[1] - height_m

    landed.terminal = True
    found = solve_ivp(
        along,
        (0.0, 60.0),
        [0.0, 0.0, t_in_C, mass_0],
        events=landed,
        rtol=1e-7,
        atol=[1e-7, 1e-8, 1e-7, 1e-16],
        first_step=1e-4,
    )
    speed, _, t_C, mass = found.y[:, -1]
    return t_C, 1.0 - mass / mass_0, speed


__all__ = ["Night", "Sheet", "fallen_drop", "latent_heat", "saturated_fraction"]
