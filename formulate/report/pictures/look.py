"""The shared look of all pictures, and how they are written to files.

Black, greys and hatches, so that any printer will do; big letters. The same figure gives the
same file. The plotting state that a process shares is left as it was.
"""

from __future__ import annotations

import io
import textwrap
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from formulate.base.outputs import NAME, Output, check_output, write_output
from formulate.report.words import tied

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

__all__ = [
    "INK",
    "PALE",
    "SOFT",
    "halo",
    "look",
    "new_figure",
    "note",
    "paragraphs",
    "picture_bytes",
    "save_picture",
]

INK = "0.1"
SOFT = "0.45"
PALE = "0.88"

# Everything that decides a drawing, over matplotlib's own defaults: a person's matplotlibrc
# changes nothing. Letters are drawn as outlines, so that no font is needed to read them.
_LOOK: dict[str, Any] = {
    "font.family": ["DejaVu Sans"],
    "font.size": 15,
    "axes.titlesize": 19,
    "axes.titlelocation": "left",
    "axes.titlepad": 14,
    "axes.labelsize": 16,
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.edgecolor": INK,
    "axes.labelcolor": INK,
    "axes.linewidth": 1.2,
    "text.color": INK,
    "text.parse_math": False,
    "xtick.color": INK,
    "ytick.color": INK,
    "hatch.color": "0.45",
    "hatch.linewidth": 0.8,
    "svg.fonttype": "path",
    "svg.hashsalt": "formulate",
    "pdf.fonttype": 42,
}

#: Without these a file says when and by what it was made, and is another one each time.
_METADATA: dict[str, dict[str, Any]] = {
    "svg": {"Date": None, "Creator": NAME, "Title": NAME},
    "pdf": {"CreationDate": None, "Creator": NAME, "Producer": NAME},
    "png": {"Software": NAME},
}

_lock = threading.Lock()


@contextmanager
def look() -> Iterator[None]:
    """Our look while drawing, then the settings as they were. One drawing at a time."""
    import matplotlib as mpl

    with _lock, mpl.rc_context():
        mpl.rcdefaults()
        settings: Any = mpl.rcParams
        settings.update(_LOOK)
        yield


def save_picture(figure: Figure, path: Path) -> Path:
    """Write a picture whole or not at all.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
    path : Path
        Ends in .svg, .png or .pdf.

    Raises
    ------
    InputError
        If the ending is another one, the file is somebody else's or the folder cannot be
        written to.
    """
    check_output(path, Output.PICTURE)
    data = picture_bytes(figure, path.suffix.lower().removeprefix("."))
    write_output(path, data, Output.PICTURE)
    return path


def picture_bytes(figure: Figure, kind: str) -> bytes:
    """A picture as the bytes of its file.

    Parameters
    ----------
    figure : matplotlib.figure.Figure
    kind : str
        "svg", "png" or "pdf".
    """
    data = io.BytesIO()
    with look():
        figure.savefig(data, format=kind, metadata=_METADATA[kind])
    return data.getvalue()


def new_figure(width: float, height: float) -> Figure:
    """An empty figure [inch]; make it and draw on it inside `look`."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width, height), dpi=100, layout="constrained", facecolor="white")
    engine: Any = figure.get_layout_engine()
    engine.set(w_pad=0.15, h_pad=0.15)
    return figure


def halo(width: float = 4) -> list[Any]:
    """Path effects that set letters off from what is behind them."""
    from matplotlib.patheffects import withStroke

    return [withStroke(linewidth=width, foreground="white")]


def paragraphs(axes: Axes, lines: Sequence[str]) -> None:
    """Lines of text where a drawing would be; a number keeps its unit on its line."""
    axes.axis("off")
    text = "\n".join(textwrap.fill(tied(line), 92, subsequent_indent="      ") for line in lines)
    axes.text(0, 1, text, va="top", fontsize=13, linespacing=1.35, transform=axes.transAxes)


def note(
    axes: Axes, text: str, place: tuple[float, float], offset: tuple[int, int], **more: Any
) -> None:
    """Write beside a place on a drawing; the offset is in points."""
    axes.annotate(
        text,
        place,
        offset,
        textcoords="offset points",
        fontsize=14,
        path_effects=halo(),
        zorder=6,
        **more,
    )
