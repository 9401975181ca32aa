"""The owner's page on water: what spraying causes, the balance in and out, a week of the store."""

from __future__ import annotations

from reportlab.platypus import Flowable

from sprayroof.report import charts, numbers, words
from sprayroof.report.numbers import printed, printed_range
from sprayroof.report.pdf_layout import Sheet, chart, paragraph, shares, table
from sprayroof.results import Audit

BATHTUB_m3 = 0.15
FLUSH_m3 = 0.006
IP_BATHTUB_US_gal, IP_FLUSH_US_gal = 40.0, 1.6


def water_page(audit: Audit, sheet: Sheet, units: str) -> list[Flowable]:
    """The page as flowables, without its title."""
    return [
        *_caused(audit, units),
        *chart(
            "Where does the water come from, and where does it go?",
            charts.water_balance(audit, sheet.width, units, _tall(sheet, 178.0)),
            _water_caption(audit, units),
        ),
        _water_table(audit, sheet, units),
        paragraph(_everyday_note(units), "note"),
        *chart(
            "What does a week of the store look like?",
            charts.week(audit, sheet.width, units, _tall(sheet, 118.0)),
            _week_caption(audit, units),
        ),
    ]


def _tall(sheet: Sheet, height: float) -> float:
    """A picture's height on this paper: Letter is shorter than A4, and its pictures with it."""
    return height * (1.0 if sheet.size[1] > 800.0 else 0.85)


def _caused(audit: Audit, units: str) -> list[Flowable]:
    caused, mains = words.found(audit, "mains_caused_m3"), words.found(audit, "mains_m3")
    if caused is None:
        return []
    text = (
        f"Mains water caused by spraying: {words.between(printed(caused, 'mains_caused_m3', units))}, most likely "
        f"about {printed(caused, 'mains_caused_m3', units).value_unit}. This is the mains water of the year less what "
        "the same year, rain and users would have needed without spraying."
    )
    if mains and mains.value > 0.0:
        share = numbers.fixed(100.0 * caused.value / mains.value, 0)
        text += f" It is about {share} % of all the mains water taken."
    reliability = words.found(audit, "refill_reliability_frac")
    if reliability:
        text += (
            f" Rain met {words.between(printed(reliability, 'refill_reliability_frac', units))} of the store's demand."
        )
    return [paragraph(text, longest=900)]


def _water_caption(audit: Audit, units: str) -> str:
    into, out, remainder = charts.water_sides(audit)
    spraying = [value for role, _, value in out if role in ("evaporation_m3", "drift_m3", "bleed_m3", "flush_lost_m3")]
    total = sum(value for *_, value in out)
    text = ""
    if spraying and total > 0.0:
        text = (
            f"Spraying takes {numbers.fixed(100.0 * sum(spraying) / total, 0)} % of the water that leaves the store. "
        )
    shown = printed_range(remainder, None, None, "m3", units).value_unit
    biggest = max(sum(value for *_, value in into), total)
    if abs(remainder) <= 0.001 * biggest:
        return text + "In and out agree; less than a thousandth is left unexplained."
    return text + f"{shown.lstrip(numbers.MINUS)} are left unexplained and shown as such."


def _water_table(audit: Audit, sheet: Sheet, units: str) -> Flowable:
    into, out, remainder = charts.water_sides(audit)
    rows, bold = [], []
    for side, parts in (("in", into), ("out", out)):
        for role, label, value in parts:
            quantity = words.found(audit, "storage_change_m3" if role == "storage" else role)
            shown = printed(quantity, role, units)
            low_high = shown.range if shown.low != shown.high else ""
            if role == "storage" and side == "in":
                low_high = words.turned(shown).range
            rows.append(
                [side, label, charts.water_amount(audit, role, value, units), low_high, _everyday(value, units)]
            )
        bold.append(len(rows))
        total = sum(value for *_, value in parts)
        rows.append([side, "Together", _total(total, units), "", _everyday(total, units)])
    shown = printed_range(remainder, None, None, "m3", units)
    tiny = abs(remainder) <= 0.001 * max(1.0, sum(value for *_, value in into))
    rows.append(
        [
            "",
            "Unexplained remainder, in less out",
            "none" if tiny else shown.value_unit,
            "",
            "" if tiny else _everyday(remainder, units),
        ]
    )
    return table(
        ("", "Water", "Most likely", "Range, 9 in 10", "About as much as"),
        rows,
        shares(sheet.width, 6, 37, 18, 20, 25),
        bold=bold,
        wraps=(1,),
        padding=1.7,
    )


def _total(value_m3: float, units: str) -> str:
    """A sum of best estimates, to three digits."""
    return numbers.joined(
        numbers.significant(numbers.converted(value_m3, "m3", units), 3), numbers.unit_for("m3", units)[2]
    )


def _everyday(value_m3: float, units: str) -> str:
    """A volume in things that people know."""
    bathtub = IP_BATHTUB_US_gal / numbers.US_GAL_PER_M3 if units == "ip" else BATHTUB_m3
    flush = IP_FLUSH_US_gal / numbers.US_GAL_PER_M3 if units == "ip" else FLUSH_m3
    count = abs(value_m3) / bathtub
    if count >= 10.0:
        return f"{numbers.significant(count, 2)} bathtubs"
    return f"{numbers.significant(abs(value_m3) / flush, 2)} toilet flushes"


def _everyday_note(units: str) -> str:
    sizes = (
        "40 US gal a bathtub, 1.6 US gal a toilet flush"
        if units == "ip"
        else "150 litres a bathtub, 6 litres a toilet flush"
    )
    return f"Reckoned with {sizes}. Sums are of best estimates; their ranges do not add up."


def _week_caption(audit: Audit, units: str) -> str:
    series = audit.series.get("week", {})
    coldest = words.found(audit, "coldest_store_C")
    text = f"{series.get('title', '')}: cooled by night, warmed by day."
    if coldest:
        text += f" Coldest store of the year: {words.between(printed(coldest, 'coldest_store_C', units))}."
    return text
