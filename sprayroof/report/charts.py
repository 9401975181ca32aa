"""The pictures of the report. Each takes an audit and a width and gives a picture, or None where the record lacks it.

Labels stand at the marks themselves; there are no legends to look up. Values carry the same rounding as the tables.
"""

from __future__ import annotations

from reportlab.pdfbase.pdfmetrics import stringWidth

from sprayroof.report import labels, numbers, style, words
from sprayroof.report.effects import effect_texts
from sprayroof.report.numbers import Printed, known
from sprayroof.report.picture import Pen, Picture, spread, upright_axis
from sprayroof.report.terms import has_panels
from sprayroof.report.water_rows import WaterRow, water
from sprayroof.results import Audit, Quantity

LABEL_COLUMN = 132.0
EFFECT_LABELS = 266.0  # width of the names of assumptions
VALUE_ROOM = 52.0  # least width of the value before its range
ROW = 21.0  # height of a row of bars where there is room
BAR_SHARE = 0.6


def ladder(audit: Audit, width: float, units: str = "si", row: float = ROW) -> Picture | None:
    """Each step from the roof to the meter as a bar with its range; heat and electricity to one scale of energy."""
    groups = [
        [(id, quantity) for id in ids if (quantity := words.shown_quantity(audit, id))]
        for ids in (words.HEAT_STEPS, words.ELECTRICITY_STEPS)
    ]
    rows = [row for group in groups for row in group]
    if not rows:
        return None
    shown = _in_print(rows, units, audit)
    columns = _value_columns(list(shown.values()))
    height = row * len(rows) + (10.0 if all(groups) else 0.0) + 4.0

    def paint(pen: Pen) -> None:
        to_x = _bar_axis(pen, [quantity for _, quantity in rows], columns[0])
        y = pen.height - row * BAR_SHARE - 4.0
        for number, group in enumerate(groups):
            for id, quantity in group:
                _bar_row(
                    pen,
                    y,
                    words.row_label(audit, labels.STEPS, id),
                    id,
                    quantity,
                    to_x,
                    shown[id],
                    columns,
                    bold=id in ("cooling_useful_kWh", "electricity_net_kWh"),
                    bar=row * BAR_SHARE,
                )
                y -= row
            if number == 0 and all(groups):
                rule = y + 0.5 * (row * (1.0 + BAR_SHARE) - 10.0)  # half way between the bars above and below
                pen.line((0, rule), (pen.width, rule), colour=style.RULE, width=0.5)
                y -= 10.0

    return Picture(width, height, paint)


def heat_paths(audit: Audit, width: float, units: str = "si", row: float = ROW) -> Picture | None:
    """Where the heat of the water went, signed: right of the line it left the water, left of it it came in."""
    rows = [(id, quantity) for id in words.HEAT_PATHS if (quantity := words.shown_quantity(audit, id))]
    if not rows:
        return None
    shown = _in_print(rows, units, audit)
    columns = _value_columns(list(shown.values()))

    def paint(pen: Pen) -> None:
        to_x = _bar_axis(pen, [quantity for _, quantity in rows], columns[0])
        zero = to_x(0.0)
        pen.text(zero + 5, pen.height - 8, "cools the water →", colour=style.MUTED)
        if zero > LABEL_COLUMN + 95:
            pen.text(zero - 5, pen.height - 8, "← warms the water", anchor="end", colour=style.MUTED)
        for number, (id, quantity) in enumerate(rows):
            y = pen.height - 14.0 - row * number - row * BAR_SHARE
            _bar_row(pen, y, labels.PATHS[id], id, quantity, to_x, shown[id], columns, bar=row * BAR_SHARE)

    return Picture(width, row * len(rows) + 14.0, paint)


def _in_print(rows: list[tuple[str, Quantity]], units: str, audit: Audit) -> dict[str, Printed]:
    """The rows of one picture as they are printed, to one unit and place."""
    shown = numbers.printed_rows(rows, units, scale_to=words.energy_scale(audit))
    return {id: one for (id, _), one in zip(rows, shown, strict=True)}


def _value_columns(shown: list[Printed]) -> tuple[float, float]:
    """Widths of the column of values with their ranges, and of the values alone."""
    values = max(VALUE_ROOM, *(stringWidth(one.value_unit, style.SANS_BOLD, 8.4) + 6.0 for one in shown))
    return values + max(stringWidth(one.range, style.SANS, style.SMALL) for one in shown), values


def _bar_axis(pen: Pen, quantities: list[Quantity], values: float):
    """A function from value to x, with zero inside, between labels and `values`, a column; draws the zero line."""
    ends = [end for quantity in quantities for end in (quantity.value, quantity.low, quantity.high) if known(end)]
    low, high = min([0.0, *ends]), max([0.0, *ends])
    left, right = LABEL_COLUMN + 6.0, pen.width - values - 8.0
    per_unit = (right - left) / ((high - low) or 1.0)

    def to_x(value: float) -> float:
        return left + (value - low) * per_unit

    pen.line((to_x(0.0), 0), (to_x(0.0), pen.height - 2), colour=style.MUTED, width=0.7)
    return to_x


def _bar_row(
    pen: Pen,
    y: float,
    label: str,
    id: str,
    quantity: Quantity,
    to_x,
    shown: Printed,
    columns: tuple[float, float],
    bold: bool = False,
    bar: float = ROW * BAR_SHARE,
) -> None:
    """One bar with its label and its values."""
    font = style.SANS_BOLD if bold else style.SANS
    line = y + bar / 2 - 3.0
    pen.text(LABEL_COLUMN, line, label, anchor="end", font=font, size=8.4, room=LABEL_COLUMN)
    pen.box(to_x(0.0), y, to_x(quantity.value) - to_x(0.0), bar, style.area(id))
    if known(quantity.low, quantity.high) and quantity.low < quantity.high:
        pen.whisker(to_x(quantity.low), to_x(quantity.high), y + bar / 2, cap=min(3.2, bar / 4))
    start = pen.width - columns[0]
    pen.text(start, line, shown.value_unit, font=font, size=8.4)
    if shown.low not in (numbers.NOT_KNOWN, shown.high):
        pen.text(start + columns[1], line, shown.range, colour=style.MUTED)


def cell_bar(quantity: Quantity, id: str, ends: tuple[float, float], width: float, height: float) -> Picture:
    """One figure as a bar with its range, small enough for a cell of a table.

    Parameters
    ----------
    ends : tuple of float
        The least and the largest value of the cells that share the scale; zero lies inside.
    """
    low, high = ends
    per_unit = (width - 8.0) / ((high - low) or 1.0)

    def to_x(value: float) -> float:
        return 2.0 + (value - low) * per_unit

    def paint(pen: Pen) -> None:
        pen.line((to_x(0.0), 0), (to_x(0.0), height), colour=style.MUTED, width=0.6)
        pen.box(to_x(0.0), 0.15 * height, to_x(quantity.value) - to_x(0.0), 0.7 * height, style.area(id))
        if known(quantity.low, quantity.high) and quantity.low < quantity.high:
            pen.whisker(to_x(quantity.low), to_x(quantity.high), height / 2, cap=0.25 * height)

    return Picture(width, height, paint)


def row_value(row: dict, id: str, end: str = "value") -> float | None:
    """A figure of a month row, which may be a number or a range."""
    cell = row.get(id)
    if isinstance(cell, dict):
        cell = cell.get(end)
    return float(cell) if isinstance(cell, (int, float)) else None


def months(audit: Audit, width: float, units: str = "si", height: float = 150.0) -> Picture | None:
    """Useful cooling by month, with its range, in front of the building's load."""
    rows = [row for row in audit.months if row_value(row, "cooling_useful_kWh") is not None]
    if not rows:
        return None
    values = [
        row_value(row, id, end) or 0.0
        for row in rows
        for id in ("cooling_useful_kWh", "load_kWh")
        for end in ("value", "high" if id == "cooling_useful_kWh" else "value")
    ]
    top = max([*values, 1e-9])
    factor, _, unit = numbers.unit_for("kWh", units, heat=True)
    if top * factor >= numbers.LARGE_KWH:
        factor, unit = factor / 1000.0, {"kWh": "MWh", "kBtu": "million Btu"}[unit]

    def paint(pen: Pen) -> None:
        left, right, base, head = 40.0, pen.width - 4.0, 16.0, pen.height - 14.0
        per_unit = (head - base) / (top * factor)
        upright_axis(pen, 0.0, top * factor, base, head, left, right, unit)
        slot = (right - left) / len(rows)
        for number, row in enumerate(rows):
            x = left + slot * number
            load, useful = row_value(row, "load_kWh"), row_value(row, "cooling_useful_kWh") or 0.0
            if load:
                pen.box(x + slot * 0.1, base, slot * 0.8, load * factor * per_unit, style.area("load"))
            pen.box(x + slot * 0.24, base, slot * 0.52, useful * factor * per_unit, style.area("useful"))
            low, high = row_value(row, "cooling_useful_kWh", "low"), row_value(row, "cooling_useful_kWh", "high")
            if known(low, high) and high > low:
                pen.upright_whisker(x + slot / 2, base + low * factor * per_unit, base + high * factor * per_unit)
            pen.text(x + slot / 2, 4, words.month_name(row)[:3], anchor="middle")
        _month_key(pen, rows, left, slot, f"useful from the {'panels' if has_panels(audit) else 'roof'}")

    return Picture(width, height, paint)


def _month_key(pen: Pen, rows: list[dict], left: float, slot: float, useful: str) -> None:
    """Name the two kinds of bar, in the third of the picture where the load leaves most room."""
    loads = [row_value(row, "load_kWh") or row_value(row, "cooling_useful_kWh", "high") or 0.0 for row in rows]
    third = max(1, len(rows) // 3)
    start = min(range(0, len(rows) - third + 1, third), key=lambda i: max(loads[i : i + third]))
    x, y = left + slot * start + 8, pen.height - 18
    key = (("load", "the building's load", style.SANS), ("useful", useful, style.SANS_BOLD))
    wide = max(stringWidth(label, font, style.SMALL) for _, label, font in key) + 15.0
    pen.blank(x - 3, y - 16, wide + 6, 27)  # the lines of the axis must not run through the names
    for role, label, font in key:
        pen.box(x, y - 1, 10, 8, style.area(role))
        pen.text(x + 15, y, label, font=font)
        y -= 13


def water_balance(audit: Audit, width: float, units: str = "si", height: float = 196.0) -> Picture | None:
    """Two columns of one height: where the water came from, and where it went."""
    found = water(audit, units)
    total = max(sum(row.value_m3 for row in side) for side in (found.into, found.out))
    if total <= 0.0:
        return None
    into, out = list(found.into), list(found.out)
    if not found.closes:
        (out if found.remainder.value_m3 > 0 else into).append(found.remainder)

    def paint(pen: Pen) -> None:
        base, head, column = 4.0, pen.height - 20.0, 54.0
        gap = 46.0
        middle = pen.width / 2 - max(0.0, column + gap / 2 + _stack_room(out) - pen.width / 2)
        x_in, x_out = middle - gap / 2 - column, middle + gap / 2
        pen.text(x_in + column / 2, pen.height - 10, "in", anchor="middle", font=style.SANS_BOLD, size=8.6)
        pen.text(x_out + column / 2, pen.height - 10, "out", anchor="middle", font=style.SANS_BOLD, size=8.6)
        pen.text(middle, base + (head - base) / 2, "→", anchor="middle", size=15, colour=style.MUTED)
        _stack(pen, into, x_in, column, base, head, total, left=True)
        _stack(pen, out, x_out, column, base, head, total, left=False)

    return Picture(width, height, paint)


def _stack_room(rows: list[WaterRow]) -> float:
    """Points that line, name and amount of a column's rows want beside it."""
    return max((STACK_LINE + stringWidth(row.label, style.SANS, style.SMALL) + STACK_GAP
                + stringWidth(row.amount, style.SANS_BOLD, style.SMALL) for row in rows), default=0.0)


STACK_LINE, STACK_GAP = 29.0, 6.0  # from the column to the name, and from the name to the amount


def _stack(
    pen: Pen, rows: list[WaterRow], x: float, column: float, base: float, head: float, total: float, left: bool
) -> None:
    y, middles = head, []
    for row in rows:
        part = abs(row.value_m3) / total * (head - base)
        pen.box(x, y - part, column, part, style.area(row.role))
        middles.append(y - part / 2)
        y -= part
    sign, edge = (-1, x) if left else (1, x + column)
    for row, middle, place in zip(rows, middles, spread(middles, 12.5, base + 4, head - 4), strict=True):
        pen.line(
            (edge, middle),
            (edge + sign * 8, middle),
            (edge + sign * 20, place),
            (edge + sign * 26, place),
            colour=style.MUTED,
            width=0.5,
        )
        start, y = edge + sign * STACK_LINE, place - 2.8
        if left:
            used = pen.text(start, y, row.amount, anchor="end", font=style.SANS_BOLD)
            pen.text(start - used - STACK_GAP, y, row.label, anchor="end")
        else:
            used = pen.text(start, y, row.label)
            pen.text(start + used + STACK_GAP, y, row.amount, font=style.SANS_BOLD)


def assumptions(
    rows: list[dict], width: float, units: str = "si", key: str = "effect", most: int = 12
) -> Picture | None:
    """The assumptions that move a figure most, as bars from zero.

    Parameters
    ----------
    rows : list of dict
        Assumptions, the largest effect first.
    key : str
        "effect", on useful cooling in kWh, or "effect_net", in its own unit.
    """
    rows = [row for row in rows if row.get(key)][:most]
    if not rows:
        return None
    texts = effect_texts(rows, key, units)

    def paint(pen: Pen) -> None:
        effects = [row[key] for row in rows]
        negative, positive = min(0.0, *effects, 0.0), max(0.0, *effects, 0.0)
        left, right = EFFECT_LABELS + 58.0, pen.width - 52.0
        per_unit = (right - left) / ((positive - negative) or 1.0)
        zero = left - negative * per_unit
        for number, (row, text) in enumerate(zip(rows, texts, strict=True)):
            y = pen.height - 18.0 * (number + 1)
            pen.text(EFFECT_LABELS, y + 3.5, row["label"], anchor="end", room=EFFECT_LABELS)
            length = row[key] * per_unit
            pen.box(zero, y, length, 11.0, style.area("effect_up" if length > 0 else "effect_down"))
            start, anchor = (zero + length + 5, "start") if length > 0 else (zero + length - 5, "end")
            pen.text(start, y + 3, text, anchor=anchor, colour=style.MUTED)
        pen.line((zero, 0), (zero, pen.height), colour=style.MUTED, width=0.7)

    return Picture(width, 18.0 * len(rows) + 4.0, paint)
