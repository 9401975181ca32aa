"""Pictures that run along time: a week of the store's temperatures, a year of its content."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from itertools import pairwise

from sprayroof.report import numbers, style, words
from sprayroof.report.numbers import known
from sprayroof.report.picture import Pen, Picture, spread, upright_axis
from sprayroof.report.terms import capital, terms
from sprayroof.results import Audit

LEAST_LEVEL = 66.0  # height of the level without its strips at which ticks and three names stand clear of each other
STRIP = 15.0  # height of a strip of daily bars
STRIPS = (("Rain", "rain_caught_m3"), ("Mains", "mains_m3"), ("Overflow", "overflow_m3"))  # series -> colour role


def week(audit: Audit, width: float, units: str = "si", height: float = 158.0) -> Picture | None:
    """A week of the store's temperature with the temperatures around it; lines named at their right end."""
    series = audit.series.get("week")
    if not series or not series.get("time") or not series.get("values"):
        return None
    times = [datetime.fromisoformat(time) for time in series["time"]]
    unit = numbers.unit_for(series.get("unit", "C"), units)[2]
    lines = {
        label: [numbers.converted(value, series.get("unit", "C"), units) for value in values]
        for label, values in series["values"].items()
        if any(known(value) for value in values)
    }
    points = [value for values in lines.values() for value in values if known(value)]
    if not points or len(times) < 2:
        return None
    margin = 0.04 * (max(points) - min(points) or 1.0)
    low, high = min(points) - margin, max(points) + margin

    def paint(pen: Pen) -> None:
        left, right, base, head = 30.0, pen.width - 98.0, 16.0, pen.height - 14.0
        start, span = times[0], (times[-1] - times[0]).total_seconds() or 1.0
        upright_axis(pen, low, high, base, head, left, right, unit)
        _day_marks(pen, times, left, right, base, head)

        def to_xy(number: int, value: float) -> tuple[float, float]:
            x = left + (times[number] - start).total_seconds() / span * (right - left)
            return x, base + (value - low) / (high - low) * (head - base)

        for look, values in zip(style.LINES, lines.values(), strict=False):
            _trace(pen, look, values, to_xy)
        ends = [to_xy(len(values) - 1, _last(values))[1] for values in lines.values()]
        for label, look, y, place in zip(lines, style.LINES, ends, spread(ends, 11.0, base, head), strict=False):
            pen.line((right + 1, y), (right + 9, place), colour=look.colour, width=0.6)
            pen.text(
                right + 11, place - 2.8, label, font=style.SANS_BOLD if look is style.LINES[0] else style.SANS, room=87
            )

    return Picture(width, height, paint)


WATER_OFF = "Water off the "  # the roof or the panels: known only while the pump runs
STEADY_K = 0.5  # a store that ends within this of where it began is said to be as warm as before


def week_words(audit: Audit, units: str = "si") -> str:
    """What the week of the picture shows, from its series alone: its days, whether it sprayed, how the store went."""
    series = audit.series.get("week") or {}
    times, values = series.get("time") or (), series.get("values") or {}
    if len(times) < 2:
        return ""
    first, last = datetime.fromisoformat(times[0]), datetime.fromisoformat(times[-1]) - timedelta(hours=1)
    days = f"{first.day} {words.MONTH_NAMES[first.month - 1]} to {last.day} {words.MONTH_NAMES[last.month - 1]}"
    parts = [f"{series.get('title') or 'A week of the store'}, {days}."]
    off = next((values[name] for name in values if name.startswith(WATER_OFF)), None)
    running = None if off is None else [known(value) for value in off]
    if running is not None:
        parts.append(
            f"{terms(audit).runs} in {sum(running)} of its {len(running)} hours."
            if any(running)
            else f"{terms(audit).rests} in this week."
        )
    unit, running_words = series.get("unit", "C"), terms(audit).running
    return " ".join([*parts, *_store_words(values.get("Store") or (), running, unit, units, running_words)])


def _store_words(store: list, running: list[bool] | None, unit: str, units: str, running_words: str) -> list[str]:
    """How the store's temperature went: its span, from where to where, and what spraying had to do with it."""
    held = [value for value in store if known(value)]
    if len(held) < 2:
        return []
    low, high, began, ended = (
        numbers.fixed(numbers.converted(value, unit, units), 0 if units == "ip" else -1)
        for value in (min(held), max(held), held[0], held[-1])
    )
    name = numbers.unit_for(unit, units)[2]
    change = held[-1] - held[0]
    went = "warmer" if change > STEADY_K else "colder" if change < -STEADY_K else ""
    path = f"and ended {went} than it began, {began} before and {ended} after" if went else "and ended as it began"
    said = [f"The store stood between {low} and {numbers.joined(high, name)} {path}."]
    if running and any(running) and all(known(value) for value in store):
        steps = [(after - before, ran) for before, after, ran in zip(store, store[1:], running[1:], strict=False)]
        sprayed, dry = (sum(step for step, ran in steps if ran is which) for which in (True, False))
        if sprayed < -STEADY_K and dry > STEADY_K:
            said.append(f"It cooled in the hours {running_words} and warmed in the others.")
    return said


def _last(values: list[float | None]) -> float:
    return next(value for value in reversed(values) if known(value)) if any(known(v) for v in values) else 0.0


def _trace(pen: Pen, look: style.Line, values: list[float | None], to_xy) -> None:
    run: list[tuple[float, float]] = []
    for number, value in enumerate([*values, None]):
        if known(value):
            run.append(to_xy(number, value))
            continue
        if len(run) > 1:
            pen.line(*run, colour=look.colour, width=look.width, dash=look.dash)
        run = []
    if look.marker:
        every = max(1, len(values) // 7)
        for number in range(every // 2, len(values), every):
            if known(values[number]):
                pen.marker(*to_xy(number, values[number]), look.marker, look.colour)


def _day_marks(pen: Pen, times: list[datetime], left: float, right: float, base: float, head: float) -> None:
    """A line where each local day begins, and its date in the middle of what is shown of it, where there is room."""
    start, span = times[0], (times[-1] - times[0]).total_seconds() or 1.0
    xs = [left + (time - start).total_seconds() / span * (right - left) for time in times]
    begins = [0, *(i for i in range(1, len(times)) if times[i].date() != times[i - 1].date()), len(times) - 1]
    for first, last in pairwise(begins):
        if first:
            pen.line((xs[first], base), (xs[first], head), colour=style.RULE, width=0.4)
        if xs[last] - xs[first] > 34.0:
            label = f"{times[first].day} {words.MONTH_NAMES[times[first].month - 1][:3]}"
            pen.text((xs[first] + xs[last]) / 2, 4, label, anchor="middle", colour=style.MUTED)


def level_values(audit: Audit) -> dict[str, list[float]]:
    """Daily content of the store and water in and out of it (m3), what is not known as 0; empty without the series."""
    series = audit.series.get("level") or {}
    values = {
        name: [float(value) if isinstance(value, (int, float)) else 0.0 for value in column]
        for name, column in (series.get("values") or {}).items()
    }
    days = len(series.get("time") or ())
    whole = days >= 2 and all(len(column) == days for column in values.values())
    return values if whole and values.get("Content") else {}


def level(audit: Audit, width: float, units: str = "si", height: float = 150.0) -> Picture | None:
    """The store's content through the year between reserve and full, over strips of rain, mains and overflow by day."""
    values = level_values(audit)
    if not values:
        return None
    days = [date.fromisoformat(str(day)[:10]) for day in audit.series["level"]["time"]]
    factor, _, unit = numbers.unit_for("m3", units)
    content, stops = [value * factor for value in values["Content"]], capital(terms(audit).reserve)
    marks = [
        (label, fact["value"] * factor)
        for label, entry in (("Full", "store.volume"), (stops, "store.reserve"))
        if (fact := words.fact(audit, entry))
    ]
    strips = [(name, role, values[name]) for name, role in STRIPS if any(v > 0.0 for v in values.get(name, ()))]
    tallest = max((max(column) for *_, column in strips), default=0.0)
    height = max(height, LEAST_LEVEL + (STRIP + 4.0) * len(strips))
    top = 1.04 * max([*content, *(mark for _, mark in marks), 1e-9])

    def paint(pen: Pen) -> None:
        left, right = 44.0, pen.width - 98.0
        base, head = 16.0 + (STRIP + 4.0) * len(strips), pen.height - 14.0

        def to_x(day: float) -> float:
            return left + day / len(days) * (right - left)

        def to_y(value: float) -> float:
            return base + value / top * (head - base)

        upright_axis(pen, 0.0, top, base, head, left, right, unit)
        _month_marks(pen, days, to_x, head)
        for _, mark in marks:
            pen.line((left, to_y(mark)), (right, to_y(mark)), colour=style.VERMILION, width=0.9, dash=(5, 2.2))
        pen.line(*((to_x(i + 1), to_y(v)) for i, v in enumerate(content)), colour=style.LINES[0].colour, width=1.5)
        names = [("Content", content[-1]), *marks]
        wanted = [to_y(value) for _, value in names]
        for (name, _), y, place in zip(names, wanted, spread(wanted, 11.0, base, head), strict=True):
            pen.line((right + 1, y), (right + 9, place), colour=style.MUTED, width=0.6)
            pen.text(right + 11, place - 2.8, name, font=style.SANS_BOLD if name == "Content" else style.SANS, room=87)
        for number, (name, role, column) in enumerate(strips):
            foot = base - (STRIP + 4.0) * (number + 1)
            _strip(pen, column, tallest, foot, to_x, style.area(role).colour)
            pen.text(right + 11, foot + 3.0, name, room=87)

    return Picture(width, height, paint)


def _strip(pen: Pen, column: list[float], tallest: float, foot: float, to_x, colour: str) -> None:
    pen.line((to_x(0), foot), (to_x(len(column)), foot), colour=style.MUTED, width=0.5)
    thick = max(0.9, to_x(1) - to_x(0))
    for number, value in enumerate(column):
        if value > 0.0:
            x = to_x(number + 0.5)
            pen.line((x, foot), (x, foot + max(0.8, value / tallest * STRIP)), colour=colour, width=thick)


def _month_marks(pen: Pen, days: list[date], to_x, head: float) -> None:
    """A line where each month begins, and its name in the middle of it where there is room."""
    begins = [0, *(i for i in range(1, len(days)) if days[i].month != days[i - 1].month), len(days)]
    for first, last in pairwise(begins):
        if first:
            pen.line((to_x(first), 14.0), (to_x(first), head), colour=style.RULE, width=0.4)
        if to_x(last) - to_x(first) > 20.0:
            name = words.MONTH_NAMES[days[first].month - 1][:3]
            pen.text((to_x(first) + to_x(last)) / 2, 4, name, anchor="middle", colour=style.MUTED)
