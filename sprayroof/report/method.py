"""The method in short, for the appendix: subject, what is done, source. It names the models that this audit used.

Each row is written for what the simulation does; where the record says which of several models was used, that one is
named, and where it does not say, all are.
"""

from __future__ import annotations

from sprayroof.report import numbers, words
from sprayroof.results import Audit

Row = tuple[str, str, str]

CLEAR_SKY: dict[str, Row] = {
    "berdahl_martin": (
        "Clear sky",
        "Emissivity 0.711 + 0.56 x + 0.73 x², x = dew point in °C over 100, with a term for the hour of true solar "
        "time and one for the pressure",
        "Berdahl & Martin 1984",
    ),
    "berdahl_fromberg": ("Clear sky", "Night emissivity, a straight line in the dew point", "Berdahl & Fromberg 1982"),
    "brunt": ("Clear sky", "Emissivity from the root of the vapour pressure", "Brunt 1932; Li, Jiang & Coimbra 2017"),
    "brutsaert": ("Clear sky", "Emissivity from vapour pressure over temperature, power 1/7", "Brutsaert 1975"),
    "prata": ("Clear sky", "Emissivity from the water in the column of air", "Prata 1996"),
    "dilley_obrien": ("Clear sky", "Flux from temperature and the water in the column of air", "Dilley & O'Brien 1998"),
    "idso": ("Clear sky", "Emissivity of the whole spectrum from vapour pressure and temperature", "Idso 1981"),
    "clark_allen": ("Clear sky", "Emissivity from the logarithm of the dew point", "Clark & Allen 1978"),
}
CLOUDS: dict[str, Row] = {
    "martin_berdahl": (
        "Cloud",
        "Opaque cloud closes the gap between the clear sky's emissivity and one, less the higher its base; an error of "
        "each night is drawn",
        "Martin & Berdahl 1984",
    ),
    "unsworth_monteith": (
        "Cloud",
        "Cloud closes 0.84 of the gap between the clear sky's emissivity and one; an error of each night is drawn",
        "Unsworth & Monteith 1975",
    ),
    "crawford_duchon": (
        "Cloud",
        "Cloud counts as black at air temperature by its cover; an error of each night is drawn",
        "Crawford & Duchon 1999",
    ),
    "clark_allen": (
        "Cloud",
        "A polynomial in tenths of cloud multiplies the clear sky's emissivity; an error of each night is drawn",
        "Walton 1983",
    ),
}
MEASURED_SKY: Row = (
    "Sky",
    "Long-wave radiation where the weather file gives it, with its error drawn; elsewhere by the formulas below",
    "weather file",
)

PACKAGED: Row = (
    "Air conditioner",
    "Marginal electricity: that at the load it would have had less that at the load left to it, step by step, with "
    "curves of capacity and power over room wet bulb and outdoor air, and a loss by starting and stopping",
    "Cutler et al. 2013 curves; part-load factor 1 − C (1 − load share)",
)
CONSTANT: Row = (
    "Air conditioner",
    "Marginal electricity: that at the load it would have had less that at the load left to it, step by step, with one "
    "efficiency (COP) at all loads and weathers",
    "site file",
)
EITHER_MACHINE: Row = (
    "Air conditioner",
    "Marginal electricity: that at the load it would have had less that at the load left to it, step by step; kind "
    "“packaged” by curves over room wet bulb and outdoor air with a loss by starting and stopping, kind “constant” "
    "with one efficiency (COP)",
    "Cutler et al. 2013 curves; site file",
)
MAINS: dict[str, str] = {
    "top up": "The valve opens below a content of the store and closes above another",
    "bypass": "What an empty store cannot serve to its users comes straight from the mains",
    "none": "No mains water: users go short when the store is empty",
}
LOADS: dict[str, str] = {
    "balance point": "In the hours of use, a base and a part in proportion to the outdoor temperature, averaged over "
    "the lag, above the balance point",
    "metered": "As metered",
}

ROOF: tuple[Row, ...] = (
    (
        "What the roof sees",
        "Sky by F √F with F = (1 + cos β)/2 and by cos² of the horizon's height; the rest at air temperature",
        "Walton 1983; geometry",
    ),
    (
        "Wind at the roof",
        "Power-law profiles of station and site, times the share that gets over the parapet",
        "ASHRAE Handbook of Fundamentals",
    ),
    (
        "Heat to the air",
        "Flat plate, turbulent from its leading edge: Nu = 0.037 Re^0.8 Pr^(1/3), times a factor drawn for real roofs; "
        "natural convection joins by cubes where the air at the water is lighter, and where it is heavier the larger "
        "of the two counts",
        "Incropera et al.; Lloyd & Moran 1974; Walton 1983; spread after Mirsadeghi et al. 2013",
    ),
    (
        "Evaporation, dew",
        "Heat and mass transfer as one: m = (h/cp) Le^(−2/3) ln(1 + B), B the mass-transfer number; negative where dew "
        "forms, never clipped",
        "Chilton & Colburn 1934; Spalding 1960; diffusion after Marrero & Mason 1972",
    ),
    (
        "Moist air",
        "Saturation over water and ice, wet bulb by the enthalpy balance",
        "Hyland & Wexler 1983; ASHRAE Handbook of Fundamentals 2017",
    ),
)
DECK: Row = (
    "Roof deck",
    "One heat store under the roof: coupled to the water while it runs, to sun, sky and wind while dry, to the "
    "building beneath at all times",
    "balance",
)
DROPS: Row = (
    "Drops in flight",
    "The Sauter drop falling from rest in still air; heat and water lost on the way, Nu = 2 + 0.6 Re^½ Pr^⅓, times a "
    "factor drawn for the air that drops cool among themselves",
    "Schiller & Naumann 1935; Ranz & Marshall 1952",
)
DRIFT: Row = (
    "Drift",
    "Share of the sprayed flow: a base and a part that grows with the square of the wind beyond 1 m/s, apart from "
    "evaporation",
    "assumed, with a wide range; no general source",
)
STORE: tuple[Row, ...] = (
    (
        "Controller",
        "Clock, season, stops for rain, wind, frost and low water; start and stop differences of the sensed "
        "temperature",
        "site file",
    ),
    (
        "Store",
        "Layers (one if the site file names no more) with water, heat and salts: drawn from the bottom, fed at the "
        "top, colder above warmer mixes; heat through the walls; overflow from the top; never below freezing",
        "balances, closed below",
    ),
    (
        "Rain",
        "Initial loss after a dry spell, runoff coefficient of each roof, first flush, filter; it enters at the "
        "wet-bulb temperature",
        "EN 16941-1; Fewkes 1999; runoff after Farreny et al. 2011",
    ),
)
ROOMS: Row = (
    "Floors, ceilings, coils",
    "q = 7 ΔT for floors and 8.92 ΔT^1.1 for ceilings that cool, with the water's warming on its way; coils as "
    "counterflow exchangers; supply held above the room's dew point and the surface above its lowest temperature; "
    "sensible demand only",
    "EN 1264-2; ISO 11855-2; Kays & London",
)
UNSPRAYED: Row = (
    "Without spraying",
    "The same year and the same draws once more with the spray off: mains water caused by spraying, and the useful "
    "cooling that the store would give anyway",
    "difference of pairs",
)
EFFECTS: Row = (
    "Effects of assumptions",
    "Regression of the useful cooling on the draws; the change at the upper end of an assumption's range; left open "
    "below twice its standard error",
    "least squares",
)


def method_rows(audit: Audit) -> list[Row]:
    """The rows of the method, in the order of the water's way."""
    traits = words.traits(audit)
    rule = str(traits.get("mains_rule") or "")
    demand = LOADS.get(str(traits.get("load_kind")), "As the site file says")
    return [
        *_sky(traits),
        *ROOF,
        _sheet(audit),
        DECK,
        DROPS,
        DRIFT,
        *STORE,
        ("Mains water", MAINS.get(rule, "By the rule of the site file"), "site file"),
        ("Demand", f"{demand}; useful is what met it while outdoor air alone could not", "site file"),
        ROOMS,
        _machine(traits),
        _ranges(audit),
        UNSPRAYED,
        EFFECTS,
    ]


def _sky(traits: dict) -> list[Row]:
    measured = [] if str(traits.get("long_wave") or "model").startswith("model") else [MEASURED_SKY]
    named = (CLEAR_SKY.get(str(traits.get("sky_model"))), CLOUDS.get(str(traits.get("cloud_model"))))
    subjects = (("Clear sky", "sky_model"), ("Cloud", "cloud_model"))
    return measured + [
        row or (subject, f"Formula “{str(traits.get(key) or 'not named').replace('_', ' ')}”", "")
        for row, (subject, key) in zip(named, subjects, strict=True)
    ]


def _sheet(audit: Audit) -> Row:
    ridge = words.fact(audit, "spray.ridge_share")
    if ridge is None:
        fed = "sprayed water is mixed over the slope, water fed at the ridge cools as it runs"
    elif ridge["value"] <= 0.0:
        fed = "here all of it is sprayed and mixed over the slope"
    else:
        share = numbers.fixed(100.0 * ridge["value"], 0)
        fed = f"here {share} % is fed at the ridge and cools as it runs, the rest is sprayed over the slope"
    return (
        "Sheet on the roof",
        f"Balance of radiation, air, evaporation and deck with its full non-linear terms; {fed}",
        "derived for this program; limits N/(1 + N) and 1 − exp(−N) of exchanger texts",
    )


def _machine(traits: dict) -> Row:
    return {"packaged": PACKAGED, "constant": CONSTANT}.get(str(traits.get("ac_kind")), EITHER_MACHINE)


def _ranges(audit: Audit) -> Row:
    runs = audit.made.get("runs")
    count = f"{runs} draws" if isinstance(runs, int) else "Draws"
    return (
        "Ranges",
        f"{count} of all that is not known, a Latin hypercube, each carried through the whole year; ends are the 5 % "
        "and 95 % points, widened where needed to hold the best estimate, which has every fact at its stated value",
        "JCGM 101:2008",
    )
