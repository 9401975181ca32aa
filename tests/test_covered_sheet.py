"""The running sheet under a cover, solved anew: `test_cover.Anew` in balance at every place of the slope."""

from __future__ import annotations

import math

import CoolProp.CoolProp as CP
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from solved_anew import COVER_FLUX_FRAC, COVER_K, COVER_VAPOUR_FRAC
from test_cover import COVER_KINDS, Anew, Night, air_of, gap_for

from sprayroof.physics.covered_sheet import covered_sheet

NIGHTS = {
    "cool water": (15.0, Night(humidity=0.45)),
    "stirred gap": (25.0, Night(humidity=0.5, wind_m_s=3.0)),
    "dew": (22.0, Night(humidity=0.9, wind_m_s=1.0)),
}
PARTS = ("convection", "longwave", "latent", "lost")


def flux_anew(t_C, night, kind, t_cover):
    """Fluxes of `Anew` at a water temperature, its cover the one that is in balance near the guess."""
    anew = Anew(t_C, night, kind)
    root = brentq(lambda t: anew.state(t)["residual"], t_cover - 3.0, t_cover + 3.0, xtol=1e-6)
    return anew.state(root)


def even_anew(t_in, night, kind, feed, cp, near, t_cover):
    """One temperature everywhere: feed cp (T_in - T) = q(T)."""
    def balance(t):
        there = flux_anew(t, night, kind, t_cover)
        return feed * cp * (t_in - t) - there["convection"] - there["longwave"] - there["latent"]
    mean = brentq(balance, near - 0.4, near + 0.4, xtol=1e-5)
    return mean, flux_anew(mean, night, kind, t_cover)


def ridge_anew(t_in, night, kind, feed, cp, t_cover):
    """Plug flow: G c dT/dx = -q(T), dG/dx = -e(T); means along the slope."""
    def along(_x, state):
        there = flux_anew(state[0], night, kind, t_cover)
        heat = there["convection"] + there["longwave"] + there["latent"]
        return [-heat / (state[1] * cp), -there["lost"], state[0], *(there[part] for part in PARTS)]
    found = solve_ivp(along, (0.0, 1.0), [t_in, feed] + [0.0] * 5, rtol=1e-5, atol=1e-8)
    return found.y[2, -1], dict(zip(PARTS, found.y[3:, -1], strict=True))


@pytest.mark.parametrize("ridge_share", [0.0, 1.0], ids=["even", "ridge"])
@pytest.mark.parametrize("name", COVER_KINDS)
@pytest.mark.parametrize("case", NIGHTS)
def test_the_covered_sheet_solved_anew(case, name, ridge_share):
    """Each flux by itself within 1 %, from first guesses that leave a small last step to be shared out."""
    (t_in, night), kind, feed = NIGHTS[case], COVER_KINDS[name], 0.3 / 60.0
    air, cp = air_of(night), CP.PropsSI("C", "T", t_in + 273.15, "P", 101325.0, "Water")

    def ours(start, t_cover):
        return covered_sheet(t_in, feed, ridge_share, start, t_cover, 0.0, 24.0, *air, 0.96, night.longwave_W_m2,
                             gap_for(night, kind), kind)
    mean, *_, t_cover = ours(t_in, math.nan)
    anew_mean, anew = (even_anew(t_in, night, kind, feed, cp, mean, t_cover) if ridge_share == 0.0
                       else ridge_anew(t_in, night, kind, feed, cp, t_cover))
    for off_K in (0.0, 0.019, -0.019):
        mean, convection, lost, longwave, latent, _deck, t_cover = ours(anew_mean + off_K, t_cover)
        assert mean == pytest.approx(anew_mean, abs=COVER_K)
        # convection may pass through zero where water meets the air: 0.05 W/m2 is what 0.01 K of the mesh's sheet makes
        for part, value in (("convection", convection), ("longwave", longwave), ("latent", latent)):
            assert value == pytest.approx(anew[part], rel=COVER_FLUX_FRAC, abs=0.05), (part, off_K)
        assert lost == pytest.approx(anew["lost"], rel=COVER_VAPOUR_FRAC, abs=2e-8)
