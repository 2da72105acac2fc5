"""Nothing that a person meets is without its help, and what the two guides say is so."""

from __future__ import annotations

import ast
import re
import shlex
import tomllib
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from library import documents
from library.blocks import REGISTRY
from library.sheets import PRESETS
from parser.proof.rules import RULES
from webapp import cli
from webapp.cli import COMMANDS, main
from webapp.pages import handbook

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text()
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text()
MODULES = sorted(path for package in ("parser", "library", "webapp") for path in (ROOT / package).rglob("*.py"))


def every_command(command, name):
    """A command and those below it, by what they are called."""
    below = command.commands if isinstance(command, click.Group) else {}
    return {name: command} | {
        full: each for short, one in below.items() for full, each in every_command(one, f"{name} {short}").items()
    }


CALLS = {full: each for name in COMMANDS for full, each in every_command(cli.command(name), name).items()}
OPTIONS = [(name, option) for name, command in CALLS.items() for option in command.params]
KEYS = [
    (kind, table, key)
    for kind in documents.KINDS
    for table in handbook.tables(documents.schema(kind))
    for key in table.keys
]


# Blocks, rules, options, keys


@pytest.mark.parametrize("name", REGISTRY)
def test_a_block_and_each_of_its_values_say_what_they_are_for(name):
    block = REGISTRY[name]
    assert block.title
    assert block.sentence
    assert block.help.endswith(".")
    assert block.family
    for parameter in block.parameters:
        assert parameter.help.endswith("."), parameter.name


@pytest.mark.parametrize("name", REGISTRY)
def test_the_sentence_of_a_block_asks_for_each_of_its_values(name):
    block = REGISTRY[name]
    assert set(block.fields) == {parameter.name for parameter in block.parameters}


@pytest.mark.parametrize("name", RULES)
def test_a_rule_has_a_manual(name):
    manual = RULES[name].manual()
    assert manual.title
    assert not manual.title.endswith(".")
    for part in (manual.what, manual.why, manual.remedy):
        assert part.endswith(".")
    assert bool(manual.bad) == bool(manual.good), "a bad example asks for a good one"


@pytest.mark.parametrize("command", CALLS)
def test_a_command_says_what_it_does(command):
    assert CALLS[command].help


@pytest.mark.parametrize(("command", "option"), OPTIONS, ids=[f"{name} {option.name}" for name, option in OPTIONS])
def test_an_option_says_what_it_does(command, option):
    assert not isinstance(option, click.Option) or (option.help or "").endswith(".")


@pytest.mark.parametrize(("kind", "table", "key"), KEYS, ids=[f"{kind} {key.name}" for kind, _, key in KEYS])
def test_a_key_of_a_document_says_what_it_means(kind, table, key):
    assert key.name == "format" or key.about, f"{kind}: {table.headings} {key.name}"


@pytest.mark.parametrize("name", PRESETS)
def test_a_preset_says_what_it_changes(name):
    assert PRESETS[name].help


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(ROOT)))
def test_a_module_says_what_it_is(path):
    text = path.read_text()
    assert not text.strip() or ast.get_docstring(ast.parse(text))


# The guides


def commands_in(text):
    """What the indented blocks of a guide call ``clickstop`` with, without the explanations beside it."""
    found = re.findall(r"^    (?:\$ )?clickstop\b(.*)$", text, re.MULTILINE)
    return [shlex.split(re.split(r" {3,}", call.strip())[0]) for call in found]


@pytest.mark.parametrize("call", commands_in(README), ids=" ".join)
def test_a_command_of_the_readme_is_one_there_is(call):
    command = CALLS.get(" ".join(call[:2])) or CALLS[call[0]]
    options = {each for option in command.params for each in option.opts}
    assert {word for word in call[1:] if word.startswith("--")} <= options


def test_the_readme_shows_every_command():
    assert {call[0] for call in commands_in(README)} >= set(COMMANDS)


def test_the_example_of_the_readme_is_what_the_command_prints(tmp_path, monkeypatch):
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    Path("over-the-vise.nc").write_text("%\nG21 G90\nG53 G0 Z-60\nG53 G0 X240 Y70\nG53 G0 Z-2\nG80\n%\n")
    call, shown = re.search(r"^    \$ clickstop (.*)\n((?:    .*\n)+)", README, re.MULTILINE).groups()
    printed = CliRunner().invoke(main, shlex.split(call)).stdout
    assert shown.split() == printed.split()[: len(shown.split())]


def test_the_readme_has_two_commands_of_one_line_each():
    install, test = re.findall(r"^    (python3 -m venv .*)$", README, re.MULTILINE)
    assert install.endswith("clickstop")
    assert "pytest" in test


def test_the_check_runs_the_test_command_of_the_readme():
    pattern = re.search(r"sed -n 's/(.*?)/\\1/p' README.md", (ROOT / ".ci" / "run").read_text())[1]
    found = re.findall(pattern.replace(r"\(", "(").replace(r"\)", ")"), README, re.MULTILINE)
    assert len(found) == 1


GUIDES = ["README.md", "DEVELOPERS.md", "CHANGELOG.md", "parser/proof/README.md"]


def anchors(guide):
    """What the headings of a guide are linked by: lower case, spaces as hyphens, no punctuation."""
    headings = re.findall(r"^#+ (.*)$", guide, re.MULTILINE)
    return {re.sub(r"[^\w -]", "", heading.lower()).replace(" ", "-") for heading in headings}


@pytest.mark.parametrize("name", GUIDES)
def test_what_a_guide_points_to_is_there(name):
    guide = ROOT / name
    for target, anchor in re.findall(r"\]\((?!http)([^)#]*)#?([^)]*)\)", guide.read_text()):
        path = guide.parent / target if target else guide
        assert path.exists(), target
        assert not anchor or anchor in anchors(path.read_text()), f"{target}#{anchor}"


def test_the_readme_leads_to_every_guide_and_example():
    found = {path for path, _ in re.findall(r"\]\(([^)#]+)(#[^)]*)?\)", README)}
    examples = (path for path in (ROOT / "tests/examples").glob("*.py") if not path.name.startswith(("_", "test_")))
    assert found >= {"DEVELOPERS.md", "CHANGELOG.md", *(str(path.relative_to(ROOT)) for path in examples)}


def test_the_changes_begin_with_the_version_there_is():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    assert re.search(r"^## (.*)$", (ROOT / "CHANGELOG.md").read_text(), re.MULTILINE)[1] == project["version"]


def test_the_pictures_of_the_readme_are_small_and_described():
    for description, path in re.findall(r"!\[([^]]*)\]\(([^)]+)\)", README):
        assert len(description) > 20
        assert (ROOT / path).stat().st_size < 200_000


def test_the_guide_names_only_files_there_are():
    for path in re.findall(r"`((?:parser|library|webapp|tests|\.ci)/[\w./-]*)`", DEVELOPERS):
        assert (ROOT / path).exists(), path


def test_the_guide_names_every_package_of_the_code():
    for path in MODULES:
        folder = path.parent.relative_to(ROOT)
        assert f"`{folder}/" in DEVELOPERS, folder
