"""The documents cannot drift: what they show is real, every command and measure is in them."""

import doctest
import re
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import click
import pytest

from formulate.cli import COMMANDS
from formulate.cli.main import cli
from formulate.foods.measures import MEASURES
from formulate.pantry.pantry import parse_pantry
from formulate.rearing.flock_file import parse_flock

ROOT = Path(__file__).parent.parent
CONTEXT = click.Context(cli)
FLOCK = """
feeding_times = ["06:00", "12:00", "18:00"]
[animals.Wren]
species = "lamb"
born = 2026-11-02
birth_weight = "3.1 kg"
"""


def load(name):
    spec = spec_from_file_location(name, Path(__file__).parent / f"{name}.py")
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


readme = load("readme")
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PAGES = {path.stem: path.read_text(encoding="utf-8") for path in readme.MANUAL}
DOCUMENTS = {"README.md": README} | {f"manual/{name}": text for name, text in PAGES.items()}


def blocks(language):
    found = re.compile(rf"```{language}\n(.*?)```", re.DOTALL)
    return [
        pytest.param(block, id=f"{name}-{number}")
        for name, text in DOCUMENTS.items()
        for number, block in enumerate(found.findall(text), 1)
    ]


@pytest.mark.parametrize("name", list(DOCUMENTS))
def test_what_a_document_shows_is_what_the_program_prints(name):
    assert readme.rewritten(DOCUMENTS[name]) == DOCUMENTS[name]


def test_the_readme_is_short_and_the_manual_shows_what_it_speaks_of():
    assert len(README.splitlines()) <= 200
    assert len(readme.BLOCK.findall(README)) >= 3
    assert sum(len(readme.BLOCK.findall(text)) for text in PAGES.values()) >= 20


def test_the_readmes_test_command_is_the_one_that_ci_runs():
    command = 'pip install -e ".[test]" && python -m pytest -n 2'
    assert command in README
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8").replace(' "${quiet[@]}"', "")
    first, then = command.split(" && ")
    assert f"again {first}\n{then}\n" in script


@pytest.mark.parametrize("block", blocks("pycon"))
def test_python_in_the_documents_prints_what_they_show(block):
    session = doctest.DocTestParser().get_doctest(block, {}, "manual", None, None)
    assert session.examples
    assert doctest.DocTestRunner().run(session).failed == 0


@pytest.mark.parametrize("block", blocks("python"))
def test_python_in_the_documents_runs(block):
    exec(compile(block, "manual", "exec"), {})


@pytest.mark.parametrize("block", blocks("toml"))
def test_files_in_the_documents_can_be_read(block):
    if "[animals" in block:
        assert parse_flock(block).flock.animals
    elif "[[veterinarian]]" in block:
        assert parse_flock(FLOCK + block).flock.animals
    else:
        assert parse_pantry(block if "[foods" in block else f"[foods.whole-milk]\n{block}")


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_told_of(command):
    assert any(re.search(rf"formulate {command}\b", text) for text in DOCUMENTS.values())


@pytest.mark.parametrize("name", list(DOCUMENTS))
def test_every_option_that_a_document_names_is_one(name):
    known = {"--help", "--version"}
    for command in COMMANDS:
        for option in cli.get_command(CONTEXT, command).params:
            known |= {*option.opts, *option.secondary_opts}
    words = re.sub(r"(?<=\n)(python3?|pip) [^\n]*", "", DOCUMENTS[name])
    assert set(re.findall(r"(?<![\w-])--[a-z]+(?:-[a-z]+)*(?![\w-])", words)) <= known


@pytest.mark.parametrize("name", list(DOCUMENTS))
def test_links_lead_somewhere(name):
    folder = ROOT if name == "README.md" else readme.MANUAL[0].parent
    text = re.sub(r"```.*?```", "", DOCUMENTS[name], flags=re.DOTALL)
    for address in re.findall(r"\]\(([^)]+)\)", text):
        file, _, part = address.partition("#")
        assert not file or (folder / file).is_file(), address
        headings = [h.lower().replace(" ", "-") for h in re.findall(r"(?m)^#+ (.*)$", text)]
        assert not part or part in headings, address


@pytest.mark.parametrize("name", list(MEASURES))
def test_every_measure_is_in_the_nomenclature_with_its_unit(name):
    measure = MEASURES[name]
    row = f"| `{name}` | {measure.unit} | {measure.symbol} |"
    assert row in DEVELOPERS


def test_the_map_names_every_module_in_its_room():
    assert readme.MODULES.search(DEVELOPERS)[0] == readme.rooms()


def test_every_room_is_on_the_map():
    package = ROOT / "formulate"
    held = {path.parent.relative_to(package).as_posix() for path in package.rglob("*.py")}
    assert held - {"."} == set(readme.ROOMS)


def test_no_module_lies_loose():
    found = {path.name for path in (ROOT / "formulate").glob("*.py")}
    assert found == {"__init__.py", "__main__.py"}
