"""The site file, first half: what is audited, where it stands, its weather and its roofs."""

from __future__ import annotations

import datetime
import math
from typing import Any, ClassVar

from sprayroof.evidence.site_file.entries import Section, declared
from sprayroof.evidence.site_file.entry_numbers import WholeEntry, fact, number, sectors
from sprayroof.evidence.site_file.entry_words import (
    ChoiceEntry,
    Column,
    ColumnsEntry,
    DateEntry,
    TableEntry,
    TextEntry,
    TruthEntry,
    ZoneEntry,
)
from sprayroof.evidence.site_file.facts import Fact, plus_minus, share

TERRAINS = ("open", "suburb", "city")
SURFACES = ("new coated metal", "weathered metal", "concrete", "membrane", "gravel", "tile")
STEPS_MIN = (1, 2, 3, 4, 5, 6, 10, 12, 15, 20, 30, 60)
SKY_MODELS = ("berdahl_martin", "berdahl_fromberg", "brunt", "brutsaert", "prata", "dilley_obrien", "clark_allen",
              "idso")
CONVECTION_MODELS = ("plate", "mcadams", "test", "watmuff", "palyvos_windward", "palyvos_leeward", "emmel_across",
                     "emmel_oblique", "emmel_along", "clear_et_al")
COVERS = ("none", "clear film", "vented mesh", "opaque sheet")
CLOUD_MODELS = ("martin_berdahl", "unsworth_monteith", "crawford_duchon", "clark_allen")
TEMPLATE_NAME = "Example House, Lower Fernhollow"

# Channel of a weather table -> unit that its column must convert to.
WEATHER_CHANNELS: dict[str, str] = {
    "air_temperature": "degC", "dew_point": "degC", "wet_bulb": "degC", "humidity": "1", "pressure": "Pa",
    "wind": "m/s", "cloud": "1", "long_wave": "W/m2", "solar": "W/m2", "rain": "mm",
    "cloud_low": "1", "cloud_middle": "1", "cloud_high": "1",
    "cloud_low_base": "m", "cloud_middle_base": "m", "cloud_high_base": "m",
}

# Share of the roof that stays wet, heat capacity of the deck (kJ/m2K), share of rain that runs off, rain lost first
# (mm), by surface. Runoff of smooth metal and gravel after Farreny et al. 2011; the rest own judgement within print.
_WETTED = {"new coated metal": 0.55, "weathered metal": 0.8}
_CAPACITY = {"new coated metal": 8.0, "weathered metal": 8.0, "membrane": 20.0, "tile": 40.0, "gravel": 100.0,
             "concrete": 200.0}
_RUNOFF = {"new coated metal": 0.92, "weathered metal": 0.92, "tile": 0.85, "concrete": 0.82, "membrane": 0.82,
           "gravel": 0.62}
_INITIAL_LOSS = {"gravel": 2.0}


# What an entry of a roof affects where that is not all that its section names, and what people call a cover.
_WET = "cooling, evaporation and drift of the spray"
_COLD, _RAIN = "cooling and evaporation", "rain caught and mains water"
_COVERS_MEANT = {**dict.fromkeys(("film", "plastic", "plastic film", "polyethylene", "greenhouse film"), "clear film"),
                 **dict.fromkeys(("mesh", "net", "shade net", "netting"), "vented mesh"),
                 **dict.fromkeys(("sheet", "tarpaulin", "tarp", "opaque"), "opaque sheet")}

_RIVALS_DRAWN = ("Left out, the best estimate takes the default and the other possible sites draw among it and its "
                 "rivals, so that the ranges hold the doubt about the formula.")


def _by_surface(table: dict[str, float], otherwise: float | None = None) -> Any:
    """A default that depends on the roof's surface (None while the surface is unreadable)."""
    return lambda own, whole: table.get(own.get("surface"), otherwise) if own.get("surface") else None


def _square_side(own: dict[str, Any], whole: dict[str, Any]) -> float | None:
    area = own.get("area_m2")
    return None if area is None else math.sqrt(area.value)


class About(Section):
    """[site]: what is printed on the report."""

    title: ClassVar[str] = "What is audited, for whom, by whom"
    affects: ClassVar[str] = "what is printed on the report; no figure"

    name: str = declared(TextEntry("name", "Name of the building or system", required=True, example=TEMPLATE_NAME))
    place: str = declared(TextEntry("place", "Town or address", default="", example="Lower Fernhollow"))
    owner: str = declared(TextEntry(
        "owner", "Owner, as printed on the report", default="", example="Fernhollow School Trust"))
    auditor: str = declared(TextEntry(
        "auditor", "Auditor, as printed on the report", default="", example="M. Quillfeather"))
    report_date: datetime.date = declared(DateEntry(
        "report_date", "Date printed on the report (year-month-day)", required=True,
        example=datetime.date(2026, 3, 31)))
    currency: str = declared(TextEntry(
        "currency", "Currency of all prices, ISO 4217 code", default="EUR", example="EUR", pattern="[A-Z]{3}",
        pattern_words='an ISO 4217 code of three capital letters, such as "EUR" or "USD"'))
    paper: str = declared(ChoiceEntry("paper", "Paper of the report", default="A4", choices=("A4", "Letter")))
    note: str = declared(TextEntry("note", "Remark printed with the site facts", default="", longest=4000, lines=True,
                                   example="Second visit in June."))


class Place(Section):
    """[place]: where the site stands."""

    title: ClassVar[str] = "Where the site stands"
    affects: ClassVar[str] = "sun, solar time, air pressure, wind over the roof, and when a night begins"

    latitude_deg: float = number("latitude", "deg", "Latitude, north positive", bounds=(-90.0, 90.0), example=36.1)
    longitude_deg: float = number("longitude", "deg", "Longitude, east positive (America is negative)",
                                  bounds=(-180.0, 180.0), example=-79.95)
    elevation_m: float = number("elevation", "m", "Height above the sea", bounds=(-430.0, 6000.0), example=273)
    time_zone: str = declared(ZoneEntry("time_zone", "Time zone of the site's clock, IANA name", required=True,
                                        example="America/New_York"))
    terrain: str = declared(ChoiceEntry("terrain", "What surrounds the site, for the wind", default="suburb",
                                        choices=TERRAINS))


class RainRecord(Section):
    """[weather.rain]: a rain record that replaces the weather file's rain."""

    title: ClassVar[str] = "Another rain record, instead of the weather file's rain"
    affects: ClassVar[str] = "rain caught, mains water, and all figures of refill"

    file: str = declared(TextEntry(
        "file", "Path of the file, relative to this one", required=True, example="logs/rain.csv"))
    column: str = declared(TextEntry("column", "Heading of the rain column", required=True, example="rain"))
    unit: str = declared(TextEntry("unit", "Unit of the rain column", required=True, example="mm"))
    time_column: str = declared(TextEntry("time_column", "Heading of the time column", required=True, example="time"))
    time_format: str | None = declared(TextEntry(
        "time_format", "Form of the times in strptime codes (absent: found out)", example="%d.%m.%Y %H:%M"))
    time_zone: str = declared(ZoneEntry("time_zone", "Time zone of the times, IANA name or UTC", required=True,
                                        example="UTC"))
    stamp: str = declared(ChoiceEntry("stamp", "Whether a time marks the end or the start of its interval",
                                      default="end", choices=("end", "start")))
    kind: str = declared(ChoiceEntry("kind", "Amounts per interval of the log, or daily totals", default="interval",
                                     choices=("interval", "daily")))


class WeatherSource(Section):
    """[weather]: the file of the reference year and how far it may be off."""

    title: ClassVar[str] = "The weather of the reference year"
    affects: ClassVar[str] = "every figure: cooling, evaporation, drift, rain and demand"

    file: str = declared(TextEntry("file", "Path of the weather file, relative to this one", required=True,
                                   example="data/723170TYA.CSV"))
    package: str | None = declared(TextEntry(
        "package", "Installed Python package that holds the file (then file is a path inside it)", example="pvlib",
        pattern=r"[A-Za-z_][A-Za-z0-9_]*(\.[A-Za-z_][A-Za-z0-9_]*)*",
        pattern_words='the name of a Python package, such as "pvlib"'))
    format: str = declared(ChoiceEntry("format", "Kind of file", default="auto",
                                       choices=("auto", "epw", "tmy3", "tmy2", "table")))
    columns: dict[str, Column] | None = declared(ColumnsEntry(
        "columns", "Channels of the file -> column and unit", needed='format "table"', channels=WEATHER_CHANNELS,
        example={"air_temperature": {"column": "T air", "unit": "degC"}},
        more="Channels: " + ", ".join(WEATHER_CHANNELS) + "."))
    time_column: str | None = declared(TextEntry("time_column", "Heading of the time column", needed='format "table"',
                                                 example="time"))
    time_format: str | None = declared(TextEntry(
        "time_format", "Form of the times in strptime codes (absent: found out)", example="%d.%m.%Y %H:%M"))
    time_zone: str | None = declared(ZoneEntry(
        "time_zone", "Time zone of the file's times, IANA name or UTC",
        needed='format "table"', derived="as the file's own header says; format \"table\" must state it",
        example="UTC"))
    stamp: str = declared(ChoiceEntry("stamp", "Whether a time marks the end or the start of its interval",
                                      default="end", choices=("end", "start")))
    wind_height_m: float = number("wind_height", "m", "Height of the station's wind gauge above ground", default=10.0,
                                  bounds=(0.5, 150.0))
    terrain: str = declared(ChoiceEntry("terrain", "What surrounds the station, for the wind", default="open",
                                        choices=TERRAINS))
    step_min: int = declared(WholeEntry("step", "Step of the calculation in minutes; must divide an hour", default=10,
                                        allowed=STEPS_MIN, unit="min"))
    rain_unit: str | None = declared(ChoiceEntry(
        "rain_unit", "Unit of the weather file's rain (\"none\": the file's rain is not used)",
        choices=("mm", "0.1 mm", "in", "none"), example="0.1 mm", derived="the unit of the file's format, if plausible",
        more="Left out, the rain is read in the unit that the file's format declares, and refused if it is then not "
             "plausible: files with rain in another unit than declared are common."))
    long_wave: str = declared(ChoiceEntry("long_wave", "Long-wave radiation of the sky: from the file or from a model",
                                          default="auto", choices=("auto", "column", "model")))
    sky_model: str = declared(ChoiceEntry("sky_model", "Formula for the clear sky", default="berdahl_martin",
                                          choices=SKY_MODELS, more=_RIVALS_DRAWN))
    cloud_model: str = declared(ChoiceEntry("cloud_model", "Formula for the cloudy sky", default="martin_berdahl",
                                            choices=CLOUD_MODELS, more=_RIVALS_DRAWN))
    convection_model: str = declared(ChoiceEntry(
        "convection_model", "Formula for the wind's heat transfer over the roof", default="plate",
        choices=CONVECTION_MODELS, more=_RIVALS_DRAWN))
    rain: RainRecord | None = declared(TableEntry("rain", "Another rain record, instead of the weather file's rain",
                                                  section=RainRecord))
    air_offset_K: Fact = fact("air_offset", "K", "Air temperature of the site less that of the file", default=0.0,
                              default_range=(-0.5, 0.5), bounds=(-10.0, 10.0))
    humidity_offset_frac: Fact = fact("humidity_offset", "1", "Relative humidity of the site less that of the file",
                                      default=0.0, default_range=(-0.05, 0.05), bounds=(-0.5, 0.5))
    wind_factor_frac: Fact = fact("wind_factor", "1", "Wind of the site divided by that of the file", default=1.0,
                                  default_range=(0.7, 1.4), bounds=(0.05, 5.0))
    sky_emissivity_offset_frac: Fact = fact(
        "sky_emissivity_offset", "1", "Clear-sky emissivity of the site less that of the formula", default=0.0,
        default_range=(-0.041, 0.041), bounds=(-0.2, 0.2))
    cloud_error_frac: Fact = fact("cloud_error", "1", "Error of one night's cloud cover", default=0.0,
                                  default_range=(-0.33, 0.33), bounds=(-1.0, 1.0))
    rain_factor_frac: Fact = fact("rain_factor", "1", "Rain of the site divided by that of the record", default=1.0,
                                  default_range=(0.9, 1.1), bounds=(0.05, 5.0))


class Roof(Section):
    """[[roof]]: one roof; a building may have several."""

    title: ClassVar[str] = "A roof (repeat the whole block for each roof)"
    affects: ClassVar[str] = "cooling, evaporation and drift of the spray, and rain caught"

    name: str = declared(TextEntry("name", "Name of the roof", required=True, example="south roof"))
    area_m2: Fact = fact(
        "area", "m2", "Area of the roof's surface", spread=share(0.03), bounds=(1.0, 200_000.0), example=620)
    slope_deg: Fact = fact("slope", "deg", "Slope against the horizontal", default=3.0, bounds=(0.0, 60.0))
    facing_deg: Fact = fact("facing", "deg", "Direction the slope faces, clockwise from north (180 is south)",
                            default=180.0, bounds=(0.0, 360.0),
                            more="Counts where the horizon differs by direction (horizon as a list): it tells which "
                                 "part of it the slope looks at.")
    surface: str = declared(ChoiceEntry(
        "surface", "What the water runs over", default="weathered metal", choices=SURFACES))
    height_m: Fact = fact("height", "m", "Height of the roof above ground", default=6.0, bounds=(1.0, 300.0))
    length_m: Fact = fact("length", "m", "Length of the roof down the slope", derive=_square_side,
                          derived="side of a square of the same area", bounds=(0.5, 1000.0), example=18)
    horizon_deg: Fact = sectors(
        "horizon", "deg", "Mean height of trees and buildings above the horizon", default=0.0, bounds=(0.0, 80.0),
        example=[5, 5, 10, 30, 35, 20, 5, 5],
        more="A low and a high beside a list are those of its mean: all directions are off together.")
    shelter_frac: Fact = fact("shelter", "1", "Share of the wind that gets over parapet and obstacles", default=1.0,
                              default_range=(0.8, 1.0), spread=plus_minus(0.1), bounds=(0.05, 1.0))
    wetted_share_frac: Fact = fact(
        "wetted_share", "1", "Share of the sprayed roof that stays wet", derive=_by_surface(_WETTED, 0.95),
        derived="by surface: new coated metal 0.55, weathered metal 0.8, others 0.95", spread=plus_minus(0.25),
        bounds=(0.05, 1.0), example=0.8, affects=_COLD)
    deck_u_W_m2K: Fact = fact("deck_u", "W/(m2 K)", "Heat transfer from the water down to the space beneath",
                              default=0.5, spread=share(0.4), bounds=(0.01, 20.0), affects=_COLD)
    deck_capacity_kJ_m2K: Fact = fact(
        "deck_capacity", "kJ/(m2 K)", "Heat that the deck stores by day", derive=_by_surface(_CAPACITY),
        derived="by surface: metal 8, membrane 20, tile 40, gravel 100, concrete 200", spread=share(0.4),
        bounds=(0.5, 2000.0), example=8, affects=_COLD)
    beneath_temperature_C: Fact = fact("beneath_temperature", "degC", "Temperature of the space beneath at night",
                                       default=24.0, spread=plus_minus(3.0), bounds=(-20.0, 60.0), affects=_COLD)
    solar_absorptance_frac: Fact = fact("solar_absorptance", "1", "Share of sunlight that the roof takes up",
                                        default=0.6, spread=plus_minus(0.2), bounds=(0.02, 1.0), affects=_COLD)
    cover: str = declared(ChoiceEntry(
        "cover", "Cover over the wet roof", default="none", choices=COVERS, meant=_COVERS_MEANT, affects=_WET,
        more="cover_share, cover_gap, cover_age and cover_unwashed play a part only where there is a cover; the last "
             "two only under one that the sky shines through."))
    cover_share_frac: Fact = fact("cover_share", "1", "Covered roof: share of it under the cover", default=1.0,
                                  bounds=(0.0, 1.0), affects=_WET)
    cover_gap_m: Fact | None = fact(
        "cover_gap", "m", "Covered roof: height of the air between water and cover", default=None, affects=_WET,
        derived="by kind: film and sheet 0.1, mesh 0.3", spread=share(0.3), bounds=(0.01, 3.0), example=0.1)
    cover_age_years: Fact = fact("cover_age", "year", "Covered roof: age of the film or mesh", default=0.0,
                                 bounds=(0.0, 50.0), suffix="years", affects=_WET)
    cover_unwashed_years: Fact = fact(
        "cover_unwashed", "year", "Covered roof: time since the film or mesh was last washed", default=0.25,
        default_range=(0.1, 1.0), bounds=(0.0, 50.0), suffix="years", affects=_WET)
    screen_height_m: Fact = fact("screen_height", "m", "Height of a wind screen around the roof (0: none)", default=0.0,
                                 bounds=(0.0, 10.0), affects=_WET)
    screen_porosity_frac: Fact = fact("screen_porosity", "1", "Wind screen: open share of it", default=0.3,
                                      default_range=(0.2, 0.4), bounds=(0.0, 1.0), affects=_WET)
    emissivity_frac: Fact = fact("emissivity", "1", "Long-wave emissivity of the wet roof", default=0.96,
                                 spread=plus_minus(0.02), bounds=(0.5, 1.0), affects=_COLD)
    sprayed: bool = declared(TruthEntry("sprayed", "Whether this roof is sprayed", default=True))
    catches_rain: bool = declared(TruthEntry("catches_rain", "Whether its rain flows to the store", default=True,
                                             affects=_RAIN))
    runoff_coefficient_frac: Fact = fact(
        "runoff_coefficient", "1", "Share of the rain that runs off", derive=_by_surface(_RUNOFF),
        derived="by surface: metal 0.92, tile 0.85, concrete and membrane 0.82, gravel 0.62", spread=plus_minus(0.06),
        bounds=(0.05, 1.0), example=0.9, affects=_RAIN)
    initial_loss_mm: Fact = fact(
        "initial_loss", "mm", "Rain lost before any runs off", derive=_by_surface(_INITIAL_LOSS, 0.5),
        derived="0.5; gravel 2", spread=share(0.6), bounds=(0.0, 20.0), example=0.5,
        affects=_RAIN)
