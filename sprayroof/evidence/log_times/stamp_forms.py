"""One time as text: its parts, the orders in which its date can be read, and the strptime codes for it."""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass

MONTHS = {
    name: number
    for number, names in enumerate(
        (
            "jan januar janvier enero gennaio januari janeiro janv ene gen",
            "feb februar fevrier febrero febbraio februari fevereiro fevr fev",
            "mar march marz mars marzo maart março mrz mrt",
            "apr april avril abril aprile avr abr",
            "may mai mayo maggio mei maio mag",
            "jun june juni juin junio giugno junho giu",
            "jul july juli juillet julio luglio julho juil lug",
            "aug august aout agosto augustus ago",
            "sep sept september septembre septiembre settembre setembro set",
            "oct october oktober octobre octubre ottobre outubro okt ott out",
            "nov november novembre noviembre novembro",
            "dec december dezember decembre diciembre dicembre dezembro dez dic",
        ),
        start=1,
    )
    for name in names.split()
}
TIME = re.compile(
    r"(?P<date>(?P<a>\d{4}|\d{1,2}|[^\W\d_]{3,10}\.?)(?P<s>[-/. ]?)(?P<b>\d{1,2}|[^\W\d_]{3,10}\.?)(?P<t>[-/., ]{1,2})"
    r"(?P<c>\d{4}|\d{1,2})|(?P<compact>\d{8}))"
    r"(?:(?P<joint>T|,? +|, *|_)(?P<hour>\d{1,2})(?P<colon>[:.h])(?P<minute>\d{2})"
    r"(?:[:.m](?P<second>\d{2})(?P<fraction>[.,]\d{1,9})?)?s?"
    r"(?:\s?(?P<half>[AaPp])\.?\s?[Mm]\.?)?(?:\s?(?P<zone>Z|[+-]\d{2}:?\d{2}|[A-Z][A-Za-z]{1,4}))?)?"
)
OFFSET = re.compile(r"([+-])(\d{2}):?(\d{2})")


@dataclass(frozen=True)
class Parts:
    """A time taken apart, its date still in the order of the text.

    Parameters
    ----------
    three : tuple of (str, str, str)
        The parts of the date.
    clock : tuple of (int, int, int, int)
        Hour (24 counts as the end of the day), minute, second, nanosecond.
    has_clock : bool
        Whether a time of day stands there at all.
    half : str
        "a", "p" or "".
    zone : str
        "Z", "+02:00", letters, or "".
    """

    three: tuple[str, str, str]
    clock: tuple[int, int, int, int]
    has_clock: bool
    half: str
    zone: str


def match_of(text: str) -> re.Match[str] | None:
    """The match of a time, or None."""
    match = TIME.fullmatch(text)
    if match is None or match["compact"]:
        return match
    numbers_alone = match["a"].isdigit() and match["b"].isdigit()
    if numbers_alone and (not match["s"] or match["s"] != match["t"]):
        return None
    return match if len(match["c"]) > 1 or len(match["a"]) == 4 else None


def parts_of(text: str) -> Parts | None:
    """The parts of a time; None where the text is none."""
    match = match_of(text)
    if match is None:
        return None
    if match["compact"]:
        three = (match["compact"][:4], match["compact"][4:6], match["compact"][6:])
    else:
        three = (match["a"], match["b"], match["c"])
    fraction = (match["fraction"] or ".0")[1:].ljust(9, "0")
    clock = (int(match["hour"] or 0), int(match["minute"] or 0), int(match["second"] or 0), int(fraction))
    return Parts(three, clock, match["hour"] is not None, (match["half"] or "").lower(), match["zone"] or "")


def orders_of(parts: Parts) -> tuple[str, ...]:
    """Ways to read the date: letters d, m, y in the order of its parts."""
    a, b, _ = parts.three
    if _month(a):
        return ("mdy",)
    if _month(b):
        return ("ymd",) if len(a) == 4 else ("dmy",)
    if len(a) == 4:
        return ("ymd",)
    if len(a) == 3 or not (a.isdigit() and b.isdigit()):
        return ()
    return ("dmy", "mdy") if len(parts.three[2]) == 4 else ("dmy", "mdy", "ymd")


def _month(text: str) -> int | None:
    import unicodedata

    bare = unicodedata.normalize("NFKD", text.rstrip(".").casefold())
    plain = "".join(letter for letter in bare if not unicodedata.combining(letter))
    return MONTHS.get(plain) or MONTHS.get(
        plain[:3] if plain[:3].isalpha() and plain.isascii() and len(plain) > 3 else ""
    )


def moment_of(parts: Parts, order: str) -> tuple[datetime.datetime, int] | None:
    """The time on its own clock, and nanoseconds below its microseconds; None where there is no such date or time."""
    values = dict(zip(order, parts.three, strict=True))
    month = _month(values["m"]) or (int(values["m"]) if values["m"].isdigit() else 0)
    if not values["y"].isdigit() or not values["d"].isdigit():
        return None
    year = int(values["y"]) + (0 if len(values["y"]) == 4 else 2000 if int(values["y"]) < 69 else 1900)
    hour, minute, second, nano = parts.clock
    if parts.half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if parts.half == "p" else 0)
    late = hour == 24 and minute == second == nano == 0
    try:
        moment = datetime.datetime(year, month, int(values["d"]), 0 if late else hour, minute, second)
    except ValueError:
        return None
    return moment + datetime.timedelta(days=int(late)), nano


def offset_of(zone: str) -> datetime.timedelta | None:
    """UTC offset of "Z", "UTC", "GMT" or "+02:00"; None for other letters and for none."""
    if zone in ("Z", "UTC", "GMT"):
        return datetime.timedelta(0)
    match = OFFSET.fullmatch(zone)
    if match is None:
        return None
    return datetime.timedelta(hours=int(match[2]), minutes=int(match[3])) * (-1 if match[1] == "-" else 1)


def codes_of(text: str, order: str) -> str | None:
    """strptime codes for a time of this very form; None where the codes do not know it (months in other languages)."""
    match = match_of(text)
    if match is None:
        return None
    if match["compact"]:
        date = "%Y%m%d"
    else:
        pieces = {"y": "%Y" if len(match["abc"[order.index("y")]]) == 4 else "%y", "d": "%d", "m": "%m"}
        month = match["abc"[order.index("m")]]
        if not month.isdigit():
            pieces["m"] = "%b" if len(month) == 3 else "%B"
        first, second, third = (pieces[letter] for letter in order)
        date = f"{first}{match['s']}{second}{match['t']}{third}"
    if match["hour"] is None:
        return date
    clock = f"%{'I' if match['half'] else 'H'}{match['colon']}%M"
    if match["second"]:
        clock += match[0][match.start("second") - 1 - match.start() : match.start("second")] + "%S"
    if match["fraction"]:
        clock += f"{match['fraction'][0]}%f"
    if match["half"]:
        clock += (
            text[
                match.end("fraction")
                if match["fraction"]
                else match.end("second")
                if match["second"]
                else match.end("minute") : match.start("half")
            ]
            + "%p"
        )
    if match["zone"] and (offset_of(match["zone"]) is not None):
        before = text[: match.start("zone")]
        clock += (" " if before.endswith(" ") else "") + ("%z" if match["zone"][0] in "Z+-" else match["zone"])
    return f"{date}{match['joint']}{clock}"
