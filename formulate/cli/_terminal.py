"""Standard output and standard error: wrap lines to the terminal, and survive a closed pipe.

On a terminal narrower than what was set, paragraphs are set again and tables lose their drawings,
then their columns' alignment; a number keeps its unit. Whoever reads the output may go away, as
``head`` does: the rest is dropped, and the exit status is that of the command.
"""

from __future__ import annotations

import errno
import os
import re
import sys
import textwrap
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TextIO, cast

__all__ = [
    "can_ask",
    "drawn_on",
    "fitted",
    "fitted_toml",
    "held_streams",
    "help_width",
    "narrow",
    "shown_lines",
    "untouched",
]

#: Columns that text is set to (`formulate.report.words`), and the fewest it is fitted to.
SET, NARROWEST = 88, 40
_KEPT = "\u00a0"
#: A read drawn against its range: what it says stands in words beside it.
_DRAWING = re.compile(r"o?\[[-o]+\]o?")

#: A column of numbers, whose unit is the next column.
_BEFORE_UNIT = re.compile(r"((?:^| {2})[<−-]?\d[\d.,]*) {2,}(?=[%°A-Za-zµ])")
#: What moves the cursor, rings, hides or turns text around, but for a line's end.
_CONTROL = re.compile(
    r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u061c\u200e\u200f\u2028-\u202e\u2066-\u2069\ufeff\ud800-\udfff]"
)


def _escaped(found: re.Match[str]) -> str:
    return found[0].encode("unicode_escape").decode()


def fitted(text: str, width: int, *, was_set: bool = True) -> str:
    """Text whose lines are no longer than a width.

    Parameters
    ----------
    text : str
        Paragraphs set to `SET` columns, and tables whose columns stand two spaces apart.
    width : int
        Columns of the terminal; fewer than `NARROWEST` are taken for so many.
    was_set : bool
        Whether its paragraphs are in lines of `SET` columns, which are joined first; errors stand
        one on each line, however long.
    """
    width = max(width, NARROWEST)
    if max(map(len, text.split("\n"))) <= width:
        return text
    lines: list[str] = []
    each = text.split("\n")
    for paragraph in _paragraphs(each) if was_set else each:
        lines += _set(paragraph, width) if len(paragraph) > width else [paragraph]
    return "\n".join(lines)


def _paragraphs(lines: list[str]) -> Iterator[str]:
    """Lines that were one paragraph before it was wrapped, joined again."""
    whole = last = ""
    for line in lines:
        first = _kept(line.strip()).split(" ", maxsplit=1)[0]
        indent = len(line) - len(line.lstrip())
        goes_on = (
            first
            and whole
            and indent == _hang(whole)
            and not re.search(r"\S {2}", whole.lstrip())
            and len(last) + 1 + len(first) > SET - 1
        )
        if goes_on:
            whole = f"{whole} {line.strip()}"
        else:
            if whole or line is not lines[0]:
                yield whole
            whole = line
        last = line
    yield whole


#: A line of TOML, and what is said about it behind it.
_TOML_LINE = re.compile(r"((?:[^\"#]|\"[^\"]*\")*?)\s*(#.*)")
_TOML_LIST = re.compile(r"(\S+ = \[)(.*)\]")


def fitted_toml(text: str, width: int) -> str:
    """TOML that says the same in lines that fit, but for a value that cannot be parted."""
    width = max(width, NARROWEST)
    lines: list[str] = []
    for line in text.split("\n"):
        if len(line) <= width:
            lines.append(line)
            continue
        code, comment = line, ""
        if found := _TOML_LINE.fullmatch(line):
            code, comment = found.groups()
        lines += textwrap.wrap(comment, width, subsequent_indent="# ", break_on_hyphens=False)
        parts = _TOML_LIST.fullmatch(code) if len(code) > width else None
        if parts:
            items = re.split(r"(?<=\}),\s+" if "}" in parts[2] else r",\s+", parts[2])
            lines += [parts[1], *(f"  {item}," for item in items), "]"]
        elif code:
            lines.append(code)
    return "\n".join(lines)


def _hang(line: str) -> int:
    """Where the lines after the first of a paragraph begin."""
    mark = re.match(r"\s*(?:- |\d+\. )?", line)
    return mark.end() if mark else 0


def _set(line: str, width: int) -> list[str]:
    """A line in as many lines as it takes."""
    indent = min(len(line) - len(line.lstrip()), width // 4)
    columns = re.split(r" {2,}", _BEFORE_UNIT.sub(r"\g<1> ", line.strip()))
    if len(columns) == 1:
        return _wrapped(line.strip(), " " * indent, " " * min(_hang(line), width // 4), width)
    lines: list[str] = []
    now = ""
    for column in columns:
        if _DRAWING.fullmatch(column):
            continue
        if now and indent + len(now) + 2 + len(column) > width:
            lines += _wrapped(now, " " * (indent + 2 * bool(lines)), " " * (indent + 2), width)
            now = ""
        now = f"{now}  {column}" if now else column
    return [*lines, *_wrapped(now, " " * (indent + 2 * bool(lines)), " " * (indent + 2), width)]


def _kept(text: str) -> str:
    """Text whose numbers are kept beside their units."""
    return re.sub(r"(?<=\d) (?=[%°A-Za-zµ])", _KEPT, text)


def _wrapped(text: str, first: str, later: str, width: int) -> list[str]:
    kept = _kept(text).replace("  ", f" {_KEPT}")
    lines = textwrap.wrap(
        kept, width, initial_indent=first, subsequent_indent=later, break_on_hyphens=False
    )
    return [line.replace(_KEPT, " ") for line in lines]


class _Stream:
    """A text stream that fits its lines, and that outlives its reader.

    Parameters
    ----------
    stream : text file
    width : int or None
        Columns to fit lines to; None leaves them as they are.
    was_set : bool
        As `fitted` takes it.
    """

    def __init__(self, stream: TextIO, width: int | None, *, was_set: bool) -> None:
        self._stream, self._width, self._was_set = stream, width, was_set
        self._gone = False
        self.as_is = False

    def __getattr__(self, name: str) -> Any:
        return getattr(self._stream, name)

    def write(self, text: str) -> int:
        """Write, or drop it where nobody reads any more."""
        if not text:  # asked only whether it can be written to
            return self._stream.write(text) if isinstance(text, bytes) else 0
        safe = text if self.as_is else _CONTROL.sub(_escaped, text)
        if self._width is not None and not self.as_is:
            safe = fitted(safe, self._width, was_set=self._was_set)
        self._try(lambda: self._stream.write(safe))
        return len(text)

    def flush(self) -> None:
        """Flush, unless nobody reads any more."""
        self._try(self._stream.flush)

    def _try(self, act: Any) -> None:
        if self._gone:
            return
        try:
            act()
        except OSError as error:
            self._gone = True
            # What is left in the buffers goes nowhere, so that it cannot fail again at the end.
            os.dup2(os.open(os.devnull, os.O_WRONLY), self._stream.fileno())
            if error.errno not in (errno.EPIPE, errno.EINVAL):
                raise


def _width_of(stream: TextIO) -> int | None:
    if not stream.isatty():
        return None
    from shutil import get_terminal_size  # it loads every kind of compression

    return get_terminal_size().columns


def can_ask() -> bool:
    """Whether somebody sits at a terminal to answer; standard input may be closed."""
    return sys.stdin is not None and not sys.stdin.closed and sys.stdin.isatty()


def help_width() -> int | None:
    """Columns for a command's help on a narrow terminal; None leaves it to click."""
    width = _width_of(sys.stdout)
    return None if width is None or width > SET else max(width, NARROWEST)


@contextmanager
def held_streams() -> Iterator[None]:
    """Have both streams fit their lines and outlive their readers."""
    _fill_closed()
    before: tuple[TextIO, TextIO] = (sys.stdout, sys.stderr)
    out = _Stream(before[0], _width_of(before[0]), was_set=True)
    err = _Stream(before[1], _width_of(before[1]), was_set=False)
    sys.stdout, sys.stderr = cast(TextIO, out), cast(TextIO, err)
    try:
        yield
        out.flush()
    finally:
        sys.stdout, sys.stderr = before


def _fill_closed() -> None:
    """Give closed standard streams somewhere to go, before a file gets their number."""
    if None in (sys.stdout, sys.stderr):
        spare = os.open(os.devnull, os.O_RDWR)
        while spare < 2:
            spare = os.dup(spare)
        for name, number in (("stdout", 1), ("stderr", 2)):
            if getattr(sys, name) is None:
                setattr(sys, name, os.fdopen(number, "w", encoding="utf-8"))


def drawn_on(stream: TextIO) -> TextIO:
    """The terminal behind a stream, for what moves its cursor."""
    held: object = stream
    return held._stream if isinstance(held, _Stream) else stream


def narrow() -> int | None:
    """Columns of the terminal that standard output is, where it is one."""
    return _width_of(sys.stdout)


def shown_lines(text: str) -> int:
    """How many lines a text takes where standard output shows it."""
    width = narrow()
    return len((text if width is None else fitted(text, width)).split("\n"))


@contextmanager
def untouched() -> Iterator[None]:
    """Let what is written to standard output be as it is, on a terminal too: it is data."""
    stream: object = sys.stdout
    if not isinstance(stream, _Stream):
        yield
        return
    stream.as_is = True
    try:
        yield
    finally:
        stream.as_is = False
