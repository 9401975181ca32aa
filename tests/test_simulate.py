"""The time loop: balances, steps, members, threads, memory; water and salts against hand simulations."""

import tracemalloc

import numba
import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from small_site import run, small_site, steady_weather, total
from solved_anew import BLEED_FRAC, CEILING_FRAC, HAND_FRAC

from sprayroof.evidence.weather import read_weather
from sprayroof.model.drivers import drivers, formulas_of
from sprayroof.model.members import ensemble, rivals
from sprayroof.model.records import FLOW, STATE, as_numbers
from sprayroof.model.simulate import simulate
from sprayroof.physics.constants import CP_WATER, RHO_WATER

WATER_IN = ("rain_kg", "mains_kg", "condensation_kg")
WATER_OUT = ("evaporation_kg", "drift_kg", "flush_lost_kg", "dried_kg", "surface_kg", "uses_kg", "leak_kg", "bleed_kg",
             "overflow_kg")
HEAT_IN = ("pump_heat_J", "cooling_side_J", "water_in_J")
HEAT_OUT = ("roof_J", "walls_J", "surface_J", "booster_J", "water_out_J")


@pytest.fixture(scope="module")
def site():
    return small_site(
        booster={"capacity": 2, "setpoint": 16, "from": "02:00", "to": "05:00"},
        bleed={"rule": "salts", "salt_limit": 330},
        rain={"flush_takes_spray": True, "salts": 60},
        store={"volume": 6, "nodes": 4, "open_share": 0.3},
        mains={"rule": "top up", "top_up_below": 4, "top_up_to": 5},
        use=[{"name": "yard", "draw": 20}],
        spray={"drift_base": 0.0003, "drift_wind": 0.0003},
    )


@pytest.fixture(scope="module")
def weather(site):
    found = read_weather(site)
    # the file's rain is refused; invented showers for three months, then drought, so that every flow is at work
    step = np.arange(len(found.table))
    found.table["rain_mm"] = np.where((step % 700 < 12) & (step < 13_000), 0.6, 0.0)
    return found


# --- balances -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("sprays", [True, False])
def test_every_step_closes(site, weather, sprays):
    trace = run(site, weather, runs=4, sprays=sprays)
    for name in ("water_step_rel", "heat_step_rel", "salt_step_rel"):
        assert trace.residual[name].max() <= 1e-9, name


@pytest.mark.parametrize("sprays", [True, False])
def test_the_year_closes_reckoned_here(site, weather, sprays):
    """Not the loop's own residual: sums of the flows against the change of the store, water, heat and salt."""
    trace = run(site, weather, runs=4, sprays=sprays)
    for member in range(5):
        before, after = trace.start[member], trace.ends[member, -1]

        def change(names, member=member):
            return sum(total(trace, name, member) for name in names)

        water = change(WATER_IN) - change(WATER_OUT)
        held = after["store_kg"] + after["roof_kg"]
        assert held - before["store_kg"] == pytest.approx(water, abs=1e-9 * change(WATER_IN))
        heat = change(HEAT_IN) - change(HEAT_OUT)
        moved = sum(abs(total(trace, name, member)) for name in (*HEAT_IN, *HEAT_OUT))
        held = after["store_heat_J"] + after["roof_heat_J"]
        assert held - before["store_heat_J"] == pytest.approx(heat, abs=1e-9 * moved)
        salt = total(trace, "salt_in_kg", member) - total(trace, "salt_out_kg", member)
        assert after["salt_kg"] - before["salt_kg"] == pytest.approx(salt, abs=1e-9)


def test_every_flow_is_at_work(site, weather):
    """The balances above would prove little if a flow were always zero."""
    trace = run(site, weather)
    for name in (*WATER_IN, *WATER_OUT, *HEAT_IN, *HEAT_OUT):
        if name == "leak_kg":
            continue  # none by default
        assert total(trace, name) != 0.0, name


def test_parts_of_the_roofs_heat_add_up(site, weather):
    trace = run(site, weather)
    parts = sum(total(trace, name) for name in ("longwave_J", "convection_J", "latent_J", "deck_J"))
    assert total(trace, "roof_J") == pytest.approx(parts, rel=1e-9)


def test_days_are_the_sums_of_steps(site, weather):
    trace = run(site, weather, runs=2)
    days = as_numbers(trace.days)[0].sum(axis=0)
    assert days == pytest.approx(as_numbers(trace.steps).sum(axis=0), rel=1e-9, abs=1e-9)
    assert np.array_equal(as_numbers(trace.ends)[0, -1], as_numbers(trace.states)[-1], equal_nan=True)


# --- step, members, seeds, threads, memory --------------------------------------------------------------------------


def test_halving_the_step_moves_cooling_less_than_one_percent():
    cooling = []
    for step in (10, 5):
        site = small_site(weather={"step": step})
        cooling.append(total(run(site, read_weather(site)), "roof_J"))
    assert cooling[1] == pytest.approx(cooling[0], rel=0.01)


def test_a_single_run_is_member_zero_of_an_ensemble(site, weather):
    alone, among = run(site, weather, runs=0), run(site, weather, runs=6)
    assert np.array_equal(as_numbers(alone.days)[0], as_numbers(among.days)[0])
    assert np.array_equal(as_numbers(alone.steps), as_numbers(among.steps))


def test_members_differ(site, weather):
    trace = run(site, weather, runs=4)
    assert len({total(trace, "roof_J", member) for member in range(5)}) == 5


def test_same_seed_same_result_other_seed_another(site, weather):
    first, again, other = (as_numbers(run(site, weather, runs=3, seed=seed).days) for seed in (7, 7, 8))
    assert np.array_equal(first, again)
    assert not np.array_equal(first[1:], other[1:])
    assert np.array_equal(first[0], other[0])


@pytest.mark.skipif(numba.config.NUMBA_NUM_THREADS < 2, reason="one core only")
def test_threads_do_not_matter(site, weather):
    before = numba.get_num_threads()
    results = []
    try:
        for threads in (1, 2):
            numba.set_num_threads(threads)
            results.append(as_numbers(run(site, weather, runs=5).days))
    finally:
        numba.set_num_threads(before)
    assert np.array_equal(*results)


def test_memory_grows_with_days_and_members_not_steps_times_members(site, weather):
    driven, formulas = drivers(site, weather), formulas_of(site, weather, rivals(site))
    members = ensemble(site, driven, 40, 1)
    simulate(driven, formulas, members.draws.cloud_error, members.only(0), 600.0)
    tracemalloc.start()
    trace = simulate(driven, formulas, members.draws.cloud_error, members, 600.0)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    a_step, a_state = FLOW.itemsize, STATE.itemsize
    days = trace.days.shape[1]
    needed = 41 * days * (a_step + a_state) + driven.size * (a_step + a_state)
    assert peak < 1.2 * needed
    assert peak < 0.2 * driven.size * 41 * a_step


# --- water and salts by hand -----------------------------------------------------------------------------------------

DRY = {"controls": {"lockout_wind": 0.0}, "load": {"ua": 0.001, "balance_point": 40}}
"""Nothing sprayed (any wind locks the spray out) and nothing cooled: rain, store and uses alone."""
CLEAN = {"first_flush": 0.0, "filter_efficiency": 1.0}


def rain_site(volume, draw, hours=("00:00", "24:00"), **changes):
    """200 m2 of roof with no losses, a store of `volume` m3 a quarter full, a use of `draw` L a day; no mains."""
    roof = [{"name": "roof", "area": 200, "slope": 0, "runoff_coefficient": 1.0, "initial_loss": 0.0}]
    return small_site(
        **DRY,
        roof=roof,
        rain=CLEAN,
        mains={"rule": "none"},
        store={"volume": volume, "dead": 0.001, "reserve": 0.002, "initial_share": 0.25},
        use=[{"name": "wash", "draw": draw, "from": hours[0], "to": hours[1]}],
        **changes,
    )


def daily_rain(depths_mm, hour, step_min=10):
    """All of a day's rain in the first step of an hour."""
    per_day = 24 * 60 // step_min
    rain = np.zeros(len(depths_mm) * per_day)
    rain[np.arange(len(depths_mm)) * per_day + hour * 60 // step_min] = depths_mm
    return rain


DEPTHS = np.random.default_rng(3).gamma(0.25, 16.0, 120) * (np.random.default_rng(4).random(120) < 0.5)


def spillage(depths_mm, volume_kg, demand_kg, start_kg, dead_kg, before):
    """Yield of daily balances: yield before spillage, or after it (Fewkes & Butler 2000)."""
    held, supplied = start_kg - dead_kg, 0.0
    room = volume_kg - dead_kg
    for depth in depths_mm:
        inflow = 200.0 * depth
        taken = min(demand_kg, held + inflow if before else held)
        held = min(held + inflow - taken, room if before else room - taken)
        supplied += taken
    return supplied


@pytest.mark.parametrize("volume", [1.0, 2.0])
def test_yield_lies_between_yield_after_and_before_spillage(volume):
    demand = 600.0 * RHO_WATER / 1000.0
    site = rain_site(volume, 600, hours=("00:00", "23:50"))
    size, start = volume * RHO_WATER, 0.25 * volume * RHO_WATER
    low, high = (spillage(DEPTHS, size, demand, start, 0.001 * RHO_WATER, before) for before in (False, True))
    for hour in (1, 12, 22):
        supplied = total(run(site, steady_weather(120, rain_mm=daily_rain(DEPTHS, hour))), "uses_kg")
        assert low - 1.0 <= supplied <= high + 1.0
    assert high > 1.01 * low  # the bracket is one


@pytest.mark.parametrize(("rain_hour", "use_hours"), [(6, ("12:00", "13:00")), (20, ("12:00", "13:00"))])
def test_rain_balance_against_a_hand_simulation(rain_hour, use_hours):
    """Rain in one step and use in one hour a day: the day has an order that is easily worked by hand."""
    demand, size, dead = 600.0 * RHO_WATER / 1000.0, 3.0 * RHO_WATER, 0.001 * RHO_WATER
    trace = run(rain_site(3.0, 600, use_hours), steady_weather(120, rain_mm=daily_rain(DEPTHS, rain_hour)))
    held, supplied, spilled = 0.25 * size, 0.0, 0.0
    for depth in DEPTHS:
        for happening in ("rain", "use") if rain_hour < 12 else ("use", "rain"):
            if happening == "rain":
                spilled += max(0.0, held + 200.0 * depth - size)
                held = min(size, held + 200.0 * depth)
            else:
                taken = min(demand, held - dead)
                held, supplied = held - taken, supplied + taken
    assert total(trace, "uses_kg") == pytest.approx(supplied, rel=HAND_FRAC)
    assert total(trace, "overflow_kg") == pytest.approx(spilled, rel=HAND_FRAC)
    assert trace.ends["store_kg"][0, -1] == pytest.approx(held, rel=HAND_FRAC)
    assert total(trace, "unmet_kg") == pytest.approx(120 * demand - supplied, rel=HAND_FRAC)


def test_losses_of_a_shower_by_hand():
    """Two showers of 4 mm, two hours apart: one initial loss, one first flush, filter on what passes."""
    roof = [{"name": "roof", "area": 200, "slope": 0, "runoff_coefficient": 0.9, "initial_loss": 0.5}]
    site = small_site(
        **DRY,
        roof=roof,
        use=[],
        mains={"rule": "none"},
        rain={"first_flush": 1.0, "filter_efficiency": 0.95, "dry_spell": 72},
    )
    rain = np.zeros(144)
    rain[[60, 72]] = 4.0
    trace = run(site, steady_weather(1, rain_mm=rain))
    by_hand = 0.95 * (200 * 0.9 * (4.0 - 0.5) - 200 * 1.0) + 0.95 * 200 * 0.9 * 4.0
    assert total(trace, "rain_kg") == pytest.approx(by_hand, rel=1e-9)
    assert total(trace, "rain_fallen_kg") == pytest.approx(1600.0, rel=1e-12)


def test_first_flush_and_initial_loss_come_back_after_dry_spells_by_hand():
    """A shower of 2 mm every 4 days: flush (72 h) and loss act each time; every 2 days: only the loss does."""
    roof = [{"name": "roof", "area": 100, "slope": 0, "runoff_coefficient": 1.0, "initial_loss": 0.5}]
    site = small_site(
        **DRY,
        roof=roof,
        use=[],
        mains={"rule": "none"},
        store={"volume": 50, "initial_share": 0.1},
        rain={"first_flush": 1.0, "filter_efficiency": 1.0, "dry_spell": 72},
    )
    for every, caught in ((4, 3 * 100 * (2.0 - 0.5 - 1.0)), (2, 6 * 100 * (2.0 - 0.5) - 100 * 1.0)):
        depths = np.where(np.arange(12) % every == 0, 2.0, 0.0)
        trace = run(site, steady_weather(12, rain_mm=daily_rain(depths, 12)))
        assert total(trace, "rain_kg") == pytest.approx(caught, rel=1e-9)


def test_slope_catches_rain_on_its_plan_area():
    roof = [{"name": "roof", "area": 200, "slope": 60, "runoff_coefficient": 1.0, "initial_loss": 0.0}]
    site = small_site(**DRY, roof=roof, use=[], mains={"rule": "none"}, rain=CLEAN)
    trace = run(site, steady_weather(1, rain_mm=daily_rain([5.0], 12)))
    assert total(trace, "rain_kg") == pytest.approx(200 * 0.5 * 5.0, rel=1e-9)


def test_top_up_keeps_the_marks():
    site = small_site(
        **DRY,
        mains={"rule": "top up", "top_up_below": 4, "top_up_to": 6, "flow": 100},
        store={"volume": 20, "initial_share": 0.3},
        use=[{"name": "wash", "draw": 2000}],
    )
    held = run(site, steady_weather(30)).states["store_kg"] / RHO_WATER
    assert held[200:].min() > 3.6
    assert held[200:].max() < 6.001
    assert held[200:].max() > 5.9


def test_bypass_serves_uses_without_touching_the_store():
    site = small_site(
        **DRY,
        mains={"rule": "bypass"},
        store={"volume": 20, "dead": 1, "reserve": 2, "initial_share": 0.05},
        use=[{"name": "wash", "draw": 500}],
    )
    trace = run(site, steady_weather(4))
    assert total(trace, "bypass_kg") == pytest.approx(4 * 500 * RHO_WATER / 1000.0, rel=1e-9)
    assert total(trace, "unmet_kg") == 0.0


WET = {
    "controls": {"sense": "clock", "window_from": "00:00", "window_to": "23:50", "lockout_wind": 30, "stop_store": -50},
    "load": {"ua": 0.001, "balance_point": 40},
    "use": [],
}
"""The spray runs nearly always, nothing is cooled: evaporation, drift, mains and salts."""


def test_bleed_holds_the_salts_at_the_limit():
    """Evaporation and drift for 400 days: the salt limit holds, and bleed = E/(cycles - 1) - drift in the long run."""
    site = small_site(
        **WET,
        store={"volume": 3, "initial_share": 0.9},
        spray={"flow": 40, "drift_base": 0.0003},
        bleed={"rule": "salts", "salt_limit": 900},
        roof=[{"name": "r", "area": 60}],
        mains={"rule": "top up", "top_up_below": 2.6, "top_up_to": 2.7, "flow": 60, "salts": 300},
    )
    trace = run(site, steady_weather(400, step_min=30, t_air_C=25.0, t_dew_C=5.0, wind_m_s=1.0))
    late = slice(200, 400)
    evaporated, drift, bled = (
        float(trace.days[name][0, late].sum()) for name in ("evaporation_kg", "drift_kg", "bleed_kg")
    )
    strength = trace.ends["salt_kg"][0, late] / trace.ends["store_kg"][0, late]
    assert strength.max() <= 1.02 * 900e-6
    assert strength.min() >= 0.9 * 900e-6
    assert evaporated > 0.0
    assert bled + drift == pytest.approx(evaporated / (900 / 300 - 1), rel=BLEED_FRAC)


def test_without_bleed_salts_gather_as_evaporation_leaves_them():
    site = small_site(
        **WET,
        store={"volume": 3, "initial_share": 0.9},
        roof=[{"name": "r", "area": 60}],
        spray={"flow": 40, "drift_base": 0.0, "drift_wind": 0.0},
        mains={"rule": "top up", "top_up_below": 2.6, "top_up_to": 2.7, "salts": 300},
    )
    trace = run(site, steady_weather(60, step_min=30, t_air_C=25.0, t_dew_C=5.0, wind_m_s=1.0))
    gathered = trace.ends["salt_kg"][0, -1] - trace.start["salt_kg"][0]
    assert total(trace, "drift_kg") == 0.0
    assert gathered == pytest.approx(300e-6 * total(trace, "mains_kg"), rel=1e-9)


# --- heat ------------------------------------------------------------------------------------------------------------


def test_a_store_left_alone_cools_as_newton_says():
    site = small_site(
        **DRY,
        use=[],
        mains={"rule": "none"},
        place={"elevation": 0},
        store={"volume": 10, "initial_temperature": 30, "initial_share": 1.0, "u": 2.0, "height": 2},
    )
    trace = run(site, steady_weather(20, t_air_C=12.0, t_dew_C=5.0))
    ua = 2.0 * (2 * 5.0 + 4 * np.sqrt(5.0) * 2.0)
    by_hand = 12.0 + 18.0 * np.exp(-ua * 20 * 86400.0 / (10 * RHO_WATER * CP_WATER))
    assert trace.states["t_outlet_C"][-1] == pytest.approx(by_hand, abs=1e-6)


def test_a_circulated_store_settles_where_the_roof_and_pump_balance():
    """Spray without end in steady weather: what the roof takes is the pump's heat, the make-up's and the walls'."""
    site = small_site(
        **{**WET, "use": []},
        store={"volume": 3, "initial_share": 0.9, "placement": "indoors"},
        spray={"flow": 60, "ridge_share": 1.0},
        mains={"rule": "top up", "top_up_below": 2.5, "top_up_to": 2.7},
    )
    trace = run(site, steady_weather(40, t_air_C=20.0, t_dew_C=12.0))
    day = trace.days[0, -1]
    roof, gains = day["roof_J"], day["pump_heat_J"] + day["water_in_J"] - day["water_out_J"] - day["walls_J"]
    grown = trace.ends["store_heat_J"][0, -1] - trace.ends["store_heat_J"][0, -2]  # between two fillings it shrinks
    assert gains - grown == pytest.approx(roof, rel=0.02)
    assert trace.ends["t_outlet_C"][0, -1] == pytest.approx(trace.ends["t_outlet_C"][0, -2], abs=0.01)


def test_floor_takes_what_the_exchanger_gives_by_hand():
    """One steady step of a floor on a store of known temperature, against eps-NTU worked here."""
    site = small_site(
        controls={"lockout_wind": 0.0},
        use=[],
        mains={"rule": "none"},
        load={"ua": 50, "balance_point": 5},
        store={"volume": 500, "initial_temperature": 18, "initial_share": 1.0, "u": 0.3},
        emitter=[
            {
                "name": "f",
                "kind": "floor",
                "area": 100,
                "flow": 30,
                "pump_power": 50,
                "resistance": 0.1,
                "minimum_surface": 10,
                "minimum_supply": 10,
            }
        ],
        room={"humidity": 0.3},
    )
    trace = run(site, steady_weather(1, t_air_C=30.0))
    flow = 30 * RHO_WATER / 60000.0
    ua = 100 / (1 / 7.0 + 0.1)
    first = int(np.flatnonzero(trace.steps["delivered_J"])[0])
    supply = trace.states["t_outlet_C"][first - 1]
    heat = flow * CP_WATER * (1 - np.exp(-ua / (flow * CP_WATER))) * (25.0 - supply)
    assert trace.steps["delivered_J"][first] / 600.0 == pytest.approx(heat, rel=1e-6)
    assert trace.steps["circulator_J"][first] == 50 * 600.0


def ceiling_solved(area_m2, resistance_m2K_W, water_W_K, room_C, supply_C):
    """A cooled ceiling solved anew along the water [W]: at every place 8.92 |T_room - T_s|^1.1 (EN 1264-2, ISO 11855-2)
    comes through the resistance into the water.
    """
    def flux(t_water_C):
        surface = brentq(lambda t_s: 8.92 * (room_C - t_s) ** 1.1 - (t_s - t_water_C) / resistance_m2K_W, t_water_C,
                         room_C, xtol=1e-12)
        return 8.92 * (room_C - surface) ** 1.1

    warmed_C = solve_ivp(lambda x, t_C: [area_m2 * flux(t_C[0]) / water_W_K], (0.0, 1.0), [supply_C], rtol=1e-9,
                         atol=1e-9).y[0, -1]
    return water_W_K * (float(warmed_C) - supply_C)


def ceiling_in_the_loop(store_C, least_C, **emitter):
    site = small_site(
        controls={"lockout_wind": 0.0},
        use=[],
        mains={"rule": "none"},
        load={"ua": 50, "balance_point": 5},
        store={"volume": 2000, "initial_temperature": store_C, "initial_share": 1.0, "u": 0.3},
        emitter=[{"name": "c", "kind": "ceiling", "area": 150, "pump_power": 0, "minimum_surface": least_C,
                  "minimum_supply": 8, "dew_margin": 0, **emitter}],
        room={"temperature": 25, "humidity": 0.3},
    )
    trace = run(site, steady_weather(1, t_air_C=30.0))
    first = int(np.flatnonzero(trace.steps["delivered_J"])[0])
    return float(trace.steps["delivered_J"][first]) / 600.0, float(trace.states["t_outlet_C"][first - 1])


@pytest.mark.parametrize("store_C", [10.0, 16.0, 22.0])
@pytest.mark.parametrize("flow", [10.0, 40.0, 200.0])
@pytest.mark.parametrize("resistance", [0.02, 0.06, 0.15, 0.4])
def test_a_ceilings_coefficient_is_that_of_its_surface(resistance, flow, store_C):
    heat, supply = ceiling_in_the_loop(store_C, 1, resistance=resistance, flow=flow)
    water = flow * RHO_WATER / 60000.0 * CP_WATER
    assert heat == pytest.approx(ceiling_solved(150.0, resistance, water, 25.0, supply), rel=CEILING_FRAC)


def test_a_ceiling_held_at_its_least_surface_takes_what_that_surface_takes():
    """15 degC in a room of 25: 8.92 x 10^1.1 = 112.30 W/m2, by hand, however cold the water."""
    heat, _supply = ceiling_in_the_loop(9.0, 15, resistance=0.005, flow=200.0)
    assert heat == pytest.approx(150.0 * 112.30, rel=1e-4)


@pytest.mark.parametrize(("load_W", "resistance"), [(2500.0, 0.05), (3200.0, 0.02)])
def test_a_slowed_pump_knows_the_ceilings_surface(load_W, resistance):
    """Flow by scipy at which the ceiling solved anew takes up the load; the pump's power goes with its cube."""
    site = small_site(
        controls={"lockout_wind": 0.0},
        use=[],
        mains={"rule": "none"},
        load={"ua": 0.001, "base": load_W / 1000.0, "balance_point": 5, "sensible_share": 1.0},
        store={"volume": 2000, "initial_temperature": 14, "initial_share": 1.0, "u": 0.3},
        emitter=[{"name": "c", "kind": "ceiling", "area": 60, "flow": 10, "pump_power": 100, "resistance": resistance,
                  "minimum_supply": 8, "dew_margin": 0, "pump_drive": "variable"}],
        room={"temperature": 25, "humidity": 0.3},
    )
    trace = run(site, steady_weather(1, t_air_C=30.0))
    first = int(np.flatnonzero(trace.steps["delivered_J"])[0])
    supply, wanted = float(trace.states["t_outlet_C"][first - 1]), float(trace.steps["load_J"][first]) / 600.0
    full = 10.0 * RHO_WATER / 60000.0
    share = brentq(lambda x: ceiling_solved(60.0, resistance, x * full * CP_WATER, 25.0, supply) - wanted, 0.05, 1.0)
    assert 0.25 < share < 0.9
    assert float(trace.steps["delivered_J"][first]) / 600.0 == pytest.approx(wanted, rel=1e-9)
    assert float(trace.steps["circulator_J"][first]) / 600.0 == pytest.approx(100.0 * share**3, rel=0.04)


def test_store_is_never_drawn_warmer_than_the_room_by_an_emitter():
    site = small_site(
        controls={"lockout_wind": 0.0},
        use=[],
        mains={"rule": "none"},
        load={"ua": 50, "balance_point": 5},
        store={"volume": 2, "initial_temperature": 18, "initial_share": 1.0, "placement": "indoors"},
    )
    trace = run(site, steady_weather(20, t_air_C=30.0))
    assert trace.states["t_outlet_C"].max() <= 25.0 + 1e-6


def test_electricity_avoided_is_marginal_by_hand():
    """Load 10 kW of 20 kW capacity, 2 kW taken off: the air conditioner's power worked here at both loads."""
    site = small_site(
        controls={"lockout_wind": 0.0},
        use=[],
        mains={"rule": "none"},
        emitter=[{"name": "f", "kind": "floor", "area": 100, "flow": 30, "pump_power": 50}],
        load={"ua": 1.0, "balance_point": 20, "lag": 0, "sensible_share": 1.0},
        store={"volume": 500},
        air_conditioner={"kind": "constant", "rated_cop": 3.0, "rated_capacity": 20, "part_load_degradation": 0.25},
    )
    trace = run(site, steady_weather(1, t_air_C=30.0))
    step = trace.steps[trace.steps["load_J"] > 0.0][0]
    assert step["load_J"] == pytest.approx(10e3 * 600.0, rel=1e-9)
    assert step["ac_without_J"] - step["ac_with_J"] > 0.0
    assert step["useful_J"] == step["delivered_J"] > 0.0


def test_implicit_deck_settles_at_its_own_balance():
    """A deck under running water for days: heat into it is U (T_water - T_beneath) through both resistances."""
    site = small_site(
        **WET,
        mains={"rule": "top up"},
        roof=[
            {
                "name": "r",
                "area": 100,
                "deck_u": 2.0,
                "deck_capacity": 50,
                "beneath_temperature": 24,
                "wetted_share": 1.0,
            }
        ],
    )
    trace = run(site, steady_weather(10, t_air_C=15.0, t_dew_C=8.0))
    wet = trace.steps["spray_s"] > 0
    last = np.flatnonzero(wet)[-1]
    sheet = trace.states["sheet_C"][last]
    series = brentq(lambda u: 1 / u - 1 / 2.0 - 1 / 60.0, 0.1, 10.0)
    assert trace.steps["deck_J"][last] / 600.0 / 100.0 == pytest.approx(series * (sheet - 24.0), rel=2e-3)
