"""The commands. Known errors become a few clear lines and exit code 1; wrong usage exits with 2.

Nothing heavy is imported here at the top: `sprayroof --help` answers at once. The answer goes to stdout, progress and
findings to stderr.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from sprayroof.errors import InputProblems, SprayroofError
from sprayroof.version import VERSION

if TYPE_CHECKING:
    from sprayroof.results import Finding

LEVEL_MARKS = {"note": "note ", "doubt": "doubt", "stop": "STOP "}


class Commands(click.Group):
    """The group of commands: an unknown command names the nearest known one, known errors become lines."""

    def resolve_command(self, ctx: click.Context, args: list[str]) -> Any:
        """Find the command; a typo gets the nearest name."""
        import difflib

        try:
            return super().resolve_command(ctx, args)
        except click.UsageError as error:
            close = difflib.get_close_matches(args[0], list(self.commands), n=1)
            if close:
                raise click.UsageError(f"{error.message} Did you mean {close[0]!r}?", ctx) from None
            raise

    def invoke(self, ctx: click.Context) -> Any:
        """Run the command; errors of the input are told, not traced."""
        try:
            return super().invoke(ctx)
        except InputProblems as error:
            count = len(error.problems)
            _tell(f"{count} problem{'s' if count > 1 else ''} to mend:")
            for problem in error.problems:
                _tell(f"  {problem}")
            ctx.exit(1)
        except SprayroofError as error:
            _tell(str(error))
            ctx.exit(1)


class SiteCommand(click.Command):
    """A command for a site: where the site was not named but lies here, it says how to name it."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Read the words of the command line."""
        try:
            return super().parse_args(ctx, args)
        except click.MissingParameter as error:
            if Path("site.toml").is_file():
                words = f"Which site? For the one in this folder write: {ctx.command_path} ."
                raise click.UsageError(words, ctx) from error
            raise


UNITS = click.Choice(["si", "ip"], case_sensitive=False)


def _tell(text: str) -> None:
    click.echo(_shown(text), err=True)


def _shown(text: str) -> str:
    """Text of the input as the terminal may print it: control characters as codes."""
    return "".join(char if char.isprintable() or char == "\n" else f"\\x{ord(char):02x}" for char in text)


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(VERSION, prog_name="sprayroof")
def main() -> None:
    """Audit water-sprayed, night-cooled roofs: cooling, water, electricity and money, with ranges.

    \b
    Start with:
      sprayroof new my_site        a folder with a commented site file
      sprayroof check my_site      every problem in it, in seconds
      sprayroof audit my_site      the audit: report.pdf, workbook.xlsx, audit.json
    """


@main.command()
@click.argument("folder", type=click.Path(path_type=Path))
def new(folder: Path) -> None:
    """Write FOLDER with a fully commented site.toml and an empty folder for logs.

    \b
    Example:
      sprayroof new my_site
    """
    from sprayroof.evidence.site_file.words import write_site_folder

    file = write_site_folder(folder)
    click.echo(f"Wrote {file}. It holds an invented building: put in your own facts, then run\n"
               f"  sprayroof check {folder}")


@main.command(cls=SiteCommand)
@click.argument("site", type=click.Path(path_type=Path))
@click.option("--strict", is_flag=True, help="Doubts and repairs count as problems: exit code 1.")
def check(site: Path, strict: bool) -> None:
    """Read everything that SITE names and list every problem and finding. Nothing is simulated.

    SITE is a folder that holds site.toml, or the file itself.

    \b
    Example:
      sprayroof check my_site
    """
    from sprayroof.check import check as run_check

    result = run_check(site)
    for line in result.lines:
        click.echo(_shown(line))
    _print_findings(result.findings, err=False)
    doubts, repairs = (f"{count} {what}{'' if count == 1 else 's'}" for count, what in (
        (result.doubts, "doubt"), (result.repairs, "repair")))
    files = f"{result.left_over} file{'' if result.left_over == 1 else 's'}"
    unused = f"{files} not used (see above): declare them, or leave them out. Then" if result.left_over else "Next"
    click.echo(f"Readable: no problems, {doubts}{'; ' if result.left_over else '. '}{unused}: sprayroof audit {site}")
    if strict and (result.doubts or result.repairs):
        _tell(f"With --strict doubts and repairs count as problems: {doubts}, {repairs}.")
        click.get_current_context().exit(1)


@main.command(cls=SiteCommand)
@click.argument("site", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), help="Folder for the results (default: SITE/audit).")
@click.option("--runs", type=click.IntRange(20, 100_000), default=300, show_default=True,
              help="Possible sites simulated beside the best estimate.")
@click.option("--seed", type=click.IntRange(0, 2**32 - 1), default=1, show_default=True,
              help="Same seed, same result.")
@click.option("--units", type=UNITS, default="si", show_default=True,
              help="Units of report and workbook.")
@click.option("--quiet", is_flag=True, help="No progress.")
def audit(site: Path, out: Path | None, runs: int, seed: int, units: str, quiet: bool) -> None:
    """Audit SITE and write report.pdf, workbook.xlsx, audit.json, nights.csv and steps.csv.

    SITE is a folder that holds site.toml, or the file itself.

    \b
    Examples:
      sprayroof audit my_site
      sprayroof audit my_site --out results --runs 1000 --units ip
    """
    from sprayroof.auditing import audit_with_steps
    from sprayroof.evidence.site import read_site
    from sprayroof.output import check_folder, write_all

    progress = _progress(quiet)
    read = read_site(site)
    folder = out or (read.folder / "audit")
    check_folder(folder)
    run = audit_with_steps(read, runs=runs, seed=seed, progress=progress)
    progress("writing the report")
    written = write_all(run, folder, units)
    progress(None)
    _print_findings(run.audit.findings, err=True)
    _print_answer(run.audit, units)
    click.echo(f"Written to {folder}: " + ", ".join(path.name for path in written))


@main.command()
@click.argument("audit_json", metavar="AUDIT.json", type=click.Path(path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), help="Folder (default: beside AUDIT.json).")
@click.option("--units", type=UNITS, default="si", show_default=True)
def report(audit_json: Path, out: Path | None, units: str) -> None:
    """Render report.pdf and workbook.xlsx again from AUDIT.json, without computing.

    AUDIT.json is the file that an audit wrote, or the folder that holds it.

    \b
    Example:
      sprayroof report my_site/audit/audit.json --units ip --out for_reviewer
    """
    from sprayroof.output import REPORT_FILES, write_rendered
    from sprayroof.results import read_audit

    record = read_audit(audit_json)
    folder = out or (audit_json if audit_json.is_dir() else audit_json.parent)
    replaced = [name for name in REPORT_FILES if (folder / name).is_file()]
    written = write_rendered(record, folder, units)
    if replaced:
        _tell(f"Replaced the earlier {' and '.join(replaced)} in {folder} by those in {units.upper()} units; "
              "with --out FOLDER both are kept.")
    click.echo(f"Written to {folder}: " + ", ".join(path.name for path in written))


@main.command()
@click.argument("name")
@click.option("--audit", "audit_json", type=click.Path(path_type=Path),
              help="An audit.json or its folder: tell its value there too.")
def explain(name: str, audit_json: Path | None) -> None:
    """Tell what NAME means: a quantity, a finding code, an entry of the site file, a grade, or a label of the report.

    \b
    Examples:
      sprayroof explain cooling_useful_kWh
      sprayroof explain weather.rain-implausible
      sprayroof explain store.volume
      sprayroof explain "Useful cooling" --audit my_site/audit
    """
    from sprayroof.explain import explain as tell
    from sprayroof.results import read_audit

    record = read_audit(audit_json) if audit_json else None
    click.echo(_shown(tell(name, record)))


def _progress(quiet: bool) -> Any:
    """A function that shows the step at work on stderr; None ends the line."""
    if quiet:
        return lambda message: None
    from rich.console import Console

    console = Console(stderr=True, highlight=False)
    if not console.is_terminal:
        return lambda message: message and click.echo(f"... {message}", err=True)
    status = console.status("starting")
    status.start()

    def show(message: str | None) -> None:
        if message is None:
            status.stop()
        else:
            from rich.markup import escape

            status.update(escape(message))

    return show


def _print_findings(findings: tuple[Finding, ...], err: bool) -> None:
    for finding in findings:
        mark = LEVEL_MARKS[finding.level]
        where = f" [{finding.where}]" if finding.where else ""
        click.echo(_shown(f"{mark} {finding.code}{where}: {finding.message} {finding.effect}".rstrip()), err=err)


def _print_answer(record: Any, units: str) -> None:
    from sprayroof.report.terminal import summary_lines

    for line in summary_lines(record, units):
        click.echo(_shown(line))


if __name__ == "__main__":
    sys.exit(main())
