"""Topics of the manual as plain text, for a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator

from markdown_it.tree import SyntaxTreeNode

from formulate.base.messages import say
from formulate.report import words
from formulate.report.manual.html import TO_TOPIC, parsed
from formulate.report.manual.topic_files import Topic, topics

__all__ = ["list_lines", "topic_lines"]

#: A space at which no line may end.
_SPACE = "\u00a0"


def list_lines() -> list[str]:
    """Every topic with what it is about."""
    rows = [(one.name, one.line) for one in topics()]
    room = max(len(name) for name, _ in rows) + 2
    lines = [say("manual.topics"), ""]
    for name, line in rows:
        lines += _wrapped(line, f"  {name:<{room}}", " " * (room + 2))
    return [*lines, "", say("manual.one")]


def topic_lines(topic: Topic) -> list[str]:
    """A topic, set to the width of everything else that is printed."""
    blocks = [_block(block) for block in SyntaxTreeNode(parsed(topic.markdown)).children]
    return [line for block in blocks for line in (*block, "")][:-1]


def _block(node: SyntaxTreeNode) -> list[str]:
    """Lines of a heading, a paragraph, a list, a table or what a command prints."""
    match node.type:
        case "heading" if node.tag == "h1":
            return [_text(node).upper()]
        case "heading":
            return [_text(node), "-" * len(_text(node))]
        case "bullet_list" | "ordered_list":
            return list(_list(node))
        case "table":
            rows = [row for part in node.children for row in part.children]
            return words.table([[_text(cell) for cell in row.children] for row in rows])
        case "fence" | "code_block":
            return [f"  {line}".rstrip() for line in node.content.rstrip().splitlines()]
        case _:
            return _wrapped(_text(node), "", "")


def _list(node: SyntaxTreeNode, indent: str = "  ") -> Iterator[str]:
    for number, item in enumerate(node.children, 1):
        mark = "- " if node.type == "bullet_list" else f"{number}. "
        first, later = f"{indent}{mark}", indent + " " * len(mark)
        for part in item.children:
            if part.type in ("bullet_list", "ordered_list"):
                yield from _list(part, later)
            elif part.type == "fence":
                yield from (f"{later}{line}".rstrip() for line in part.content.splitlines())
            else:
                yield from _wrapped(_text(part), first, later)
            first = later


def _text(node: SyntaxTreeNode) -> str:
    """Text of a block: names as they are, commands in quotes, a link with where it leads."""
    match node.type:
        case "text" | "image":
            return node.content
        case "code_inline":
            return node.content if _stands_out(node) else f'"{node.content}"'
        case "softbreak" | "hardbreak":
            return " "
    inside = "".join(_text(child) for child in node.children)
    if node.type == "link" and (to := TO_TOPIC.fullmatch(str(node.attrs.get("href", "")))):
        return f"{inside} ({say('manual.see', topic=to['name'])})"
    return inside


def _stands_out(node: SyntaxTreeNode) -> bool:
    """Whether code needs no quotation marks: one word, an option, or alone in its cell."""
    alone = node.parent is not None and len(node.parent.children) == 1
    return alone or " " not in node.content or '"' in node.content or node.content.startswith("-")


def _wrapped(text: str, first: str, later: str) -> list[str]:
    lines = textwrap.wrap(
        words.tied(text),
        words.WIDTH,
        initial_indent=first,
        subsequent_indent=later,
        break_on_hyphens=False,
    )
    return [line.replace(_SPACE, " ") for line in lines]
