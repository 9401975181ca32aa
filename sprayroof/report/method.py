"""The method in short, for the appendix: subject, what is done, source. It names the models that this audit used.

Each row is written for what the simulation does; where the record says which of several models was used, that one is
named, and where it does not say, all are. Parts that a site does not have are named as such or left out.
"""

from __future__ import annotations

from sprayroof.report import numbers, words
from sprayroof.report.terms import has_panels
from sprayroof.report.terms import label as in_terms
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
LAYERED_CLOUD: Row = (
    "Cloud",
    "Low and middle cloud (opaque) and thin high cloud, as the weather file tells them, each closes its part of the "
    "gap "
    "between the clear sky's emissivity and one, less the higher its base; an error of each night is drawn",
    "Martin & Berdahl 1984",
)
MEASURED_SKY: Row = (
    "Sky",
    "Long-wave radiation where the weather file gives it, with its error drawn; elsewhere by the formulas below",
    "weather file",
)

DRAWN: Row = (
    "Rival formulas",
    "The best estimate has the formulas named here. Of clear sky, cloud and convection the other members draw from the "
    "rivals that print offers, evenly; a formula that the site file names is held by all",
    "Berdahl & Fromberg, Brunt, Brutsaert, Prata, Dilley & O'Brien; Unsworth & Monteith; Clear et al. 2003; "
    "Emmel et al. 2007",
)
PACKAGED: Row = (
    "Air conditioner",
    "Marginal electricity: that at the load left by the store unsprayed less that at the load left with spraying, step "
    "by step, with curves of capacity and power over room wet bulb and outdoor air, and a loss by starting and "
    "stopping",
    "Cutler et al. 2013 curves; part-load factor 1 − C (1 − load share)",
)
CONSTANT: Row = (
    "Air conditioner",
    "Marginal electricity: that at the load left by the store unsprayed less that at the load left with spraying, step "
    "by step, with one efficiency (COP) at all loads and weathers",
    "site file",
)
CHILLER: Row = (
    "Air conditioner",
    "Marginal electricity: that at the load left by the store unsprayed less that at the load left with spraying, step "
    "by step, with curves of a water chiller's capacity and power over outdoor air and a curve of its part load",
    "published curves of a scroll chiller",
)
INVERTER: Row = (
    "Air conditioner",
    "Marginal electricity: that at the load left by the store unsprayed less that at the load left with spraying, step "
    "by step, of a machine whose speed follows the load: heat exchangers closer to room and outdoor air at part load",
    "Carnot share held from the rating",
)
ANY_MACHINE: Row = (
    "Air conditioner",
    "Marginal electricity: that at the load left by the store unsprayed less that at the load left with spraying, step "
    "by step; kinds “packaged” and “chiller” by curves, “inverter” by its heat exchangers, “constant” with one "
    "efficiency (COP)",
    "Cutler et al. 2013 and chiller curves; site file",
)
MACHINES = {"packaged": PACKAGED, "constant": CONSTANT, "chiller": CHILLER, "inverter": INVERTER}
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
        "Sky above the horizon, integrated over directions for slope and facing, times √F with F = (1 + cos β)/2 (F √F "
        "where nothing obstructs); the rest at air temperature",
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
    "One heat store under the roof: coupled to the water while it runs, to sky, wind, drying and rain while it does "
    "not, to sun and to the building beneath at all times",
    "balance",
)
DROPS: Row = (
    "Drops in flight",
    "The Sauter drop thrown up at the nozzle's angle and falling back in still air; heat and water lost on the way, "
    "Nu = 2 + 0.6 Re^½ Pr^⅓, times a factor drawn for the air that drops cool among themselves",
    "Schiller & Naumann 1935; Ranz & Marshall 1952",
)
DRIFT: Row = (
    "Drift",
    "Share of the sprayed flow: a base and a part that grows with the square of the wind beyond 1 m/s, apart from "
    "evaporation",
    "assumed, with a wide range; no general source",
)
ON_ROOF: Row = (
    "Water held on the roof",
    "The sheet builds up as spraying starts; when it stops, what runs off drains to the store and what the surface "
    "retains dries there and cools the deck, not the store",
    "film after Nusselt; retained depth assumed by surface",
)
COVER: Row = (
    "Cover over the roof",
    "Where there is one: heat and vapour of the water meet a film, mesh or sheet that finds its own temperature over "
    "its gap of air; two bands of long-wave, sun passed and taken up, dirt and drops on it, leakage by wind",
    "Hollands et al. 1976 in the gap; optics as listed in the constants",
)
PANELS: Row = (
    "Closed panels",
    "In place of the spray: water behind a plate, bare or under a cover, without loss of water; two bands of long-wave",
    "Hottel & Whillier; efficiency factor assumed",
)
OPEN_STORE: Row = (
    "Open store",
    "Its water surface gives off heat and vapour to air and sky as a wet roof does; what lies under a floating "
    "cover or "
    "a lid gives off no vapour, and heat to the air by the cover's heat transfer",
    "as evaporation, above",
)
GROUND: Row = (
    "Ground at a buried store",
    "Undisturbed ground at the store's depth through the year; the way of heat through soil and wall by a shape "
    "factor, steady",
    "Kasuda & Archenbach 1965; shape factors of heat-transfer texts",
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
        "wet-bulb temperature, warmer or colder by what the dry deck under it gives",
        "EN 16941-1; Fewkes 1999; runoff after Farreny et al. 2011",
    ),
)
ROOMS: Row = (
    "Floors, ceilings, coils, beams",
    "q = 7 ΔT for floors and 8.92 ΔT^1.1 for ceilings that cool, with the water's warming on its way; coils as "
    "counterflow exchangers; beams by a power of the difference between room and water; supply kept above the room's "
    "dew point and the surface above its lowest temperature; sensible demand only",
    "EN 1264-2; ISO 11855-2; Kays & London",
)
UNSPRAYED: Row = (
    "Without spraying",
    "The same year and the same draws once more with the spray off, and the difference taken draw by draw: "
    "electricity, money, carbon and mains water are what spraying causes; useful cooling is told with and without it",
    "difference of pairs",
)
EFFECTS: Row = (
    "Effects of assumptions",
    "Regression of the useful cooling, and of the net that decides the verdict, on the draws; the change at the upper "
    "end of an assumption's range; left open below twice its standard error",
    "least squares",
)


def method_rows(audit: Audit) -> list[Row]:
    """The rows of the method, in the order of the water's way."""
    traits = words.traits(audit)
    rule = str(traits.get("mains_rule") or "")
    demand = LOADS.get(str(traits.get("load_kind")), "As the site file says")
    return [
        *_sky(traits),
        *_roof(traits),
        DRAWN,
        *([PANELS] if words.fact(audit, "panels.area") else [_sheet(audit), ON_ROOF, COVER, DECK]),
        *([] if words.fact(audit, "panels.area") else [DROPS, DRIFT]),
        *STORE,
        *([OPEN_STORE] if _above_zero(audit, "store.open_share") else []),
        GROUND,
        ("Mains water", MAINS.get(rule, "By the rule of the site file"), "site file"),
        ("Demand", f"{demand}; useful is what met it while outdoor air alone could not", "site file"),
        ROOMS,
        _machine(traits, has_panels(audit)),
        _ranges(audit),
        _without(audit),
        EFFECTS,
    ]


def _roof(traits: dict) -> list[Row]:
    """Wind, convection and moist air; a convection formula other than the default is named in place of the plate."""
    if traits.get("convection_model") in (None, "plate"):
        return list(ROOF)
    stated = (
        "Heat to the air",
        f"{traits.get('convection')}: the formula that the site file names, with the same relative spread as the "
        "factor on "
        "wind-driven heat transfer",
        "as named; see the rivals of convection in the documentation",
    )
    return [stated if row[0] == "Heat to the air" else row for row in ROOF]


def _sky(traits: dict) -> list[Row]:
    measured = [] if str(traits.get("long_wave") or "model").startswith("model") else [MEASURED_SKY]
    cloud = CLOUDS.get(str(traits.get("cloud_model")))
    if traits.get("cloud_layers") and traits.get("cloud_model") == "martin_berdahl":
        cloud = LAYERED_CLOUD
    named = (CLEAR_SKY.get(str(traits.get("sky_model"))), cloud)
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


def _machine(traits: dict, panels: bool) -> Row:
    subject, text, source = MACHINES.get(str(traits.get("ac_kind")), ANY_MACHINE)
    if panels:
        text = text.replace("the store unsprayed", "the store without the panels").replace("spraying", "them")
    return subject, text, source


def _without(audit: Audit) -> Row:
    """The year without spraying or without the panels; beside a booster with its share of what is avoided."""
    subject, text, source = UNSPRAYED
    if has_panels(audit):
        subject = in_terms(audit, "Without spraying")
        text = text.replace("with the spray off", "with the panels off").replace("spraying causes", "the panels cause")
    if words.has_booster(audit):
        text += "; the electricity avoided holds what the booster chiller is spared"
    return subject, text, source


def _above_zero(audit: Audit, entry: str) -> bool:
    row = words.fact(audit, entry)
    return row is not None and row["value"] > 0.0


def _ranges(audit: Audit) -> Row:
    runs = audit.made.get("runs")
    count = f"{runs} draws" if isinstance(runs, int) else "Draws"
    return (
        "Ranges",
        f"{count} of all that is not known, a Latin hypercube, each carried through the whole year; ends are the 5 % "
        "and 95 % points, widened where needed to hold the best estimate, which has every fact at its stated value",
        "JCGM 101:2008",
    )
