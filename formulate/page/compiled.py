"""The templates' compiled forms, kept in the user's cache folder: the first page comes sooner."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from importlib.metadata import version
from pathlib import Path

from jinja2.bccache import Bucket, FileSystemBytecodeCache
from platformdirs import user_cache_path

from formulate.base.errors import InputError
from formulate.base.files import private_folder
from formulate.base.messages import language

__all__ = ["compiled_templates"]


class _Compiled(FileSystemBytecodeCache):
    """A full disk is no fault: a template that is not kept is compiled again."""

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep one, if it can be kept."""
        with suppress(OSError):
            super().dump_bytecode(bucket)


def compiled_templates() -> FileSystemBytecodeCache | None:
    """Where compiled templates are kept; None where they cannot be kept safely.

    Notes
    -----
    Each is marked with its template's text, and each release of Jinja and each language has its
    own folder: a template that has changed is compiled again.
    """
    kept = f"templates-{version('jinja2')}-{language()}"
    folder = user_cache_path("formulate", appauthor=False) / kept
    try:
        private_folder(folder)
        return _Compiled(str(folder)) if _of_this_user_alone(folder) else None
    except (InputError, OSError):
        return None


def _of_this_user_alone(folder: Path) -> bool:
    """Whether nobody else can write there: what is read from it is run."""
    if sys.platform == "win32":  # a user's own folders are closed to others there
        return True
    found = folder.stat()
    return found.st_uid == os.geteuid() and not found.st_mode & 0o022
