"""Lines of a report as parts of a page: sentences flow, tables keep their columns."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from formulate.report.words import tied

__all__ = ["Block", "blocks"]

_MARK = re.compile(r"^(\s*)([-!]|\d+\.) (?=\S)")
#: Letters of a line of a report.
WIDTH = 88
_COLUMNS = re.compile(r"\S {2,}\S")


@dataclass(frozen=True, slots=True)
class Block:
    """Lines that belong together.

    Parameters
    ----------
    kind : str
        "text", "items" or "table".
    lines : tuple of str
        A sentence or two of a text, each item of a list, each line of a table.
    """

    kind: str
    lines: tuple[str, ...]


def blocks(lines: Iterable[str]) -> tuple[Block, ...]:
    """Rejoin lines of a report that were wrapped.

    Parameters
    ----------
    lines : iterable of str
        As a command prints them; a text may have several lines.
    """
    found: list[tuple[str, list[str]]] = []
    before, hang = "", -1  # the line before, and how far one that goes on it is set in
    for line in "\n".join(lines).split("\n"):
        mark = _MARK.match(line)
        indent = len(line) - len(line.lstrip())
        if not line.strip():
            before, hang = "", -1
            continue
        if mark is None and indent == hang and _wrapped(before, line):
            gap = "" if before.endswith("-") else " "  # a name may be parted at its hyphen
            found[-1][1][-1] += f"{gap}{line.strip()}"
        elif mark is None and _COLUMNS.search(line.strip()):
            _add(found, "table", line.rstrip())
            hang = -1
        elif mark is not None:
            _add(found, "items", line[mark.end() :].strip())
            hang = mark.end()
        else:
            _add(found, "text", line.strip())
            hang = indent
        before = line
    return tuple(_block(kind, texts) for kind, texts in found)


def _block(kind: str, texts: list[str]) -> Block:
    """A table of one line needs no columns."""
    if kind == "table" and len(texts) == 1:
        return Block("text", (" · ".join(re.split(r" {2,}", texts[0].strip())),))
    return Block(kind, tuple(texts))


def _wrapped(before: str, line: str) -> bool:
    """Whether a line continues the one before: its first word did not fit there."""
    word = tied(line.strip()).split(" ", 1)[0]  # a number keeps its unit
    return len(before) + 1 + len(word) > WIDTH


def _add(found: list[tuple[str, list[str]]], kind: str, line: str) -> None:
    if found and found[-1][0] == kind:
        found[-1][1].append(line)
    else:
        found.append((kind, [line]))
