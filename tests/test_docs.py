"""The documentation is tested: pages are fresh, commands and examples run, links lead on, nothing is left out."""

from __future__ import annotations

import ast
import contextlib
import io
import re
import shlex
import shutil
import tomllib
from dataclasses import dataclass
from pathlib import Path

import pytest
from click.testing import CliRunner
from docs_pages import PAGES

from sprayroof.catalogue import FINDINGS, QUANTITIES
from sprayroof.cli import main
from sprayroof.evidence.site_file.words import entry_names

ROOT = Path(__file__).parent.parent
DOCS = ROOT / "docs"
PACKAGE = ROOT / "sprayroof"
WRITTEN = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted(DOCS.rglob("*.md"))]
FENCE = re.compile(r"^```(\w*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def named(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


# --- generated pages ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", PAGES)
def test_generated_pages_are_up_to_date(name):
    on_disk = (DOCS / name).read_text(encoding="utf-8")
    assert on_disk == PAGES[name](), f"docs/{name} is stale: run python tests/docs_pages.py"


# --- what is shown runs -------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Command:
    """A command line shown on a page and the lines shown as its answer."""

    line: str
    answer: tuple[str, ...]


def blocks(path: Path) -> list[tuple[str, str]]:
    """Language and text of the fenced blocks of a page, in order."""
    return [(found[1], found[2]) for found in FENCE.finditer(path.read_text(encoding="utf-8"))]


def commands(block: str) -> list[Command]:
    """The commands in a block (ours, and copies of folders), with or without a prompt, each with the lines after it."""
    found: list[tuple[str, list[str]]] = []
    for line in block.splitlines():
        parts = [part.split("#")[0].strip() for part in line.removeprefix("$ ").split("&&")]
        ours = [part for part in parts if part.startswith(("sprayroof ", "cp -r "))]
        if ours:
            found += [(part, []) for part in ours]
        elif found and not line.startswith("$ "):
            found[-1][1].append(line)
    return [Command(line, tuple(answer)) for line, answer in found]


def shown_commands(path: Path) -> list[Command]:
    return [command for language, block in blocks(path) if language in ("console", "") for command in commands(block)]


def examples(path: Path) -> list[str]:
    return [block for language, block in blocks(path) if language == "python"]


def run(command: Command) -> str:
    """What a command prints; fails unless it succeeds."""
    words = shlex.split(command.line)[1:]
    if command.line.startswith("cp -r "):
        shutil.copytree(*words[1:])
        return ""
    result = CliRunner().invoke(main, words, catch_exceptions=False)
    assert result.exit_code == 0, f"{command.line}\n{result.output}"
    return result.output


NUMBER = re.compile(r"[−-]?\d[\d.,   ]*")


def masked(text: str) -> str:
    """Text with its numbers taken out: wording must agree, last digits and the slash of the system need not."""
    return " ".join(NUMBER.sub("#", text.replace("\\", "/")).split())


def missing_lines(shown: tuple[str, ...], printed: str) -> list[str]:
    """Shown lines that were not printed, in that order; `...` stands for any lines."""
    rest = [masked(line) for line in printed.splitlines()]
    missing = []
    for line in shown:
        if not line.strip() or line.strip() == "...":
            continue
        place = next((at for at, real in enumerate(rest) if real.startswith(masked(line))), None)
        if place is None:
            missing.append(line)
        else:
            rest = rest[place + 1 :]
    return missing


@pytest.mark.parametrize("path", [path for path in WRITTEN if shown_commands(path) or examples(path)], ids=named)
def test_commands_and_examples_of_a_page_run(path, tmp_path, monkeypatch):
    shutil.copytree(ROOT / "sample_sites", tmp_path / "sample_sites", ignore=shutil.ignore_patterns("audit"))
    monkeypatch.chdir(tmp_path)
    space: dict[str, object] = {}
    copy, printed = None, None
    for language, block in blocks(path):
        if language == "text" and printed is not None:
            missing = missing_lines(tuple(block.splitlines()), printed)
            assert not missing, f"the example above no longer prints what {named(path)} shows"
        printed = None
        if language in ("console", ""):
            for command in commands(block):
                missing = missing_lines(command.answer, run(command))
                assert not missing, f"{command.line} no longer prints what {named(path)} shows"
                copy = Path(command.line.split()[-1]) if command.line.startswith("cp -r ") else copy
        elif language == "toml" and copy is not None:
            write_into(copy / "site.toml", block)
        elif language == "python":
            with contextlib.redirect_stdout(io.StringIO()) as told:
                exec(compile(block, named(path), "exec"), space)  # the page's own words, as a reader would type them
            printed = told.getvalue()


def write_into(site: Path, block: str) -> None:
    """Put a TOML block's lines below their heading in a site file, but for entries that stand there already."""
    text = site.read_text(encoding="utf-8")
    heading, *lines = [line for line in block.splitlines() if line.strip()]
    below = text[text.index(f"{heading}\n") :]
    known = set(tomllib.loads(re.split(r"\n\[", below[1:])[0].partition("\n")[2]))
    new = [line for line in lines if line.split()[0] not in known]
    site.write_text(text.replace(f"{heading}\n", "\n".join([heading, *new, ""]), 1), encoding="utf-8")


def test_a_changed_answer_is_noticed():
    assert not missing_lines(("  Useful: 8.0 MWh (6.2 to 9.5)", "..."), "head\n  Useful: 7.9 MWh (6 to 9.41)\n")
    assert missing_lines(("  Useful: 8.0 MWh",), "  Usable: 8.0 MWh\n")
    assert missing_lines(("first", "second"), "second\nfirst\n") == ["second"]


def test_commands_are_found_with_and_without_prompt():
    found = commands("$ sprayroof new a\nWrote a\n$ ls\nsite.toml\npip install . && sprayroof audit b   # c\n")
    assert [command.line for command in found] == ["sprayroof new a", "sprayroof audit b"]
    assert found[0].answer[0] == "Wrote a"


def test_help_texts_show_commands_that_exist():
    texts = [command.help for command in (main, *main.commands.values())]
    shown = [line.split() for text in texts for line in text.splitlines() if line.strip().startswith("sprayroof ")]
    assert {words[1] for words in shown} == set(main.commands)
    for words in shown:
        known = {option for parameter in main.commands[words[1]].params for option in parameter.opts}
        assert {word for word in words if word.startswith("--")} <= known


# --- site files on pages ------------------------------------------------------------------------------------------


def entries_of(block: str) -> set[str]:
    """Dotted entries that a TOML block states, without those below a fact or a column table."""
    found = set()
    for section, content in tomllib.loads(block).items():
        for table in content if isinstance(content, list) else [content]:
            for entry, value in table.items():
                inner = value if isinstance(value, dict) and f"{section}.{entry}" == "weather.rain" else {}
                found |= {f"{section}.{entry}", *(f"{section}.{entry}.{below}" for below in inner)}
    return found


PAGES_WITH_TOML = [path for path in WRITTEN if any(language == "toml" for language, _ in blocks(path))]


@pytest.mark.parametrize("path", [path for path in PAGES_WITH_TOML if path.name != "site_file.md"], ids=named)
def test_site_entries_shown_exist(path):
    for language, block in blocks(path):
        if language == "toml":
            assert entries_of(block) <= set(entry_names())


CODE = re.compile(r"`([^`\n]+)`")


def test_names_in_running_text_exist():
    """`store.volume`, `weather.rain-missing`, `cooling_roof_kWh` and their like mean something wherever they stand."""
    areas = {name.split(".")[0] for name in (*entry_names(), *FINDINGS)}
    known = {*entry_names(), *FINDINGS}
    unknown = set()
    for path in sorted(DOCS.rglob("*.md")):
        text = FENCE.sub("", path.read_text(encoding="utf-8"))
        for word in CODE.findall(text):
            name = re.sub(r"\.\d+\.", ".", word)
            dotted = re.fullmatch(r"([a-z_]+)\.[a-z_.-]*[a-z]", name)
            if dotted and dotted[1] in areas and name not in known and not name.endswith((".py", ".toml", ".json")):
                unknown.add(f"{named(path)}: {word}")
    assert not unknown


# --- nothing is left out ------------------------------------------------------------------------------------------


def page(name: str) -> str:
    return (DOCS / name).read_text(encoding="utf-8")


def test_every_command_is_documented():
    text = page("reference/commands.md")
    for name, command in main.commands.items():
        assert f"## sprayroof {name}\n" in text
        assert all(option in text for parameter in command.params for option in parameter.opts if option[0] == "-")


def test_every_finding_is_documented():
    text = page("findings.md")
    assert not [code for code, finding in FINDINGS.items()
                if f"### `{code}`" not in text or finding.meaning not in text]


def test_every_quantity_is_documented():
    text = page("reference/quantities.md")
    assert not [id for id, quantity in QUANTITIES.items() if f"| `{id}` |" not in text or quantity.meaning not in text]


def test_every_site_entry_is_documented():
    sections = dict(re.findall(r"^## \[+([a-z_.]+)\]+\n(.*?)(?=^## |\Z)", page("reference/site_file.md"),
                               re.MULTILINE | re.DOTALL))
    missing = [name for name in entry_names()
               if f"| `{name.rpartition('.')[2]}` |" not in sections[name.rpartition(".")[0]]]
    assert not missing


def test_every_part_of_the_record_is_documented():
    from dataclasses import fields

    from sprayroof.results import Audit, Finding, Quantity

    text = page("reference/audit_json.md")
    names = [field.name for kind in (Audit, Finding, Quantity) for field in fields(kind)]
    assert not [name for name in names if f"`{name}`" not in text]


@pytest.fixture(scope="module")
def record():
    import sprayroof

    return sprayroof.audit(sprayroof.read_site(ROOT / "sample_sites" / "tanglewick_school"), runs=20)


def test_the_record_holds_no_undocumented_names(record):
    text = page("reference/audit_json.md")
    rows = [*record.nights[:1], *record.inputs[:1], *record.assumptions[:1], record.made, *record.site["facts"][:1],
            *record.closure.values(), record.site, record.closure, record.series]
    missing = {name for row in rows for name in row if f"`{name}`" not in text}
    assert not missing
    assert set(record.periods["year"].quantities) <= set(QUANTITIES)


def test_every_sky_and_cloud_model_has_its_formula():
    from sprayroof.evidence.site_file.place import CLOUD_MODELS, SKY_MODELS

    rows = {row.split("`")[1] for row in page("method/sky.md").splitlines() if row.startswith("| `")}
    assert {*SKY_MODELS, *CLOUD_MODELS} <= rows


def test_changelog_opens_each_version_with_what_may_change_answers():
    versions = re.split(r"^## ", page("changelog.md"), flags=re.MULTILINE)[1:]
    assert versions
    assert all(re.match(r"[\d.]+\n\n### Changes that may change your answers\n", version) for version in versions)


def test_the_present_version_is_in_the_changelog():
    from sprayroof.version import VERSION

    assert f"\n## {VERSION}\n" in page("changelog.md")


# --- figures on pages ----------------------------------------------------------------------------------------------


def year_of(folder: Path, text: str) -> dict[str, float]:
    """Best estimates of a site's year."""
    import sprayroof

    folder.mkdir(parents=True)
    (folder / "site.toml").write_text(text, encoding="utf-8")
    quantities = sprayroof.audit(sprayroof.read_site(folder), runs=0).periods["year"].quantities
    return {id: quantity.value for id, quantity in quantities.items()}


SCHOOL = ROOT / "sample_sites" / "tanglewick_school" / "site.toml"
COMPARED = ("useful_caused_kWh", "electricity_net_kWh", "evaporation_m3", "drift_m3", "dried_m3")


def test_the_table_of_compared_covers_is_not_stale(tmp_path):
    """The page's own loop is run, and its figures held against the page's table, to a twentieth."""
    text = page("how_to/compare_a_cover.md")
    loop = [block for language, block in blocks(DOCS / "how_to" / "compare_a_cover.md") if language == "python"][-1]
    space: dict[str, object] = {}
    with contextlib.chdir(tmp_path), contextlib.redirect_stdout(io.StringIO()):
        shutil.copytree(ROOT / "sample_sites" / "tanglewick_school", "sample_sites/tanglewick_school")
        exec(compile(loop, "compare_a_cover.md", "exec"), space)
    shown = {row.split("|")[1].strip(): [float(found) for found in re.findall(r"\| ([\d.]+)", row)]
             for row in text.splitlines() if re.match(r"\| [a-z0-9 .,]+ \| \d", row)}
    years = space["years"]
    assert set(shown) == set(years), "every kind of the loop has its row, and no other"
    for name, figures in shown.items():
        for id, figure in zip(COMPARED, figures, strict=True):
            # 0.2 m3 stands for half a digit of the smallest figures
            assert figure == pytest.approx(years[name][id].value, rel=0.05, abs=0.2), f"{name}, {id}: table is stale"


def test_every_kind_of_cover_is_in_the_table_of_what_to_write():
    from sprayroof.evidence.site_file.place import COVERS

    text = page("how_to/compare_a_cover.md")
    for kind in set(COVERS) - {"none"}:
        assert f'| `cover = "{kind}"`' in text
        assert f"\n| {kind} |" in text


def test_how_much_more_a_small_plates_line_evaporates(tmp_path):
    """choose_formulas.md: 33 to 42 % more at the sample sites; this one has the most."""
    text = SCHOOL.read_text(encoding="utf-8")
    plate, small = (year_of(tmp_path / name, text.replace("[weather]", f'[weather]\nconvection_model = "{name}"'))
                    for name in ("plate", "mcadams"))
    assert small["evaporation_m3"] / plate["evaporation_m3"] == pytest.approx(1.42, abs=0.02)
    assert "evaporate 33 to 42 % more" in " ".join(page("how_to/choose_formulas.md").split())


def test_the_slips_shown_in_the_first_audit_are_told_as_shown(tmp_path, monkeypatch):
    """Lines and words of the example, made anew from the template of today."""
    from sprayroof.evidence.site_file.words import template_text

    monkeypatch.chdir(tmp_path)
    CliRunner().invoke(main, ["new", "my_site"])
    text = template_text().replace("\nelevation = ", "\nelevaton = ")
    text = text.replace("\nflow = 210\n", '\nflow = "210 gpm"\n', 1)
    Path("my_site/site.toml").write_text(text, encoding="utf-8")
    told = " ".join(CliRunner().invoke(main, ["check", "my_site"]).stderr.split())
    (shown,) = [block for language, block in blocks(DOCS / "first_audit.md") if language == "text"]
    assert " ".join(shown.split()) == told


# --- links --------------------------------------------------------------------------------------------------------

LINK = re.compile(r"\]\(([^)\s]+)\)")


@pytest.mark.parametrize("path", WRITTEN, ids=named)
def test_links_lead_somewhere(path):
    text = FENCE.sub("", path.read_text(encoding="utf-8"))
    here = [target for target in LINK.findall(text) if "://" not in target]
    dead = [target for target in here if not (path.parent / target.split("#")[0]).exists()]
    assert not dead


def test_every_page_can_be_reached_from_the_contents():
    reached = set(LINK.findall(page("README.md")))
    pages = {path.relative_to(DOCS).as_posix() for path in DOCS.rglob("*.md")} - {"README.md"}
    assert not pages - reached


# --- finding codes in the program ---------------------------------------------------------------------------------


def codes_raised(path: Path) -> tuple[set[str], list[str]]:
    """Finding codes that a module raises, and calls whose code cannot be told."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    codes, unclear = set(), []
    for function in [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]:
        parameters = {argument.arg for argument in function.args.args}
        for call in [node for node in ast.walk(function) if isinstance(node, ast.Call) and is_finding_call(node)]:
            first = call.args[0] if call.args else None
            found = constants_of(first, function)
            codes |= found
            passed_on = isinstance(first, ast.Name) and first.id in parameters
            if not found and not passed_on and not any(isinstance(part, ast.Starred) for part in call.args):
                unclear.append(f"{path.name} line {call.lineno}")
    return codes, unclear


def is_finding_call(call: ast.Call) -> bool:
    """`Finding(...)`, `finding(...)`, `gather.finding(...)`, but not `Finding(**record)`."""
    name = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
    return name in ("Finding", "finding") and bool(call.args)


def constants_of(node: ast.expr | None, function: ast.FunctionDef) -> set[str]:
    """Texts that an expression may be: a constant, either side of an if, or a name set to one in the function."""
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return {node.value}
    if isinstance(node, ast.IfExp):
        return constants_of(node.body, function) | constants_of(node.orelse, function)
    if isinstance(node, ast.Name):
        values = [inner.value for inner in ast.walk(function) if isinstance(inner, ast.Assign)
                  and any(isinstance(target, ast.Name) and target.id == node.id for target in inner.targets)]
        return {code for value in values for code in constants_of(value, function)}
    return set()


RAISING = [path for path in sorted(PACKAGE.rglob("*.py"))
           if "report" not in path.parts and path.name not in ("catalogue.py", "results.py", "cli.py", "explain.py")]


def test_codes_raised_and_codes_of_the_catalogue_are_the_same():
    raised, unclear = set(), []
    for path in RAISING:
        codes, cannot_tell = codes_raised(path)
        raised |= codes
        unclear += cannot_tell
    assert not unclear, "the code of a finding must stand where it is raised"
    assert not raised - set(FINDINGS), "raised, but not in the catalogue"
    assert not set(FINDINGS) - raised, "in the catalogue, but never raised"


def test_a_finding_states_the_level_of_its_code():
    wrong = []
    for path in RAISING:
        for call in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(call, ast.Call) and getattr(call.func, "id", "") == "Finding" and len(call.args) > 1:
                code, level = (getattr(part, "value", None) for part in call.args[:2])
                if isinstance(code, str) and isinstance(level, str) and FINDINGS[code].level != level:
                    wrong.append(f"{path.name} line {call.lineno}: {code} is a {FINDINGS[code].level}")
    assert not wrong
