"""Set text on pages: pieces that know their height, placed on one page after another.

A `Piece` is set at a width and a scale and gives marks: words, strokes and frames, from its top
left corner. `fill` takes the fewest pages, then the largest letters. What is on the pages is
known before anything is drawn, so nothing can run over an edge unseen.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import combinations, pairwise
from typing import Protocol

from formulate.base.errors import InputError
from formulate.base.messages import say

__all__ = [
    "SMALLEST",
    "Beside",
    "Boxed",
    "Frame",
    "Gap",
    "Mark",
    "Measure",
    "Page",
    "Paragraph",
    "Piece",
    "Placed",
    "Stack",
    "Stroke",
    "Word",
    "fill",
    "place_inside",
]

#: Smallest letters [pt] on anything printed. Their capitals are 3.1 mm high, which reads at
#: 60 cm, an arm's length, by the rule of thumb of a two-hundredth of the distance (judgement).
SMALLEST = 12.0
#: Largest scale of the letters that is tried; beyond it a sheet looks like an eye test.
LARGEST_SCALE = 1.6
_STEP = 0.04
#: A point [mm].
POINT = 25.4 / 72
#: Height of a line over the size of its letters.
LEADING = 1.3
#: The letters' ascent and depth over their size (DejaVu Sans).
ASCENT, DESCENT = 0.928, 0.236

#: Width [mm] of a text at a size [pt], bold or not.
Measure = Callable[[str, float, bool], float]


@dataclass(frozen=True, slots=True)
class Word:
    """One line of letters; `y` is its baseline [mm], `size` in points."""

    x: float
    y: float
    text: str
    size: float
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Stroke:
    """A stroke from one place to another [mm]."""

    x: float
    y: float
    to_x: float
    to_y: float
    thickness: float = 0.3


@dataclass(frozen=True, slots=True)
class Frame:
    """A rectangle's outline [mm]."""

    x: float
    y: float
    width: float
    height: float
    thickness: float = 0.9


Mark = Word | Stroke | Frame


@dataclass(frozen=True, slots=True)
class Placed:
    """Marks from a piece's top left corner, and its height [mm]."""

    height: float
    marks: tuple[Mark, ...]


class Piece(Protocol):
    """Something to set."""

    def place(self, width: float, scale: float, measure: Measure) -> Placed:
        """Set it at a width [mm] and a scale of its letters."""


def moved(marks: Sequence[Mark], x: float, y: float) -> list[Mark]:
    """The same marks elsewhere."""
    out: list[Mark] = []
    for mark in marks:
        if isinstance(mark, Stroke):
            at = (mark.x + x, mark.y + y, mark.to_x + x, mark.to_y + y)
            out.append(Stroke(*at, mark.thickness))
        else:
            out.append(replace(mark, x=mark.x + x, y=mark.y + y))
    return out


# --- pieces ------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Paragraph:
    """Text, broken into lines where it must be.

    Parameters
    ----------
    text : str
        A line break is kept.
    size : float
        Of its letters at scale 1 [pt].
    bold : bool
    mark : str
        Before its first line: a number, a bullet.
    hang : float
        Room for the mark, over the size of the letters.
    centred : bool
    shrinks : bool
        Rather than break a line its letters get smaller, down to `SMALLEST`.
    """

    text: str
    size: float = SMALLEST
    bold: bool = False
    mark: str = ""
    hang: float = 0.0
    centred: bool = False
    shrinks: bool = False

    def place(self, width: float, scale: float, measure: Measure) -> Placed:
        """Set it."""
        size = self._size(width, scale, measure)
        indent = self.hang * size * POINT
        high = LEADING * size * POINT
        lines = broken(self.text, width - indent, lambda t: measure(t, size, self.bold))
        first = (ASCENT + (LEADING - ASCENT - DESCENT) / 2) * size * POINT
        marks: list[Mark] = []
        for number, line in enumerate(lines):
            spare = width - indent - measure(line, size, self.bold) if self.centred else 0.0
            marks.append(Word(indent + spare / 2, first + number * high, line, size, self.bold))
        if self.mark and lines:
            marks.insert(0, Word(0.0, first, self.mark, size, True))
        return Placed(high * len(lines), tuple(marks))

    def _size(self, width: float, scale: float, measure: Measure) -> float:
        size = self.size * scale
        if self.shrinks:
            widest = max((measure(t, size, self.bold) for t in self.text.split("\n")), default=0)
            if widest > width:
                size = max(SMALLEST, round(size * width / widest - 0.05, 1))
        return size


@dataclass(frozen=True)
class Gap:
    """Nothing, of a height [mm] at scale 1; with a stroke through its middle, where wanted."""

    height: float
    stroke: float = 0.0

    def place(self, width: float, scale: float, measure: Measure) -> Placed:
        """Set it."""
        height = self.height * scale
        marks = (Stroke(0, height / 2, width, height / 2, self.stroke),) if self.stroke else ()
        return Placed(height, marks)


@dataclass(frozen=True)
class Stack:
    """Pieces one below the other, never parted by the end of a page."""

    pieces: tuple[Piece, ...]

    def place(self, width: float, scale: float, measure: Measure) -> Placed:
        """Set it."""
        y, marks = 0.0, []
        for piece in self.pieces:
            placed = piece.place(width, scale, measure)
            marks += moved(placed.marks, 0.0, y)
            y += placed.height
        return Placed(y, tuple(marks))


@dataclass(frozen=True)
class Beside:
    """Pieces side by side, in columns of given shares of the width.

    Parameters
    ----------
    pieces : tuple of Piece
    shares : tuple of float
        One a piece; they add up to 1.
    gap : float
        Between two columns [mm].
    rules : float
        Thickness of strokes between the columns [mm]; 0 for none.
    """

    pieces: tuple[Piece, ...]
    shares: tuple[float, ...]
    gap: float = 3.0
    rules: float = 0.0

    def place(self, width: float, scale: float, measure: Measure) -> Placed:
        """Set it."""
        x, height = 0.0, 0.0
        marks: list[Mark] = []
        starts = []
        for piece, share in zip(self.pieces, self.shares, strict=True):
            placed = piece.place(share * width - self.gap, scale, measure)
            marks += moved(placed.marks, x, 0.0)
            height = max(height, placed.height)
            starts.append(x - self.gap / 2)
            x += share * width
        if self.rules:
            marks += [Stroke(at, 0.0, at, height, self.rules) for at in starts[1:]]
        return Placed(height, tuple(marks))


@dataclass(frozen=True)
class Boxed:
    """A piece in a frame."""

    piece: Piece
    thickness: float = 0.9
    room: float = 2.0

    def place(self, width: float, scale: float, measure: Measure) -> Placed:
        """Set it."""
        placed = self.piece.place(width - 2 * self.room, scale, measure)
        height = placed.height + 2 * self.room
        frame = Frame(0, 0, width, height, self.thickness)
        return Placed(height, (frame, *moved(placed.marks, self.room, self.room)))


#: Between a number and its unit no line is broken.
_TIED = re.compile(
    r"(?<=[\d½¼¾]) (?=°|%|mL|L\b|kg|g\b|fl\b|cups?|tbsp|tsp|quarts?|pints?|cans?|tins?|hours?"
    r"|\d/\d)"
    r"|(?<=fl) (?=oz)"
)


def broken(text: str, width: float, measure: Callable[[str], float]) -> list[str]:
    """Lines no wider than `width` [mm]; a word that is too long for one is parted."""
    lines: list[str] = []
    for part in _TIED.sub("\u00a0", text).split("\n"):
        line = ""
        for word in re.split(r"[ \t\r\f\v]+", part.strip()):
            longer = f"{line} {word}" if line else word
            if measure(longer) <= width:
                line = longer
                continue
            if line:
                lines.append(line)
            *whole, line = parted(word, width, measure)
            lines += whole
        if line:
            lines.append(line)
    return lines


def parted(word: str, width: float, measure: Callable[[str], float]) -> list[str]:
    """A word in pieces that fit a width [mm]; each has a letter at least."""
    pieces = []
    while len(word) > 1 and measure(word) > width:
        fits = next((n for n in range(len(word) - 1, 1, -1) if measure(word[:n]) <= width), 1)
        pieces.append(word[:fits])
        word = word[fits:]
    return [*pieces, word]


# --- pages -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Page:
    """What stands on one page, from its top left corner [mm], and the scale of its letters."""

    width: float
    height: float
    marks: tuple[Mark, ...]
    scale: float = 1.0


def fill(
    sections: Sequence[Sequence[Piece]],
    width: float,
    height: float,
    margin: float,
    measure: Measure,
) -> tuple[Page, ...]:
    """Fill the fewest pages, then make the letters of each as large as it allows.

    Parameters
    ----------
    sections : sequence of sequence of Piece
        A piece always stays whole, a section where it fits a page.
    width, height : float
        Of the paper [mm].
    margin : float
        [mm].
    measure : callable

    Raises
    ------
    InputError
        If one piece is higher than a page with letters at scale 1.
    """
    across, down = width - 2 * margin, height - 2 * margin
    parted = _parted_pages(sections, across, down, measure)
    groups = _balanced(sections, len(parted), across, down, measure) or parted
    pages = []
    for pieces in groups:
        found = place_inside(Stack(pieces), across, down, measure)
        assert found is not None  # scale 1 was measured when the pieces were parted
        placed, scale = found
        pages.append(Page(width, height, tuple(moved(placed.marks, margin, margin)), scale))
    return tuple(pages)


def _balanced(
    sections: Sequence[Sequence[Piece]], count: int, width: float, height: float, measure: Measure
) -> list[tuple[Piece, ...]] | None:
    """Whole sections on so many pages, parted so that the smallest letters are largest.

    None if the sections do not go on them whole.
    """

    @cache
    def group(start: int, end: int) -> tuple[tuple[Piece, ...], float]:
        pieces = [piece for section in sections[start:end] for piece in section]
        while pieces and isinstance(pieces[0], Gap):
            del pieces[0]
        found = place_inside(Stack(tuple(pieces)), width, height, measure)
        return tuple(pieces), 0.0 if found is None else found[1]

    best, largest = None, 0.0
    for cuts in combinations(range(1, len(sections)), count - 1):
        ends = (0, *cuts, len(sections))
        groups = [group(*span) for span in pairwise(ends)]
        smallest = min(scale for _, scale in groups)
        if smallest > largest:
            best, largest = [pieces for pieces, _ in groups], smallest
    return best


def _parted_pages(
    sections: Sequence[Sequence[Piece]], width: float, height: float, measure: Measure
) -> list[tuple[Piece, ...]]:
    """Which pieces go on which page, with letters at scale 1."""
    pages: list[list[Piece]] = [[]]
    y = 0.0
    for section in sections:
        heights = [piece.place(width, 1.0, measure).height for piece in section]
        if y and y + sum(heights) > height >= sum(heights):
            pages.append([])
            y = 0.0
        for piece, high in zip(section, heights, strict=True):
            if high > height:
                raise InputError(say("card.too-high"), say("card.too-high-remedy"))
            if y + high > height:
                pages.append([])
                y = 0.0
            if isinstance(piece, Gap) and not y:
                continue  # no gap at the top of a page
            pages[-1].append(piece)
            y += high
    return [tuple(page) for page in pages if page]


def place_inside(
    piece: Piece, width: float, height: float, measure: Measure
) -> tuple[Placed, float] | None:
    """Set a piece as large as it fits a space [mm]; None if even scale 1 does not fit."""
    scale = LARGEST_SCALE
    while scale >= 1.0 - 1e-9:
        placed = piece.place(width, scale, measure)
        if placed.height <= height + 1e-6:
            return placed, scale
        scale = round(scale - _STEP, 2)
    return None
