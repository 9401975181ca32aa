"""The site file of an invented pack: facts as an auditor would state them, near the truth but not equal to it."""

from __future__ import annotations

import datetime
from string import Template
from typing import Any

import numpy as np
from pack_checks import PLAN_RATIO, Noted, clock_checks
from pack_config import Config
from pack_faults import Faults
from pack_readings import COUNTER_END

# Stated fact -> plant's attribute, times which factor, digits
STATED = {"roof": ("roof_m2", 1.016, 0), "flow": ("spray_L_min", 1.06, -1), "pump": ("pump_W", 0.995, -1),
          "store": ("store_m3", PLAN_RATIO, 1), "height": ("store_height_m", 1.0, 2), "leak": ("leak_L_day", 0.98, 0),
          "below": ("top_up_below_m3", 1.0, 1), "to": ("top_up_to_m3", 1.0, 1), "mains": ("makeup_L_min", 1.1, 0),
          "floor_flow": ("floor_L_min", 1.04, 0), "floor_pump": ("floor_pump_W", 1.0, -1), "ac": ("ac_W", 1.04, -3)}
TEMPLATE = Template("""\
# Brindlemoor Bindery: an invented bookbindery whose sprayed roof was logged for six weeks in a warm, dry autumn.
# Nothing here is real but the weather file, the typical year of Greensboro, North Carolina. The logs, bills and tests
# are invented by tests/make_data_pack.py, faults and all.

[site]
name = "Brindlemoor Bindery"
place = "Sheepfold Yard, Brindlemoor"
owner = "Brindlemoor Binders' Cooperative"
auditor = "T. Marchbanks-Tern"
report_date = 2026-01-20
currency = "USD"
paper = "Letter"
note = "Logged for six weeks, with some nights switched off on purpose."

[place]
latitude = 36.02
longitude = -79.90
elevation = 255
time_zone = "$zone"
terrain = "suburb"

[weather]
package = "pvlib"
file = "data/723170TYA.CSV"
# The file's heading says mm, but it holds tenths.
rain_unit = "0.1 mm"

[[roof]]
name = "binding hall"
area = { value = "$roof m2", source = "drawing" }
slope = 5
surface = "weathered metal"
height = 6
length = { value = 16, source = "drawing" }
deck_u = { value = 0.5, low = 0.35, high = 0.7, source = "guess" }
beneath_temperature = { value = 24, low = 22, high = 26, source = "measured" }

[spray]
flow = { value = "$flow L/min", source = "nameplate", note = "new; strainers clog" }
drop_size = 1.5
fall_height = 1.0
pump_power = { value = $pump, source = "measured", note = "clamp meter" }

[controls]
season_from = "04-01"
season_to = "11-30"
window_from = "$opens"
window_to = "$closes"
sense = "clock"

[store]
volume = { value = "$store m3", source = "measured", note = "steel tape, to the brim of the overflow" }
dead = 3
reserve = 8
shape = "box"
height = $height
u = { value = 0.8, low = 0.4, high = 1.5, source = "guess", note = "concrete, half of it in the ground" }
placement = "buried"
ground_temperature = { value = 16.5, low = 15, high = 18.5, source = "guess" }
leak = { value = $leak, low = $leak_low, high = $leak_high, source = "measured", note = "leak test" }

[rain]
first_flush = 0.5
filter_efficiency = 0.9

[[use]]
name = "toilets"
draw = { value = 600, source = "owner" }
from = "$work_from"
to = "$work_to"
days = "all"

[mains]
rule = "top up"
top_up_below = $below
top_up_to = $to
flow = "$mains L/min"
temperature = [10, 10, 11, 13, 16, 18, 20, 20, 19, 17, 14, 11]

[[emitter]]
name = "hall floor"
kind = "floor"
area = { value = 610, source = "drawing" }
flow = "$floor_flow L/min"
pump_power = { value = $floor_pump, source = "nameplate" }
minimum_supply = 15

[room]
temperature = 24.5
humidity = 0.5

[load]
ua = { value = 0.9, low = 0.6, high = 1.3, source = "guess", note = "from the bills, by hand" }
balance_point = { value = 2, low = -3, high = 7, source = "guess", note = "presses and glue pots heat the hall" }
from = "$work_from"
to = "$work_to"
season_from = "04-01"
season_to = "11-30"

[air_conditioner]
kind = "packaged"
rated_cop = { value = 2.9, source = "nameplate" }
rated_capacity = { value = "$ac kW", source = "nameplate" }

[prices]
electricity = 0.17
water = 2.10
sewer = 2.90
upkeep = { value = 90, low = 60, high = 130, source = "owner", note = "strainers, twice a season" }
carbon = 0.37
date = "January 2026"
tax = "without sales tax"

[safety]
backflow = "air gap sighted"
water_treatment = "strainers only"
people_near_spray = false
potable_labels = "sighted"

# --- What was logged ------------------------------------------------------------------------------------------------

# The roof logger: decimal commas, left in standard time, and its clock was set wrong.
[[log]]
file = "logs/roof_*.csv"
time_column = "Time"
time_format = "%d.%m.%y %H:%M"
time_zone = "$standard"
interval = 1
delimiter = ";"
decimal = ","
encoding = "cp1252"
clock_checks = [
$clock_checks
]

[log.columns]
supply_temperature = { column = "T supply", unit = "degC", accuracy = 0.1 }
return_temperature = { column = "T return", unit = "degC", accuracy = 0.5 }
store_temperature_1 = { column = "T store low", unit = "degC", height = 0.2, resolution = 0.1 }
store_temperature_2 = { column = "T store mid", unit = "degC", height = 0.6, resolution = 0.1 }
store_temperature_3 = { column = "T store high", unit = "degC", height = 1.0, resolution = 0.1 }
spray_flow = { column = "Flow", unit = "L/min", gain_accuracy = 0.05 }
level = { column = "Level", unit = "%", accuracy = 1, table = [[0, 0], [100, $store]] }
air_temperature = { column = "T air", unit = "degC", accuracy = 0.3 }
humidity = { column = "RH", unit = "%", accuracy = 2, resolution = 1 }
wind = { column = "Wind", unit = "m/s", accuracy = 0.2 }

# The building controls: a row at every change, newest first, on a clock that goes with daylight saving.
[[log]]
file = "logs/bms_export.csv"
time_column = "Timestamp"
time_format = "%m/%d/%Y %I:%M:%S %p"
time_zone = "$zone"
stamp = "start"
values = "last value holds"

[log.columns]
spray_status = { column = "Spray Pump", unit = "1", words = { ON = 1, OFF = 0 } }
pump_power = { column = "Pump kW", unit = "kW", kind = "last value holds", gain_accuracy = 0.03 }
ac_status = { column = "AC Compressor", unit = "1", words = { ON = 1, OFF = 0 } }
# The sub-meter below is better; kept to compare.
ac_power = { column = "AC kW", unit = "kW", kind = "last value holds", use = false }
room_temperature = { column = "Workshop Temp (degF)", unit = "degF", accuracy = 0.9 }

# The rain gauge: a row for every tip, left on summer time.
[[log]]
file = "logs/rain_tips.csv"
time_column = "Time"
time_zone = "Etc/GMT+4"
values = "instant"

[log.columns]
rain = { column = "Tips", unit = "mm", kind = "tips", per_count = "0.2 mm" }

# Two water meters, read by a recorder at every full hour.
[[log]]
file = "logs/water_meters.csv"
time_column = "Date"
clock_column = "Clock"
time_zone = "$standard"

[log.columns]
makeup_flow = { column = "Make-up (US gal)", unit = "US gal", kind = "counter", rolls_over_at = $rolls }
draw_flow = { column = "Toilets (US gal)", unit = "US gal", kind = "counter", rolls_over_at = $rolls }

# The air conditioner's own meter, in quarters of an hour.
[[log]]
file = "logs/ac_meter.csv"
time_column = "interval_end"
time_zone = "UTC"
interval = 15

[log.columns]
ac_power = { column = "kWh", unit = "kWh", kind = "sum", gain_accuracy = 0.01 }

# --- Tests on site --------------------------------------------------------------------------------------------------

$tests
# --- Nights on and off ----------------------------------------------------------------------------------------------

$switched
# --- Bills ----------------------------------------------------------------------------------------------------------

[[bills]]
name = "main electricity meter"
covers = "building"
file = "bills/electricity.csv"
unit = "kWh"
amount_column = "kWh"
from_column = "From"
to_column = "To"
estimated_column = "Estimated"
time_format = "%m/%d/%Y"
temperature_file = "bills/temperature.csv"
temperature_column = "Outdoor (degF)"
temperature_unit = "degF"
changed_on = 2025-05-01
""")


def site_text(config: Config, faults: Faults, tests: list[Noted]) -> str:
    """The whole site file."""
    stated = {name: _stated(config, *how) for name, how in STATED.items()}
    stated["ac"] = f"{float(stated['ac']) / 1000.0:.0f}"
    leak = float(stated["leak"])
    pairs = clock_checks(config, faults)
    return TEMPLATE.substitute(
        stated, zone=config.zone, standard=config.standard, opens=config.window[0], closes=config.window[1],
        work_from=config.work[0], work_to=config.work[1], leak_low=f"{0.85 * leak:.0f}", leak_high=f"{1.15 * leak:.0f}",
        clock_checks="\n".join(f'    ["{shown}", "{true}"],' for shown, true in pairs), rolls=COUNTER_END - 1,
        tests="\n".join(_entry("test", test) for test in tests),
        switched="\n".join(_entry("switched", block) for block in switched_blocks(config)))


def _stated(config: Config, attribute: str, factor: float, digits: int) -> str:
    value = np.round(getattr(config.plant, attribute) * factor, digits)
    return f"{value:.{max(digits, 0)}f}"


def switched_blocks(config: Config) -> list[dict[str, Any]]:
    """The nights off and the nights on between them."""
    dates, blocks = config.dates(), []
    at = dates[0]
    for first, last in (tuple(datetime.date.fromisoformat(day) for day in span) for span in config.off_nights):
        if first > dates[-1]:
            break
        if first > at:
            blocks.append({"from": at, "to": first - datetime.timedelta(days=1), "state": "on"})
        blocks.append({"from": first, "to": min(last, dates[-1]), "state": "off"})
        at = last + datetime.timedelta(days=1)
    if at <= dates[-1]:
        blocks.append({"from": at, "to": dates[-1], "state": "on"})
    return blocks


def _entry(section: str, values: dict[str, Any]) -> str:
    lines = [f"[[{section}]]"]
    for name, value in values.items():
        written = value.isoformat() if isinstance(value, datetime.date) else (
            f'"{value}"' if isinstance(value, str) else f"{value}")
        lines.append(f"{name} = {written}")
    return "\n".join(lines) + "\n"
