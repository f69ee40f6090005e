"""Read numbers in text as each country writes them.

The program says "1,955 g" and "2.18 EUR". Where a comma is the decimal mark that reads as not
quite two grams, so there a space that no line breaks at parts the thousands and the point becomes a
comma: "1 955 g", "2,18 EUR". What is for other programs (JSON, CSV, model files) is never touched.
"""

from __future__ import annotations

import re

__all__ = ["with_marks", "with_marks_in_html"]

_THOUSANDS = re.compile(r"(?<![\d.,])\d{1,3}(?:,\d{3})+(?![\d,])")
# A number by itself: no part of a word, a path, a version or a paragraph of a law.
_DECIMAL = re.compile(
    r"(?<![\w.,/])(?<!\w-)(?<!CFR )(?<!section )(?<!Licence )"
    r"(\d+)\.(\d+)(?!\.?\d)(?![\w/-]*\.\w)(?![A-Za-z_/])"
)
#: Parts of a page that are not prose: tags, styles, scripts, and the contents of fields.
_MARKUP = re.compile(r"(<(script|style|textarea|svg)\b.*?</\2>|<[^>]*>)", re.DOTALL | re.IGNORECASE)


def with_marks(text: str, decimal: str) -> str:
    r"""A text with its numbers as a country writes them.

    Parameters
    ----------
    text : str
    decimal : str
        "." leaves everything as it is; "," is the comma.

    Examples
    --------
    >>> with_marks("1.9 L, 1,955 g: 2.18 EUR (2026-11-02)", ",")
    '1,9 L, 1\xa0955 g: 2,18 EUR (2026-11-02)'
    """
    if decimal != ",":
        return text
    parted = _THOUSANDS.sub(lambda found: found[0].replace(",", "\u00a0"), text)
    return _DECIMAL.sub(r"\1,\2", parted)


def with_marks_in_html(html: str, decimal: str) -> str:
    """The same for the text of a page; its tags, scripts and fields stay as they are."""
    if decimal != ",":
        return html
    parts, at = [], 0
    for markup in _MARKUP.finditer(html):
        parts += [with_marks(html[at : markup.start()], decimal), markup[0]]
        at = markup.end()
    return "".join([*parts, with_marks(html[at:], decimal)])
