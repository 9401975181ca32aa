"""Pictures of what was measured: cooling night by night, and which channels are known on which day."""

from __future__ import annotations

from reportlab.pdfbase.pdfmetrics import stringWidth

from sprayroof.report import numbers, style
from sprayroof.report.numbers import known
from sprayroof.report.picture import Pen, Picture, upright_axis
from sprayroof.results import Audit

MISSING = style.Area(style.WASH, "x", style.MUTED)
GAP_SHARE = 0.2  # of a night's width, between bars
MOST_CHANNELS = 24


def nights(audit: Audit, width: float, units: str = "si", height: float = 150.0) -> Picture | None:
    """Cooling of each night with its range; a warming night hangs below the line, an unmeasured one is hatched."""
    rows = audit.logged.get("nights") or []
    shown = [_night(row, units) for row in rows]
    values = [end for value, half in shown if value is not None for end in (value - half, value + half)]
    if not values:
        return None
    low, high = min(0.0, *values), max(values)
    margin = 0.05 * (high - low or 1.0)
    low, high = low - (margin if low < 0.0 else 0.0), high + margin
    unit = numbers.unit_for("kWh", units, heat=True)[2]

    def paint(pen: Pen) -> None:
        left, right, base, head = 36.0, pen.width, 16.0, pen.height - 14.0
        upright_axis(pen, low, high, base, head, left, right, unit)

        def to_y(value: float) -> float:
            return base + (value - low) / (high - low) * (head - base)

        each = (right - left) / len(rows)
        for number, (row, (value, half)) in enumerate(zip(rows, shown, strict=True)):
            x, bar = left + (number + 0.5 * GAP_SHARE) * each, each * (1.0 - GAP_SHARE)
            if value is None:
                if row.get("spray_hours_h") or not known(row.get("spray_hours_h")):
                    pen.box(x, base, bar, head - base, MISSING, outline=False)
                continue
            pen.box(x, to_y(0.0), bar, to_y(value) - to_y(0.0), style.area("cooling_roof_kWh"), outline=bar > 2.0)
            if each > 5.0:
                pen.upright_whisker(x + 0.5 * bar, to_y(value - half), to_y(value + half), cap=min(2.0, 0.3 * bar))
        pen.line((left, to_y(0.0)), (right, to_y(0.0)), colour=style.INK, width=0.8)
        _dates(pen, [str(row.get("date", "")) for row in rows], left, each)

    return Picture(width, height, paint)


def _night(row: dict, units: str) -> tuple[float | None, float]:
    """A night's cooling and its 90 % half-width in printed units; None where it was not measured."""
    value = row.get("cooling_roof_kWh")
    if not known(value) or not row.get("valid"):
        return None, 0.0
    factor = numbers.unit_for("kWh", units, heat=True)[0]
    parts = [row.get(f"cooling_roof_{kind}_kWh") or 0.0 for kind in ("systematic", "random")]
    return value * factor, (parts[0] ** 2 + parts[1] ** 2) ** 0.5 * factor


def _dates(pen: Pen, dates: list[str], left: float, each: float) -> None:
    """Dates under some nights, as many as there is room for."""
    room = stringWidth("00-00", style.SANS, 8.0) + 10.0
    stride = max(1, int(room / each) + 1)
    for number in range(0, len(dates), stride):
        pen.text(left + (number + 0.5) * each, 3.0, dates[number][5:], anchor="middle", colour=style.MUTED)


def coverage(audit: Audit, width: float, row: float = 10.5) -> Picture | None:
    """A line a channel, a cell a day: filled as far as the day was read."""
    rows = [one for one in audit.logged.get("coverage") or [] if one.get("days_frac")][:MOST_CHANNELS]
    if not rows:
        return None
    days = max(len(one["days_frac"]) for one in rows)

    def paint(pen: Pen) -> None:
        left = 112.0
        each = (pen.width - left) / days
        for number, one in enumerate(rows):
            y = pen.height - row * (number + 1)
            pen.text(left - 6.0, y + 2.0, str(one["channel"]), anchor="end", room=left - 8.0)
            for day, share in enumerate(one["days_frac"]):
                x, size = left + day * each, row - 2.4
                if known(share) and share > 0.0:
                    pen.box(x, y, each * 0.86, size * share, style.area("rain_caught_m3"), outline=False)
                else:
                    pen.box(x, y, each * 0.86, size, MISSING, outline=False)

    return Picture(width, row * len(rows) + 2.0, paint)
