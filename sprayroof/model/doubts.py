"""What the simulated year itself tells against its result: findings for the reader."""

from __future__ import annotations

from typing import Any

import numpy as np

from sprayroof.catalogue import FINDINGS
from sprayroof.errors import NotEnough, Problem
from sprayroof.model.simulate import Trace
from sprayroof.results import Finding, Quantity

LONG_STEP_SHARE, TOO_LONG_SHARE = 0.05, 0.5


def refuse_long_step(members: np.ndarray, dt_s: float) -> None:
    """Stop where one step would turn over half of what the pump can reach: the result would be the step's own.

    Raises
    ------
    NotEnough
    """
    reach_kg = float(members["full_kg"][0] - members["dead_kg"][0])
    share = float(members["flow_kg_s"][0]) * dt_s / reach_kg
    if share > TOO_LONG_SHARE:
        raise NotEnough(str(Problem("weather.step", f"in one step the pump turns over {share:.0%} of the store",
                                    f"at most {TOO_LONG_SHARE:.0%}", "give a shorter step, such as step = 1")))


def finding(code: str, message: str, effect: str, where: str = "", **data: Any) -> Finding:
    """A finding at the level its code has in the catalogue."""
    return Finding(code, FINDINGS[code].level, message, where, data, effect)


def findings_of_year(site: Any, trace: Trace, quantities: dict[str, Quantity], members: np.ndarray) -> list[Finding]:
    """Findings of the simulated reference year."""
    checks = (_never_sprayed, _freezing, _step_too_long, _sign_open, _unmet, _cools_without_spray, _no_demand,
              _year_not_closed, _booster)
    found = (check(site, trace, quantities, members) for check in checks)
    return [one for one in found if one is not None]


def _words(site: Any, spray: str, panels: str) -> str:
    """The words for a sprayed roof, or those for closed panels."""
    return spray if site.panels is None else panels


def _never_sprayed(site, trace, quantities, members):
    if quantities["spray_hours_h"].value > 0.0:
        return None
    what = _words(site, "spray", "panels' pump")
    return finding("spray.never-ran", f"In the best estimate the controller never starts the {what}.",
                   "All cooling and losses are zero; check season, window, differences, lock-outs and reserve.",
                   "controls")


def _freezing(site, trace, quantities, members):
    coldest = quantities["coldest_store_C"].low
    if coldest > 0.5:
        return None
    return finding("store.freezing", f"The store comes down to {round(coldest, 1) + 0.0:.1f} degC in the model.",
                   "Water is held at 0 degC and ice is not followed: winter figures are rough. Pipes may freeze.",
                   "store", coldest_C=coldest)


def _step_too_long(site, trace, quantities, members):
    share = float(members["flow_kg_s"][0] * trace.dt_s / members["full_kg"][0])
    if share < LONG_STEP_SHARE:
        return None
    return finding("model.step-too-long", f"In one step the pump turns over {share:.0%} of the store.",
                   "Use a shorter step (weather.step) for this small store.", "weather.step", share=share)


def _sign_open(site, trace, quantities, members):
    net = quantities["electricity_net_kWh"]
    if not net.spans_zero:
        return None
    return finding("result.sign-open", f"Net electricity lies between {net.low:.0f} and {net.high:.0f} kWh.",
                   "It cannot be said whether the system saves or costs electricity.", "electricity_net_kWh",
                   low=net.low, high=net.high)


def _unmet(site, trace, quantities, members):
    unmet = quantities["unmet_uses_m3"].value
    if unmet <= 0.01 * max(quantities["other_uses_m3"].value, 1e-9):
        return None
    return finding("water.uses-unmet", f"{unmet:.1f} m3 a year of other uses got no water.",
                   "The figures of rain and mains hold only with these shortages.", "mains.rule", unmet_m3=unmet)


def _cools_without_spray(site, trace, quantities, members):
    useful, without = quantities["cooling_useful_kWh"].value, quantities["useful_without_spray_kWh"].value
    if quantities["booster_cooling_kWh"].value > 0.0:
        return None  # beside a booster most of it is the booster's
    if without <= 0.1 * max(useful, 1e-9) or without <= 0.0:
        return None
    return finding("result.cools-without-spray",
                   f"The store would give {without:.0f} kWh of useful cooling a year without "
                   f"{_words(site, 'any spraying', 'the panels')}.",
                   "That part is owed to rain, ground and night air at the store's walls, not to "
                   f"the {_words(site, 'roof', 'panels')}.",
                   "useful_without_spray_kWh", without_kWh=without, useful_kWh=useful)


def _no_demand(site, trace, quantities, members):
    if float(trace.days["load_J"][0].sum()) > 0.0:
        return None
    return finding("load.none", "The building has no demand for cooling in the reference year.",
                   "No cooling can be useful; check balance point, hours and season.", "load")


def _year_not_closed(site, trace, quantities, members):
    change = quantities["storage_change_m3"].value
    if abs(change) <= max(1.0, 0.1 * site.store.volume_m3.value):
        return None
    return finding("store.year-not-closed", f"The store ends the year with {change:+.0f} m3 beside its start.",
                   "That much mains water is flattered or overstated; leave out initial_share and initial_temperature.",
                   "store.initial_share", change_m3=change)


def _booster(site, trace, quantities, members):
    ac = quantities["ac_electricity_kWh"].value
    if quantities["booster_cooling_kWh"].value <= 0.0 or ac <= 0.0:
        return None
    whole = quantities["electricity_avoided_whole_kWh"].value / ac
    roof = quantities["ac_offset_frac"].value
    used = quantities["booster_electricity_kWh"].value + quantities["electricity_own_kWh"].value
    what = _words(site, "spraying", "the panel loop")
    return finding("result.booster-left-out",
                   f"The store spares the air conditioner {whole:.0%} of its electricity; {what} spares air "
                   f"conditioner and booster together as much as {roof:.0%} of it.",
                   f"The larger share holds the booster's cooling and leaves out {used:.0f} kWh of booster, pumps and "
                   "standby.", "booster", whole_frac=whole, roof_frac=roof, used_kWh=used)
