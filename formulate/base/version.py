"""The version of this release."""

from __future__ import annotations

__all__ = ["DISTRIBUTION", "VERSION"]

#: The release; the build takes it from here.
VERSION = "0.2.0"

#: What the package is called on the package index, where "formulate" is somebody else's; it is
#: imported as ``formulate``.
DISTRIBUTION = "formulate-milk"
