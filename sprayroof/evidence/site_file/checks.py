"""Checks of a site across its entries: contradictions, entries that others call for, files that must be there."""

from __future__ import annotations

import importlib.util
import math
import os.path
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sprayroof.evidence.site_file.entries import Section, plain, shown, shown_path
from sprayroof.evidence.site_file.facts import Fact
from sprayroof.evidence.site_file.place import WeatherSource
from sprayroof.evidence.site_file.system import AirConditioner, Emitter, Load, Panels
from sprayroof.evidence.units import NotAQuantity, scale_to

if TYPE_CHECKING:
    from sprayroof.evidence.site_file.reading import Log

MOST_PARTS = 8  # of each kind, in the calculation


def check_site(whole: dict[str, Any], folder: Path, log: Log) -> None:
    """Log every contradiction among the values that were readable.

    Parameters
    ----------
    whole : dict
        Section name -> attribute values (list of them for lists; unreadable entries absent).
    folder : Path
        Folder that relative file names start from.
    log : Log
        Takes the problems.
    """
    _check_roofs(whole["roof"], log)
    _check_store(whole["store"], log)
    _check_mains(whole["mains"], whole["store"], log)
    _check_controls(whole["controls"], log)
    _check_load(whole["load"], log)
    _check_free_cooling(whole["air_conditioner"], log)
    _check_panels(whole["panels"] or {}, log)
    _check_windows(whole, log)
    _check_weather(whole["weather"], log)
    _check_numbers(whole, log)
    for position, emitter in enumerate(whole["emitter"]):
        _check_emitter(emitter, position, log)
    for name in ("roof", "catchment", "use", "emitter", "standing"):
        _check_names(name, whole[name], log)
    _check_files(whole, folder, log)


def _check_numbers(whole: dict[str, Any], log: Log) -> None:
    """The calculation follows a fixed number of parts of each kind."""
    sprayed = sum(roof.get("sprayed", True) for roof in whole["roof"])
    catching = sum(roof.get("catches_rain", True) for roof in whole["roof"]) + len(whole["catchment"])
    for name, count, what, do in (
        ("use", len(whole["use"]), "users", "join users with the same hours"),
        ("emitter", len(whole["emitter"]), "emitters", "join emitters of the same kind"),
        ("roof", sprayed, "sprayed roofs", "join roofs that are alike"),
        ("catchment", catching, "surfaces that catch rain", "join surfaces that are alike"),
    ):
        if count > MOST_PARTS:
            log.add((name,), f"found {count} {what}", f"wanted at most {MOST_PARTS}", do)


def _check_roofs(roofs: list[dict[str, Any]], log: Log) -> None:
    if not roofs:
        log.add(
            ("roof",), "there is no roof", "wanted at least one sprayed roof",
            "add a line [[roof]] with name and area below it")
    elif not any(roof.get("sprayed", True) for roof in roofs):
        log.add(
            ("roof",), "no roof is sprayed", "wanted at least one sprayed roof",
            "write sprayed = true at the roof that is")


def _check_store(store: dict[str, Any], log: Log) -> None:
    dead, reserve, volume = (store.get(name) for name in ("dead_m3", "reserve_m3", "volume_m3"))
    if reserve and volume and not reserve.value < volume.value:
        log.add(
            ("store", "reserve"), f"reserve {_m3(reserve)} is not below volume {_m3(volume)}",
            "wanted dead < reserve < volume", "correct reserve or volume")
    if store.get("shape") == "lying cylinder":
        _check_lying(store, log)
    if dead and reserve and not dead.value < reserve.value:
        log.add(
            ("store", "dead"), f"dead {_m3(dead)} is not below reserve {_m3(reserve)}",
            "wanted dead < reserve < volume", "correct dead or reserve")


def _check_lying(store: dict[str, Any], log: Log) -> None:
    """A lying cylinder shorter than it is high is a drum; its open surface would change with the level."""
    volume, height, open_share = (store.get(name) for name in ("volume_m3", "height_m", "open_share_frac"))
    if volume and height and volume.value < 0.25 * math.pi * height.value**3:
        length = volume.value / (0.25 * math.pi * height.value**2)
        log.add(("store", "height"), f"a lying cylinder of {_m3(volume)} with this diameter is {length:.2g} m long",
                f"wanted one at least as long as its diameter, {plain(height.value)} m",
                'correct height or volume, or write shape = "cylinder"')
    if open_share and open_share.high > 0.0:
        log.add(("store", "open_share"), f"found {plain(open_share.value)} for a lying cylinder",
                "wanted 0: a lying cylinder is closed", 'take open_share out, or write shape = "box"')


def _check_mains(mains: dict[str, Any], store: dict[str, Any], log: Log) -> None:
    below, to, volume = mains.get("top_up_below_m3"), mains.get("top_up_to_m3"), store.get("volume_m3")
    if below is not None and to is not None and below > to:
        log.add(("mains", "top_up_below"), f"top_up_below {plain(below)} m³ is above top_up_to {plain(to)} m³",
                "wanted top_up_below <= top_up_to < volume", "correct the two entries")
    if to is not None and volume and not to < volume.value:
        log.add(("mains", "top_up_to"), f"top_up_to {plain(to)} m³ is not below volume {_m3(volume)}",
                "wanted top_up_below <= top_up_to < volume", "correct top_up_to or the store's volume")


def _m3(fact: Fact) -> str:
    return f"{plain(fact.value)} m³"


def _check_controls(controls: dict[str, Any], log: Log) -> None:
    start, stop = controls.get("start_difference_K"), controls.get("stop_difference_K")
    if start is not None and stop is not None and start < stop:
        log.add(
            ("controls", "start_difference"),
            f"start_difference {plain(start)} K is below stop_difference {plain(stop)} K",
            "wanted start_difference >= stop_difference",
            "correct the two entries: the spray would start and stop at once")


def _check_windows(whole: dict[str, Any], log: Log) -> None:
    _check_window(whole["controls"], ("controls",), ("window_from", "window_to"), log)
    _check_window(whole["load"], ("load",), ("from", "to"), log)
    _check_window(whole["booster"] or {}, ("booster",), ("from", "to"), log)
    for position, use in enumerate(whole["use"]):
        _check_window(use, ("use", position), ("from", "to"), log)


def _check_window(values: dict[str, Any], path: tuple[str | int, ...], names: tuple[str, str], log: Log) -> None:
    start, end = (values.get(f"{name}_h") for name in names)
    if start is not None and start == end:
        log.add((*path, names[0]), f"{names[0]} and {names[1]} are the same time", "wanted two different times",
                'write "00:00" and "24:00" for the whole day')


def _check_load(load: dict[str, Any], log: Log) -> None:
    if load.get("kind") == "balance point":
        _call_for(load, ("load",), Load, ("ua_kW_K", "balance_point_C"), log)
    elif load.get("kind") == "metered":
        _call_for(load, ("load",), Load, ("file", "column", "unit", "time_column", "time_zone"), log)
        _check_unit(load.get("unit"), "kW", ("load", "unit"), log)


def _check_free_cooling(machine: dict[str, Any], log: Log) -> None:
    if machine.get("free_cooling_flow_m3_h") is not None:
        _call_for(machine, ("air_conditioner",), AirConditioner, ("free_cooling_below_C",), log)


def _check_panels(panels: dict[str, Any], log: Log) -> None:
    make = ("tube_pitch_m", "tube_diameter_m", "plate_conduction_W_K")
    if any(panels.get(name) is not None for name in make):
        _call_for(panels, ("panels",), Panels, make, log)
    pitch, tube = panels.get("tube_pitch_m"), panels.get("tube_diameter_m")
    if pitch and tube and not tube.value <= pitch.value:
        log.add(("panels", "tube_pitch"), f"found {plain(pitch.value)} m, less than the tubes' {plain(tube.value)} m",
                "wanted tube_diameter <= tube_pitch", "correct the two entries")


def _check_unit(unit: str | None, wanted: str, path: tuple[str, ...], log: Log) -> None:
    if not unit:
        return
    try:
        scale_to(unit, wanted)
    except NotAQuantity as error:
        log.add(path, f"found {shown(unit)}{error.why}", f"wanted a unit that converts to {wanted}", error.do)


def _check_weather(weather: dict[str, Any], log: Log) -> None:
    if weather.get("format") == "table":
        _call_for(weather, ("weather",), WeatherSource, ("columns", "time_column", "time_zone"), log)
    if weather.get("rain"):
        _check_unit(weather["rain"].unit, "mm", ("weather", "rain", "unit"), log)


def _check_emitter(emitter: dict[str, Any], position: int, log: Log) -> None:
    needed = {"coil": ("ua_W_K", "air_flow_m3_h"), "floor": ("area_m2",), "ceiling": ("area_m2",),
              "beam": ("rated_W",)}
    _call_for(emitter, ("emitter", position), Emitter, needed.get(emitter.get("kind"), ()), log)


def _call_for(
    values: dict[str, Any], path: tuple[str | int, ...], section: type[Section], needed: tuple[str, ...], log: Log,
) -> None:
    """Log each needed attribute that was not given (an unreadable one, absent from `values`, is logged already)."""
    for attribute in needed:
        if attribute in values and values[attribute] in (None, {}):
            entry = section.entries()[attribute]
            wanted = f"wanted for {entry.needed or 'this'}: {entry.wanted()}"
            log.add((*path, entry.entry), "the entry is missing", wanted, f"add a line: {entry.example_line()}")


def _check_names(section: str, items: list[dict[str, Any]], log: Log) -> None:
    seen: dict[str, int] = {}
    for position, item in enumerate(items):
        name = item.get("name")
        if name in seen:
            log.add((section, position, "name"), f"found {shown(name)}, the name of {section}.{seen[name]} too",
                    "wanted a name of its own", "give it another name")
        elif name is not None:
            seen[name] = position + 1


def path_of(folder: Path, file: str, package: str | None) -> Path:
    """Where a file lies: relative to the site file's folder, or inside an installed package.

    Raises
    ------
    ModuleNotFoundError
        The package is not installed.
    """
    if not package:
        return folder / file
    # Looks the package up without running any of it; a dotted name would import its parents.
    top, *inner = package.split(".")
    spec = importlib.util.find_spec(top)
    if spec is None or not spec.submodule_search_locations:
        raise ModuleNotFoundError(f"no package {package}")
    return Path(next(iter(spec.submodule_search_locations))).joinpath(*inner, file)


def _check_files(whole: dict[str, Any], folder: Path, log: Log) -> None:
    weather, load = whole["weather"], whole["load"]
    if weather.get("file") and "package" in weather:
        try:
            path = path_of(folder, weather["file"], weather["package"])
        except (ModuleNotFoundError, ValueError):
            log.add(
                ("weather", "package"), f"found {shown(weather['package'])}, a package that is not installed",
                "wanted the name of an installed Python package",
                "install it, or leave package out and give the file's path")
        else:
            _check_file(path, weather["file"], ("weather", "file"), weather["package"], log)
    if weather.get("rain"):
        _check_file(folder / weather["rain"].file, weather["rain"].file, ("weather", "rain", "file"), None, log)
    if load.get("kind") == "metered" and load.get("file"):
        _check_file(folder / load["file"], load["file"], ("load", "file"), None, log)


def _check_file(path: Path, name: str, entry: tuple[str, ...], package: str | None, log: Log) -> None:
    # os.path answers False for names that no file system can hold; Path's own methods raise.
    if os.path.isfile(path):
        return
    same = path.as_posix().replace("\\", "/") == name.replace("\\", "/")
    tried = "" if package or same else f" (looked for {shown_path(path.as_posix())})"
    found = f"{shown_path(name)} is a folder" if os.path.isdir(path) else f"there is no file {shown_path(name)}{tried}"
    place = f"inside the package {package}" if package else "relative to the site file"
    wanted = f"wanted the path of a file, {place}"
    slashes = with_slashes(name)
    log.add(entry, found, wanted,
            f"{slashes}, and check that it is there" if slashes else "correct the path, or put the file there")


def with_slashes(path: str) -> str:
    """What to do about a path with backslashes, which part folders on some systems only ("" where there are none)."""
    return f"write {shown_path(path.replace(chr(92), '/'))} with / instead of {chr(92)}" if "\\" in path else ""
