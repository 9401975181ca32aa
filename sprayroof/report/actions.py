"""The three actions of page 1, chosen by rule from findings, traits and the assumptions that matter most.

No cost is invented: it is printed where an option of the record carries one, else the report says that it is not known.
"""

from __future__ import annotations

import calendar
from collections import Counter
from dataclasses import dataclass

from sprayroof.report import charts, numbers, words
from sprayroof.report.numbers import printed, printed_range
from sprayroof.results import Audit

ASK = "Not known; ask for a quotation"
NONE_KNOWN = "Not known"
OWN_USE_SHARE = 0.25  # own electricity above this share of the avoided: look at pumps and standby
MONTH_MARGIN = 1.0  # kWh by which a month must lose before the report names it
NEXT_TO_NOTHING = 0.01  # avoided electricity as a share of the own, below which a month counts as idle
TOO_SMALL = "too small to tell"

# What to measure instead of assuming, by the beginning of the assumption's entry.
MEASURES: tuple[tuple[tuple[str, ...], str], ...] = (
    (("store.leak",), "Read the store's level over two days with the pump and all users off"),
    (
        ("model", "spray", "roof", "film", "convection", "evaporation", "store.u", "store.volume"),
        "Meter the spray flow and its supply and return temperatures for three weeks",
    ),
    (
        ("emitter",),
        "Meter the heat taken up at the floors, ceilings or coils for three weeks of the season",
    ),
    (("room",), "Log the room's temperature and humidity for three weeks of the season"),
    (("load", "air_conditioner"), "Meter the air conditioner's electricity for a season, hour by hour"),
    (("standing",), "Meter the electricity of controls and treatment for a week"),
    (("weather", "sky", "cloud", "place"), "Log humidity, wind and air temperature on the roof for three weeks"),
    (("rain", "mains", "use", "catchment", "bleed"), "Read water meters on make-up and on the other users every week"),
)


@dataclass(frozen=True)
class Action:
    """Something to do: what, why, its cost and its payback as text."""

    do: str
    why: str
    cost: str = ASK
    payback: str = NONE_KNOWN


def actions(audit: Audit, units: str = "si", most: int = 3) -> list[Action]:
    """The first `most` actions, the most pressing first.

    Order of the rules: findings that stop the audit; backflow protection; the spray itself where its pump uses more
    than all that is avoided; options of the record that save money for certain; sprayed months that lose; own
    electricity; loads that stand on outside the season; metering of the assumption that matters most; make-up meter;
    prices.
    """
    rules = (
        _mend,
        _backflow,
        _stop_spraying,
        _paying_options,
        _losing_months,
        _own_use,
        _idle_months,
        _measure,
        _make_up_meter,
        _prices,
        _labels,
        _keep_reading,
    )
    chosen: list[Action] = []
    for rule in rules:
        chosen.extend(rule(audit, units))
    return chosen[:most]


def _mend(audit: Audit, units: str) -> list[Action]:
    return [
        Action(f"Mend: {finding.message}", finding.effect or "No figure can be used before.", NONE_KNOWN)
        for finding in audit.findings
        if finding.level == "stop"
    ]


def _backflow(audit: Audit, units: str) -> list[Action]:
    if words.traits(audit).get("backflow", "not sighted") != "not sighted":
        return []
    return [
        Action(
            "Have the backflow protection at the mains top-up sighted by a licensed plumber",
            "Roof water must not reach drinking water; this comes before any saving.",
        )
    ]


def _stop_spraying(audit: Audit, units: str) -> list[Action]:
    """Where the whole range of net electricity is a loss and the spray pump alone uses more than is avoided."""
    net, avoided = words.found(audit, "electricity_net_kWh"), words.found(audit, "electricity_avoided_kWh")
    hours, pump = words.found(audit, "spray_hours_h"), words.fact(audit, "spray.pump_power")
    if not (net and avoided and hours and pump) or pump.get("unit") != "W" or not net.high <= 0.0:
        return []
    used_kWh = pump["value"] / 1000.0 * hours.value
    if used_kWh <= avoided.value:
        return []
    return [
        Action(
            "Leave the spray off until it runs on less power",
            f"The spray pump alone uses about {_kWh(used_kWh)} a year, more than the "
            f"{_kWh(avoided.value)} that the whole system avoids.",
            "None: a setting of the controller",
            "At once",
        )
    ]


def _paying_options(audit: Audit, units: str) -> list[Action]:
    paying = [
        option for option in audit.options if "money_net" in option.changes and option.changes["money_net"]["low"] > 0.0
    ]
    paying.sort(key=lambda option: -option.changes["money_net"]["value"])
    return [
        Action(
            option.name,
            "Brings " + words.between(_change(audit, option.changes["money_net"], units)) + " a year.",
            _cost(audit, option.cost, units),
            _years(option.payback_years),
        )
        for option in paying[:2]
    ]


def _change(audit: Audit, change: dict, units: str) -> numbers.Printed:
    return printed_range(
        change["value"], change["low"], change["high"], "currency", units, currency=words.currency(audit)
    )


def _cost(audit: Audit, cost: dict | None, units: str) -> str:
    return words.between(_change(audit, cost, units)) if cost else ASK


def _years(payback: dict | None) -> str:
    if not payback:
        return NONE_KNOWN
    return words.between(printed_range(payback["value"], payback["low"], payback["high"], "years"))


def _losing_months(audit: Audit, units: str) -> list[Action]:
    """Months in which the spray runs and the system uses more electricity than it avoids."""
    sprayed = [row for row in audit.months if _sprays(row)]
    losing = [row for row in sprayed if _month_loss(row) > MONTH_MARGIN]
    if not losing or len(losing) == len(sprayed):
        return []
    total = sum(_month_loss(row) for row in losing)
    return [
        Action(
            f"Do not spray {words.months_during(losing)}",
            f"In {'this month' if len(losing) == 1 else 'these months'} the system uses about {_kWh(total)} more "
            "electricity than it avoids.",
            "None: a setting of the controller",
            "At once",
        )
    ]


def _sprays(row: dict) -> bool | None:
    """Whether the spray runs in a month; None where the record does not say."""
    amounts = [charts.row_value(row, id) for id in ("sprayed_m3", "spray_hours_h")]
    told = [amount for amount in amounts if amount is not None]
    return any(amount > 0.0 for amount in told) if told else None


def _month_loss(row: dict) -> float:
    return -(charts.row_value(row, "electricity_net_kWh") or 0.0)


def _kWh(value: float) -> str:
    return numbers.joined(numbers.significant(value, 2), "kWh")


def _own_use(audit: Audit, units: str) -> list[Action]:
    if not _own_use_is_large(audit):
        return []
    why = (
        f"The system's own use is {words.between(words.energy(audit, 'electricity_own_kWh', units))} a year, against "
        f"{words.between(words.energy(audit, 'electricity_avoided_kWh', units))} avoided."
    )
    watts = standing_W(audit)
    if watts > 0.0:
        return [
            Action(
                f"Switch the standing loads ({_watts(watts)} together) off with the pump, where that is not done yet",
                why,
            )
        ]
    return [Action("Check pump power and running hours", why)]


def _own_use_is_large(audit: Audit) -> bool:
    own, avoided = words.found(audit, "electricity_own_kWh"), words.found(audit, "electricity_avoided_kWh")
    return bool(own and avoided and own.value > 0.0 and own.value >= OWN_USE_SHARE * max(avoided.value, 0.0))


def standing_W(audit: Audit) -> float:
    """Power of all loads beside the pumps that the site file names [W], whenever they are on."""
    return sum(
        fact["value"] * (1000.0 if fact.get("unit") == "kW" else 1.0)
        for fact in audit.site.get("facts") or ()
        if str(fact.get("entry", "")).startswith("standing.") and fact.get("unit") in ("W", "kW") and fact.get("value")
    )


def _watts(value: float) -> str:
    return numbers.joined(numbers.significant(value, 2), "W")


def _idle_months(audit: Audit, units: str) -> list[Action]:
    """Months without spraying in which loads stand on and nothing is avoided."""
    if _own_use_is_large(audit) and standing_W(audit) > 0.0:
        return []  # the action on standing loads covers these months
    idle = [row for row in audit.months if _sprays(row) is False and _stands_on(row)]
    if not idle:
        return []
    total = sum(charts.row_value(row, "electricity_own_kWh") for row in idle)
    hours = sum(24.0 * calendar.monthrange(2001, int(row["month"]))[1] for row in idle)
    return [
        Action(
            f"Switch the system's standing loads off outside the season ({words.months_listed(idle)})",
            f"The spray does not run in {'this month' if len(idle) == 1 else 'these months'}, yet the system uses "
            f"about {_kWh(total)} there ({_watts(1000.0 * total / hours)} all the time).",
        )
    ]


def _stands_on(row: dict) -> bool:
    own, avoided = (charts.row_value(row, f"electricity_{name}_kWh") for name in ("own", "avoided"))
    return own is not None and own > MONTH_MARGIN and (avoided or 0.0) <= NEXT_TO_NOTHING * own


def ranked_assumptions(audit: Audit) -> list[dict]:
    """The assumptions, largest effect on useful cooling first, unknown last; equal labels told apart by their entry."""
    labels = Counter(row.get("label") for row in audit.assumptions)
    named = [
        {**row, "label": f"{row['label']} ({row['entry']})"} if labels[row.get("label")] > 1 else row
        for row in audit.assumptions
    ]
    return sorted(named, key=lambda row: -abs(row["effect"]) if row.get("effect") is not None else 1.0)


def unknown_effect(audit: Audit) -> str:
    """What stands for an effect that the record leaves open: below the noise of the runs, or told for none."""
    return TOO_SMALL if any(row.get("effect") is not None for row in audit.assumptions) else numbers.NOT_KNOWN


def _measure(audit: Audit, units: str) -> list[Action]:
    for row in ranked_assumptions(audit):
        entry = str(row.get("entry", ""))
        measure = next((text for starts, text in MEASURES if entry.startswith(starts)), None)
        if measure and row.get("effect"):
            effect = printed_range(
                row["effect"], None, None, "kWh", units, heat=True, scale_to=words.energy_scale(audit)
            )
            return [
                Action(
                    measure,
                    f"It would narrow the doubt about “{row['label']}”, which moves the useful cooling most "
                    f"(by about {effect.value_unit.lstrip(numbers.MINUS)}).",
                )
            ]
    return []


def _make_up_meter(audit: Audit, units: str) -> list[Action]:
    mains = words.found(audit, "mains_caused_m3")
    if mains is None or mains.value < 1.0:
        return []
    return [
        Action(
            "Fit a water meter on the make-up and read it every month",
            f"Spraying is reckoned to cause {words.between(printed(mains, 'mains_caused_m3', units))} of mains water "
            "a year; a meter shows it.",
        )
    ]


def _prices(audit: Audit, units: str) -> list[Action]:
    if words.has_prices(audit):
        return []
    return [
        Action(
            "Enter the prices of electricity, water and upkeep in the site file",
            "The report then weighs money and not electricity alone.",
            "None",
            "At once",
        )
    ]


def _labels(audit: Audit, units: str) -> list[Action]:
    if words.traits(audit).get("potable_labels", "not sighted") == "sighted":
        return []
    return [Action("Label every outlet and pipe of roof water “not drinking water”", "No one must drink from it.")]


def _keep_reading(audit: Audit, units: str) -> list[Action]:
    """Fills the list on a site where all else is in order."""
    return [
        Action(
            "Log pump hours, store temperature and meters through one season",
            "Logs turn predictions into measurements; the ranges narrow with them.",
        ),
        Action(
            "Look over nozzles, outlets and filter before each season",
            "Blocked nozzles leave dry roof, blocked outlets leave standing water.",
            "Part of the upkeep",
        ),
        Action("Repeat this audit when the season's logs are in", "The year's weather and the site will differ."),
    ]
