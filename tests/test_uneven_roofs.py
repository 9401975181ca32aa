"""Roofs that are not alike everywhere, in the time loop: fed along the ridge, covered in part, far above the sea.

The sheet by itself is held against outside solutions in test_sheet_and_drops.py; here the loop is, where decks, drops
and several planes come together.
"""

from __future__ import annotations

import dataclasses
import math

import CoolProp.CoolProp as CP
import numpy as np
import pytest
from outside_solutions import Night, Sheet, latent_heat
from scipy.optimize import brentq
from small_site import run, small_site, steady_weather

from sprayroof.model.drivers import drivers, formulas_of
from sprayroof.model.members import ensemble, rivals
from sprayroof.physics import film, moistair
from sprayroof.physics.constants import DECK_WATER_H
from sprayroof.physics.throw import throw

ALWAYS = {"sense": "clock", "window_from": "00:00", "window_to": "23:50", "stop_store": -50, "lockout_wind": 50,
          "lockout_frost": -40}
STEP_S = 600.0


def site_of(spray=None, store_m3=2000, place=None, **roof):
    """One long roof that is sprayed around the clock from a store too large to cool."""
    changes = {"place": place} if place else {}
    return small_site(
        controls=ALWAYS, use=None, mains={"rule": "none"}, emitter=None, load={"ua": 0.001, "balance_point": 40},
        store={"volume": store_m3, "initial_temperature": 22, "initial_share": 1.0}, spray=spray or {},
        roof=[{"name": "long roof", "area": 400, "surface": "weathered metal", "wetted_share": 0.8, "deck_u": 0.5,
               **roof}], **changes)


# --- fed along the ridge ------------------------------------------------------------------------------------------


@pytest.mark.parametrize("ridge_share", [0.3, 1.0])
def test_a_deck_in_balance_does_not_flatten_the_profile(ridge_share):
    """Where the deck as a whole takes nothing, no part of it does: the sheet is that of a roof without deck."""
    air = (15.0, 0.006, 289.2, 98000.0, 9.0, 0.8, 0.4, 0.85 / 1010.0, 0.96, 300.0)
    feed = 60.0 / 60.0 / 320.0
    bare = film.sheet(21.0, feed, ridge_share, 18.0, 0.0, 0.0, *air)
    decked = film.sheet(21.0, feed, ridge_share, 18.0, DECK_WATER_H, bare[0], *air)
    assert decked[0] == pytest.approx(bare[0], abs=2e-3)
    for ours, wanted in zip(decked[1:5], bare[1:5], strict=True):
        assert ours == pytest.approx(wanted, rel=1e-3)


def local_decks(sheet: Sheet, t_in_C, feed_kg_m2s, capacity_J_m2K, deck_C, u_W_m2K, t_beneath_C):
    """A step of a roof fed along its ridge, in strips that each have their own deck: heat [W/m2] and decks [degC]."""
    flow, t_C, heat, after = feed_kg_m2s, t_in_C, 0.0, []
    cp, strips = CP.PropsSI("C", "T", t_in_C + 273.15, "P", 101325.0, "Water"), len(deck_C)
    store_W = capacity_J_m2K / STEP_S
    for before_C in deck_C:
        beneath_W = store_W + u_W_m2K
        through_W = DECK_WATER_H * beneath_W / (DECK_WATER_H + beneath_W)
        rest_C = (store_W * before_C + u_W_m2K * t_beneath_C) / beneath_W

        def given(t_strip_C, through_W=through_W, rest_C=rest_C):
            dry, evaporation = sheet.fluxes(t_strip_C)
            return dry + evaporation * latent_heat(t_strip_C) + through_W * (t_strip_C - rest_C)

        def balance(t_out_C, t_above_C=t_C, flow=flow, given=given):
            return flow * cp * (t_above_C - t_out_C) - given(0.5 * (t_above_C + t_out_C)) / strips

        out_C = brentq(balance, t_C - 30.0, t_C + 30.0, xtol=1e-7)
        middle_C = 0.5 * (t_C + out_C)
        heat += given(middle_C) / strips
        after.append((beneath_W * rest_C + DECK_WATER_H * middle_C) / (beneath_W + DECK_WATER_H))
        flow -= sheet.fluxes(middle_C)[1] / strips
        t_C = out_C
    return heat, np.array(after)


@pytest.mark.parametrize(("capacity_kJ", "each", "whole"), [(8.0, 0.01, 0.005), (200.0, 0.03, 0.02)],
                         ids=["metal", "concrete"])
def test_a_roof_fed_along_its_ridge_against_strips_with_decks_of_their_own(capacity_kJ, each, whole):
    """Six hours from a standing start, by CoolProp and psychrolib: each step's heat and the sum.

    On concrete a front runs down the slope for hours, whose shape one number for the deck's profile does not hold; a
    deck alike everywhere would be 14 % off.
    """
    weather = steady_weather(1, t_air_C=15.0, t_dew_C=8.0, wind_m_s=2.0, pressure_Pa=98000.0)
    site = site_of(spray={"ridge_share": 1.0}, deck_capacity=capacity_kJ)
    trace = run(site, weather)
    member = ensemble(site, drivers(site, weather), 0, 1).members[0]
    plane, driven = member["planes"][0], drivers(site, weather)[0]
    formulas = formulas_of(site, weather, rivals(site))
    emissivity = formulas.clear[1, 0] + (1.0 - formulas.clear[1, 0]) * formulas.cloud[1, 0]
    longwave = (plane["sky_view"] * emissivity + 1.0 - plane["sky_view"]) * driven["black_air_W_m2"]
    night = Night(15.0, psychro_humidity(15.0, 8.0), 2.0, longwave, 98000.0)
    forced = plane["forced_factor"] * formulas.forced_1m_W_m2K[1, 0]
    sheet = Sheet(dataclasses.replace(night, factor=forced / Sheet(night).forced))
    decks = np.full(40, trace.states["deck_heat_J"][0] / (plane["deck_capacity_J_m2K"] * plane["wetted_m2"]))
    ours, theirs = [], []
    for step in range(1, 36):
        assert trace.steps["spray_s"][step] == STEP_S
        pumped_K = member["pump_W"] * member["pump_heat_share"] / (member["flow_kg_s"] * CP.PropsSI(
            "C", "T", 295.0, "P", 101325.0, "Water"))
        t_in = trace.states["t_outlet_C"][step - 1] + pumped_K
        heat, decks = local_decks(sheet, t_in, member["flow_kg_s"] / plane["wetted_m2"], 1000.0 * capacity_kJ, decks,
                                  0.5, plane["t_beneath_C"])
        ours.append(trace.steps["roof_J"][step] / STEP_S / plane["wetted_m2"])
        theirs.append(heat)
    ours, theirs = np.array(ours), np.array(theirs)
    assert ours[3:] == pytest.approx(theirs[3:], rel=each)  # in its first steps the sheet has no profile yet
    assert ours[3:].sum() == pytest.approx(theirs[3:].sum(), rel=whole)


def psychro_humidity(t_C, t_dew_C):
    """Relative humidity [1] from the dew point, by CoolProp."""
    return CP.HAPropsSI("RH", "T", t_C + 273.15, "D", t_dew_C + 273.15, "P", 98000.0)


def test_on_a_heavy_deck_the_ridge_cools_more_than_even_feed_without_drops():
    """Plug flow beats a mixed sheet on any deck; one deck at one temperature would turn this about."""
    weather = steady_weather(2)
    heats = {}
    for ridge_share in (0.5, 1.0):
        trace = run(site_of(spray={"ridge_share": ridge_share, "fall_height": 0.1}, deck_capacity=200.0), weather)
        heats[ridge_share] = float(trace.steps["roof_J"][120:].sum())
    assert heats[1.0] > 1.01 * heats[0.5]


# --- covered in part ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("cover", ["clear film", "vented mesh"])
@pytest.mark.parametrize("share", [0.25, 0.75])
@pytest.mark.parametrize("ridge_share", [0.0, 0.5])
def test_a_roof_covered_in_part_is_the_area_mean_of_a_bare_and_a_covered_one(cover, share, ridge_share):
    """Each part gets its share of the water as it comes to it: 0.3 % for the store that cools a little apart."""
    weather = steady_weather(1, t_air_C=16.0, t_dew_C=6.0, wind_m_s=3.0)
    flows = ("roof_J", "longwave_J", "evaporation_kg", "drift_kg")

    def amounts(**roof):
        trace = run(site_of(spray={"ridge_share": ridge_share}, store_m3=20000, **roof), weather)
        return np.array([trace.steps[flow][5:].sum() for flow in flows])

    bare, whole, part = amounts(), amounts(cover=cover), amounts(cover=cover, cover_share=share)
    assert part == pytest.approx((1.0 - share) * bare + share * whole, rel=3e-3)
    assert whole[-1] == 0.0
    assert bare[-1] > 0.0


def test_water_fed_along_the_ridge_does_not_fly():
    """Without a sheet's help: half the water at the ridge halves what the drops give off."""
    weather = steady_weather(1)
    flown = {}
    for ridge_share in (0.0, 0.5, 1.0):
        site = site_of(spray={"ridge_share": ridge_share, "drift_base": 0.0, "drift_wind": 0.0}, area=1.0,
                       wetted_share=0.05)
        trace = run(site, weather)
        flown[ridge_share] = float(trace.steps["evaporation_kg"][10:60].sum())
    sheet_only = flown[1.0]
    assert flown[0.5] - sheet_only == pytest.approx(0.5 * (flown[0.0] - sheet_only), rel=0.03)


# --- the air in which drops fly -----------------------------------------------------------------------------------


@pytest.mark.parametrize("elevation_m", [0.0, 2000.0])
@pytest.mark.parametrize("t_air_C", [0.0, 15.0, 35.0])
def test_drops_exchange_in_the_air_of_the_site(elevation_m, t_air_C):
    """The member's exchange against a flight integrated in that very air: 0.8 % (straight with temperature)."""
    site = small_site(place={"elevation": elevation_m})
    member = ensemble(site, drivers(site, steady_weather(1)), 0, 1).members[0]
    pressure = 101325.0 * (1.0 - 2.25577e-5 * elevation_m) ** 5.25588  # ISO 2533
    density = moistair.air_density_kg_m3(t_air_C, 0.008, pressure)
    air = density, CP.PropsSI("V", "T", t_air_C + 273.15, "P", pressure, "Air") / density, CP.PropsSI(
        "L", "T", t_air_C + 273.15, "P", pressure, "Air")

    def excess(speed):
        return highest_m(speed, 30.0, *air[:2]) - 1.0

    speed = brentq(excess, 6.0, 24.0, xtol=1e-4)
    wanted = throw(1.5e-3, speed, 30.0, 0.0, 0.0, *air)[3]
    ours = member["drop_exchange_J_kgK"] + member["drop_exchange_J_kgK2"] * (t_air_C - 15.0)
    assert ours == pytest.approx(wanted, rel=0.008)


def highest_m(speed, angle, density, viscosity):
    """Apex of a drop of 1.5 mm [m], by small steps of Schiller & Naumann's drag."""
    along, up, height = speed * math.cos(math.radians(angle)), speed * math.sin(math.radians(angle)), 0.0
    while up > 0.0:
        fast = math.hypot(along, up)
        reynolds = fast * 1.5e-3 / viscosity
        drag = 0.75 * density / (998.2 * 1.5e-3) * 24.0 / reynolds * (1.0 + 0.15 * reynolds**0.687) * fast
        along, up = along - 2e-4 * drag * along, up - 2e-4 * (9.80665 + drag * up)
        height += 2e-4 * up
    return height


@pytest.mark.parametrize("wind", [1.0, 2.0, 4.0])
@pytest.mark.parametrize(("drop_mm", "speed", "angle"), [(1.5, 11.5, 30.0), (1.0, 7.0, 45.0), (2.5, 9.5, 45.0)])
def test_wind_along_and_against_the_throw_leaves_the_mean_exchange(wind, drop_mm, speed, angle):
    """What the docs say of wind on the way of the drops: within 4 % up to 4 m/s at the roof."""
    air = 1.225, 1.48e-5, 0.0253
    still = throw(1e-3 * drop_mm, speed, angle, 0.0, 0.0, *air)[3]
    along, against = (throw(1e-3 * drop_mm, speed, towards, 0.0, wind, *air)[3] for towards in (angle, 180.0 - angle))
    assert 0.5 * (along + against) == pytest.approx(still, rel=0.04)
    assert along < still < against
