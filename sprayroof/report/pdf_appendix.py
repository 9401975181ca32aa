"""The technical appendix: everything an engineer needs to check the owner's pages."""

from __future__ import annotations

import json

from reportlab.platypus import Flowable, PageBreak

from sprayroof.report import charts, labels, numbers, words
from sprayroof.report.effects import effect_texts, ranked_assumptions, told, unknown_effect
from sprayroof.report.finding_text import SI_NOTE, finding_text, in_print
from sprayroof.report.handcheck import HandCheck, counted, hand_checks
from sprayroof.report.method import method_rows
from sprayroof.report.numbers import known, printed
from sprayroof.report.pdf_layout import Sheet, Together, chart, gap, paragraph, section, shares, table
from sprayroof.report.pdf_measured import measured_appendix
from sprayroof.report.pdf_water import level_chart, level_has_room
from sprayroof.report.terms import capital, has_panels, terms
from sprayroof.report.terms import label as in_terms
from sprayroof.results import Audit

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
WHOLE = 2000  # characters of a cell whose text is the program's own, or must be read to its end
MADE_NAMES = {"step_min": "minutes a step"}
BALANCES = (("water_kg", "Water", "kg"), ("heat_J", "Heat", "J"), ("salt_kg", "Salts", "kg"))


def appendix_story(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    """The appendix in order; parts that the record does not hold are left out."""
    story: list[Flowable] = [PageBreak(), *section("appendix", "Technical appendix", level=0)]
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
        _level,
        _nights,
        measured_appendix,
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
        *section(
            "handcheck",
            f"{counted(checks)} to redo with a calculator",
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
        ),
    ]


def worked(check: HandCheck) -> str:
    """The check's formula with its numbers in place."""
    values = ["0" if numbers.is_nothing(term.value, term.unit) else numbers.exact(term.value) for term in check.terms]
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
    idle = [fact for fact in facts if fact.get("used") is False and not fact.get("given")]
    for fact in facts:
        if fact in idle:
            continue
        if part != (part := str(fact.get("entry", "")).rpartition(".")[0]):
            bold.append(len(rows))
            head = "Panel loop" if part == "spray" and has_panels(audit) else part.replace(".", " ").replace("_", " ")
            name = (audit.site.get("names") or {}).get(part)
            rows.append([f"{capital(head)}: {name}" if name else capital(head), "", "", "", ""])
        value, low_high, unit = _fact_numbers(audit, fact, units)
        note = f"; {fact['note']}" if fact.get("note") else ""
        note += "; plays no part here" if fact.get("used") is False else ""
        rows.append([words.fact_label(audit, fact, units), value, low_high, unit, f"{_source(fact)}{note}"])
    return [
        *section(
            "facts",
            "Site facts",
            table(
                ("Fact", "Value", "Range, 9 in 10", "Unit", "Source"),
                rows,
                shares(sheet.width, 38, 12, 20, 17, 21),
                wraps=(0, 3, 4),
                right=(1,),
                bold=bold,
                padding=1.8,
                with_next=bold,
            ),
            *([paragraph(_idle_words(idle), "note")] if idle else []),
        ),
    ]


def _idle_words(idle: list[dict]) -> str:
    count = "One assumed fact that plays" if len(idle) == 1 else f"{len(idle)} assumed facts that play"
    left = "is" if len(idle) == 1 else "are"
    such = "such as the age of a cover where there is none"
    return f"{count} no part here, {such}, {left} left out; the workbook holds all."


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
    by_useful = ranked_assumptions(audit, units=units)
    ranked = sorted(by_useful, key=lambda row: (-abs(row.get("effect") or 0.0), -abs(row.get("effect_net") or 0.0)))
    shown = [row for row in ranked if told(row)] or ranked
    small = [row for row in ranked if not told(row)] if len(shown) < len(ranked) else []
    top = next((row for row in by_useful if row.get("effect")), None)
    caption = (
        f"“{top['label']}” moves the useful cooling most. A bar: the change at the upper end of its range."
        if top
        else ""
    )
    return [
        *section(
            "assumptions",
            "Assumptions",
            *chart(
                "Which assumptions move the useful cooling most?",
                charts.assumptions(by_useful, sheet.width, units),
                caption,
            ),
            _assumptions_table(audit, shown, sheet, units),
            *([paragraph(_small_words(small), "note", 6000)] if small else []),
        ),
    ]


def _assumptions_table(audit: Audit, rows: list[dict], sheet: Sheet, units: str) -> Flowable:
    """The assumptions with their effects on useful cooling and, where the record tells it, on the net."""
    columns = {"effect": "Effect on useful", "effect_net": "Effect on net"}
    if not any(row.get("effect_net") is not None for row in rows):
        del columns["effect_net"]
    effects = {key: effect_texts(rows, key, units) for key in columns}
    body = []
    for number, row in enumerate(rows):
        value, low_high, unit = _fact_numbers(audit, row, units)
        told_here = [effects[key][number] or unknown_effect(audit) for key in columns]
        body.append([row.get("label", ""), numbers.joined(value, unit), low_high, _source(row), *told_here])
    return table(
        ("Assumption", "Value", "Range", "Source", *columns.values()),
        body,
        shares(sheet.width, 33, 20, 18, 15, *([17] * len(columns))),
        wraps=(0, 1, 2, 3),
        right=range(4, 4 + len(columns)),
    )


def _small_words(rows: list[dict]) -> str:
    names = "; ".join(str(row.get("label", "")) for row in rows)
    count = "One more has an effect" if len(rows) == 1 else f"{len(rows)} more have effects"
    return f"{count} too small to tell from chance, on either figure: {names}."


def _method(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    step = audit.made.get("step_min")
    steps = f" in steps of {numbers.exact(float(step))} minutes" if isinstance(step, (int, float)) else ""
    return [
        *section(
            "method",
            "Method",
            paragraph(
                f"The year is carried through{steps}: {'panels' if has_panels(audit) else 'spray'}, rain, mains, other "
                "uses, rooms, store, balance.",
                "small",
            ),
            gap(3),
            table(
                ("Subject", "What is done", "Source"),
                [list(row) for row in method_rows(audit)],
                shares(sheet.width, 18, 52, 30),
                wraps=(0, 1, 2),
                longest=WHOLE,
            ),
            paragraph(
                "Heat and water that leave the water are counted positive. No published accuracy limit exists for "
                "models of water or store temperature.",
                "note",
            ),
        ),
    ]


def _fit(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    if not audit.fit:
        return []
    rows = [[key.replace("_", " "), json.dumps(value, ensure_ascii=False)] for key, value in audit.fit.items()]
    return [
        *section(
            "fit",
            "Fit to the logs",
            table(("Item", "As recorded"), rows, shares(sheet.width, 30, 70), wraps=(0, 1)),
        ),
    ]


def _quantities(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    story: list[Flowable] = []
    for name, period in audit.periods.items():
        rows, scale = [], words.energy_scale(audit)
        for id, quantity in period.quantities.items():
            if name == words.headline_period(audit) and not words.says_something(audit, id):
                continue
            scaled = scale if quantity.unit == "kWh" else None
            shown = printed(quantity, id, units, scale_to=scaled, currency=words.currency(audit))
            rows.append(
                [
                    words.label(audit, id, quantity.label, units),
                    shown.value_unit,
                    shown.range,
                    words.BASIS_WORDS[quantity.basis],
                    quantity.grade,
                ]
            )
        title = "All quantities, reference year" if name == "year" else f"All quantities, {name} period"
        story += [
            *section(
                f"quantities-{name}",
                title,
                paragraph(f"{period.start} to {period.end}, the last day excluded.", "small"),
                table(
                    ("Quantity", "Most likely", "Range, 9 chances in 10", "How found", "Grade"),
                    rows,
                    shares(sheet.width, 42, 20, 24, 13, 7),
                    padding=2.0,
                ),
            ),
        ]
    return story


def _months(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    if not audit.months:
        return []
    columns = [
        (id, in_terms(audit, label))
        for id, label in labels.MONTHS.items()
        if words.says_something(audit, id) and any(charts.row_value(row, id) is not None for row in audit.months)
    ]
    heads, rows = ["Month"], [[words.month_name(row)[:3]] for row in audit.months]
    for id, label in columns:
        heat, unit = numbers.is_heat(id), numbers.unit_of(id)
        values = [numbers.converted(charts.row_value(row, id), unit, units, heat) for row in audit.months]
        finest = numbers.finest_digit(unit, numbers.unit_for(unit, units, heat)[0])
        digit = numbers.place(0.0, max((abs(v) for v in values if known(v)), default=1.0))
        digit = min(0, digit) if digit >= finest else 0
        heads.append(f"{label}, {numbers.unit_for(unit, units, heat)[2]}")
        for row, value in zip(rows, values, strict=True):
            row.append(numbers.fixed(value, digit) if known(value) else "")
    return [
        *section(
            "months",
            "Months",
            paragraph("Best estimates; the workbook holds their ranges.", "note"),
            Together([table(heads, rows, shares(sheet.width, 7, *([10] * len(columns))), right=range(1, len(heads)))]),
        ),
    ]


def _nights(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    if not audit.nights:
        return []
    columns = [
        column
        for column in NIGHT_COLUMNS
        if words.says_something(audit, column[0]) and any(_is_number(row.get(column[0])) for row in audit.nights)
    ]
    heads = ["Night of"] + [
        f"{in_terms(audit, label)}, {numbers.unit_for(numbers.unit_of(id), units, numbers.is_heat(id))[2]}"
        for id, label, *_ in columns
    ]
    shown, said = _nights_shown(audit)
    rows = [[str(row.get("date", "")), *(_night_cell(row, column, units) for column in columns)] for row in shown]
    if not shown:
        return section("nights", "Nights", paragraph(said, "note"))
    return [
        *section(
            "nights",
            "Nights",
            paragraph(said, "note"),
            table(
                heads,
                rows,
                shares(sheet.width, 15, *([9.5] * len(columns))),
                right=range(1, len(heads)),
                wraps=(),
                padding=1.2,
            ),
        ),
    ]


MOST_NIGHTS, CHOSEN_NIGHTS = 130, 60


def _nights_shown(audit: Audit) -> tuple[list[dict], str]:
    """The nights to print, in their order, and what is to be said of them and of the others."""
    sprayed = [row for row in audit.nights if (row.get("spray_hours_h") or 0.0) > 0.0]
    dry, shown, which = len(audit.nights) - len(sprayed), sprayed, ""
    if len(sprayed) > MOST_NIGHTS:
        by_cooling = sorted(sprayed, key=lambda row: -(row.get("cooling_roof_kWh") or 0.0))[:CHOSEN_NIGHTS]
        kept = {id(row) for row in by_cooling}
        shown = [row for row in sprayed if id(row) in kept]
        which = f" Printed are the {CHOSEN_NIGHTS} with the most cooling at the roof."
    without = f", {dry} without" if dry else ""
    return shown, (
        f"{len(audit.nights)} nights, {len(sprayed)} {terms(audit).running}{without}; best estimate.{which} A night "
        "belongs to the day on which it began. The workbook and nights.csv hold all nights."
    )


def _level(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    """The year's level of the store, where the page of water has no room for it."""
    picture = level_chart(audit, sheet, units, 165.0)
    if not picture or level_has_room(audit, sheet, units):
        return []
    return section("level", "Store level", *picture)


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
        *section(
            "closure",
            "Do the balances close?",
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
    if not audit.findings:
        return section("findings", "Findings", paragraph("None."))
    order = {"stop": 0, "doubt": 1, "note": 2}
    rows = [
        [
            finding.level,
            finding.code,
            f"{finding_text(audit, finding)} {finding.where and '(' + finding.where + ')'}",
            in_print(finding.effect),
        ]
        for finding in sorted(audit.findings, key=lambda finding: order[finding.level])
    ]
    return section(
        "findings",
        "Findings",
        *([paragraph(SI_NOTE, "note")] if units == "ip" else []),
        table(
            ("Level", "Code", "What was found, and where", "Effect on the headline"),
            rows,
            shares(sheet.width, 9, 24, 42, 27),
            wraps=(1, 2, 3),
            longest=WHOLE,
        ),
    )


def _inputs(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    if not audit.inputs:
        return []
    rows = [
        [
            entry.get("file", ""),
            entry.get("use", ""),
            "" if entry.get("rows") is None else str(entry["rows"]),
            entry.get("span", ""),
            str(entry.get("sha256", ""))[:16],
        ]
        for entry in audit.inputs
    ]
    return [
        *section(
            "inputs",
            "Inputs",
            table(
                ("File", "Use", "Rows", "Span", "sha256, first 16"),
                rows,
                shares(sheet.width, 26, 24, 8, 22, 24),
                wraps=(0, 1, 3),
                right=(2,),
            ),
        ),
    ]


def _made(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    rows, settings = [], []
    for key, value in audit.made.items():
        name = MADE_NAMES.get(key, key.replace("_", " "))
        if isinstance(value, dict):
            rows.append([name, ", ".join(f"{each.replace('_', ' ')} {told}" for each, told in value.items())])
        elif isinstance(value, str):
            rows.append([name, value])
        else:
            settings.append(f"{name} {value}")
    if settings:
        rows.insert(0, ["settings", ", ".join(settings)])
    if not rows:
        return []
    return [
        *section(
            "made",
            "How this was made",
            Together(
                [
                    table(("", ""), rows, shares(sheet.width, 22, 78), wraps=(0, 1), longest=WHOLE),
                    paragraph(
                        "The mark in the foot of each page is the start of the sha256 of the record; the same input, "
                        "options and seed give the same record and the same report.",
                        "note",
                    ),
                ]
            ),
        ),
    ]
