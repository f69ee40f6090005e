"""One name, one thing: no two classes of the package share a name."""

import ast
from collections import Counter
from pathlib import Path

import formulate


def test_a_class_name_means_one_thing_in_the_whole_package():
    names = Counter(
        node.name
        for path in Path(formulate.__file__).parent.rglob("*.py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.ClassDef)
    )
    assert [name for name, count in names.items() if count > 1] == []
