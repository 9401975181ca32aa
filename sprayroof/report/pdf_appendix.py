"""The technical appendix: everything an engineer needs to check the owner's pages."""

from __future__ import annotations

import json

from reportlab.platypus import Flowable, KeepTogether, PageBreak

from sprayroof.report import charts, numbers, words
from sprayroof.report.actions import ranked_assumptions
from sprayroof.report.handcheck import HandCheck, hand_checks
from sprayroof.report.numbers import known, printed, printed_range
from sprayroof.report.pdf_layout import Sheet, chart, gap, paragraph, section, shares, table
from sprayroof.results import Audit

MONTH_COLUMNS = (
    ("load_kWh", "Load"),
    ("cooling_roof_kWh", "At the roof"),
    ("cooling_useful_kWh", "Useful"),
    ("electricity_avoided_kWh", "Avoided"),
    ("electricity_own_kWh", "Own"),
    ("electricity_net_kWh", "Net el."),
    ("rain_caught_m3", "Rain"),
    ("evaporation_m3", "Evap."),
    ("drift_m3", "Drift"),
    ("mains_caused_m3", "Mains caused"),
    ("spray_hours_h", "Spraying"),
)
# id, head, digits after the point in SI and in IP
NIGHT_COLUMNS = (
    ("spray_hours_h", "Spraying", 1, 1),
    ("cooling_roof_kWh", "At the roof", 0, 0),
    ("longwave_kWh", "Sky", 0, 0),
    ("convection_kWh", "Air", 0, 0),
    ("evaporation_heat_kWh", "Evap.", 0, 0),
    ("evaporation_m3", "Evap.", 2, 0),
    ("drift_m3", "Drift", 2, 0),
    ("store_start_C", "Store start", 1, 1),
    ("store_end_C", "Store end", 1, 1),
    ("t_air_mean_C", "Air", 1, 1),
    ("t_wetbulb_mean_C", "Wet bulb", 1, 1),
    ("wind_mean_m_s", "Wind", 1, 1),
    ("rain_mm", "Rain", 1, 2),
)
BALANCES = (("water_kg", "Water", "kg"), ("heat_J", "Heat", "J"), ("salt_kg", "Salts", "kg"))

# The method in short: subject, what is done, source. Which sky and cloud model was used stands in the record's traits.
METHOD = (
    (
        "Clear sky",
        "Emissivity from the dew point: 0.711 + 0.56 x + 0.73 x², x = dew point in °C over 100; terms for the hour "
        "and the pressure",
        "Berdahl & Martin 1984",
    ),
    (
        "Cloud",
        "Opaque cloud fills the gap between clear-sky emissivity and one, by layer height",
        "Martin & Berdahl 1984",
    ),
    ("Sky seen by a slope", "View factor of a tilted plane, F √F with F = (1 + cos β)/2", "Walton 1983"),
    ("Wind at the roof", "Power-law profiles of station and site", "ASHRAE Handbook of Fundamentals"),
    (
        "Heat to the air",
        "Turbulent plate from its leading edge, Nu = 0.037 Re^0.8 Pr^(1/3), joined with free convection; a "
        "multiplier carries what plates and roofs do not share",
        "Incropera & DeWitt; spread after Mirsadeghi et al. 2013",
    ),
    (
        "Evaporation, dew",
        "Heat and mass transfer as one: m = (h/cp) Le^(−2/3) ln(1 + B); negative where dew forms, never clipped",
        "Chilton & Colburn 1934; diffusion after Marrero & Mason 1972",
    ),
    (
        "Drops in flight",
        "Motion, heat and mass of the Sauter drop: drag, and Nu = 2 + 0.6 Re^½ Pr^⅓",
        "Schiller & Naumann 1933; Ranz & Marshall 1952",
    ),
    (
        "Sheet on the roof",
        "Falling film: thickness, hold-up, time down the slope; mixed or fed at the ridge",
        "Nusselt 1916",
    ),
    (
        "Drift",
        "Share of the sprayed flow that grows with the square of wind beyond 1 m/s",
        "assumed; no general source",
    ),
    ("Store", "Mass, heat and salts of each layer; colder water sinks and mixes", "balances, closed below"),
    ("Rain", "Initial loss, runoff coefficient by roof, first flush by dry spell, filter", "Farreny et al. 2011"),
    ("Floors and ceilings", "q = 8.92 ΔT^1.1 for ceilings and 7 ΔT for floors that cool", "ISO 11855-2; EN 1264-2"),
    (
        "Air conditioner",
        "Capacity and power curves, marginal power at the load it would have had",
        "Cutler et al. 2013",
    ),
    (
        "Ranges",
        "Draws of all that is not known, carried through the whole year; 90 % intervals, symmetric in probability",
        "JCGM 101:2008",
    ),
)


def appendix_story(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    """The appendix in order; parts that the record does not hold are left out."""
    story: list[Flowable] = [PageBreak(), *section("appendix", "Technical appendix")]
    story += [
        paragraph(
            "For the engineer. Numbers here are rounded as on the owner's pages unless said; the record "
            "audit.json holds them in full."
        )
    ]
    parts = (
        _hand_checks,
        _facts,
        _assumptions,
        _method,
        _fit,
        _quantities,
        _months,
        _nights,
        _closure,
        _findings,
        _inputs,
        _made,
    )
    for part in parts:
        story += part(audit, sheet, units)
    return story


def _hand_checks(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    checks = hand_checks(audit)
    if not checks:
        return []
    rows = [
        [
            paragraph(check.title, "cell_bold"),
            paragraph(f"{check.how}: {worked(check)}", "cell"),
            numbers.exact(check.recomputed),
            numbers.exact(check.target.value),
            _unit_name(audit, check.target.unit),
        ]
        for check in checks
    ]
    return [
        *section("handcheck", "Five numbers to redo with a calculator", 1),
        paragraph(
            "Best estimates in SI units, with more digits than their ranges deserve so that they can be redone. "
            "What the two sides differ by is real: rounding, and paths too small to be named.",
            "note",
        ),
        table(
            ("Number", "Reckoning", "Redone", "In the record", "Unit"),
            rows,
            shares(sheet.width, 20, 45, 12, 14, 9),
            right=(2, 3),
            wraps=(0, 1),
        ),
    ]


def worked(check: HandCheck) -> str:
    """The check's formula with its numbers in place."""
    values = [numbers.exact(term.value) for term in check.terms]
    values = [f"({value})" if value.startswith(numbers.MINUS) else value for value in values]
    text = check.formula.format(**dict(zip("abcdefgh", values, strict=False)))
    for sign, spaced in (("+", " + "), ("-", f" {numbers.MINUS} "), ("*", " × "), ("/", " ÷ ")):
        text = text.replace(sign, spaced)
    return text


def _unit_name(audit: Audit, unit: str) -> str:
    return {"currency": words.currency(audit), "1": "share"}.get(unit, numbers.unit_for(unit, "si")[2])


def _facts(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    facts = audit.site.get("facts") or ()
    if not facts:
        return []
    rows, bold, part = [], [], None
    for fact in facts:
        if part != (part := str(fact.get("entry", "")).rpartition(".")[0]):
            bold.append(len(rows))
            rows.append([part.replace(".", " ").replace("_", " ").capitalize(), "", "", "", ""])
        value, low_high, unit = _fact_numbers(audit, fact, units)
        note = f"; {fact['note']}" if fact.get("note") else ""
        rows.append([fact.get("label", ""), value, low_high, unit, f"{_source(fact)}{note}"])
    return [
        *section("facts", "Site facts", 1),
        table(
            ("Fact", "Value", "Range, 9 in 10", "Unit", "Source"),
            rows,
            shares(sheet.width, 38, 12, 20, 17, 21),
            wraps=(0, 3, 4),
            right=(1,),
            bold=bold,
            padding=1.8,
        ),
    ]


def _source(row: dict) -> str:
    source = str(row.get("source") or "")
    return words.SOURCE_WORDS.get(source, source)


def _fact_numbers(audit: Audit, row: dict, units: str) -> tuple[str, str, str]:
    """Value, range and unit of a fact or an assumption, as text."""
    unit = str(row.get("unit") or "")
    value, low, high = (numbers.exact(numbers.converted(row.get(key), unit, units)) for key in ("value", "low", "high"))
    name = numbers.unit_for(unit, units)[2].replace("currency", words.currency(audit))
    return value, "taken as it is" if low == high else f"{low} to {high}", name


def _assumptions(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    ranked = ranked_assumptions(audit)
    if not ranked:
        return []
    scale = max((abs(row["effect"]) for row in ranked if row.get("effect")), default=None)
    rows = []
    for row in ranked:
        value, low_high, unit = _fact_numbers(audit, row, units)
        effect = printed_range(row.get("effect"), None, None, "kWh", units, heat=True, scale_to=scale)
        rows.append(
            [
                row.get("label", ""),
                numbers.joined(value, unit),
                low_high,
                _source(row),
                effect.value_unit,
            ]
        )
    top = next((row for row in ranked if row.get("effect")), None)
    caption = (
        f"“{top['label']}” moves the useful cooling most. A bar: the change at the upper end of its range."
        if top
        else ""
    )
    return [
        *section("assumptions", "Assumptions", 1, room=330.0),
        *chart(
            "Which assumptions move the useful cooling most?",
            charts.assumptions(audit, ranked, sheet.width, units),
            caption,
        ),
        table(
            ("Assumption", "Value", "Range", "Source", "Effect on useful"),
            rows,
            shares(sheet.width, 38, 20, 20, 13, 17),
            wraps=(0, 1, 3),
            right=(4,),
        ),
    ]


def _method(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    traits = words.traits(audit)
    chosen = "; ".join(
        f"{name}: {str(traits[key]).replace('_', ' ')}"
        for key, name in (
            ("sky_model", "sky"),
            ("cloud_model", "cloud"),
            ("long_wave", "long-wave"),
            ("convection", "convection"),
            ("evaporation", "evaporation"),
            ("load_kind", "load"),
            ("cop_source", "efficiency"),
        )
        if traits.get(key)
    )
    return [
        *section("method", "Method", 1),
        paragraph(f"Chosen for this audit: {chosen}." if chosen else "", "small"),
        gap(3),
        table(
            ("Subject", "What is done", "Source"),
            [list(row) for row in METHOD],
            shares(sheet.width, 18, 52, 30),
            wraps=(0, 1, 2),
        ),
        paragraph(
            "Heat and water that leave the water are counted positive. The useful share is what met a demand that "
            "free cooling with outdoor air would not have met; electricity avoided is that of the machine that "
            "would have run, hour by hour. No published accuracy limit exists for models of water or store "
            "temperature.",
            "note",
        ),
    ]


def _fit(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    if not audit.fit:
        return []
    rows = [[key.replace("_", " "), json.dumps(value, ensure_ascii=False)] for key, value in audit.fit.items()]
    return [
        *section("fit", "Fit to the logs", 1),
        table(("Item", "As recorded"), rows, shares(sheet.width, 30, 70), wraps=(0, 1)),
    ]


def _quantities(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    story: list[Flowable] = []
    for name, period in audit.periods.items():
        rows = []
        for id, quantity in period.quantities.items():
            shown = printed(quantity, id, units, currency=words.currency(audit))
            rows.append(
                [quantity.label, shown.value_unit, shown.range, words.BASIS_WORDS[quantity.basis], quantity.grade]
            )
        title = "All quantities, reference year" if name == "year" else f"All quantities, {name} period"
        story += [
            *section(f"quantities-{name}", title, 1),
            paragraph(f"{period.start} to {period.end}, the last day excluded.", "small"),
            table(
                ("Quantity", "Most likely", "Range, 9 chances in 10", "How found", "Grade"),
                rows,
                shares(sheet.width, 42, 20, 24, 13, 7),
                padding=2.0,
            ),
        ]
    return story


def _months(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    if not audit.months:
        return []
    columns = [
        (id, label) for id, label in MONTH_COLUMNS if any(charts.row_value(row, id) is not None for row in audit.months)
    ]
    heads, rows = ["Month"], [[words.month_name(row)[:3]] for row in audit.months]
    for id, label in columns:
        heat, unit = numbers.is_heat(id), numbers.unit_of(id)
        values = [numbers.converted(charts.row_value(row, id), unit, units, heat) for row in audit.months]
        digit = min(0, numbers.place(0.0, max((abs(v) for v in values if known(v)), default=1.0)))
        heads.append(f"{label}, {numbers.unit_for(unit, units, heat)[2]}")
        for row, value in zip(rows, values, strict=True):
            row.append(numbers.fixed(value, digit) if known(value) else "")
    return [
        *section("months", "Months", 1),
        paragraph("Best estimates; the workbook holds their ranges.", "note"),
        KeepTogether([table(heads, rows, shares(sheet.width, 7, *([10] * len(columns))), right=range(1, len(heads)))]),
    ]


def _nights(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    if not audit.nights:
        return []
    columns = [column for column in NIGHT_COLUMNS if any(_is_number(row.get(column[0])) for row in audit.nights)]
    heads = ["Night of"] + [
        f"{label}, {numbers.unit_for(numbers.unit_of(id), units, numbers.is_heat(id))[2]}" for id, label, *_ in columns
    ]
    rows = [
        [str(row.get("date", "")), *(_night_cell(row, column, units) for column in columns)] for row in audit.nights
    ]
    sprayed = sum(1 for row in audit.nights if (row.get("spray_hours_h") or 0.0) > 0.0)
    return [
        *section("nights", "Nights", 1),
        paragraph(
            f"{len(audit.nights)} nights, {sprayed} with spraying; best estimate. A night belongs to the day on "
            "which it began. Reasons for nights without spraying stand in the workbook and in nights.csv.",
            "note",
        ),
        table(
            heads,
            rows,
            shares(sheet.width, 15, *([9.5] * len(columns))),
            right=range(1, len(heads)),
            wraps=(),
            padding=1.2,
        ),
    ]


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and known(value)


def _night_cell(row: dict, column: tuple[str, str, int, int], units: str) -> str:
    id, _, digits_si, digits_ip = column
    if not _is_number(row.get(id)):
        return ""
    shown = numbers.converted(row[id], numbers.unit_of(id), units, numbers.is_heat(id))
    return numbers.fixed(shown, -(digits_ip if units == "ip" else digits_si))


def _closure(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    rows = []
    for key, label, unit in BALANCES:
        residual = audit.closure.get(key)
        if residual:
            rows.append(
                [
                    label,
                    *(
                        _power(residual.get(part), unit if part.endswith("abs") else "")
                        for part in ("step_abs", "step_rel", "period_abs", "period_rel")
                    ),
                ]
            )
    if not rows:
        return []
    return [
        *section("closure", "Do the balances close?", 1),
        table(
            ("Balance", "Largest in a step", "relative", "Over the period", "relative"),
            rows,
            shares(sheet.width, 20, 22, 18, 22, 18),
        ),
        paragraph(
            "What the simulation's books leave over: it shows that nothing is lost in the reckoning, not that "
            "the reckoning is right.",
            "note",
        ),
    ]


def _power(value: float | None, unit: str) -> str:
    if not isinstance(value, (int, float)) or not known(value):
        return numbers.NOT_KNOWN
    if value == 0.0:
        return numbers.joined("0", unit)
    mantissa, exponent = f"{value:.1e}".split("e")
    power = str(int(exponent)).replace("-", numbers.MINUS)
    return numbers.joined(f"{mantissa.replace('-', numbers.MINUS)} × 10^{power}", unit)


def _findings(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    head = section("findings", "Findings", 1)
    if not audit.findings:
        return [*head, paragraph("None.")]
    order = {"stop": 0, "doubt": 1, "note": 2}
    rows = [
        [
            finding.level,
            finding.code,
            f"{finding.message} {finding.where and '(' + finding.where + ')'}",
            finding.effect,
        ]
        for finding in sorted(audit.findings, key=lambda finding: order[finding.level])
    ]
    return [
        *head,
        table(
            ("Level", "Code", "What was found, and where", "Effect on the headline"),
            rows,
            shares(sheet.width, 9, 24, 42, 27),
            wraps=(1, 2, 3),
        ),
    ]


def _inputs(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    if not audit.inputs:
        return []
    rows = [
        [
            entry.get("file", ""),
            entry.get("use", ""),
            str(entry.get("rows", "")),
            entry.get("span", ""),
            str(entry.get("sha256", ""))[:16],
        ]
        for entry in audit.inputs
    ]
    return [
        *section("inputs", "Inputs", 1),
        table(
            ("File", "Use", "Rows", "Span", "sha256, first 16"),
            rows,
            shares(sheet.width, 26, 24, 8, 22, 24),
            wraps=(0, 1, 3),
            right=(2,),
        ),
    ]


def _made(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    made = audit.made
    rows = []
    for key, value in made.items():
        if isinstance(value, dict):
            value = ", ".join(f"{name} {version}" for name, version in value.items())
        rows.append([key.replace("_", " "), value])
    return [
        *section("made", "How this was made", 1),
        table(("", ""), rows, shares(sheet.width, 22, 78), wraps=(0, 1)),
        paragraph(
            "The mark in the foot of each page is the start of the sha256 of the record; the same input, options "
            "and seed give the same record and the same report.",
            "note",
        ),
    ]
