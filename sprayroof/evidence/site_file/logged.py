"""The site file, third part: what was logged, tested and billed. All of it may be left out."""

from __future__ import annotations

import datetime
from typing import Any, ClassVar

from sprayroof.evidence.site_file.channel_table import KINDS
from sprayroof.evidence.site_file.entries import Section, declared
from sprayroof.evidence.site_file.entry_logs import (
    ChannelsEntry,
    ClockChecksEntry,
    MeterSwapsEntry,
    MomentEntry,
    NumberPairsEntry,
    WordsEntry,
)
from sprayroof.evidence.site_file.entry_numbers import WholeEntry, number
from sprayroof.evidence.site_file.entry_words import ChoiceEntry, DateEntry, TextEntry, TruthEntry, ZoneEntry

VALUES = ("mean", "instant", "last value holds")
TESTS = ("pair", "draw down", "leak", "closed night", "dip", "clock", "tracer", "rain event", "spot efficiency",
         "calibration", "hold-up")
# How a file of text is written, the same for logs, pairs and bills
DELIMITER = TextEntry("delimiter", 'What parts the cells, or "fixed width"', derived="found out", example=";")
DECIMAL = ChoiceEntry("decimal", "Decimal mark of the numbers", choices=(".", ","), derived="found out", example=",")
ENCODING = TextEntry("encoding", "Encoding of the text", derived="found out", example="cp1252")


class LogColumn(Section):
    """A channel of a log: where it stands in the file and how to read it."""

    title: ClassVar[str] = "A channel of the file"
    affects: ClassVar[str] = "what is measured of the logged nights"

    column: str = declared(TextEntry("column", "Heading of the column in the file", required=True, example="T2"))
    unit: str = declared(TextEntry("unit", 'Unit of the numbers in the file ("1" for statuses and fractions)',
                                   required=True, example="degC"))
    kind: str | None = declared(ChoiceEntry(
        "kind", "What a number is", choices=KINDS, example="counter",
        derived="by channel: rain sum, statuses status, others as the log's values",
        more="\"sum\" is an amount per interval, \"counter\" a running total, \"tips\" counts per interval."))
    per_count: str | None = declared(TextEntry(
        "per_count", "Amount that one count or tip stands for, with unit", example="0.2 mm",
        derived="one of the unit"))
    rolls_over_at: float | None = number(
        "rolls_over_at", "own", "Running totals: the number after which the meter starts again at zero", default=None,
        bounds=(1.0, 9_999_999_999.0), example=99999)
    swaps: tuple[tuple[datetime.datetime, float, float], ...] | None = declared(MeterSwapsEntry(
        "swaps", "Running totals: changes of the meter, each as time on the clock of the file, last reading of the "
        "old, first reading of the new", derived="the meter was never changed",
        example=(("2026-07-01 10:00", 81234, 12),)))
    table: tuple[tuple[float, float], ...] | None = declared(NumberPairsEntry(
        "table", "Level: pairs of reading and content in m3", pair_words="reading, m3",
        derived="in proportion to the store's height or volume", example=((0, 0), (100, 60))))
    ullage: bool = declared(TruthEntry("ullage", "Level: the reading is the empty height above the water",
                                       default=False))
    height_m: float | None = number("height", "m", "Store temperatures: height of the sensor above the store's floor",
                                    default=None, bounds=(0.0, 50.0), example=0.3)
    accuracy: float | None = number(
        "accuracy", "own", "90 % half-width of a constant error", default=None, bounds=(0.0, 1e6),
        derived="that of an ordinary instrument", example=0.2)
    gain_accuracy_frac: float | None = number(
        "gain_accuracy", "1", "90 % half-width of the error that grows with the reading, as a share of it",
        default=None, bounds=(0.0, 1.0), derived="that of an ordinary instrument", example=0.02)
    resolution: float = number("resolution", "own", "Step of the readings", default=0.0, bounds=(0.0, 1e6))
    add: float = number("add", "own", "Known correction to add to each reading", default=0.0,
                        bounds=(-1e6, 1e6))
    words: dict[str, float] | None = declared(WordsEntry(
        "words", "Words in the column and the numbers they stand for",
        derived="on, off, true, false, yes, no in statuses, flows and powers; none elsewhere",
        example={"ON": 1, "OFF": 0}))
    zeros: str | None = declared(ChoiceEntry(
        "zeros", "What an exact zero is: a reading, or what the logger writes when it has none",
        choices=("readings", "missing"), derived="readings; the message asks where they can hardly be",
        example="missing"))
    use: bool = declared(TruthEntry("use", "Whether the channel is used", default=True))


class Log(Section):
    """[[log]]: one logger, meter or building-control export."""

    title: ClassVar[str] = "An export of loggers, meters or building controls (repeat for each kind of file)"
    affects: ClassVar[str] = "what is measured of the logged nights"

    file: str = declared(TextEntry("file", "Path of the file, relative to this one; * stands for any letters, so that "
                                   "several files of one form are read as one", required=True,
                                   example="logs/roof_*.csv"))
    sheet: str | None = declared(TextEntry("sheet", "Workbooks: name of the sheet", derived="the only sheet",
                                           example="Data"))
    time_column: str = declared(TextEntry("time_column", "Heading of the time column", required=True, example="Time"))
    clock_column: str | None = declared(TextEntry("clock_column", "Heading of the time of day, where date and time "
                                                  "stand apart", derived="date and time stand together",
                                                  example="Clock"))
    device_column: str | None = declared(TextEntry(
        "device_column", "Heading of the device's name or number, where several devices stand in one file",
        derived="one device", example="ID"))
    device: str | None = declared(TextEntry(
        "device", "Which of the file's devices this block is, as written in the file, or \"all\" where one took the "
        "place of the other", derived="the only one", example="7"))
    time_format: str | None = declared(TextEntry(
        "time_format", "Form of the times in strptime codes", example="%d.%m.%Y %H:%M", derived="found out",
        more="Needed only where the dates can be read two ways; the message then says so."))
    time_zone: str = declared(ZoneEntry(
        "time_zone", "Clock of the file, IANA name", required=True, example="America/New_York",
        more="A zone with daylight saving means a clock that was changed; for a logger left in standard time write, "
             "for example, \"Etc/GMT+5\" (five hours behind UTC)."))
    repeated_hour: str | None = declared(ChoiceEntry(
        "repeated_hour", "Where the hour repeated at the end of daylight saving stands in the file once only: which "
                         "of its "
        "two passes", choices=("first", "second"), derived="told by the order of the rows", example="first"))
    stamp: str = declared(ChoiceEntry("stamp", "Whether a time marks the end or the start of its interval",
                                      default="end", choices=("end", "start")))
    values: str = declared(ChoiceEntry("values", "What the numbers of the file are, where a column does not say",
                                       default="mean", choices=VALUES))
    hold_h: float | None = number(
        "hold", "h", "Last value holds: longest time for which a value stands without a new row", default=None,
        bounds=(1.0 / 60.0, 8760.0), derived="until the next row", example=24)
    averaged_over: str | None = declared(ChoiceEntry(
        "averaged_over", "Means of water temperatures: over all of the interval, or over the pump's running time",
        choices=("all time", "running time"), derived="the message asks where it matters", example="running time",
        more="Where the pump runs for a part of the interval only, a temperature averaged over all of it is mostly "
             "that of standing water, and flow times difference is not the heat."))
    interval_min: float | None = number("interval", "min", "Interval of the records", default=None,
                                        bounds=(1.0 / 60.0, 1440.0), derived="found out", example=5)
    delimiter: str | None = declared(DELIMITER)
    decimal: str | None = declared(DECIMAL)
    encoding: str | None = declared(ENCODING)
    clock_checks: tuple[tuple[datetime.datetime, datetime.datetime], ...] | None = declared(ClockChecksEntry(
        "clock_checks", "Pairs of the logger's time and the true time, for a clock that drifts",
        more="Between two, the shift runs in a straight line; two less than two hours apart tell a clock that was set.",
        derived="the clock is right", example=(("2026-06-01 10:00", "2026-06-01 10:02"),)))
    columns: dict[str, LogColumn] = declared(ChannelsEntry(
        "columns", "Channels of the file -> column, unit, and how to read it", required=True, section=LogColumn,
        example={"return_temperature": {"column": "T2", "unit": "degC"}}))


class Test(Section):
    """[[test]]: one functional test or spot reading made on site."""

    title: ClassVar[str] = "A test made on site (repeat for each)"
    affects: ClassVar[str] = "corrections, accuracies and what the water remainder can be split into"

    kind: str = declared(ChoiceEntry("kind", "Which test", required=True, choices=TESTS, example="pair"))
    from_time: datetime.datetime = declared(MomentEntry("from", "Start, on the site's clock", required=True,
                                                        example="2026-06-03 21:00"))
    to_time: datetime.datetime | None = declared(MomentEntry("to", "End, on the site's clock",
                                                             derived="a moment, not a span",
                                                             example="2026-06-03 21:40"))
    channel: str | None = declared(TextEntry("channel", "Channel that was tested", needed="calibration and draw down",
                                             example="spray_flow"))
    reading: float | None = number("reading", "own", "What the instrument said", default=None,
                                   bounds=(-1e9, 1e9), derived="taken from the log", example=212,
                                   more="In the unit of the channel's column; a clock test: minutes that the clock "
                                        "showed, from any start that `reference` shares.")
    reference: float | None = number("reference", "own", "What it truly was",
                                     needed="calibration, dip and clock", default=None, bounds=(-1e9, 1e9),
                                     example=204)
    volume_m3: float | None = number("volume", "m3", "Draw-down, leak, closed night, hold-up, dip: water drawn, lost, "
                                     "held or found", default=None, bounds=(0.0, 1e6),
                                     derived="taken from the level", example=1.2)
    salts_from_mg_L: float | None = number("salts_from", "mg/L", "Tracer: salts at the start", default=None,
                                           bounds=(0.0, 1e5), example=320)
    salts_to_mg_L: float | None = number("salts_to", "mg/L", "Tracer: salts at the end", default=None,
                                         bounds=(0.0, 1e5), example=355)
    cooling_kW: float | None = number("cooling", "kW", "Spot efficiency: cooling given", default=None,
                                      bounds=(0.0, 1e6), example=18)
    power_kW: float | None = number("power", "kW", "Spot efficiency: electricity taken", default=None,
                                    bounds=(0.001, 1e6), example=6.1)
    rain_mm: float | None = number("rain", "mm", "Rain event: rain by a gauge read by hand", default=None,
                                   bounds=(0.0, 1000.0), derived="taken from the log", example=14)
    accuracy_frac: float | None = number("accuracy", "1", "90 % half-width of the test's result, as a share of it",
                                         default=None, bounds=(0.0, 1.0), derived="by kind of test", example=0.02)
    note: str = declared(TextEntry("note", "Remark", default="", example="bucket and stopwatch, three times"))


class Switched(Section):
    """[[switched]]: nights on which the spray was switched on or off on purpose."""

    title: ClassVar[str] = "Nights on which the spray was switched on or off on purpose (repeat for each block)"
    affects: ClassVar[str] = "the comparison of nights with and without spraying"

    from_date: datetime.date = declared(DateEntry("from", "Date on which the first night began", required=True,
                                                  example=datetime.date(2026, 6, 10)))
    to_date: datetime.date = declared(DateEntry("to", "Date on which the last night began", required=True,
                                                example=datetime.date(2026, 6, 12)))
    state: str = declared(ChoiceEntry("state", "Spray on or off", required=True, choices=("on", "off"),
                                      example="off"))


class Bills(Section):
    """[[bills]]: bills or a meter of electricity or water."""

    title: ClassVar[str] = "Bills or readings of a meter (repeat for each meter)"
    affects: ClassVar[str] = "the check of the air-conditioner claim on the whole building; no modelled figure"

    name: str = declared(TextEntry("name", "Name of the meter", required=True, example="main electricity meter"))
    covers: str = declared(ChoiceEntry(
        "covers", "What the meter sees", required=True, choices=("air conditioner", "building", "mains water"),
        example="building"))
    file: str = declared(TextEntry("file", "Path of the file, relative to this one", required=True,
                                   example="bills/electricity.csv"))
    sheet: str | None = declared(TextEntry("sheet", "Workbooks: name of the sheet", derived="the only sheet",
                                           example="Data"))
    unit: str = declared(TextEntry("unit", "Unit of the amounts", required=True, example="kWh"))
    amount_column: str = declared(TextEntry("amount_column", "Heading of the amounts", required=True, example="kWh"))
    from_column: str | None = declared(TextEntry("from_column", "Heading of the first day of a bill",
                                                 derived="the day of the bill before", example="from"))
    to_column: str = declared(TextEntry("to_column", "Heading of the last day of a bill, or of the time of a reading",
                                        required=True, example="to"))
    estimated_column: str | None = declared(TextEntry(
        "estimated_column", "Heading of the mark of estimated readings and of corrections",
        derived="all readings are actual", example="estimated",
        more="Its cells say yes, no, estimated, actual, E, A, correction, true-up and the like."))
    meter_column: str | None = declared(TextEntry(
        "meter_column", "Heading of the meter's number, where several meters stand in one file",
        derived="one meter", example="meter"))
    meter: str | None = declared(TextEntry(
        "meter", "Which of the file's meters this is, or \"all\" to add them where none counts what another does",
        derived="the only one", example="E-2201"))
    time_format: str | None = declared(TextEntry("time_format", "Form of the dates in strptime codes",
                                                 derived="found out", example="%d.%m.%Y"))
    time_zone: str | None = declared(ZoneEntry("time_zone", "Clock of hourly readings, IANA name",
                                               derived="the site's clock", example="UTC"))
    clock_column: str | None = declared(TextEntry(
        "clock_column", "Hourly readings: heading of the time of day, where date and time stand apart",
        derived="date and time stand together", example="Clock"))
    repeated_hour: str | None = declared(ChoiceEntry(
        "repeated_hour", "Hourly readings: where the hour repeated at the end of daylight saving stands in the file "
        "once only, which of its two passes", choices=("first", "second"), derived="told by the order of the rows",
        example="first"))
    delimiter: str | None = declared(DELIMITER)
    decimal: str | None = declared(DECIMAL)
    encoding: str | None = declared(ENCODING)
    stamp: str = declared(ChoiceEntry("stamp", "Hourly readings: whether a time marks the end or the start of its "
                                      "interval", default="end", choices=("end", "start")))
    every: str = declared(ChoiceEntry(
        "every", "Bills, days or hours", default="bill", choices=("bill", "day", "hour"),
        more="\"hour\" also reads shorter intervals; days that are not complete are left out."))
    netted: bool = declared(TruthEntry("netted", "Whether solar electricity is taken off before this meter",
                                       default=False))
    amounts_checked: bool = declared(TruthEntry(
        "amounts_checked", "Whether unit, multiplier and digits of amounts far from the others were checked against "
        "the paper", default=False))
    solar_file: str | None = declared(TextEntry(
        "solar_file", "Netted meters: file of all the electricity that the panels made, for the same periods, with the "
        "same headings and unit", derived="none", example="bills/solar.csv"))
    temperature_file: str | None = declared(TextEntry(
        "temperature_file", "File of measured outdoor temperatures: of each bill under the same headings of its "
                            "days, or "
        "by days or hours", derived="the logs, else the weather file", example="bills/temperature.csv"))
    temperature_column: str | None = declared(TextEntry(
        "temperature_column", "Heading of the temperatures", needed="temperature_file", example="t_air"))
    temperature_unit: str = declared(TextEntry("temperature_unit", "Unit of the temperatures", default="degC"))
    temperature_time_column: str | None = declared(TextEntry(
        "temperature_time_column", "Temperatures by days or hours: heading of the times", derived="that of to_column",
        example="Time"))
    temperature_time_format: str | None = declared(TextEntry(
        "temperature_time_format", "Form of these times in strptime codes", derived="found out",
        example="%d.%m.%Y %H:%M"))
    temperature_time_zone: str | None = declared(ZoneEntry(
        "temperature_time_zone", "Clock of hourly temperatures, IANA name", derived="that of time_zone", example="UTC"))
    changed_on: datetime.date | None = declared(DateEntry(
        "changed_on", "Day on which the sprayed roof came into use: periods before are the baseline",
        derived="no comparison", example=datetime.date(2025, 5, 1)))


class Twin(Section):
    """[[twin]]: two like rooms, boxes or buildings, one cooled by the roof and one not, logged side by side."""

    title: ClassVar[str] = "Two like rooms or buildings logged side by side, one cooled, one not (repeat for each pair)"
    affects: ClassVar[str] = "the measured effect of the cooling on that pair; no modelled figure"

    name: str = declared(TextEntry("name", "Name of the pair", required=True, example="test rooms"))
    file: str = declared(TextEntry("file", "Path of the file, relative to this one", required=True,
                                   example="logs/rooms.csv"))
    sheet: str | None = declared(TextEntry("sheet", "Workbooks: name of the sheet", derived="the only sheet",
                                           example="Data"))
    time_column: str = declared(TextEntry("time_column", "Heading of the time column", required=True, example="Time"))
    time_format: str | None = declared(TextEntry("time_format", "Form of the times in strptime codes",
                                                 derived="found out", example="%d.%m.%Y %H:%M"))
    time_zone: str = declared(ZoneEntry("time_zone", "Clock of the file, IANA name", required=True, example="UTC"))
    clock_column: str | None = declared(TextEntry("clock_column", "Heading of the time of day, where date and time "
                                                  "stand apart", derived="date and time stand together",
                                                  example="Clock"))
    repeated_hour: str | None = declared(ChoiceEntry(
        "repeated_hour", "Where the hour repeated at the end of daylight saving stands in the file once only: which of "
        "its two passes", choices=("first", "second"), derived="told by the order of the rows", example="first"))
    delimiter: str | None = declared(DELIMITER)
    decimal: str | None = declared(DECIMAL)
    encoding: str | None = declared(ENCODING)
    stamp: str = declared(ChoiceEntry("stamp", "Whether a time marks the end or the start of its interval",
                                      default="end", choices=("end", "start")))
    quantity: str = declared(ChoiceEntry("quantity", "What is compared", default="temperature",
                                         choices=("temperature", "electricity")))
    unit: str = declared(TextEntry("unit", "Unit of both columns", required=True, example="degC"))
    cooled_column: str = declared(TextEntry("cooled_column", "Heading of the cooled one", required=True,
                                            example="T room A"))
    control_column: str = declared(TextEntry("control_column", "Heading of the other one", required=True,
                                             example="T room B"))
    like_from: datetime.datetime | None = declared(MomentEntry(
        "like_from", "Start of a time when neither was cooled", derived="none", example="2026-05-20 00:00"))
    like_to: datetime.datetime | None = declared(MomentEntry("like_to", "Its end", derived="none",
                                                             example="2026-05-27 00:00"))
    cooled_from: datetime.datetime = declared(MomentEntry("cooled_from", "Start of the time when one was cooled",
                                                          required=True, example="2026-06-01 00:00"))
    cooled_to: datetime.datetime = declared(MomentEntry("cooled_to", "Its end", required=True,
                                                        example="2026-07-12 00:00"))
    accuracy_K: float = number("accuracy", "K", "Temperatures: 90 % half-width of a constant error of the difference "
                               "of the two instruments", default=0.3, bounds=(0.0, 10.0))
    meter_accuracy_frac: float = number("meter_accuracy", "1", "Electricity: 90 % half-width of the error between the "
                                        "two meters, as a share of the reading", default=0.02, bounds=(0.0, 0.5))
    like_difference_K: float = number(
        "like_difference", "K", "Temperatures: 90 % half-width of what the two rooms differ by when neither is cooled; "
        "it counts where there is no such time", default=0.5, bounds=(0.0, 10.0))
    like_share_frac: float = number("like_share", "1", "Electricity: the same, as a share of the use of the other one",
                                    default=0.1, bounds=(0.0, 1.0))
    swapped_on: datetime.date | None = declared(DateEntry(
        "swapped_on", "Day on which the two instruments changed places", derived="never",
        example=datetime.date(2026, 6, 20)))
    columns_follow: str | None = declared(ChoiceEntry(
        "columns_follow", "From that day on a column goes with its instrument into the other room, or stays with its "
        "room", needed="swapped_on", choices=("instrument", "room"), example="instrument"))


class Logged(Section):
    """[logged]: which part of the logs is the measured period."""

    title: ClassVar[str] = "The measured period, if it is not all that was logged"
    affects: ClassVar[str] = "the measured figures"

    from_date: datetime.date | None = declared(DateEntry("from", "First day", derived="the first day logged",
                                                         example=datetime.date(2026, 6, 1)))
    to_date: datetime.date | None = declared(DateEntry("to", "Last day", derived="the last day logged",
                                                       example=datetime.date(2026, 7, 12)))
    step_min: int | None = declared(WholeEntry("step", "Step of the measured figures in minutes; must divide an hour",
                                               allowed=(1, 2, 3, 4, 5, 6, 10, 12, 15, 20, 30, 60), unit="min",
                                               derived="the finest interval of flow and water temperatures", example=5))


LOG_SECTIONS: dict[str, Any] = {"logged": Logged, "log": Log, "test": Test, "switched": Switched, "bills": Bills,
                                "twin": Twin}
LOG_LISTS = ("log", "test", "switched", "bills", "twin")
