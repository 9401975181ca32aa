"""Public functions of the physics that no audit calls, and what they are there for."""

from __future__ import annotations

import ast
from pathlib import Path

PACKAGE = Path(__file__).parents[1] / "sprayroof"

WHY = {
    "bounds.net_longwave_W_m2": "a limit that the tests hold results against",
    "convection_rivals.clear_natural_frac": "one part of a printed formula whose other part is a rival in an audit",
    "convection_rivals.emmel_angle_deg": "which of three printed directions a wind belongs to; weather has no angle to "
                                         "the roof here",
    "convection_rivals.mixed_clear_et_al_W_m2K": "the printed sum; an audit adds its own natural convection",
    "cover.gap_nusselt_hollands": "the form in print; an audit calls the same equation with its slope worked out "
                                  "before",
    "cover.gap_of": "as `gap_in_air` of an audit, from temperatures instead of ready properties",
    "cover.optics_of": "a kind as the tests take it; an audit draws its own",
    "cover.screen_wind_ratio": "at a place on the roof; an audit takes the mean in closed form",
    "emitters.coil_capacity_W": "a coil from its parts; an audit works out its heat per kelvin once",
    "emitters.panel_capacity_W": "a floor or ceiling from its parts; an audit works out its heat per kelvin once",
    "film.outlet_C": "linear sheets in closed form, for the tests",
    "film.sheet_profile": "the profile alone; an audit asks at once how its mean moves",
    "sky.all_sky_emissivity": "the sum that an audit makes step by step",
    "sky.planck_fraction": "what the fit of the window's share is held against",
    "sky.sky_view_horizon": "a level surface in closed form, for the tests",
    "sky.sky_view_walton": "a rival without a horizon, for the tests",
    "throw.drift_by_throw_frac": "another way to drift, for later",
    "throw.rosin_rammler_frac": "another way to drift, for later",
    "water.water_heat_J": "heat with the true heat capacity, for the tests",
}


def not_reached() -> set[str]:
    """Public functions of the physics that are reached from no other room, as `module.function`.

    By names alone: a name that stands anywhere in reached code counts as used, so that nothing is listed wrongly.
    """
    names: dict[tuple[str, str], set[str]] = {}
    functions = set()
    for path in sorted(PACKAGE.rglob("*.py")):
        module = ".".join(path.relative_to(PACKAGE).with_suffix("").parts)
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, (ast.Import, ast.ImportFrom)):
                continue
            used = {part.id for part in ast.walk(node) if isinstance(part, ast.Name)}
            used |= {part.attr for part in ast.walk(node) if isinstance(part, ast.Attribute)}
            for name in _defined(node):
                names.setdefault((module, name), set()).update(used)
                if isinstance(node, ast.FunctionDef) and not name.startswith("_"):
                    functions.add((module, name))
    reached = _reached(names)
    return {f"{module.removeprefix('physics.')}.{name}" for module, name in functions - reached
            if module.startswith("physics.")}


def _defined(node: ast.stmt) -> list[str]:
    if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
        return [node.name]
    targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
    return [target.id for target in targets if isinstance(target, ast.Name)] or ["(module)"]


def _reached(names: dict[tuple[str, str], set[str]]) -> set[tuple[str, str]]:
    places: dict[str, list[tuple[str, str]]] = {}
    for place in names:
        places.setdefault(place[1], []).append(place)
    reached: set[tuple[str, str]] = set()
    todo = [place for place in names if not place[0].startswith("physics")]
    while todo:
        place = todo.pop()
        if place not in reached:
            reached.add(place)
            todo += [other for name in names[place] for other in places.get(name, [])]
    return reached
