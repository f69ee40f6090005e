"""Paper sizes, fonts, and pages written as PDF or as a picture.

The letters are DejaVu Sans, which comes with matplotlib: the letters built into PDF readers
have neither "≥" nor "–". The same pages give the same file.
"""

from __future__ import annotations

import io
import logging
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from enum import Enum
from functools import cache, lru_cache
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from formulate.base.errors import UnknownName
from formulate.base.messages import say
from formulate.base.numerals import with_marks
from formulate.base.outputs import NAME, Output, check_output, write_output
from formulate.report.printed.typeset import Frame, Measure, Page, Stroke, Word

if TYPE_CHECKING:
    from fpdf import FPDF
    from PIL.Image import Image

    from formulate.pantry.pantry import Pantry

__all__ = ["MARGIN", "Paper", "measure", "paper_named", "pdf_of", "save_pages", "sheet_bytes"]

#: Left empty at each edge [mm]: no printer reaches it.
MARGIN = 12.0
#: Dots an inch of a picture: letters are sharp on a telephone, and the file is small.
DOTS = 110

_FONT = "DejaVu"
#: Widths of texts that are remembered.
_REMEMBERED = 50_000
# fpdf2 wants a date. This one says nothing, so that the same card is the same file.
_NO_DATE = datetime(2000, 1, 1, tzinfo=UTC)


class Paper(Enum):
    """Sheets of paper: width and height [mm]."""

    A4 = (210.0, 297.0)
    LETTER = (215.9, 279.4)

    @property
    def width(self) -> float:
        """[mm]."""
        return float(self.value[0])

    @property
    def height(self) -> float:
        """[mm]."""
        return float(self.value[1])


def paper_named(name: str | None, pantry: Pantry) -> Paper:
    """The paper a person names; else what lies in the printers of their country."""
    if name is None:
        name = pantry.paper
    try:
        return Paper[name.strip().upper()]
    except KeyError:
        sizes = [paper.name.lower() for paper in Paper]
        raise UnknownName(
            "paper", name, sizes, say("errors.known.papers", names=", ".join(sizes))
        ) from None


@cache
def measure() -> Measure:
    """A function that gives the width [mm] of a text at a size [pt], bold or not."""
    pdf, lock = _new(), Lock()
    _close(pdf)  # widths are known once the letters are loaded

    @lru_cache(maxsize=_REMEMBERED)
    def width(text: str, size: float, bold: bool) -> float:
        with lock:  # it sets one font at a time
            pdf.set_font(_FONT, "B" if bold else "", size)
            return float(pdf.get_string_width(text))

    return width


def _new(width: float = 210.0, height: float = 297.0) -> FPDF:
    import matplotlib as mpl
    from fpdf import FPDF

    # It would tell of every letter that a font lacks; the empty square in its place tells too.
    logging.getLogger("fpdf").setLevel(logging.ERROR)
    logging.getLogger("fontTools").setLevel(logging.ERROR)
    pdf = FPDF(unit="mm", format=(width, height))
    letters = Path(mpl.get_data_path()) / "fonts" / "ttf"
    pdf.add_font(_FONT, "", letters / "DejaVuSans.ttf")
    pdf.add_font(_FONT, "B", letters / "DejaVuSans-Bold.ttf")
    pdf.set_auto_page_break(False)
    pdf.set_creation_date(_NO_DATE)
    pdf.set_producer(NAME)
    pdf.set_lang("en-GB")
    return pdf


def _close(pdf: FPDF) -> None:
    """Close the files of the letters, which fpdf2 leaves open."""
    from fpdf.fonts import TTFFont

    for font in pdf.fonts.values():
        if isinstance(font, TTFFont):
            font.close()


def pdf_of(pages: Sequence[Page], title: str) -> bytes:
    """Pages as a PDF."""
    pdf = _new(pages[0].width, pages[0].height)
    pdf.set_title(title)
    for page in pages:
        pdf.add_page()
        for mark in page.marks:
            if isinstance(mark, Word):
                pdf.set_font(_FONT, "B" if mark.bold else "", mark.size)
                pdf.text(mark.x, mark.y, mark.text)
            elif isinstance(mark, Stroke):
                pdf.set_line_width(mark.thickness)
                pdf.line(mark.x, mark.y, mark.to_x, mark.to_y)
            elif isinstance(mark, Frame):
                pdf.set_line_width(mark.thickness)
                pdf.rect(mark.x, mark.y, mark.width, mark.height)
    data = bytes(pdf.output())
    _close(pdf)
    return data


def save_pages(pages: Sequence[Page], title: str, path: Path, decimal: str = ".") -> Path:
    """Write pages whole or not at all, as .pdf, or as .png with one page below the other.

    Parameters
    ----------
    pages : sequence of Page
    title : str
    path : Path
    decimal : str
        Decimal mark of the numbers on them; a comma is as wide as a point.

    Raises
    ------
    InputError
        If the ending is another one, the file is somebody else's or the folder cannot be
        written to.
    """
    check_output(path, Output.SHEET)
    data = sheet_bytes(pages, title, decimal, png=path.suffix.lower() == ".png")
    write_output(path, data, Output.SHEET)
    return path


def sheet_bytes(
    pages: Sequence[Page], title: str, decimal: str = ".", *, png: bool = False
) -> bytes:
    """Pages as the bytes of a PDF, or of a picture with one page below the other."""
    data = pdf_of([_numbered(page, decimal) for page in pages], title)
    if png:
        out = io.BytesIO()
        from PIL.PngImagePlugin import PngInfo

        particulars = PngInfo()
        particulars.add_text("Software", NAME)
        picture_of(data).save(out, "PNG", optimize=True, pnginfo=particulars)
        data = out.getvalue()
    return data


def _numbered(page: Page, decimal: str) -> Page:
    """A page with its numbers as a country writes them."""
    marks = (
        replace(mark, text=with_marks(mark.text, decimal)) if isinstance(mark, Word) else mark
        for mark in page.marks
    )
    return replace(page, marks=tuple(marks))


def picture_of(pdf: bytes, dots: int = DOTS) -> Image:
    """Every page of a PDF as one grey picture, top to bottom."""
    import pypdfium2
    from PIL import Image

    with pypdfium2.PdfDocument(pdf) as document:
        sheets = [
            page.render(scale=dots / 72, grayscale=True).to_pil().convert("L") for page in document
        ]
    whole = Image.new("L", (sheets[0].width, sum(sheet.height for sheet in sheets)), 255)
    y = 0
    for sheet in sheets:
        whole.paste(sheet, (0, y))
        y += sheet.height
    return whole.quantize(16)
