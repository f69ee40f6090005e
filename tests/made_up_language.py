"""A made-up language: the whole catalogue in letters that English does not have.

Run as a script, it speaks that language through every door and prints what each said, as JSON.
"""

from __future__ import annotations

import json
import re
import sys
import tomllib
from contextlib import redirect_stderr, redirect_stdout
from html import unescape
from io import StringIO
from pathlib import Path
from typing import Any

import tomlkit

#: Each letter of a message becomes one that no English word has.
LETTERS = str.maketrans(
    "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ",
    "áƀćďéƒǵĥíĵķĺḿńóṕɋŕśťúṽẃẍýźÁɃĆĎÉƑǴĤÍĴĶĹḾŃÓṔɊŔŚŤÚṼẂẌÝŹ",
)
#: A place, with the forms of a plural apart.
_PLACE = re.compile(r"\{[a-z_]\w*(?:\|([^{}|]*)\|([^{}|]*)|:[^{}|]+)?\}")


def made_up(text: str) -> str:
    """A message in the made-up language, its places as they were."""
    said, at = [], 0
    for place in _PLACE.finditer(text):
        said.append(text[at : place.start()].translate(LETTERS))
        inside = place[0]
        if place[2] is not None:
            name = inside[1:].partition("|")[0]
            inside = f"{{{name}|{place[1].translate(LETTERS)}|{place[2].translate(LETTERS)}}}"
        said.append(inside)
        at = place.end()
    return "⟦" + "".join([*said, text[at:].translate(LETTERS)]) + "⟧"


def write_catalogue(english: Path, other: Path) -> None:
    """Write the made-up catalogue, a file for each of the English one."""
    other.mkdir(parents=True)
    for path in sorted(english.glob("*.toml")):
        table = tomllib.loads(path.read_text(encoding="utf-8"))
        lines = [f"{_key(key)} = {json.dumps(made_up(text))}" for key, text in _flat(table)]
        (other / path.name).write_text("\n".join(lines) + "\n", encoding="utf-8")


#: Keys of `nutrient_tables` that hold sentences.
_SENTENCES = ("text", "title", "note", "look", "ask", "why", "percent", "words", "short", "name")


def write_tables(english: Path, other: Path) -> None:
    """Write the sentences of the tables in the made-up language."""
    other.mkdir(parents=True)
    for path in sorted(english.glob("*.toml")):
        words = _sentences(tomllib.loads(path.read_text(encoding="utf-8")))
        if words:
            (other / path.name).write_text(tomlkit.dumps(words), encoding="utf-8")


def _sentences(data: Any, key: str = "") -> Any:
    if isinstance(data, dict):
        found = {name: _sentences(value, name) for name, value in data.items()}
        return {name: value for name, value in found.items() if value is not None}
    if isinstance(data, list):
        found = [_sentences(value, key) for value in data]
        return found if any(found) and None not in found else None
    return made_up(data) if isinstance(data, str) and key in _SENTENCES else None


def _flat(table: dict[str, Any], before: tuple[str, ...] = ()) -> Any:
    for key, value in table.items():
        if isinstance(value, dict):
            yield from _flat(value, (*before, key))
        else:
            yield (*before, key), str(value).strip()


def _key(parts: tuple[str, ...]) -> str:
    return ".".join(json.dumps(part) for part in parts)


def write_templates(page: Path, other: Path) -> None:
    """Write the sentences of the page's templates and scripts in the made-up language."""
    from formulate.page.spoken import script_sentences, template_sentences

    found: dict[str, str] = {}
    for path in sorted(page.glob("templates/*.html")):
        for english in template_sentences(path.read_text(encoding="utf-8")):
            found[english] = "⟦" + _between(english) + "⟧"
    for path in sorted(page.glob("static/*.js")):
        for english in script_sentences(path.read_text(encoding="utf-8")):
            found[english] = made_up(english)
    lines = [f"{json.dumps(key)} = {json.dumps(text)}" for key, text in found.items()]
    (other / "templates.toml").write_text("\n".join(lines) + "\n", encoding="utf-8")


def _between(english: str) -> str:
    """A sentence of a template: what stands in tags and values as it was."""
    parts = re.split(r"(<[^>]*>|\{\{.*?\}\})", english)
    return "".join(p if p[:1] == "<" or p[:2] == "{{" else p.translate(LETTERS) for p in parts)


#: A run of three words or more in plain letters.
_RUN = re.compile(r"[A-Za-z][a-z'’]+(?:[,;:.]? [A-Za-z][a-z'’]*){2,}")


def plain_runs(text: str) -> list[str]:
    """Every run of three words or more that is in plain English."""
    return list(dict.fromkeys(_RUN.findall(" ".join(text.split(" ")))))


def said_by(commands: list[list[str]]) -> dict[str, str]:
    """What commands print, by their words."""
    from formulate.cli.main import run

    told = {}
    for words in commands:
        with redirect_stdout(StringIO()) as output, redirect_stderr(output):
            run(words)
        told[" ".join(words)] = output.getvalue()
    return told


def shown_at(addresses: list[str]) -> dict[str, str]:
    """What the page of this folder shows at its addresses, as text."""
    from page.visitor import Visitor

    visitor = Visitor(Path())
    shown = {}
    for address in addresses:
        html = visitor.open(address).html
        read = re.findall(r'(?:placeholder|aria-label|title|alt)="([^"]*)"', html)
        shown[address] = "\n".join([_text(html), *read])
    for script in ("/static/page.js", "/static/kept.js"):
        shown[script] = "\n".join(re.findall(r'"([^"\n]*)"', visitor.open(script).html))
    return shown


def _text(html: str) -> str:
    """The text of a page, a line for each piece between two tags."""
    bare = re.sub(r"<(style|script)\b.*?</\1>|<!.*?>", "", html, flags=re.DOTALL)
    return unescape(re.sub(r"<[^>]*>", "\n", bare))


def printed_on(names: list[str]) -> dict[str, str]:
    """The text of printed sheets."""
    import pypdfium2

    return {
        name: "\n".join(
            page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(name)
        )
        for name in names
    }


if __name__ == "__main__":
    from formulate.base import messages

    messages._LANGUAGES = Path(sys.argv[1])
    asked = json.load(sys.stdin)
    told = {"terminal": said_by(asked["terminal"])}
    told["page"] = shown_at(asked["page"])
    told["sheets"] = printed_on(asked["sheets"])
    json.dump(told, sys.stdout)
