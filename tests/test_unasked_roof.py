"""Where the roof is not asked, it could not have helped: the bound on its fall stands over what it is found to do."""

from __future__ import annotations

import numpy as np
import pytest
from small_site import small_site, steady_weather

from sprayroof.model.air import air_of
from sprayroof.model.drivers import drivers, formulas_of
from sprayroof.model.members import ensemble, rivals
from sprayroof.model.records import MEMORY
from sprayroof.model.roof import UNKNOWN_C, could_want, most_fall_K, spray_roof, wants_spray

DT_S = 600.0
WEATHERS = [
    {"t_air_C": t_air_C, "t_dew_C": t_air_C - short_K, "wind_m_s": wind_m_s}
    for t_air_C in (4.0, 18.0, 32.0) for short_K in (0.5, 14.0) for wind_m_s in (0.0, 1.0, 7.0)
]


def members_of(weather, cover, slope_deg, flow_L_min=60):
    site = small_site(roof=[{"name": "long roof", "area": 400, "surface": "concrete", "cover": cover,
                             "slope": slope_deg}], controls={"start_difference": 6.0, "stop_difference": 2.0},
                      spray={"flow": flow_L_min})
    driven = drivers(site, weather)
    return driven[0], formulas_of(site, weather, rivals(site)), ensemble(site, driven, 12, 3).members


def falls_of(now, formulas, member, t_store_C, deck_C, solar_W_m2):
    """Bound and found fall [K] of one member, and the air it has."""
    air = air_of(now, formulas.clear[0, int(member["sky_column"])], formulas.cloud[0, int(member["cloud_column"])],
                 formulas.forced_1m_W_m2K[0, int(member["convection_column"])], 0.0, member)
    memory = np.zeros(1, MEMORY)[0]
    memory["deck_C"][:], memory["sheet_C"][:], memory["cover_C"][:] = deck_C, UNKNOWN_C - 1.0, np.nan
    planes = member["planes"][: int(member["planes_n"])]
    roof = spray_roof(air, solar_W_m2, member, planes, memory, t_store_C, 0.0, DT_S)
    most = most_fall_K(air, solar_W_m2, member, planes, memory["deck_C"], roof.t_in_C, DT_S)
    return air, planes, memory, roof, most


@pytest.mark.parametrize("cover", ["none", "clear film", "vented mesh", "opaque sheet"])
@pytest.mark.parametrize(("slope_deg", "flow_L_min"), [(2.0, 60), (2.0, 3000), (45.0, 3000)])
def test_no_roof_cools_more_than_the_bound(cover, slope_deg, flow_L_min):
    nearest = np.inf
    for values in WEATHERS:
        weather = steady_weather(1, **values)
        now, formulas, members = members_of(weather, cover, slope_deg, flow_L_min)
        for member in members:
            for above_K in (-8.0, -1.0, 2.0, 12.0):
                t_store_C = max(3.0, values["t_air_C"] + above_K)
                for deck_C, solar in ((t_store_C, 0.0), (t_store_C - 15.0, 0.0), (t_store_C, 500.0)):
                    _, _, _, roof, most = falls_of(now, formulas, member, t_store_C, deck_C, solar)
                    fall = roof.t_in_C - roof.t_out_C
                    assert fall <= most
                    if fall > 0.02:
                        nearest = min(nearest, most / fall)
    assert nearest < (1.3 if flow_L_min == 3000 else 6.0)  # nor does the bound say nothing


@pytest.mark.parametrize("cover", ["none", "clear film"])
def test_what_is_not_asked_would_not_have_been_wanted(cover):
    unasked = 0
    for values in WEATHERS:
        now, formulas, members = members_of(steady_weather(1, **values), cover, 5.0)
        for member in members:
            for above_K in np.linspace(-6.0, 12.0, 7):
                t_store_C = max(4.0, values["t_air_C"] + above_K)
                air, planes, memory, roof, _ = falls_of(now, formulas, member, t_store_C, t_store_C, 0.0)
                asked = could_want(air, 0.0, member, planes, memory["deck_C"], t_store_C, False, DT_S)
                unasked += not asked
                assert asked or not wants_spray(air, member, t_store_C, roof.t_out_C, False)
    assert unasked > 50
