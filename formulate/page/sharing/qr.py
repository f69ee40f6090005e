"""A web address as a picture that a telephone's camera can read."""

from __future__ import annotations

import io

__all__ = ["qr_svg", "qr_terminal"]

#: White on black whatever the colours of the terminal are: many cameras do not read the negative.
_WHITE_ON_BLACK, _AS_BEFORE = "\x1b[97;40m", "\x1b[0m"


def qr_svg(text: str) -> str:
    """As an SVG element to stand in a page; dark on white in every theme."""
    import segno

    code = segno.make(text, error="m", micro=False)
    return str(code.svg_inline(scale=7, border=4, dark="#000", light="#fff"))


def qr_terminal(text: str, *, colours: bool) -> str:
    """As lines of half blocks.

    Parameters
    ----------
    text : str
    colours : bool
        Whether the terminal understands colours; otherwise its background must be dark.
    """
    import segno

    drawn = io.StringIO()
    segno.make(text, error="m", micro=False).terminal(out=drawn, border=2, compact=True)
    lines = drawn.getvalue().rstrip("\n").split("\n")
    if colours:
        lines = [f"{_WHITE_ON_BLACK}{line}{_AS_BEFORE}" for line in lines]
    return "\n".join(lines)
