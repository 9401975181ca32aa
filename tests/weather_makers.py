"""An invented site, and weather files made up for the tests. Nothing here is measured."""

from __future__ import annotations

import datetime
import math
import tempfile
from pathlib import Path

from sprayroof.evidence.site import Site, read_site
from sprayroof.evidence.site_file.place import Column, RainRecord

SITE_TEXT = """
[site]
name = "Pebblewick Hall"
report_date = 2026-03-31
[place]
latitude = 36.1
longitude = -79.95
elevation = 273
time_zone = "America/New_York"
[weather]
file = "data/723170TYA.CSV"
package = "pvlib"
[[roof]]
name = "long roof"
area = 600
[spray]
flow = 60
pump_power = 500
[store]
volume = 30
[[emitter]]
name = "hall floor"
kind = "floor"
area = 300
flow = 40
pump_power = 90
[load]
ua = 2
balance_point = 17
"""

GREENSBORO = {"file": "data/723170TYA.CSV", "package": "pvlib"}
MIAMI = {"file": "data/12839.tm2", "package": "pvlib"}
MIAMI_PLACE = {"latitude_deg": 25.8, "longitude_deg": -80.266667, "elevation_m": 2.0}
SAND_POINT = {"file": "data/703165TY.csv", "package": "pvlib"}
SAND_POINT_PLACE = {
    "latitude_deg": 55.317,
    "longitude_deg": -160.517,
    "elevation_m": 7.0,
    "time_zone": "America/Anchorage",
}


def site_with(
    folder: Path | None = None,
    place: dict | None = None,
    load: dict | None = None,
    controls: dict | None = None,
    **weather,
) -> Site:
    """The invented site with other weather entries (attribute names) and another folder."""
    with tempfile.TemporaryDirectory() as temporary:
        path = Path(temporary) / "site.toml"
        path.write_text(SITE_TEXT, encoding="utf-8")
        site = read_site(path)
    if "file" in weather:
        weather = {"package": None, **weather}
    if weather.get("columns") is not None:
        weather["columns"] = {channel: Column(*column) for channel, column in weather["columns"].items()}
    if weather.get("rain") is not None:
        weather["rain"] = RainRecord(**weather["rain"])
    changes = {
        "weather": site.weather.model_copy(update=weather),
        "folder": folder or site.folder,
        "place": site.place.model_copy(update=place or {}),
        "load": site.load.model_copy(update=load or {}),
        "controls": site.controls.model_copy(update=controls or {}),
    }
    return site.model_copy(update=changes)


# --- an invented year ----------------------------------------------------------------------------------------------


def hour_of(position: int, year: int = 2003) -> tuple[datetime.date, int]:
    """Date and hour (1 to 24, by its end) of the hour at `position` of a year."""
    return datetime.date(year, 1, 1) + datetime.timedelta(days=position // 24), position % 24 + 1


def invented_air_C(position: int) -> float:
    """A smooth invented air temperature."""
    day, hour = divmod(position, 24)
    return round(
        14.0 - 10.0 * math.cos(2 * math.pi * (day - 20) / 365) - 5.0 * math.cos(2 * math.pi * (hour - 4) / 24), 1
    )


def epw_rows(years: tuple[int, ...] = (2003, 1998), **changes) -> list[list[str]]:
    """8760 rows of an invented EPW year; months alternate between `years`.

    `changes` maps a channel name below to a function of the position in the year.
    """
    of = {
        "air": invented_air_C,
        "dew": lambda at: invented_air_C(at) - 4.0,
        "humidity": lambda at: 75,
        "pressure": lambda at: 98000 + at % 7 * 10,
        "infrared": lambda at: 320 + at % 5,
        "sun": lambda at: 400 if 8 <= at % 24 <= 16 else 0,
        "wind": lambda at: 2.0 + at % 4,
        "total": lambda at: at % 11,
        "opaque": lambda at: at % 11,
        "rain": lambda at: 1.5 if at % 11 == 0 else 0.0,
        "rain_hours": lambda at: 1,
        **changes,
    }
    rows = []
    for at in range(8760):
        date, hour = hour_of(at)
        year = years[date.month % len(years)]
        row = ["0"] * 35
        row[0:6] = [str(year), str(date.month), str(date.day), str(hour), "60", "invented"]
        for place, name in (
            (6, "air"),
            (7, "dew"),
            (8, "humidity"),
            (9, "pressure"),
            (12, "infrared"),
            (13, "sun"),
            (21, "wind"),
            (22, "total"),
            (23, "opaque"),
            (33, "rain"),
            (34, "rain_hours"),
        ):
            row[place] = str(of[name](at))
        rows.append(row)
    return rows


def epw_text(
    rows: list[list[str]],
    location: str = "LOCATION,Mereford,XX,NOW,invented,000000,36.1,-79.95,-5.0,273.0",
    period: str = "DATA PERIODS,1,1,Data,Sunday,1/1,12/31",
) -> str:
    """An EPW file with these rows."""
    head = [
        location,
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,invented",
        "COMMENTS 2,invented",
        period,
    ]
    return "\n".join(head + [",".join(row) for row in rows]) + "\n"


def logger_text(
    first: datetime.datetime,
    count: int,
    minutes: int,
    form: str = "%Y-%m-%d %H:%M",
    delimiter: str = ",",
    decimal: str = ".",
    header: str = "time,T air,RH,wind,p,LW,rain",
) -> str:
    """An invented station log; times mark interval ends when `first` does."""
    lines = [header.replace(",", delimiter)]
    for at in range(count):
        when = first + datetime.timedelta(minutes=minutes * at)
        hour = at * minutes // 60 % 8760
        cells = [
            f"{invented_air_C(hour):.1f}",
            f"{60 + hour % 30:.1f}",
            f"{2 + hour % 4:.1f}",
            f"{980 + hour % 7:.1f}",
            f"{330 + hour % 9:.1f}",
            f"{(0.5 if hour % 37 == 0 else 0.0) * minutes / 60:.4f}",
        ]
        lines.append(delimiter.join([when.strftime(form), *(cell.replace(".", decimal) for cell in cells)]))
    return "\n".join(lines) + "\n"


LOGGER_COLUMNS = {
    "air_temperature": ("T air", "degC"),
    "humidity": ("RH", "%"),
    "wind": ("wind", "m/s"),
    "pressure": ("p", "hPa"),
    "long_wave": ("LW", "W/m2"),
    "rain": ("rain", "mm"),
}
LOGGER = {
    "file": "log.csv",
    "format": "table",
    "columns": LOGGER_COLUMNS,
    "time_column": "time",
    "time_zone": "UTC",
    "stamp": "start",
}
