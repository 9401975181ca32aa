"""The air and sky of a step as one member has them: the weather file with its errors drawn."""

from __future__ import annotations

from collections import namedtuple

from sprayroof.physics.compiled import compiled
from sprayroof.physics.constants import KELVIN, MEASURED_SKY_RATIO, VIRTUAL_FACTOR

Air = namedtuple("Air", "t_C w tv_K pressure_Pa t_wetbulb_C wind_m_s lewis_per_cp black_W_m2 longwave_W_m2 "
                        "forced_1m_W_m2K unstable_cubed density_kg_m3 conductivity_W_mK viscosity_m2_s")


@compiled
def air_of(now, clear, cloud_effect, forced_1m, cloud_error, member):
    """Air and sky of a step for a member: its sky, cloud and convection formulas, and its errors of the weather."""
    offset = member.air_offset_K
    t = now.t_air_C + offset
    # `dw_dhumidity` is the moisture of saturated air, which the errors may not pass
    warmer = 1.0 + now.dw_dt_1_K * offset
    w = min(max(1e-6, now.w_air * warmer + now.dw_dhumidity * member.humidity_offset), now.dw_dhumidity * warmer)
    black = now.black_air_W_m2 + now.black_slope_W_m2K * offset
    if now.has_longwave > 0.0:
        longwave = now.longwave_W_m2 + MEASURED_SKY_RATIO * member.sky_offset * black
    else:
        emissivity = min(1.0, clear + member.sky_offset)  # formulas pass 1 in hot, saturated air; no sky does
        cloud = min(1.0, max(0.0, cloud_effect + cloud_error * now.cloud_doubt))
        longwave = black * (emissivity + (1.0 - emissivity) * cloud)
    return Air(t, w, (t + KELVIN) * (1.0 + VIRTUAL_FACTOR * w), now.pressure_Pa, now.t_wetbulb_C + offset,
               now.wind_station_m_s, now.lewis_per_cp, black, longwave, forced_1m, now.unstable_cubed,
               now.density_kg_m3, now.conductivity_W_mK, now.viscosity_m2_s)
