"""Lines of a report as parts of a page: sentences flow, tables keep their columns."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

__all__ = ["Block", "blocks"]

_MARK = re.compile(r"^(\s*)([-!]|\d+\.) (?=\S)")
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
    """Put lines of a report together again as they were before they were wrapped.

    Parameters
    ----------
    lines : iterable of str
        As a command prints them; a text may have several lines.
    """
    found: list[tuple[str, list[str]]] = []
    open_, hang = False, 0  # whether a line may go on the one before, and how far it is set in
    for line in "\n".join(lines).split("\n"):
        if not line.strip():
            open_ = False
            continue
        mark = _MARK.match(line)
        indent = len(line) - len(line.lstrip())
        if mark is None and _COLUMNS.search(line.strip()):
            _add(found, "table", line.rstrip())
            open_ = False
        elif mark is not None:
            _add(found, "items", line[mark.end() :].strip())
            open_, hang = True, mark.end()
        elif (open_ and indent == hang) or (found and found[-1][0] == "text" and open_):
            found[-1][1][-1] += f" {line.strip()}"
        else:
            found.append(("text", [line.strip()]))
            open_, hang = len(line) > 60, indent
    return tuple(Block(kind, tuple(texts)) for kind, texts in found)


def _add(found: list[tuple[str, list[str]]], kind: str, line: str) -> None:
    if found and found[-1][0] == kind:
        found[-1][1].append(line)
    else:
        found.append((kind, [line]))
