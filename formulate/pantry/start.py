"""Write the sample files for a person to edit."""

from __future__ import annotations

import os
from contextlib import suppress
from pathlib import Path

from formulate.base.errors import InputError
from formulate.base.files import reason
from formulate.base.messages import say
from formulate.foods.country import DEFAULT_COUNTRY, country_named
from formulate.foods.shipped import read_shipped
from formulate.pantry.pantry import FILE, SAMPLE, SAMPLE_ABROAD

__all__ = ["write_sample"]

#: File to write -> the shipped file it is made of; for another country than the default one.
FILES = {FILE: SAMPLE, "flock.toml": "sample_flock.toml"}
_ABROAD = {FILE: SAMPLE_ABROAD, "flock.toml": "samples/flock_metric.toml"}


def write_sample(folder: str | Path, country: str | None = None) -> tuple[Path, ...]:
    """Write the sample files into a folder, made if it is not there.

    Parameters
    ----------
    folder : str or Path
    country : str, optional
        Whose foods, spoons and money.

    Returns
    -------
    tuple of Path
        What was written.

    Raises
    ------
    InputError
        If any of them is there already (none is written then), or the folder cannot be.
    UnknownName
        If there is no such country here.
    """
    folder = Path(folder)
    key = DEFAULT_COUNTRY if country is None else country_named(country).key
    shipped = FILES if key == DEFAULT_COUNTRY else _ABROAD
    paths = {folder / name: source.format(key) for name, source in shipped.items()}
    taken = [str(path) for path in paths if path.exists() or path.is_symlink()]
    if taken:
        raise InputError(
            f"{', '.join(taken)} is there already", "Nothing is overwritten: name another folder."
        )
    made = next((f for f in reversed([folder, *folder.parents]) if not f.exists()), None)
    written: list[Path] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path, source in paths.items():
            data = read_shipped(source).encode()
            # "x" refuses a file that came into being since the look above.
            with path.open("xb") as file:
                written.append(path)
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
    except BaseException as error:
        _undo(written, folder, made)
        if not isinstance(error, OSError):
            raise
        raise InputError(
            say("errors.cannot-write", what="sample", reason=reason(error)), "", str(folder)
        ) from error
    return tuple(paths)


def _undo(written: list[Path], folder: Path, made: Path | None) -> None:
    """Remove the files that were written, and the folders made for them."""
    with suppress(OSError):
        for path in written:
            path.unlink()
        while made is not None and folder.is_relative_to(made):
            folder.rmdir()
            folder = folder.parent
