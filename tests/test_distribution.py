"""What is distributed: its name, its version, and the extras that messages speak of."""

import ast
import os
import re
import shutil
import subprocess
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


#: A command for each place that needs an extra, and the extra.
NEEDING = {
    "many . --parquet out.parquet": "parquet",
    "many . --csv out.csv --cluster tcp://127.0.0.1:1": "cluster",
    "prices --vary whole-milk=3..5 --cluster tcp://127.0.0.1:1": "cluster",
}


@pytest.fixture
def without_extras(monkeypatch, tmp_path):
    """As where only a plain install was made, in a folder with the samples."""
    for library in ("dask", "distributed", "pyarrow", "pyarrow.parquet"):
        monkeypatch.setitem(sys.modules, library, None)
    monkeypatch.chdir(tmp_path)
    assert run(["start", "--sample"]) == 0
    return {path.name for path in tmp_path.iterdir()}


@pytest.mark.parametrize("command", NEEDING)
def test_a_missing_extra_is_named_in_one_line(command, without_extras, tmp_path, capsys):
    capsys.readouterr()
    assert run(command.split()) == 2
    out, err = capsys.readouterr()
    (line,) = err.splitlines()
    assert f"pip install '{DISTRIBUTION}[{NEEDING[command]}]'" in line
    assert out == ""
    assert {path.name for path in tmp_path.iterdir()} == without_extras


@pytest.mark.parametrize(
    "command",
    ["mix", "compare", "today", "many . --csv out.csv", "prices --vary whole-milk=3..5 --points 3"],
)
def test_everything_else_works_without_extras(command, without_extras, capsys):
    assert run(command.split()) in (0, 1)
    assert capsys.readouterr().err == ""


#: What each shell is asked once the manual's lines have run: what follows "formulate re".
COMPLETED = {
    "bash": "COMP_WORDS=(formulate re) COMP_CWORD=1; _formulate_completion formulate; "
    'echo "${COMPREPLY[@]}"',
    "zsh": 'echo "rehydrate: $_comps[formulate]"',  # it completes in a terminal only
    "fish": 'complete -C "formulate re"',
}


@pytest.mark.skipif(os.name == "nt", reason="this system has other shells")
@pytest.mark.parametrize("shell", COMPLETED)
def test_the_manuals_lines_let_a_shell_complete(shell, tmp_path):
    if not shutil.which(shell):
        pytest.skip(f"{shell} is not here")
    program = tmp_path / "formulate"
    program.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m formulate "$@"\n')
    program.chmod(0o755)
    topic = (ROOT / "formulate/report/manual/en/completion.md").read_text(encoding="utf-8")
    (lines,) = re.findall(rf"For {shell}\b.*?```\n(.*?)```", topic, re.DOTALL)
    quiet = {"bash": ["--norc", "--noprofile"], "zsh": ["-f"], "fish": []}[shell]
    done = subprocess.run(
        [shell, *quiet, "-c", lines + COMPLETED[shell]],
        check=False, capture_output=True, text=True, cwd=tmp_path,
        env=os.environ | {
            "HOME": str(tmp_path), "XDG_CONFIG_HOME": str(tmp_path / ".config"),
            "PATH": f"{tmp_path}{os.pathsep}{os.environ['PATH']}",
        },
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "rehydrate" in done.stdout
    if shell == "zsh":
        assert "_formulate_completion" in done.stdout
