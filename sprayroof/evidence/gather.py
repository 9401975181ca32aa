"""Problems and findings collected while evidence is read, so that all of them can be told at once."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from sprayroof.catalogue import FINDINGS
from sprayroof.errors import InputProblems, Problem, WeatherProblems
from sprayroof.results import Finding

SHOWN = 5  # cells or times named in one message before the rest is only counted


@dataclass
class Gather:
    """A pad on which readers write what they met.

    Parameters
    ----------
    problems : list of Problem
        What must be mended before the evidence can be used.
    findings : list of Finding
        What the reader of the result must know.
    """

    problems: list[Problem] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)

    def problem(self, where: str, found: str, wanted: str, do: str) -> None:
        """Add a problem (see `sprayroof.errors.Problem` for the four parts); `wanted` is what follows that word."""
        self.problems.append(Problem(where, found, f"wanted {wanted}", do))

    def finding(
        self, code: str, message: str, where: str = "", data: dict[str, Any] | None = None, effect: str = ""
    ) -> None:
        """Add a finding; its level is that of its code in the catalogue."""
        self.findings.append(Finding(code, FINDINGS[code].level, message, where, data or {}, effect))

    def stop_if_problems(self, error: type[InputProblems] = WeatherProblems) -> None:
        """Raise `error` with all problems, if there are any."""
        if self.problems:
            raise error(self.problems)


def some_of(texts: list[str], shown: int = SHOWN) -> str:
    """The first few of `texts` with commas, and how many more there are."""
    head = ", ".join(texts[:shown])
    return head if len(texts) <= shown else f"{head} and {len(texts) - shown} more"


def count_of(number: int, one: str, many: str | None = None) -> str:
    """`1 row`, `7 rows`."""
    return f"{number} {one if number == 1 else (many or one + 's')}"
