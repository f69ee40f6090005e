"""What is distributed: its name, its version, and the extras that messages speak of."""

import ast
import re
import sys
import tomllib
from pathlib import Path

import pytest

from formulate.base.version import DISTRIBUTION, VERSION
from formulate.cli.main import run

ROOT = Path(__file__).parent.parent
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
DOCUMENTS = [
    *ROOT.glob("*.md"),
    *(ROOT / "formulate" / "report" / "manual").rglob("*.md"),
    *(ROOT / "notebooks").glob("*.ipynb"),
]


def test_the_name_is_the_one_that_messages_give():
    assert PROJECT["name"] == DISTRIBUTION != "formulate"


def test_the_version_is_in_the_changelog_and_printed(capsys):
    assert "version" in PROJECT["dynamic"]
    heading = re.search(r"(?m)^## (.*)$", (ROOT / "CHANGELOG.md").read_text(encoding="utf-8"))
    assert heading[1] == VERSION
    assert run(["--version"]) == 0
    assert capsys.readouterr().out == f"formulate {VERSION}\n"


def test_every_extra_that_is_asked_for_is_one():
    asked = set()
    for path in (ROOT / "formulate").rglob("*.py"):
        asked |= set(re.findall(r'needed\("[\w.]+", "(\w+)"\)', path.read_text(encoding="utf-8")))
    assert asked == {"cluster", "parquet"}
    assert asked <= set(PROJECT["optional-dependencies"])


@pytest.mark.parametrize("path", DOCUMENTS, ids=lambda path: path.name)
def test_no_document_would_fetch_the_unrelated_package(path):
    text = path.read_text(encoding="utf-8")
    for line in re.findall(r"(?:pipx? install|pipx run|uv tool install|uvx) [^\n&|;#]*", text):
        assert not re.search(r"(?<![\w./-])formulate(?![\w./-])", line), line


@pytest.mark.parametrize(
    ("library", "bad"), [("fpdf2", "2.8.0"), ("pillow", "10.2.0"), ("scipy", "1.11.0")]
)
def test_versions_known_to_be_bad_are_excluded(library, bad):
    from packaging.requirements import Requirement

    wanted = {one.name: one.specifier for one in map(Requirement, PROJECT["dependencies"])}
    assert bad not in wanted[library]
    assert all(str(specifier) for specifier in wanted.values())  # each has a lower bound


def test_a_plain_install_brings_every_library_that_is_imported():
    """Only what an extra brings may be missing."""
    names = {"fpdf": "fpdf2", "PIL": "pillow", "markdown_it": "markdown-it-py"}
    names |= {"werkzeug": "flask", "markupsafe": "flask", "jinja2": "flask"}  # they come with it
    wanted = {re.match(r"[\w-]+", one)[0] for one in PROJECT["dependencies"]}
    imported = set()
    for path in [*(ROOT / "formulate").rglob("*.py"), *(ROOT / "nutrient_tables").rglob("*.py")]:
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                imported |= {alias.name.partition(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom) and not node.level:
                imported.add(node.module.partition(".")[0])
    foreign = imported - set(sys.stdlib_module_names) - {"formulate", "nutrient_tables"}
    assert {names.get(name, name) for name in foreign} == wanted
