"""Numbers of the report, five as a rule, that a reader can redo with a calculator, from figures printed beside them.

They use best estimates only: the ends of ranges do not add up. A difference between both sides is shown, not hidden.
"""

from __future__ import annotations

from dataclasses import dataclass

from sprayroof.report import words
from sprayroof.report.terms import has_panels, label
from sprayroof.results import Audit

# Latent heat over mass for water at 20 degC, 2453.5 kJ/kg at 998.2 kg/m3, as kWh a cubic metre.
EVAPORATION_KWH_PER_M3 = 2453.5 * 998.2 / 3600.0


@dataclass(frozen=True)
class Term:
    """One number of a check: a quantity id or a fact entry, its label, value and unit."""

    id: str
    label: str
    value: float
    unit: str


@dataclass(frozen=True)
class HandCheck:
    """A check: its title, how it is reckoned in words, its terms, the formula over term names, and the record's figure.

    `formula` holds {a}, {b}, ... for the terms in order; a workbook puts cell names there, a reader numbers.
    """

    title: str
    how: str
    terms: tuple[Term, ...]
    formula: str
    recomputed: float
    target: Term


def hand_checks(audit: Audit) -> list[HandCheck]:
    """The checks that the record's quantities allow; five where it is complete (four of panels without prices)."""
    last = _money if words.has_prices(audit) else _share
    if has_panels(audit):  # no water is lost: its checks would read 0 = 0
        makers = dict.fromkeys((_panels, _net, _per_own, _share, last))
    else:
        makers = (_roof, _evaporation, _net, _water_per_useful, last)
    return [check for check in (maker(audit) for maker in makers) if check is not None]


def _term(audit: Audit, id: str) -> Term | None:
    quantity = words.found(audit, id)
    return Term(id, words.label(audit, id, quantity.label), quantity.value, quantity.unit) if quantity else None


COUNTED = {2: "Two", 3: "Three", 4: "Four", 5: "Five"}


def counted(checks: list[HandCheck]) -> str:
    """How many numbers there are, for a heading: `Five numbers`."""
    return "One number" if len(checks) == 1 else f"{COUNTED.get(len(checks), len(checks))} numbers"


def _terms(audit: Audit, *ids: str) -> tuple[Term, ...] | None:
    terms = tuple(_term(audit, id) for id in ids)
    return terms if all(terms) else None


def _check(
    audit: Audit, title: str, how: str, ids: tuple[str, ...], formula: str, target: str, extra: tuple[Term, ...] = ()
) -> HandCheck | None:
    terms, goal = _terms(audit, *ids), _term(audit, target)
    if terms is None or goal is None:
        return None
    terms += extra
    try:
        recomputed = _arithmetic(formula, [term.value for term in terms])
    except ZeroDivisionError:
        return None
    return HandCheck(title, label(audit, how), terms, formula, recomputed, goal)


def _arithmetic(formula: str, values: list[float]) -> float:
    return FORMULAS[formula](*values)


ROOF = "{a}+{b}+{c}+{d}"
PANELS = "{a}+{b}"
EVAPORATION = "({a}-{b})*{c}"
NET = "{a}-{b}"
WATER = "({a}+{b}+{c}+{d}+{e}-{f})*1000/{g}"
WATER_UNDRIED = "({a}+{b}+{c}+{d}-{e})*1000/{f}"
SHARE = "{a}/{b}"
MONEY = "{a}*{e}-{b}*{f}-({c}+{d})*{g}-{h}"
FORMULAS = {
    ROOF: lambda a, b, c, d: a + b + c + d,
    PANELS: lambda a, b: a + b,
    EVAPORATION: lambda a, b, c: (a - b) * c,
    NET: lambda a, b: a - b,
    WATER: lambda a, b, c, d, e, f, g: (a + b + c + d + e - f) * 1000.0 / g,
    WATER_UNDRIED: lambda a, b, c, d, e, f: (a + b + c + d - e) * 1000.0 / f,
    SHARE: lambda a, b: a / b,
    MONEY: lambda a, b, c, d, e, f, g, h: a * e - b * f - (c + d) * g - h,
}


def _roof(audit: Audit) -> HandCheck | None:
    return _check(
        audit,
        "Cooling at the roof",
        "sky + air + evaporation + roof beneath",
        ("longwave_kWh", "convection_kWh", "evaporation_heat_kWh", "roof_conduction_kWh"),
        ROOF,
        "cooling_roof_kWh",
    )


def _panels(audit: Audit) -> HandCheck | None:
    ids = ("longwave_kWh", "convection_kWh")
    return _check(audit, "Cooling at the panels", "sky + air", ids, PANELS, "cooling_roof_kWh")


def _per_own(audit: Audit) -> HandCheck | None:
    brought = "useful_caused_kWh" if words.found(audit, "useful_caused_kWh") else "cooling_useful_kWh"
    ids = (brought, "electricity_own_kWh")
    return _check(
        audit, "Useful cooling per own electricity", "useful by the panels ÷ own", ids, SHARE, "useful_per_own_kWh_kWh"
    )


def _evaporation(audit: Audit) -> HandCheck | None:
    latent = Term("latent", "Heat of evaporation at 20 °C", EVAPORATION_KWH_PER_M3, "kWh/m3")
    return _check(
        audit,
        "Heat of evaporation",
        "(evaporated − condensed) × heat of evaporation",
        ("evaporation_m3", "condensation_m3"),
        EVAPORATION,
        "evaporation_heat_kWh",
        (latent,),
    )


def _net(audit: Audit) -> HandCheck | None:
    return _check(
        audit,
        "Net electricity",
        "avoided − own",
        ("electricity_avoided_kWh", "electricity_own_kWh"),
        NET,
        "electricity_net_kWh",
    )


def _water_per_useful(audit: Audit) -> HandCheck | None:
    """By the useful cooling that spraying caused, where the record tells it; with what dried on the roof, likewise."""
    brought = words.found(audit, "useful_caused_kWh") is not None
    cooling = "useful_caused_kWh" if brought else "cooling_useful_kWh"
    dried = ("dried_m3",) if words.found(audit, "dried_m3") else ()
    return _check(
        audit,
        "Water per kWh useful",
        f"(evaporated + drift + {'dried + ' if dried else ''}bleed + flush − condensed) × 1000 ÷ useful"
        f"{' by spraying' if brought else ''}",
        ("evaporation_m3", "drift_m3", *dried, "bleed_m3", "flush_lost_m3", "condensation_m3", cooling),
        WATER if dried else WATER_UNDRIED,
        "water_per_useful_L_kWh",
    )


def _share(audit: Audit) -> HandCheck | None:
    return _check(
        audit,
        "Share of air-conditioner electricity",
        "avoided ÷ electricity without the roof",
        ("electricity_avoided_kWh", "ac_electricity_kWh"),
        SHARE,
        "ac_offset_frac",
    )


def _money(audit: Audit) -> HandCheck | None:
    facts = {fact["entry"]: fact for fact in audit.site.get("facts", ())}
    prices = []
    for entry, unit in (("electricity", "/kWh"), ("water", "/m3"), ("sewer", "/m3"), ("upkeep", "/year")):
        fact = facts.get(f"prices.{entry}")
        value = 0.0 if fact is None or fact.get("value") is None else float(fact["value"])
        prices.append(Term(f"prices.{entry}", f"Price: {entry}", value, words.currency(audit) + unit))
    return _check(
        audit,
        "Money",
        "net electricity × price − mains caused × water price − (bled + flush) × sewer charge − upkeep",
        ("electricity_net_kWh", "mains_caused_m3", "bleed_m3", "flush_lost_m3"),
        MONEY,
        "money_net",
        tuple(prices),
    )
