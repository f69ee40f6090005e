"""What people read stands in the catalogue: no sentence is written in the code."""

import ast
import re
from pathlib import Path

import pytest

import formulate

ROOT = Path(formulate.__file__).parent

#: Three words or more: letters only, so that no key, path or format counts.
_WORD = re.compile(r"(?<![\w.%\\-])[A-Za-z][a-z'’-]*(?![\w.]*[_=(])")

#: Strings of three words or more that may stand in code, each with why nobody is told them.
ALLOWED = {
    "a datum of the program's own tables": {
        "answers/condition_data.py": 10,
        "report/manual/topic_files.py": 1,
    },
    "the parser reads it": {
        "base/units.py": 7,  # definitions of units; French spoons as they are typed
        "page/aim.py": 3,  # containers proposed, to be typed as they are
    },
    "an error that only a programmer of this package sees": {
        "__init__.py": 1,
        "base/messages.py": 2,
        "page/sharing/telephones.py": 1,
    },
    "a name in JSON or of a column": {
        "blend/portable.py": 1,
        "report/priced.py": 1,
        "report/prices.py": 5,
        "report/rearing_shapes.py": 1,
    },
    "a form of the page or of a file, without words": {
        "cli/carton.py": 1,
        "cli/main.py": 1,
        "cli/note.py": 1,
        "cli/weigh.py": 1,
        "page/guard.py": 1,
        "page/sharing/routes.py": 2,
        "report/calendar.py": 1,
    },
    "a table for whoever checks the model against trials": {"rearing/trials.py": 5},
    "why a command has no place on the page, for the test that asks": {"page/places.py": 1},
}
_COUNTS = {file: count for files in ALLOWED.values() for file, count in files.items()}


def words_in(text):
    """How many plain words a string has; markup, formats of a moment and patterns have none."""
    if " " not in text.strip() or re.search(r"%[YmdHM]|\\[\\wdsbS(]|\(\?|^\s*<[\w!]|\[\^", text):
        return 0
    return len(_WORD.findall(text))


def _needless(tree):
    """Strings that are no message: docstrings, asserts and what a `__repr__` says."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
            yield node.value
        elif isinstance(node, ast.Assert) and node.msg is not None:
            yield from ast.walk(node.msg)
        elif isinstance(node, ast.Call) and re.search(r"\blog", ast.unparse(node.func)):
            yield from ast.walk(node)  # a log is for whoever mends the program
        elif isinstance(node, ast.FunctionDef) and node.name in ("__repr__", "__str__"):
            yield from ast.walk(node)


def sentences_in(source):
    """Every string of three words or more that a person might be told, with its line."""
    tree = ast.parse(source)
    seen = {id(node) for node in _needless(tree)}
    for node in ast.walk(tree):
        if id(node) in seen:
            continue
        if isinstance(node, ast.JoinedStr):
            seen |= {id(part) for part in node.values}
            text = "".join(p.value if isinstance(p, ast.Constant) else "…" for p in node.values)
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
        else:
            continue
        if words_in(text) >= 3:
            yield node.lineno, " ".join(text.split())


FOUND = {
    path.relative_to(ROOT).as_posix(): list(sentences_in(path.read_text(encoding="utf-8")))
    for path in sorted(ROOT.rglob("*.py"))
}


def test_no_sentence_is_written_in_the_code():
    more = {file: told for file, told in FOUND.items() if len(told) > _COUNTS.get(file, 0)}
    assert more == {}


def test_nothing_is_allowed_that_is_not_there():
    assert {file: len(FOUND[file]) for file in _COUNTS} == _COUNTS


@pytest.mark.parametrize(
    ("source", "count"),
    [
        ('raise Error("the milk is too thin")', 1),
        ('text = f"{name} drinks too much milk"', 1),
        ("text = f'{say(1, food=\"of this milk\")}'", 1),
        ('say("today.late", food="two words")', 0),
        ('def f():\n    """Only a docstring of many words."""', 0),
        ('assert x, "this cannot happen here"', 0),
        ('KEYS = ("food", "two words", "largest_share of x")', 0),
        ("PATTERN = r'(?:full of the milk)'", 0),
    ],
)
def test_a_sentence_is_found_where_it_stands(source, count):
    assert len(list(sentences_in(source))) == count
