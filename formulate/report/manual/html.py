"""A topic of the manual as HTML, for the page."""

from __future__ import annotations

import re

from markdown_it import MarkdownIt
from markdown_it.token import Token

from formulate.report.manual.topic_files import Topic

__all__ = ["parsed", "topic_html"]

#: A link from one topic to another: another file of the same folder.
TO_TOPIC = re.compile(r"(?P<name>[a-z-]+)\.md")


def parsed(markdown: str) -> list[Token]:
    """Markdown as a list of tokens: paragraphs, lists, tables, code; no HTML."""
    return _parser().parse(markdown)


def topic_html(topic: Topic, address: str) -> str:
    """A topic as HTML: its own heading is the first, links to other topics lead to the page's.

    Parameters
    ----------
    topic : Topic
    address : str
        Where the page keeps the manual: "/help".
    """
    parser = _parser()
    tokens = parser.parse(topic.markdown)
    for token in tokens:
        for inner in token.children or ():
            href = str(inner.attrGet("href") or "")
            if inner.type == "link_open" and (to := TO_TOPIC.fullmatch(href)):
                inner.attrSet("href", f"{address}/{to['name']}")
        if token.type == "fence":  # wide output can be scrolled, by keyboard too
            token.attrSet("tabindex", "0")
    return str(parser.renderer.render(tokens, parser.options, {}))


def _parser() -> MarkdownIt:
    return MarkdownIt("commonmark", {"html": False}).enable("table")
