"""The templates' compiled forms, kept in the user's cache folder: the first page comes sooner."""

from __future__ import annotations

from contextlib import suppress
from importlib.metadata import version

from jinja2.bccache import Bucket, FileSystemBytecodeCache
from platformdirs import user_cache_path

__all__ = ["compiled_templates"]


class _Compiled(FileSystemBytecodeCache):
    """A full disk is no fault: a template that is not kept is compiled again."""

    def dump_bytecode(self, bucket: Bucket) -> None:
        """Keep one, if it can be kept."""
        with suppress(OSError):
            super().dump_bytecode(bucket)


def compiled_templates() -> FileSystemBytecodeCache | None:
    """Where compiled templates are kept; None where no folder can be made for them.

    Notes
    -----
    Each is marked with its template's text, and each release of Jinja has its own folder: a
    template that has changed is compiled again.
    """
    folder = user_cache_path("formulate", appauthor=False) / f"templates-{version('jinja2')}"
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    except OSError:
        return None
    return _Compiled(str(folder))
