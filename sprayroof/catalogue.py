"""What each identifier means: the paragraphs behind quantities and finding codes.

`explain`, the report, the workbook and the generated reference pages all read these two tables,
so a meaning is written once. Nothing here computes.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class QuantityMeaning:
    """A result's fixed identifier: its printed label, its unit in audit.json, and its paragraph."""

    id: str
    label: str
    unit: str
    meaning: str


@dataclass(frozen=True)
class FindingMeaning:
    """A finding code: its level when raised, one line of title, and its paragraph."""

    code: str
    level: str
    title: str
    meaning: str


def _quantities(*rows: tuple[str, str, str, str]) -> dict[str, QuantityMeaning]:
    return {row[0]: QuantityMeaning(*row) for row in rows}


def _findings(*rows: tuple[str, str, str, str]) -> dict[str, FindingMeaning]:
    return {row[0]: FindingMeaning(*row) for row in rows}


QUANTITIES: dict[str, QuantityMeaning] = _quantities(
    ("cooling_roof_kWh", "Cooling at the roof, net", "kWh",
     "Heat taken out of the water by the spray and the roof, from the water side: sky, air, evaporation and the "
     "roof beneath together, signed. It is the first step of the ladder, not the last: what the building uses is less."),
    ("cooling_stored_kWh", "Stored", "kWh",
     "Roof cooling that reached the store after the heat of the spray pump."),
    ("cooling_delivered_kWh", "Delivered to the rooms", "kWh",
     "Heat taken up by the store's water at the floors, ceilings or coils. Beside a booster chiller: less what the unsprayed year delivers."),
    ("cooling_useful_kWh", "Useful", "kWh",
     "The part of the delivered cooling that met a real demand of the building and that free cooling with outdoor air "
     "would not have met."),
    ("longwave_kWh", "Radiated to the sky", "kWh",
     "Net long-wave heat from the water to the sky and surroundings while spraying; negative where the sky warms the water."),
    ("convection_kWh", "To the air, without evaporation", "kWh",
     "Sensible heat from drops and sheet to the air; negative where the air warms the water."),
    ("evaporation_heat_kWh", "By evaporation", "kWh",
     "Latent heat of the evaporated water less that of the condensed water."),
    ("roof_conduction_kWh", "Into the roof beneath", "kWh",
     "Heat from the water into the roof deck; negative where deck and building warm the water."),
    ("electricity_avoided_kWh", "Air-conditioner electricity avoided by spraying", "kWh",
     "The air conditioner's electricity at the load left by the store had the roof never been sprayed, less its electricity "
     "at the load left with spraying: the marginal machine, step by step. What the store would have avoided without "
     "spraying is not counted."),
    ("electricity_avoided_whole_kWh", "Air-conditioner electricity avoided by the whole store", "kWh",
     "Air-conditioner electricity avoided by all cooling that the store handed over, sprayed or not."),
    ("electricity_own_kWh", "The system's own electricity", "kWh",
     "Spray and circulation pumps, treatment, controls and standby of the sprayed system, less the circulation pumping "
     "that the unsprayed store would have had. A booster chiller is kept apart, with its cooling."),
    ("electricity_net_kWh", "Net electricity saved by spraying", "kWh",
     "Avoided less own. Negative: spraying uses more than it saves."),
    ("ac_electricity_kWh", "Air-conditioner electricity without the roof", "kWh",
     "What the air conditioner would use for the same demand if the store gave no cooling at all."),
    ("ac_offset_frac", "Share of air-conditioner electricity displaced", "1",
     "Avoided electricity divided by the air conditioner's electricity without the roof; own use not yet taken off."),
    ("ac_offset_net_frac", "The same after own use", "1",
     "Net electricity saved divided by the air conditioner's electricity without the roof."),
    ("sprayed_m3", "Water sprayed", "m3", "Water that passed the nozzles; it circulates, it is not a loss."),
    ("evaporation_m3", "Evaporated", "m3", "Water that left drops and sheet as vapour."),
    ("condensation_m3", "Condensed onto the water", "m3", "Dew taken up by drops and sheet: water in."),
    ("drift_m3", "Blown away", "m3", "Drops carried off the roof by wind: liquid loss, apart from evaporation."),
    ("bleed_m3", "Bled", "m3", "Water let go on purpose to hold down the salts that evaporation leaves behind."),
    ("leak_m3", "Leaked", "m3", "Water lost by leaks of store, pipes and roof."),
    ("other_uses_m3", "Other uses", "m3", "Water that toilets and other users drew from the store."),
    ("overflow_m3", "Overflowed", "m3", "Water that found the store full."),
    ("flush_lost_m3", "Spray water lost to the first flush", "m3",
     "Returning spray water that a first-flush diverter sent away."),
    ("dried_m3", "Left on the roof and dried", "m3",
     "Water that the roof retained after the spray had stopped and drained, and that dried up there: lost, without "
     "cooling the store."),
    ("store_evaporation_m3", "Evaporated from the open store", "m3",
     "Water that the store's own surface gave off, where it is open to the air, less what condensed on it."),
    ("rain_caught_m3", "Rain caught", "m3", "Rain that reached the store after losses, first flush and filter."),
    ("mains_m3", "Mains water", "m3", "Mains water into the store and, by bypass, to the store's users."),
    ("mains_bypass_m3", "Mains water past the store", "m3",
     "The part of the mains water that served other users directly, past an empty store (mains rule bypass)."),
    ("mains_caused_m3", "Mains water caused by spraying", "m3",
     "Mains water less what the same year, rain and users would have needed without spraying."),
    ("storage_change_m3", "Change of store content", "m3", "Content at the end less content at the start."),
    ("unmet_uses_m3", "Uses that got no water", "m3",
     "Demand of other users that neither the store nor the mains rule served."),
    ("unmet_caused_m3", "Uses that got no water because of spraying", "m3",
     "Unmet uses less those of the same year without spraying."),
    ("refill_reliability_frac", "Share of the store's demand met by rain", "1",
     "One less mains water, unmet uses and net drawdown of the store, divided by all demand on the store (losses of "
     "spraying and other uses)."),
    ("self_sufficient_years_frac", "Share of rain years without mains water", "1",
     "Share of the simulated rain years in which no mains water was needed."),
    ("water_per_useful_L_kWh", "Water lost per kWh useful", "L/kWh",
     "Evaporated, drifted, dried, bled and flushed water, less condensation, divided by the useful cooling that spraying caused."),
    ("useful_per_own_kWh_kWh", "Useful cooling per kWh of own electricity", "kWh/kWh",
     "Useful cooling that spraying caused, divided by the system's own electricity."),
    ("money_net", "Money saved a year, net", "currency",
     "Electricity saved, less water, sewer and upkeep, per year in the site's currency."),
    ("carbon_net_kg", "Carbon saved a year, net", "kg CO2e",
     "Net electricity saved times the stated emission factor."),
    ("booster_cooling_kWh", "Put in by the booster chiller", "kWh",
     "Cooling that a booster chiller gave the store. It is metered out and never counted as the roof's."),
    ("booster_electricity_kWh", "Electricity of the booster chiller", "kWh",
     "Electricity that the booster chiller used for the cooling it put into the store."),
    ("useful_without_spray_kWh", "Useful cooling without spraying", "kWh",
     "Useful cooling that the same store, fed by rain and standing where it stands, would have given had the roof never "
     "been sprayed."),
    ("useful_caused_kWh", "Useful cooling caused by spraying", "kWh",
     "Useful cooling less what the same store would have given without any spraying, member by member."),
    ("load_kWh", "The building's demand for cooling", "kWh",
     "Heat, sensible and latent, that the building's air conditioning has to remove."),
    ("spray_hours_h", "Hours of spraying", "h", "Time the spray pump ran."),
    ("coldest_store_C", "Coldest store temperature", "degC", "Lowest store temperature at the outlet."),
)

FINDINGS: dict[str, FindingMeaning] = _findings(
    ("site.template-values", "doubt", "The site file may still hold invented example values",
     "The site file bears the name that a new site file is given. All values of a new site file are invented. The "
     "figures mean something only when each has been replaced; then give the site its own name."),
    ("site.spray-density", "doubt", "Flow and sprayed area do not fit each other",
     "The flow divided by the sprayed area lies outside 0.05 to 3 litres a minute and square metre. A flow in another "
     "unit, or the area of one roof for the flow of several, is the usual cause."),
    ("site.value-unusual", "doubt", "A value is unusual beside the others",
     "The value is possible, but so far from what is usual that another unit is the likeliest cause: litres for cubic "
     "metres, watts for kilowatts, square feet for square metres, cents for the currency itself. Numbers stand in the "
     "unit that the site file names; another unit is written with the number, in quotes."),
    ("site.no-emitter", "doubt", "Nothing hands the cold to the rooms",
     "The site file describes no floor, ceiling or coil, so the stored cold reaches no room: delivered and useful "
     "cooling are zero. Describe each with a block [[emitter]]."),
    ("site.zone-doubtful", "doubt", "Longitude and time zone do not fit",
     "Sun and clock differ by more than three hours at the stated longitude and time zone. Longitudes west of Greenwich "
     "are negative; a lost minus sign is the usual cause."),
    ("site.latitude-doubtful", "doubt", "Latitude and time zone do not fit",
     "The stated latitude and the time zone lie on opposite sides of the equator. Latitudes south of it are negative."),
    ("site.entry-unused", "note", "An entry plays no part",
     "The entry is stated, but another entry makes it idle: the age of a cover where there is none, the depth of a store "
     "that is not buried, the coil's values of a floor, the filling level where the mains does not fill the store. Or no "
     "figure follows it at all, as with the direction of a roof."),
    ("weather.rain-missing", "doubt", "The weather file carries no rain",
     "The file's rain column is absent or filled with a missing-value code, so rain is taken as none until the site "
     "file names a rain record. Every figure of rain caught and mains water then stands on no rain at all."),
    ("weather.rain-implausible", "doubt", "The weather file's rain cannot be in millimetres",
     "The rain column, read as millimetres per hour, gives hours or years that do not happen, or depths of several "
     "hours that overlap; often it holds tenths of a millimetre. It is not used until the site file states "
     "`rain_unit`."),
    ("weather.rain-gaps", "doubt", "Some rain is missing",
     "A small part of the rain record is missing. No rain is taken there, so rain caught is a little too low."),
    ("weather.rain-daily", "note", "Daily rain was spread within the day",
     "A daily rain record does not say when it rained. Each day's depth is laid evenly over 15:00 to 19:00 local "
     "standard time. Sums are kept; the hours in which rain stops the spraying are a convention."),
    ("weather.rain-year", "note", "One year of the rain record was chosen",
     "The rain record holds several full years; the one whose sum is nearest to their mean was laid on the weather "
     "year."),
    ("weather.typical-year", "note", "The weather is a typical year",
     "The file is put together from months of several years to be typical of a place. It is not the weather of any "
     "year in which the system ran, and it must not be held against meters."),
    ("weather.leap-day", "note", "29 February was left out",
     "A typical year has 365 days. Records of 29 February are left out."),
    ("weather.span-cut", "note", "Only a part of the weather record was used",
     "The record is longer than a year; its last full year is used."),
    ("weather.gaps-filled", "note", "Short gaps in the weather were bridged",
     "Gaps of up to six hours are bridged by a straight line. Longer ones are not."),
    ("weather.many-gaps", "doubt", "Many gaps in the weather were bridged",
     "More than 5 % of a weather channel was bridged by straight lines over gaps of up to six hours."),
    ("weather.cloud-missing", "doubt", "Sky cover is missing",
     "Without sky cover the long-wave radiation of a clouded sky is not known. Cloud is then uncertain night by "
     "night, and the range of the cooling widens."),
    ("weather.cloud-octas", "doubt", "Sky cover may be in eighths",
     "Sky cover that should be in tenths never exceeds 8 but often stands at 8. If it is in eighths, clouds are read a "
     "fifth too thin and cooling to the sky is overstated."),
    ("weather.long-wave-implausible", "doubt", "Long-wave radiation outside what happens",
     "Downward long-wave radiation lies between 50 and 600 W/m2 anywhere on earth. Other values are not used; the sky "
     "model stands in."),
    ("weather.long-wave-modelled", "doubt", "The file's long-wave column is a model's output",
     "Hourly weather files carry a horizontal infrared column that was nearly always computed from temperature, dew "
     "point and cloud by another model. Two files of one city can differ by 8 to 33 W/m2 on clear nights for this "
     "reason."),
    ("weather.constant-column", "doubt", "A weather column never changes",
     "A column that holds one value all year is a filled-in number, not a reading. It is used as it stands."),
    ("weather.dew-above-air", "doubt", "Dew point above air temperature",
     "A dew point cannot lie above the air temperature; it was set equal to it. One of the two sensors or columns is"
     " wrong."),
    ("weather.humidity-over-100", "note", "Humidity above 100 %",
     "Humidity sensors read up to a few per cent above 100 in wet air. Such readings are taken as 100 %."),
    ("weather.pressure-odd", "doubt", "Pressure does not fit the station's height",
     "The mean pressure fits neither the height of the station nor sea level. Unit or elevation may be wrong."),
    ("weather.pressure-sea-level", "doubt", "Pressure is reduced to sea level",
     "A high station that reports sea-level pressure has reduced it. It was carried to the height of the site from "
     "there."),
    ("weather.pressure-absent", "note", "No pressure in the weather file",
     "The pressure of the standard atmosphere at the height of the site is used; weather moves it by two per cent."),
    ("weather.solar-absent", "note", "No solar radiation in the weather file",
     "Solar radiation is taken as none. It matters where spraying goes on by day and for the hot roof at dusk."),
    ("weather.station-far", "doubt", "The weather station is far from the site",
     "The station is more than 30 km away or 200 m higher or lower than the site. Nights differ over such distances,"
     " most of all in valleys and near water."),
    ("weather.sky-formula-limits", "doubt", "The sky formulas are less sure here",
     "Sky formulas were fitted at low and temperate places. Above 1500 m, and in frost under an inversion, measured "
     "radiation was 26 to 35 W/m2 above most of them, so cooling to the sky is overstated."),
    ("load.gaps-filled", "note", "Short gaps in the metered load were bridged",
     "Gaps of up to two hours are bridged by a straight line. Longer ones are not."),
    ("load.other-year", "doubt", "Metered load and weather are of different years",
     "A metered load was laid on a typical weather year by month, day and time of day. Hot spells and working days "
     "of the two do not fall together, so useful cooling is less sure."),
    ("table.encoding", "note", "A text file is not UTF-8",
     "The file's encoding was worked out from its bytes. Check names with accents and units with degree signs."),
    ("table.decimal-comma", "note", "Decimal commas",
     "All numbers of a column use the comma as decimal mark and were read so."),
    ("table.daylight-saving", "note", "A repeated clock hour was told apart by order",
     "Local clock time repeats an hour when daylight saving ends. The rows of that hour were told apart by their "
     "order."),
    ("spray.never-ran", "doubt", "The spray never runs",
     "In the best estimate the controller never starts the spray: season, clock window, start difference, lock-outs or "
     "the reserve keep it off. All cooling and losses are then zero, which is right only if that is how the site runs."),
    ("store.freezing", "doubt", "The store comes near freezing",
     "Heat lost through the store's walls would bring the water to 0 degC. The model holds it there and does not follow "
     "ice. Winter figures are rough, and pipes and store may need emptying or protection."),
    ("model.step-too-long", "doubt", "The step is long for this store",
     "The pump turns over a twentieth of the store or more in one step, so the store's temperature moves much within a step. "
     "A shorter step makes the result surer."),
    ("result.sign-open", "doubt", "Saves or costs: cannot be said",
     "The 90 % range of net electricity spans zero. With the facts at hand it cannot be said whether the system saves "
     "or costs electricity; the assumptions with the largest effect say what to measure."),
    ("water.uses-unmet", "doubt", "Other users go short of water",
     "The store runs dry and no mains rule serves the other users. The figures of rain and mains hold only with these "
     "shortages."),
    ("result.cools-without-spray", "note", "The store cools without the roof",
     "Rain, the ground and night air at the store's walls cool the store too. The useful cooling it would give without "
     "any spraying is told apart; electricity, money and carbon count only what spraying adds to it."),
    ("load.none", "doubt", "No demand for cooling",
     "In the reference year the building never needs cooling in the hours given, so no cooling can be useful."),
    ("store.year-not-closed", "doubt", "The store ends the year fuller or emptier than it began",
     "Content at the start was stated and differs from that at the end by more than a tenth of the store. A year that does "
     "not close flatters or overstates mains water by the difference. Left out, the start is found so that the year closes."),
    ("result.booster-left-out", "note", "A share that counts the booster",
     "A chiller on the same store spares the air conditioner electricity too. A share that counts all cooling from the "
     "store holds the booster's cooling and leaves out what booster, pumps and standby use; the share by spraying does not."),
)
