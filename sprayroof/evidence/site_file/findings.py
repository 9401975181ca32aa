"""What the reader must know about a site that passed all checks: contradictions of place, and idle entries."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any

from sprayroof.evidence.site_file.entries import plain
from sprayroof.evidence.site_file.facts import sectors_of
from sprayroof.evidence.site_file.place import TEMPLATE_NAME
from sprayroof.evidence.site_file.values import unusual_values
from sprayroof.results import Finding

# Clock and sun differ by at most about three hours in any zone in use.
ZONE_GAP_H = 3.0
ZONE_GAP_DEG = 10.0
OPEN_SHARE = 0.05  # of the store's surface: a smaller hatch takes up little sun

Parts = dict[str, Any]


def findings_of(parts: Parts, record: dict[str, Any], file: str) -> tuple[Finding, ...]:
    """The findings of a site.

    Parameters
    ----------
    parts : dict
        Section name -> section (tuple of them for lists, None where absent).
    record : dict
        The entries as written.
    file : str
        Path of the site file, as shown.

    Returns
    -------
    tuple of Finding
    """
    found = [_template_finding(parts, file), *unusual_values(parts, file), _emitter_finding(parts, file),
             _open_sun_finding(parts, file), *_zone_findings(parts, file), *_unused_findings(parts, record, file)]
    return tuple(finding for finding in found if finding)


def _template_finding(parts: Parts, file: str) -> Finding | None:
    if parts["site"].name != TEMPLATE_NAME:
        return None
    message = "The site still bears the template's name: its values may be invented ones."
    return Finding("site.template-values", "doubt", message, f"{file}, site.name", {"name": TEMPLATE_NAME},
                   "Every figure may rest on the template's invented values.")


def _emitter_finding(parts: Parts, file: str) -> Finding | None:
    if parts["emitter"]:
        return None
    return Finding("site.no-emitter", "doubt", "No emitter is described, so no cooling can be handed to the rooms.",
                   f"{file}, emitter", {}, "Delivered and useful cooling are zero.")


def _open_sun_finding(parts: Parts, file: str) -> Finding | None:
    """An open store out of doors: the model lets it lose heat to air and sky, and lets no sun in."""
    store = parts["store"]
    share = store.open_share_frac.value
    if share < OPEN_SHARE or store.placement == "indoors":
        return None
    message = (f"{share:.0%} of the store's surface lies open (open_share), and the sun that falls on it or on its "
               "cover is left out.")
    return Finding("store.open-sun", "doubt", message, f"{file}, store.open_share", {"open_share": share},
                   "An open surface in the sun is warmer than reckoned: useful cooling and what comes without spraying "
                   "are flattered. They hold for a shaded store.")


# ---------------------------------------------------------------------------------------- entries that play no part

def idle_entries(parts: Parts) -> dict[str, str]:
    """Dotted name of every entry that plays no part beside the others, lists counted from 1 -> why.

    Parameters
    ----------
    parts : dict
        Section name -> section (tuple of them for lists, None where absent).
    """
    idle: dict[str, str] = {}
    for name, rules in _IDLE.items():
        for path, part in _tables_of(name, parts[name]):
            for is_idle, why, entries in rules:
                if is_idle(part, parts):
                    # the first reason counts
                    idle |= {f"{path}.{entry}": why for entry in entries if f"{path}.{entry}" not in idle}
    return idle


def _tables_of(name: str, part: Any) -> list[tuple[str, Any]]:
    if isinstance(part, tuple):
        return [(f"{name}.{position}", item) for position, item in enumerate(part, start=1)]
    return [(name, part)]


def _unused_findings(parts: Parts, record: dict[str, Any], file: str) -> list[Finding]:
    """A note for each entry that is stated and plays no part beside the other entries."""
    return [Finding("site.entry-unused", "note", f"{entry} is stated, but plays no part: {why}.", f"{file}, {entry}",
                    {"entry": entry}, "None: the entry is not used.")
            for entry, why in idle_entries(parts).items() if is_written(record, entry)]


def is_written(record: dict[str, Any], entry: str) -> bool:
    """Whether the entries as written hold a dotted name, lists counted from 1."""
    table: Any = record
    for part in entry.split("."):
        if isinstance(table, list):
            table = table[int(part) - 1]
        elif isinstance(table, dict) and part in table:
            table = table[part]
        else:
            return False
    return True


# Whether entries are idle (own section, all sections), why, and which.
Rule = tuple[Callable[[Any, Parts], bool], str, tuple[str, ...]]
_COVER = ("cover_share", "cover_gap", "cover_age", "cover_unwashed")
_SCREEN = ("screen_height", "screen_porosity")
_COIL = ("ua", "air_flow", "outdoor_air_share")
_BEAM = ("rated", "rated_difference")
_SURFACE = ("area", "resistance", "minimum_surface")
_METERED = ("file", "column", "unit", "time_column", "time_format", "time_zone", "stamp")
_PANELS = "closed panels stand in for the spray"
_IDLE: dict[str, tuple[Rule, ...]] = {
    "weather": (
        (lambda own, parts: own.format in ("epw", "tmy3", "tmy2"), "the format is no table",
         ("columns", "time_column")),
    ),
    "roof": (
        (lambda own, parts: not own.sprayed, "the roof is not sprayed",
         ("cover", *_COVER, *_SCREEN, "wetted_share", "horizon", "facing")),
        (lambda own, parts: len(set(sectors_of(own.horizon_deg))) == 1, "the horizon is the same all round",
         ("facing",)),
        (lambda own, parts: own.slope_deg.high == 0.0, "the roof is level", ("facing",)),
        (lambda own, parts: parts["panels"] is not None, _PANELS,
         ("cover", *_COVER, "wetted_share", "deck_u", "deck_capacity", "beneath_temperature", "solar_absorptance",
          "emissivity")),
        (lambda own, parts: own.cover == "none", "the roof has no cover", _COVER),
        (lambda own, parts: own.cover == "opaque sheet", "nothing shines through an opaque sheet",
         ("cover_age", "cover_unwashed")),
        (lambda own, parts: own.screen_height_m.high == 0.0, "there is no wind screen", ("screen_porosity",)),
        (lambda own, parts: not own.catches_rain, "its rain does not flow to the store",
         ("runoff_coefficient", "initial_loss")),
    ),
    "spray": (
        (lambda own, parts: own.slowed_to_frac.low == 1.0, "the pump is not slowed", ("static_share",)),
        (lambda own, parts: parts["panels"] is not None, _PANELS,
         ("ridge_share", "drop_size", "fall_height", "nozzle_angle", "drift_base", "drift_wind")),
    ),
    "store": (
        (lambda own, parts: own.placement != "buried", "the store is not buried",
         ("depth", "ground_temperature", "ground_swing", "coldest_day", "soil_conductivity")),
        (lambda own, parts: own.wall_resistance_m2K_W is not None, "the resistance of the wall is stated", ("u",)),
        (lambda own, parts: own.open_share_frac.high == 0.0, "the store is closed (open_share is 0)",
         ("cover_share", "cover_u")),
        (lambda own, parts: own.cover_share_frac.high == 0.0, "no part of the open surface is covered", ("cover_u",)),
        (lambda own, parts: not own.initial_share_frac.given and not own.initial_temperature_C.given,
         "the start is found so that the year closes", ("initial_temperature", "initial_share")),
    ),
    "mains": (
        (lambda own, parts: own.rule != "top up", "the mains does not fill the store",
         ("top_up_below", "top_up_to", "flow", "temperature")),
    ),
    "bleed": (
        (lambda own, parts: own.rule == "none", "no water is bled", ("salt_limit",)),
    ),
    "emitter": (
        (lambda own, parts: own.kind in ("floor", "ceiling"), "it belongs to coils and beams", (*_COIL, *_BEAM)),
        (lambda own, parts: own.kind == "coil", "it belongs to floors, ceilings and beams",
         (*_SURFACE, *_BEAM, "dew_margin")),
        (lambda own, parts: own.kind == "beam", "it belongs to floors, ceilings and coils", (*_SURFACE, *_COIL)),
    ),
    "load": (
        (lambda own, parts: own.kind != "metered", "the load is not metered", _METERED),
        (lambda own, parts: own.kind == "metered", "the load is metered", ("ua", "balance_point", "base", "lag")),
    ),
    "air_conditioner": (
        (lambda own, parts: own.kind == "constant", "this kind does not start and stop",
         ("part_load", "part_load_degradation")),
        (lambda own, parts: own.kind == "chiller" and own.part_load == "of the kind",
         "this kind does not start and stop", ("part_load_degradation",)),
        (lambda own, parts: own.free_cooling_below_C is None, "there is no free cooling", ("free_cooling_order",)),
    ),
}


# ---------------------------------------------------------------------------------------- place and time zone

def _zone_findings(parts: Parts, file: str) -> list[Finding]:
    place = parts["place"]
    findings = []
    offset = _standard_offset_h(place.time_zone)
    gap = (place.longitude_deg / 15.0 - offset + 12.0) % 24.0 - 12.0
    if abs(gap) > ZONE_GAP_H:
        message = (f"At longitude {plain(place.longitude_deg)} the sun and the clock of {place.time_zone} differ by "
                   f"{abs(gap):.1f} h; the sign of the longitude or the zone may be wrong.")
        findings.append(Finding("site.zone-doubtful", "doubt", message, f"{file}, place.longitude",
                                {"longitude_deg": place.longitude_deg, "offset_h": offset, "gap_h": gap},
                                "Nights would be placed at the wrong hours."))
    latitude = _zone_latitudes().get(place.time_zone)
    if latitude is not None and _across_equator(latitude, place.latitude_deg):
        message = (f"Latitude {plain(place.latitude_deg)} and the zone {place.time_zone} lie on opposite sides of the "
                   "equator; the sign of the latitude may be wrong.")
        findings.append(Finding("site.latitude-doubtful", "doubt", message, f"{file}, place.latitude",
                                {"latitude_deg": place.latitude_deg, "zone_latitude_deg": latitude},
                                "Sun and seasons would be those of the other half of the earth."))
    return findings


def _across_equator(one_deg: float, other_deg: float) -> bool:
    return one_deg * other_deg < 0.0 and min(abs(one_deg), abs(other_deg)) > ZONE_GAP_DEG


def _standard_offset_h(zone: str) -> float:
    """The smaller of the zone's offsets in January and July, in hours (standard time wherever clocks go forward)."""
    import datetime
    from zoneinfo import ZoneInfo
    offsets = [datetime.datetime(2025, month, 1, tzinfo=ZoneInfo(zone)).utcoffset() for month in (1, 7)]
    return min(offset.total_seconds() for offset in offsets) / 3600.0


@functools.cache
def _zone_latitudes() -> dict[str, float]:
    """Zone -> latitude in degrees of its principal place, from the time zone database's own table ({} if absent)."""
    from importlib import resources
    try:
        table = (resources.files("tzdata") / "zoneinfo" / "zone.tab").read_text(encoding="utf-8")
    except (ModuleNotFoundError, FileNotFoundError):
        return {}
    rows = (line.split("\t") for line in table.splitlines() if line and not line.startswith("#"))
    # Coordinates are written ISO 6709: sign, degrees in two digits, minutes in two.
    return {row[2]: float(row[1][:3]) + float(row[1][0] + row[1][3:5]) / 60.0 for row in rows if len(row) > 2}
