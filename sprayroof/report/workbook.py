"""workbook.xlsx: the record as tables with numbers as numbers, hand checks as live formulas, and native charts."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path
from typing import Any

from sprayroof.catalogue import QUANTITIES
from sprayroof.report import charts, numbers, style, words
from sprayroof.report.effects import ranked_assumptions, unknown_effect
from sprayroof.report.finding_text import finding_text, in_print
from sprayroof.report.handcheck import HandCheck, Term, counted, hand_checks
from sprayroof.report.pdf import created, maker, run_mark, subject
from sprayroof.report.tables import night_columns
from sprayroof.report.terms import label as in_terms
from sprayroof.report.terms import terms
from sprayroof.report.text import visible
from sprayroof.report.water_words import wasting
from sprayroof.results import Audit

LONGEST_CELL = 32_000  # a cell holds 32 767 characters
SUMMARY_HEAD_ROW = 7
NOTHING = 1e-5  # what is smaller shows as 0; the cell holds it in full
SI_HEADS = ["Value, SI", "Low, SI", "High, SI", "Unit, SI"]
HEADS = {
    "load_kWh": "Load",
    "date": "Night of",
    "store_start_C": "Store at start",
    "store_end_C": "Store at end",
    "t_air_mean_C": "Outdoor air, mean",
    "t_wetbulb_mean_C": "Wet bulb, mean",
    "wind_mean_m_s": "Wind, mean",
    "rain_mm": "Rain",
    "reason_off": "Why not sprayed",
    "useful_kWh": "Useful",
}


@dataclass
class Book:
    """The workbook being written: its XlsxWriter object, its formats, and where each quantity and fact stands."""

    file: Any
    formats: dict[str, Any]
    cells: dict[str, str]


def write_workbook(audit: Audit, path: Path, units: str = "si") -> None:
    """Write the workbook of `audit` to `path`.

    Parameters
    ----------
    audit : Audit
        With at least one period.
    path : Path
        File to write; its folder exists.
    units : str
        "si" or "ip": with "ip" all sheets are converted, and the summary and the facts have columns in SI beside IP,
        which the hand checks use.
    """
    import xlsxwriter

    file = xlsxwriter.Workbook(
        str(path),
        {"in_memory": True, "strings_to_numbers": False, "strings_to_formulas": False, "strings_to_urls": False},
    )
    try:
        file.set_properties(
            {
                "title": f"{terms(audit).title}: {visible(audit.site.get('name'), 200)}",
                "comments": f"run {run_mark(audit)}",
                "author": visible(audit.site.get("auditor"), 200),
                "created": created(audit).replace(tzinfo=None),
                "subject": subject(audit),
            }
        )
        book = Book(file, _formats(file), {})
        for write_sheet in (_summary, _months, _nights, _measured, _facts, _assumptions, _findings, _inputs,
                            _hand_checks):
            write_sheet(book, audit, units)
    finally:
        file.close()


def _formats(file: Any) -> dict[str, Any]:
    return {
        "title": file.add_format({"bold": True, "font_size": 16, "font_color": style.INK}),
        "head": file.add_format(
            {"bold": True, "bottom": 1, "text_wrap": True, "valign": "bottom", "bg_color": style.WASH}
        ),
        "text": file.add_format({"valign": "top"}),
        "wrap": file.add_format({"text_wrap": True, "valign": "top"}),
        "bold": file.add_format({"bold": True, "valign": "top"}),
        "large": file.add_format({"num_format": "#,##0", "valign": "top"}),
        "middle": file.add_format({"num_format": "0.00", "valign": "top"}),
        "tiny": file.add_format({"num_format": "0.0000", "valign": "top"}),
        "date": file.add_format({"num_format": "yyyy-mm-dd", "align": "left", "valign": "top"}),
        "nothing": file.add_format({"num_format": "0;0;0", "valign": "top"}),
        "power": file.add_format({"num_format": "0.0E+00", "valign": "top"}),
    }


def _write(book: Book, sheet: Any, row: int, column: int, value: object, look: str = "text") -> None:
    """One cell: numbers and dates as such, unknown as empty, everything else as text that is never a formula."""
    if value is None or (isinstance(value, float) and not math.isfinite(value)):
        sheet.write_blank(row, column, None, book.formats[look])
    elif isinstance(value, date):
        sheet.write_datetime(row, column, datetime.combine(value, datetime.min.time()), book.formats["date"])
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        sheet.write_number(row, column, value, book.formats[_number_look(value)])
    else:
        sheet.write_string(row, column, visible(value, LONGEST_CELL), book.formats[look])


def _number_look(value: float) -> str:
    size = abs(value)
    if 0.0 < size < NOTHING:
        return "nothing"
    if size == 0.0 or size >= 100.0 or float(value).is_integer():
        return "large"
    return "middle" if size >= 1.0 else "tiny" if size >= 1e-4 else "power"


def _table(
    book: Book,
    name: str,
    heads: Sequence[str],
    rows: Iterable[Sequence[object]],
    widths: Sequence[float],
    wraps: Sequence[int] = (),
    first_row: int = 0,
) -> Any:
    """A sheet with a head row, kept in view, and a filter."""
    sheet = book.file.add_worksheet(name)
    for column, head in enumerate(heads):
        _write(book, sheet, first_row, column, head, "head")
    row = first_row
    for row, values in enumerate(rows, start=first_row + 1):
        for column, value in enumerate(values):
            _write(book, sheet, row, column, value, "wrap" if column in wraps else "text")
    for column, width in enumerate(widths):
        sheet.set_column(column, column, width)
    sheet.freeze_panes(first_row + 1, 1)
    if row > first_row:
        sheet.autofilter(first_row, 0, row, len(heads) - 1)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    return sheet


def _summary(book: Book, audit: Audit, units: str) -> None:
    heads = ["Period", "Identifier", "Quantity", "Value", "Low", "High", "Unit", "How found", "Grade", "What it means"]
    heads += SI_HEADS if units == "ip" else []
    rows = []
    for period_name, period in audit.periods.items():
        for id, quantity in period.quantities.items():
            if period_name == words.headline_period(audit):
                book.cells[id] = f"Summary!${'K' if units == 'ip' else 'D'}${SUMMARY_HEAD_ROW + 2 + len(rows)}"
            unit = words.currency(audit) if quantity.unit == "currency" else quantity.unit
            ends, heat = (quantity.value, quantity.low, quantity.high), numbers.is_heat(id)
            rows.append(
                [
                    "Reference year" if period_name == "year" else f"{period_name.capitalize()} period",
                    id,
                    words.label(audit, id, quantity.label, units),
                    *(numbers.converted(end, unit, units, heat) for end in ends),
                    _unit_name(unit, units, heat),
                    words.BASIS_WORDS[quantity.basis],
                    quantity.grade,
                    QUANTITIES[id].meaning if id in QUANTITIES else "",
                    *((*ends, _unit_name(unit, "si")) if units == "ip" else ()),
                ]
            )
    sheet = _table(
        book,
        "Summary",
        heads,
        rows,
        [15, 26, 42, 13, 13, 13, 14, 13, 7, 70, 13, 13, 13, 11],
        wraps=(9,),
        first_row=SUMMARY_HEAD_ROW,
    )
    for number, line in enumerate(_summary_lines(audit, units)):
        _write(book, sheet, number, 0, line, "title" if number == 0 else "bold" if number == 1 else "text")


def _summary_lines(audit: Audit, units: str) -> tuple[str, ...]:
    found = words.verdict(audit, units)
    predicted = (
        "These are predictions, not verified savings: all figures are modelled or assumed."
        if words.only_predicted(audit)
        else "Measured where the logs reach, carried on by a model."
    )
    predicted = " ".join(text for text in (words.measured_nights(audit), predicted) if text)
    in_ip = " Identifiers are those of the record and end in its SI units." if units == "ip" else ""
    return (
        str(audit.site.get("name") or ""),
        found.word,
        found.sentence,
        predicted,
        f"Low and high are the ends of the 90 % range.{in_ip} {maker(audit)}, run {run_mark(audit)}, "
        f"report date {audit.site.get('report_date')}",
        wasting(audit, units),
    )


def _unit_name(unit: str, units: str, heat: bool = False) -> str:
    """A unit as it stands in a cell: shares have none."""
    return numbers.unit_for(unit, units, heat)[2] or ("share" if unit else "")


def _head_of(audit: Audit, id: str, units: str, end: str = "") -> str:
    unit = numbers.unit_for(numbers.unit_of(id), units, numbers.is_heat(id))[2]
    own = QUANTITIES[id].label if id in QUANTITIES else numbers.without_unit(id).replace("_", " ").capitalize()
    label = in_terms(audit, HEADS[id]) if id in HEADS else words.label(audit, id, own, units)
    return f"{label}{f', {end}' if end else ''}{f' [{unit}]' if unit else ''}"


def _converted(value: float | None, id: str, units: str) -> float | None:
    return numbers.converted(value, numbers.unit_of(id), units, numbers.is_heat(id))


def _months(book: Book, audit: Audit, units: str) -> None:
    ids = list(dict.fromkeys(key for row in audit.months for key in row if key != "month"))
    heads, rows = ["Month"], [[words.month_name(row)] for row in audit.months]
    for id in ids:
        ranged = any(isinstance(row.get(id), dict) for row in audit.months)
        for end in ("value", "low", "high") if ranged else ("value",):
            heads.append(_head_of(audit, id, units, "" if end == "value" else end))
            for row, cells in zip(audit.months, rows, strict=True):
                cells.append(_converted(charts.row_value(row, id, end), id, units))
    sheet = _table(book, "Months", heads, rows, [12, *([14] * (len(heads) - 1))])
    if rows:
        _months_chart(book, sheet, heads, len(rows), audit, units)


def _months_chart(book: Book, sheet: Any, heads: list[str], count: int, audit: Audit, units: str) -> None:
    wanted = [
        ("Load", style.AREAS["load"].colour),
        (_head_of(audit, "cooling_useful_kWh", units), style.AREAS["useful"].colour),
    ]
    chart = book.file.add_chart({"type": "column"})
    for name, colour in wanted:
        column = next(
            (i for i, head in enumerate(heads) if head == name or (name == "Load" and head.startswith("Load ["))), None
        )
        if column is not None:
            chart.add_series(
                {
                    "name": ["Months", 0, column],
                    "categories": ["Months", 1, 0, count, 0],
                    "values": ["Months", 1, column, count, column],
                    "fill": {"color": colour},
                    "border": {"color": style.INK},
                    "overlap": 100 if name == "Load" else 0,
                    "gap": 60,
                }
            )
    if not chart.series:
        return
    chart.set_title({"name": "When does the building need what the roof gives?", "name_font": {"size": 12}})
    chart.set_legend({"position": "bottom"})
    chart.set_y_axis(
        {
            "name": numbers.unit_for("kWh", units, True)[2],
            "major_gridlines": {"visible": True, "line": {"color": style.RULE}},
        }
    )
    chart.set_size({"width": 720, "height": 340})
    sheet.insert_chart(count + 3, 1, chart)


def _nights(book: Book, audit: Audit, units: str) -> None:
    columns = night_columns(audit)
    heads = [_head_of(audit, id, units) for id in columns]
    rows = [[_night_cell(row.get(id), id, units) for id in columns] for row in audit.nights]
    _table(book, "Nights", heads, rows, [12, *([13] * (len(columns) - 2)), 30])


def _measured(book: Book, audit: Audit, units: str) -> None:
    """Measured nights, and their tests; no sheet where nothing was logged."""
    nights, tests = audit.logged.get("nights") or [], audit.logged.get("tests") or []
    if nights:
        columns = list(nights[0])
        rows = [[_measured_cell(row.get(id), id, units) for id in columns] for row in nights]
        _table(book, "Measured nights", [_head_of(audit, id, units) for id in columns], rows, [12] * len(columns))
    if tests:
        heads = ("entry", "kind", "from", "to", "channel", "found", "changed")
        _table(book, "Tests", list(heads), [[str(test.get(head, "")) for head in heads] for test in tests],
               [9, 14, 17, 17, 20, 44, 44])


def _measured_cell(value: object, id: str, units: str) -> object:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return _night_cell(value, id, units) if isinstance(value, (int, float)) or id == "date" else str(value or "")


def _night_cell(value: object, id: str, units: str) -> object:
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return _converted(value, id, units)
    return _as_date(value) if id == "date" else value


def _as_date(value: object) -> object:
    """An ISO date as a date; anything else as it is."""
    try:
        return date.fromisoformat(str(value))
    except ValueError:
        return value


def _facts(book: Book, audit: Audit, units: str) -> None:
    rows = []
    for fact in audit.site.get("facts") or ():
        column = "J" if units == "ip" else "C"
        book.cells[str(fact.get("entry"))] = f"Facts!${column}${len(rows) + 2}"
        rows.append(
            [
                fact.get("entry"),
                words.fact_label(audit, fact, units),
                *_fact_cells(audit, fact, units),
                _source(fact),
                fact.get("note"),
                ("given" if fact.get("given") else "assumed")
                + (", plays no part here" if fact.get("used") is False else ""),
                *(_fact_cells(audit, fact, "si") if units == "ip" else ()),
            ]
        )
    _table(
        book,
        "Facts",
        ["Entry", "Fact", "Value", "Low", "High", "Unit", "Source", "Note", "Given or assumed"]
        + (SI_HEADS if units == "ip" else []),
        rows,
        [28, 42, 12, 12, 12, 16, 14, 50, 30, 12, 12, 12, 14],
        wraps=(7,),
    )


def _source(row: dict) -> str:
    """The source of a fact or an assumption in the words of the report."""
    source = str(row.get("source") or "")
    return words.SOURCE_WORDS.get(source, source)


def _fact_cells(audit: Audit, fact: dict, units: str) -> tuple[float | None, float | None, float | None, str]:
    unit = str(fact.get("unit") or "")
    ends = (numbers.converted(fact.get(key), unit, units) for key in ("value", "low", "high"))
    return (*ends, _unit_name(unit, units).replace("currency", words.currency(audit)))


def _assumptions(book: Book, audit: Audit, units: str) -> None:
    heat = numbers.unit_for("kWh", units, True)[2]
    net_unit = next((str(row["effect_net_unit"]) for row in audit.assumptions if row.get("effect_net_unit")), "")
    ranked = ranked_assumptions(audit, units=units)
    rows = [
        [
            row.get("entry"),
            row.get("label"),
            *_fact_cells(audit, row, units),
            _source(row),
            _effect(audit, row.get("effect"), units),
            *((_effect(audit, row.get("effect_net"), "si"),) if net_unit else ()),
        ]
        for row in ranked
    ]
    heads = ["Entry", "Assumption", "Value", "Low", "High", "Unit", "Source", f"Effect on useful cooling [{heat}]"]
    sheet = _table(
        book,
        "Assumptions",
        heads + ([f"Effect on net [{net_unit}]"] if net_unit else []),
        rows,
        [28, 42, 12, 12, 12, 16, 14, 18, 18],
    )
    count = min(sum(row.get("effect") is not None for row in ranked), 12)
    if count:
        chart = book.file.add_chart({"type": "bar"})
        chart.add_series(
            {
                "name": "Effect on useful cooling",
                "categories": ["Assumptions", 1, 1, count, 1],
                "values": ["Assumptions", 1, 7, count, 7],
                "fill": {"color": style.BLUE},
                "border": {"color": style.INK},
                "gap": 40,
            }
        )
        chart.set_title({"name": "Which assumptions move the useful cooling most?", "name_font": {"size": 12}})
        chart.set_legend({"none": True})
        chart.set_y_axis({"reverse": True, "label_position": "low"})
        chart.set_x_axis({"name": heat, "major_gridlines": {"visible": True, "line": {"color": style.RULE}}})
        chart.set_size({"width": 760, "height": 360})
        sheet.insert_chart(len(rows) + 3, 1, chart)


def _effect(audit: Audit, effect: float | None, units: str) -> float | str:
    return unknown_effect(audit) if effect is None else numbers.converted(effect, "kWh", units, True)


def _findings(book: Book, audit: Audit, units: str) -> None:
    rows = [
        [finding.level, finding.code, finding_text(audit, finding), finding.where, in_print(finding.effect)]
        for finding in audit.findings
    ]
    note = " (figures in this column are SI)" if units == "ip" else ""
    _table(
        book,
        "Findings",
        ["Level", "Code", f"What was found{note}", "Where", f"Effect on the headline{note}"],
        rows,
        [9, 30, 70, 34, 50],
        wraps=(2, 3, 4),
    )


def _inputs(book: Book, audit: Audit, units: str) -> None:
    rows = [[entry.get(key) for key in ("file", "use", "rows", "span", "sha256")] for entry in audit.inputs]
    made = audit.made
    for key, value in made.items():
        told = ", ".join(f"{name} {each}" for name, each in value.items()) if isinstance(value, dict) else value
        rows.append([f"made: {key.replace('_', ' ')}", told, None, None, None])
    _table(book, "Inputs", ["File", "Use", "Rows", "Span", "sha256"], rows, [36, 44, 9, 28, 68], wraps=(1,))


def _hand_checks(book: Book, audit: Audit, units: str) -> None:
    """Each check as a block: linked terms, the formula redone, the record's figure, the difference."""
    sheet = book.file.add_worksheet("Hand checks")
    sheet.set_column(0, 0, 46)
    sheet.set_column(1, 1, 16)
    sheet.set_column(2, 2, 14)
    sheet.set_column(3, 3, 70)
    _write(book, sheet, 0, 0, f"{counted(hand_checks(audit))} to redo, with live formulas", "title")
    _write(book, sheet, 1, 0, "Best estimates in SI units. A difference is shown, not hidden.")
    row = 3
    for check in hand_checks(audit):
        row = _one_check(book, sheet, row, check, audit, units)


def _one_check(book: Book, sheet: Any, row: int, check: HandCheck, audit: Audit, units: str) -> int:
    _write(book, sheet, row, 0, check.title, "bold")
    _write(book, sheet, row, 3, check.how)
    places = []
    for term in check.terms:
        row += 1
        _write_term(book, sheet, row, term, audit, units)
        places.append(f"B{row + 1}")
    formula = "=" + check.formula.format(**dict(zip("abcdefgh", places, strict=False)))
    row += 1
    redone = row + 1
    _write(book, sheet, row, 0, "Redone")
    sheet.write_formula(row, 1, formula, book.formats[_number_look(check.recomputed)], check.recomputed)
    row += 1
    _write(book, sheet, row, 0, "In the record")
    _write_term(book, sheet, row, check.target, audit, units, "In the record")
    row += 1
    _write(book, sheet, row, 0, "Difference")
    difference = check.recomputed - check.target.value
    sheet.write_formula(row, 1, f"=B{redone}-B{redone + 1}", book.formats[_number_look(difference)], difference)
    return row + 2


def _write_term(book: Book, sheet: Any, row: int, term: Term, audit: Audit, units: str, label: str = "") -> None:
    _write(book, sheet, row, 0, label or term.label)
    cell = book.cells.get(term.id)
    if cell:
        sheet.write_formula(row, 1, f"={cell}", book.formats[_number_look(term.value)], term.value)
    else:
        _write(book, sheet, row, 1, term.value)
    _write(book, sheet, row, 2, words.currency(audit) if term.unit == "currency" else _unit_name(term.unit, "si"))
