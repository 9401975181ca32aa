"""Numbers for print: rounding to what the range deserves, and units in SI or IP. Nothing here changes a result.

Rounding rule: value and both ends are shown to the same decimal place, the one that gives the larger end two digits;
where that leaves the range fewer than five steps wide, one place more, and again.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Decimal

from sprayroof.results import Quantity

UNIT_SYSTEMS = ("si", "ip")
HEAT_IDS = frozenset(
    {
        "cooling_roof_kWh",
        "cooling_stored_kWh",
        "cooling_delivered_kWh",
        "cooling_useful_kWh",
        "longwave_kWh",
        "convection_kWh",
        "evaporation_heat_kWh",
        "roof_conduction_kWh",
        "booster_cooling_kWh",
        "load_kWh",
        "free_cooling_kWh",
        "cooling_kWh",
        "useful_without_spray_kWh",
        "useful_caused_kWh",
        "useful_kWh",
    }
)
NO_BREAK = "\u00a0"
MINUS = "\u2212"
NOT_KNOWN = "not known"
KBTU_PER_KWH = 3.412141633  # 1 kWh in 1000 Btu (IT), ISO 80000-5
US_GAL_PER_M3 = 264.1720524  # 231 cubic inches a gallon
TON_HOUR_PER_KWH = KBTU_PER_KWH / 12.0
LARGE_KWH = 10_000.0  # from here on energy is printed in the thousandfold unit
NO_FINEST = -300  # below every place of a number
THOUSANDFOLD = {"kWh": "MWh", "kBtu": "million Btu"}

# Steps finer than this are never printed: what is smaller is rounding of the reckoning, or what no meter could tell.
FINEST = {
    "m3": 0.001,
    "kWh": 0.01,
    "degC": 0.01,
    "K": 0.01,
    "h": 0.01,
    "1": 1e-5,
    "currency": 0.01,
    "L/kWh": 0.001,
    "kWh/kWh": 0.001,
    "kg CO2e": 0.01,
}

# Other spellings of a unit that site files and audits use.
ALIASES = {
    "C": "degC",
    "°C": "degC",
    "frac": "1",
    "-": "1",
    "W/(m2 K)": "W/m2K",
    "W/m2/K": "W/m2K",
    "W/m²K": "W/m2K",
    "kJ/(m2 K)": "kJ/m2K",
    "kJ/m2/K": "kJ/m2K",
    "m2 K/W": "m2K/W",
    "W/(m K)": "W/mK",
    "m²": "m2",
    "m³": "m3",
    "m2·K/W": "m2K/W",
    "kWh thermal": "kWh heat",
    "L/d": "L/day",
    "W/m²": "W/m2",
    "kWh_heat": "kWh heat",
}
# unit -> (factor, offset, printed unit)
SI_PRINT = {
    "m2": (1, 0, "m²"),
    "m3": (1, 0, "m³"),
    "m3/day": (1, 0, "m³/day"),
    "degC": (1, 0, "°C"),
    "1": (1, 0, ""),
    "kWh heat": (1, 0, "kWh"),
    "W/m2K": (1, 0, "W/(m² K)"),
    "kJ/m2K": (1, 0, "kJ/(m² K)"),
    "m2K/W": (1, 0, "m² K/W"),
    "m3/h": (1, 0, "m³/h"),
    "W/mK": (1, 0, "W/(m K)"),
    "deg": (1, 0, "°"),
    "W/m2": (1, 0, "W/m²"),
    "s2/m2": (1, 0, "s²/m²"),
    "kg CO2e": (1, 0, "kg CO₂e"),
}
IP_PRINT = {
    "m2": (10.76391042, 0, "ft²"),
    "m3": (US_GAL_PER_M3, 0, "US gal"),
    "m3/day": (US_GAL_PER_M3, 0, "US gal/day"),
    "degC": (1.8, 32.0, "°F"),
    "K": (1.8, 0, "°F"),
    "kWh heat": (KBTU_PER_KWH, 0, "kBtu"),
    "L": (0.2641720524, 0, "US gal"),
    "L/min": (0.2641720524, 0, "US gal/min"),
    "L/day": (0.2641720524, 0, "US gal/day"),
    "L/h": (0.2641720524, 0, "US gal/h"),
    "L/kWh": (0.2641720524 / KBTU_PER_KWH, 0, "US gal/kBtu"),
    "kWh/kWh": (KBTU_PER_KWH, 0, "kBtu/kWh"),
    "m": (3.280839895, 0, "ft"),
    "mm": (1 / 25.4, 0, "in"),
    "mm/h": (1 / 25.4, 0, "in/h"),
    "m/s": (2.236936292, 0, "mph"),
    "kg": (2.204622622, 0, "lb"),
    "kg CO2e": (2.204622622, 0, "lb CO₂e"),
    "m3/h": (0.5885777786, 0, "cfm"),
    "W/m2K": (0.1761101838, 0, "Btu/(h ft² °F)"),
    "kJ/m2K": (0.04891950, 0, "Btu/(ft² °F)"),
    "s2/m2": (0.1998447, 0, "1/mph²"),
    "kg/kWh": (2.204622622, 0, "lb/kWh"),
    "m2K/W": (5.678263337, 0, "h ft² °F/Btu"),
    "W/mK": (0.5777893165, 0, "Btu/(h ft °F)"),
    "kW": (KBTU_PER_KWH, 0, "kBtu/h"),
    "W/K": (1.895634241, 0, "Btu/(h °F)"),
    "kW/K": (1.895634241, 0, "kBtu/(h °F)"),
    "deg": (1, 0, "°"),
    "1": (1, 0, ""),
    "W/m2": (0.3169983306, 0, "Btu/(h ft²)"),
}


@dataclass(frozen=True)
class Printed:
    """A value and its range as text, all to the same place, and the unit as text ("" for none)."""

    value: str
    low: str
    high: str
    unit: str

    @property
    def range(self) -> str:
        """`low to high`, without the unit."""
        return f"{self.low} to {self.high}"

    @property
    def value_unit(self) -> str:
        """The value and its unit, not to be parted by a line end."""
        return joined(self.value, self.unit)


def joined(number: str, unit: str) -> str:
    """Number and unit with a space that does not break; percent and degree marks close up in their own way."""
    if not unit or number == NOT_KNOWN:
        return number
    return f"{number}{unit}" if unit == "°" else f"{number}{NO_BREAK}{unit}"


# Ends of identifiers that name a unit, longest first.
SUFFIX_UNITS = (
    ("_kWh_kWh", "kWh/kWh"),
    ("_L_kWh", "L/kWh"),
    ("_m_s", "m/s"),
    ("_kWh", "kWh"),
    ("_m3", "m3"),
    ("_frac", "1"),
    ("_mm", "mm"),
    ("_kg", "kg"),
    ("_h", "h"),
    ("_C", "degC"),
    ("_W", "W"),
)


def unit_of(id: str) -> str:
    """The unit that the end of an identifier names; "" where it names none."""
    return next((unit for suffix, unit in SUFFIX_UNITS if id.endswith(suffix)), "")


def without_unit(id: str) -> str:
    """An identifier without the end that names its unit."""
    return next((id.removesuffix(suffix) for suffix, _ in SUFFIX_UNITS if id.endswith(suffix)), id)


# Measured by pipe and by store, with the parts of their uncertainty.
MEASURED_HEAT = ("cooling_roof_", "cooling_pipe_", "cooling_tank_")


def is_heat(id: str) -> bool:
    """True for identifiers of heat, which IP prints in kBtu; other kWh are electricity."""
    return id in HEAT_IDS or id.startswith(MEASURED_HEAT)


def known(*values: float | None) -> bool:
    """True where every value is a finite number."""
    return all(value is not None and math.isfinite(value) for value in values)


def place(low: float, high: float, value: float | None = None) -> int:
    """The decimal place (power of ten of the last digit shown) that a range deserves.

    Parameters
    ----------
    low, high : float
        Ends of the range; any unit.
    value : float, optional
        Decides where both ends are equal: three digits are then shown.
    """
    width = abs(high - low)
    largest = max(abs(low), abs(high))
    if largest == 0.0:
        return 0
    magnitude = math.floor(math.log10(largest))
    if width <= 1e-9 * largest:
        return magnitude - 2
    digit = magnitude - 1
    while width < 5.0 * 10.0**digit and digit > magnitude - 4:
        digit -= 1
    return digit


def finest_digit(unit: str, factor: float) -> int:
    """The decimal place in print below which nothing of `unit` is shown; `factor` brings it to the printed unit."""
    finest = FINEST.get(ALIASES.get(unit, unit))
    return NO_FINEST if finest is None else math.floor(math.log10(finest * factor) + 1e-9)


def is_nothing(value: float, unit: str) -> bool:
    """Whether an amount in `unit` is nothing in print, whatever its range."""
    return value == 0.0 or abs(value) < 0.5 * FINEST.get(ALIASES.get(unit, unit), 0.0)


def never_anything(quantity: Quantity) -> bool:
    """Whether best estimate and range are all nothing in print."""
    return all(known(x) and is_nothing(x, quantity.unit) for x in (quantity.value, quantity.low, quantity.high))


def fixed(value: float | None, digit: int) -> str:
    """`value` rounded to the place 10**digit, thousands parted, with a true minus sign and no negative zero."""
    if value is None or not math.isfinite(value):
        return NOT_KNOWN
    rounded = Decimal(repr(float(value))).quantize(Decimal(1).scaleb(digit), rounding=ROUND_HALF_EVEN)
    if rounded == 0:
        rounded = abs(rounded)
    text = f"{abs(rounded):,.{max(0, -digit)}f}"
    whole = text.split(".")[0]
    text = text.replace(",", NO_BREAK if len(whole) > 5 else "")
    return f"{MINUS}{text}" if rounded < 0 else text


def significant(value: float | None, digits: int = 2) -> str:
    """`value` to a number of significant digits, for single numbers that carry no range."""
    if value is None or not math.isfinite(value):
        return NOT_KNOWN
    if value == 0.0:
        return "0"
    return fixed(value, math.floor(math.log10(abs(float(f"{value:.{digits - 1}e}")))) - digits + 1)


def exact(value: float | None, digits: int = 4) -> str:
    """`value` as given, for inputs: at least `digits` significant digits, integers whole, no trailing zeros."""
    if value is None or not math.isfinite(value):
        return NOT_KNOWN
    magnitude = math.floor(math.log10(abs(value))) if value else 0
    text = fixed(value, min(magnitude - digits + 1, 0))
    return text.rstrip("0").rstrip(".") if "." in text else text


def unit_for(unit: str, units: str, heat: bool = False) -> tuple[float, float, str]:
    """Factor, offset and printed name that bring `unit` into the system `units`; unknown units stay as they are."""
    if units not in UNIT_SYSTEMS:
        raise ValueError(f"units {units!r} is not one of {UNIT_SYSTEMS}")
    name = ALIASES.get(unit, unit)
    if name.endswith("/m3") and name not in IP_PRINT:  # a price, whatever the currency
        price = name.removesuffix("/m3")
        return (1000.0 / US_GAL_PER_M3, 0, f"{price}/1000 US gal") if units == "ip" else (1, 0, f"{price}/m³")
    if name == "kWh" and heat:
        name = "kWh heat"
    if units == "ip" and name in IP_PRINT:
        return IP_PRINT[name]
    return SI_PRINT.get(name, (1, 0, name))


def converted(value: float | None, unit: str, units: str, heat: bool = False) -> float | None:
    """`value` in the unit system `units` (None and NaN stay unknown)."""
    if value is None:
        return None
    factor, offset, _ = unit_for(unit, units, heat)
    return value * factor + offset


def printed_range(
    value: float | None,
    low: float | None,
    high: float | None,
    unit: str,
    units: str = "si",
    *,
    heat: bool = False,
    scale_to: float | None = None,
    currency: str = "",
    digit: int | None = None,
) -> Printed:
    """A value with its range as it is printed.

    Parameters
    ----------
    value, low, high : float
        In `unit`.
    unit : str
        As in the catalogue; "currency" becomes `currency`; "1" becomes percent.
    units : str
        "si" or "ip".
    heat : bool
        True for heat in kWh, which IP prints in kBtu; electricity stays in kWh.
    scale_to : float, optional
        Largest kWh of the table this stands in, so that a table keeps one unit; default the range itself.
    currency : str
        ISO 4217 code.
    digit : int, optional
        Decimal place in the printed unit; default the one that the range deserves.
    """
    ends = [abs(x) for x in (value, low, high) if known(x)]
    largest = scale_to if scale_to is not None else max(ends, default=0.0)
    factor, offset, name = _unit_in_print(unit, units, heat, largest, currency)
    shown = [x * factor + offset if known(x) else None for x in (value, low, high)]
    if not known(shown[1], shown[2]):
        nothing = known(value) and is_nothing(value, unit)
        lone = "0" if nothing and digit is None else significant(shown[0]) if digit is None else fixed(shown[0], digit)
        return Printed(lone, NOT_KNOWN, NOT_KNOWN, name)
    if digit is None:
        digit = max(place(shown[1], shown[2], shown[0]), finest_digit(unit, factor))
        digit = 0 if not any(round(x / 10.0**digit) for x in shown if known(x)) else digit
    return Printed(*(fixed(x, digit) for x in shown), name)


def _unit_in_print(unit: str, units: str, heat: bool, largest: float, currency: str) -> tuple[float, float, str]:
    """Factor, offset and name of a unit in print; energy in the thousandfold unit where `largest` calls for it."""
    if unit == "1":
        return 100.0, 0.0, "%"
    if unit == "currency":
        return 1.0, 0.0, currency
    factor, offset, name = unit_for(unit, units, heat)
    if name in THOUSANDFOLD and largest * factor >= LARGE_KWH:
        return factor / 1000.0, offset, THOUSANDFOLD[name]
    return factor, offset, name


def printed(
    quantity: Quantity, id: str, units: str = "si", *, scale_to: float | None = None, currency: str = ""
) -> Printed:
    """A `Quantity` as it is printed; see `printed_range`."""
    return printed_range(
        quantity.value,
        quantity.low,
        quantity.high,
        quantity.unit,
        units,
        heat=is_heat(id),
        scale_to=scale_to,
        currency=currency,
    )


def printed_rows(
    rows: list[tuple[str, Quantity]], units: str = "si", *, scale_to: float | None = None
) -> list[Printed]:
    """Quantities of one table or picture as they are printed: those of one unit share their decimal place.

    The place is the finest that any row's range deserves, but gives the largest end no more than three digits. A row
    whose range spans zero keeps its own place where the shared one would print one of its ends as zero: the sign of
    that end decides what is said of it.
    """
    if scale_to is None:
        scale_to = max((abs(x) for _, q in rows for x in (q.value, q.low, q.high) if known(x)), default=0.0)
    alone = [printed(quantity, id, units, scale_to=scale_to) for id, quantity in rows]
    sizes: dict[str, list[float]] = {}
    places: dict[str, list[int]] = {}
    for (id, quantity), shown in zip(rows, alone, strict=True):
        factor, offset, _ = _unit_in_print(quantity.unit, units, is_heat(id), scale_to, "")
        value, low, high = (
            x * factor + offset if known(x) else None for x in (quantity.value, quantity.low, quantity.high)
        )
        size = max((abs(x) for x in (value, low, high) if known(x)), default=0.0)
        finest = finest_digit(quantity.unit, factor)
        if size >= 0.5 * 10.0**finest:
            sizes.setdefault(shown.unit, []).append(size)
            own = place(low, high, value) if known(low, high) else math.floor(math.log10(size)) - 1
            own = max(own, finest)
            places.setdefault(shown.unit, []).append(own)
    digits = {unit: shared_place(sizes[unit], places[unit]) for unit in sizes}
    together = [
        printed_range(
            quantity.value,
            quantity.low,
            quantity.high,
            quantity.unit,
            units,
            heat=is_heat(id),
            scale_to=scale_to,
            digit=digits.get(shown.unit, 0),
        )
        for (id, quantity), shown in zip(rows, alone, strict=True)
    ]
    return [
        own if quantity.spans_zero and (_is_zero(shown.low) or _is_zero(shown.high)) else shown
        for (_, quantity), own, shown in zip(rows, alone, together, strict=True)
    ]


def _is_zero(text: str) -> bool:
    return text != NOT_KNOWN and not set(text) & set("123456789")


def shared_place(sizes: list[float], places: list[int]) -> int:
    """The decimal place that rows of these sizes, each deserving its own place, share in print: see `printed_rows`."""
    return max(math.floor(math.log10(max(sizes))) - 2, min(places))


def apportioned(parts: list[float], total: int) -> list[int]:
    """Whole numbers that add up to `total`, as near to `parts` as can be (largest remainder).

    Parameters
    ----------
    parts : list of float
        In steps of the last digit printed, any sign; their sum within one step a part of `total`.
    total : int
        What the printed parts have to add up to.
    """
    whole = [math.floor(part) for part in parts]
    missing = total - sum(whole)
    order = sorted(range(len(parts)), key=lambda i: (whole[i] - parts[i], i))
    if missing < 0:
        order, missing, step = order[::-1], -missing, -1
    else:
        step = 1
    for i in range(missing):
        whole[order[i % len(order)]] += step
    return whole
