"""What loggers and meters record: each channel's name, unit, kind, plausible range and usual instrument.

One table serves the site file, the readers, the checks and the docs. Accuracies are 90 % half-widths of ordinary
instruments, for channels whose own accuracy is not stated; common practice, no source.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

# How the numbers of a column are to be read.
KINDS = ("mean", "instant", "last value holds", "sum", "counter", "tips", "status")


@dataclass(frozen=True)
class ChannelMeaning:
    """A channel.

    Parameters
    ----------
    name : str
        As written in the site file; a number may follow where several are possible ("store_temperature_2").
    column : str
        Name in `Logs.table`, with its unit; the number follows it ("store_C_2").
    unit : str
        Unit of that column.
    kind : str
        How a column of this channel is read where the site file does not say.
    low, high : float
        Numbers outside cannot be true [unit].
    offset, gain : float
        90 % half-widths of an ordinary instrument: constant [unit], and as a share of the reading.
    fill_min : float
        Longest gap that a straight line may bridge [min]; 0 where none may be bridged.
    several : bool
        Whether a number may follow the name.
    meaning : str
        In words.
    counts : str
        Unit of the running or summed amount behind a rate ("L" behind "L/min"), or "".
    """

    name: str
    column: str
    unit: str
    kind: str
    low: float
    high: float
    offset: float
    gain: float
    fill_min: float
    several: bool
    meaning: str
    counts: str = ""


_ROWS: tuple[tuple, ...] = (
    ("spray_flow", "spray_L_min", "L/min", "mean", 0.0, 20000.0, 0.0, 0.05, 0.0, False, "water to the nozzles", "L"),
    ("supply_temperature", "supply_C", "degC", "mean", -5.0, 60.0, 0.3, 0.0, 30.0, False, "water to the nozzles"),
    ("return_temperature", "return_C", "degC", "mean", -5.0, 60.0, 0.3, 0.0, 30.0, False, "water from the roof"),
    ("store_temperature", "store_C", "degC", "mean", -5.0, 60.0, 0.3, 0.0, 30.0, True, "water in the store"),
    ("level", "store_m3", "m3", "mean", 0.0, 1e6, 0.0, 0.02, 0.0, False, "water in the store, by its level"),
    ("makeup_flow", "makeup_L_min", "L/min", "mean", 0.0, 20000.0, 0.0, 0.03, 0.0, False, "mains water into the store",
     "L"),
    ("draw_flow", "draw_L_min", "L/min", "mean", 0.0, 20000.0, 0.0, 0.03, 0.0, True,
     "water drawn from the store by other users", "L"),
    ("rain", "rain_mm", "mm", "sum", 0.0, 200.0, 0.0, 0.10, 0.0, False, "rain per interval", "mm"),
    ("air_temperature", "air_C", "degC", "mean", -45.0, 60.0, 0.5, 0.0, 360.0, False, "air at the site"),
    ("humidity", "humidity_frac", "1", "mean", 0.0, 1.05, 0.03, 0.0, 360.0, False, "relative humidity at the site"),
    ("wind", "wind_m_s", "m/s", "mean", 0.0, 60.0, 0.3, 0.05, 360.0, False, "wind at the site"),
    ("long_wave", "long_wave_W_m2", "W/m2", "mean", 100.0, 600.0, 5.0, 0.02, 360.0, False,
     "long-wave radiation from the sky"),
    ("pressure", "pressure_Pa", "Pa", "mean", 50000.0, 110000.0, 100.0, 0.0, 360.0, False, "air pressure at the site"),
    ("solar", "solar_W_m2", "W/m2", "mean", -20.0, 1600.0, 10.0, 0.05, 360.0, False, "global horizontal sunshine"),
    ("pump_power", "pump_W", "W", "mean", -50.0, 1e6, 0.0, 0.02, 0.0, False, "spray pump's electricity", "Wh"),
    ("ac_power", "ac_W", "W", "mean", -50.0, 1e8, 0.0, 0.02, 0.0, True, "air conditioner's electricity", "Wh"),
    ("circulation_power", "circulation_W", "W", "mean", -50.0, 1e6, 0.0, 0.02, 0.0, True,
     "electricity of the pumps of the cooling side", "Wh"),
    ("standby_power", "standby_W", "W", "mean", -50.0, 1e6, 0.0, 0.02, 0.0, False,
     "electricity of controls and treatment", "Wh"),
    ("cooling_flow", "cooling_L_min", "L/min", "mean", 0.0, 20000.0, 0.0, 0.05, 0.0, True,
     "water to floors, ceilings or coils", "L"),
    ("cooling_supply_temperature", "cooling_supply_C", "degC", "mean", -5.0, 60.0, 0.3, 0.0, 30.0, True,
     "water to floors, ceilings or coils"),
    ("cooling_return_temperature", "cooling_return_C", "degC", "mean", -5.0, 60.0, 0.3, 0.0, 30.0, True,
     "water back from floors, ceilings or coils"),
    ("room_temperature", "room_C", "degC", "mean", -10.0, 60.0, 0.5, 0.0, 360.0, True, "air of a room"),
    ("room_humidity", "room_humidity_frac", "1", "mean", 0.0, 1.05, 0.03, 0.0, 360.0, True,
     "relative humidity of a room"),
    ("surface_temperature", "surface_C", "degC", "mean", -20.0, 90.0, 0.5, 0.0, 360.0, True,
     "floor, ceiling or roof surface"),
    ("conductivity", "conductivity_uS_cm", "uS/cm", "mean", 0.0, 50000.0, 0.0, 0.03, 360.0, False,
     "conductivity of the stored water"),
    ("spray_status", "spray_on_frac", "1", "status", 0.0, 1.0, 0.0, 0.0, 0.0, False, "spray pump on (1) or off (0)"),
    ("ac_status", "ac_on_frac", "1", "status", 0.0, 1.0, 0.0, 0.0, 0.0, True, "air conditioner on (1) or off (0)"),
)

CHANNELS: dict[str, ChannelMeaning] = {row[0]: ChannelMeaning(*row) for row in _ROWS}


def channel_of(name: str) -> tuple[ChannelMeaning, int] | None:
    """The channel that a name of the site file means, and its number (0 where none follows); None if unknown."""
    match = re.fullmatch(r"([a-z_]+?)(?:_([1-9]))?", name)
    meaning = CHANNELS.get(match[1]) if match else None
    if meaning is None or (match[2] and not meaning.several):
        return None
    return meaning, int(match[2] or 0)


def column_of(name: str) -> str:
    """The column of `Logs.table` that holds a channel ("store_temperature_2" -> "store_C_2"); KeyError if unknown."""
    found = channel_of(name)
    if found is None:
        raise KeyError(name)
    meaning, number = found
    return f"{meaning.column}_{number}" if number else meaning.column
