"""The owner's page on water: what spraying causes, the balance in and out, a week of the store."""

from __future__ import annotations

from reportlab.platypus import Flowable

from sprayroof.report import charts, charts_time, labels, numbers, words
from sprayroof.report.numbers import printed, printed_range
from sprayroof.report.pdf_layout import Sheet, chart, fitting, paragraph, shares, table
from sprayroof.report.terms import capital, has_panels, terms
from sprayroof.report.water_rows import water
from sprayroof.report.water_words import mains_words, rain_words, wasting
from sprayroof.results import Audit

MEASURES = {
    "si": {"bathtubs": "150 litres a bathtub", "toilet flushes": "6 litres a toilet flush"},
    "ip": {"bathtubs": "40 US gal a bathtub", "toilet flushes": "1.6 US gal a toilet flush"},
}
# Heights in points of the balance, the week and the year's level, from the most generous to the tightest; at 0 the
# level stands in the appendix.
LOOKS = (
    (178.0, 118.0, 130.0),
    (150.0, 100.0, 112.0),
    (128.0, 88.0, 98.0),
    (106.0, 76.0, 98.0),
    (178.0, 118.0, 0.0),
    (160.0, 104.0, 0.0),
    (140.0, 92.0, 0.0),
    (120.0, 84.0, 0.0),
    (106.0, 76.0, 0.0),
    (96.0, 70.0, 0.0),
)


def water_page(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    """The page as flowables, without its title."""
    return fitting(sheet, LOOKS, lambda look: _page(audit, sheet, units, look))


def level_has_room(audit: Audit, sheet: Sheet, units: str) -> bool:
    """Whether the picture of the year's level stands on the page of water."""
    looks = [look for look in LOOKS if look[2] > 0.0]
    page = fitting(sheet, [*looks, None], lambda look: _page(audit, sheet, units, look) if look else [])
    return bool(page)


def level_chart(audit: Audit, sheet: Sheet, units: str, height: float) -> list[Flowable]:
    """The picture of the year's level under its question."""
    return chart(
        "Does the store run dry, and when does it overflow?",
        charts_time.level(audit, sheet.width, units, height),
        level_caption(audit, units),
    )


def _page(audit: Audit, sheet: Sheet, units: str, look: tuple[float, float, float]) -> list[Flowable]:
    balance, week, level = look
    return [
        *_caused(audit, units),
        *chart(
            "Where does the water come from, and where does it go?",
            charts.water_balance(audit, sheet.width, units, balance),
            _water_caption(audit, units),
        ),
        _water_table(audit, sheet, units),
        paragraph(_everyday_note(audit, units), "note"),
        *(level_chart(audit, sheet, units, level) if level else []),
        *_in_words(audit, sheet, units, not level),
        *chart(
            "What does a week of the store look like?",
            charts_time.week(audit, sheet.width, units, week),
            _week_caption(audit, units),
        ),
    ]


def _level_days(audit: Audit) -> str:
    """How often the store came to the end of its water, took mains water and overflowed, as clauses."""
    values = charts_time.level_values(audit)
    if not values:
        return ""
    reserve, past = words.fact(audit, "store.reserve"), words.found(audit, "mains_bypass_m3")
    bypass = past is not None and past.value > 0.0
    parts = []
    if reserve:
        low = sum(content <= reserve["value"] for content in values["Content"])
        parts.append(f"ended {_days(low)} with no more water than the reserve at which {terms(audit).reserve}")
    for name, what in (("Mains", "took mains water"), ("Overflow", "overflowed")):
        if name in values and not (name == "Mains" and bypass):  # past the store: not for the store to take
            parts.append(f"{what} on {_days(sum(value > 0.0 for value in values[name]))}")
    return f"In the year's best estimate the store {words.listed(parts)}." if parts else ""


def _days(count: int) -> str:
    return "no day" if count == 0 else "1 day" if count == 1 else f"{count} days"


def _in_words(audit: Audit, sheet: Sheet, units: str, level: bool) -> list[Flowable]:
    """Water for the cooling, and the year's level where no picture of it stands here."""
    said = [_per_useful(audit, units)]
    if level and (days := _level_days(audit)):
        page = sheet.page("level")
        said.append(days + (f" Page {page} shows it day by day." if page else ""))
    text = " ".join(part for part in said if part)
    return [paragraph(text, longest=900)] if text else []


def level_caption(audit: Audit, units: str) -> str:
    """What the picture of the year's level shows."""
    values = charts_time.level_values(audit)
    tallest = max((value for name in ("Rain", "Mains", "Overflow") for value in values.get(name, ())), default=0.0)
    strips = ""
    if tallest > 0.0:
        shown = printed_range(tallest, None, None, "m3", units)
        strips = f" Strips to one scale; their tallest day holds {shown.value_unit}."
    return f"{_level_days(audit)}{strips}".strip()


def _caused(audit: Audit, units: str) -> list[Flowable]:
    """Whether water is wasted, what of the mains water is owed to the cooling, and what rain met."""
    parts = [wasting(audit, units, mains=False)]
    if not has_panels(audit) or words.says_something(audit, "mains_caused_m3"):
        parts.append(mains_words(audit, units))
    parts.append(rain_words(audit, units))
    text = " ".join(part for part in parts if part)
    return [paragraph(text, longest=1200)] if text else []


def _water_caption(audit: Audit, units: str) -> str:
    found = water(audit, units)
    spraying = sum(row.value_m3 for row in found.out if row.role in words.SPRAY_LOSSES)
    leaving = sum(row.value_m3 for row in found.out if row.role not in ("mains_bypass_m3", "storage"))
    text = ""
    if spraying > 0.0:
        share = numbers.fixed(100.0 * spraying / leaving, 0)
        text = f"{capital(terms(audit).doing)} takes {share} % of the water that leaves the store. "
    if found.closes:
        return text + "In and out agree; less than a thousandth is left unexplained."
    return text + f"{found.remainder.amount.lstrip(numbers.MINUS)} are left unexplained and shown as such."


def _water_table(audit: Audit, sheet: Sheet, units: str) -> Flowable:
    found = water(audit, units)
    rows, bold = [], []
    for side, parts, total in (("in", found.into, found.total_in), ("out", found.out, found.total_out)):
        named = [(labels.WATER_LONG.get(row.role, row.label), row) for row in parts]
        rows += [[side, label, row.amount, row.range, row.everyday] for label, row in named]
        bold.append(len(rows))
        rows.append([side, total.label, total.amount, "", total.everyday])
    rest = found.remainder
    rows.append(["", "Unexplained remainder, in less out", rest.amount or "none", "", rest.everyday])
    return table(
        ("", "Water", "Most likely", "Range, 9 in 10", "About as much as"),
        rows,
        shares(sheet.width, 6, 37, 18, 20, 25),
        bold=bold,
        wraps=(1,),
        padding=1.7,
    )


def _per_useful(audit: Audit, units: str) -> str:
    """Water lost for the cooling, which the first page shows."""
    lost = words.shown_quantity(audit, "water_per_useful_L_kWh")
    if lost is None:
        return ""
    shown = printed(lost, "water_per_useful_L_kWh", units)
    unit = {"si": "kWh", "ip": "kBtu"}[units]
    what = f"useful cooling that {terms(audit).doing} causes" if words.caused(audit) else "useful cooling"
    volume = shown.unit.split("/")[0]
    low_high = "" if shown.low in (numbers.NOT_KNOWN, shown.high) else f" (between {shown.low} and {shown.high})"
    amount = numbers.joined(shown.value, volume)
    return f"Each {unit} of {what} costs about {amount}{low_high} of water."


def _everyday_note(audit: Audit, units: str) -> str:
    name = water(audit, units).measure
    return (
        f"Reckoned with {MEASURES[units][name]}. Sums are of best estimates; their ranges do not add up. Last digits "
        "are set so that the rows add up."
    )


def _week_caption(audit: Audit, units: str) -> str:
    text = charts_time.week_words(audit, units)
    coldest = words.found(audit, "coldest_store_C")
    if coldest:
        text += f" Coldest store of the year: {words.between(printed(coldest, 'coldest_store_C', units))}."
    return text
