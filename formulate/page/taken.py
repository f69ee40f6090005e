"""Files to take away, or to show in a place: pictures, tables, programs for other solvers."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from flask import Response, make_response
from werkzeug.exceptions import NotFound

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["PICTURES", "PROGRAMS", "file", "picture", "program"]

PICTURES, PROGRAMS = ("svg", "png", "pdf"), ("lp", "mps")

#: What a browser is told of a file, by its ending.
_KINDS = {
    "csv": "text/csv",
    "ics": "text/calendar",
    "pdf": "application/pdf",
    "png": "image/png",
    "svg": "image/svg+xml",
    "zip": "application/zip",
}


def picture(draw: Callable[[], Figure], name: str, *, shown: bool = False) -> Response:
    """A picture, drawn when its name is that of one.

    Parameters
    ----------
    draw : callable
    name : str
        Of the file; its ending says what it is.
    shown : bool
        Whether it is shown in a place, not saved.
    """
    kind = name.rpartition(".")[2]
    if kind not in PICTURES:
        raise NotFound
    from formulate.report.pictures.look import picture_bytes

    return file(picture_bytes(draw(), kind), name, shown=shown)


def program(write: Callable[[Path], object], name: str) -> Response:
    """A problem for other solvers, with what goes with it, as a command writes it.

    Parameters
    ----------
    write : callable
        Writes it into a folder that is then deleted; several files become one archive.
    name : str
        Of the file; its ending says what it is.
    """
    if name.rpartition(".")[2] not in PROGRAMS:
        raise NotFound
    with TemporaryDirectory(prefix="formulate-") as folder:
        write(Path(folder) / name)
        written = {path.name: path.read_bytes() for path in sorted(Path(folder).iterdir())}
    return file(_archive(written), f"{Path(name).stem}.zip")


def file(data: bytes, name: str, *, shown: bool = False) -> Response:
    """Bytes to take away, or to show."""
    reply = make_response(data)
    reply.mimetype = _KINDS[name.rpartition(".")[2]]
    how = "inline" if shown else "attachment"
    reply.headers["Content-Disposition"] = f'{how}; filename="{name}"'
    return reply


def _archive(files: dict[str, bytes]) -> bytes:
    """Several files as one; equal files make equal archives."""
    from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

    data = io.BytesIO()
    with ZipFile(data, "w") as archive:
        for name, content in files.items():
            archive.writestr(ZipInfo(name), content, ZIP_DEFLATED)
    return data.getvalue()
