"""Nature's constants and every published coefficient, each once: value, unit, spread, source.

`CONSTANTS` lists them all for the documentation. Spread is one standard deviation (0: exact or negligible).
A mark stands behind each source: [S] the figure was seen in a public copy of the source, [M] from memory and not yet
verified against it, [P] a prior of this project, with its reason.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Constant:
    """One row of the table of constants."""

    name: str
    value: float
    unit: str
    sd: float
    source: str


CONSTANTS: dict[str, Constant] = {}


def _constant(name: str, value: float, unit: str, sd: float, source: str) -> float:
    if name in CONSTANTS:
        raise ValueError(f"constant {name} stands twice")
    CONSTANTS[name] = Constant(name, value, unit, sd, source)
    return value


# Nature and water
STEFAN_BOLTZMANN = _constant("STEFAN_BOLTZMANN", 5.670374419e-8, "W/(m2 K4)", 0.0, "CODATA 2018 [S]")
KELVIN = _constant("KELVIN", 273.15, "K at 0 degC", 0.0, "SI, definition of the Celsius scale [S]")
GRAVITY = _constant("GRAVITY", 9.80665, "m/s2", 0.0, "Standard acceleration of free fall, CGPM 1901 [S]")
STANDARD_PRESSURE = _constant("STANDARD_PRESSURE", 101325.0, "Pa", 0.0, "Standard atmosphere [S]")
CP_WATER = _constant("CP_WATER", 4184.1, "J/(kg K)", 8.0,
                     "IAPWS-95 at 20 degC (CoolProp) [S]; taken as constant, 4178 to 4202 between 5 and 40 degC")
RHO_WATER = _constant("RHO_WATER", 998.207, "kg/m3", 1.5,
                      "IAPWS-95 at 20 degC (CoolProp) [S]; taken as constant, 992 to 1000 between 5 and 40 degC")
LATENT_0 = _constant("LATENT_0", 2.50092e6, "J/kg", 500.0, "IAPWS-95 latent heat, line through 10, 20, 30 degC [S]")
LATENT_SLOPE = _constant("LATENT_SLOPE", -2370.0, "J/(kg K)", 5.0, "as LATENT_0 [S]")

# Moist air
MASS_RATIO = _constant("MASS_RATIO", 0.621945, "kg/kg", 0.0, "ASHRAE Handbook Fundamentals 2017, ch. 1 [S]")
R_DRY_AIR = _constant("R_DRY_AIR", 287.042, "J/(kg K)", 0.0, "ASHRAE Handbook Fundamentals 2017, ch. 1 [S]")
CP_DRY_AIR = _constant("CP_DRY_AIR", 1006.0, "J/(kg K)", 1.0, "ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 28 [S]")
CP_VAPOUR = _constant("CP_VAPOUR", 1860.0, "J/(kg K)", 5.0, "ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 28 [S]")
VIRTUAL_FACTOR = _constant("VIRTUAL_FACTOR", 0.6078, "1", 0.0, "1/MASS_RATIO - 1, specific humidity [S]")
PRANDTL_AIR = _constant("PRANDTL_AIR", 0.71, "1", 0.005, "Dry air 0 to 40 degC, any heat-transfer text; CoolProp [S]")
DIFFUSIVITY_0 = _constant("DIFFUSIVITY_0", 1.87e-10, "m2/s K^-2.072", 0.0,
                          "Marrero & Mason 1972, J. Phys. Chem. Ref. Data 1:3, water vapour in air [M]")
DIFFUSIVITY_EXPONENT = _constant("DIFFUSIVITY_EXPONENT", 2.072, "1", 0.0, "as DIFFUSIVITY_0 [M]")
LEWIS_EXPONENT = _constant("LEWIS_EXPONENT", 2.0 / 3.0, "1", 0.0, "Chilton & Colburn 1934 analogy [M]")

# Sky
BM_A0 = _constant("BM_A0", 0.711, "1", 0.0, "Berdahl & Martin 1984, Solar Energy 32:663 [S]")
BM_A1 = _constant("BM_A1", 0.56, "1", 0.0, "as BM_A0 [S]")
BM_A2 = _constant("BM_A2", 0.73, "1", 0.0, "as BM_A0 [S]")
BM_DIURNAL = _constant("BM_DIURNAL", 0.013, "1", 0.0, "as BM_A0, solar time [S]")
BM_PRESSURE = _constant("BM_PRESSURE", 0.00012, "1/hPa", 0.0, "as BM_A0 [M]; borne out by published weather files")
CA_A0 = _constant("CA_A0", 0.787, "1", 0.0, "Clark & Allen 1978 [S]")
CA_A1 = _constant("CA_A1", 0.764, "1", 0.0, "as CA_A0 [S]")
CA_CLOUD_1 = _constant("CA_CLOUD_1", 0.0224, "1 per tenth", 0.0, "Walton 1983 cloud polynomial of Clark & Allen [S]")
CA_CLOUD_2 = _constant("CA_CLOUD_2", -0.0035, "1 per tenth2", 0.0, "as CA_CLOUD_1 [S]")
CA_CLOUD_3 = _constant("CA_CLOUD_3", 0.00028, "1 per tenth3", 0.0, "as CA_CLOUD_1 [S]")
BF_A0 = _constant("BF_A0", 0.741, "1", 0.0, "Berdahl & Fromberg 1982, Solar Energy 29:299, night [M]")
BF_A1 = _constant("BF_A1", 0.0062, "1/K", 0.0, "as BF_A0 [M]")
BRUNT_A0 = _constant("BRUNT_A0", 0.618, "1", 0.0, "Brunt form, Li, Jiang & Coimbra 2017, Solar Energy 144:40 [M]")
BRUNT_A1 = _constant("BRUNT_A1", 0.056, "1/hPa^0.5", 0.0, "as BRUNT_A0 [M]")
BRUTSAERT_A0 = _constant("BRUTSAERT_A0", 1.24, "(K/hPa)^(1/7)", 0.0,
                         "Brutsaert 1975, Water Resources Research 11:742 [S]")
PRATA_XI = _constant("PRATA_XI", 46.5, "K/hPa", 0.0, "Prata 1996, Q. J. R. Meteorol. Soc. 122:1127 [S]")
PRATA_A = _constant("PRATA_A", 1.2, "1", 0.0, "as PRATA_XI [S]")
PRATA_B = _constant("PRATA_B", 3.0, "1", 0.0, "as PRATA_XI [S]")
DOB_0 = _constant("DOB_0", 59.38, "W/m2", 0.0, "Dilley & O'Brien 1998, Q. J. R. Meteorol. Soc. 124:1391 [S]")
DOB_1 = _constant("DOB_1", 113.7, "W/m2", 0.0, "as DOB_0 [S]")
DOB_2 = _constant("DOB_2", 96.96, "W/m2", 0.0, "as DOB_0 [S]")
DOB_COLUMN = _constant("DOB_COLUMN", 465.0, "kg K/(m2 hPa)", 0.0,
                       "Prata 1996, column water w = 465 e/T with e in hPa [S]")
CLOUD_SCALE_HEIGHT = _constant("CLOUD_SCALE_HEIGHT", 8200.0, "m", 0.0, "Martin & Berdahl 1984, Solar Energy 33:321 [S]")
CLOUD_BASE_PRIOR = _constant("CLOUD_BASE_PRIOR", 2000.0, "m", 1000.0,
                             "[P] base where the file gives none: exp(-h/8.2 km) = 0.784, the factor that published "
                             "weather files carry [S]")
CLOUD_OPAQUE_EMISSIVITY = _constant("CLOUD_OPAQUE_EMISSIVITY", 1.0, "1", 0.0, "Martin & Berdahl 1984 [S]")
UNSWORTH_CLOUD = _constant("UNSWORTH_CLOUD", 0.84, "1", 0.0, "Unsworth & Monteith 1975 [S]")

# Convection
PLATE_COEFFICIENT = _constant("PLATE_COEFFICIENT", 0.037, "1", 0.0,
                              "Turbulent flat plate from the leading edge, Incropera et al. ch. 7 [S]")
PLATE_RE_EXPONENT = _constant("PLATE_RE_EXPONENT", 0.8, "1", 0.0, "as PLATE_COEFFICIENT [S]")
NATURAL_UNSTABLE = _constant("NATURAL_UNSTABLE", 0.15, "1", 0.0,
                             "Lloyd & Moran 1974, heated plate facing up, Nu = 0.15 Ra^(1/3) [M]")
WALTON_STABLE = _constant("WALTON_STABLE", 1.81, "W/(m2 K^(4/3))", 0.0, "Walton 1983, NBSIR 83-2655 [S]")
WALTON_STABLE_TILT = _constant("WALTON_STABLE_TILT", 1.382, "1", 0.0, "as WALTON_STABLE [S]")
WIND_MET_ALPHA = _constant("WIND_MET_ALPHA", 0.14, "1", 0.0,
                           "ASHRAE Handbook Fundamentals, airflow around buildings [S]")
WIND_MET_DELTA = _constant("WIND_MET_DELTA", 270.0, "m", 0.0, "as WIND_MET_ALPHA [S]")
WIND_SUBURB_ALPHA = _constant("WIND_SUBURB_ALPHA", 0.22, "1", 0.0, "as WIND_MET_ALPHA [S]")
WIND_SUBURB_DELTA = _constant("WIND_SUBURB_DELTA", 370.0, "m", 0.0, "as WIND_MET_ALPHA [S]")
WIND_CITY_ALPHA = _constant("WIND_CITY_ALPHA", 0.33, "1", 0.0, "as WIND_MET_ALPHA [S]")
WIND_CITY_DELTA = _constant("WIND_CITY_DELTA", 460.0, "m", 0.0, "as WIND_MET_ALPHA [S]")

# Drops
DRAG_STOKES = _constant("DRAG_STOKES", 24.0, "1", 0.0, "Schiller & Naumann 1935: Cd = 24/Re (1 + 0.15 Re^0.687) [S]")
DRAG_A = _constant("DRAG_A", 0.15, "1", 0.0, "as DRAG_STOKES [S]")
DRAG_EXPONENT = _constant("DRAG_EXPONENT", 0.687, "1", 0.0, "as DRAG_STOKES [S]")
DRAG_NEWTON = _constant("DRAG_NEWTON", 0.44, "1", 0.0, "Newton regime of a sphere, Re > 1000 [M]")
RM_BASE = _constant("RM_BASE", 2.0, "1", 0.0, "Ranz & Marshall 1952, Chem. Eng. Prog. 48:141 [S]")
RM_FACTOR = _constant("RM_FACTOR", 0.6, "1", 0.0, "as RM_BASE [S]")
DRIFT_CALM_WIND = _constant("DRIFT_CALM_WIND", 1.0, "m/s", 0.0,
                            "[P] wind at roof height below which drift is constant")

# Roof deck and sky seen from it
DECK_WATER_H = _constant("DECK_WATER_H", 60.0, "W/(m2 K)", 30.0,
                         "[P] from running sheet to the middle of the deck: half the resistance of 30 mm of concrete")
MEASURED_SKY_RATIO = _constant("MEASURED_SKY_RATIO", 0.32, "1", 0.0,
                               "[P] 0.008/0.025: a pyrgeometer's doubt beside a formula's")

# Cooling side and machines
CEILING_H = _constant("CEILING_H", 8.92, "W/(m2 K^1.1)", 0.4, "EN 1264-2, ISO 11855-2, cooling ceiling [S]")
CEILING_EXPONENT = _constant("CEILING_EXPONENT", 1.1, "1", 0.0, "as CEILING_H [S]")
FLOOR_H = _constant("FLOOR_H", 7.0, "W/(m2 K)", 0.5, "EN 1264-2, ISO 11855-2, cooling floor [S]")
EMITTER_START_DIFFERENCE = _constant("EMITTER_START_DIFFERENCE", 1.0, "K", 0.0,
                                     "[P] room less supply below which a circulator is not worth running; "
                                     "common practice, no source")
RATING_WET_BULB = _constant("RATING_WET_BULB", 67.0, "degF", 0.0, "Rating point of unitary air conditioners [S]")
RATING_OUTDOOR = _constant("RATING_OUTDOOR", 95.0, "degF", 0.0, "as RATING_WET_BULB [S]")
CUTLER_CAPACITY = (3.670270705, -0.098652414, 0.000955906, 0.006552414, -0.0000156, -0.000131877)
CUTLER_EIR = (-3.302695861, 0.137871531, -0.001056996, -0.012573945, 0.000214638, -0.000145054)
for _kind, _row in (("CAPACITY", CUTLER_CAPACITY), ("EIR", CUTLER_EIR)):
    for _place, _value in enumerate(_row):
        _constant(f"CUTLER_{_kind}_{_place}", _value, "1, degF", 0.0,
                  "Cutler et al. 2013, NREL/TP-5500-56354, single-speed air conditioner [S]")
CUTLER_WET_BULB_RANGE_F = (57.0, 72.0)
CUTLER_OUTDOOR_RANGE_F = (65.0, 125.0)

# Rain
RAIN_EVENT_GAP_H = _constant("RAIN_EVENT_GAP_H", 6.0, "h", 0.0,
                             "Usual dry gap that parts two rain events; common practice, no source")

# Guards
FREEZING_GUARD_C = _constant("FREEZING_GUARD_C", 0.5, "degC", 0.0,
                             "[P] water off the roof colder than this is taken as a freezing film: no spraying")
FROST_AIR_C = _constant("FROST_AIR_C", 3.0, "degC", 0.0, "Air below which a film can freeze under a clear sky; "
                        "common practice, no source")
WARM_MIST_FROM_C = _constant("WARM_MIST_FROM_C", 20.0, "degC", 0.0,
                             "Lower end of the range in which legionella multiply, usual guidance [M]")
WARM_MIST_TO_C = _constant("WARM_MIST_TO_C", 45.0, "degC", 0.0, "Upper end, as WARM_MIST_FROM_C [M]")

# Priors of coefficients that an ensemble draws and a fit may determine
PRIOR_F_H = _constant("PRIOR_F_H", 1.3, "1", 0.35,
                      "[P] lognormal, median: free-stream turbulence and edges of real roofs; "
                      "published models differ by 30 % (Mirsadeghi et al. 2013) [S]")
PRIOR_F_DROP = _constant("PRIOR_F_DROP", 1.0, "1", 0.4, "[P] lognormal, median: air between the drops is pre-cooled")
