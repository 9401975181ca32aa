"""How near ours must come to solutions written anew: the tests hold to these numbers, docs/validation.md prints them.

Every limit is used by the tests that its row names (`test_validation_page.py` sees to it).
"""

from __future__ import annotations

from dataclasses import dataclass

SHEET_K, SHEET_HEAT_FRAC, SHEET_VAPOUR_FRAC = 0.02, 0.01, 0.01
SCARCE_OUTLET_K = 0.025
FILM_K, FILM_DEPRESSION_FRAC = 0.01, 0.003
DROP_K, DROP_VAPOUR_FRAC, DROP_SPEED_FRAC = 0.03, 0.01, 0.005
JET_FRAC = 0.02
COVER_K, COVER_FLUX_FRAC, COVER_VAPOUR_FRAC, COVER_WET_FRAC = 0.02, 0.01, 0.02, 0.02
PANEL_K, PANEL_FRAC = 0.02, 0.002
OPEN_STORE_HEAT_FRAC, OPEN_STORE_VAPOUR_FRAC = 0.01, 0.012
CEILING_FRAC = 0.005
BEAM_FRAC = 1e-6
BOUND_W_M2, BOUND_OVER_USUAL = 1e-6, 2.5
HAND_FRAC = 1e-9
BLEED_FRAC = 0.03


@dataclass(frozen=True)
class Anew:
    """One row: what was solved anew, how, what is asked for, its limits by name, and the tests that ask."""

    what: str
    how: str
    asked: str
    limits: tuple[str, ...]
    tests: tuple[str, ...]


def _per_cent(share: float) -> str:
    return f"{100.0 * share:g} %"


SOLVED_ANEW = (
    Anew("running sheet, fed evenly, at the ridge or half and half; 0.05 to 1 L/(min m2)",
         "root of the non-linear balance; differential equation with a flow that shrinks",
         f"{SHEET_K:g} K at the outlet and in the mean, heat {_per_cent(SHEET_HEAT_FRAC)}, evaporation "
         f"{_per_cent(SHEET_VAPOUR_FRAC)}",
         ("SHEET_K", "SHEET_HEAT_FRAC", "SHEET_VAPOUR_FRAC"), ("test_sheet_and_drops.test_sheet",)),
    Anew("scarce water over a deck with a profile of its own", "the same, the deck's heat taken from the sky",
         f"mean {SHEET_K:g} K, outlet {SCARCE_OUTLET_K:g} K, heat {_per_cent(SHEET_HEAT_FRAC)}, evaporation "
         f"{_per_cent(SHEET_VAPOUR_FRAC)}", ("SHEET_K", "SCARCE_OUTLET_K", "SHEET_HEAT_FRAC", "SHEET_VAPOUR_FRAC"),
         ("test_sheet_and_drops.test_scarce_water_over_a_deck_that_has_its_profile",)),
    Anew("adiabatic film", "root of the balance: 0.2 to 0.4 K below the wet bulb at 20 degC, 50 %",
         f"{FILM_K:g} K and {_per_cent(FILM_DEPRESSION_FRAC)} of the depression", ("FILM_K", "FILM_DEPRESSION_FRAC"),
         ("test_sheet_and_drops.test_adiabatic_film_settles_just_below_the_wet_bulb",)),
    Anew("falling drop", "motion, heat and vapour with Ranz & Marshall's own Sherwood number, shrinking drop",
         f"{DROP_K:g} K, evaporated share {_per_cent(DROP_VAPOUR_FRAC)}, speed {_per_cent(DROP_SPEED_FRAC)}",
         ("DROP_K", "DROP_VAPOUR_FRAC", "DROP_SPEED_FRAC"), ("test_sheet_and_drops.test_drop",)),
    Anew("thrown drop, up and down", "differential equation of the flight, speed at the nozzle by a root finder",
         f"exchange {_per_cent(JET_FRAC)}", ("JET_FRAC",),
         ("test_jet.test_members_have_the_exchange_of_the_whole_flight",
          "test_jet.test_what_the_fastest_jet_cannot_lift_is_carried_up")),
    Anew("cover over a wet roof: film, mesh, sheet", "all roots of the two-band balance with vapour, gap and droplets",
         f"cover {COVER_K:g} K, each flux {_per_cent(COVER_FLUX_FRAC)} of their sum, water lost "
         f"{_per_cent(COVER_VAPOUR_FRAC)}, wetted share {_per_cent(COVER_WET_FRAC)}",
         ("COVER_K", "COVER_FLUX_FRAC", "COVER_VAPOUR_FRAC", "COVER_WET_FRAC"),
         ("test_cover.test_the_cover_solved_anew",)),
    Anew("sheet running beneath a cover, even and from the ridge",
         "the cover's balance anew in each place of the slope",
         f"{COVER_K:g} K, each flux {_per_cent(COVER_FLUX_FRAC)}, water lost {_per_cent(COVER_VAPOUR_FRAC)}",
         ("COVER_K", "COVER_FLUX_FRAC", "COVER_VAPOUR_FRAC"),
         ("test_covered_sheet.test_the_covered_sheet_solved_anew",)),
    Anew("closed panels, bare", "differential equation along the water, flux anew with Planck's integral and dew",
         f"{PANEL_K:g} K or {_per_cent(PANEL_FRAC)} of the cooling", ("PANEL_K", "PANEL_FRAC"),
         ("test_panels.test_plug_flow_solved_anew",)),
    Anew("closed panels, covered", "differential equation along the water (our flux)", f"{PANEL_K:g} K", ("PANEL_K",),
         ("test_panels.test_covered_plug_flow_by_a_solver",)),
    Anew("open store, evaporating and in dew, over its own length", "the surface's balance anew, in the time loop",
         f"heat {_per_cent(OPEN_STORE_HEAT_FRAC)}, vapour {_per_cent(OPEN_STORE_VAPOUR_FRAC)}",
         ("OPEN_STORE_HEAT_FRAC", "OPEN_STORE_VAPOUR_FRAC"),
         ("test_site_to_loop.test_an_open_store_exchanges_over_its_own_length",)),
    Anew("cooled ceiling", "surface by a root, water by a differential equation, in the time loop",
         f"heat {_per_cent(CEILING_FRAC)}", ("CEILING_FRAC",),
         ("test_simulate.test_a_ceilings_coefficient_is_that_of_its_surface",)),
    Anew("chilled beam", "root of output and mean water", f"{_per_cent(BEAM_FRAC)}", ("BEAM_FRAC",),
         ("test_machines.test_beam_from_a_root_finder",)),
    Anew("largest possible cooling of a night", "random weather and every sky formula; a usual good night",
         f"no sheet above it (by {BOUND_W_M2:g} W/m2); below {BOUND_OVER_USUAL:g} times a good night's",
         ("BOUND_W_M2", "BOUND_OVER_USUAL"),
         ("test_bounds.test_no_sheet_beats_the_bound", "test_bounds.test_bound_is_of_use")),
    Anew("store in layers", "closed forms of mixing and of walls; mass and heat kept whatever is done (random stores)",
         f"{HAND_FRAC:g} of it", ("HAND_FRAC",), ("test_tank.test_walls_follow_the_exponential_whatever_the_step",)),
    Anew("rain, overflow, uses", "hand simulation, day by day; yield after and before spillage as a bracket",
         f"{HAND_FRAC:g} of it", ("HAND_FRAC",), ("test_simulate.test_rain_balance_against_a_hand_simulation",)),
    Anew("salts and bleed", "E/(cycles - 1) less drift", f"{_per_cent(BLEED_FRAC)} in the long run", ("BLEED_FRAC",),
         ("test_simulate.test_bleed_holds_the_salts_at_the_limit",)),
)
