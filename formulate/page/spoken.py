"""The page's templates and scripts in the language in use.

A template is written in English. A sentence of it is a run of text between the tags that part
paragraphs; tags within a line and places for values (``{{ … }}``) belong to the sentence. Another
language has a file ``templates.toml``, whose keys are the English sentences. What it lacks stays
English. The sentences of the scripts stand in the same file.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from itertools import accumulate

from flask import Flask, Response, request
from jinja2 import Environment
from jinja2.ext import Extension

from formulate.base.messages import ENGLISH, language, translated

__all__ = [
    "Spoken",
    "script_in",
    "script_sentences",
    "speak_scripts",
    "template_in",
    "template_sentences",
]

#: Tags that stand within a sentence.
_INLINE = frozenset({"a", "b", "br", "code", "em", "span", "strong"})
_TOKEN = re.compile(
    r"""(?P<note>\{\#.*?\#\})
      | (?P<block>\{%.*?%\})
      | (?P<value>\{\{.*?\}\})
      | (?P<tag><(?:\{\{.*?\}\}|\{%.*?%\}|"[^"]*"|[^>"{]|\{)*>)
      | (?P<text>[^<{]+|[<{])""",
    re.DOTALL | re.VERBOSE,
)
_ATTRIBUTE = re.compile(r'(?P<before>\s(?:placeholder|aria-label|title|alt)=")(?P<text>[^"{]+)"')
#: A string in the code of a template, and what it is like if people read it: several words.
_LITERAL = re.compile(r'"(?P<text>[^"]*)"|\'[^\']*\'')
_SEVERAL = re.compile(r"(?!/|.*%[A-Za-z.\d])(?=.*[A-Za-z]{2}).*[^ ] +[^ ].*")
#: The same in a script, where it must be a whole sentence.
_SCRIPT_LITERAL = re.compile(r'"(?P<text>[A-Z][^"\\\n]* [^"\\\n]*[a-z.:?] ?)"')
_LETTERS = re.compile(r"[A-Za-z]{2,}")

Say = Callable[[str], str]


class Spoken(Extension):
    """Put a template's sentences into the language in use before it is compiled."""

    def __init__(self, environment: Environment) -> None:
        super().__init__(environment)

    def preprocess(self, source: str, name: str | None, filename: str | None = None) -> str:
        """The template's source; in English as it stands."""
        spoken = language()
        if spoken == ENGLISH:
            return source
        source = source.replace('<html lang="en">', f'<html lang="{spoken}">')
        return template_in(source, lambda english: translated("templates", english))


def speak_scripts(app: Flask) -> None:
    """Let the page's scripts speak the language in use."""
    if language() == ENGLISH:
        return

    @app.after_request
    def told(response: Response) -> Response:
        if (
            request.endpoint == "static"
            and request.path.endswith(".js")
            and response.status_code == 200
        ):
            response.direct_passthrough = False
            source = response.get_data(as_text=True)
            response.set_data(script_in(source, lambda text: translated("templates", text)))
        return response


def template_in(source: str, say: Say) -> str:
    """A template with each of its sentences as `say` gives it."""
    parts: list[str] = []
    run: list[tuple[str, str]] = []
    for token in _TOKEN.finditer(source):
        kind, text = str(token.lastgroup), token[0]
        if kind in ("text", "value") or (kind == "tag" and _within(text)):
            run.append((kind, text))
            continue
        parts += [_run_in(run, say), _outside(kind, text, say)]
        run = []
    return "".join([*parts, _run_in(run, say)])


def template_sentences(source: str) -> list[str]:
    """Every sentence of a template, in its order."""
    return list(_heard(lambda say: template_in(source, say)))


def script_in(source: str, say: Say) -> str:
    """A script with each of its sentences as `say` gives it."""

    def said(found: re.Match[str]) -> str:
        return json.dumps(_kept_space(found["text"], say), ensure_ascii=False)

    return _SCRIPT_LITERAL.sub(said, source)


def script_sentences(source: str) -> list[str]:
    """Every sentence of a script, in its order."""
    return list(_heard(lambda say: script_in(source, say)))


def _heard(speak: Callable[[Say], str]) -> Iterator[str]:
    found: dict[str, None] = {}

    def say(english: str) -> str:
        found[english] = None
        return english

    speak(say)
    yield from found


def _within(tag: str) -> bool:
    """Whether a tag stands within a sentence."""
    name = re.match(r"</?([a-z0-9]+)", tag)
    return name is not None and name[1] in _INLINE


def _run_in(run: list[tuple[str, str]], say: Say) -> str:
    """A run of text, with its sentence as `say` gives it."""
    first, last = 0, len(run)
    while first < last and not _begins(run[first]):
        first += 1
    while last > first and not _begins(run[last - 1]):
        last -= 1
    while first > 0 and _unopened(run[first:last]):
        first -= 1
    while last < len(run) and _unclosed(run[first:last]):
        last += 1
    if not any(kind == "text" and _LETTERS.search(text) for kind, text in run[first:last]):
        return "".join(_outside(kind, text, say) for kind, text in run)
    before, sentence, after = run[:first], run[first:last], run[last:]
    told = _kept_space("".join(text for _, text in sentence), say)
    outer = ["".join(_outside(kind, text, say) for kind, text in part) for part in (before, after)]
    return outer[0] + told + outer[1]


def _begins(part: tuple[str, str]) -> bool:
    """Whether a sentence may begin or end with this: with words, or with a value."""
    kind, text = part
    return kind == "value" or (kind == "text" and text.strip() != "")


def _unclosed(run: list[tuple[str, str]]) -> bool:
    """Whether more tags are opened than closed."""
    return sum(_depths(run)) > 0


def _unopened(run: list[tuple[str, str]]) -> bool:
    """Whether a tag is closed before it is opened."""
    return min(accumulate(_depths(run)), default=0) < 0


def _depths(run: list[tuple[str, str]]) -> list[int]:
    tags = [text for kind, text in run if kind == "tag" and text != "<br>"]
    return [-1 if tag.startswith("</") else 1 for tag in tags]


def _kept_space(text: str, say: Say) -> str:
    """A text as `say` gives it, with the white space around it as it was."""
    bare = text.strip()
    at = text.index(bare)
    return text[:at] + say(" ".join(bare.split())) + text[at + len(bare) :]


def _outside(kind: str, text: str, say: Say) -> str:
    """What stands between sentences: attributes that are read, and texts of a template's code."""
    if kind == "tag":
        text = _ATTRIBUTE.sub(lambda a: f'{a["before"]}{_kept_space(a["text"], say)}"', text)
    if kind in ("block", "value") and not re.match(r"\{%\s*(include|extends)", text):
        text = _LITERAL.sub(lambda a: _literal(a, say), text)
    return text


def _literal(found: re.Match[str], say: Say) -> str:
    """A string of a template's code, said if it is several words."""
    text = found["text"]
    if text is None or not _SEVERAL.fullmatch(text):
        return found[0]
    return f'"{_kept_space(text, say)}"'
