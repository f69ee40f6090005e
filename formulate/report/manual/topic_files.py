"""Topics of the manual: one Markdown file each, in a folder for each language.

A file begins with its title, as a heading, and a paragraph of one sentence that says what the topic
is about. What a language does not have yet is shown in English.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from formulate.base.errors import UnknownName
from formulate.base.messages import ENGLISH, language, say

__all__ = ["Topic", "topic", "topics"]

#: Holds a folder for each language.
_LANGUAGES = Path(__file__).parent
#: Topics in the order in which they are best read; any other follows by its name.
_ORDER = (
    *("start", "page", "mix", "verdict", "check", "compare", "reasons", "prices", "certainty"),
    *("cartons", "instruments", "feeding", "growth", "scour", "shopping", "season", "card"),
    *("countries", "foods", "ranges", "files", "many", "sharing", "library", "json", "completion"),
    *("glossary", "sources"),
)
_FIRST = re.compile(r"# (?P<title>[^\n]+)\n\n(?P<line>[^\n]+(?:\n[^\n]+)*)\n")


@dataclass(frozen=True, order=True)
class Topic:
    """A topic of the manual.

    Parameters
    ----------
    name : str
        What it is asked for by.
    title : str
        Its heading.
    line : str
        What it is about, in one sentence.
    markdown : str
        The whole text.
    """

    name: str
    title: str
    line: str
    markdown: str


def topics() -> tuple[Topic, ...]:
    """Every topic, in the order in which they are best read."""
    return _topics(language())


def topic(name: str) -> Topic:
    """A topic by its name.

    Raises
    ------
    UnknownName
        If there is none; the nearest names are given.
    """
    wanted = name.strip().lower()
    known = {one.name: one for one in topics()}
    if wanted in known:
        return known[wanted]
    raise UnknownName("topic", name, known, say("manual.list"))


@cache
def _topics(spoken: str) -> tuple[Topic, ...]:
    files = {
        path.stem: path
        for folder in (ENGLISH, spoken)
        for path in (_LANGUAGES / folder).glob("*.md")
    }
    names = [name for name in _ORDER if name in files]
    return tuple(_read(files[name]) for name in [*names, *sorted(set(files) - set(names))])


def _read(path: Path) -> Topic:
    text = path.read_text(encoding="utf-8")
    first = _FIRST.match(text)
    if first is None:
        raise ValueError(f"{path.name} does not begin with a title and a sentence")
    return Topic(path.stem, first["title"], " ".join(first["line"].split()), text)
