"""Ticked and typed but unsaved input, kept in the browser so that no place loses it.

A draft holds only what differs from the file: of each food its tick, price and package, and what
the mix is for. It is put on top of whatever the file has become.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from flask import Response

from formulate.page.aim import Aim
from formulate.page.rows import Row, rows_typed
from formulate.pantry.pantry import Pantry

__all__ = ["COOKIE", "aim_of", "drafted", "keep", "rows_with"]

COOKIE = "draft"
#: Letters of a cookie: browsers keep 4096, its name and marks included.
LONGEST = 3600
#: How long a draft is kept [s].
KEPT = 7 * 24 * 3600

Draft = dict[str, Any]


def drafted(cookie: str) -> Draft:
    """Read a draft; an odd one is none."""
    try:
        found = json.loads(base64.urlsafe_b64decode(cookie.encode()))
    except (ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}


def rows_with(rows: Sequence[Row], draft: Draft, pantry: Pantry) -> tuple[Row, ...]:
    """The rows of the file with the draft on top; foods that there are not any more are left."""
    foods = draft.get("foods")
    if not isinstance(foods, dict) or not foods:
        return tuple(rows)
    typed = {row.id: (row.ticked, row.price, row.package) for row in rows}
    for food_id, told in foods.items():
        known = food_id in pantry.table and not pantry.table[food_id].drink_only
        if known and isinstance(told, list) and [type(x) for x in told] == [bool, str, str]:
            typed[food_id] = (told[0], told[1][:12], told[2][:40])
    return rows_typed(typed, pantry)


def aim_of(draft: Draft, pantry: Pantry) -> Aim:
    """What the mix is for, as drafted; else as usual."""
    from werkzeug.datastructures import MultiDict

    told = draft.get("aim")
    fields = told if isinstance(told, dict) else {}
    words = {k: v[:60] for k, v in fields.items() if isinstance(k, str) and isinstance(v, str)}
    return Aim.of(MultiDict(words), pantry)


def keep(reply: Response, rows: Sequence[Row], aim: Aim, pantry: Pantry) -> Response:
    """Send a draft with a reply, or delete it if it is the same as the file."""
    foods = {row.id: [row.ticked, row.price, row.package] for row in rows if row.is_changed(pantry)}
    usual = Aim.of(_empty(), pantry)
    fields = {k: v for k, v in asdict(aim).items() if v != getattr(usual, k)}
    fields = {k: "1" if v is True else v for k, v in fields.items()}
    draft = {**({"foods": foods} if foods else {}), **({"aim": fields} if fields else {})}
    text = base64.urlsafe_b64encode(json.dumps(draft).encode()).decode()
    if draft and len(text) <= LONGEST:
        reply.set_cookie(COOKIE, text, max_age=KEPT, httponly=True, samesite="Strict")
    else:
        reply.delete_cookie(COOKIE, httponly=True, samesite="Strict")
    return reply


def _empty() -> Any:
    from werkzeug.datastructures import MultiDict

    return MultiDict()
