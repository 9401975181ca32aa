"""The cautions of a sprayed roof: what each says, who must act, and when it is printed.

A caution whose trigger cannot be judged, because the record does not say, is printed: silence is not safety.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from sprayroof.report import numbers, words
from sprayroof.report.terms import has_panels, terms
from sprayroof.results import Audit

GROUPS = (
    "What was not checked",
    "Health and water",
    "Roof, people and machines",
    "What the figures do and do not say",
)


@dataclass(frozen=True)
class Caution:
    """A caution: a short name, its group, what it says (a function of audit and units), who acts, and its trigger."""

    name: str
    group: str
    text: Callable[[Audit, str], str]
    who: str
    trigger: Callable[[Audit], bool]


def cautions(audit: Audit) -> list[Caution]:
    """The cautions that apply to `audit`, in the order of their groups."""
    return [caution for caution in CAUTIONS if caution.trigger(audit)]


def _always(audit: Audit) -> bool:
    return True


def _trait(name: str, unknown: bool = True) -> Callable[[Audit], bool]:
    """Trigger: the trait is true, or (by `unknown`) absent."""
    return lambda audit: bool(words.traits(audit).get(name, unknown))


def _not_trait(name: str) -> Callable[[Audit], bool]:
    """Trigger: the trait is false or absent."""
    return lambda audit: not words.traits(audit).get(name, False)


def _hours(name: str) -> Callable[[Audit], bool]:
    """Trigger: at least one hour, or not known."""
    return lambda audit: _number(audit, name) is None or _number(audit, name) >= 1.0


def _number(audit: Audit, name: str) -> float | None:
    value = words.traits(audit).get(name)
    return float(value) if isinstance(value, (int, float)) else None


def _has_finding(*parts: str) -> Callable[[Audit], bool]:
    return lambda audit: any(part in finding.code for finding in audit.findings for part in parts)


def _more_than(id: str, least: float) -> Callable[[Audit], bool]:
    return lambda audit: (quantity := words.found(audit, id)) is not None and quantity.value > least


def _sprayed(trigger: Callable[[Audit], bool]) -> Callable[[Audit], bool]:
    """Trigger: as `trigger`, but never with closed panels, where no water is sprayed."""
    return lambda audit: not has_panels(audit) and trigger(audit)


def _with_panels(trigger: Callable[[Audit], bool]) -> Callable[[Audit], bool]:
    return lambda audit: has_panels(audit) and trigger(audit)


def _surely_leaks(audit: Audit) -> bool:
    quantity = words.found(audit, "leak_m3")
    return quantity is not None and quantity.basis in ("measured", "fitted") and quantity.low > 0.0


def _spans_zero(audit: Audit) -> bool:
    return any((quantity := words.found(audit, id)) is not None and quantity.spans_zero for id in words.SIGNED_IDS)


def _covers(audit: Audit) -> bool:
    return any("cover" in option.name.lower() for option in audit.options) or bool(words.traits(audit).get("covers"))


def _backflow(audit: Audit) -> str:
    return str(words.traits(audit).get("backflow", "not sighted"))


def _hours_text(audit: Audit, name: str) -> str:
    value = _number(audit, name)
    if value is None:
        return "an unknown number of hours"
    return "1 hour" if round(value) == 1 else f"{numbers.fixed(value, 0)} hours"


def _celsius(value: float, units: str) -> str:
    return numbers.joined(numbers.fixed(numbers.converted(value, "degC", units), 0), "°F" if units == "ip" else "°C")


def _ponding(audit: Audit, units: str) -> str:
    load = "4 in of water weighs 21 lb/ft²" if units == "ip" else "100 mm of water weighs 0.98 kN/m² (0.98 kPa)"
    return (
        f"Whether the roof bears standing water and its outlets run free. Behind a blocked outlet water ponds: {load}. "
        "Keep outlets and overflows clear."
    )


def _aerosol(audit: Audit, units: str) -> str:
    return (
        f"The store stands between {_celsius(20, units)} and {_celsius(45, units)} during "
        f"{_hours_text(audit, 'hours_store_20_45_spraying_h')} of spraying a year: water in which "
        "bacteria can grow is made into drops that carry on the wind"
        + ("." if words.traits(audit).get("people_near_spray", True) is False else ", with people near.")
    )


def _treatment(audit: Audit) -> str:
    treatment = str(words.traits(audit).get("water_treatment") or "").strip()
    return f"The site names this treatment: {treatment}." if treatment else "The site names no water treatment."


def _kept(audit: Audit) -> str:
    return "store that stands warm" if has_panels(audit) else "sprayed roof"


def _cop_source(audit: Audit) -> str:
    source = str(words.traits(audit).get("cop_source") or "")
    return f" (source: {words.SOURCE_WORDS.get(source, source)})" if source else ""


def _price_text(audit: Audit, units: str) -> str:
    date = str(words.traits(audit).get("prices_date") or "").strip()
    stand = f"Prices and emission factor stand as of {date}" if date else "Prices and emission factor carry no date"
    return f"{stand}; the money follows them, and so do the savings."


def _plain(text: str) -> Callable[[Audit, str], str]:
    return lambda audit, units: text


UNCHECKED, HEALTH, ROOF, FIGURES = GROUPS
OWNER, ENGINEER = "Owner", "Licensed engineer"

CAUTIONS: tuple[Caution, ...] = (
    Caution(
        "Legionella",
        UNCHECKED,
        lambda audit, units: (
            f"The risk of Legionella: nothing here judges it. A {_kept(audit)} belongs in the site's own "
            f"water safety plan. {_treatment(audit)}"
        ),
        "Owner, with a competent water hygienist",
        _always,
    ),
    Caution(
        "Warm water in drops", HEALTH, _aerosol, "Water hygienist", _sprayed(_hours("hours_store_20_45_spraying_h"))
    ),
    Caution(
        "Not drinking water",
        HEALTH,
        lambda audit, units: (
            "Roof and store water is not potable. Every outlet and pipe needs its label"
            + ("; the labels were sighted." if words.traits(audit).get("potable_labels") == "sighted" else ".")
        ),
        OWNER,
        _always,
    ),
    Caution(
        "Backflow protection",
        UNCHECKED,
        _plain(
            "Protection at the mains top-up was not sighted. Roof water is of the highest fluid category and calls for "
            "an air gap that can be seen."
        ),
        "Licensed plumber",
        lambda audit: _backflow(audit) == "not sighted",
    ),
    Caution(
        "Labels of roof water",
        UNCHECKED,
        _plain("Whether every outlet and pipe bears its label “not drinking water”."),
        OWNER,
        lambda audit: words.traits(audit).get("potable_labels") != "sighted",
    ),
    Caution(
        "Backflow into the mains",
        HEALTH,
        lambda audit, units: (
            f"Protection at the mains top-up: {_backflow(audit)}. Roof water is of the highest fluid "
            "category and calls for an air gap that can be seen."
        ),
        "Licensed plumber",
        lambda audit: _backflow(audit) not in ("air gap sighted", "not sighted"),
    ),
    Caution(
        "Water restrictions",
        HEALTH,
        lambda audit, units: (
            f"{terms(audit).does} takes mains water. In times of restriction it may have to stop, and the cooling with "
            "it."
        ),
        OWNER,
        _more_than("mains_caused_m3", 1.0),
    ),
    Caution(
        "A leak is suspected",
        HEALTH,
        lambda audit, units: (
            f"Water is lost that {'' if has_panels(audit) else 'spraying, '}users and overflow do not account for. "
            "Test the store and the pipes still and dry for one to two days."
        ),
        "Plumber",
        lambda audit: _has_finding("leak")(audit) or _surely_leaks(audit),
    ),
    Caution(
        "Structure and ponding",
        UNCHECKED,
        _ponding,
        "Structural engineer",
        lambda audit: bool(words.traits(audit).get("flat_roof", True)),
    ),
    Caution(
        "Weight and wind on the panels",
        UNCHECKED,
        _plain(
            "Whether the roof bears the panels with their water and the wind that lifts them, and whether what holds "
            "them keeps the roof tight."
        ),
        "Structural engineer, with the roofing maker",
        _with_panels(_always),
    ),
    Caution(
        "Work on the roof",
        ROOF,
        lambda audit, units: (
            "Roof access is work at height."
            if has_panels(audit)
            else "Roof access is work at height on a surface that spraying makes wet and slippery."
        )
        + " Not at night, not alone, and not while the pump can start.",
        "Owner; all who go up",
        _always,
    ),
    Caution(
        "Electricity near spray",
        UNCHECKED,
        _plain(
            "Whether pumps, controls, sockets, photovoltaic parts and air-handling intakes within reach of spray have "
            "the protection that the electrical code asks for."
        ),
        "Licensed electrician",
        _sprayed(_always),
    ),
    Caution(
        "Warranty, corrosion, neighbours",
        UNCHECKED,
        _plain(
            "What the roofing's maker and the neighbours say. Constant wetting may end the roofing's warranty and "
            "corrode fixings; spray may reach cars, windows, air intakes and neighbours."
        ),
        "Owner, with the roofing maker",
        _sprayed(_always),
    ),
    Caution(
        "Frost",
        ROOF,
        lambda audit, units: (
            f"{'Water in panels' if has_panels(audit) else 'A wet roof'} can freeze with air at {_celsius(3, units)}, "
            f"under a clear sky{', and burst them' if has_panels(audit) else ''}. {terms(audit).does} fell into such "
            f"air for {_hours_text(audit, 'frost_hours_spraying_h')}."
        ),
        "Controls technician",
        _hours("frost_hours_spraying_h"),
    ),
    Caution(
        "Condensation indoors",
        ROOF,
        lambda audit, units: (
            f"For {_hours_text(audit, 'dew_limited_hours_h')} a year the water to the rooms has to be kept warmer than "
            "the store, or the room's moisture would settle on floors, ceilings and pipes. What is colder than the "
            "room's dew point drips; floors become slippery."
        ),
        "Controls technician",
        _hours("dew_limited_hours_h"),
    ),
    Caution(
        "Covers",
        ROOF,
        _plain(
            "A cover over the roof brings wind uplift, fire class, snow, ageing, dripping from its underside, harder "
            "access and breeding mosquitoes into question."
        ),
        ENGINEER,
        _sprayed(_covers),
    ),
    Caution(
        "Predictions are not verified savings",
        FIGURES,
        _plain(
            "What a model computes is a prediction. Savings are verified when meters before and after, read with a "
            "stated method, show them."
        ),
        "Auditor",
        words.only_predicted,
    ),
    Caution(
        "A range across zero",
        FIGURES,
        _plain(
            f"{words.CANNOT_SAY} The figures marked * on the first page must not be quoted by their middle value alone."
        ),
        "All who quote it",
        _spans_zero,
    ),
    Caution(
        "A typical year",
        FIGURES,
        _plain(
            "The weather is a year put together to be typical. Any real year differs, and this difference is not in "
            "the ranges."
        ),
        "All who quote it",
        _trait("typical_year", unknown=False),
    ),
    Caution(
        "An unusual year",
        FIGURES,
        _plain("The weather is that of one year on record, which may have been unlike others."),
        "All who quote it",
        lambda audit: _has_finding("unusual-year")(audit),
    ),
    Caution(
        "A season extrapolated",
        FIGURES,
        _plain("The logs do not cover the whole season; the rest is carried over by the model."),
        "Auditor",
        lambda audit: "logged" in audit.periods and "year" in audit.periods,
    ),
    Caution(
        "No rain on record",
        FIGURES,
        _plain("The weather carries no usable rain, so rain caught is nil here and mains water is overstated."),
        "Auditor",
        _not_trait("rain_known"),
    ),
    Caution(
        "Air conditioner's efficiency",
        UNCHECKED,
        lambda audit, units: (
            f"It was taken from papers or assumed{_cop_source(audit)}, not measured; electricity saved moves with it."
        ),
        "Auditor",
        lambda audit: str(words.traits(audit).get("cop_source", "")) != "measured",
    ),
    Caution(
        "Drift",
        UNCHECKED,
        _plain("What the wind carries off was not measured; evaporation and drift are told apart by assumption."),
        "Auditor",
        _sprayed(_not_trait("drift_measured")),
    ),
    Caution(
        "Data repaired",
        FIGURES,
        _plain("Some records were repaired or left out; the log of findings lists each."),
        "Auditor",
        lambda audit: bool(words.traits(audit).get("data_repaired", False)),
    ),
    Caution("Prices dated", FIGURES, _price_text, OWNER, words.has_prices),
    Caution(
        "Independence",
        UNCHECKED,
        _plain(
            "Whether those who made this audit gain by its outcome. They are to declare it beside their signature."
        ),
        "Auditor",
        _always,
    ),
)
