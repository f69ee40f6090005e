"""Rows as CSV text."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from typing import Any

__all__ = ["csv_text"]


def csv_text(rows: Sequence[Mapping[str, Any]]) -> str:
    """Rows as CSV with a header line; numbers in full, missing ones empty."""
    out = io.StringIO()
    keys = list(dict.fromkeys(key for row in rows for key in row))
    writer = csv.DictWriter(out, keys, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue()
