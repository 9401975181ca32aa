"""The sentences of the report: ranges, the verdict, grades and bases in words. They say what the record holds, no more.

Words that the report never uses of a result: those that claim proof, promise an outcome or name the best case alone.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sprayroof.catalogue import QUANTITIES
from sprayroof.report import labels, numbers
from sprayroof.report.numbers import Printed, known, printed
from sprayroof.report.terms import capital, has_panels, in_words_of_panels, terms
from sprayroof.report.terms import label as in_terms
from sprayroof.results import Audit, Quantity

WORKS, WORKS_BUT, DOES_NOT_PAY, CANNOT_TELL = "works", "works, but", "does not pay", "cannot tell"
HEADLINES = {
    WORKS: "It works",
    WORKS_BUT: "It works, but",
    DOES_NOT_PAY: "It does not pay",
    CANNOT_TELL: "We cannot tell",
}
NINE_IN_TEN = "There are 9 chances in 10 that the true figure lies inside."
CANNOT_SAY = "We cannot say whether it saves or costs."
SIGNED_IDS = ("electricity_net_kWh", "money_net", "carbon_net_kg")  # saves if positive, costs if negative
# Mains water caused by spraying is worth a "but" from this share of the water that spraying loses.
MAINS_CLAUSE_SHARE = 0.05

GRADE_WORDS = {
    "A": "measured directly, good to about 10 %",
    "B": "measured, with a short extrapolation, good to about 25 %",
    "C": "from a model fitted to this site's own logs, good to about 50 %",
    "D": "from a model and assumptions, or wider than that, or gain and loss both possible",
}
BASIS_WORDS = {"measured": "measured", "fitted": "fitted model", "modelled": "model", "assumed": "assumed"}
HEAT_STEPS = (
    "cooling_roof_kWh",
    "cooling_stored_kWh",
    "cooling_delivered_kWh",
    "cooling_useful_kWh",
    "useful_caused_kWh",
)
ELECTRICITY_STEPS = ("electricity_avoided_kWh", "electricity_own_kWh", "electricity_net_kWh")
# What spraying takes from the store for good.
SPRAY_LOSSES = ("evaporation_m3", "drift_m3", "dried_m3", "bleed_m3", "flush_lost_m3")
HEAT_PATHS = ("longwave_kWh", "convection_kWh", "evaporation_heat_kWh", "roof_conduction_kWh")
# What closed panels do not have, and what is nothing without a booster chiller: not shown where it is always 0.
NOT_OF_PANELS = frozenset(
    {
        *SPRAY_LOSSES,
        "evaporation_heat_kWh",
        "roof_conduction_kWh",
        "condensation_m3",
        "mains_caused_m3",
        "unmet_caused_m3",
        "water_per_useful_L_kWh",
    }
)
OF_BOOSTER = frozenset({"booster_cooling_kWh", "booster_electricity_kWh", "booster_spared_kWh"})
SOURCE_WORDS = {"default": "assumed", "unstated": "not stated"}
MONTH_NAMES = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


@dataclass(frozen=True)
class Verdict:
    """The verdict: its word (one of the four), its one sentence, and the id of the quantity that decided it."""

    word: str
    sentence: str
    decided_by: str


def currency(audit: Audit) -> str:
    """The site's currency code."""
    return str(audit.site.get("currency") or "EUR")


def traits(audit: Audit) -> dict:
    """The yes/no and text facts of the site; empty where the record carries none."""
    return audit.site.get("traits") or {}


def headline_period(audit: Audit) -> str:
    """The period that the verdict speaks of: the reference year, else the logged period."""
    return "year" if "year" in audit.periods else next(iter(audit.periods))


def found(audit: Audit, id: str, period: str | None = None) -> Quantity | None:
    """The quantity `id` of a period (default the headline's), or None where the record does not hold it."""
    stretch = audit.periods.get(period or headline_period(audit))
    quantity = stretch.quantities.get(id) if stretch else None
    return quantity if quantity is not None and known(quantity.value) else None


def fact(audit: Audit, entry: str) -> dict | None:
    """A fact of the site by its entry, or None where the record does not hold its value."""
    row = next((row for row in audit.site.get("facts") or () if row.get("entry") == entry), None)
    return row if row is not None and known(row.get("value")) else None


def price(audit: Audit, name: str) -> float | None:
    """A price of the site file by its entry ("electricity", "water", "sewer", "upkeep", "carbon")."""
    row = fact(audit, f"prices.{name}")
    return None if row is None else float(row["value"])


def has_booster(audit: Audit) -> bool:
    """Whether a booster chiller cools the same store."""
    booster = found(audit, "booster_cooling_kWh")
    return booster is not None and booster.value > 0.0


def says_something(audit: Audit, id: str) -> bool:
    """Whether a figure belongs on the pages: not where it is always 0 because the site has nothing of the kind."""
    quantity = found(audit, id)
    always_0 = quantity is not None and numbers.never_anything(quantity)
    return not always_0 or not ((has_panels(audit) and id in NOT_OF_PANELS) or id in OF_BOOSTER)


def without_spray(audit: Audit) -> Quantity | None:
    """The useful cooling that the store would give unsprayed; None where it is next to nothing, or where a booster
    chiller's cooling is in it."""
    useful, without = found(audit, "cooling_useful_kWh"), found(audit, "useful_without_spray_kWh")
    if useful is None or without is None or has_booster(audit):
        return None
    return without if without.value >= 0.01 * abs(useful.value) and without.value > 0.0 else None


def caused(audit: Audit) -> Quantity | None:
    """The useful cooling that spraying brings, where a part of it would come without, or all of it beside a booster;
    without a range where the record does not tell it."""
    without, useful = without_spray(audit), found(audit, "cooling_useful_kWh")
    if has_booster(audit):
        return found(audit, "useful_caused_kWh")
    if without is None:
        return None
    told = found(audit, "useful_caused_kWh")
    left = Quantity(
        useful.value - without.value, math.nan, math.nan, "kWh", "Caused by spraying", useful.basis, useful.grade
    )
    return told or left


def caused_words(audit: Audit, units: str = "si") -> str:
    """How much of the useful cooling is owed to spraying and how much would come without; "" where none is told."""
    brought, doing = caused(audit), terms(audit).doing
    if brought is None:
        return ""
    if has_booster(audit):
        return (
            "Beside the booster chiller the cooling that reached the rooms is told as the difference that "
            f"{doing} makes: what a year without {doing}, booster at work, would have brought is taken off."
        )
    without = energy(audit, "useful_without_spray_kWh", units)
    spread = "" if without.low in (numbers.NOT_KNOWN, without.high) else f" ({between(without)})"
    if brought.value <= 0.0:
        return f"Without {doing} the store would give no less useful cooling: {between(without)}."
    shown = printed(brought, "useful_caused_kWh", units, scale_to=energy_scale(audit))
    share = numbers.fixed(100.0 * brought.value / found(audit, "cooling_useful_kWh").value, 0)
    size = "" if shown.low in (numbers.NOT_KNOWN, shown.high) else f"{between(shown)}, most likely "
    return (
        f"Of the useful cooling, {doing} causes {size}about {shown.value_unit} or {share}{numbers.NO_BREAK}%; the "
        f"store would give the rest, about {without.value_unit}{spread}, without {doing}."
    )


def booster_words(audit: Audit, units: str = "si") -> str:
    """What the electricity avoided holds beside a booster chiller; "" without one."""
    spared = found(audit, "booster_spared_kWh")
    if not has_booster(audit) or spared is None:
        return ""
    shown = energy(audit, "booster_spared_kWh", units)
    return (
        f"Of the electricity avoided, about {shown.value_unit} is not the air conditioner's but the booster chiller's "
        f"({between(shown)}): it has less to do in a store that {terms(audit).doing} cools."
    )


def energy_scale(audit: Audit) -> float | None:
    """The largest energy among the steps and paths in kWh, so that the owner's pages keep to one unit of energy."""
    ids = HEAT_STEPS + ELECTRICITY_STEPS + HEAT_PATHS
    sizes = [
        abs(end)
        for id in ids
        if (quantity := shown_quantity(audit, id))
        for end in (quantity.value, quantity.low, quantity.high)
        if known(end)
    ]
    return max(sizes, default=None)


def shown_quantity(audit: Audit, id: str) -> Quantity | None:
    """The quantity of a row of the owner's pages: as `found`; what spraying causes only where some comes without;
    nothing of what the site does not have."""
    if not says_something(audit, id):
        return None
    return caused(audit) if id == "useful_caused_kWh" else found(audit, id)


def energy(audit: Audit, id: str, units: str = "si") -> Printed:
    """A quantity of energy of the headline period in the owner's pages' unit of energy."""
    return printed(found(audit, id), id, units, scale_to=energy_scale(audit))


def page_rows(
    audit: Audit, rows: list[tuple[str, Quantity]], units: str = "si", *, owners_scale: bool = True
) -> list[Printed]:
    """Rows of different kinds as they are printed in one table: energies to one unit and place, others as they deserve.

    `owners_scale` keeps to the unit of energy of the owner's pages.
    """
    energies = [(id, quantity) for id, quantity in rows if quantity.unit == "kWh"]
    shown = iter(numbers.printed_rows(energies, units, scale_to=energy_scale(audit) if owners_scale else None))
    return [
        next(shown) if quantity.unit == "kWh" else printed(quantity, id, units, currency=currency(audit))
        for id, quantity in rows
    ]


def has_prices(audit: Audit) -> bool:
    """True where the record holds money."""
    return found(audit, "money_net") is not None and traits(audit).get("has_prices", True)


def only_predicted(audit: Audit) -> bool:
    """True where no headline quantity rests on measurements of the system itself.

    Nights that were logged do not make a year's figures measured: only a model fitted to them would.
    """
    stretch = audit.periods[headline_period(audit)]
    return all(q.basis in ("modelled", "assumed") for q in stretch.quantities.values())


def measured_nights(audit: Audit) -> str:
    """On how many nights heat was measured, and when: a sentence, or nothing where nothing was logged."""
    nights, period = audit.logged.get("nights") or [], audit.periods.get("logged")
    if not nights or period is None:
        return ""
    valid = sum(bool(row.get("valid")) for row in nights)
    span = f"{period.start} to {period.end}"
    if not valid:
        return f"Heat could not be measured on any of the {len(nights)} nights logged, {span}."
    return f"Heat was measured on {valid} of {len(nights)} nights, {span}."


def range_words(shown: Printed, *, signed: bool = False, spans_zero: bool = False) -> str:
    """A range as a sentence for people who do not read intervals every day.

    `signed` is for quantities that save when positive and cost when negative.
    """
    unit = f"{numbers.NO_BREAK}{shown.unit}" if shown.unit else ""
    if shown.low == numbers.NOT_KNOWN:
        return f"About {shown.value}{unit}; its range is not known."
    if shown.low == shown.high:
        return f"{shown.value}{unit}."
    sentence = f"Between {shown.low} and {shown.high}{unit}; most likely about {shown.value}. {NINE_IN_TEN}"
    return f"{sentence} {CANNOT_SAY}" if signed and spans_zero else sentence


def quantity_words(quantity: Quantity, id: str, units: str = "si", currency: str = "") -> str:
    """`range_words` of a quantity."""
    return range_words(
        printed(quantity, id, units, currency=currency), signed=id in SIGNED_IDS, spans_zero=quantity.spans_zero
    )


def between(shown: Printed) -> str:
    """`between 35 and 41 MWh`, or the one figure where the ends agree in print."""
    if shown.low in (numbers.NOT_KNOWN, shown.high):
        return shown.value_unit
    return f"between {shown.low} and {numbers.joined(shown.high, shown.unit)}"


def verdict(audit: Audit, units: str = "si") -> Verdict:
    """The one-sentence verdict, by these rules in this order.

    1. A finding of level "stop", or no net electricity in the record: cannot tell.
    2. The deciding quantity is net money where prices were given, else net electricity.
       Its whole range at or below zero: does not pay. Its range across zero: cannot tell.
    3. Otherwise it works; "works, but" where spraying causes mains water (at least 1 m3 and 5 % of what spraying
       loses), where other users of the store go short, or where money is saved and net electricity may be negative.
    """
    stops = [finding for finding in audit.findings if finding.level == "stop"]
    decided_by = "money_net" if has_prices(audit) else "electricity_net_kWh"
    deciding, works = found(audit, decided_by), terms(audit).works
    if stops:
        count = "one finding has" if len(stops) == 1 else f"{len(stops)} findings have"
        return Verdict(
            CANNOT_TELL,
            f"We cannot tell: {count} to be mended first, and until then no figure here is to be used.",
            decided_by,
        )
    if deciding is None or not known(deciding.low, deciding.high):
        return Verdict(CANNOT_TELL, "We cannot tell: the record holds no net figure with a range.", decided_by)
    if deciding.high <= 0.0:
        return Verdict(DOES_NOT_PAY, _sentence_of_loss(audit, units), decided_by)
    if deciding.low < 0.0:
        return Verdict(CANNOT_TELL, _sentence_of_doubt(audit, units), decided_by)
    clauses = but_clauses(audit, units)
    if clauses:
        return Verdict(WORKS_BUT, f"{works}, but {' and '.join(clauses)}: {_benefit(audit, units)}.", decided_by)
    return Verdict(WORKS, f"{works}: {_benefit(audit, units)}.", decided_by)


def but_clauses(audit: Audit, units: str = "si") -> list[str]:
    """What stands against a working roof, each as a clause with its numbers."""
    clauses = []
    mains, lost = found(audit, "mains_caused_m3"), _lost_by_spraying_m3(audit)
    if mains and mains.value >= 1.0 and mains.value >= MAINS_CLAUSE_SHARE * lost:
        taken = between(printed(mains, "mains_caused_m3", units))
        clauses.append(f"{terms(audit).doing} takes {taken} of mains water {per(audit)}")
    unmet = found(audit, "unmet_caused_m3") or found(audit, "unmet_uses_m3")
    if unmet and unmet.value >= 1.0:
        clauses.append(
            f"other users of the store go short of {between(printed(unmet, 'unmet_uses_m3', units))} of water"
        )
    net = found(audit, "electricity_net_kWh")
    if net and net.low < 0.0:
        clauses.append("its net electricity may be a loss")
    return clauses


def _lost_by_spraying_m3(audit: Audit) -> float:
    return sum(quantity.value for quantity in (found(audit, id) for id in SPRAY_LOSSES) if quantity)


def per(audit: Audit) -> str:
    """The span that a figure of the headline period is for: `a year` or `in the logged period`."""
    return "a year" if headline_period(audit) == "year" else "in the logged period"


def _does(audit: Audit) -> str:
    return f"{terms(audit).doing} is {'predicted' if only_predicted(audit) else 'found'} to"


def _electricity(audit: Audit, units: str) -> Printed | None:
    return energy(audit, "electricity_net_kWh", units) if found(audit, "electricity_net_kWh") else None


def _money(audit: Audit, units: str) -> Printed:
    return printed(found(audit, "money_net"), "money_net", units, currency=currency(audit))


def _benefit(audit: Audit, units: str) -> str:
    parts = []
    electricity = _electricity(audit, units)
    if electricity:
        parts.append(
            f"{between(electricity)} of electricity {per(audit)} after its own use, most likely about "
            f"{electricity.value}"
        )
    if has_prices(audit):
        money = _money(audit, units)
        parts.append(f"{between(money)} after water and upkeep, most likely about {money.value}")
    return f"{_does(audit)} save {', and '.join(parts)}"


def _sentence_of_loss(audit: Audit, units: str) -> str:
    electricity = _electricity(audit, units)
    if not has_prices(audit):
        loss = turned(electricity)
        return (
            f"{terms(audit).fails}: {_does(audit)} use {between(loss)} more electricity {per(audit)} than it saves, "
            f"most likely about {loss.value}."
        )
    money = turned(_money(audit, units))
    tail = ""
    if electricity:
        sure_loss = found(audit, "electricity_net_kWh").high <= 0.0
        tail = (
            f", and to use {between(turned(electricity))} more electricity than it avoids"
            if sure_loss
            else f", with a net electricity saving of {between(electricity)}"
        )
    return (
        f"{terms(audit).fails}: {_does(audit)} cost {between(money)} {per(audit)} more than it saves, most likely "
        f"about {money.value}{tail}."
    )


def _sentence_of_doubt(audit: Audit, units: str) -> str:
    electricity = _electricity(audit, units)
    if not has_prices(audit):
        return (
            f"We cannot tell: the net electricity saved by {terms(audit).doing} lies {between(electricity)} "
            f"{per(audit)}, most likely about {electricity.value}; {CANNOT_SAY[0].lower()}{CANNOT_SAY[1:]}"
        )
    money, start = _money(audit, units), f"We cannot tell {terms(audit).pays}:"
    ends = (
        f"after water and upkeep the result lies {_loss_to_gain(money)}{{}}, most likely {_gain_or_loss(money)}."
    )
    if electricity is None:
        return f"{start} {ends.format(' ' + per(audit))}"
    if found(audit, "electricity_net_kWh").low >= 0.0:
        return (
            f"{start} {_does(audit)} save {between(electricity)} of electricity {per(audit)} after its own use, but "
            f"{ends.format('')}"
        )
    return (
        f"{start} the net electricity saved by {terms(audit).doing} lies {between(electricity)} {per(audit)}, and "
        f"{ends.format('')}"
    )


def _loss_to_gain(money: Printed) -> str:
    """`between a loss of 640 and a gain of 420 EUR`; an end that prints as zero is called nothing."""
    loss, gain = turned(money).high, numbers.joined(money.high, money.unit)
    if not _says_something(money.low):
        return f"between nothing and {gain}"
    if not _says_something(money.high):
        return f"between a loss of {numbers.joined(loss, money.unit)} and nothing"
    return f"between a loss of {loss} and a gain of {gain}"


def _says_something(text: str) -> bool:
    return any(digit in text for digit in "123456789")


def _gain_or_loss(money: Printed) -> str:
    if money.value.startswith(numbers.MINUS):
        return f"a loss of about {turned(money).value}"
    return f"a gain of about {money.value}" if _says_something(money.value) else "about even"


def turned(shown: Printed) -> Printed:
    """The same range seen as a cost: signs turned, ends exchanged."""
    return Printed(_negated(shown.value), _negated(shown.high), _negated(shown.low), shown.unit)


def _negated(text: str) -> str:
    if text.startswith(numbers.MINUS):
        return text[1:]
    return f"{numbers.MINUS}{text}" if _says_something(text) else text


LABELS_WITHOUT_UNITS = {
    "water_per_useful_L_kWh": "Water lost per unit of useful cooling",
    "useful_per_own_kWh_kWh": "Useful cooling per unit of own electricity",
}


# Labels of facts that name an SI unit, for IP: entry -> label.
FACT_LABELS_IP = {"spray.drift_wind": "Further share blown away per mph² of wind above 2.2 mph"}


def fact_label(audit: Audit, row: dict, units: str = "si") -> str:
    """The label of a fact or an assumption; in IP without SI units."""
    own = str(row.get("label") or "")
    return in_terms(audit, FACT_LABELS_IP.get(str(row.get("entry")), own) if units == "ip" else own)


def plays_no_part(audit: Audit, entry: str) -> bool:
    """Whether another entry makes this one idle, by the record's table of facts."""
    return any(row.get("entry") == entry and row.get("used") is False for row in audit.site.get("facts") or ())


def label(audit: Audit, id: str, own: str, units: str = "si") -> str:
    """The label `own` of a quantity; in IP without the SI units that stand in some."""
    if id == "electricity_avoided_kWh" and has_booster(audit):
        own = "Electricity of air conditioner and booster avoided by spraying"
    return in_terms(audit, LABELS_WITHOUT_UNITS.get(id, own) if units == "ip" else own)


def row_label(audit: Audit, table: dict[str, str], id: str) -> str:
    """The label of a figure in one of the tables of `labels`; beside a booster the avoided electricity says so."""
    own = table.get(id) or (QUANTITIES[id].label if id in QUANTITIES else id)
    if id == "electricity_avoided_kWh" and has_booster(audit):
        own = "Avoided, booster's too"
    return in_terms(audit, own)


def labelled(name: str) -> list[str]:
    """Identifiers of the quantities that the catalogue or the report's pages call `name`, in capitals or not."""
    wanted = name.casefold()
    names = [(id, row.label) for id, row in QUANTITIES.items()]
    names += [(id, own) for table in labels.ALL for id, own in table.items() if id in QUANTITIES]
    return list(
        dict.fromkeys(id for id, own in names if wanted in (own.casefold(), in_words_of_panels(own).casefold()))
    )


def listed(items: list[str]) -> str:
    """`a, b and c`."""
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}" if items else ""


def months_listed(rows: list[dict]) -> str:
    """Months of the year in words, three or more that follow one another as `May to August`, across the year's end."""
    present = sorted({int(row["month"]) - 1 for row in rows})
    if len(present) == 12:
        return "January to December"
    runs: list[list[int]] = []
    for month in present:
        if runs and month == runs[-1][-1] + 1:
            runs[-1].append(month)
        else:
            runs.append([month])
    if len(runs) > 1 and runs[0][0] == 0 and runs[-1][-1] == 11:
        runs = [*runs[1:-1], runs[-1] + runs[0]]
    parts: list[str] = []
    for run in runs:
        named = [MONTH_NAMES[month] for month in run]
        parts += [f"{named[0]} to {named[-1]}"] if len(named) > 2 else named
    return listed(parts)


def months_during(rows: list[dict]) -> str:
    """`in May and June`, or `from May to August` where the months are one run."""
    named = months_listed(rows)
    one_run = " to " in named and "," not in named and " and " not in named
    return f"from {named}" if one_run else f"in {named}"


def month_name(row: dict) -> str:
    """The English name of a month row ("01" to "12")."""
    return MONTH_NAMES[int(row["month"]) - 1]


def public_sentences(audit: Audit, units: str = "si") -> list[str]:
    """Sentences that may be used outside, each with its range and its basis."""
    year = "a typical weather year" if traits(audit).get("typical_year") else "one year of weather"
    origin, verb, that = (
        (f"A model of this site, run on {year},", "predicts", "predicts that")
        if only_predicted(audit)
        else ("Measurements at this site, carried by a model where they end,", "give", "show that")
    )
    sentences = []
    sure = "9 chances in 10 that the true figure lies inside"
    useful, brought, doing = found(audit, "cooling_useful_kWh"), caused(audit), terms(audit).doing
    if useful:
        part = ""
        if brought and brought.value > 0.0:
            shown = printed(brought, "useful_caused_kWh", units, scale_to=energy_scale(audit))
            about = "" if known(brought.low) else "about "
            part = f", {about}{between(shown)} of it caused by {doing}"
        said = between(energy(audit, "cooling_useful_kWh", units))
        sentences.append(
            f"“{origin} {verb} {said} of useful cooling {per(audit)}{part}, "
            f"with {sure}{' of each range' if part and known(brought.low) else ''}.”"
        )
    net = found(audit, "electricity_net_kWh")
    if net and net.low > 0.0:
        sentences.append(
            f"“{origin} {that} {doing} saves {between(energy(audit, 'electricity_net_kWh', units))} of electricity "
            f"{per(audit)}, net of its own use, with {sure}.”"
        )
    elif net and net.spans_zero:
        sentences.append(f"“Whether {doing} saves electricity, net of its own use, is not settled.”")
    elif net and net.high <= 0.0:
        sentences.append(f"“{capital(doing)} uses more electricity than it saves.”")
    return sentences
