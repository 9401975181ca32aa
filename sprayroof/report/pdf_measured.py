"""The owner's page on what was measured, and the appendix of the measured nights, tests, channels, bills and twins."""

from __future__ import annotations

from reportlab.platypus import Flowable

from sprayroof.report import charts_measured, numbers
from sprayroof.report.measured_beside import beside_words, water_words
from sprayroof.report.numbers import known, printed_range
from sprayroof.report.pdf_layout import Sheet, chart, fitting, paragraph, section, shares, table
from sprayroof.report.terms import label, terms
from sprayroof.results import Audit, Period, Quantity

LOOKS = (165.0, 145.0, 125.0, 105.0, 85.0, 72.0)
# Quantities of the page in the order of its table; the appendix and audit.json hold all.
HEAT = ("cooling_roof_kWh", "cooling_stored_kWh", "electricity_own_kWh")
WATER = ("sprayed_m3", "spray_loss_m3", "evaporation_m3", "drift_m3", "leak_m3", "other_uses_m3", "rain_caught_m3",
         "mains_m3", "storage_change_m3", "overflow_m3", "water_remainder_m3", "water_unexplained_m3")
OFTEN_NOTHING = ("overflow_m3",)
NIGHTS_NOTE = "Nights: on how many the figure is known; the others are put at the mean of like nights."
SWITCHED_NOTE = ("Compared are the nights of the switched blocks, all of them as far as their "
                 "figure is known.")
GRADES = "A: measured, within 10 %. B: within 25 %. C: within 50 %. D: wider, or the sign is unknown."
NIGHT_COLUMNS = (
    ("spray_hours_h", "Spraying", 1), ("cooling_pipe_kWh", "By pipe", 0), ("cooling_tank_kWh", "By store", 0),
    ("cooling_roof_kWh", "Both", 0), ("spray_loss_m3", "Lost by spray", 2), ("mains_m3", "Make-up", 2),
    ("rain_caught_m3", "Rain", 2), ("electricity_own_kWh", "Pump", 1), ("t_air_mean_C", "Air", 1),
    ("t_wetbulb_mean_C", "Wet bulb", 1), ("wind_mean_m_s", "Wind", 1),
)


def has_measured_page(audit: Audit) -> bool:
    """Whether anything was measured."""
    return bool(audit.logged)


def measured_page(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    """The page as flowables, without its title."""
    return fitting(sheet, LOOKS, lambda look: _page(audit, sheet, units, look))


def _page(audit: Audit, sheet: Sheet, units: str, height: float) -> list[Flowable]:
    period = audit.periods.get("logged")
    story: list[Flowable] = []
    if period:
        story += [paragraph(_opening(audit, period, units), longest=900), _totals(audit, period, sheet, units),
                  paragraph(f"No model stands behind this table. {GRADES} {NIGHTS_NOTE}", "note"),
                  *(paragraph(text, "small", 900) for text in
                    (water_words(audit, period, units), beside_words(audit, units)) if text),
                  *chart("How much did each night cool the water?",
                         charts_measured.nights(audit, sheet.width, units, height), _night_caption(audit))]
        switched = " ".join(_switching(audit, units))
        story += [paragraph(switched, "small", 2000)] if switched else []
    story += [paragraph(text, longest=900) for text in _texts(audit, units)]
    return story


def _opening(audit: Audit, period: Period, units: str) -> str:
    rows = audit.logged.get("nights") or []
    measured = sum(bool(row.get("valid")) for row in rows)
    sprayed = sum((row.get("spray_hours_h") or 0.0) > 0.0 for row in rows)
    agree = audit.logged.get("pipe_tank_frac")
    both = ""
    if known(agree):
        pipe, store = (_sum_words(period, id, units) for id in ("cooling_pipe_kWh", "cooling_tank_kWh"))
        both = (f" Heat was measured in the pipes{pipe} and in the store{store}; in the middle of the nights the two "
                f"differ by {numbers.fixed(100.0 * abs(agree), 0)} %.")
    return (f"From {period.start} to {period.end} the loggers followed {len(rows)} nights, {sprayed} of them "
            f"{terms(audit).running}. "
            f"Cooling is known on {measured} of them; the others are put at the mean of like nights.{both}")


def _sum_words(period: Period, id: str, units: str) -> str:
    """` (5100 kWh)`, or nothing where that way has no sum."""
    quantity = period.quantities.get(id)
    return f" ({numbers.printed(quantity, id, units).value_unit})" if quantity else ""


def _totals(audit: Audit, period: Period, sheet: Sheet, units: str) -> Flowable:
    found = [(id, period.quantities[id]) for id in (*HEAT, *WATER) if id in period.quantities
             and not (id in OFTEN_NOTHING and numbers.never_anything(period.quantities[id]))]
    estimates, rows = audit.logged.get("estimates") or {}, []
    for id, quantity in found:
        # Each to its own place: the water sprayed is a thousand times what is lost of it.
        one = numbers.printed(quantity, id, units)
        own = estimates.get(id) or {}
        rows.append([label(audit, quantity.label), one.value_unit, one.range,
                     _part(own.get("systematic"), quantity, id, units),
                     _part(own.get("random"), quantity, id, units), str(own.get("nights", "")), quantity.grade])
    head = ("Measured over the period", "Most likely", "Range, 9 in 10", "Instrument ±", "Chance ±", "Nights", "Grade")
    return table(head, rows, shares(sheet.width, 30, 15, 19, 13, 10, 7, 6), right=(5,), wraps=(0,), padding=1.8)


def _part(half: float | None, quantity: Quantity, id: str, units: str) -> str:
    """A half-width as a share of the value, or in its unit where the value is near zero."""
    if not known(half):
        return numbers.NOT_KNOWN
    if abs(quantity.value) > 2.0 * max(quantity.high - quantity.value, quantity.value - quantity.low):
        return f"{numbers.significant(100.0 * half / abs(quantity.value), 2)} %"
    return printed_range(half, None, None, quantity.unit, units, heat=numbers.is_heat(id)).value_unit


def _night_caption(audit: Audit) -> str:
    rows = audit.logged.get("nights") or []
    warm = [str(row["date"]) for row in rows if row.get("valid") and (row.get("cooling_roof_kWh") or 0.0) < 0.0]
    lost = sum(not row.get("valid") and (row.get("spray_hours_h") or 0.0) > 0.0 for row in rows)
    parts = ["Each bar is a night, with its range."]
    if warm:
        parts.append(f"On {len(warm)} {'night' if len(warm) == 1 else 'nights'} {terms(audit).doing} warmed the water; "
                     "they count with their sign.")
    if lost:
        parts.append(f"Hatched: {lost} {'night' if lost == 1 else 'nights'} that could not be measured.")
    return " ".join(parts)


def _switching(audit: Audit, units: str) -> list[str]:
    """A sentence for each effect of switching on and off."""
    texts, doing = [], terms(audit).doing
    for effect in audit.logged.get("on_off") or []:
        nights = f"{effect['nights_on']} nights with and {effect['nights_off']} without {doing}"
        if not known(effect.get("value")):
            texts.append(f"{label(audit, effect['label'])}: the switched nights cannot tell "
                         f"({effect.get('why') or 'too few nights'}).")
            continue
        unit = "K" if effect["unit"] == "degC" else effect["unit"]
        shown = printed_range(abs(effect["value"]), *sorted((abs(effect["low"]), abs(effect["high"]))), unit, units)
        if effect["verdict"] == "cannot tell":
            texts.append(f"{label(audit, effect['label'])}: {nights} cannot tell whether {doing} changes it.")
        else:
            texts.append(f"{label(audit, effect['label'])}: {shown.value_unit} {effect['verdict']} "
                         f"{terms(audit).running}{_meant(effect, shown)}, by {nights}.")
    return [*texts[:-1], f"{texts[-1]} {SWITCHED_NOTE}"] if texts else []


def _meant(effect: dict, shown: numbers.Printed) -> str:
    """What value and range of a switched effect mean."""
    if effect.get("lower_bound"):
        return (" as seen, a lower bound, since the store had not settled when it was switched again (every night less "
                f"never: between {shown.low} and {shown.high})")
    return (f" every night than with none (between {shown.low} and {shown.high}; what the store carries over is taken "
            "off)")


def _texts(audit: Audit, units: str) -> list[str]:
    """What bills and pairs of rooms say, in the record's own words for each system of units."""
    rows = [*(audit.logged.get("bills") or []), *(audit.logged.get("twins") or [])]
    return [str(row.get("words_ip" if units == "ip" else "words") or row.get("words") or "") for row in rows]


# --- appendix ----------------------------------------------------------------------------------------------------


def measured_appendix(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    """Measured nights, tests on site, channels and how they were used; nothing where nothing was logged."""
    if not audit.logged:
        return []
    return [*_nights(audit, sheet, units), *_tests(audit, sheet), *_channels(audit, sheet)]


def _nights(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    rows = audit.logged.get("nights") or []
    columns = [column for column in NIGHT_COLUMNS if any(known(row.get(column[0])) for row in rows)]
    if not rows or not columns:
        return []
    heads = ["Night of", *(f"{label(audit, head)}, {_unit(id, units)}" for id, head, _ in columns)]
    body = []
    for row in rows:
        cells = [_cell(row.get(id), id, digit, units) for id, _, digit in columns]
        body.append([str(row.get("date", "")), *cells])
    reasons = [f"{row['date']}: {why}" for row in rows if (why := _why(row))]
    said = "A night runs from noon to noon and belongs to the day on which it began. A dash: not known."
    why = [paragraph("Not known, and why. " + " · ".join(reasons), "note", 6000)] if reasons else []
    made = table(heads, body, shares(sheet.width, 13, *([9] * len(columns))), right=range(1, len(heads)), wraps=(),
                 padding=1.1)
    return section("measured-nights", "Measured nights", paragraph(said, "note"), made, *why)


def _why(row: dict) -> str:
    """Why heat or water of a night are not known."""
    return "; ".join(part for part in (row.get("pipe_why"), row.get("tank_why"), row.get("water_why")) if part)


def _unit(id: str, units: str) -> str:
    return numbers.unit_for(numbers.unit_of(id), units, numbers.is_heat(id))[2]


def _cell(value: float | None, id: str, digit: int, units: str) -> str:
    if not known(value):
        return "–"
    return numbers.fixed(numbers.converted(value, numbers.unit_of(id), units, numbers.is_heat(id)), -digit)


def _tests(audit: Audit, sheet: Sheet) -> list[Flowable]:
    tests = audit.logged.get("tests") or []
    notes = [paragraph(" ".join(audit.logged.get("notes") or []), "note", 2000)] if audit.logged.get("notes") else []
    if not tests:
        return notes
    rows = [[str(test.get(part, "")) for part in ("kind", "from", "found", "changed")] for test in tests]
    made = table(("Test", "From", "What it found", "What it changed"), rows, shares(sheet.width, 13, 17, 36, 34),
                 wraps=(0, 2, 3), padding=1.4)
    return section("site-tests", "Tests made on site", made, *notes)


def _channels(audit: Audit, sheet: Sheet) -> list[Flowable]:
    rows = []
    for one in audit.logged.get("coverage") or []:
        left_out = ", ".join(f"{name} {count}" for name, count in (one.get("masks") or {}).items())
        rows.append([str(one["channel"]), f"{100.0 * one['read_frac']:.1f} %", f"{100.0 * one['filled_frac']:.1f} %",
                     _accuracy(one), left_out or "none"])
    if not rows:
        return []
    head = ("Channel", "Read", "Bridged", "Accuracy, 90 %", "Marked, in steps")
    return section("channels", "Channels: what was read, and when", table(
        head, rows, shares(sheet.width, 22, 9, 9, 24, 36), wraps=(3, 4), padding=1.2), *chart(
            "Which channel was read on which day?", charts_measured.coverage(audit, sheet.width),
            "A cell is a day, from the first logged on; its height is the share that was read, hatched where "
            "nothing was."))


def _accuracy(one: dict) -> str:
    parts = [f"{one['offset']:.2g}"] if one.get("offset") else []
    parts += [f"{100.0 * one['gain']:.2g} %"] if one.get("gain") else []
    words = ("±" + " and ".join(parts)) if parts else "no error assumed"
    return words if one.get("stated") or not parts else f"{words}, assumed"
