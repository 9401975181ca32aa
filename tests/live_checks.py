"""Checks against independent libraries, worked out whenever they are asked for: nothing of theirs is stored.

`live_checks()` lists them; `tests/test_live.py` runs each, `tests/validation_page.py` prints them.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

import CoolProp.CoolProp as CP
import fluids
import ht
import numpy as np
import psychrolib
from ht.conv_external import Nu_horizontal_plate_turbulent_Kreith, Nu_horizontal_plate_turbulent_Schlichting
from ht.conv_free_immersed import Nu_horizontal_plate_McAdams, Nu_horizontal_plate_Rohsenow
from scipy import integrate

from sprayroof.physics import convection, droplets, emitters, film, moistair, sky, water
from sprayroof.physics.constants import CP_WATER, GRAVITY, KELVIN, PRANDTL_AIR, RHO_WATER, STEFAN_BOLTZMANN

P0 = 101325.0
psychrolib.SetUnitSystem(psychrolib.SI)


@dataclass(frozen=True)
class LiveCheck:
    """One value of ours against one of another's code."""

    id: str
    subject: str
    equation: str
    against: str
    at: str
    ours: Callable[[], float]
    theirs: Callable[[], float]
    unit: str
    relative: float = 0.0
    absolute: float = 0.0
    why: str = ""

    def allowed(self) -> float:
        """Largest difference that passes, in the unit of the value."""
        return self.absolute + self.relative * abs(self.theirs())


def live_checks() -> list[LiveCheck]:
    """All of them."""
    parts = (_saturation, _humidity, _wet_bulb, _water, _air, _plate, _natural, _drops, _exchangers, _radiation, _views)
    return [check for part in parts for check in part()]


def _saturation() -> Iterator[LiveCheck]:
    for t in (0.01, 10.0, 20.0, 30.0, 50.0, 90.0):
        yield LiveCheck(
            f"saturation-coolprop-{t:g}",
            "moist air",
            "saturation pressure over water",
            "CoolProp, IAPWS-95",
            f"{t:g} degC",
            lambda t=t: moistair.saturation_pressure_Pa(t),
            lambda t=t: CP.PropsSI("P", "T", t + KELVIN, "Q", 0, "Water"),
            "Pa",
            relative=3e-4,
            why="the 300 ppm that ASHRAE states",
        )
        yield LiveCheck(
            f"saturation-if97-{t:g}",
            "moist air",
            "saturation pressure over water",
            "CoolProp, IAPWS-IF97",
            f"{t:g} degC",
            lambda t=t: moistair.saturation_pressure_Pa(t),
            lambda t=t: CP.PropsSI("P", "T", t + KELVIN, "Q", 0, "IF97::Water"),
            "Pa",
            relative=3e-4,
            why="the 300 ppm that ASHRAE states",
        )
    for t in (-40.0, -20.0, -5.0, -0.5, 5.0, 25.0, 45.0):
        yield LiveCheck(
            f"saturation-psychrolib-{t:g}",
            "moist air",
            "saturation pressure over " + ("ice" if t < 0 else "water"),
            "psychrolib",
            f"{t:g} degC",
            lambda t=t: moistair.saturation_pressure_Pa(t),
            lambda t=t: psychrolib.GetSatVapPres(t),
            "Pa",
            relative=1e-4,
            why="the same equation, other code",
        )
    for t in (5.0, 20.0, 35.0):
        yield LiveCheck(
            f"slope-coolprop-{t:g}",
            "moist air",
            "slope of the saturation pressure",
            "CoolProp, IAPWS-95",
            f"{t:g} degC",
            lambda t=t: moistair.saturation_slope_1_K(t),
            lambda t=t: _slope(t),
            "1/K",
            relative=1e-3,
            why="a difference quotient of 0.1 K",
        )


def _slope(t_C: float) -> float:
    high, low = (CP.PropsSI("P", "T", t_C + d + KELVIN, "Q", 0, "Water") for d in (0.05, -0.05))
    return math.log(high / low) / 0.1


def _humidity() -> Iterator[LiveCheck]:
    for t, humidity, p in ((0.5, 0.9, P0), (20.0, 0.5, P0), (30.0, 0.8, P0), (25.0, 0.6, 85000.0), (-8.0, 0.7, P0)):

        def ratio(t=t, humidity=humidity, p=p):
            return moistair.humidity_ratio(humidity * moistair.saturation_pressure_Pa(t), p)

        at = f"{t:g} degC, {humidity:.0%}, {p / 100:g} hPa"
        yield LiveCheck(
            f"humidity-psychrolib-{t:g}",
            "moist air",
            "humidity ratio",
            "psychrolib",
            at,
            ratio,
            lambda t=t, humidity=humidity, p=p: psychrolib.GetHumRatioFromRelHum(t, humidity, p),
            "kg/kg",
            relative=1e-4,
            why="the same equations, other code",
        )
        yield LiveCheck(
            f"humidity-coolprop-{t:g}",
            "moist air",
            "humidity ratio",
            "CoolProp HAPropsSI",
            at,
            ratio,
            lambda t=t, humidity=humidity, p=p: CP.HAPropsSI("W", "T", t + KELVIN, "R", humidity, "P", p),
            "kg/kg",
            relative=6e-3,
            why="real air holds 0.45 % more vapour than ideal gas",
        )
    for t, w, p in ((20.0, 0.007, P0), (35.0, 0.02, P0), (10.0, 0.004, 85000.0)):
        q = w / (1.0 + w)
        yield LiveCheck(
            f"density-coolprop-{t:g}",
            "moist air",
            "density of moist air",
            "CoolProp HAPropsSI",
            f"{t:g} degC, {1000 * w:g} g/kg, {p / 100:g} hPa",
            lambda t=t, q=q, p=p: moistair.air_density_kg_m3(t, q, p),
            lambda t=t, w=w, p=p: (1.0 + w) / CP.HAPropsSI("Vda", "T", t + KELVIN, "W", w, "P", p),
            "kg/m3",
            relative=8e-4,
            why="compressibility of real air",
        )
        yield LiveCheck(
            f"heat-capacity-coolprop-{t:g}",
            "moist air",
            "heat capacity of moist air",
            "CoolProp HAPropsSI",
            f"{t:g} degC, {1000 * w:g} g/kg",
            lambda q=q: moistair.air_heat_capacity_J_kgK(q),
            lambda t=t, w=w, p=p: CP.HAPropsSI("cp_ha", "T", t + KELVIN, "W", w, "P", p),
            "J/(kg K)",
            relative=3e-3,
            why="constant heat capacities of dry air and vapour",
        )
    for t, humidity in ((15.0, 0.4), (25.0, 0.9), (-3.0, 0.6)):
        yield LiveCheck(
            f"dew-point-psychrolib-{t:g}",
            "moist air",
            "dew or frost point",
            "psychrolib",
            f"{t:g} degC, {humidity:.0%}",
            lambda t=t, humidity=humidity: moistair.dew_point_C(humidity * moistair.saturation_pressure_Pa(t)),
            lambda t=t, humidity=humidity: psychrolib.GetTDewPointFromRelHum(t, humidity),
            "degC",
            absolute=2e-3,
            why="psychrolib stops at 0.001 K",
        )


def _wet_bulb() -> Iterator[LiveCheck]:
    for t, humidity, p in ((10.0, 0.3, P0), (20.0, 0.5, P0), (30.0, 0.8, P0), (40.0, 0.1, P0), (25.0, 0.5, 85000.0)):

        def ours(t=t, humidity=humidity, p=p):
            return moistair.wet_bulb_C(t, moistair.humidity_ratio(humidity * moistair.saturation_pressure_Pa(t), p), p)

        at = f"{t:g} degC, {humidity:.0%}, {p / 100:g} hPa"
        yield LiveCheck(
            f"wet-bulb-psychrolib-{t:g}",
            "moist air",
            "wet bulb",
            "psychrolib",
            at,
            ours,
            lambda t=t, humidity=humidity, p=p: psychrolib.GetTWetBulbFromRelHum(t, humidity, p),
            "degC",
            absolute=2e-3,
            why="psychrolib stops at 0.001 K",
        )
        yield LiveCheck(
            f"wet-bulb-coolprop-{t:g}",
            "moist air",
            "wet bulb",
            "CoolProp HAPropsSI",
            at,
            ours,
            lambda t=t, humidity=humidity, p=p: CP.HAPropsSI("B", "T", t + KELVIN, "R", humidity, "P", p) - KELVIN,
            "degC",
            absolute=0.02,
            why="real air against ideal gas",
        )


def _water() -> Iterator[LiveCheck]:
    for t in (1.0, 10.0, 20.0, 30.0, 45.0):
        yield LiveCheck(
            f"latent-coolprop-{t:g}",
            "water",
            "latent heat",
            "CoolProp, IAPWS-95",
            f"{t:g} degC",
            lambda t=t: water.latent_heat_J_kg(t),
            lambda t=t: (
                CP.PropsSI("H", "T", t + KELVIN, "Q", 1, "Water") - CP.PropsSI("H", "T", t + KELVIN, "Q", 0, "Water")
            ),
            "J/kg",
            relative=5e-4,
            why="a straight line, stated good to 0.05 %",
        )
    for t, tight in ((5.0, False), (20.0, True), (40.0, False)):
        yield LiveCheck(
            f"density-water-coolprop-{t:g}",
            "water",
            "density (a constant)",
            "CoolProp, IAPWS-95",
            f"{t:g} degC",
            lambda: RHO_WATER,
            lambda t=t: CP.PropsSI("D", "T", t + KELVIN, "P", P0, "Water"),
            "kg/m3",
            relative=1e-6 if tight else 7e-3,
            why="taken as constant" if not tight else "the value at 20 degC",
        )
        yield LiveCheck(
            f"cp-water-coolprop-{t:g}",
            "water",
            "heat capacity (a constant)",
            "CoolProp, IAPWS-95",
            f"{t:g} degC",
            lambda: CP_WATER,
            lambda t=t: CP.PropsSI("C", "T", t + KELVIN, "P", P0, "Water"),
            "J/(kg K)",
            relative=3e-5 if tight else 5e-3,
            why="taken as constant" if not tight else "the value at 20 degC",
        )


def _air() -> Iterator[LiveCheck]:
    for height in (0.0, 2000.0, 5000.0):
        layer = fluids.ATMOSPHERE_1976(height)
        yield LiveCheck(
            f"viscosity-fluids-{height:g}",
            "air",
            "viscosity of air",
            "fluids ATMOSPHERE_1976",
            f"{height:g} m",
            lambda layer=layer: moistair.air_viscosity_Pa_s(layer.T - KELVIN),
            lambda layer=layer: layer.mu,
            "Pa s",
            relative=1e-6,
            why="the same standard, other code",
        )
        yield LiveCheck(
            f"conductivity-fluids-{height:g}",
            "air",
            "conductivity of air",
            "fluids ATMOSPHERE_1976",
            f"{height:g} m",
            lambda layer=layer: moistair.air_conductivity_W_mK(layer.T - KELVIN),
            lambda layer=layer: layer.k,
            "W/(m K)",
            relative=1e-6,
            why="the same standard, other code",
        )
    for t in (-10.0, 15.0, 40.0):
        yield LiveCheck(
            f"viscosity-coolprop-{t:g}",
            "air",
            "viscosity of air",
            "CoolProp",
            f"{t:g} degC",
            lambda t=t: moistair.air_viscosity_Pa_s(t),
            lambda t=t: CP.PropsSI("V", "T", t + KELVIN, "P", P0, "Air"),
            "Pa s",
            relative=0.01,
            why="measurements of air differ by 1 %",
        )
        yield LiveCheck(
            f"conductivity-coolprop-{t:g}",
            "air",
            "conductivity of air",
            "CoolProp",
            f"{t:g} degC",
            lambda t=t: moistair.air_conductivity_W_mK(t),
            lambda t=t: CP.PropsSI("L", "T", t + KELVIN, "P", P0, "Air"),
            "W/(m K)",
            relative=0.02,
            why="measurements of air differ by 2 %",
        )
        yield LiveCheck(
            f"prandtl-coolprop-{t:g}",
            "air",
            "Prandtl number (a constant)",
            "CoolProp",
            f"{t:g} degC",
            lambda: PRANDTL_AIR,
            lambda t=t: CP.PropsSI("PRANDTL", "T", t + KELVIN, "P", P0, "Air"),
            "1",
            relative=0.02,
            why="taken as constant",
        )
    for t in (10.0, 20.0, 30.0):
        yield LiveCheck(
            f"lewis-coolprop-{t:g}",
            "moist air",
            "Lewis number of dry air",
            "CoolProp conductivity, density, cp",
            f"{t:g} degC",
            lambda t=t: moistair.lewis_number(t, 0.0, P0),
            lambda t=t: _lewis(t),
            "1",
            relative=0.012,
            why="conductivities of air differ by 1 %; the diffusivity is ours",
        )


def _lewis(t_C: float) -> float:
    state = ("T", t_C + KELVIN, "P", P0, "Air")
    alpha = CP.PropsSI("L", *state) / CP.PropsSI("D", *state) / CP.PropsSI("C", *state)
    return alpha / moistair.vapour_diffusivity_m2_s(t_C, P0)


def _plate() -> Iterator[LiveCheck]:
    k, nu = 0.0257, 1.51e-5
    for wind, length in ((1.0, 10.0), (3.0, 20.0), (8.0, 40.0)):

        def ours(wind=wind, length=length):
            return convection.plate_turbulent_W_m2K(wind, length, k, nu) * length / k

        reynolds = wind * length / nu
        yield LiveCheck(
            f"plate-kreith-{wind:g}",
            "convection",
            "turbulent flat plate, Nusselt number",
            "ht Nu_horizontal_plate_turbulent_Kreith",
            f"Re {reynolds:.3g}",
            ours,
            lambda r=reynolds: Nu_horizontal_plate_turbulent_Kreith(r, PRANDTL_AIR),
            "1",
            relative=0.03,
            why="Kreith prints 0.036 for our 0.037",
        )
        yield LiveCheck(
            f"plate-schlichting-{wind:g}",
            "convection",
            "turbulent flat plate, Nusselt number",
            "ht Nu_horizontal_plate_turbulent_Schlichting",
            f"Re {reynolds:.3g}",
            ours,
            lambda r=reynolds: Nu_horizontal_plate_turbulent_Schlichting(r, PRANDTL_AIR),
            "1",
            relative=0.15,
            why="a rival equation: by hand, its dependence on the Prandtl number gives 9 to 14 % less at 0.71",
        )


def _natural() -> Iterator[LiveCheck]:
    k, nu, t_K = 0.0257, 1.51e-5, 293.0
    for dt, length in ((1.0, 10.0), (5.0, 3.0)):
        grashof = GRAVITY * dt * length**3 / (t_K * nu**2)

        def ours(dt=dt, length=length):
            cubed = convection.natural_unstable_cubed(k, nu, t_K) * dt
            return convection.mixed_convection_W_m2K(0.0, cubed / dt, 0.0, dt) * length / k

        for name, function, allowed, why in (
            ("McAdams", Nu_horizontal_plate_McAdams, 0.075, "0.14 or 0.15 of the cube root of Ra, by edition"),
            ("Rohsenow", Nu_horizontal_plate_Rohsenow, 0.075, "its factor depends on the Prandtl number: 0.14 for air"),
        ):
            yield LiveCheck(
                f"natural-{name.lower()}-{dt:g}",
                "convection",
                "heated plate facing up, Nusselt number",
                f"ht Nu_horizontal_plate_{name}",
                f"Gr {grashof:.3g}",
                ours,
                lambda f=function, g=grashof: f(PRANDTL_AIR, g, buoyancy=True),
                "1",
                relative=allowed,
                why=why,
            )


def _drops() -> Iterator[LiveCheck]:
    for reynolds in (0.1, 1.0, 10.0, 50.0, 100.0, 300.0, 700.0):
        yield LiveCheck(
            f"drag-clift-{reynolds:g}",
            "drops",
            "drag of a sphere",
            "fluids drag Clift",
            f"Re {reynolds:g}",
            lambda r=reynolds: droplets.drag_coefficient(r),
            lambda r=reynolds: fluids.drag.Clift(r),
            "1",
            relative=0.05,
            why="Schiller & Naumann is stated good to 5 %",
        )
    density, viscosity = 1.204, 1.81e-5
    for d_mm in (0.3, 0.6, 1.0):
        yield LiveCheck(
            f"terminal-fluids-{d_mm:g}",
            "drops",
            "terminal speed",
            "fluids drag v_terminal",
            f"{d_mm:g} mm",
            lambda d=d_mm: droplets.fall(1e-3 * d, 60.0, density, viscosity / density, 0.0257)[1],
            lambda d=d_mm: fluids.drag.v_terminal(1e-3 * d, RHO_WATER, density, viscosity),
            "m/s",
            relative=0.04,
            why="5 % in drag is 4 % in speed where drag goes with Re^-0.7",
        )


def _exchangers() -> Iterator[LiveCheck]:
    for ntu, ratio in ((0.3, 0.2), (1.0, 0.5), (3.0, 0.9), (2.0, 1.0)):
        yield LiveCheck(
            f"counterflow-ht-{ntu:g}",
            "cooling side",
            "counterflow exchanger",
            "ht effectiveness_from_NTU",
            f"NTU {ntu:g}, ratio {ratio:g}",
            lambda n=ntu, c=ratio: emitters.exchanger_counterflow(n, c),
            lambda n=ntu, c=ratio: ht.effectiveness_from_NTU(NTU=n, Cr=c, subtype="counterflow"),
            "1",
            relative=1e-6,
            why="the same equation, other code",
        )
        yield LiveCheck(
            f"boiler-ht-{ntu:g}",
            "cooling side",
            "exchanger against one temperature",
            "ht effectiveness_from_NTU",
            f"NTU {ntu:g}",
            lambda n=ntu: emitters.exchanger_plain(n),
            lambda n=ntu: ht.effectiveness_from_NTU(NTU=n, Cr=0.0, subtype="boiler"),
            "1",
            relative=1e-6,
            why="the same equation, other code",
        )
    for ntu in (0.5, 2.0):
        yield LiveCheck(
            f"ridge-ht-{ntu:g}",
            "film",
            "sheet fed at the ridge, effectiveness",
            "ht effectiveness_from_NTU",
            f"NTU {ntu:g}",
            lambda n=ntu: n * (film.sheet_profile(1.0, 0.0, n, 1.0, 1.0)[0]),
            lambda n=ntu: ht.effectiveness_from_NTU(NTU=n, Cr=0.0, subtype="boiler"),
            "1",
            relative=1e-9,
            why="N times the mean excess is what has been given off",
        )


def _radiation() -> Iterator[LiveCheck]:
    for wave, t in ((8.0, 20.0), (13.0, 20.0), (30.0, 0.0)):
        yield LiveCheck(
            f"planck-scipy-{wave:g}",
            "radiation",
            "black-body fraction below a wavelength",
            "scipy quad, ht radiance",
            f"{wave:g} um, {t:g} degC",
            lambda w=wave, t=t: sky.planck_fraction(w, t),
            lambda w=wave, t=t: _fraction(w, t),
            "1",
            absolute=1e-6,
            why="quadrature",
        )


def _fraction(wave_um: float, t_C: float) -> float:
    flux = integrate.quad(
        lambda w: math.pi * 1e-6 * ht.blackbody_spectral_radiance(t_C + KELVIN, 1e-6 * w),
        0.5,
        wave_um,
        epsabs=1e-9,
        limit=200,
    )[0]
    return flux / (STEFAN_BOLTZMANN * (t_C + KELVIN) ** 4)


def _views() -> Iterator[LiveCheck]:
    for horizon in (10.0, 30.0, 60.0):
        yield LiveCheck(
            f"horizon-scipy-{horizon:g}",
            "sky",
            "sky share above a horizon",
            "scipy quad over the hemisphere",
            f"{horizon:g} deg",
            lambda h=horizon: sky.sky_view_horizon(h),
            lambda h=horizon: _sky_share_above(h),
            "1",
            absolute=1e-9,
            why="quadrature",
        )
    for slope in (5.0, 15.0, 30.0, 45.0):
        yield LiveCheck(
            f"walton-scipy-{slope:g}",
            "sky",
            "sky share of a slope",
            "numpy over a sky brighter at the horizon",
            f"{slope:g} deg",
            lambda s=slope: sky.sky_view_walton(s),
            lambda s=slope: _tilted_share(s),
            "1",
            relative=0.05 if slope > 30.0 else 0.03,
            why="an approximation: 3 % up to 30 degrees, 5 % at 45" if slope > 30.0 else "an approximation, 3 %",
        )


def _sky_share_above(horizon_deg: float) -> float:
    """Isotropic sky on a level surface: integral of 2 sin(e) cos(e) over elevations above the horizon."""
    return integrate.quad(lambda e: 2.0 * math.sin(e) * math.cos(e), math.radians(horizon_deg), math.pi / 2)[0]


def _tilted_share(slope_deg: float) -> float:
    """Cooling of a tilted black surface relative to a level one.

    The sky's shortfall from black lies in the window and falls off with the path through the air, t^(1/cos z), with
    t = 0.7 upwards: 0.55 of the window, hence 0.21 of the whole (0.382 of a black body's flux is in the window), which
    is a clear temperate sky of emissivity 0.79. Ground and walls are at air temperature.
    """
    zenith = (np.arange(900) + 0.5) * (math.pi / 2 / 900)
    azimuth = (np.arange(720) + 0.5) * (2 * math.pi / 720)
    z, a = np.meshgrid(zenith, azimuth, indexing="ij")
    shortfall = 0.7 ** (1.0 / np.cos(z)) * np.sin(z)
    b = math.radians(slope_deg)
    facing = np.maximum(0.0, np.cos(b) * np.cos(z) + np.sin(b) * np.sin(z) * np.cos(a))
    return float((shortfall * facing).sum() / (shortfall * np.cos(z)).sum())
