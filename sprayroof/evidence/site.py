"""The site: everything the auditor states about the building, read from its site file.

`read_site` gives a frozen `Site`, or raises SiteFileProblems with every problem of the file at once.
The entries themselves are declared in `site_file/`: `place`, `system` and `logged`.
"""

from __future__ import annotations

import copy
from pathlib import Path
from typing import Any

from pydantic import BaseModel, ConfigDict, Field

from sprayroof.evidence.site_file.entries import Entry, Section
from sprayroof.evidence.site_file.entry_words import ColumnsEntry, DateEntry, TableEntry, TextEntry
from sprayroof.evidence.site_file.facts import Fact, note_of
from sprayroof.evidence.site_file.logged import LOG_LISTS, LOG_SECTIONS, Bills, Log, Logged, Switched, Test, Twin
from sprayroof.evidence.site_file.place import About, Place, Roof, WeatherSource
from sprayroof.evidence.site_file.system import (
    AirConditioner,
    Bleed,
    Booster,
    Catchment,
    Controls,
    Emitter,
    Load,
    Mains,
    Panels,
    Prices,
    RainSide,
    Room,
    Safety,
    Spray,
    Standing,
    Store,
    Use,
)
from sprayroof.results import Finding


class Site(BaseModel):
    """A site as the auditor states it: frozen, complete, every default filled in.

    Lists in the file are tuples here. `folder` is the folder of the site file, `file` its path as given,
    `text_sha256` the hash of its bytes, `findings` what the reader must know about it, `changes` what
    `with_changes` altered, `record` the entries as written.
    """

    model_config = ConfigDict(frozen=True, arbitrary_types_allowed=True)

    site: About
    place: Place
    weather: WeatherSource
    roof: tuple[Roof, ...]
    spray: Spray
    controls: Controls
    store: Store
    catchment: tuple[Catchment, ...]
    rain: RainSide
    use: tuple[Use, ...]
    mains: Mains
    bleed: Bleed
    emitter: tuple[Emitter, ...]
    room: Room
    load: Load
    air_conditioner: AirConditioner
    panels: Panels | None
    booster: Booster | None
    standing: tuple[Standing, ...]
    prices: Prices
    safety: Safety
    logged: Logged
    log: tuple[Log, ...]
    test: tuple[Test, ...]
    switched: tuple[Switched, ...]
    bills: tuple[Bills, ...]
    twin: tuple[Twin, ...]
    folder: Path
    file: Path
    text_sha256: str
    findings: tuple[Finding, ...] = ()
    changes: dict[str, Any] = Field(default_factory=dict)
    record: dict[str, Any] = Field(default_factory=dict, repr=False)

    def facts(self) -> dict[str, Fact]:
        """All facts by dotted entry name, lists counted from 1 ("roof.1.area"); absent ones are left out."""
        return {path: value for path, entry, value in self._walk() if isinstance(value, Fact)}

    def fact_table(self) -> list[dict[str, Any]]:
        """A row per fact, in the order of the site file: entry, label, value, low, high, unit, source, note, given, and
        used (False where another entry makes it play no part)."""
        idle = self._idle()
        return [{"entry": path, "label": entry.meaning, "value": value.value, "low": value.low, "high": value.high,
                 "unit": value.unit.replace("currency", self.site.currency), "source": value.source,
                 "note": note_of(value), "given": value.given, "used": path not in idle}
                for path, entry, value in self._walk() if isinstance(value, Fact)]

    def item_names(self) -> dict[str, str]:
        """Names of the items of lists as the site file gives them, by section and number ("roof.1" -> "south roof")."""
        return {f"{section}.{number}": str(item.name)
                for section in LISTS if section not in LOG_SECTIONS
                for number, item in enumerate(getattr(self, section) or (), start=1) if getattr(item, "name", "")}

    def settings_table(self) -> list[dict[str, Any]]:
        """A row per setting (choices, times, days, yes or no, numbers without a range): entry, label, value as it would
        be written, given, used. Texts and what was logged are left out."""
        from sprayroof.evidence.site_file.findings import is_written
        idle = self._idle()
        return [{"entry": path, "label": entry.meaning, "value": _as_written(entry, value),
                 "given": is_written(self.record, path), "used": path not in idle}
                for path, entry, value in self._walk()
                if path.split(".")[0] not in LOG_SECTIONS and value is not None
                and not isinstance(value, Fact) and not isinstance(entry, _NO_SETTINGS)]

    def _idle(self) -> dict[str, str]:
        from sprayroof.evidence.site_file.findings import idle_entries
        return idle_entries({name: getattr(self, name) for name in SECTIONS})

    def sprayed_area_m2(self) -> float:
        """Area of all sprayed roofs together, best estimate."""
        return sum(roof.area_m2.value for roof in self.roof if roof.sprayed)

    def weather_path(self) -> Path:
        """Where the weather file lies."""
        from sprayroof.evidence.site_file.checks import path_of
        return path_of(self.folder, self.weather.file, self.weather.package)

    def rain_path(self) -> Path | None:
        """Where the separate rain record lies, if there is one."""
        return self.folder / self.weather.rain.file if self.weather.rain else None

    def load_path(self) -> Path | None:
        """Where the metered load lies, if the load is metered."""
        return self.folder / self.load.file if self.load.kind == "metered" else None

    def with_changes(self, changes: dict[str, Any]) -> Site:
        """The same site with some entries stated otherwise, checked anew.

        Parameters
        ----------
        changes : dict
            Dotted entry name ("store.volume", "roof.1.area", "spray.flow") -> what the site file would hold there:
            number, text with unit, table, Fact; None takes the entry out, so that its default holds. A one-item list
            needs no number ("roof.area").

        Raises
        ------
        SiteFileProblems
            A name is unknown, or the changed site does not pass the checks of a site file.
        """
        from sprayroof.evidence.site_file.reading import changed_site
        return changed_site(self, changes)

    def _walk(self) -> list[tuple[str, Entry, Any]]:
        rows: list[tuple[str, Entry, Any]] = []
        for name in SECTIONS:
            part = getattr(self, name)
            if isinstance(part, tuple):
                for position, item in enumerate(part, start=1):
                    rows += _walk_section(f"{name}.{position}", item)
            elif part is not None:
                rows += _walk_section(name, part)
        return rows


# Entries whose values are no settings: names, notes, files, dates of the report, tables.
_NO_SETTINGS = (TextEntry, DateEntry, TableEntry, ColumnsEntry)


def _as_written(entry: Entry, value: Any) -> Any:
    """A setting's value as the site file has it, without quotes."""
    if isinstance(value, (bool, int)):
        return value
    if entry.derived == "none" and value == entry.default:
        return entry.derived
    words = entry.value_words(value)
    return words.strip('"') if isinstance(words, str) else words


def _walk_section(where: str, section: Section) -> list[tuple[str, Entry, Any]]:
    return [(f"{where}.{entry.entry}", entry, getattr(section, attribute))
            for attribute, entry in section.entries().items()]


# Name of the table in the file -> model, in the order of the template and of reading (defaults may look back).
SECTIONS: dict[str, type[Section]] = {
    "site": About, "place": Place, "weather": WeatherSource, "roof": Roof, "spray": Spray, "controls": Controls,
    "store": Store, "catchment": Catchment, "rain": RainSide, "use": Use, "mains": Mains, "bleed": Bleed,
    "emitter": Emitter, "room": Room, "load": Load, "air_conditioner": AirConditioner, "panels": Panels,
    "booster": Booster,
    "standing": Standing, "prices": Prices, "safety": Safety,
    **LOG_SECTIONS,
}
LISTS: tuple[str, ...] = ("roof", "catchment", "use", "emitter", "standing", *LOG_LISTS)
OPTIONAL: tuple[str, ...] = ("panels", "booster")


def read_site(path: str | Path) -> Site:
    """Read a site file.

    Parameters
    ----------
    path : str or Path
        The site file, or a folder that holds `site.toml`.

    Raises
    ------
    SiteFileProblems
        All problems at once: file, syntax, unknown and missing entries, values, contradictions, absent files.
    """
    from sprayroof.evidence.site_file.reading import read_site_file
    return read_site_file(Path(path))


def site_from_dict(record: dict[str, Any], folder: str | Path = ".") -> Site:
    """A site from nested tables as `tomllib` gives them (raises SiteFileProblems like read_site).

    Parameters
    ----------
    record : dict
        What the site file would hold; not altered.
    folder : str or Path
        Folder that relative file names start from.
    """
    from sprayroof.evidence.site_file.reading import site_of_record
    return site_of_record(copy.deepcopy(record), Path(folder))
