"""The generated pages of docs/: each is made from the same tables and declarations that the program uses.

    python tests/docs_pages.py

writes them; `test_docs.py` holds the pages on disk against what is made here.
"""

from __future__ import annotations

import inspect
import json
from collections.abc import Callable
from pathlib import Path

import click

from sprayroof.catalogue import FINDINGS, QUANTITIES
from sprayroof.cli import main
from sprayroof.evidence.site_file import words as site_words
from sprayroof.physics.constants import CONSTANTS

DOCS = Path(__file__).parent.parent / "docs"
LEVELS = {
    "stop": "No figure may be used until this is mended.",
    "doubt": "Weakens the result. `check --strict` counts it as a problem.",
    "note": "For the record.",
}
MARKS = {
    "[S]": "the figure was seen in a public copy of the source",
    "[M]": "from memory, not yet verified against the source",
    "[P]": "a prior of this project, with its reason",
}


def findings() -> str:
    """findings.md: every code of the catalogue, the gravest first."""
    parts = ["# Findings", "",
             "What `check` and `audit` may tell about the evidence and the result. Each has a code that stays the "
             "same; `sprayroof explain CODE` tells its paragraph in the terminal. This page is made from the catalogue "
             "that the program uses."]
    for level, meaning in LEVELS.items():
        rows = [finding for finding in FINDINGS.values() if finding.level == level]
        if rows:
            parts += ["", f"## {level.capitalize()}", "", meaning]
        for finding in sorted(rows, key=lambda row: row.code):
            parts += ["", f"### `{finding.code}`", "", f"**{finding.title}.** {finding.meaning}"]
    return "\n".join(parts) + "\n"


def quantities() -> str:
    """reference/quantities.md: every identifier of the catalogue."""
    rows = [f"| `{row.id}` | {row.label} | {_unit(row.unit)} | {row.meaning} |" for row in QUANTITIES.values()]
    head = ["# Quantities", "",
            "The results of an audit by the identifiers they have in [audit.json](audit_json.md), the workbook and "
            "`sprayroof explain`. Each comes with `value`, `low` and `high`; low and high are the ends of the 90 % "
            "range. Unit 1 is a fraction. This page is made from the catalogue that the program uses.", "",
            "| identifier | label | unit | meaning |", "|---|---|---|---|"]
    return "\n".join(head + rows) + "\n"


def _unit(unit: str) -> str:
    return "the site's currency" if unit == "currency" else unit


def constants() -> str:
    """reference/constants.md: nature's constants and every coefficient of a correlation."""
    rows = [f"| `{row.name}` | {row.value:.10g} | {row.unit} | {_spread(row.sd)} | {_cell(row.source)} |"
            for row in CONSTANTS.values()]
    marks = [f"- {mark}: {meaning}." for mark, meaning in MARKS.items()]
    head = ["# Constants and coefficients", "",
            "Every constant of nature and every published coefficient stands once in the program; this page is made "
            "from that table. Spread is one standard deviation (none: exact, or too small to matter). Marks of the "
            "sources:", "", *marks, "", "| name | value | unit | spread | source |", "|---|---|---|---|---|"]
    return "\n".join(head + rows) + "\n"


def _spread(sd: float) -> str:
    return f"{sd:.4g}" if sd else "none"


def _cell(text: str) -> str:
    return text.replace("|", "\\|")


def commands() -> str:
    """reference/commands.md: the help text of every command."""
    parts = ["# Commands", "", *_COMMANDS_HEAD.strip().split("\n")]
    for name, command in main.commands.items():
        parts += ["", f"## sprayroof {name}", "", *_command(name, command)]
    return "\n".join(parts) + "\n"


_COMMANDS_HEAD = """
This page is made from the help texts of the program; `sprayroof COMMAND --help` prints them.

The answer of a command goes to the standard output, progress and findings to the standard error. Exit codes:

| code | meaning |
|---|---|
| 0 | done |
| 1 | the input is wrong or not enough; every problem is told as *where: what was found; what is wanted; what to do* |
| 2 | the command was not used as it should be |
"""


def _command(name: str, command: click.Command) -> list[str]:
    context = click.Context(command, info_name=f"sprayroof {name}")
    usage = " ".join([context.info_name, *command.collect_usage_pieces(context)])
    paragraphs = inspect.cleandoc(command.help).split("\n\n")
    parts = [f"    {usage}", ""]
    for paragraph in paragraphs:
        if paragraph.startswith("\b"):
            heading, *lines = paragraph.removeprefix("\b").strip("\n").split("\n")
            parts += [heading, "", *(f"    {line.strip()}" for line in lines), ""]
        else:
            parts += [" ".join(paragraph.split("\n")), ""]
    options = [option for option in command.params if isinstance(option, click.Option)]
    if options:
        parts += ["| option | meaning |", "|---|---|", *(_option(option) for option in options)]
    return parts if parts[-1] else parts[:-1]


def _option(option: click.Option) -> str:
    name = ", ".join(option.opts)
    if not option.is_flag:
        name += f" {_form(option.type)}"
    words = option.help or ""
    if option.show_default:
        words = f"{words} Default: {option.default}.".strip()
    return f"| `{_cell(name)}` | {_cell(words)} |"


def _form(kind: click.ParamType) -> str:
    """What an option takes, in words of our own: those of the library change with its version."""
    if isinstance(kind, click.Choice):
        return "|".join(kind.choices)
    if isinstance(kind, click.IntRange):
        return f"{kind.min}..{kind.max}"
    return {"path": "PATH", "text": "TEXT"}[kind.name]


def site_schema() -> str:
    """reference/site_schema.json: for editors that check TOML while it is written."""
    return json.dumps(site_words.json_schema(), indent=1, ensure_ascii=False) + "\n"


PAGES: dict[str, Callable[[], str]] = {
    "findings.md": findings,
    "reference/quantities.md": quantities,
    "reference/constants.md": constants,
    "reference/commands.md": commands,
    "reference/site_file.md": site_words.reference_markdown,
    "reference/site_schema.json": site_schema,
}


def write_pages() -> None:
    """Write every generated page."""
    for name, text in PAGES.items():
        path = DOCS / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text(), encoding="utf-8", newline="\n")
        print(f"wrote docs/{name}")


if __name__ == "__main__":
    write_pages()
