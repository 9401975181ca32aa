"""The three actions of page 1, chosen by rule from findings, traits and the assumptions that matter most.

Each says what it is worth in a year, in money where there are prices, else in kWh; the most worth comes first. No cost
is invented: it is printed where an option of the record carries one, else the report says that it is not known.
"""

from __future__ import annotations

import calendar
import math
from dataclasses import dataclass

from sprayroof.report import charts, numbers, words
from sprayroof.report.effects import effect_text, ranked_assumptions
from sprayroof.report.finding_text import finding_text
from sprayroof.report.measured_facts import METERED_LOSS, channels, is_measured, tested
from sprayroof.report.numbers import printed, printed_range
from sprayroof.report.terms import capital, has_panels, terms
from sprayroof.report.terms import label as in_terms
from sprayroof.results import Audit

ASK = "Not known; ask for a quotation"
NONE_KNOWN = "Not known"
OWN_USE_SHARE = 0.25  # own electricity above this share of the avoided: look at pumps and standby
MONTH_MARGIN = 1.0  # kWh by which a month must lose before the report names it
NEXT_TO_NOTHING = 0.01  # avoided electricity as a share of the own, below which a month counts as idle
HOURS_A_YEAR = 8760.0

# What to measure instead of assuming, by the beginning of the assumption's entry.
MEASURES: tuple[tuple[tuple[str, ...], str], ...] = (
    (("prices.upkeep",), "Establish what upkeep really costs, from bills and hours of work"),
    (("prices",), "Take the prices from the last bills"),
    (("store.leak",), "Read the store's level over two days with the pump and all users off"),
    (
        ("spray.drift", "mains.salts", "bleed"),
        "Read the make-up meter on dry nights, calm and windy, with spraying and without",
    ),
    (("store",), "Take the store's volume from a drawing and a dip, and its cooling over a few still days"),
    (("spray",), "Measure the spray's flow with a bucket, its drops and its reach, and photograph the dry patches"),
    (("roof", "model"), "Meter the spray's flow and its supply and return temperatures for three weeks"),
    (("emitter", "load"), "Meter the heat taken up at the floors, ceilings or coils for three weeks of the season"),
    (("room",), "Log the room's temperature and humidity for three weeks of the season"),
    (("air_conditioner",), "Meter the air conditioner's electricity for a season, hour by hour"),
    (("standing",), "Meter the electricity of controls and treatment for a week"),
    (("weather", "place"), "Log humidity, wind and air temperature on the roof for three weeks"),
    (("rain", "mains", "use", "catchment"), "Read water meters on make-up and on the other users every week"),
)


# Where closed panels stand in for the spray, these come first.
MEASURES_OF_PANELS: tuple[tuple[tuple[str, ...], str], ...] = (
    (
        ("spray", "panels", "roof", "model"),
        "Meter the panels' flow and their supply and return temperatures for three weeks",
    ),
    (("mains.salts", "bleed"), "Read the make-up meter on dry nights, with the panel loop running and without"),
)


# Where meter and level tell already what is lost, only salts tell how much of it evaporated.
MEASURES_OF_METERED: tuple[tuple[tuple[str, ...], str], ...] = (
    (
        ("spray.drift", "mains.salts", "bleed"),
        "Follow the salts of the store as a tracer over dry nights, calm and windy: they tell how much of the lost "
        "water was blown away",
    ),
)


def _measures(audit: Audit) -> tuple[tuple[tuple[str, ...], str], ...]:
    if has_panels(audit):
        return (*MEASURES_OF_PANELS, *MEASURES)
    return (*MEASURES_OF_METERED, *MEASURES) if channels(audit) >= METERED_LOSS else MEASURES


@dataclass(frozen=True)
class Action:
    """Something to do: what, why, its cost and its payback as text; and its worth a year by which it is ranked.

    `worth` is in what decides the verdict, money or kWh; what comes before all saving has an endless one.
    """

    do: str
    why: str
    cost: str = ASK
    payback: str = NONE_KNOWN
    worth: float = 0.0


def actions(audit: Audit, units: str = "si", most: int = 3) -> list[Action]:
    """The first `most` actions.

    First what comes before all saving: findings that stop the audit, backflow protection, tests without which the
    logged nights say little. Then by worth a year: the spray left off where its pump uses more than all that is
    avoided, options of the record that save money for certain, sprayed months that lose, loads that stand on, the
    assumption that moves the net most, the water that spraying causes. Then what is good at any site. What was
    measured already is not asked for again.
    """
    rules = (
        _mend,
        _backflow,
        _untested,
        _stop_spraying,
        _paying_options,
        _losing_months,
        _warming_nights,
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
    return sorted(chosen, key=lambda action: -action.worth)[:most]


def electricity_worth(audit: Audit, kWh: float) -> float:
    """What electricity of a year is worth: money where there are prices, else itself."""
    return kWh * (words.price(audit, "electricity") or 0.0) if words.has_prices(audit) else kWh


def worth_text(audit: Audit, worth: float) -> str:
    """`about 130 EUR` or `about 540 kWh`."""
    unit = words.currency(audit) if words.has_prices(audit) else "kWh"
    return f"about {numbers.joined(numbers.significant(abs(worth), 2), unit)}"


def _electricity_text(audit: Audit, kWh: float) -> str:
    """`about 540 kWh`, and what it is worth where there are prices."""
    worth = electricity_worth(audit, kWh)
    money = f" ({worth_text(audit, worth)})" if words.has_prices(audit) and worth > 0.0 else ""
    return f"about {_kWh(kWh)}{money}"


def _mend(audit: Audit, units: str) -> list[Action]:
    return [
        Action(
            f"Mend: {finding_text(audit, finding)}",
            finding.effect or "No figure can be used before.",
            NONE_KNOWN,
            worth=math.inf,
        )
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
            worth=math.inf,
        )
    ]


def _untested(audit: Audit, units: str) -> list[Action]:
    """Tests on site that were not made although the logged nights rest on them."""
    read, wanted = channels(audit), []
    if {"supply_C", "return_C"} <= read and not tested(audit, "pair"):
        wanted.append(
            Action(
                "Hold the supply and return sensors in the same water for half an hour (pair test)",
                f"The heat of each logged night is their difference times the flow. {_instrument_share(audit)}",
                "An hour of work",
                worth=math.inf,
            )
        )
    if "store_m3" in read and not tested(audit, "leak"):
        wanted.append(
            Action(
                "Read the store's level over two days with the pump and all users off (leak test)",
                f"Until then a leak cannot be told from the water that {terms(audit).doing} loses.",
                "Two days without the system",
                worth=math.inf,
            )
        )
    return wanted


def _instrument_share(audit: Audit) -> str:
    """How far the instruments alone leave the logged cooling open."""
    row = (audit.logged.get("estimates") or {}).get("cooling_pipe_kWh") or {}
    if not row.get("value") or not numbers.known(row.get("systematic")):
        return "Untested, an error of either stands in all of them."
    share = numbers.joined(numbers.significant(100.0 * row["systematic"] / abs(row["value"]), 2), "%")
    return f"Untested, the instruments leave it open by ±{share}."


def _stops_spraying(audit: Audit) -> float:
    """Electricity of the spray pump [kWh a year] where the whole range of net electricity is a loss and the pump alone
    uses more than is avoided; else 0."""
    net, avoided = words.found(audit, "electricity_net_kWh"), words.found(audit, "electricity_avoided_kWh")
    hours, pump = words.found(audit, "spray_hours_h"), words.fact(audit, "spray.pump_power")
    if not (net and avoided and hours and pump) or pump.get("unit") != "W" or not net.high <= 0.0:
        return 0.0
    used_kWh = pump["value"] / 1000.0 * hours.value
    return used_kWh if used_kWh > avoided.value else 0.0


def _stop_spraying(audit: Audit, units: str) -> list[Action]:
    used_kWh = _stops_spraying(audit)
    if not used_kWh:
        return []
    saved_kWh = used_kWh - words.found(audit, "electricity_avoided_kWh").value
    worth, gain, named = electricity_worth(audit, saved_kWh), "", terms(audit)
    if words.has_prices(audit):
        mains = words.found(audit, "mains_caused_m3")
        worth += max(mains.value if mains else 0.0, 0.0) * (words.price(audit, "water") or 0.0)
        gain = f" Leaving it off saves {worth_text(audit, worth)} a year of electricity and mains water."
    return [
        Action(
            f"Leave the {named.switch} off until it runs on less power",
            f"{capital(in_terms(audit, 'the spray pump'))} alone uses about {_kWh(used_kWh)} a year, more than the "
            f"{_kWh(words.found(audit, 'electricity_avoided_kWh').value)} that {named.doing} avoids.{gain}",
            "None: a setting of the controller",
            "At once",
            worth,
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
            option.changes["money_net"]["value"],
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
            f"Do not {terms(audit).use} {words.months_during(losing)}",
            f"In {'this month' if len(losing) == 1 else 'these months'} {terms(audit).doing} uses "
            f"{_electricity_text(audit, total)} more electricity than it avoids.",
            "None: a setting of the controller",
            "At once",
            electricity_worth(audit, total),
        )
    ]


def _warming_nights(audit: Audit, units: str) -> list[Action]:
    """Logged nights on which the water came back warmer than it went."""
    warm = [
        row
        for row in audit.logged.get("nights") or ()
        if row.get("valid") and (row.get("spray_hours_h") or 0.0) > 0.0 and (row.get("cooling_roof_kWh") or 0.0) < 0.0
    ]
    if not warm:
        return []
    used = sum(row.get("electricity_own_kWh") or 0.0 for row in warm)
    more = f" and on {len(warm) - 3} nights more" if len(warm) > 3 else ""
    return [
        Action(
            f"Keep the {terms(audit).switch} off on nights that warm the water",
            f"It did so on {words.listed([str(row['date']) for row in warm[:3]])}"
            f"{more}, and used {_kWh(used)} for it: stop where the water comes back no colder.",
            "None: a setting of the controller",
            "At once",
            electricity_worth(audit, used),
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
    watts, hours = _standing_on_W(audit), words.found(audit, "spray_hours_h")
    if watts <= 0.0:
        return [] if "pump_W" in channels(audit) else [Action("Check pump power and running hours", why)]
    saved_kWh = watts / 1000.0 * max(0.0, HOURS_A_YEAR - (hours.value if hours else 0.0))
    return [
        Action(
            f"Switch the standing loads ({_watts(standing_W(audit))} together) off with the pump, where that is not "
            "done yet",
            f"{capital(terms(audit).idle)} they use {_electricity_text(audit, saved_kWh)} a year. {why}",
            worth=electricity_worth(audit, saved_kWh),
        )
    ]


def _standing_on_W(audit: Audit) -> float:
    """Power of the loads that stand on [W]: those that the site file names, no more than months without spraying use,
    nor more than the own electricity leaves for them beside the pump."""
    limits = [standing_W(audit)]
    idle = [row for row in audit.months if _sprays(row) is False]
    if idle:
        limits.append(1000.0 * _own_of(idle) / _hours_of(idle))
    own, hours, pump = (
        words.found(audit, "electricity_own_kWh"),
        words.found(audit, "spray_hours_h"),
        words.fact(audit, "spray.pump_power"),
    )
    if own and hours and pump and pump.get("unit") == "W":
        limits.append((1000.0 * own.value - pump["value"] * hours.value) / HOURS_A_YEAR)
    return max(0.0, min(limits))


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
    if _own_use_is_large(audit) and _standing_on_W(audit) > 0.0:
        return []  # the action on standing loads covers these months
    idle = [row for row in audit.months if _sprays(row) is False and _stands_on(row)]
    if not idle:
        return []
    total = _own_of(idle)
    return [
        Action(
            f"Switch the system's standing loads off outside the season ({words.months_listed(idle)})",
            f"The {terms(audit).switch} does not run in {'this month' if len(idle) == 1 else 'these months'}, yet the "
            "system uses "
            f"{_electricity_text(audit, total)} there, {_watts(1000.0 * total / _hours_of(idle))} all the time.",
            worth=electricity_worth(audit, total),
        )
    ]


def _own_of(rows: list[dict]) -> float:
    """Own electricity of some months [kWh]."""
    return sum(charts.row_value(row, "electricity_own_kWh") or 0.0 for row in rows)


def _hours_of(rows: list[dict]) -> float:
    return sum(24.0 * calendar.monthrange(2001, int(row["month"]))[1] for row in rows)


def _stands_on(row: dict) -> bool:
    own, avoided = (charts.row_value(row, f"electricity_{name}_kWh") for name in ("own", "avoided"))
    return own is not None and own > MONTH_MARGIN and (avoided or 0.0) <= NEXT_TO_NOTHING * own


def _measure(audit: Audit, units: str) -> list[Action]:
    """To find out what moves the deciding figure most; in records that do not tell that, what moves useful cooling."""
    key = "effect_net" if any(row.get("effect_net") for row in audit.assumptions) else "effect"
    for row in ranked_assumptions(audit, key, units):
        entry = str(row.get("entry", ""))
        measure = next((text for starts, text in _measures(audit) if entry.startswith(starts)), None)
        if not (measure and row.get(key)) or is_measured(audit, entry):
            continue
        if key == "effect_net":
            moves = f"the net by about {effect_text(row[key], str(row.get('effect_net_unit') or 'kWh'))} a year"
            return [Action(measure, f"Not known well: “{row['label']}”. It moves {moves}.", worth=abs(row[key]))]
        effect = printed_range(row[key], None, None, "kWh", units, heat=True, scale_to=words.energy_scale(audit))
        moves = f"the useful cooling by about {effect.value_unit.lstrip(numbers.MINUS)} a year"
        return [Action(measure, f"Not known well: “{row['label']}”. It moves {moves}.")]
    return []


def _make_up_meter(audit: Audit, units: str) -> list[Action]:
    mains = words.found(audit, "mains_caused_m3")
    if mains is None or mains.value < 1.0 or _stops_spraying(audit):
        return []
    worth = mains.value * (words.price(audit, "water") or 0.0) if words.has_prices(audit) else 0.0
    money = f" ({worth_text(audit, worth)})" if worth else ""
    reckoned = (
        f"{terms(audit).does} is reckoned to cause {words.between(printed(mains, 'mains_caused_m3', units))} of "
        f"mains water a year{money}"
    )
    if "makeup_L_min" in channels(audit):  # read hour by hour already
        return []
    if words.found(audit, "mains_m3", "logged"):  # metered already
        return [Action("Read the make-up meter every month", f"{reckoned}; the meter shows it.", "None", worth=worth)]
    return [
        Action(
            "Fit a water meter on the make-up and read it every month", f"{reckoned}; a meter shows it.", worth=worth
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
            "Keep the loggers and meters running through one season",
            "The measured nights are a part of the year; what they did not see is a model's.",
            "Part of the upkeep",
        )
        if audit.logged.get("nights")
        else Action(
            "Log pump hours, store temperature and meters through one season",
            "Logs turn predictions into measurements; the ranges narrow with them.",
        ),
        Action(
            "Look over panels, joints and strainer before each season",
            "Air in the loop, dirt and leaks take cooling away.",
            "Part of the upkeep",
        )
        if has_panels(audit)
        else Action(
            "Look over nozzles, outlets and filter before each season",
            "Blocked nozzles leave dry roof, blocked outlets leave standing water.",
            "Part of the upkeep",
        ),
        Action("Repeat this audit when the season's logs are in", "The year's weather and the site will differ."),
    ]
