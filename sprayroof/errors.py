"""Everything that can go wrong in a way the auditor can mend.

SprayroofError                  catch this to catch all of them
|-- InputProblems               one or more problems in what the auditor brought
|   |-- SiteFileProblems        the site file cannot be used as it stands
|   |-- WeatherProblems         a weather or rain file cannot be used as it stands
|   |-- LogProblems             logs, tests or meters cannot be used as they stand
|   `-- AuditFileProblems       an audit.json cannot be read back
`-- NotEnough                   all is readable, but it does not suffice for the question asked

The library raises; only the command line catches.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Problem:
    """One thing to mend, in the four parts every message has.

    Parameters
    ----------
    where : str
        File, line, entry, row or column, as the auditor would look for it.
    found : str
        What stands there.
    wanted : str
        What is accepted.
    do : str
        What to do next.
    """

    where: str
    found: str
    wanted: str
    do: str

    def __str__(self) -> str:
        return f"{self.where}: {self.found}; {self.wanted}; {self.do}"


class SprayroofError(Exception):
    """Base of all errors that sprayroof raises on purpose."""


class InputProblems(SprayroofError):
    """All problems of one input at once.

    Parameters
    ----------
    problems : iterable of Problem
        At least one; kept in the order given in `.problems`.
    """

    def __init__(self, problems: Iterable[Problem]):
        self.problems: tuple[Problem, ...] = tuple(problems)
        if not self.problems:
            raise ValueError("InputProblems needs at least one problem")
        super().__init__("\n".join(str(problem) for problem in self.problems))


class SiteFileProblems(InputProblems):
    """The site file cannot be used as it stands."""


class WeatherProblems(InputProblems):
    """A weather or rain file cannot be used as it stands."""


class LogProblems(InputProblems):
    """Logs, tests or meters cannot be used as they stand."""


class AuditFileProblems(InputProblems):
    """An audit.json cannot be read back."""


class NotEnough(SprayroofError):
    """All is readable, but it does not suffice for the question asked."""
