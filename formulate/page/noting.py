"""Write down what a form says about an animal, or ask about it first."""

from __future__ import annotations

from contextlib import suppress
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from flask import request

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.page.once import Asked, Done
from formulate.page.site import Site

if TYPE_CHECKING:
    from formulate.answers.record import Recorded

__all__ = ["LONGEST_WAIT", "at_of", "at_of_note", "quoted", "record_of_form"]


#: What waited longer to be written down is typed with its hour [s].
LONGEST_WAIT = 7 * 24 * 3600


def quoted(text: str) -> str:
    """A name as a part of an address."""
    from urllib.parse import quote

    return quote(text, safe="")


def at_of(site: Site) -> datetime | None:
    """The hour that was typed, or how long ago it was; None for now."""
    text = request.form.get("at", "").strip()
    if not text:
        return _ago(site, "ago")
    from formulate.answers.wanted import parse_moment

    return parse_moment(text, site.list_read().clock)


def _ago(site: Site, field: str) -> datetime | None:
    """A moment that a form tells by how many seconds ago it was, by the computer's own clock.

    Raises
    ------
    InputError
        If it is not a number of seconds, or too long ago.
    """
    text = request.form.get(field, "").strip()
    if not text:
        return None
    if not (text.isascii() and text.isdigit() and len(text) < 9 and int(text) <= LONGEST_WAIT):
        raise InputError(say("page.waited-too-long"), say("page.write-its-hour"))
    return site.list_read().clock - timedelta(seconds=int(text))


def record_of_form(site: Site, word: str, amount: str, at: datetime | None = None) -> Done | Asked:
    """Write something down of the animal that the form names, or ask about it first."""
    from formulate.answers.record import record
    from formulate.answers.wanted import wanted_of
    from formulate.report.record_text import recorded_told

    form = request.form
    pantry = None
    with suppress(InputError):  # what happened is written down, whatever is wrong in the pantry
        pantry = site.home().pantry
    one = wanted_of(
        form.get("name", ""),
        word,
        amount,
        at=at,
        by=site.by(),
        note=form.get("note", ""),
        last_seen=_ago(site, "unseen"),
    )
    site.list_read()
    found = record(site.flock_path, [one], pantry=pantry, sure="sure" in form)
    if found.questions:
        fields = tuple((k, v) for k, v in form.items() if k not in ("token", "once", "sure"))
        return Asked(request.path, tuple(q.text for q in found.questions), fields)
    return Done(recorded_told(found), _undo(found))


def _undo(found: Recorded) -> tuple[tuple[str, str], ...]:
    """Fields that take back the one entry that was written."""
    if len(found.added) != 1 or found.added[0].strikes:
        return ()
    from formulate.report.record_text import entries_told

    (entry,) = entries_told(found.added, found.kitchen)
    return ("name", entry.animal), ("what", "strike"), ("amount", entry.what), ("at", entry.at)


def at_of_note(site: Site) -> datetime | None:
    """When something was seen; an entry without an hour is taken back by its day."""
    from formulate.answers.wanted import parse_moment

    text = request.form.get("at", "").strip()
    if request.form.get("what") == "strike" and text:
        return parse_moment(text, site.list_read().clock, day_alone=True)
    return at_of(site)
