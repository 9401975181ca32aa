"""Rules of the house that a reader relies on: who may import whom, what names carry, what the folder holds."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from sprayroof.evidence.site import SECTIONS
from sprayroof.model import records

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "sprayroof"
MODULES = sorted(PACKAGE.rglob("*.py"))


def module_name(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imports_of(path: Path) -> set[str]:
    """Every module that a file imports anywhere, also inside functions and under TYPE_CHECKING."""
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name} imports by dots, which hides the direction"
            found.add(node.module)
            # `from sprayroof.evidence import plausibility` names a module of the package
            found |= {f"{node.module}.{alias.name}" for alias in node.names
                      if node.module.startswith("sprayroof") and is_module(f"{node.module}.{alias.name}")}
    return found


def is_module(name: str) -> bool:
    path = ROOT.joinpath(*name.split("."))
    return path.is_dir() or path.with_suffix(".py").is_file()


# --- import direction ---------------------------------------------------------------------------------------------

# What all rooms of evidence use, and which itself uses none of them
SHARED = tuple(f"evidence.{name}" for name in ("files", "gather", "grid", "local_days", "running", "spread", "steps",
                                               "tables", "text", "times", "units"))
BASE = (*SHARED, "errors", "results", "catalogue")
SITE = ("evidence.site", "evidence.site_file", *BASE)
LOG_FILES = ("evidence.log_files", "evidence.log_times", *SITE)
CHANNELS = ("evidence.channels", "evidence.logs", *LOG_FILES)

# Modules, by the longest beginning of their name -> the parts of the package that they may import
MAY_IMPORT = {
    **{f"sprayroof.{name}": BASE for name in SHARED},
    "sprayroof.evidence.site_file": SITE,
    "sprayroof.evidence.weather_files": ("evidence.weather_files", *SITE),
    "sprayroof.evidence.log_times": ("evidence.log_times", *SITE),
    "sprayroof.evidence.log_files": LOG_FILES,
    "sprayroof.evidence.channels": CHANNELS,
    "sprayroof.evidence.quality": ("evidence.quality", *CHANNELS),
    "sprayroof.evidence.billing": ("evidence.billing", "evidence.logs", "evidence.weather", *LOG_FILES),
    "sprayroof.errors": (),
    "sprayroof.version": (),
    "sprayroof.catalogue": (),
    "sprayroof.results": ("errors",),
    "sprayroof.physics": ("physics",),
    "sprayroof.evidence": ("evidence", "errors", "results", "catalogue"),
    "sprayroof.model": ("model", "evidence", "physics", "results", "errors", "catalogue"),
    "sprayroof.auditing": ("model", "evidence", "results", "errors", "version", "physics.compiled"),
    "sprayroof.check": ("evidence", "model.whole_building", "model.twin_results", "results", "errors"),
    "sprayroof.explain": (
        "evidence.site_file.words", "report.words", "report.numbers", "report.terms", "report.glossary", "results",
        "errors", "catalogue",
    ),
    "sprayroof.output": ("auditing", "report", "results", "errors"),
    "sprayroof.report": ("report", "results", "errors", "catalogue", "version"),
    "sprayroof.cli": ("auditing", "check", "explain", "output", "report", "evidence", "results", "errors", "version"),
    "sprayroof.__main__": ("cli",),
    "sprayroof": ("version",),
}
PHYSICS_LIBRARIES = {"numpy", "numba", "scipy", "platformdirs"}


def rule_of(name: str) -> tuple[str, ...]:
    holder = max((beginning for beginning in MAY_IMPORT if name == beginning or name.startswith(f"{beginning}.")),
                 key=len)
    assert holder != "sprayroof" or name == "sprayroof", f"{name} has no import rule: add one to MAY_IMPORT"
    return MAY_IMPORT[holder]


def within(name: str, part: str) -> bool:
    return name == part or name.startswith(f"{part}.")


@pytest.mark.parametrize("path", MODULES, ids=module_name)
def test_imports_run_one_way(path):
    allowed = tuple(f"sprayroof.{part}" for part in rule_of(module_name(path)))
    wrong = {name for name in imports_of(path) if within(name, "sprayroof") and name != "sprayroof"
             and not is_folder_of(name, allowed) and not any(within(name, part) for part in allowed)}
    assert not wrong, f"{module_name(path)} must not import {sorted(wrong)}"


def is_folder_of(name: str, allowed: tuple[str, ...]) -> bool:
    """`from sprayroof.physics import compiled` names the folder too; what is taken out of it is judged by itself."""
    return ROOT.joinpath(*name.split(".")).is_dir() and any(within(part, name) for part in allowed)


@pytest.mark.parametrize("path", sorted((PACKAGE / "physics").glob("*.py")), ids=module_name)
def test_physics_needs_only_numbers(path):
    tops = {name.split(".")[0] for name in imports_of(path)} - {"sprayroof"}
    foreign = {name for name in tops if name not in PHYSICS_LIBRARIES and name not in sys.stdlib_module_names}
    assert not foreign


def test_the_rules_see_an_import_against_the_direction(tmp_path):
    """The test of the test: an upward import inside a function is found."""
    file = tmp_path / "late.py"
    file.write_text("def f():\n    from sprayroof.model import simulate\n", encoding="utf-8")
    assert {"sprayroof.model", "sprayroof.model.simulate"} <= imports_of(file)


HEAVY = ("numpy", "pandas", "scipy", "numba", "matplotlib", "reportlab", "pint", "pvlib", "CoolProp", "pydantic",
         "xlsxwriter", "openpyxl", "psychrolib")


def loaded_by(code: str) -> set[str]:
    script = f"import sys\n{code}\nprint(' '.join(sorted(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT)
    return {name.split(".")[0] for name in done.stdout.split()}


@pytest.mark.parametrize("module", ["sprayroof", "sprayroof.cli", "sprayroof.results", "sprayroof.catalogue"])
def test_light_modules_load_nothing_heavy(module):
    assert not loaded_by(f"import {module}") & set(HEAVY)


def test_explaining_a_quantity_loads_nothing_heavy():
    code = "from sprayroof.explain import explain\nexplain('cooling_useful_kWh')"
    assert not loaded_by(code) & set(HEAVY)


# --- docstrings of physics ----------------------------------------------------------------------------------------

NOT_PHYSICS = ("__init__", "compiled", "constants")
SAME_ARGUMENTS = re.compile(r"arguments as `(\w+)`|same arguments")


def public_functions(path: Path) -> list[ast.FunctionDef]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return [node for node in tree.body if isinstance(node, ast.FunctionDef) and not node.name.startswith("_")]


PHYSICS_FILES = [path for path in sorted((PACKAGE / "physics").glob("*.py")) if path.stem not in NOT_PHYSICS]
PHYSICS_FUNCTIONS = [(path.stem, node) for path in PHYSICS_FILES for node in public_functions(path)]
PHYSICS_NAMES = {node.name for _, node in PHYSICS_FUNCTIONS}


def docstring_faults(node: ast.FunctionDef) -> list[str]:
    """What the docstring of a physics function lacks."""
    text = ast.get_docstring(node) or ""
    same = SAME_ARGUMENTS.search(text)
    if same:
        return [f"points to {same[1]}, which is not there"] if same[1] and same[1] not in PHYSICS_NAMES else []
    faults = []
    for heading in ("Parameters", "Returns"):
        returns = any(isinstance(inner, ast.Return) and inner.value is not None for inner in ast.walk(node))
        body = section(text, heading)
        if body is None and (heading == "Parameters" or returns):
            faults.append(f"no section {heading}")
        elif body is not None and "[" not in body and "see `" not in body.lower() and "(n,) array" not in body:
            faults.append(f"no unit in brackets under {heading}")
    described = section(text, "Parameters") or ""
    if "others\n" not in described:
        faults += [f"argument {argument.arg} is not described" for argument in node.args.args
                   if not re.search(rf"\b{argument.arg}\b", described)]
    return faults


def section(text: str, heading: str) -> str | None:
    found = re.search(rf"^{heading}\n-+\n(.*?)(?=^\w[^\n]*\n-+\n|\Z)", text, re.MULTILINE | re.DOTALL)
    return found[1] if found else None


@pytest.mark.parametrize(("module", "node"), PHYSICS_FUNCTIONS, ids=[f"{m}.{n.name}" for m, n in PHYSICS_FUNCTIONS])
def test_physics_docstrings_tell_arguments_and_units(module, node):
    assert not docstring_faults(node), f"{module}.{node.name}: {'; '.join(docstring_faults(node))}"


def test_a_docstring_without_units_is_found():
    words = '"""One.\n\n    Parameters\n    ----------\n    t_C : float\n        Warm.\n    """'
    node = ast.parse(f"def f(t_C):\n    {words}\n    return t_C\n").body[0]
    assert docstring_faults(node) == ["no unit in brackets under Parameters", "no section Returns"]


def test_modules_and_public_names_have_docstrings():
    silent = []
    for path in MODULES:
        tree = ast.parse(path.read_text(encoding="utf-8"))
        named = [node for node in tree.body if isinstance(node, (ast.FunctionDef, ast.ClassDef))
                 and not node.name.startswith("_")]
        silent += [f"{module_name(path)} {getattr(node, 'name', '')}" for node in (tree, *named)
                   if not ast.get_docstring(node)]
    assert not silent


# --- units in names -----------------------------------------------------------------------------------------------

UNITS = ("C", "K", "F", "Pa", "Pa_s", "kg", "kg_s", "kg_ms", "kg_m3", "kg_m2s", "kg_kg", "kg_day", "m", "m2", "m3",
         "mm", "um", "m_s", "m2_s", "m3_h", "mm_h", "min", "h", "s", "W", "kW", "J", "kWh", "W_K", "kW_K", "W_m2",
         "W_m2K", "W_mK", "m2K_W", "J_kg", "J_kgK", "J_kgK2", "J_m2K", "J_m3K", "kJ_m2K", "L_min", "L_day", "mg_L",
         "1_K", "s2_m2", "deg", "frac", "per_kWh", "per_m3", "per_year", "kg_kWh", "years")
HAS_UNIT = re.compile(rf"_({'|'.join(sorted(UNITS, key=len, reverse=True))})$")

# Arguments and fields without a unit in their name, each with its reason
NUMBERS_OF_ONE = {  # pure numbers that every text calls by these names
    "alpha", "met_alpha", "reynolds", "rayleigh", "grashof", "ntu", "ratio", "spalding", "eir", "degradation",
    "cloud_effect", "cloud_doubt", "ground_wave", "runoff", "runoff_coefficient", "absorptance",
    "sky_view", "w_air", "dw_dhumidity",
    "drift_base", "ac_eir", "ac_degradation", "booster_cop", "humidity_offset", "sky_offset", "filter_efficiency",
}
PURE = re.compile(r"((transmittance|reflectance|panel)_(window|rest)|_share|_factor|_ratio|_rel|_exponent|_fraction)$"
                  r"|^(mass_fraction$|emissivity)")
COMPOUND = {  # units too long for a name; the docstring or the comment beside them tells it
    "unstable_cubed", "stable_cubed", "lewis_per_cp",
    "cubed",  # of `roots.cube_root`, in any unit
}
SWITCHES_AND_PLACES = {  # choices, truths, numbers of things, places in an array, records with names of their own
    "kind", "sense", "store_outside", "mains_rule", "load_kind", "ac_kind", "bleed_on", "flush_takes_spray",
    "spray_allowed", "running", "has_longwave", "load_hours", "spray_clock", "spray_season", "booster_clock", "night",
    "day", "layers", "sky_column", "planes_n", "catchments_n", "uses_n", "emitters_n", "planes", "catchments", "uses",
    "emitters", "gap", "optics", "buoyant", "covered", "sprayed", "cloud_column", "convection_column", "panel_covered",
    "open_plane", "variable", "part_load", "air_first", "by_en14825",
}
SCRATCH = {"spare_mass", "spare_temp"}  # work space of `tank.settle`, no quantity
UNITLESS = NUMBERS_OF_ONE | COMPOUND | SWITCHES_AND_PLACES | SCRATCH

# Functions named after what they do to a store, or whose unit is too long for a name
NAMED_BY_DEED = {"take_bottom", "take_top", "lose_heat", "natural_unstable_cubed", "natural_stable_cubed", "cube_root"}


def carries_unit(name: str) -> bool:
    return bool(HAS_UNIT.search(name) or PURE.search(name)) or name in UNITLESS


@pytest.mark.parametrize(("module", "node"), PHYSICS_FUNCTIONS, ids=[f"{m}.{n.name}" for m, n in PHYSICS_FUNCTIONS])
def test_arguments_of_physics_carry_units(module, node):
    assert not [argument.arg for argument in node.args.args if not carries_unit(argument.arg)]


def gives_one_quantity(node: ast.FunctionDef) -> bool:
    """Whether a function gives a single number with a unit: not a pure number, several things, or nothing."""
    text = ast.get_docstring(node) or ""
    same = SAME_ARGUMENTS.search(text)
    if same and same[1]:
        text = next(ast.get_docstring(other) or "" for _, other in PHYSICS_FUNCTIONS if other.name == same[1])
    returned = section(text, "Returns") or ""
    first = returned.strip().split("\n")[0]
    return bool(returned) and first.startswith("float") and not re.search(r"\[(1|kg/kg)\]|\[1: ", returned)


@pytest.mark.parametrize(("module", "node"), PHYSICS_FUNCTIONS, ids=[f"{m}.{n.name}" for m, n in PHYSICS_FUNCTIONS])
def test_names_of_physics_functions_carry_units(module, node):
    assert HAS_UNIT.search(node.name) or node.name in NAMED_BY_DEED or not gives_one_quantity(node)


def test_a_quantity_without_its_unit_is_found():
    words = '"""One.\n\n    Returns\n    -------\n    float\n        Heat [{}].\n    """'
    heat, share = (ast.parse(f"def f():\n    {words.format(unit)}\n    return 1.0\n").body[0] for unit in ("W", "1"))
    assert gives_one_quantity(heat)
    assert not gives_one_quantity(share)


def test_no_exception_outlives_its_name():
    """A name that is gone must not leave a hole in the rule."""
    assert not NAMED_BY_DEED - PHYSICS_NAMES
    used = {argument.arg for _, node in PHYSICS_FUNCTIONS for argument in node.args.args}
    used |= {name for _, dtype in RECORDS for name in dtype.names}
    assert not UNITLESS - used


RECORDS = [(name, value) for name, value in vars(records).items() if isinstance(value, np.dtype)]


@pytest.mark.parametrize(("name", "dtype"), RECORDS, ids=[name for name, _ in RECORDS])
def test_fields_of_the_loops_records_carry_units(name, dtype):
    assert not [field for field in dtype.names if not carries_unit(field)]


# Numbers of the site file whose unit is 1 by their nature
SITE_NUMBERS_OF_ONE = {"coldest_day", "nodes", "priority", "rated_cop", "cop"}
# Numbers in the unit of the logged column that they speak of
SITE_NUMBERS_OF_A_COLUMN = {"reading", "reference"}


@pytest.mark.parametrize("section_name", SECTIONS)
def test_numbers_of_the_site_file_carry_units(section_name):
    from sprayroof.evidence.site_file.entry_numbers import FactEntry, MonthsEntry, NumberEntry, WholeEntry

    numbers = [attribute for attribute, entry in SECTIONS[section_name].entries().items()
               if isinstance(entry, (FactEntry, MonthsEntry, NumberEntry, WholeEntry))]
    without = [name for name in numbers if not HAS_UNIT.search(name)]
    assert not set(without) - SITE_NUMBERS_OF_ONE - SITE_NUMBERS_OF_A_COLUMN


# --- the folder ---------------------------------------------------------------------------------------------------

TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "sprayroof", "tests", "sample_sites", "docs"}
MADE_BY_TOOLS = re.compile(r"^\.|^(build|dist|__pycache__)$|\.egg-info$")


def test_top_folder_holds_what_it_should_and_no_more():
    here = {path.name for path in ROOT.iterdir() if not MADE_BY_TOOLS.search(path.name)}
    assert here == TOP_LEVEL


def project_files() -> list[Path]:
    """All files of the project as git would track them, without asking git."""
    left_out = {"__pycache__", "build", "dist", "audit"}
    return [path for name in TOP_LEVEL for path in sorted([ROOT / name, *(ROOT / name).rglob("*")])
            if path.is_file() and not left_out & set(path.relative_to(ROOT).parts)]


# Joined here so that this file does not hold them itself
FOREIGN = ("/wo" "rk/", "/tm" "p/", "/ro" "ot/", "trans" "cript", "seed doc" "ument", "shared/" "design", "sub" "agent")


def test_files_speak_of_the_project_alone():
    files = project_files()
    assert len(files) > 100
    held = {path.relative_to(ROOT).as_posix(): words for path in files if (words := foreign_words(path))}
    assert not held


def foreign_words(path: Path) -> list[str]:
    text = path.read_bytes().decode("utf-8", errors="replace").lower()
    return [word for word in FOREIGN if word in text]
