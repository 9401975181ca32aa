"""Reads the check values of `tests/published/` and works out what our functions say to each."""

from __future__ import annotations

import importlib
import inspect
import tomllib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent / "published"
MARKS = ("verified", "from memory", "by hand", "common practice, no source")
PRINTED = MARKS[:3]  # the last is a form of this project


@dataclass(frozen=True)
class Check:
    """One printed value (fields as the README of `tests/published` tells)."""

    id: str
    subject: str
    equation: str
    function: str
    inputs: dict[str, Any]
    expected: float
    unit: str
    tolerance: dict[str, float]
    source: str
    mark: str
    work: str
    note: str = ""

    def allowed(self) -> float:
        """Largest difference that passes, in the unit of the value."""
        if "relative" in self.tolerance:
            return self.tolerance["relative"] * abs(self.expected)
        return self.tolerance["absolute"]

    def ours(self) -> float:
        """What our function says."""
        return float(_function_of(self.function)(*self.inputs.values()))


def _function_of(name: str) -> Callable[..., Any]:
    module, function = name.split(".")
    where = "composed" if module == "composed" else f"sprayroof.physics.{module}"
    return getattr(importlib.import_module(where), function)


def arguments_of(name: str) -> list[str]:
    """Names of a function's arguments, in order (compiled functions take them by place only)."""
    function = _function_of(name)
    return list(inspect.signature(getattr(function, "py_func", function)).parameters)


def checks() -> list[Check]:
    """All checks, file by file."""
    found = []
    for path in sorted(FOLDER.glob("*.toml")):
        content = tomllib.loads(path.read_text(encoding="utf-8"))
        sources = content["source"]
        for entry in content["check"]:
            key, where = entry.pop("source"), entry.pop("where", None)
            found.append(Check(**entry, source=_cited(sources[key], where), work=_work_of(sources[key])))
    return found


def _work_of(source: dict[str, Any]) -> str:
    """The outside work that a source belongs to: a work with several editions, parts or quotations is one."""
    return source["work"] if "work" in source else f"{source['author']} {source['year']}"


def _cited(source: dict[str, Any], where: str | None) -> str:
    dated = f"{source['author']} {source['year']}" if "year" in source else source["author"]
    return f"{dated}, {source['title']}, {where or source['where']}"


def works_of(found: Iterable[Check]) -> set[str]:
    """The outside works behind some checks, each once."""
    return {check.work for check in found if check.work and check.mark in PRINTED}
