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
DENSITY_WATER = (999.974950, 3.983035, 301.797, 522528.9, 69.34881)
for _place, (_value, _unit) in enumerate(zip(DENSITY_WATER, ("kg/m3", "degC", "degC", "K2", "degC"), strict=True)):
    _constant(f"DENSITY_WATER_{_place}", _value, _unit, 0.0,
              "Tanaka et al. 2001, Metrologia 38:301, air-free water at 101325 Pa [M]; agrees with IAPWS-95 (CoolProp)")
HEAT_CAPACITY_WATER = (4184.03, -0.688803, 0.0336913, -7.67104e-4, 1.11209e-5)
for _place, _value in enumerate(HEAT_CAPACITY_WATER):
    _constant(f"HEAT_CAPACITY_WATER_{_place}", _value, f"J/(kg K) (t/degC - 20)^-{_place}", 0.0,
              "Fitted by least squares to IAPWS-95 (CoolProp) at 1 to 45 degC and 101325 Pa, within 0.15 [S]")
LATENT_0 = _constant("LATENT_0", 2.50092e6, "J/kg", 500.0, "IAPWS-95 latent heat, line through 10, 20, 30 degC [S]")
LATENT_SLOPE = _constant("LATENT_SLOPE", -2370.0, "J/(kg K)", 5.0, "as LATENT_0 [S]")

# Moist air
MASS_RATIO = _constant("MASS_RATIO", 0.621945, "kg/kg", 0.0, "ASHRAE Handbook Fundamentals 2017, ch. 1 [S]")
R_DRY_AIR = _constant("R_DRY_AIR", 287.042, "J/(kg K)", 0.0, "ASHRAE Handbook Fundamentals 2017, ch. 1 [S]")
CP_DRY_AIR = _constant("CP_DRY_AIR", 1006.0, "J/(kg K)", 1.0, "ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 28 [S]")
CP_VAPOUR = _constant("CP_VAPOUR", 1860.0, "J/(kg K)", 5.0, "ASHRAE Handbook Fundamentals 2017, ch. 1, eq. 28 [S]")
SATURATION_MIDDLE_C = _constant("SATURATION_MIDDLE_C", 30.0, "degC", 0.0, "Middle of the range of SATURATION_ROOT [P]")
SATURATION_ROOT = (2.8411743514, 2.0387200265e-2, -3.2782636532e-6, -1.0684427962e-7, 4.1377696672e-10,
                   -6.1936641296e-13, -1.1553760993e-15, 1.0262420048e-17)
for _place, _value in enumerate(SATURATION_ROOT):
    _constant(f"SATURATION_ROOT_{_place}", _value, f"Pa^(1/8) (t/degC - 30)^-{_place}", 0.0,
              "Fitted to the eighth root of Hyland & Wexler 1983, eq. 6, at 0 to 60 degC; its power within 1e-9 [S]")
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
SKY_RESIDUAL_RATIO = _constant("SKY_RESIDUAL_RATIO", 0.75, "1", 0.0,
                               "[P] what is left of the emissivity offset (sd 0.025) where the formulas are drawn: "
                               "their night means differ by sd 0.013 to 0.018 at temperate and dry sites")
DECK_DRY_H = _constant("DECK_DRY_H", 10.0, "W/(m2 K)", 5.0,
                       "[P] with which a dry deck loses its profile along the slope to air and sky: radiation 5, air 5")
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
                  "Cutler et al. 2013, NREL/TP-5500-56354, table of single-speed air conditioners [S]: raw 0.9939 "
                  "capacity and 1.0092 EIR at rating. The other single-speed set, heat pumps in cooling (3.68637657 "
                  "and on, -3.437356399 and on), gives 0.9916 and 1.0109 [S]")
CUTLER_WET_BULB_RANGE_F = (57.0, 72.0)
CUTLER_OUTDOOR_RANGE_F = (65.0, 125.0)

# Rain
RAIN_EVENT_GAP_H = _constant("RAIN_EVENT_GAP_H", 6.0, "h", 0.0,
                             "Usual dry gap that parts two rain events; common practice, no source")

BEAM_EXPONENT = _constant("BEAM_EXPONENT", 1.1, "1", 0.1, "[P] chilled beams between active 1.0 and passive 1.3, "
                          "form of EN 15116 [S]")
CHILLED_WATER_C = _constant("CHILLED_WATER_C", 7.0, "degC", 1.0,
                            "Usual chilled-water supply; common practice, no source")
COIL_OFF_C = _constant("COIL_OFF_C", 13.0, "degC", 1.0, "Usual air off a cooling coil; common practice, no source")
LEAST_PART_LOAD = _constant("LEAST_PART_LOAD", 0.25, "1", 0.05, "[P] chiller's least continuous load")
RATING_OUTDOOR_C = _constant("RATING_OUTDOOR_C", 35.0, "degC", 0.0, "95 degF of RATING_OUTDOOR [S]")

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
DROP_VAPOUR_FACTOR = _constant("DROP_VAPOUR_FACTOR", 1.011, "1", 0.004,
                               "of Ranz & Marshall 1952: the 2 of the Sherwood number goes with the Lewis number "
                               "itself, the rest with its power 2/3; 1 + 0.044 x 2/Nu for drops of 0.8 to 2.5 mm [S]")
SATURATION_BEND_1_K = _constant("SATURATION_BEND_1_K", 0.0077, "1/K", 0.0005,
                                "fall per kelvin of the relative slope of saturation pressure, as a share of it, by "
                                "the saturation line of IAPWS-95, 0.0082 at 0 and 0.0073 at 40 degC")
PRIOR_F_DROP = _constant("PRIOR_F_DROP", 1.0, "1", 0.4, "[P] lognormal, median 1: the unbroken sheet at the nozzle "
                         "takes from the whole flight, wind and the finest drops add")
JET_FASTEST = _constant("JET_FASTEST", 25.0, "m/s", 0.0, "[P] fastest jet of a roof nozzle, water at some 3 bar; finer "
                        "drops are carried up by the jet instead of thrown faster")

# Convection: rivals of the flat plate (h in W/(m2 K), wind V in m/s)
MCADAMS_A = _constant("MCADAMS_A", 5.7, "W/(m2 K)", 0.0,
                      "McAdams 1954 after Jurges 1924, 0.5 m plate, V below 5 m/s [S]")
MCADAMS_B = _constant("MCADAMS_B", 3.8, "J/(m3 K)", 0.0, "as MCADAMS_A [S]")
TEST_A = _constant("TEST_A", 8.55, "W/(m2 K)", 0.86,
                   "Test, Lessmann & Johary 1981, J. Heat Transfer 103:262, 1.2 m plate outdoors [S]")
TEST_B = _constant("TEST_B", 2.56, "J/(m3 K)", 0.32, "as TEST_A [S]")
WATMUFF_A = _constant("WATMUFF_A", 2.8, "W/(m2 K)", 0.0,
                      "Watmuff, Charters & Proctor 1977: McAdams' line with radiation taken out [S]")
WATMUFF_B = _constant("WATMUFF_B", 3.0, "J/(m3 K)", 0.0, "as WATMUFF_A [S]")
PALYVOS_WINDWARD_A = _constant("PALYVOS_WINDWARD_A", 7.4, "W/(m2 K)", 0.0,
                               "Palyvos 2008, Appl. Thermal Eng. 28:801, mean of published lines, windward walls [S]")
PALYVOS_WINDWARD_B = _constant("PALYVOS_WINDWARD_B", 4.0, "J/(m3 K)", 0.0, "as PALYVOS_WINDWARD_A [S]")
PALYVOS_LEEWARD_A = _constant("PALYVOS_LEEWARD_A", 4.2, "W/(m2 K)", 0.0, "as PALYVOS_WINDWARD_A, leeward walls [S]")
PALYVOS_LEEWARD_B = _constant("PALYVOS_LEEWARD_B", 3.5, "J/(m3 K)", 0.0, "as PALYVOS_LEEWARD_A [S]")
EMMEL_ACROSS = _constant("EMMEL_ACROSS", 5.11, "W/(m2 K) at 1 m/s", 0.0,
                         "Emmel, Abadie & Mendes 2007, Energy and Buildings 39:335, roof, wind within 22.5 degrees of "
                         "the normal of the long facade; V at 10 m [S]")
EMMEL_ACROSS_EXPONENT = _constant("EMMEL_ACROSS_EXPONENT", 0.78, "1", 0.0, "as EMMEL_ACROSS [S]")
EMMEL_OBLIQUE = _constant("EMMEL_OBLIQUE", 4.60, "W/(m2 K) at 1 m/s", 0.0, "as EMMEL_ACROSS, 22.5 to 67.5 degrees [S]")
EMMEL_OBLIQUE_EXPONENT = _constant("EMMEL_OBLIQUE_EXPONENT", 0.79, "1", 0.0, "as EMMEL_OBLIQUE [S]")
EMMEL_ALONG = _constant("EMMEL_ALONG", 3.67, "W/(m2 K) at 1 m/s", 0.0, "as EMMEL_ACROSS, 67.5 to 112.5 degrees [S]")
EMMEL_ALONG_EXPONENT = _constant("EMMEL_ALONG_EXPONENT", 0.85, "1", 0.0, "as EMMEL_ALONG [S]")
CLEAR_LOCAL = _constant("CLEAR_LOCAL", 0.0296, "1", 0.0,
                        "Clear, Gartland & Winkelmann 2003, Energy and Buildings 35:797, local turbulent plate "
                        "Nu_x = 0.0296 Re_x^0.8 Pr^(1/3) times roughness, x to the middle of the roof [S]")
CLEAR_STABLE = _constant("CLEAR_STABLE", 0.27, "1", 0.0, "as CLEAR_LOCAL, Nu = 0.27 Ra^(1/4) over a cooler roof [M]")
ROUGHNESS = {}
for _surface, _value, _class in (
    ("new coated metal", 1.0, "very smooth"), ("weathered metal", 1.11, "smooth"), ("membrane", 1.13, "medium smooth"),
    ("concrete", 1.52, "medium rough"), ("tile", 1.52, "medium rough"), ("gravel", 2.17, "very rough"),
):
    ROUGHNESS[_surface] = _constant(
        f"ROUGHNESS_{_surface.upper().replace(' ', '_')}", _value, "1", 0.2,
        f"Walton 1981, roughness multiplier of a {_class} surface [S]; that a running sheet leaves it so [P]")

# Sky: what daytime sun tells of clouds, thin high clouds, another clear-sky formula
KASTEN_DEPTH = _constant("KASTEN_DEPTH", 0.75, "1", 0.0,
                         "Kasten & Czeplak 1980, Solar Energy 24:177, G/G0 = 1 - 0.75 N^3.4 [S]")
KASTEN_EXPONENT = _constant("KASTEN_EXPONENT", 3.4, "1", 0.0, "as KASTEN_DEPTH [S]")
KASTEN_CLEAR_A = _constant("KASTEN_CLEAR_A", 910.0, "W/m2", 0.0, "as KASTEN_DEPTH, G0 = 910 sin(g) - 30 [S]")
KASTEN_CLEAR_B = _constant("KASTEN_CLEAR_B", 30.0, "W/m2", 0.0, "as KASTEN_CLEAR_A [S]")
CLOUD_THIN_EMISSIVITY = _constant("CLOUD_THIN_EMISSIVITY", 0.4, "1", 0.15, "Martin & Berdahl 1984, thin high cloud [S]")
CLOUD_BASE_LOW = _constant("CLOUD_BASE_LOW", 1000.0, "m", 500.0,
                           "[P] base of low cloud where none is given: amid the WMO's low level, 0 to 2 km [M]")
CLOUD_BASE_MIDDLE = _constant("CLOUD_BASE_MIDDLE", 4000.0, "m", 1000.0,
                              "[P] as CLOUD_BASE_LOW: lower half of the middle level, 2 to 7 km in temperate zones [M]")
CLOUD_BASE_HIGH = _constant("CLOUD_BASE_HIGH", 8000.0, "m", 1500.0,
                            "[P] as CLOUD_BASE_LOW: lower half of the high level, 5 to 13 km in temperate zones [M]")
CLOUD_SUN_LOWEST_DEG = _constant("CLOUD_SUN_LOWEST_DEG", 10.0, "deg", 0.0,
                                 "[P] sun below which its radiation tells little of the clouds")
IDSO_A = _constant("IDSO_A", 0.70, "1", 0.0, "Idso 1981, Water Resources Research 17:295, pressure in hPa [S]")
IDSO_B = _constant("IDSO_B", 5.95e-5, "1/hPa", 0.0, "as IDSO_A [S]")
IDSO_C = _constant("IDSO_C", 1500.0, "K", 0.0, "as IDSO_A [S]")

# Liquid water
VISCOSITY_WATER = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))
for _place, (_factor, _power) in enumerate(VISCOSITY_WATER):
    _constant(f"VISCOSITY_WATER_{_place}", _factor, f"1e-6 Pa s (T/300 K)^{_power}", 0.0,
              "Patek et al. 2009, J. Phys. Chem. Ref. Data 38:21, liquid water at 0.1 MPa (IAPWS SR6) [S]; "
              "agrees with the full IAPWS formulation (CoolProp)")
TENSION_WATER = _constant("TENSION_WATER", 0.2358, "N/m", 0.0, "IAPWS R1-76 (2014), surface tension of water [S]; "
                          "another fit (CoolProp) lies 0.1 % higher")
TENSION_WATER_SLOPE = _constant("TENSION_WATER_SLOPE", -0.625, "1", 0.0, "as TENSION_WATER [S]")
TENSION_WATER_EXPONENT = _constant("TENSION_WATER_EXPONENT", 1.256, "1", 0.0, "as TENSION_WATER [S]")
CRITICAL_WATER_K = _constant("CRITICAL_WATER_K", 647.096, "K", 0.0, "IAPWS-95 [S]")

# Wetting
WETTING_BALANCE = _constant("WETTING_BALANCE", 15.0, "1", 0.0,
                            "Hartley & Murgatroyd 1964, Int. J. Heat Mass Transfer 7:1003, force balance at the head "
                            "of a dry patch; gives their 1.72 = 15^(1/5) and 1.69 = 15^(3/5)/3 [M], derived anew here")
CONTACT_ANGLE_DEG, BEADED_SHARE, RETAINED_KG_M2 = {}, {}, {}
for _surface, _angle, _beads, _mm, _mm_sd in (
    ("new coated metal", 75.0, 0.45, 0.10, 0.05), ("weathered metal", 45.0, 0.70, 0.15, 0.07),
    ("membrane", 65.0, 0.85, 0.30, 0.15), ("concrete", 15.0, 0.90, 0.80, 0.40), ("tile", 25.0, 0.90, 0.50, 0.25),
    ("gravel", 15.0, 0.90, 2.00, 1.00),
):
    _name = _surface.upper().replace(" ", "_")
    CONTACT_ANGLE_DEG[_surface] = _constant(
        f"CONTACT_ANGLE_{_name}", _angle, "deg", 15.0, "[P] between advancing and receding, with dust and use")
    BEADED_SHARE[_surface] = _constant(
        f"BEADED_SHARE_{_name}", _beads, "1", 0.15, "[P] share that drops keep wet where no sheet holds; with the film "
        "it meets the priors of wetted share of the site file")
    RETAINED_KG_M2[_surface] = _constant(
        f"RETAINED_{_name}", _mm, "kg/m2", _mm_sd, "[P] left after draining: beads, pores, ponds; below the initial "
        "loss of rain, which fills the same places")

# Spray: what feeds the air between the drops
ENTRAINED_WIND_SHARE = _constant("ENTRAINED_WIND_SHARE", 0.05, "1", 0.03,
                                 "[P] turbulent exchange through the top of the spray over wind, rough-wall order")
CALMEST_AIR = _constant("CALMEST_AIR", 0.3, "m/s", 0.15, "[P] air motion that the spray itself keeps up")

AIR_VOLUME_J_M3K = _constant("AIR_VOLUME_J_M3K", 1210.0, "J/(m3 K)", 40.0,
                             "rho cp of air near 15 degC and sea level [S]")

# Ground and buried stores
YEAR_S = _constant("YEAR_S", 365.0 * 86400.0, "s", 0.0, "Year of Kasuda & Archenbach 1965, ASHRAE Trans. 71(1) [S]")
SOIL_DIFFUSIVITY = _constant("SOIL_DIFFUSIVITY", 6.0e-7, "m2/s", 2.5e-7, "[P] damp loam; 0.25e-6 dry to 1.2e-6 wet")
SOIL_CONDUCTIVITY = _constant("SOIL_CONDUCTIVITY", 1.5, "W/(m K)", 0.5, "[P] damp loam; 0.5 dry sand to 2.5 wet sand")
SHAPE_COMPACT = _constant("SHAPE_COMPACT", 0.95, "1", 0.02,
                          "Conduction rate of a compact body in an infinite medium, Incropera et al. table 4.1: cuboid "
                          "0.943 to 0.961 for heights 0.1 to 2 widths, sphere 1 [S]")
WATER_SIDE_H = _constant("WATER_SIDE_H", 150.0, "W/(m2 K)", 70.0,
                         "[P] Nu = 0.10 Ra^(1/3) on a wall at 20 degC and 1 K is 145")
AIR_SIDE_A = _constant("AIR_SIDE_A", 4.0, "W/(m2 K)", 0.0, "ISO 6946, outside convection 4 + 4 v [M]")
AIR_SIDE_B = _constant("AIR_SIDE_B", 4.0, "J/(m3 K)", 0.0, "as AIR_SIDE_A [M]")
OUTSIDE_RADIATION_H = _constant("OUTSIDE_RADIATION_H", 5.0, "W/(m2 K)", 0.5,
                                "4 x 0.9 sigma T^3 between 0 and 25 degC is 4.2 to 5.4; ISO 6946 [M]")
INDOOR_SIDE_H = _constant("INDOOR_SIDE_H", 7.7, "W/(m2 K)", 1.0,
                          "ISO 6946, still indoor air with radiation: 1/0.13 [M]")
PUMP_LEAST_SHARE = _constant("PUMP_LEAST_SHARE", 0.2, "1", 0.0, "[P] least flow of a circulator on a variable drive")

# Chilled beams, chillers, pumps
BEAM_PASSIVE_EXPONENT = _constant("BEAM_PASSIVE_EXPONENT", 1.3, "1", 0.1,
                                  "[P] natural convection 1.25 to 1.33; form of EN 14518: output over dT^n")
BEAM_ACTIVE_EXPONENT = _constant("BEAM_ACTIVE_EXPONENT", 1.05, "1", 0.05,
                                 "[P] driven by primary air, nearly in proportion; form of EN 15116")
EN14825_CC = _constant("EN14825_CC", 0.9, "1", 0.05, "EN 14825, degradation of chillers, default [S]")
SCROLL_CAPACITY = (0.40070684, 0.01861548, 0.00007199, 0.00177296, -0.00002014, -0.00008273)
SCROLL_EIR = (0.99006553, -0.00584144, 0.00016454, -0.00661136, 0.00016808, -0.00022501)
SCROLL_PART_LOAD = (0.06369119, 0.58488832, 0.35280274)
for _kind, _row in (("CAPACITY", SCROLL_CAPACITY), ("EIR", SCROLL_EIR), ("PART_LOAD", SCROLL_PART_LOAD)):
    for _place, _value in enumerate(_row):
        _constant(f"SCROLL_{_kind}_{_place}", _value, "1, degF", 0.0,
                  "Curves published for modelling under energy codes, air-cooled scroll chiller, 1 at 44 and 95 degF, "
                  "as quoted in a public program [S]")
CHILLER_RATING_LEAVING = _constant("CHILLER_RATING_LEAVING", 44.0, "degF", 0.0, "as SCROLL_CAPACITY_0 [S]")
SCROLL_LEAVING_RANGE_F = (39.0, 65.0)
# below 65 degF the printed curve turns upwards with warm water, and condensers hold their pressure
SCROLL_OUTDOOR_RANGE_F = (65.0, 115.0)
INVERTER_CONDENSER_K = _constant("INVERTER_CONDENSER_K", 12.0, "K", 3.0,
                                 "[P] condensing over outdoor temperature at full load, shrinking with load")
INVERTER_EVAPORATOR_K = _constant("INVERTER_EVAPORATOR_K", 6.0, "K", 2.0,
                                  "[P] leaving water or air over evaporation at full load, shrinking with load")
INVERTER_SLIP_K = _constant("INVERTER_SLIP_K", 3.0, "K", 1.0, "[P] part of the condenser's difference that stays at "
                            "any load; with these three the part-load points of EN 14825 lie inside the middle 80 % of "
                            "the 38 air-to-water machines of a public list of declared values")
INVERTER_LEAST_SHARE = _constant("INVERTER_LEAST_SHARE", 0.25, "1", 0.07, "[P] load below which the machine cycles")

# Largest possible cooling
BOUND_EMISSIVITY_SD = _constant("BOUND_EMISSIVITY_SD", 0.025, "1", 0.0, "[P] doubt of a clear-sky formula; twice it "
                                "is taken off for a bound (Flerchinger et al. 2009: about 24 W/m2 hourly [S])")
BOUND_DROP_FACTOR = _constant("BOUND_DROP_FACTOR", 2.0, "1", 0.0, "[P] largest exchange of the drops over that "
                              "computed for their mean size: near the upper 95 % end of PRIOR_F_DROP")

# Covers over the wet roof, gaps, screens
HOLLANDS_FACTOR = _constant("HOLLANDS_FACTOR", 1.44, "1", 0.0,
                            "Hollands, Unny, Raithby & Konicek 1976, J. Heat Transfer 98:189, air layers inclined 0 to "
                            "60 deg [S]")
HOLLANDS_CRITICAL = _constant("HOLLANDS_CRITICAL", 1708.0, "1", 0.0, "as HOLLANDS_FACTOR, critical Rayleigh number [S]")
HOLLANDS_TURBULENT = _constant("HOLLANDS_TURBULENT", 5830.0, "1", 0.0, "as HOLLANDS_FACTOR [S]")
HOLLANDS_ANGLE = _constant("HOLLANDS_ANGLE", 1.8, "1", 0.0, "as HOLLANDS_FACTOR, sin(1.8 b)^1.6 [S]")
HOLLANDS_EXPONENT = _constant("HOLLANDS_EXPONENT", 1.6, "1", 0.0, "as HOLLANDS_ANGLE [S]")
WINDOW_FROM_UM = _constant("WINDOW_FROM_UM", 1e4 / 1400.0, "um", 0.0,
                           "Atmospheric window 750 to 1400 1/cm, outside of which the sky is black at air temperature "
                           "[M]; its share of a black body at 20 degC, 0.3820, is printed with it [S]")
WINDOW_TO_UM = _constant("WINDOW_TO_UM", 1e4 / 750.0, "um", 0.0, "as WINDOW_FROM_UM [M]")
WINDOW_SHARE = (3.52772697e-1, 1.64864234e-3, -9.30448409e-6, -2.59707968e-9, 1.30813284e-10)
for _place, _value in enumerate(WINDOW_SHARE):
    _constant(f"WINDOW_SHARE_{_place}", _value, "1, degC", 0.0,
              "Fit of Planck's law between WINDOW_FROM_UM and WINDOW_TO_UM, -40 to 60 degC, within 3e-5 [S]")
COVER_WET_DEPOSIT = _constant("COVER_WET_DEPOSIT", 0.020, "kg/m2", 0.005,
                              "Kon, Doi, Hanyu & Nakayama 1985, J. Agric. Meteorol. 41:115, dew that blinds a "
                              "polyethylene film: share exp(-(C/W)^2), C = 2.0e-3 g/cm2 [S]")
COVER_WET_TIME = _constant("COVER_WET_TIME", 10800.0, "s", 7200.0,
                           "[P] dew of the last three hours is on the film; the rest has dripped back")
COVER_AGEING = _constant("COVER_AGEING", 0.01, "1/year", 0.01,
                         "Balocco et al. 2018, Solar Energy 165:199: ageing of the infrared transmittance of "
                         "polyethylene minimal over five years [S]; the rate is a prior [P]")
COVER_SOILED_SHARE = _constant("COVER_SOILED_SHARE", 0.08, "1", 0.06,
                               "[P] transmittance lost to dust that has settled for good; washing brings it back")
COVER_SOILING_TIME = _constant("COVER_SOILING_TIME", 0.3, "year", 0.2, "[P] time constant of settling dust")
COVER_LEAK_SPREAD = _constant("COVER_LEAK_SPREAD", 3.0, "1", 0.0,
                              "[P] ends of the 90 % range of a cover's leakage, as a factor either way")
SCREEN_SOLID_RATIO = _constant("SCREEN_SOLID_RATIO", 0.30, "1", 0.10,
                               "Loeffler, Gordon & Gillespie 1992, Agroforestry Systems 17:119: least wind 0.29 of the "
                               "open wind behind the densest of nine windbreaks [S]")
SCREEN_REACH = _constant("SCREEN_REACH", 5.0, "heights", 2.0,
                         "[P] length over which shelter fades; least wind two to six heights behind a windbreak, "
                         "Loeffler et al. 1992 [S]")

# Kinds of cover: name, unit and three columns (value, spread) for film, mesh and opaque sheet, source
_FILM_SOURCE = ("[P] clear polyethylene of 50 to 100 um; model calculations of such foils give 0.80 to 0.85 in the "
                "window (Nilsson & Niklasson 1991, Proc. SPIE 1536 [S]), greenhouse and radiator practice about 0.75 "
                "to 0.8 [M]; mesh half open; sheet painted metal or opaque plastic")
_FRESNEL_SOURCE = "[P] Fresnel reflection of both faces at a refractive index of 1.5, hemispherical; others practice"
_WET_SOURCE = "[P] a film of water is nearly black, emissivity 0.95; drops leave a mesh's openings open"
_SUN_SOURCE = ("[P] of the whole solar spectrum: a clear film passes 0.85 to 0.90 when new (common practice, no "
               "source); a half-open mesh its open half and little more; a sheet nothing. In deserts dust may take 0.3 "
               "in a year unwashed (measured on a greenhouse film, abstract of 2018 [S])")
_LEAK_SOURCE = ("[P] a sheet fixed along its edges: about three air changes an hour of a gap of 0.1 m in calm; "
                "greenhouse practice 0.5 to 1.5 an hour [M] of far deeper gaps; a mesh is flushed by the wind")
_COVER_ROWS = (
    ("TRANSMITTANCE_WINDOW", "1", ((0.77, 0.05), (0.55, 0.10), (0.0, 0.0)), _FILM_SOURCE),
    ("TRANSMITTANCE_REST", "1", ((0.75, 0.06), (0.55, 0.10), (0.0, 0.0)), _FILM_SOURCE),
    ("REFLECTANCE_WINDOW", "1", ((0.13, 0.03), (0.06, 0.03), (0.10, 0.05)), _FRESNEL_SOURCE),
    ("REFLECTANCE_REST", "1", ((0.13, 0.03), (0.06, 0.03), (0.10, 0.05)), _FRESNEL_SOURCE),
    ("WET_TRANSMITTANCE_WINDOW", "1", ((0.0, 0.05), (0.50, 0.10), (0.0, 0.0)), _WET_SOURCE),
    ("WET_TRANSMITTANCE_REST", "1", ((0.0, 0.02), (0.50, 0.10), (0.0, 0.0)), _WET_SOURCE),
    ("WET_REFLECTANCE_WINDOW", "1", ((0.05, 0.02), (0.03, 0.02), (0.05, 0.02)), _WET_SOURCE),
    ("WET_REFLECTANCE_REST", "1", ((0.05, 0.02), (0.03, 0.02), (0.05, 0.02)), _WET_SOURCE),
    ("SUN_TRANSMITTANCE", "1", ((0.85, 0.05), (0.50, 0.10), (0.0, 0.0)), _SUN_SOURCE),
    ("SUN_ABSORPTANCE", "1", ((0.05, 0.03), (0.25, 0.12), (0.50, 0.15)),
     "[P] sun taken up by the cover itself: clear film little, threads half of what meets them, paint light to dark"),
    ("GAP", "m", ((0.10, 0.05), (0.30, 0.10), (0.10, 0.05)), "[P] height of the air between water and cover"),
    ("LEAK_CALM", "m/s", ((1e-4, 1e-4), (0.01, 0.01), (1e-4, 1e-4)), _LEAK_SOURCE),
    ("LEAK_WIND", "1", ((1e-4, 1e-4), (0.02, 0.01), (1e-4, 1e-4)), _LEAK_SOURCE),
    ("INNER_WIND", "1", ((0.05, 0.05), (0.35, 0.10), (0.0, 0.0)),
     "[P] wind beneath the cover over wind above it: a loose film flutters and stirs the gap (covered radiators are "
     "known to keep 2 to 3 W/(m2 K) beside radiation [M]); about SCREEN_SOLID_RATIO for a mesh"),
)
for _name, _unit, _columns, _source in _COVER_ROWS:
    for _kind, (_value, _sd) in zip(("FILM", "MESH", "SHEET"), _columns, strict=True):
        _constant(f"COVER_{_kind}_{_name}", _value, _unit, _sd, _source)

# Closed panels
PANEL_FACTOR = _constant("PANEL_FACTOR", 0.90, "1", 0.05,
                         "[P] plate efficiency factor of a night radiator with bonded tubes; 0.8 to 0.97 in collector "
                         "texts (Duffie & Beckman) [M]")
PANEL_BOND = _constant("PANEL_BOND", 0.03, "m K/W", 0.02,
                       "a good metal bond passes over 30 W/(m K) (Duffie & Beckman) [M]")
PANEL_WATER_H = _constant("PANEL_WATER_H", 300.0, "W/(m2 K)", 150.0,
                          "[P] slow water in tubes of 10 mm: Nu 4.4 to 8 is 260 to 480")
PANEL_BORE_RATIO = _constant("PANEL_BORE_RATIO", 0.85, "1", 0.05,
                             "[P] inner over outer diameter of a panel's tubes: walls of 0.8 mm on tubes of 10 mm")
PANEL_LOSS_BARE = _constant("PANEL_LOSS_BARE", 20.0, "W/(m2 K)", 6.0,
                            "[P] slope of a bare plate's flux, for F' alone: wind of 3 m/s 14, radiation 5, back 1")
PANEL_LOSS_COVERED = _constant("PANEL_LOSS_COVERED", 7.0, "W/(m2 K)", 2.0,
                               "[P] the same under a film: gap 2, radiation 4, back 1")
PANEL_EMISSIVITY = _constant("PANEL_EMISSIVITY", 0.92, "1", 0.03, "[P] painted plate or plastic, both bands")
PANEL_SELECTIVE_WINDOW = _constant("PANEL_SELECTIVE_WINDOW", 0.85, "1", 0.08,
                                   "[P] selective plate in the window; Granqvist & Hjortsberg 1981 [M]")
PANEL_SELECTIVE_REST = _constant("PANEL_SELECTIVE_REST", 0.25, "1", 0.10, "as PANEL_SELECTIVE_WINDOW [M]")
PANEL_BACK = _constant("PANEL_BACK", 0.8, "W/(m2 K)", 0.4, "[P] 50 mm of insulation behind the plate")
