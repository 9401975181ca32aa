"""The names that the report prints at its figures, by the figures' identifiers: one place for pages, pictures, rows.

`explain` finds a figure by any of them. `sprayroof.report.terms` says them of a site with closed panels.
"""

from __future__ import annotations

# On the first page and in the terminal, in the order of the ladder; water beside it.
LADDER = {
    "cooling_roof_kWh": "Taken out at the roof",
    "cooling_stored_kWh": "Reached the store",
    "cooling_delivered_kWh": "Reached the rooms",
    "cooling_useful_kWh": "Useful cooling",
    "useful_caused_kWh": "of it caused by spraying",
    "electricity_avoided_kWh": "Electricity avoided",
    "electricity_own_kWh": "Own electricity",
    "electricity_net_kWh": "Net electricity saved",
    "ac_offset_net_frac": "share of air conditioner's use",
    "money_net": "Money after water and upkeep",
}
WATER_BESIDE = {
    "sprayed_m3": "Sprayed (circulates)",
    "evaporation_m3": "Evaporated",
    "drift_m3": "Blown away",
    "dried_m3": "Dried on the roof",
    "mains_caused_m3": "Mains water caused by spraying",
    "water_per_useful_L_kWh": "Lost for useful cooling",
}
# At the bars of the page on cooling.
STEPS = {
    **{id: label for id, label in LADDER.items() if id.endswith("_kWh")},
    "cooling_useful_kWh": "Useful",
    "useful_caused_kWh": "Caused by spraying",
}
PATHS = {
    "longwave_kWh": "To the sky",
    "convection_kWh": "To the air",
    "evaporation_heat_kWh": "By evaporation",
    "roof_conduction_kWh": "Into the roof beneath",
}
PATHS_IN = {
    "longwave_kWh": "from the sky",
    "convection_kWh": "from the air",
    "evaporation_heat_kWh": "by dew",
    "roof_conduction_kWh": "from the roof beneath",
}
# In the picture of the water; where the table beneath it has room for more words, those of WATER_LONG.
WATER = {
    "rain_caught_m3": "Rain caught",
    "mains_m3": "Mains",
    "condensation_m3": "Dew",
    "evaporation_m3": "Evaporated",
    "drift_m3": "Blown away",
    "dried_m3": "Dried on the roof",
    "store_evaporation_m3": "Evaporated from the store",
    "bleed_m3": "Bled",
    "leak_m3": "Leaked",
    "flush_lost_m3": "Lost to first flush",
    "other_uses_m3": "Other uses",
    "mains_bypass_m3": "Past the store",
    "overflow_m3": "Overflow",
}
WATER_LONG = {
    "mains_bypass_m3": "Other uses, mains water past the store",
    "dried_m3": "Left on the roof and dried",
    "store_evaporation_m3": "Evaporated from the open store",
}
# Over the columns of the months.
MONTHS = {
    "load_kWh": "Load",
    "cooling_roof_kWh": "At the roof",
    "cooling_useful_kWh": "Useful",
    "electricity_avoided_kWh": "Avoided",
    "electricity_own_kWh": "Own",
    "electricity_net_kWh": "Net el.",
    "rain_caught_m3": "Rain",
    "evaporation_m3": "Evap.",
    "drift_m3": "Drift",
    "mains_caused_m3": "Mains caused",
    "spray_hours_h": "Spraying",
}
ALL = (LADDER, WATER_BESIDE, STEPS, PATHS, WATER, WATER_LONG, MONTHS)
