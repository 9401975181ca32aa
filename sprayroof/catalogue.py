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
     "spraying is not counted. Beside a booster chiller on the same store, the booster's electricity that spraying spares "
     "(booster_spared_kWh) is contained: a store that the roof cools leaves the chiller less to do."),
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
     "Avoided electricity divided by the air conditioner's electricity without the roof; own use not yet taken off. Spared "
     "electricity of a booster chiller is contained."),
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
    ("cooling_pipe_kWh", "Cooling at the roof, by flow and temperatures", "kWh",
     "Measured only: flow times the heat capacity of water times supply less return. One of two ways to measure what "
     "the roof took out of the water; both are shown, and weighed together for the cooling at the roof."),
    ("cooling_tank_kWh", "Cooling at the roof, by the store", "kWh",
     "Measured only: the heat that the store lost from the start of spraying until an hour after its end, corrected for "
     "the pump's heat, make-up, rain, floors and walls. It needs no flow meter."),
    ("water_remainder_m3", "Water that no meter saw leave", "m3",
     "Measured only: mains water and rain into the store, less what users drew and what overflowed, less the rise of the "
     "content. It holds evaporation, drift, leaks, and the errors of all meters; it is split only as far as tests tell."),
    ("spray_loss_m3", "Water lost by spraying", "m3",
     "Measured only: what left the store unseen from the start of spraying until an hour after its end, less leaks: "
     "evaporated, blown away, and left on the roof to dry."),
    ("water_unexplained_m3", "Water left unexplained", "m3",
     "Measured only: the remainder less leaks and less the water lost by spraying. Errors of the meters of day-time uses "
     "are in it; it should be small beside its range."),
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
    ("booster_spared_kWh", "Booster electricity spared by spraying", "kWh",
     "Electricity of the booster chiller in the same year without spraying, less that with spraying. It is a part of the "
     "electricity avoided; with it that can be more than the useful cooling would save alone."),
    ("useful_without_spray_kWh", "Useful cooling without spraying", "kWh",
     "Useful cooling that the same store, fed by rain and standing where it stands, would have given had the roof never "
     "been sprayed."),
    ("useful_caused_kWh", "Useful cooling caused by spraying", "kWh",
     "Useful cooling less what the same store would have given without any spraying, member by member. Beside a booster "
     "chiller this is all of the useful cooling told."),
    ("load_kWh", "The building's demand for cooling", "kWh",
     "Heat, sensible and latent, that the building's air conditioning has to remove."),
    ("free_cooling_kWh", "Demand that outdoor air meets for nothing", "kWh",
     "What outdoor air colder than `free_cooling_below` takes of the demand, or would take if the stored water did not do "
     "it first. It is never useful cooling of the roof."),
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
    ("store.open-sun", "doubt", "No sun falls on the open store in the model",
     "A store with an open surface (open_share) out of doors gives heat to the air and the sky and takes none from the "
     "sun, which brings several kilowatt-hours a day on each square metre in summer, more than such a surface loses. "
     "Cooling that comes without spraying is flattered most. A store in the shade is reckoned right; of one in the sun "
     "only a run with open_share = 0 beside this one tells how much hangs on it."),
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
     "that is not buried, the coil's values of a floor, the filling level where the mains does not fill the store, the cover of "
     "a closed store, the direction of a roof whose horizon is the same all round."),
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
    ("weather.cloud-layers-overlap", "note", "Layers of cloud lie over each other",
     "The amounts of low, middle and high cloud sum to more than the whole sky. Only what is seen from the ground counts: "
     "where that is rare the upper layers are cut to what the lower ones leave; where it is common (models and satellites "
     "tell each layer as if it were alone) layers are taken to lie over each other by chance."),
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
    # logs: files joined, channels, units, counters, levels, gaps
    ("log.encoding", "note", "A log is not UTF-8",
     "Loggers and older programs write degree signs and accents in other encodings. The one in which all letters make sense was "
     "taken. Numbers do not depend on it; headings do. State `encoding` if a heading looks wrong."),
    ("log.title-rows", "note", "Titles, units and statistics were left out",
     "Rows without a time above or below the data are titles, units or statistics of the export. They are kept as remarks and "
     "never counted as readings."),
    ("log.rows-unreadable", "doubt", "Some rows are no records",
     "Rows among the data that have no time, too few or too many cells: a logger that started anew, an export that was cut off. "
     "They are not used; look whether something was lost there."),
    ("log.day-month-order", "note", "Day and month were told apart",
     "Dates such as 05/06 can be read two ways. One reading was impossible, or ran back and forth in time, so the other was "
     "taken. State `time_format` to settle it for good."),
    ("log.time-form", "note", "An unusual form of time was read",
     "Years of two digits, spreadsheet days, seconds since 1970, 24:00, or midnight without its clock: each was read in the one way "
     "that makes sense."),
    ("log.twelve-hour-clock", "note", "A 12-hour clock without AM and PM",
     "The clock runs through its hours twice a day without saying which half is meant. The order of the rows tells it; where it "
     "does not, the file is refused."),
    ("log.daylight-saving", "note", "The repeated hour was told apart",
     "When daylight saving ends the clock shows one hour twice. The rows before the clock falls back are those of the first pass. "
     "Where the order does not tell, the site file must (`repeated_hour`, or a fixed `time_zone`)."),
    ("log.daylight-saving-doubt", "doubt", "An hour is lost as the clocks go forward",
     "The clock of the log is stated as fixed, but just the hour is missing that clocks with daylight saving leave out. If the "
     "clock was changed after all, every later row lies an hour off: state the zone of the place as `time_zone`."),
    ("log.zone-contradicts", "doubt", "The file names another time zone",
     "A title row or the times themselves name another zone than the site file. One of the two is wrong; an hour off, the water "
     "temperatures no longer belong to the flow, and the night not to its weather."),
    ("log.dates-outside", "doubt", "A date of the site file lies outside the logs",
     "A test, a block of switched nights or an end of the measured period is dated outside the time that the logs cover: most "
     "often a slip in the year or month. Calibrations and other tests that need no readings may lie up to three months before "
     "or after."),
    ("log.newest-first", "note", "Newest rows came first",
     "The export runs backwards. The rows were turned round; nothing else changes."),
    ("log.unsorted", "note", "Rows were not in order of time",
     "Blocks of rows stand in the wrong place, as after joining exports by hand. They were sorted; each row keeps its time."),
    ("log.duplicate-rows", "note", "Rows stand more than once",
     "Rows of one time that say the same are one row; a number beside an empty cell fills it. In logs of changes the row written "
     "last holds, and tips of one time are added."),
    ("log.same-time-differs", "doubt", "One time, different values",
     "Rows of one time give different values, and nothing says which is right. The cells that differ are not used. If they are many "
     "the file is refused: it may hold two loggers, or a clock that was set back."),
    ("log.clock-reset", "doubt", "A clock had lost the date",
     "After a loss of power a logger may start at a date such as 1 January 2000. Rows years away from the others cannot be placed "
     "and are not used."),
    ("log.clock-corrected", "note", "A wrong clock was put right",
     "The site file states what the logger showed and what it truly was. The times were moved by the difference, in a straight line "
     "between two checks and beyond them."),
    ("log.missing-codes", "note", "Cells without a reading",
     "Empty cells, words such as Bad, and numbers that stand for no reading (-9999, a thermometer's 85 after a restart) were "
     "counted and left out. A number that readings lead up to is a reading."),
    ("log.words-excluded", "doubt", "Words in a column of numbers",
     "Words such as Auto or Manual have no number, and on, off, yes and no have one only for a status, a flow or a power: a "
     "thermometer that is off does not read 0. The cells are not used; if the word means a number, state it with the `words` of "
     "the channel."),
    ("log.limits", "doubt", "Limits instead of readings",
     "A cell such as <0.2 says that the instrument could not tell. It is not used; the `words` of the channel can give it a number."),
    ("log.units-in-cells", "note", "Units behind the numbers",
     "The unit stands in every cell and is the declared one, so the numbers were taken."),
    ("log.decimal-comma", "note", "Decimal comma",
     "The column has commas that can only be decimal marks, and no cell contradicts. A column with both marks is refused."),
    ("log.thousands", "note", "Marks between thousands",
     "Points, commas, apostrophes or blanks between groups of three digits were taken out."),
    ("log.merged-cells", "note", "Merged cells of a sheet",
     "A cell that is merged over several rows or columns has its value for all of them."),
    ("log.rows-limit", "doubt", "The export ends at a row limit",
     "Spreadsheets cut tables at 65 536 or 1 048 576 rows without a word. A file of exactly that length has probably lost its end."),
    ("log.copied-block", "doubt", "A block of readings was copied",
     "A day or more of changing readings stands twice, equal in every cell. Measured values do not repeat; one of the blocks fills a "
     "gap by hand or by an export's slip."),
    ("log.hand-rounded", "doubt", "Readings look rounded by hand",
     "Most readings end in 0 or 5 although others show the digits between. An eye at a scale does that; the true error is larger "
     "than the instrument's."),
    ("log.overlap-merged", "note", "Exports overlap and agree",
     "Rows of one time stood in several files of a pattern with the same values, and were taken once."),
    ("log.overlap-differs", "doubt", "Exports overlap and disagree in a few cells",
     "Files of one pattern give different values for the same time in less than a hundredth of the cells that both hold. "
     "These cells are not used. More would stop the reading: look for a file that was edited, or of another logger."),
    ("log.columns-unused", "note", "Columns that the site file does not name",
     "The file holds more columns than the site file declares. They play no part; a channel among them needs an entry."),
    ("channel.rows-missing", "doubt", "Rows are missing from a log",
     "Rows are missing where the logger's interval would have them. Nothing is put in their place but short straight lines "
     "(30 minutes for water temperatures, 6 hours for weather and rooms); flows, rain, draw, level, electricity and "
     "statuses stay unknown. Nights with a long gap while spraying do not count."),
    ("channel.held-long", "doubt", "A log of changes was silent for long",
     "A log that writes a row only when something changes had none for more than a day. The last values were held, as they "
     "should be if nothing changed; if the logger stood still instead, they are old. The entry `hold` ends a value after "
     "so many hours."),
    ("channel.filled", "note", "Short gaps were bridged",
     "Short gaps in a temperature, the weather or a room were bridged by a straight line, and are marked as filled."),
    ("channel.filled-much", "doubt", "More than a twentieth of a channel was bridged",
     "More than 5 % of the channel's values are straight lines over short gaps. Means hold; swings within the gaps do not."),
    ("channel.filled-weak", "doubt", "More than a fifth of a channel was bridged",
     "More than 20 % of the channel's values are straight lines over short gaps. The channel's grade is lowered: mend the "
     "logger, or export again."),
    ("channel.left-out", "doubt", "More than half of a channel was bridged",
     "More than half of the channel's values would be straight lines over gaps. The channel is not used."),
    ("channel.stamp-assumed", "doubt", "Start or end of the interval is not stated",
     "Means over intervals of five minutes or more belong to the time before their stamp or after it, and the site file "
     "does not say which. They were read as the time before. The heat of one file hardly changes with it; beside other "
     "files and the weather everything shifts by one interval. State `stamp`, from the logger's manual or by comparing a "
     "known switching time."),
    ("channel.clock-corrected", "note", "A logger's clock was set right",
     "Clock tests of the site file say how far the logger's clock was off; its rows were moved, in a straight line between "
     "two tests."),
    ("channel.calibrated", "note", "A test on site corrected a channel",
     "A calibration, dip, pair test or draw-down test of the site file was applied to the channel, once. Between two tests "
     "the correction runs in a straight line, and half their difference is added to the channel's error. After a pair test "
     "the two water temperatures share one error, and only the small rest of their difference is unsure."),
    ("channel.test-unused", "doubt", "A test has no channel to correct",
     "A test on site names a channel that no log in use holds, so it changes nothing. Declare the channel, or take the "
     "test out."),
    ("channel.counter-roll-over", "note", "A meter rolled over",
     "A running total fell because the meter passed its last digit and began again at zero. The size of the meter was "
     "added: as stated by `rolls_over_at`, or the likely power of ten or of two where the amount then fits the meter's "
     "usual speed."),
    ("channel.counter-swap", "note", "A changed meter was bridged",
     "The site file states when a meter was changed, with the last reading of the old and the first of the new. What was "
     "counted between two rows is the sum of both parts."),
    ("channel.counter-reset", "doubt", "A running total fell without a roll-over",
     "A running total fell, and adding the size of the meter would give an amount that the meter never counts in so short a "
     "time: it was reset or changed. What was counted between the two rows is unknown and left out; use is never taken as "
     "negative. Where the readings at the change are known, state them with `swaps`."),
    ("channel.counter-jump", "doubt", "A running total jumped",
     "A running total rose many times faster than it ever does: a changed meter, or a setting. What was counted between the "
     "two rows is left out. Where the readings at the change are known, state them with `swaps`."),
    ("channel.counter-garbled", "doubt", "Readings beside a running total",
     "Some readings lie below or above a running total that goes on from before as if they were not there: a lost message, "
     "a zero. They were passed over, and the amount across them is kept."),
    ("channel.counter-backwards", "note", "A running total trembled",
     "A running total stepped back by its last digit and went on. It was taken as standing still."),
    ("channel.level-outside", "doubt", "Level readings outside the store",
     "A few readings lie below empty or above full by more than 2 % of the store and were left out. More than one in a "
     "hundred would stop the reading: then the unit, the table or the store's size is wrong."),
    ("channel.level-barometer", "note", "The air pressure was taken off the level",
     "The level sensor is not vented: it reads water and air together, 10.2 mm for each hectopascal. The logged air pressure "
     "was taken off, about its mean."),
    ("channel.level-unvented", "doubt", "The level follows the air pressure",
     "The level sensor is not vented, and no air pressure was logged at the store to take off. Its error was widened by the "
     "swing of the pressure. Log the pressure beside it, or use a vented sensor."),
    ("channel.level-held", "note", "Water on the roof is missing from the level",
     "While spraying, water runs over the roof and is missing from the store; it is back an hour after. That is no loss. "
     "Levels are compared an hour after spraying stopped."),
    ("channel.spray-density", "doubt", "The logged flow does not fit the roof",
     "The flow while spraying, divided by the sprayed area, lies outside 0.05 to 3 litres a minute and square metre. "
     "Another unit is the usual cause; its factor is shown where one fits."),
    ("channel.flow-off-rating", "doubt", "The logged flow is far from the rated one",
     "The flow while spraying lies far outside the range that the site file gives for `spray.flow`. Either the meter's unit "
     "is wrong or the pump does not give what is stated; a bucket and a watch tell."),
    ("channel.flow-diluted", "doubt", "Temperatures averaged over standing water",
     "The export averaged flow and water temperatures over intervals in which the pump ran for a part of the time. The "
     "temperatures are then mostly those of standing water, and flow times difference is not the heat. They are left out "
     "there; the store's temperatures, a heat counter or an export at one minute tell the heat."),
    ("channel.two-records-agree", "note", "Two instruments agree",
     "The same thing is logged twice, and both agree within 5 % or within their errors."),
    ("channel.two-records-differ", "doubt", "Two instruments disagree",
     "The same thing is logged twice, and they differ by more than 5 % or than their errors. The site file says which is "
     "used; the other one may be the right one."),
    ("channel.rain-daily", "doubt", "Rain in totals of a day",
     "The gauge was read once a day, at 09:00 for example. Each total is spread evenly over the time before its stamp. Sums "
     "are kept; on which night it rained cannot be told to the hour."),
    ("channel.rain-sprayed", "doubt", "The spray tipped the rain gauge",
     "The gauge counted while the spray ran, and neither another gauge nor the store got wet. The tips are taken as spray. "
     "Move the gauge out of the spray's reach."),
    ("channel.rain-funnel", "doubt", "The rain gauge may be blocked",
     "The gauge stayed dry on days with much rain elsewhere, or counted the same small amount hour after hour, as a blocked "
     "funnel drains. Rain caught may be too low, and its times are late."),
    ("quality.out-of-range", "doubt", "Readings that cannot be true",
     "Readings lie outside what the quantity can be at all: a broken wire, a code that was not named, another unit. They are "
     "left out."),
    ("quality.spikes", "doubt", "Single readings jump and come back",
     "A reading leaves its neighbours by far more than the quantity can change in a row or two, and comes back. It is left "
     "out. Jumps of water temperature and level beside a start or stop of the pump are true and stay."),
    ("quality.stuck", "doubt", "A channel does not change for hours",
     "Every reading of many hours is exactly the same, which a healthy instrument of this kind never shows. Water temperatures "
     "are held to more while the spray runs: one that stands still for about an hour, far longer than it is used to, while the "
     "others move is frozen. What stands within the steps of a coarse sensor, or leaves its value by a single step, is taken "
     "as truly steady. Frozen readings are left out. Look at the instrument and its wire."),
    ("quality.clipped", "doubt", "Readings stop at the end of a range",
     "The channel comes up to its largest value again and again and stays there, as an instrument at the end of its range. "
     "The true values may be larger, and sums too small. The readings are used."),
    ("quality.coarse", "doubt", "Readings in coarse steps",
     "The channel is read in steps that are not small beside the differences taken from it. Its uncertainty was widened by half "
     "a step. A finer instrument makes the figures surer."),
    ("quality.humidity-saturated", "doubt", "A humidity sensor stands at 100 % for days",
     "Air is seldom saturated for two days on end; a humidity sensor that is wet or worn out says so. The readings are left "
     "out, and the weather record is used instead."),
    ("quality.humidity-wetted", "doubt", "The spray wets the humidity sensor",
     "The humidity jumps to near saturation as the spray starts, faster than any dew. The sensor is wetted by drops and tells "
     "nothing of the air that the roof meets. It is left out while spraying and for an hour after. Move it upwind, higher or "
     "under a shield."),
    ("quality.sensor-in-sun", "doubt", "The air sensor stands in the sun",
     "In sunshine the air temperature lies above the weather record by much more than at night. It is left out in sunshine and "
     "an hour after it; nights are not touched."),
    ("cross.pair-swapped", "doubt", "Supply and return seem to be exchanged",
     "The pair of temperatures says that spraying warmed the water where it cannot have: the store became colder; or the water "
     "was warmer than the air, when air, sky and evaporation all cool it; or the supply, not the return, saw the roof's warm "
     "water first as the pump started. The two columns seem to be exchanged in the file or on the pipe. Nothing was exchanged: "
     "on muggy nights the difference is truly negative, and only you can look. If it is so, exchange the columns in the site "
     "file. Until then the range of the heat holds both signs."),
    ("cross.pair-unconfirmed", "doubt", "Most nights warm the water, and nothing confirms it",
     "On most nights the return is warmer than the supply, and neither the store's temperature, nor the air's, nor the starts of "
     "the pump tell whether that is true or the two sensors are exchanged. Look at the pipe, log the air or the store, or make a "
     "night's check by hand. Until then the range of the heat holds both signs."),
    ("cross.negative-nights", "note", "Nights on which spraying warmed the water",
     "On warm muggy nights the water gains heat on the roof. The store's own temperature confirms it, or the air was warmer than "
     "the water. These nights count as negative cooling; a controller that looks at the return would have stopped."),
    ("cross.running-differs", "doubt", "Flow, power and status disagree on when the spray runs",
     "Two channels tell at different times that the spray pump runs. A meter fails, a status shows a command and not the pump, or "
     "a clock is off. Run hours and pump energy are unsure by this much."),
    ("cross.power-of-flow", "doubt", "The pump's power per flow changes",
     "At a given flow a pump takes the same power. A change between nights points to clogged nozzles or strainer, air in the "
     "pump, another pump, or a meter that fails."),
    ("cross.pair-drifts", "doubt", "Supply and return drift apart while the pump stands still",
     "Standing water takes the temperature of its surroundings at both sensors. A difference that wanders over the weeks is a "
     "sensor that drifts, or surroundings that change with the season. A pair test holds for its day only: with a second one, "
     "at the end of the record, the correction runs from the first to the second. Until then the heat by the pipe has a wider range."),
    ("cross.wind-above-station", "doubt", "The logged wind is far above the weather record's",
     "A roof among others is seldom windier than a station's mast at 10 m. Most often the unit of the wind column is wrong (km/h or "
     "knots read as m/s), or the station stands sheltered or far away."),
    ("cross.spray-in-rain", "doubt", "The spray ran in the rain",
     "Rain cools the roof by itself, and warm rain warms the water. Spraying into rain costs pump electricity for little."),
    ("cross.runoff-above-one", "doubt", "The store gained more than the rain can have brought",
     "More water came to the store than fell on the roofs that feed it. The gauge reads low or was blocked, the level's table is "
     "wrong, other roofs drain to the store, or water flows in from elsewhere."),
    ("cross.level-rises", "doubt", "The level rises without rain, make-up or spray",
     "Water comes to the store that no channel knows of, or the level sensor drifts. The water remainder holds it."),
    ("cross.makeup-unseen", "doubt", "Make-up that the level does not show",
     "Metered make-up should raise the level. It did not: the meter feeds something else too, the weight of its pulses is wrong, "
     "or the water is lost at once."),
    ("cross.salts-fall", "doubt", "The salts fall without fresh water",
     "Evaporation leaves salts behind; only rain and mains water thin them. A fall without either points to unmetered water or a "
     "fouled probe."),
    ("cross.clock-hour", "doubt", "A clock was changed by an hour",
     "Two logs fit together at another time from some day on, an hour later or earlier: one of the clocks was changed for "
     "daylight saving or set anew, and the site file does not say so. The finding writes the line that would put it right; "
     "nothing is moved unasked. Until it is settled, what is measured with both is widened until its range holds either."),
    ("cross.clocks-apart", "doubt", "Two clocks differ",
     "What must move together in two logs fits best at another time than their clocks say: the spray's flow, status and power; "
     "the water in the pipe as the spray starts and stops; the level and what make-up and draws count; the air and the weather "
     "record. The finding writes the line that would put it right (`clock_checks`, or the zone of the file); nothing is moved "
     "unasked. Until it is settled, what is measured with both is widened until its range holds either."),
    ("cross.clocks-doubtful", "doubt", "Two clocks may differ",
     "Two logs fit a little better at another time than their clocks say, but the response is slow (a store that cools, water "
     "that needs its time down the roof), or few nights tell. Look at both clocks. Until it is settled, what is measured with "
     "both is widened until its range holds either."),
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
    ("ledger.nights-left-out", "doubt", "Some nights were not measured",
     "A night counts as measured where nine tenths of its records are there, none is missing for more than an hour while "
     "spraying, and the store is known at both ends. Other nights are left out of the measured sum, not counted as zero. "
     "The estimate for all nights puts them at the mean of like nights and says how unsure that is."),
    ("ledger.water-left-out", "doubt", "The water of some nights was not measured",
     "The level at both noons, make-up, draws and rain must be known, and the store must not have been full while water "
     "ran in, or it may have overflowed unseen. Nights that lack one of them are left out of the measured sum of water."),
    ("ledger.water-outlier", "doubt", "A night lost far more water than like nights",
     "For each litre sprayed more than three times as much left the store as on the middle night, by more than the nights "
     "scatter and the meters err. Water pumped away in a test that the site file does not name looks so, and a hose or a burst "
     "pipe. The night's loss is not counted as water lost by spraying; the estimate for all nights puts it at the mean of the "
     "others. The factor is our own judgement."),
    ("ledger.pipe-against-store", "doubt", "Heat by the pipe and by the store contradict each other",
     "Over the period, or over a half of it, the two sums lie farther apart than the stated errors of flow meter, "
     "temperatures, level and store allow. An instrument drifted, was changed, or is less exact than stated: test the "
     "pair and the flow meter again, dip the store. Until then their mean is not sure to the width that each claims."),
    ("ledger.cross-check", "doubt", "Two ways to measure the cooling disagree",
     "Heat by flow and temperatures and heat by the store's own temperatures differ by more than a tenth in the middle "
     "night. One of flow meter, temperature pair, level, store volume or floor circuit is wrong. A draw-down checks the "
     "flow meter, a pair test the temperatures, dips the level."),
    ("ledger.pair-untested", "doubt", "Supply and return temperature were not tested against each other",
     "The cooling hangs on a small difference of two temperatures. A constant error of that difference is the same every "
     "night and no number of readings makes it smaller. Let the same water pass both sensors for half an hour (a pair "
     "test), and their difference is known to some hundredths of a kelvin."),
    ("ledger.negative-nights", "note", "On some nights the roof warmed the water",
     "On muggy nights dew, warm air and an overcast sky warm the sprayed water. Such nights are true; they are counted "
     "with their sign and lower the sum. A controller that looks at the returning water would not spray on them."),
    ("ledger.above-bound", "doubt", "More cooling was metered than the weather allows",
     "On these nights the metered cooling, less its uncertainty, is above the largest that a wet roof could give off under "
     "that night's air, wind and the coldest clear sky, at the upper ends of the stated flow and area. No roof does that: "
     "the flow meter (its unit, its pulses), the roof's area, the stated flow or a temperature sensor is wrong. What was "
     "metered so is refused: the night counts by the other way of measuring where that is possible, and is left out of the "
     "sum otherwise. What the same instrument told of other nights is no surer; correct the cause and audit again."),
    ("ledger.power-stated", "doubt", "The spray pump's electricity was not metered",
     "The stated power times the measured hours stands in for a meter. It is no measurement, and graded so."),
    ("ledger.leak-untested", "doubt", "Leaks were not tested",
     "A still, dry store with inlets and users shut for one or two days shows what leaks. Without that test leaks cannot "
     "be told from what evaporates and drifts, and all of it stays in one remainder."),
    ("ledger.not-split", "note", "Evaporation and drift are not told apart",
     "Level and meters tell how much water spraying costs, not how it went. Salts do: evaporation leaves them behind, "
     "drops carry them away. Follow salts or conductivity over some dry nights (a tracer test) to part the two. Comparing "
     "calm and windy nights tells how drift grows with wind at best, not how much drifts in still air."),
    ("ledger.water-gained", "doubt", "The store gained water that no meter saw",
     "On these nights the content rose while spraying, beyond its uncertainty, without rain or make-up. Heavy dew can do "
     "so; otherwise rain missed by the gauge, a make-up past its meter, or the level is the cause."),
    ("ledger.on-off-untold", "note", "Switching on and off does not tell an effect",
     "Nights with and without spraying were compared, what the store carries over from night to night taken off, and the "
     "effect is smaller than its uncertainty or the nights are too few. Days that follow each other are alike, so more "
     "blocks help more than longer ones; a block shorter than the store takes to settle tells little."),
    ("ledger.on-off-lower-bound", "note", "Switched nights tell a lower bound",
     "A large store remembers the nights before a switch: on the first nights off it still cools, on the first nights on "
     "it is still warm. How long it remembers could not be told well enough to say that it had settled before it was "
     "switched again. The difference as seen is then smaller than that between spraying every night and never: a lower "
     "bound. The range is that of the lasting difference, wider on its far side. Longer blocks, three times as long as "
     "the store takes to follow a switch, tell more."),
    ("test.unused", "doubt", "A test could not be used",
     "The test lacks an entry, or the logs of its time do not fit it. The result is as if it had not been made."),
    ("test.left-over", "doubt", "Corrected readings still miss a test",
     "After all corrections the instrument still departs from the test by more than twice its stated uncertainty. Tests "
     "that contradict each other, a wrong time of the test, or a pump that did not run as noted are the usual causes."),
    ("test.closed-night-differs", "doubt", "A closed night and the ledger disagree",
     "On a night with inlets and users shut, water lost was gauged on site. Level and logs of the same night say another "
     "amount, beyond both uncertainties: the level's scale or the test's times are wrong."),
    # bills, meters of the building, pairs of rooms
    ("bills.estimated-joined", "note", "Estimated readings were joined with the next bill",
     "A bill by an estimated reading and the next one share the true use in a way that nobody knows; only their sum is read. They "
     "were joined up to an actual reading."),
    ("bills.cancelled", "doubt", "Bills that were cancelled",
     "A bill marked as cancelled counts for nothing, nor does a credit of the same amount and last day that takes it back. Check that "
     "the bill in its place stands in the file: its days would be missing otherwise."),
    ("bills.columns-unused", "note", "Columns of bills that the site file does not name",
     "The file holds columns that no entry names. If one tells estimated readings, meters or solar electricity in words that are not "
     "known here, name it at `estimated_column` or `meter_column`, or state `netted`."),
    ("bills.correction-joined", "note", "Corrections were joined with the bills they correct",
     "An amount below zero, or one marked as a correction, puts earlier bills right. It was added to the bills whose days it names, "
     "all of them as one period, or to the bill before it. If it reaches further back, state its days."),
    ("bills.empty-joined", "note", "Bills without any use were joined with the next",
     "A building that is in use does not use nothing for a month; such a bill stands for a meter that was not read. It was joined "
     "with the next."),
    ("bills.repeated-rows", "note", "Bills that stand twice count once",
     "The same days with the same amount stand in the file more than once, as after joining two exports."),
    ("bills.rows-left-out", "note", "Rows that hold no bill were left out",
     "Titles, totals and rows that were cut off have no date, or not all cells."),
    ("bills.row-unusable", "doubt", "Bills without a date or an amount",
     "A bill that lacks its first or last day, or its amount, cannot be placed. It is not used; complete it in a copy of the file "
     "from the paper bill."),
    ("bills.first-open", "note", "The first bill has no first day",
     "The file tells last days only, so each bill begins after the one before it, and the first has no beginning."),
    ("bills.shared-day", "note", "Bills meet a day apart",
     "Some bills end on the day on which the next begins, or a day earlier than the others would. They were made to meet."),
    ("bills.overlap", "doubt", "Bills lie over each other",
     "Days stand in two bills, so nobody knows in which of them their use was counted. Neither bill is used. Look for a wrong date, "
     "a bill that was replaced, or a sum of several months."),
    ("bills.not-read", "doubt", "Estimated bills without an actual reading after them",
     "An estimated or empty bill tells nothing until the meter is read; at the end of the file, or before missing days, it never is. "
     "Add the next bill."),
    ("bills.missing", "doubt", "Days without a usable bill",
     "Between two bills lie days that no bill covers, or only bills that could not be used. They are in neither side of the "
     "comparison."),
    ("bills.odd-amount", "doubt", "A bill far from the usual use",
     "The use per day is more than five times above or below the usual one: a digit too many, another unit, another meter, or true. "
     "The bill is used, but no verdict is given: look at the paper, then mend it in a copy, or state `amounts_checked`."),
    ("bills.meters-added", "note", "Several meters of a file were added",
     "The meters of the file were added over stretches that begin and end with a reading of each. Name one at `meter` if the "
     "others stand behind it: what they count would stand in the sum twice."),
    ("bills.several-meters", "doubt", "Several meters of one building",
     "Each meter is held against its own line. What was moved from one to the other, such as a machine on another board, passes for "
     "a saving on the first. Compare only if nothing was moved."),
    ("bills.day-incomplete", "doubt", "Days with missing readings",
     "A day of a meter counts only if it is known as a whole. Days missing at random do no harm; if a fault took the hot ones, the "
     "line is off."),
    ("bills.solar-added", "note", "Solar electricity was added back",
     "The meter counts what is left after the panels. What they made was added, so that a sunnier year does not pass for a saving."),
    ("bills.solar-missing", "doubt", "Solar record missing for some periods",
     "Where it is not known what the panels made, it is not known what was used. These periods are left out."),
    ("bills.no-temperature", "doubt", "Periods without outdoor temperature",
     "At least nine tenths of a period must be known, from one source for all periods: two thermometers that differ by half a kelvin "
     "would pass for a saving. The others are left out."),
    ("bills.change-inside", "note", "The change falls within a period",
     "A period that holds the day on which the sprayed roof came into use is partly of either kind and belongs to neither."),
    ("bills.few-periods", "doubt", "Too few periods",
     "A line needs at least nine bills or weeks, or sixty days, before the change, and three bills, four weeks or thirty days since. "
     "Bring more, or readings by days or hours."),
    ("bills.no-rise", "doubt", "Use does not rise with outdoor temperature",
     "No level with a line above it fits: the meter does not see the cooling, or something larger hides it. Take the air conditioner's "
     "own meter."),
    ("bills.baseline-short", "doubt", "The baseline is shorter than a year",
     "Seasons that the baseline lacks are guessed from the others, holidays and school terms with them. Bring a full year from "
     "before the change."),
    ("bills.line-loose", "doubt", "The line misses its periods by too much",
     "The root mean square of what the line misses, as a share of the mean use (CV(RMSE)), is above what ASHRAE Guideline 14 allows "
     "a calibrated building model: 15 % by months, 30 % by hours, which is used for days. Something else rules the use. The range is "
     "shown; no verdict is given."),
    ("bills.weekly", "note", "A meter was taken by whole weeks",
     "Use by days follows the days of the week. Whole weeks let that rhythm drop out of line and range."),
    ("bills.periods-alike", "doubt", "Periods that say the same as their neighbours",
     "What the line misses drifts slowly: use of today is off as that of yesterday was. A long row of such periods is worth a few "
     "independent ones, and how few cannot be told well from the row itself. From a correlation of 0.9 on the range is shown and no "
     "verdict is given. Take bills or weeks instead of days, or find what drifts."),
    ("bills.heating", "doubt", "The building heats with electricity",
     "Use rises towards the cold as well. Heating was given a line of its own; a change of the heating or of its hours would still "
     "pass for a change by the roof."),
    ("bills.weather-beyond", "doubt", "Weather that the baseline never saw",
     "Periods since the change were warmer or colder by more than 3 K than any before it. There the line is drawn on beyond what it "
     "was seen to do."),
    ("twin.day-incomplete", "doubt", "Days of a pair are not complete",
     "A day counts only if both were read for nearly all of it; the day on which instruments changed places never does."),
    ("twin.few-days", "doubt", "Too few days of a pair",
     "At least five complete days with one cooled are needed. Log on."),
    ("twin.no-like-days", "doubt", "A pair without days when neither was cooled",
     "Two rooms are never quite alike, nor are two instruments. Days on which neither is cooled show what they differ by anyway; "
     "without them that stays in the effect, and its range is widened by `like_difference` or `like_share`."),
    ("twin.days-alike", "doubt", "Days of a pair that say the same as their neighbours",
     "The difference of the two drifts so slowly that each day repeats the one before. How few independent days that leaves cannot be "
     "told from the row itself, and the range may be too narrow. The range is shown and no verdict is given; log for longer."),
    ("twin.weather-differs", "doubt", "The days of neither cooled had other weather",
     "What two rooms differ by changes with sun and heat. The days without cooling were much warmer or cooler than those with it, so "
     "they say less of them than the range tells. Log some in like weather."),
)
