"""Numbers with units at the rim: text such as "60 US gpm" to a number in the documented unit.

Unit names come from a fixed list; a name that means different things in different places (gal, gpm, ton, hp) is
refused with the choices. The definitions behind the names are those of pint, in a registry of our own that is
loaded only when a conversion is really needed.

"K" is always a temperature difference here and "degC" always a temperature: where a difference is wanted, "2 degC"
and "3.6 degF" are both 2 K.
"""

from __future__ import annotations

import difflib
import functools
import math
import re
import unicodedata
from typing import Any, NamedTuple


class NotAQuantity(ValueError):
    """A text cannot be read as a number in the wanted unit.

    Parameters
    ----------
    why : str
        What is wrong, starting with ": " (it follows the quoted text), or "".
    do : str
        What to do next.
    """

    def __init__(self, why: str, do: str):
        """Keep both parts for the message."""
        self.why = f": {why}" if why else ""
        self.do = do
        super().__init__(why or do)


class Scale(NamedTuple):
    """A conversion: wanted = factor * given + offset."""

    factor: float
    offset: float

    def __call__(self, value: Any) -> Any:
        """Convert a number or an array."""
        return value * self.factor + self.offset


# Documented unit -> words in sentences and symbol in a text with unit.
WORDS: dict[str, tuple[str, str]] = {
    "1": ("a fraction", "%"), "degC": ("°C", "degC"), "K": ("K (a difference)", "K"),
    "m3": ("m³", "m3"), "m2": ("m²", "m2"), "deg": ("degrees", "deg"), "s2/m2": ("1 per (m/s)²", "s2/m2"),
    "W/(m2 K)": ("W/(m² K)", "W/(m2 K)"), "kJ/(m2 K)": ("kJ/(m² K)", "kJ/(m2 K)"), "m2 K/W": ("m² K/W", "m2 K/W"),
    "m3/h": ("m³/h", "m3/h"), "W/m2": ("W/m²", "W/m2"),
    "currency/kWh": ("the site's currency per kWh", ""), "currency/m3": ("the site's currency per m³", ""),
    "currency/year": ("the site's currency per year", ""), "h": ("hours", "h"),
    "own": ("the unit of the column", ""), "year": ("years", "year"), "day": ("days (1 is 1 January)", "day"),
}

# Name in a text -> name in the registry. Names are compared as written first, then in small letters.
_NAMES: dict[str, str] = {
    "%": "percent", "percent": "percent", "okta": "okta", "oktas": "okta", "tenth": "tenth", "tenths": "tenth",
    "°": "degree", "deg": "degree", "degree": "degree", "degrees": "degree", "rad": "radian",
    "°C": "degC", "degC": "degC", "C": "degC", "celsius": "degC", "°F": "degF", "degF": "degF", "F": "degF",
    "fahrenheit": "degF", "K": "kelvin", "kelvin": "kelvin", "delta_degC": "delta_degC", "delta_degF": "delta_degF",
    "mm": "mm", "cm": "cm", "dm": "dm", "m": "m", "km": "km", "metre": "m", "metres": "m", "meter": "m", "meters": "m",
    "in": "inch", "inch": "inch", "inches": "inch", "ft": "foot", "foot": "foot", "feet": "foot", "yd": "yard",
    "mi": "mile", "mile": "mile", "miles": "mile", "sqft": "foot**2", "cuft": "foot**3", "sqm": "m**2",
    "cbm": "m**3",
    "ha": "hectare", "L": "liter", "l": "liter", "litre": "liter", "litres": "liter", "liter": "liter",
    "liters": "liter", "mL": "milliliter", "ml": "milliliter", "lpm": "liter/minute", "lps": "liter/second",
    "cfm": "foot**3/minute", "US_gal": "gallon", "imperial_gal": "imperial_gallon", "US_gpm": "gallon/minute",
    "imperial_gpm": "imperial_gallon/minute", "US_gph": "gallon/hour", "imperial_gph": "imperial_gallon/hour",
    "US_gpd": "gallon/day", "imperial_gpd": "imperial_gallon/day",
    "s": "second", "sec": "second", "second": "second", "seconds": "second", "min": "minute", "minute": "minute",
    "minutes": "minute", "h": "hour", "hr": "hour", "hour": "hour", "hours": "hour", "d": "day", "day": "day",
    "days": "day", "week": "week", "weeks": "week", "month": "month", "months": "month", "year": "year",
    "years": "year", "yr": "year", "yrs": "year",
    "mph": "mile/hour", "kph": "km/hour", "kmh": "km/hour", "knot": "knot", "knots": "knot", "kn": "knot", "kt": "knot",
    "W": "watt", "watt": "watt", "watts": "watt", "kW": "kilowatt", "MW": "megawatt", "Wh": "watt*hour",
    "kWh": "kilowatt*hour", "MWh": "megawatt*hour", "J": "joule", "kJ": "kilojoule", "MJ": "megajoule",
    "GJ": "gigajoule", "Btu": "Btu", "kBtu": "kBtu", "Btuh": "Btu/hour", "refrigeration_ton": "refrigeration_ton",
    "mechanical_hp": "horsepower", "metric_hp": "metric_horsepower",
    "Pa": "pascal", "hPa": "hectopascal", "kPa": "kilopascal", "mbar": "millibar", "bar": "bar", "psi": "psi",
    "inHg": "inHg", "mmHg": "mmHg", "atm": "atm",
    "uS": "microsiemens", "mS": "millisiemens",
    "mg": "milligram", "g": "gram", "kg": "kilogram", "t": "metric_ton", "tonne": "metric_ton", "lb": "pound",
    "lbs": "pound",
}
_SMALL_NAMES = {name.lower(): name for name in reversed(_NAMES)}

# Names that mean different things: what they may mean, as it should be written instead.
_AMBIGUOUS: dict[str, tuple[str, ...]] = {
    "gal": ("US gal", "imperial gal"), "gallon": ("US gal", "imperial gal"), "gallons": ("US gal", "imperial gal"),
    "gpm": ("US gpm", "imperial gpm"), "gph": ("US gph", "imperial gph"), "gpd": ("US gpd", "imperial gpd"),
    "ton": ("refrigeration ton", "tonne"), "tons": ("refrigeration ton", "tonne"), "tr": ("refrigeration ton", "tonne"),
    "hp": ("mechanical hp", "metric hp"),
}

# Several words that are one name.
_PHRASES: tuple[tuple[str, str], ...] = (
    (r"\b(?:US|U\.S\.)\s*(?:liquid\s+)?(?:gal(?:lons?)?)\b|\bgal(?:lons?)?\s*\(?US\)?(?!\w)", "US_gal"),
    (r"\b(?:imperial|imp|UK)\.?\s*(?:gal(?:lons?)?)\b", "imperial_gal"),
    (r"\bgal(?:lons?)?\s*\(?(?:imperial|imp|UK)\)?(?!\w)", "imperial_gal"),
    (r"\b(?:US|U\.S\.)\s*gp([mhd])\b", r"US_gp\1"),
    (r"\b(?:imperial|imp|UK)\.?\s*gp([mhd])\b", r"imperial_gp\1"),
    (r"\b(?:refrigeration\s+tons?|tons?\s+(?:of\s+)?refrigeration)\b", "refrigeration_ton"),
    (r"\b(mechanical|metric)\s+hp\b", r"\1_hp"),
    (r"\b(?:sq|square)\.?\s*(?:ft|feet|foot)\b", "sqft"), (r"\b(?:cu|cubic)\.?\s*(?:ft|feet|foot)\b", "cuft"),
    (r"\b(?:sq|square)\.?\s*(?:m|metres?|meters?)\b", "sqm"), (r"\b(?:cu|cubic)\.?\s*(?:m|metres?|meters?)\b", "cbm"),
    (r"\bdeg(?:rees?)?\s+(C|F|celsius|fahrenheit)\b", r"deg\1"), (r"°\s+(C|F)\b", r"°\1"),
    (r"\bdeg(?:celsius|fahrenheit)\b", lambda match: "deg" + match[0][3].upper()),
    (r"\bkg\s*CO2(?:e|eq)?\b", "kg"), (r"\bg\s*CO2(?:e|eq)?\b", "g"), (r"\s+per\s+", "/"),
)

_NUMBER = re.compile(r"\s*([+\-−]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?)(?![0-9.])\s*(.*)", re.DOTALL)
_FACTOR = re.compile(
    r"\s*(?:(?P<one>1)(?=\s*/)"
    r"|(?P<name>[A-Za-z_°%]+)(?:\s*(?:\^|\*\*)\s*\(?(?P<raised>[+-]?[0-9]{1,2})\)?|(?P<exponent>-?[0-9]{1,2}))?"
    r"|(?P<sign>[/()])|(?P<times>[·*.⋅-]))\s*")
_LONGEST = 80


def unit_words(unit: str, symbol: bool = False) -> str:
    """A documented unit in words for sentences, or as the symbol to write in a text with unit."""
    return WORDS.get(unit, (unit, unit))[1 if symbol else 0]


def bare_number(raw: Any) -> float | None:
    """The number that a text holds without any unit ("30"); None for all else."""
    match = _NUMBER.fullmatch(raw) if isinstance(raw, str) and len(raw) <= _LONGEST else None
    return None if match is None or match[2] else float(match[1].replace("−", "-"))


def number_words(unit: str) -> str:
    """What a number in a documented unit is called in a message."""
    return 'a fraction (0.03, or "3 %")' if unit == "1" else f"a number in {unit_words(unit)}"


def number_in(raw: Any, unit: str) -> float:
    """What the auditor wrote, as a finite float in the documented unit.

    Parameters
    ----------
    raw : int, float or str
        A number in `unit`, or a text with a unit that converts to it.
    unit : str
        Documented unit ("m3", "K", "degC", "1", ...). Units of money take plain numbers only.

    Raises
    ------
    NotAQuantity
        Not a number, not finite, unit unknown, ambiguous or of another kind.
    """
    if isinstance(raw, bool) or not isinstance(raw, (int, float, str)):
        raise NotAQuantity("", "write a number")
    if isinstance(raw, str):
        return quantity_in(raw, unit)
    try:
        return _finite(float(raw))
    except OverflowError:
        raise NotAQuantity("this is not a finite number", "write a finite number") from None


def quantity_in(text: str, unit: str) -> float:
    """A text "number unit" as a float in the documented unit (see number_in)."""
    if len(text) > _LONGEST:
        raise NotAQuantity("too long for a number with a unit", "write a number, or a number and its unit")
    if unit.startswith("currency"):
        text = _MONEY_SIGN.sub(r"\2 \1", text)
    match = _NUMBER.fullmatch(text)
    if not match or re.match(r"[,'’]?\s*[0-9]", match[2]):
        raise NotAQuantity(*_why_not_a_number(text))
    value, unit_text = float(match[1].replace("−", "-")), match[2].strip()
    if unit.startswith("currency"):
        if unit_text:
            raise NotAQuantity("a text with a unit is not read here", _price_advice(value, unit_text, unit))
        return _finite(value)
    if not unit_text:
        in_unit = f"{100.0 * value:.10g}" if unit == "1" else match[1]  # a fraction's own unit is per cent
        raise NotAQuantity("a number in quotes without its unit",
                           f'write {match[1]} without quotes, or "{in_unit} {unit_words(unit, symbol=True)}"')
    return _finite(_scale(unit_text, unit)(_finite(value)))


# "EUR 0.24" and "$0.24": the sign goes behind the number, where it is then told.
_MONEY_SIGN = re.compile(r"^\s*([A-Z]{3}|[€$£])\s*([0-9.]+)")
_CENTS = re.compile(r"(?:ct|cts|c|cents?|p|pence|penny|rp|¢)\b|¢", re.IGNORECASE)
_WHOLE_MONEY = re.compile(r"(?:[A-Z]{3}|[€$£])(?:\s*(?:/|per\s)\s*(.+))?")
_PER = {"currency/kWh": ("kWh",), "currency/m3": ("m3", "m³"), "currency/year": ("year", "yr", "a")}
_PRICE_EXAMPLES = {"currency/kWh": "0.24", "currency/m3": "2.1", "currency/year": "240"}


def _price_advice(value: float, unit_text: str, unit: str) -> str:
    """How a price with a unit is written: as a number in the site's currency."""
    whole = _WHOLE_MONEY.fullmatch(unit_text)
    if whole and (whole[1] is None or whole[1].strip() in _PER[unit]):
        return f"write the number alone: {value:g}"
    number = f"{value / 100.0:g}" if _CENTS.match(unit_text) else _PRICE_EXAMPLES[unit]
    return f"write the price as a number in {unit_words(unit)}, such as {number}"


def scale_to(unit_text: str, unit: str) -> Scale:
    """The conversion from a unit written as text to a documented unit.

    A leading number counts ("0.1 mm" to mm is a factor 0.1), which is how tips and tenths are stated.

    Raises
    ------
    NotAQuantity
        Unit unknown, ambiguous or of another kind.
    """
    if len(unit_text) > _LONGEST:
        raise NotAQuantity("too long for a unit", "write the unit alone")
    leading = _NUMBER.fullmatch(unit_text)
    size, name = (float(leading[1].replace("−", "-")), leading[2]) if leading and leading[2] else (1.0, unit_text)
    if not math.isfinite(size) or size == 0.0:
        raise NotAQuantity("the number before the unit is not usable", "write the unit alone")
    scale = _scale(name, unit)
    return Scale(scale.factor * size, scale.offset)


def converts(unit_text: str | None, unit: str) -> bool:
    """Whether a text is a unit that can be brought to a documented one."""
    if unit_text is None:
        return False
    try:
        scale_to(unit_text, unit)
    except NotAQuantity:
        return False
    return True


@functools.lru_cache(maxsize=512)
def _scale(name: str, unit: str) -> Scale:
    given, wanted = _factors(name), _factors(unit)
    if given == wanted:
        return Scale(1.0, 0.0)
    if unit == "degC" and len(given) == 1 and given[0] in (("degF", 1), ("kelvin", 1)):
        # Published definitions: t_F = 1.8 t_C + 32, T_K = t_C + 273.15.
        return Scale(5.0 / 9.0, -160.0 / 9.0) if given[0][0] == "degF" else Scale(1.0, -273.15)
    if unit == "degC" and given[0][0].startswith("delta_"):
        raise NotAQuantity("this is a temperature difference", "write the temperature itself, in degC, degF or K")
    factor = _conversion_factor(given, wanted)
    if factor is None:
        raise NotAQuantity(f"{name.strip()} is a unit of another kind",
                           f"give it in {unit_words(unit)}" + (" or a unit that converts to it" if unit != "1" else ""))
    return Scale(factor, 0.0)


def _conversion_factor(given: tuple, wanted: tuple) -> float | None:
    registry = _registry()
    given_unit, wanted_unit = _registry_unit(given), _registry_unit(wanted)
    if given_unit.dimensionality != wanted_unit.dimensionality:
        return None
    return float(registry.Quantity(1.0, given_unit).to(wanted_unit).magnitude)


def _registry_unit(factors: tuple[tuple[str, int], ...]) -> Any:
    """The registry's unit of a product; temperatures in it are differences."""
    registry = _registry()
    product = registry.Unit("")
    for name, power in factors:
        product = product * registry.Unit({"degC": "delta_degC", "degF": "delta_degF"}.get(name, name)) ** power
    return product


@functools.cache
def _registry() -> Any:
    import pint
    registry = pint.UnitRegistry(cache_folder=None)
    registry.define("okta = 0.125")
    registry.define("tenth = 0.1")
    return registry


@functools.lru_cache(maxsize=512)
def _factors(text: str) -> tuple[tuple[str, int], ...]:
    """A unit text as (registry name, power) pairs, sorted.

    Everything after a "/" divides: "W/m2 K" is W/(m2 K), as the trade writes it, and "m2 K/W" has one divisor.
    """
    if text.strip() == "1":
        return ()
    powers: dict[str, int] = {}
    side = 1
    for token in _tokens(text):
        if token == "/":
            side = -1
        elif isinstance(token, tuple):
            powers[token[0]] = powers.get(token[0], 0) + side * token[1]
    return tuple(sorted((name, power) for name, power in powers.items() if power))


def _tokens(text: str) -> list[Any]:
    tidy = unicodedata.normalize("NFKC", text).replace("−", "-").replace("º", "°").replace("μ", "u")
    for pattern, name in _PHRASES:
        tidy = re.sub(pattern, name, tidy, flags=re.IGNORECASE)
    tokens: list[Any] = []
    position = 0
    while position < len(tidy):
        match = _FACTOR.match(tidy, position)
        if not match:
            raise NotAQuantity("the unit cannot be read", "write the unit alone, such as m3/h")
        if match["name"]:
            tokens.append((_known(match["name"]), int(match["raised"] or match["exponent"] or 1)))
        elif match["sign"]:
            tokens.append(match["sign"])
        position = match.end()
    if not _is_one_product(tokens):
        raise NotAQuantity("the unit cannot be read", "write the unit alone, such as m3/h")
    return tokens


def _is_one_product(tokens: list[Any]) -> bool:
    """Names at all, brackets in pairs, no "/" inside brackets, nothing multiplied after a bracketed divisor."""
    signs = "".join(token if isinstance(token, str) else "u" for token in tokens)
    return re.fullmatch(r"(u+|\(u+\))?(/(u+|\(u+\)))*", signs) is not None and "u" in signs


def _known(name: str) -> str:
    choices = _AMBIGUOUS.get(name.lower())
    if choices:
        raise NotAQuantity(f"{name} has more than one meaning", f"write {choices[0]} or {choices[1]}")
    # Small letters are tried last: "mW" must not become MW.
    known = name if name in _NAMES else _SMALL_NAMES.get(name.lower()) if len(name) > 2 else None
    if known is None:
        close = difflib.get_close_matches(name, _NAMES, n=1, cutoff=0.75) if len(name) > 2 else []
        raise NotAQuantity(f"the unit {name} is not known", f"write {close[0]} if that is meant" if close else
                           "write a usual unit, such as m3, L/min, kW or degC")
    return _NAMES[known]


def _finite(value: float) -> float:
    if not math.isfinite(value):
        raise NotAQuantity("this is not a finite number", "write a finite number")
    return value


def _why_not_a_number(text: str) -> tuple[str, str]:
    comma = re.match(r"\s*([+\-−]?[0-9]+),([0-9]+)(?![0-9,.])", text)
    if comma and (len(comma[2]) != 3 or comma[1].lstrip("+-−") == "0"):
        return "numbers are written with a decimal point here", f"write {comma[1]}.{comma[2]} with a point"
    if comma:
        return "the comma can be a decimal mark or part thousands", (
            f"write {comma[1]}.{comma[2]} or {comma[1]}{comma[2]}, whichever is meant")
    if re.match(r"\s*[+\-−]?[0-9]+([,'’ \u00a0\u2009\u202f][0-9]{3})+", text):
        return "thousands are parted by a mark", "write the number without marks between thousands"
    if re.match(r"\s*[+\-−]?(nan|inf)", text, re.IGNORECASE):
        return "this is not a finite number", "write a finite number"
    return "no number at the beginning", "write the number first, then its unit"
