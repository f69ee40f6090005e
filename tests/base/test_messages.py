"""The catalogue of sentences: its places, its plurals, and that code and catalogue agree."""

from __future__ import annotations

import ast
import functools
import re
import subprocess
import sys
from pathlib import Path

import pytest

import formulate
from formulate.base import messages
from formulate.base.messages import listed, message_ids, places, say

PACKAGE = Path(formulate.__file__).parent


@pytest.fixture
def catalogue(tmp_path, monkeypatch):
    """A catalogue of one topic, "lamb"."""

    def write(toml: str, language: str = "en") -> None:
        (tmp_path / language).mkdir(exist_ok=True)
        (tmp_path / language / "lamb.toml").write_text(toml, encoding="utf-8")
        monkeypatch.setattr(messages, "_LANGUAGES", tmp_path)
        forget()

    yield write
    forget()


def forget() -> None:
    for kept in (messages._topic, messages._message, messages.language):
        kept.cache_clear()


def test_values_stand_in_their_places(catalogue):
    catalogue('late = "{animal} is {hours:.1f} h late; feed {amount} mL of {amount}."')
    assert (
        say("lamb.late", animal="Nutmeg", hours=2.25, amount=1500)
        == "Nutmeg is 2.2 h late; feed 1,500 mL of 1,500."
    )
    assert places("lamb.late") == {"animal", "hours", "amount"}


@pytest.mark.parametrize(
    ("count", "text"), [(0, "0 feeds"), (1, "1 feed"), (1.0, "1 feed"), (2, "2 feeds")]
)
def test_a_plural_follows_its_count(catalogue, count, text):
    catalogue('feeds = "{count|# feed|# feeds}"')
    assert say("lamb.feeds", count=count) == text


def test_one_sentence_may_have_two_plurals(catalogue):
    catalogue('buy = "Buy {cans|# can|# cans} in {trips|one trip|# trips}."')
    assert say("lamb.buy", cans=1, trips=2) == "Buy 1 can in 2 trips."
    assert say("lamb.buy", cans=12_000, trips=1) == "Buy 12,000 cans in one trip."


def test_keys_may_stand_in_tables(catalogue):
    catalogue('[card.title]\nshort = "Card"')
    assert say("lamb.card.title.short") == "Card"
    assert message_ids() == ("lamb.card.title.short",)


def test_a_value_is_never_read_as_a_place(catalogue):
    catalogue('quote = "{text}"')
    assert say("lamb.quote", text="{other} {0} {text}") == "{other} {0} {text}"


def test_an_unknown_message_is_an_error(catalogue):
    catalogue('late = "Late."')
    with pytest.raises(LookupError, match=r'no message "lamb\.early"'):
        say("lamb.early")
    with pytest.raises(LookupError, match=r'no message "goat\.late"'):
        say("goat.late")


def test_a_place_without_a_value_is_an_error(catalogue):
    catalogue('late = "{animal} is late."')
    with pytest.raises(TypeError, match="'animal'"):
        say("lamb.late", animals="Nutmeg")


def test_another_language_is_a_folder_and_falls_back_on_english(catalogue, monkeypatch):
    catalogue('late = "{animal} is late."\nfed = "{count|# feed|# feeds}"')
    catalogue('fed = "{count|ein Mal|# Mal} getränkt"', language="de")
    monkeypatch.setenv("FORMULATE_LANGUAGE", "de")
    forget()
    assert [say("lamb.fed", count=count) for count in (1, 3)] == [
        "ein Mal getränkt",
        "3 Mal getränkt",
    ]
    assert say("lamb.late", animal="Nutmeg") == "Nutmeg is late."


@pytest.mark.parametrize("language", ["fr", "", "..", "../en", "en/../de"])
def test_a_language_that_is_not_there_is_english(catalogue, monkeypatch, language):
    catalogue('late = "Late."')
    catalogue('late = "Spät."', language="de")
    monkeypatch.setenv("FORMULATE_LANGUAGE", language)
    forget()
    assert say("lamb.late") == "Late."


def test_a_list_is_said_aloud():
    assert [listed(["milk", "cream", "butter"][:n]) for n in range(4)] == [
        "",
        "milk",
        "milk and cream",
        "milk, cream and butter",
    ]
    assert listed(["milk", "cream"], either=True) == "milk or cream"


# --------------------------------------------------------------- the catalogue and the code

#: f"today.{kind}" in code stands for every message that it could name.
ANYTHING = "\0"


@functools.cache
def uses() -> tuple[list[tuple[list[str], set[str]]], set[str]]:
    """Calls of `say` and `find`: the messages each may name, the values it gives; and all texts."""
    calls: list[tuple[list[str], set[str]]] = []
    texts: set[str] = set()
    for path in sorted(PACKAGE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                texts.add(node.value)
            says = isinstance(node, ast.Call) and ast.unparse(node.func) in (
                "say",
                "messages.say",
                "message",
                "find",
            )
            if says and node.args:
                given = {word.arg or ANYTHING for word in node.keywords}
                calls.append((named(node.args[0]), given))
    for path in sorted(PACKAGE.rglob("*.html")):
        for name in re.findall(r"\bsay\(\s*[\"']([\w.-]+)[\"']", path.read_text(encoding="utf-8")):
            calls.append(([name], {ANYTHING}))
    return calls, texts


def named(node: ast.expr) -> list[str]:
    """Messages that an expression may name; none where only the running program knows."""
    if isinstance(node, ast.IfExp):
        return named(node.body) + named(node.orelse)
    if isinstance(node, ast.Constant):
        return [node.value]
    if isinstance(node, ast.JoinedStr):
        parts = [p.value if isinstance(p, ast.Constant) else ANYTHING for p in node.values]
        return ["".join(parts)]
    return []


def matching(name: str) -> list[str]:
    pattern = re.compile(".+".join(map(re.escape, name.split(ANYTHING))))
    return [message_id for message_id in message_ids() if pattern.fullmatch(message_id)]


def test_every_message_that_the_code_names_is_in_the_catalogue():
    calls, _ = uses()
    assert [name for names, _ in calls for name in names if not matching(name)] == []


def test_every_message_of_the_catalogue_is_used():
    calls, texts = uses()
    used = {found for names, _ in calls for name in names for found in matching(name)} | texts
    assert [message_id for message_id in message_ids() if message_id not in used] == []


def test_every_place_is_given_its_value_and_nothing_is_given_in_vain():
    calls, _ = uses()
    wrong = []
    for names, given in calls:
        if not names or ANYTHING in given or ANYTHING in "".join(names):
            continue
        needed = [places(name) for name in names]
        if not all(need <= given for need in needed) or given - frozenset().union(*needed):
            wrong.append((names, sorted(given)))
    assert wrong == []


def test_no_place_of_the_catalogue_is_misspelt():
    assert [
        message_id
        for message_id in message_ids()
        if re.search(r"\{\S|\S\}", messages._PLACE.sub("", messages._message(message_id)))
    ] == []


def test_a_file_of_the_catalogue_is_read_only_when_needed():
    code = "import formulate.base.messages as m; assert not m._topic.cache_info().currsize"
    subprocess.run([sys.executable, "-c", code], check=True)
