"""The documents cannot drift: README output is real, every command and measure is told of."""

import re
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path

import pytest

from formulate.cli import COMMANDS
from formulate.foods.measures import MEASURES

ROOT = Path(__file__).parent.parent


def load(name):
    spec = spec_from_file_location(name, Path(__file__).parent / f"{name}.py")
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


readme = load("readme")
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
BLOCKS = [(b["command"], b["output"]) for b in readme.BLOCK.finditer(README)]


@pytest.mark.parametrize(("command", "output"), BLOCKS, ids=[c[:60] for c, _ in BLOCKS])
def test_readme_output_is_what_the_command_prints(command, output):
    assert readme.printed_by(command) == output


def test_readme_shows_enough():
    assert len(BLOCKS) >= 6


def test_the_readmes_test_command_is_the_one_that_ci_runs():
    command = 'pip install -e ".[test]" && python -m pytest -n 2'
    assert command in README
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert re.sub(r" --\S+", "", script).replace("install -e", "install -e").count(command) == 1


def test_readme_code_runs():
    for block in re.findall(r"```python\n(.*?)```", README, re.DOTALL):
        exec(compile(block, "README.md", "exec"), {})


@pytest.mark.parametrize("command", list(COMMANDS))
def test_every_command_is_told_of(command):
    assert f"formulate {command}" in README


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
