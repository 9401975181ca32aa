"""How much of a sprayed roof stays wet, how much water stands on it, and how long it stays there."""

from __future__ import annotations

import math

from sprayroof.physics.compiled import elementwise
from sprayroof.physics.constants import GRAVITY, WETTING_BALANCE
from sprayroof.physics.film import nusselt_thickness_m


@elementwise
def minimum_wetting_kg_ms(slope_deg, contact_deg, viscosity_Pa_s, density_kg_m3, tension_N_m):
    """Least flow per width at which a running sheet closes over a dry patch.

    Parameters
    ----------
    slope_deg : float or array
        Slope [deg], above 0.
    contact_deg : float or array
        Contact angle [deg], 0 to 180.
    viscosity_Pa_s, density_kg_m3, tension_N_m : float or array
        Of the water: dynamic viscosity [Pa s], density [kg/m3], surface tension [N/m].

    Returns
    -------
    float or array
        Flow per width [kg/(m s)].

    Notes
    -----
    At the head of a dry patch the dynamic pressure of a laminar sheet, rho^3 (g sin b)^2 d^5 / (15 mu^2), meets the
    pull of the surface, sigma (1 - cos theta). The thickness so found and Nusselt's flow give
    1.69 (mu rho / (g sin b))^0.2 (sigma (1 - cos theta))^0.6.

    References
    ----------
    Hartley & Murgatroyd 1964, Int. J. Heat Mass Transfer 7:1003.
    """
    pull = tension_N_m * (1.0 - math.cos(math.radians(contact_deg)))
    weight = GRAVITY * math.sin(math.radians(slope_deg))
    return (WETTING_BALANCE**0.6 / 3.0 * (viscosity_Pa_s * density_kg_m3 / weight) ** 0.2 * pull**0.6)


@elementwise
def wetted_film_frac(flow_eave_kg_ms, ridge_share, minimum_kg_ms):
    """Share of a slope that a sheet can hold wet by itself, where it breaks into streams at the least flow.

    Parameters
    ----------
    flow_eave_kg_ms : float or array
        Flow per width at the eave [kg/(m s)], above 0.
    ridge_share : float or array
        Share of it fed at the ridge [1]; the rest falls evenly on the slope.
    minimum_kg_ms : float or array
        From `minimum_wetting_kg_ms` [kg/(m s)].

    Returns
    -------
    float or array
        Share [1]: the mean of min(1, G(x)/G_min) from ridge to eave. A lower bound under spray, whose drops also
        keep wet what no sheet reaches.
    """
    start = ridge_share * flow_eave_kg_ms
    rise = flow_eave_kg_ms - start
    if rise <= 1e-12 * flow_eave_kg_ms:
        return min(1.0, flow_eave_kg_ms / max(minimum_kg_ms, 1e-12))
    full_from = min(1.0, max(0.0, (minimum_kg_ms - start) / rise))
    if full_from <= 0.0:
        return 1.0
    return full_from * (start + 0.5 * rise * full_from) / minimum_kg_ms + 1.0 - full_from


@elementwise
def wetted_sprayed_frac(film_share, beaded_share):
    """Share of a sprayed slope that is wet: by the sheet, and elsewhere by the drops that fall there.

    Parameters
    ----------
    film_share : float or array
        From `wetted_film_frac` [1].
    beaded_share : float or array
        Share that drops keep wet where no sheet holds, `BEADED_SHARE` [1].

    Returns
    -------
    float or array
        Share [1].
    """
    return film_share + (1.0 - film_share) * beaded_share


@elementwise
def holdup_film_mm(flow_eave_kg_ms, ridge_share, slope_deg, viscosity_Pa_s, density_kg_m3):
    """Water in the running sheet, mean depth from ridge to eave over the wetted part.

    Parameters
    ----------
    flow_eave_kg_ms, ridge_share : float or array
        See `wetted_film_frac`; flow per wetted width [kg/(m s)].
    slope_deg : float or array
        Slope [deg], above 0.
    viscosity_Pa_s, density_kg_m3 : float or array
        Of the water [Pa s, kg/m3].

    Returns
    -------
    float or array
        Depth [mm], the same number as kg/m2 within 0.5 %.

    References
    ----------
    Nusselt 1916: thickness as the third root of the flow; its mean over G(x) = G (r + (1 - r) x) worked out here.
    """
    thickness_m = nusselt_thickness_m(flow_eave_kg_ms, slope_deg, viscosity_Pa_s, density_kg_m3)
    if ridge_share >= 1.0 - 1e-9:
        return 1000.0 * thickness_m
    return 1000.0 * thickness_m * 0.75 * (1.0 - ridge_share ** (4.0 / 3.0)) / (1.0 - ridge_share)
