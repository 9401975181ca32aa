"""The site file, second half: spray, store, water uses, cooling side, machines, prices and safety."""

from __future__ import annotations

from typing import Any, ClassVar

from sprayroof.evidence.site_file.entries import Section, declared
from sprayroof.evidence.site_file.entry_numbers import MonthsEntry, WholeEntry, fact, number
from sprayroof.evidence.site_file.entry_words import (
    ChoiceEntry,
    ClockEntry,
    DayEntry,
    MonthDay,
    TextEntry,
    TruthEntry,
    ZoneEntry,
)
from sprayroof.evidence.site_file.facts import Fact, plus_minus, share

DAYS = ("all", "weekdays", "weekends")
NO_STORE_LIMIT_C = -99.0
# A floating sheet passes some 10 W/(m2 K) (own judgement: wind and radiation on its top, 5 to 15), a lid over a layer
# of air about 4, 25 mm of floating foam about 1.
STORE_COVER_U = 5.0
# [P] Lift and filters of a pump that sprays a roof of one or two storeys; the rest of its head is pipes and nozzles.
STATIC_SHARE = 0.4
# Loss by starting and stopping of machines that were not tested: AHRI 210/240 (C_D), EN 14825 (1 - Cc).
UNTESTED_LINE, UNTESTED_EN14825 = 0.25, 0.1
COOLED_SURFACES = ("floor", "ceiling")
_MINIMUM_SURFACE_C = {"floor": 19.0, "ceiling": 17.0}
_WHOLE_YEAR = (MonthDay(1, 1), MonthDay(12, 31))
# What people say for the places of a store and for what cools a room.
_PLACES = {**dict.fromkeys(("underground", "below ground", "in ground", "in the ground", "sunk", "earth"), "buried"),
           **dict.fromkeys(("outside", "above ground", "aboveground", "open air", "garden", "yard"), "outdoors"),
           **dict.fromkeys(("inside", "cellar", "basement", "plant room"), "indoors")}
_SHAPES = {**dict.fromkeys(("horizontal cylinder", "lying", "horizontal"), "lying cylinder"),
           **dict.fromkeys(("upright cylinder", "round", "vertical cylinder"), "cylinder"),
           **dict.fromkeys(("square", "rectangular", "cuboid"), "box")}
_EMITTERS = {**dict.fromkeys(("underfloor", "slab", "screed"), "floor"),
             **dict.fromkeys(("chilled panel", "chilled panels", "radiant panel", "radiant panels"), "ceiling"),
             **dict.fromkeys(("fancoil", "air handler", "air handling unit", "ahu"), "coil"),
             "induction unit": "beam"}


def _share_of_volume(part: float) -> Any:
    def derive(own: dict[str, Any], whole: dict[str, Any]) -> float | None:
        volume = own.get("volume_m3")
        return None if volume is None else part * volume.value
    return derive


def _above_dead(part: float) -> Any:
    """The dead content plus a share of the store's volume."""
    def derive(own: dict[str, Any], whole: dict[str, Any]) -> float | None:
        volume, dead = whole["store"].get("volume_m3"), whole["store"].get("dead_m3")
        return None if volume is None or dead is None else dead.value + part * volume.value
    return derive


def _store_cover_u(own: dict[str, Any], whole: dict[str, Any]) -> float | None:
    """Only where there is a cover: what is not there is not drawn."""
    covered = own.get("cover_share_frac")
    return STORE_COVER_U if covered is not None and covered.high > 0.0 else None


def _static_share(own: dict[str, Any], whole: dict[str, Any]) -> float | None:
    """Only where the pump is slowed: what plays no part is not drawn."""
    slowed = own.get("slowed_to_frac")
    return STATIC_SHARE if slowed is not None and slowed.low < 1.0 else None


def _part_load_loss(own: dict[str, Any], whole: dict[str, Any]) -> float:
    """What either rule takes where a machine was not tested: C_D 0.25, or 1 - Cc with Cc 0.9."""
    return UNTESTED_EN14825 if own.get("part_load") == "EN 14825" else UNTESTED_LINE


def _coldest_day(own: dict[str, Any], whole: dict[str, Any]) -> float | None:
    """Early February in the north, half a year later in the south."""
    latitude = whole["place"].get("latitude_deg")
    return None if latitude is None else (35.0 if latitude >= 0.0 else 217.0)


def _day(entry: str, meaning: str, default: MonthDay) -> Any:
    return declared(DayEntry(entry, meaning, default=default, more="A season may run over the end of the year."))


def _clock(entry: str, meaning: str, default: float | None = None) -> Any:
    return declared(ClockEntry(entry, meaning, default=default, example=default,
                               more="Local clock; a time of day later than the end runs over midnight."))


_DRIVES = {**dict.fromkeys(("constant", "one speed", "single speed", "fixed speed"), "fixed"),
           **dict.fromkeys(("variable speed", "vsd", "vfd", "inverter", "frequency converter"), "variable")}


class Spray(Section):
    """[spray]: the spray on the roof and its pump."""

    title: ClassVar[str] = "The spray on the roof and its pump"
    affects: ClassVar[str] = "cooling, evaporation, drift and the system's own electricity"

    flow_L_min: Fact = fact(
        "flow", "L/min", "Flow of all nozzles together", spread=share(0.10), bounds=(0.5, 100_000.0), example=210)
    ridge_share_frac: Fact = fact(
        "ridge_share", "1", "Share of the flow that is fed along the ridge, not sprayed over the roof", default=0.0,
        bounds=(0.0, 1.0))
    drop_size_mm: Fact = fact(
        "drop_size", "mm", "Sauter mean diameter of the drops", default=1.5, default_range=(0.8, 2.5),
        bounds=(0.3, 6.0))
    fall_height_m: Fact = fact("fall_height", "m", "From the highest point of the jets down to the roof", default=1.0,
                               default_range=(0.5, 1.5), bounds=(0.0, 5.0),
                               more="Nozzles are taken to stand near the roof's level: drops rise as far as they fall.")
    # [P] Default and range are own judgement: nozzles of lawns and roofs throw at 15 to 60 degrees.
    nozzle_angle_deg: Fact = fact(
        "nozzle_angle", "deg", "Angle of the jets over the horizontal where they leave the nozzles", default=30.0,
        default_range=(15.0, 60.0), bounds=(5.0, 90.0))
    pump_power_W: Fact = fact("pump_power", "W", "Electric power of the spray pump", spread=share(0.10),
                              bounds=(0.0, 500_000.0), example=750)
    slowed_to_frac: Fact = fact(
        "slowed_to", "1", "Share of the flow to which a variable-speed drive slows the pump", default=1.0,
        bounds=(0.2, 1.0), more="flow and pump_power stay those at full speed.")
    static_share_frac: Fact | None = fact(
        "static_share", "1", "Slowed pump: share of its head at full flow that stays whatever the flow, such as lift",
        derive=_static_share, derived="0.4 where the pump is slowed", spread=plus_minus(0.2), bounds=(0.0, 1.0),
        example=0.4)
    pump_heat_share_frac: Fact = fact(
        "pump_heat_share", "1", "Share of the pump's power that ends as heat in the water", default=0.8,
        default_range=(0.5, 1.0), bounds=(0.0, 1.0))
    drift_base_frac: Fact = fact(
        "drift_base", "1", "Share of the sprayed water blown away in light wind", default=0.003,
        default_range=(0.0, 0.008), bounds=(0.0, 0.2))
    drift_wind_s2_m2: Fact = fact("drift_wind", "s2/m2", "Further share blown away per (m/s)² of wind above 1 m/s",
                                  default=0.003, default_range=(0.0, 0.008), bounds=(0.0, 0.1))


class Controls(Section):
    """[controls]: when the spray may run. Settings, not facts: they have no range."""

    title: ClassVar[str] = "When the spray may run"
    affects: ClassVar[str] = "hours of spraying, and with them cooling, water and pump electricity"

    season_from: MonthDay = _day("season_from", "First day of the spraying season", _WHOLE_YEAR[0])
    season_to: MonthDay = _day("season_to", "Last day of the spraying season", _WHOLE_YEAR[1])
    window_from_h: float = _clock("window_from", "Spraying starts no earlier than this", 20.0)
    window_to_h: float = _clock("window_to", "Spraying ends by this", 7.0)
    sense: str = declared(ChoiceEntry(
        "sense", "What the controller looks at to start and stop", default="return water",
        choices=("return water", "wet bulb", "air", "clock")))
    start_difference_K: float = number(
        "start_difference", "K", "Starts when the store is this much warmer than what is sensed", default=1.0,
        bounds=(-5.0, 20.0))
    stop_difference_K: float = number("stop_difference", "K", "Stops when the difference falls below this", default=0.3,
                                      bounds=(-5.0, 20.0))
    stop_store_C: float = number(
        "stop_store", "degC", "Stops when the store is as cold as this", default=NO_STORE_LIMIT_C, derived="none",
        bounds=(NO_STORE_LIMIT_C, 60.0), example=14)
    lockout_rain_mm_h: float = number("lockout_rain", "mm/h", "No spraying in heavier rain than this", default=0.5,
                                      bounds=(0.0, 1000.0))
    lockout_wind_m_s: float = number("lockout_wind", "m/s", "No spraying in stronger wind than this", default=8.0,
                                     bounds=(0.0, 100.0))
    lockout_frost_C: float = number("lockout_frost", "degC", "No spraying in colder air than this", default=3.0,
                                    bounds=(-40.0, 30.0))


class Store(Section):
    """[store]: the tank that the spray is pumped from and runs back to."""

    title: ClassVar[str] = "The store: the tank that the water is pumped from and runs back to"
    affects: ClassVar[str] = "how much cold is kept for the day, rain kept, overflow and mains water"

    volume_m3: Fact = fact(
        "volume", "m3", "Content when full", spread=share(0.05), bounds=(0.2, 1_000_000.0), example=60)
    dead_m3: Fact = fact("dead", "m3", "Content below the pump's intake", derive=_share_of_volume(0.05),
                         derived="5 % of volume", bounds=(0.0, 1_000_000.0), example=3)
    reserve_m3: Fact = fact("reserve", "m3", "Content below which spraying stops", derive=_share_of_volume(0.15),
                            derived="15 % of volume", bounds=(0.0, 1_000_000.0), example=9)
    shape: str = declared(ChoiceEntry(
        "shape", "Shape of the store: upright cylinder, box on a square plan, or cylinder lying level", default="box",
        choices=("cylinder", "box", "lying cylinder"), meant=_SHAPES))
    height_m: Fact = fact("height", "m", "Depth of water when full (of a lying cylinder: its diameter)", default=2.0,
                          bounds=(0.1, 50.0))
    u_W_m2K: Fact = fact(
        "u", "W/(m2 K)", "Heat transfer through the store's walls", default=1.0, default_range=(0.3, 3.0),
        bounds=(0.02, 30.0))
    wall_resistance_m2K_W: Fact | None = fact(
        "wall_resistance", "m2 K/W", "Resistance of the wall alone, in place of u", default=None, spread=share(0.3),
        bounds=(0.0, 20.0), example=0.5,
        more="Water and outside are then added: outdoors by the wind of every step, so that a thin wall in the wind "
             "loses more than one in the lee.")
    placement: str = declared(ChoiceEntry("placement", "Where the store stands", default="outdoors",
                                          choices=("buried", "outdoors", "indoors"), meant=_PLACES))
    ground_temperature_C: Fact = fact(
        "ground_temperature", "degC", "Buried: yearly mean temperature of the ground", default=15.0,
        spread=plus_minus(3.0), bounds=(-20.0, 40.0))
    depth_m: Fact = fact("depth", "m", "Buried: depth of the middle of the store", default=2.0, bounds=(0.5, 30.0))
    ground_swing_K: Fact = fact(
        "ground_swing", "K", "Buried: half the yearly swing of the ground's surface temperature", default=10.0,
        spread=plus_minus(3.0), bounds=(0.0, 30.0))
    coldest_day: float = number(
        "coldest_day", "day", "Buried: day of the year on which the ground's surface is coldest", derive=_coldest_day,
        derived="35 north, 217 south of the equator", bounds=(1.0, 366.0), example=35, suffix="")
    soil_conductivity_W_mK: Fact = fact("soil_conductivity", "W/(m K)", "Buried: heat conduction of the soil",
                                        default=1.5, default_range=(0.7, 2.3), bounds=(0.1, 5.0))
    open_share_frac: Fact = fact("open_share", "1", "Share of the store's water surface open to the air", default=0.0,
                                 bounds=(0.0, 1.0))
    cover_share_frac: Fact = fact(
        "cover_share", "1", "Open store: share of its open surface under a floating cover or a lid", default=0.0,
        bounds=(0.0, 1.0))
    cover_u_W_m2K: Fact | None = fact(
        "cover_u", "W/(m2 K)", "Open store: heat transfer from the water through its cover to the air",
        derive=_store_cover_u, derived="5 under a cover", spread=share(0.8), bounds=(0.02, 30.0), example=5,
        more="About 10 for a thin floating sheet, 4 for a lid over a layer of air, 1 for 25 mm of floating foam.")
    nodes: int = declared(WholeEntry("nodes", "Layers of the store in the calculation; 1 is fully mixed", default=1,
                                     bounds=(1, 8)))
    initial_temperature_C: Fact = fact("initial_temperature", "degC", "Temperature at the start", default=20.0,
                                       bounds=(0.0, 60.0))
    initial_share_frac: Fact = fact("initial_share", "1", "Content at the start as a share of volume", default=0.7,
                                    bounds=(0.0, 1.0))
    leak_L_day: Fact = fact("leak", "L/day", "Water lost by leaks of store, pipes and roof", default=0.0,
                            default_range=(0.0, 20.0), spread=share(0.5), bounds=(0.0, 1_000_000.0))


class Catchment(Section):
    """[[catchment]]: a further roof, not sprayed, whose rain flows to the store."""

    title: ClassVar[str] = "A further roof, not described above, whose rain flows to the store (repeat for each)"
    affects: ClassVar[str] = "rain caught and mains water"

    name: str = declared(TextEntry("name", "Name of the roof", required=True, example="shed roof"))
    area_m2: Fact = fact(
        "area", "m2", "Area seen from above", spread=share(0.03), bounds=(1.0, 1_000_000.0), example=150)
    runoff_coefficient_frac: Fact = fact("runoff_coefficient", "1", "Share of the rain that runs off", default=0.82,
                                         default_range=(0.62, 0.95), spread=plus_minus(0.06), bounds=(0.05, 1.0))
    initial_loss_mm: Fact = fact("initial_loss", "mm", "Rain lost before any runs off", default=0.5,
                                 spread=share(0.6), bounds=(0.0, 20.0))


class RainSide(Section):
    """[rain]: what happens to rain between the roofs and the store."""

    title: ClassVar[str] = "Rain on its way to the store"
    affects: ClassVar[str] = "rain caught, mains water and salts"

    first_flush_mm: Fact = fact("first_flush", "mm", "First rain that is sent away, over the catchment", default=0.5,
                                bounds=(0.0, 20.0))
    dry_spell_h: Fact = fact("dry_spell", "h", "Dry hours after which the first flush is sent away again", default=72.0,
                             bounds=(0.0, 5000.0))
    flush_takes_spray: bool = declared(TruthEntry(
        "flush_takes_spray", "Whether the first-flush diverter also takes returning spray water", default=False))
    filter_efficiency_frac: Fact = fact(
        "filter_efficiency", "1", "Share of the water that passes the filter", default=0.9, default_range=(0.8, 1.0),
        bounds=(0.05, 1.0))
    salts_mg_L: Fact = fact(
        "salts", "mg/L", "Dissolved salts in rain off the roofs", default=20.0, default_range=(5.0, 60.0),
        bounds=(0.0, 5000.0))


class Use(Section):
    """[[use]]: another user of the stored water."""

    title: ClassVar[str] = "Another user of the stored water, such as toilets (repeat for each)"
    affects: ClassVar[str] = "mains water, cold drawn away, and what part of mains water spraying causes"

    name: str = declared(TextEntry("name", "Name of the user", required=True, example="toilets"))
    draw_L_day: Fact = fact(
        "draw", "L/day", "Water drawn on a day of use", spread=share(0.15), bounds=(0.0, 10_000_000.0), example=900)
    from_h: float = _clock("from", "Drawn from this time of day on", 7.0)
    to_h: float = _clock("to", "Drawn until this time of day", 19.0)
    days: str = declared(ChoiceEntry("days", "On which days", default="all", choices=DAYS))
    priority: int = declared(WholeEntry(
        "priority", "Rank when water is short; 1 is served first", default=1, bounds=(1, 9)))


class Mains(Section):
    """[mains]: how mains water makes up for missing rain."""

    title: ClassVar[str] = "Mains water for what rain does not bring"
    affects: ClassVar[str] = "mains water, salts, and heat that warmer make-up brings"

    rule: str = declared(ChoiceEntry(
        "rule", "Mains fills the store (top up), serves the users past it (bypass), or is absent (none)",
        default="top up", choices=("top up", "bypass", "none")))
    top_up_below_m3: float = number("top_up_below", "m3", "Filling starts below this content", derive=_above_dead(0.05),
                                    derived="dead + 5 % of volume", bounds=(0.0, 1_000_000.0), example=6)
    top_up_to_m3: float = number("top_up_to", "m3", "Filling ends at this content", derive=_above_dead(0.10),
                                 derived="dead + 10 % of volume", bounds=(0.0, 1_000_000.0), example=9)
    flow_L_min: Fact = fact("flow", "L/min", "Flow while filling", default=30.0, bounds=(0.1, 100_000.0))
    temperature_C: tuple[float, ...] = declared(MonthsEntry(
        "temperature", "Temperature of mains water, January to December", default=(15.0,) * 12, unit="degC",
        bounds=(0.0, 45.0), example=15))
    salts_mg_L: Fact = fact(
        "salts", "mg/L", "Dissolved salts in mains water", default=300.0, default_range=(150.0, 600.0),
        bounds=(0.0, 5000.0))


class Bleed(Section):
    """[bleed]: water let go on purpose to hold down the salts."""

    title: ClassVar[str] = "Water let go on purpose to hold down the salts"
    affects: ClassVar[str] = "bled water and mains water"

    rule: str = declared(ChoiceEntry("rule", "No bleeding, or bleeding at a salt limit", default="none",
                                     choices=("none", "salts")))
    salt_limit_mg_L: float = number("salt_limit", "mg/L", "Salts at which water is let go", default=1000.0,
                                    bounds=(10.0, 50_000.0))


class Emitter(Section):
    """[[emitter]]: floor, ceiling, beams or coil that hands the cold to the rooms."""

    title: ClassVar[str] = "What hands the cold to the rooms: floor, ceiling, beams or coil (repeat for each)"
    affects: ClassVar[str] = "how much of the stored cold the rooms can take up, and the circulation pump's electricity"

    name: str = declared(TextEntry("name", "Name", required=True, example="classroom floor"))
    kind: str = declared(ChoiceEntry(
        "kind", "Kind", required=True, choices=(*COOLED_SURFACES, "coil", "beam"), example="floor", meant=_EMITTERS))
    area_m2: Fact | None = fact("area", "m2", "Cooled area", default=None, needed="floor and ceiling",
                                spread=share(0.03), bounds=(1.0, 200_000.0), example=380)
    resistance_m2K_W: Fact = fact(
        "resistance", "m2 K/W", "Resistance from the water to the surface (floor and ceiling)", default=0.1,
        default_range=(0.05, 0.15), bounds=(0.001, 2.0))
    ua_W_K: Fact | None = fact(
        "ua", "W/K", "Heat transfer of the coil", default=None, needed="a coil", spread=share(0.15),
        bounds=(1.0, 1_000_000.0), example=1500)
    air_flow_m3_h: Fact | None = fact("air_flow", "m3/h", "Air through the coil", default=None, needed="a coil",
                                      spread=share(0.10), bounds=(1.0, 10_000_000.0), example=4000)
    rated_W: Fact | None = fact("rated", "W", "Output of the chilled beams at the rated difference", needed="a beam",
                                default=None, spread=share(0.10), bounds=(1.0, 10_000_000.0), example=4000)
    rated_difference_K: Fact = fact("rated_difference", "K", "Room less mean water at the rated output (beam)",
                                    default=8.0, bounds=(1.0, 20.0))
    outdoor_air_share_frac: Fact = fact("outdoor_air_share", "1", "Share of outdoor air in the coil's air", default=0.0,
                                        bounds=(0.0, 1.0))
    flow_L_min: Fact = fact("flow", "L/min", "Water flow", spread=share(0.10), bounds=(0.1, 100_000.0), example=60)
    minimum_supply_C: float = number("minimum_supply", "degC", "Coldest water let in", default=16.0, bounds=(1.0, 30.0))
    minimum_surface_C: float | None = number(
        "minimum_surface", "degC", "Coldest surface allowed (floor and ceiling)",
        derive=lambda own, whole: _MINIMUM_SURFACE_C.get(own.get("kind")),
        derived="floor 19, ceiling 17, none for coil and beam", bounds=(1.0, 30.0), example=19)
    dew_margin_K: float = number("dew_margin", "K", "Water is kept this much above the room's dew point", default=1.5,
                                 bounds=(-5.0, 10.0))
    pump_power_W: Fact = fact("pump_power", "W", "Electric power of the circulation pump (0 if it has none of its own)",
                              spread=share(0.10), bounds=(0.0, 500_000.0), example=120)
    pump_drive: str = declared(ChoiceEntry(
        "pump_drive", "Circulation pump at one speed, or slowed until the rooms get just what they need",
        default="fixed", choices=("fixed", "variable"), meant=_DRIVES))


class Room(Section):
    """[room]: the air of the cooled rooms."""

    title: ClassVar[str] = "The cooled rooms"
    affects: ClassVar[str] = "heat taken up by floors, ceilings, beams and coils, and the guard against dew"

    temperature_C: Fact = fact(
        "temperature", "degC", "Room temperature while cooled", default=25.0, spread=plus_minus(1.0),
        bounds=(10.0, 40.0))
    humidity_frac: Fact = fact("humidity", "1", "Relative humidity of the room", default=0.55, spread=plus_minus(0.08),
                               bounds=(0.05, 1.0))


class Load(Section):
    """[load]: the building's demand for cooling."""

    title: ClassVar[str] = "The building's demand for cooling"
    affects: ClassVar[str] = "how much cooling is useful, and the air conditioner's electricity"
    called_for: ClassVar[tuple[str, ...]] = ("ua", "balance_point")

    kind: str = declared(ChoiceEntry(
        "kind", "Demand from outdoor temperature, or from a metered file", default="balance point",
        choices=("balance point", "metered")))
    ua_kW_K: Fact | None = fact("ua", "kW/K", "Demand per kelvin above the balance point", default=None,
                                needed='kind "balance point"', spread=share(0.20), bounds=(0.0, 100_000.0), example=2.2)
    balance_point_C: Fact | None = fact(
        "balance_point", "degC", "Outdoor temperature above which cooling is needed", default=None,
        needed='kind "balance point"', spread=plus_minus(1.5), bounds=(-10.0, 40.0), example=17)
    base_kW: Fact = fact("base", "kW", "Demand at any outdoor temperature during the hours of use", default=0.0,
                         spread=share(0.20), bounds=(0.0, 1_000_000.0))
    lag_h: Fact = fact(
        "lag", "h", "Hours by which the demand follows the outdoor temperature", default=3.0, bounds=(0.0, 48.0))
    sensible_share_frac: Fact = fact("sensible_share", "1", "Sensible share of the demand (the rest is drying of air)",
                                     default=0.75, default_range=(0.65, 0.9), bounds=(0.05, 1.0))
    from_h: float = _clock("from", "Demand from this time of day on", 8.0)
    to_h: float = _clock("to", "Demand until this time of day", 18.0)
    days: str = declared(ChoiceEntry("days", "On which days", default="all", choices=DAYS))
    season_from: MonthDay = _day("season_from", "First day of the cooling season", _WHOLE_YEAR[0])
    season_to: MonthDay = _day("season_to", "Last day of the cooling season", _WHOLE_YEAR[1])
    maximum_kW: Fact | None = fact(
        "maximum", "kW", "Largest demand that can be served", default=None, spread=share(0.10),
        bounds=(0.1, 1_000_000.0), example=45)
    file: str | None = declared(TextEntry(
        "file", "Metered: path of the file, relative to this one", needed='kind "metered"', example="logs/load.csv"))
    column: str | None = declared(TextEntry(
        "column", "Metered: heading of the column", needed='kind "metered"', example="cooling"))
    unit: str | None = declared(TextEntry("unit", "Metered: unit of the column", needed='kind "metered"', example="kW"))
    time_column: str | None = declared(TextEntry(
        "time_column", "Metered: heading of the time column", needed='kind "metered"', example="time"))
    time_format: str | None = declared(TextEntry(
        "time_format", "Metered: form of the times in strptime codes (absent: found out)", example="%d.%m.%Y %H:%M"))
    time_zone: str | None = declared(ZoneEntry(
        "time_zone", "Metered: time zone of the times, IANA name or UTC", needed='kind "metered"',
        example="America/New_York"))
    stamp: str = declared(ChoiceEntry("stamp", "Metered: whether a time marks the end or the start of its interval",
                                      default="end", choices=("end", "start")))


_PART_LOADS = {**dict.fromkeys(("own", "default", "curve"), "of the kind"), "PLF": "line", "plf": "line",
               "EN14825": "EN 14825", "en14825": "EN 14825"}


class AirConditioner(Section):
    """[air_conditioner]: the machine that would otherwise do the cooling."""

    title: ClassVar[str] = "The machine that would otherwise do the cooling"
    affects: ClassVar[str] = "electricity avoided, money and carbon"

    kind: str = declared(ChoiceEntry("kind", "Packaged unit, constant efficiency, water chiller, or inverter unit",
                                     default="packaged", choices=("packaged", "constant", "chiller", "inverter")))
    rated_cop: Fact = fact(
        "rated_cop", "kWh/kWh", "Cooling per electricity at rating (COP)", default=3.0, spread=share(0.10),
        bounds=(0.5, 15.0), suffix="")
    rated_capacity_kW: Fact | None = fact("rated_capacity", "kW", "Cooling at rating", default=None,
                                          derived="the largest demand of the year", spread=share(0.10),
                                          bounds=(0.1, 1_000_000.0), example=50)
    part_load: str = declared(ChoiceEntry(
        "part_load", "Rule for the efficiency at part load", default="of the kind",
        choices=("of the kind", "line", "EN 14825"), meant=_PART_LOADS,
        more="Of the kind: packaged and inverter by the line 1 - C_D (1 - load share), a chiller by its published "
             "curve. EN 14825: CR/(Cc CR + 1 - Cc). An inverter unit follows the rule only where it starts and stops."))
    part_load_degradation_frac: Fact = fact(
        "part_load_degradation", "1", "Loss by starting and stopping: C_D of the line, 1 - Cc of EN 14825",
        derive=_part_load_loss, derived="0.25 (0.05 to 0.3); by EN 14825 0.1", default=UNTESTED_LINE,
        default_range=(0.05, 0.3), bounds=(0.0, 0.5), example=0.25)
    free_cooling_below_C: float | None = number(
        "free_cooling_below", "degC", "Outdoor air colder than this cools the rooms for nothing", default=None,
        needed="free_cooling_flow", derived="no free cooling", bounds=(-30.0, 30.0), example=14)
    free_cooling_flow_m3_h: Fact | None = fact(
        "free_cooling_flow", "m3/h", "Free cooling: outdoor air that can be blown in", default=None,
        derived="enough for the whole demand", spread=share(0.10), bounds=(1.0, 10_000_000.0), example=4000,
        more="With it outdoor air takes no more of the sensible demand than its flow carries; drying is left to the "
             "machine.")
    free_cooling_order: str = declared(ChoiceEntry(
        "free_cooling_order", "Free cooling: whether the stored water or outdoor air serves the rooms first",
        default="water first", choices=("water first", "air first"),
        more="Either way nothing that outdoor air would have done counts as useful. Air first keeps the cold in the "
             "store."))


class Panels(Section):
    """[panels]: closed panels instead of the spray."""

    title: ClassVar[str] = "Closed panels that the water runs through instead of being sprayed, if there are any"
    affects: ClassVar[str] = "cooling; no water is lost"

    area_m2: Fact = fact("area", "m2", "Area of all panels", spread=share(0.03), bounds=(0.1, 200_000.0), example=200)
    kind: str = declared(ChoiceEntry("kind", "Bare, or under a clear film that keeps the wind off", default="bare",
                                     choices=("bare", "covered")))
    plate: str = declared(ChoiceEntry("plate", "Ordinary paint, or a plate selective for the sky's window",
                                      default="ordinary", choices=("ordinary", "selective")))
    tube_pitch_m: Fact | None = fact(
        "tube_pitch", "m", "Distance of the tubes from middle to middle", default=None, spread=share(0.05),
        needed="the panels' make", derived="the plate efficiency factor is taken as 0.90", bounds=(0.01, 1.0),
        example=0.12, more="With tube_diameter and plate_conduction the factor follows from the panels' make.")
    tube_diameter_m: Fact | None = fact(
        "tube_diameter", "m", "Outer diameter of the tubes", default=None, spread=share(0.05),
        needed="the panels' make", derived="as tube_pitch", bounds=(0.003, 0.2), example=0.012)
    plate_conduction_W_K: Fact | None = fact(
        "plate_conduction", "W/K", "Conductivity of the plate times its thickness", default=None, spread=share(0.2),
        needed="the panels' make", derived="as tube_pitch", bounds=(0.0001, 10.0), example=0.12,
        more="Aluminium of 0.5 mm is about 0.1, copper of 0.3 mm 0.12, plastic of 2 mm 0.0004.")


class Booster(Section):
    """[booster]: a chiller on the same store."""

    title: ClassVar[str] = "A chiller that cools the same store, if there is one"
    affects: ClassVar[str] = ("cold in the store that is never counted as the roof's; what spraying spares it counts "
                              "as electricity avoided")

    capacity_kW: Fact = fact(
        "capacity", "kW", "Cooling power", spread=share(0.10), bounds=(0.1, 1_000_000.0), example=15)
    cop: Fact = fact(
        "cop", "kWh/kWh", "Cooling per electricity (COP)", default=3.0, spread=share(0.10), bounds=(0.5, 15.0),
        suffix="")
    setpoint_C: float = number("setpoint", "degC", "Cools the store down to this", bounds=(1.0, 40.0), example=16)
    from_h: float = declared(ClockEntry("from", "May run from this time of day on", required=True, example=2.0))
    to_h: float = declared(ClockEntry("to", "May run until this time of day", required=True, example=6.0))


class Standing(Section):
    """[[standing]]: another electric load of the system."""

    title: ClassVar[str] = "Another electric load of the system: controls, treatment (repeat for each)"
    affects: ClassVar[str] = "the system's own electricity; small loads all year can outweigh the benefit"

    name: str = declared(TextEntry("name", "Name", required=True, example="controls and water treatment"))
    power_W: Fact = fact(
        "power", "W", "Electric power while on", spread=share(0.10), bounds=(0.0, 500_000.0), example=25)
    when: str = declared(ChoiceEntry("when", "When it is on", default="always",
                                     choices=("always", "spraying", "cooling", "season")))


class Prices(Section):
    """[prices]: prices in the site's currency; without them no money is shown."""

    title: ClassVar[str] = "Prices, in the site's currency (without them no money is shown)"
    affects: ClassVar[str] = "money and carbon"

    electricity_per_kWh: Fact | None = fact("electricity", "currency/kWh", "Price of electricity", default=None,
                                            spread=share(0.05), bounds=(0.0, 1e6), suffix="per_kWh", example=0.24)
    water_per_m3: Fact | None = fact("water", "currency/m3", "Price of mains water", default=None, spread=share(0.05),
                                     bounds=(0.0, 1e6), suffix="per_m3", example=2.1)
    sewer_per_m3: Fact = fact(
        "sewer", "currency/m3", "Price of water sent to the sewer", default=0.0, spread=share(0.05),
        bounds=(0.0, 1e6), suffix="per_m3")
    upkeep_per_year: Fact = fact(
        "upkeep", "currency/year", "Upkeep of the sprayed system", default=0.0, spread=share(0.30), bounds=(0.0, 1e9),
        suffix="per_year")
    carbon_kg_kWh: Fact | None = fact(
        "carbon", "kg/kWh", "Emissions of the grid per kWh (CO2 equivalent)", default=None, spread=share(0.10),
        bounds=(0.0, 5.0), example=0.37)
    date: str = declared(TextEntry("date", "Date of the prices", default="", example="January 2026"))
    tax: str = declared(TextEntry(
        "tax", "What taxes the prices contain", default="", example="without value added tax"))


class Safety(Section):
    """[safety]: what was seen on site that the report's cautions depend on."""

    title: ClassVar[str] = "What was seen on site, for the cautions in the report"
    affects: ClassVar[str] = "which cautions the report prints; no figure"

    backflow: str = declared(ChoiceEntry("backflow", "Protection of the mains at the make-up", default="not sighted",
                                         choices=("air gap sighted", "tested device", "not sighted")))
    water_treatment: str = declared(TextEntry("water_treatment", "How the stored water is treated", default="",
                                              example="ultraviolet lamp"))
    people_near_spray: bool = declared(TruthEntry("people_near_spray", "Whether people can be near the spray at night",
                                                  default=True))
    potable_labels: str = declared(ChoiceEntry("potable_labels", "\"Not drinking water\" labels on the outlets",
                                               default="not sighted", choices=("sighted", "not sighted")))
