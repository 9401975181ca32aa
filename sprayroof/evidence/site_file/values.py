"""Values that are possible but unusual beside the others of the site: most often a unit that was not meant."""

from __future__ import annotations

from typing import Any

from sprayroof.evidence.site_file.entries import plain
from sprayroof.evidence.site_file.facts import Fact
from sprayroof.results import Finding

# Bounds of the usual, wide on purpose: what lies outside is a wrong unit far more often than an odd building.
SPRAY_DENSITY_L_MIN_M2 = (0.05, 3.0)
STORE_L_M2 = (5.0, 1000.0)
EMITTER_FLOW_L_MIN_M2 = (0.01, 3.0)
PUMP_W_PER_L_MIN = (0.1, 100.0)
LARGEST_UA_KW_K = 100.0
LARGEST_UA_KW_K_M2 = 0.2  # of cooled floor and ceiling
LARGEST_EMITTER_PER_ROOF = 20.0
LARGEST_ELECTRICITY_PER_KWH = 2.0
LARGEST_WATER_PER_M3 = 50.0
# A screen is a fence on the parapet, a film lies close over the water (its gap is that of a glazing, not of a hall),
# and film for greenhouses is sold for 3 to 6 years. Own judgement, wide.
TALLEST_SCREEN_M = 4.0
WIDEST_COVER_GAP_M = 1.0
OLDEST_COVER_YEARS = 15.0
# The smallest beams on the market give some 100 W.
SMALLEST_BEAM_W = 50.0
# Currencies of much the same worth, for which the two prices above are far too high.
LIKE_EURO = ("AUD", "CAD", "CHF", "EUR", "GBP", "NZD", "SGD", "USD")

Parts = dict[str, Any]


def unusual_values(parts: Parts, file: str) -> list[Finding]:
    """A doubt for each value that does not fit the others.

    Parameters
    ----------
    parts : dict
        Section name -> section (tuple of them for lists, None where absent).
    file : str
        Path of the site file, as shown.
    """
    found = [_density(parts, file), _store(parts, file), _depth(parts, file), _pump(parts, file), _load(parts, file),
             _emitter_area(parts, file), *_emitter_flows(parts, file), *_beams(parts, file), *_prices(parts, file),
             *_covers(parts, file)]
    return [finding for finding in found if finding]


def _three(value: float) -> str:
    """Three digits, without exponent."""
    return plain(float(f"{value:.3g}"))


def _wetted_m2(parts: Parts) -> tuple[float, str]:
    """Area that the water is sent over, and what it is."""
    if parts["panels"] is not None:
        return parts["panels"].area_m2.value, "panels"
    return sum(roof.area_m2.value for roof in parts["roof"] if roof.sprayed), "sprayed roof"


def _doubt(file: str, entry: str, value: float, unit: str, why: str, slip: str, **data: float) -> Finding:
    """The finding: what stands there, why it is unusual, and what to look at."""
    stated = f"{plain(float(f'{value:.6g}'))} {unit}".rstrip()
    return Finding("site.value-unusual", "doubt", f"{entry} is {stated}: {why}. {slip}", f"{file}, {entry}",
                   {"value": value, **data}, "Every figure that rests on this entry would be wrong.")


def _density(parts: Parts, file: str) -> Finding | None:
    area, what = _wetted_m2(parts)
    flow = parts["spray"].flow_L_min.value
    low, high = SPRAY_DENSITY_L_MIN_M2
    if low <= flow / area <= high:
        return None
    message = (f"The flow is {_three(flow / area)} L/min per m² of {what}; {low:g} to {high:g} is usual, "
               "so flow or area may be wrong.")
    return Finding("site.spray-density", "doubt", message, f"{file}, spray.flow",
                   {"flow_L_min": flow, "area_m2": area, "density_L_min_m2": flow / area},
                   "Cooling and evaporation follow the flow and the area.")


def _store(parts: Parts, file: str) -> Finding | None:
    volume = parts["store"].volume_m3.value
    area, what = _wetted_m2(parts)
    depth, (low, high) = 1000.0 * volume / area, STORE_L_M2
    if low <= depth <= high:
        return None
    slip = "Check the store's volume and the area."
    if depth > high and low <= depth / 1000.0 <= high:
        slip = f'If litres are meant, write "{plain(volume)} L".'
    why = f"that is {_three(depth)} L per m² of {what}, and {low:g} to {high:g} is usual"
    return _doubt(file, "store.volume", volume, "m³", why, slip, store_L_m2=depth)


def _depth(parts: Parts, file: str) -> Finding | None:
    store = parts["store"]
    if store.placement != "buried" or not store.depth_m.given or store.depth_m.value >= 0.5 * store.height_m.value:
        return None
    why = f"a store {plain(store.height_m.value)} m high with its middle there would stand out of the ground"
    return _doubt(file, "store.depth", store.depth_m.value, "m", why,
                  "Give the depth of the middle of the store, not of its top.", height_m=store.height_m.value)


def _pump(parts: Parts, file: str) -> Finding | None:
    power, flow = parts["spray"].pump_power_W.value, parts["spray"].flow_L_min.value
    low, high = PUMP_W_PER_L_MIN
    if power == 0.0 or low <= power / flow <= high:
        return None
    slip = f'If kW are meant, write "{plain(power)} kW".' if low <= 1000.0 * power / flow <= high else (
        "Check the pump's power and the flow.")
    why = f"that is {_three(power / flow)} W per L/min of flow, and {low:g} to {high:g} is usual"
    return _doubt(file, "spray.pump_power", power, "W", why, slip, power_W_per_L_min=power / flow)


def _load(parts: Parts, file: str) -> Finding | None:
    if parts["load"].kind == "metered" or parts["load"].ua_kW_K is None:
        return None
    ua = parts["load"].ua_kW_K.value
    whys = [f"more than {LARGEST_UA_KW_K:g} kW/K is unusual"] if ua > LARGEST_UA_KW_K else []
    areas = [_area_m2(emitter) for emitter in parts["emitter"]]
    if areas and all(areas) and ua / sum(areas) > LARGEST_UA_KW_K_M2:
        whys.append(f"that is {_three(ua / sum(areas))} kW/K per m² of cooled floor and ceiling, and more than "
                    f"{LARGEST_UA_KW_K_M2:g} is unusual")
    if not whys:
        return None
    slip = f'If W/K are meant, write "{plain(ua)} W/K".'
    return _doubt(file, "load.ua", ua, "kW/K", " and ".join(whys), slip, ua_kW_K=ua)


def _area_m2(emitter: Any) -> float:
    """Cooled area of a floor or ceiling; 0 for what has none."""
    if emitter.kind not in ("floor", "ceiling") or emitter.area_m2 is None:
        return 0.0
    return emitter.area_m2.value


def _emitter_area(parts: Parts, file: str) -> Finding | None:
    areas = {f"emitter.{number}.area": _area_m2(emitter) for number, emitter in enumerate(parts["emitter"], start=1)}
    roofs = sum(roof.area_m2.value for roof in parts["roof"])
    whole = sum(areas.values())
    if whole <= LARGEST_EMITTER_PER_ROOF * roofs:
        return None
    entry = max(areas, key=areas.get)
    why = f"the cooled area is {_three(whole / roofs)} times that of all roofs"
    return _doubt(file, entry, areas[entry], "m²", why, f'If square feet are meant, write "{plain(areas[entry])} ft2".',
                  emitters_m2=whole, roofs_m2=roofs)


def _emitter_flows(parts: Parts, file: str) -> list[Finding]:
    found, (low, high) = [], EMITTER_FLOW_L_MIN_M2
    for number, emitter in enumerate(parts["emitter"], start=1):
        area, flow = _area_m2(emitter), emitter.flow_L_min.value
        if not area or low <= flow / area <= high:
            continue
        # Units whose number this could be: the flow is then usual.
        factor = {"L/h": 1.0 / 60.0, "m3/h": 1000.0 / 60.0, "L/s": 60.0}
        meant = [f'"{plain(flow)} {unit}"' for unit, size in factor.items() if low <= size * flow / area <= high]
        slip = f"If another unit is meant, write {' or '.join(meant)}." if meant else "Check the flow and the area."
        why = f"that is {_three(flow / area)} L/min per m² of cooled area, and {low:g} to {high:g} is usual"
        found.append(_doubt(file, f"emitter.{number}.flow", flow, "L/min", why, slip, flow_L_min_m2=flow / area))
    return found


def _beams(parts: Parts, file: str) -> list[Finding]:
    """Beams whose rated output is too small to be that of a beam."""
    small = {number: emitter.rated_W.value for number, emitter in enumerate(parts["emitter"], start=1)
             if emitter.kind == "beam" and emitter.rated_W is not None and emitter.rated_W.value < SMALLEST_BEAM_W}
    return [_doubt(file, f"emitter.{number}.rated", rated, "W", "a single beam gives some 100 W and more",
                   f'If kW are meant, write "{plain(rated)} kW".') for number, rated in small.items()]


def _covers(parts: Parts, file: str) -> list[Finding]:
    """Screens and covers of unlikely size or age, and covers over no part of their roof."""
    found = []
    for number, roof in enumerate(parts["roof"], start=1):
        path = f"roof.{number}"
        if not roof.sprayed or parts["panels"] is not None:
            continue
        if roof.screen_height_m.value > TALLEST_SCREEN_M:
            found.append(_height_of_screen(roof.screen_height_m.value, path, file))
        if roof.cover != "none":
            found += _cover(roof, path, file)
    return found


def _height_of_screen(height: float, path: str, file: str) -> Finding:
    return _doubt(file, f"{path}.screen_height", height, "m",
                  f"a wind screen on a roof is seldom more than {TALLEST_SCREEN_M:g} m high",
                  f"{_if_feet(height, TALLEST_SCREEN_M)}Give its height above the wet roof, not above ground.")


def _if_feet(value: float, largest_m: float) -> str:
    return f'If feet are meant, write "{plain(value)} ft". ' if value * 0.3048 <= largest_m else ""


def _cover(roof: Any, path: str, file: str) -> list[Finding]:
    found, gap, age = [], roof.cover_gap_m, roof.cover_age_years.value
    if roof.cover_share_frac.high == 0.0:
        found.append(_doubt(file, f"{path}.cover_share", 0.0, "", f"a cover ({roof.cover}) is stated, yet no part of "
                            "the roof lies under it", 'State the covered share, or write cover = "none".'))
    if gap is not None and gap.value > WIDEST_COVER_GAP_M:
        found.append(_doubt(file, f"{path}.cover_gap", gap.value, "m",
                            f"a cover mostly lies within {WIDEST_COVER_GAP_M:g} m of the water",
                            f"{_if_feet(gap.value, WIDEST_COVER_GAP_M)}Give the air between water and cover."))
    if roof.cover != "opaque sheet" and age > OLDEST_COVER_YEARS:
        found.append(_doubt(file, f"{path}.cover_age", age, "years", f"a {roof.cover.split()[-1]} in the open seldom "
                            f"lasts {OLDEST_COVER_YEARS:g} years",
                            f'If months are meant, write "{plain(age)} months".'))
    return found


def _prices(parts: Parts, file: str) -> list[Finding]:
    currency = parts["site"].currency
    if currency not in LIKE_EURO:
        return []
    prices = parts["prices"]
    rows: tuple[tuple[str, Fact | None, str, float], ...] = (
        ("prices.electricity", prices.electricity_per_kWh, "kWh", LARGEST_ELECTRICITY_PER_KWH),
        ("prices.water", prices.water_per_m3, "m³", LARGEST_WATER_PER_M3))
    return [_doubt(file, entry, price.value, f"{currency}/{per}", f"more than {largest:g} {currency}/{per} is unusual",
                   f"If hundredths of a {currency} are meant, write {plain(price.value / 100.0)}.")
            for entry, price, per, largest in rows if price is not None and price.value > largest]
