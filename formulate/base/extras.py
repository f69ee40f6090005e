"""Import libraries that an extra installs; if one is missing, say how to install it."""

from __future__ import annotations

from importlib import import_module
from typing import Any

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.version import DISTRIBUTION

__all__ = ["MissingExtra", "needed"]


class MissingExtra(InputError, ImportError):
    """A library is not installed that only some of the work needs.

    Parameters
    ----------
    library : str
        Name to import.
    extra : str
        The extra that brings it.
    """

    def __init__(self, library: str, extra: str) -> None:
        self.library, self.extra = library, extra
        super().__init__(
            say("errors.missing-extra", library=library),
            say("errors.install-extra", name=DISTRIBUTION, extra=extra),
        )


def needed(library: str, extra: str) -> Any:
    """Import a library of an extra.

    Parameters
    ----------
    library : str
        Name to import, as "distributed" or "pyarrow.parquet".
    extra : str
        As "cluster".

    Raises
    ------
    MissingExtra
        If it is not installed.
    """
    try:
        return import_module(library)
    except ModuleNotFoundError as error:
        missing = library.partition(".")[0]
        if (error.name or "").partition(".")[0] != missing:
            raise
        raise MissingExtra(missing, extra) from error
