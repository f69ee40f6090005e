"""What all places share: the folder, this run's token, and one way to show and to write."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any, TypeVar

from flask import Response, g, make_response, redirect, render_template, request

from formulate.base.errors import InputError, ManyFaults
from formulate.base.files import read_text
from formulate.base.messages import say
from formulate.base.spelling import one_line
from formulate.page.once import Asked, Done, OnceOnly
from formulate.page.places import PLACES
from formulate.page.store import FLOCK, PANTRY, Store
from formulate.pantry.pantry import Pantry, parse_pantry

if TYPE_CHECKING:
    from formulate.answers.household import FlockRead, Home
    from formulate.answers.today import Today
    from formulate.report.barn_told import BarnTold
    from formulate.report.day_told import DayTold

__all__ = ["Site"]

T = TypeVar("T")

#: How long the page remembers who feeds [s].
WHO_REMEMBERED = 180 * 24 * 3600
#: A view of the barn is as old as this at most [s]: it tells minutes, not seconds.
FRESH = 15
#: How many faults of a file to report at once; once mended, the file is read again.
MOST_FAULTS = 3
#: Letters of a feeder's name.
LONGEST_NAME = 60


class Site:
    """The folder and what was done in it, for every place.

    Parameters
    ----------
    store : Store
    token : str
        Of this run; every form carries it.
    """

    def __init__(self, store: Store, token: str) -> None:
        self.store, self.token = store, token
        self.once = OnceOnly()
        self._lock = Lock()
        self._views: dict[str, tuple[tuple[str, int], Any]] = {}

    # --- showing ---------------------------------------------------------------------------

    def show(self, template: str, here: str, status: int = 200, **values: Any) -> Response:
        """A place as a page.

        Parameters
        ----------
        template : str
        here : str
            Address of its place in the navigation.
        status : int
        **values
            Of the template.
        """
        done = self.once.said(request.args.get("done", ""))
        values.setdefault("typed", request.form if status >= 400 else {})
        html = render_template(
            template,
            token=self.token,
            once=self.once.token,  # called for each form: two of one page are two things
            here=here,
            places=PLACES,
            done=done,
            version=self.version(),
            posted=request.method == "POST",
            by=self.by(),
            folder=self.store.folder,
            file=PANTRY,
            **values,
        )
        return make_response(html, status)

    def by(self) -> str:
        """Who feeds: as typed, as a feed that waited says, or as they said last."""
        form = request.form
        typed = form.get("by") or form.get("somebody") or form.get("kept_by", "")
        typed = typed if typed.strip() else request.cookies.get("by", "")
        if not typed.strip() and g.get("let_in") is not None:
            typed = g.let_in.owner  # a paired telephone is somebody's
        return one_line(typed)

    def remember_who(self, reply: Response) -> Response:
        """Remember who feeds, for the next time."""
        if (request.form.get("by") or request.form.get("somebody")) and self.by():
            reply.set_cookie(
                "by", self.by(), max_age=WHO_REMEMBERED, httponly=True, samesite="Strict"
            )
        return reply

    # --- writing ---------------------------------------------------------------------------

    def write(
        self,
        act: Callable[[], Done | Asked],
        back: str,
        show: Callable[..., Response],
    ) -> Response:
        """Write something once, and redirect to where it is shown.

        Parameters
        ----------
        act : callable
        back : str
            Address to go to afterwards.
        show : callable
            Shows the form again, with `status` and either `fault` or `asked`: nothing that was
            typed is lost.
        """
        try:
            found = self.once.do(request.form.get("once", ""), act)
        except InputError as error:
            return self.remember_who(show(status=422, fault=self.plainly(error)))
        if isinstance(found, Asked):
            return self.remember_who(show(status=422, asked=found))
        path, mark, place = back.partition("#")
        joined = "&" if "?" in path else "?"
        reply = redirect(f"{path}{joined}done={found.once}{mark}{place}", 303)
        return self.remember_who(make_response(reply))

    def plainly(self, error: InputError) -> str:
        """A fault as the page shows it: one line each, not too many, without the folder's name."""
        faults = error.faults if isinstance(error, ManyFaults) else (error,)
        lines = [str(fault) for fault in faults[:MOST_FAULTS]]
        if more := len(faults) - len(lines):
            lines.append(say("page.more-faults", count=more))
        return self.here("\n".join(lines))

    def here(self, text: str) -> str:
        """A text as the page says it: without the folder's name, and with its own list of foods."""
        text = text.replace(f"{self.store.folder}/", "")
        return text.replace(say("foods.see-all"), say("page.see-all-foods"))

    # --- the barn --------------------------------------------------------------------------

    @property
    def pantry(self) -> Pantry:
        """The pantry as it is now."""
        return self.store.shelf().pantry

    @property
    def flock_path(self) -> Path:
        """Where the list of animals is, or will be."""
        return self.store.path(FLOCK)

    def has_animals(self) -> bool:
        """Whether there is a list of animals."""
        return self.flock_path.exists()

    def home(self) -> Home:
        """The flock and its pantry; nothing outside the folder is read for them.

        Raises
        ------
        InputError
            If there is no list of animals, or it names a file elsewhere.
        """
        return self._kept("home", self._read_home)

    def list_read(self) -> FlockRead:
        """The animals and their log alone: whatever is wrong in the pantry, they can be read.

        Raises
        ------
        InputError
            If there is no list of animals, or it cannot be read.
        """
        from formulate.answers.household import flock_of

        path = self._list_path()
        return self._kept("list", lambda: flock_of(path))

    def home_at(self, now: datetime) -> Home:
        """The same at another moment, to plan from."""
        return self._read_home(now)

    def today(self) -> Today:
        """Everything about feeding now.

        Raises
        ------
        InputError
            As `home` does, or if a milk cannot be read.
        """
        return self._kept("today", self._read_today)

    def barn(self) -> BarnTold:
        """The same in sentences, animal by animal."""
        from formulate.report.barn_told import barn_told

        return self._kept("barn", lambda: barn_told(self.today()))

    def day(self) -> DayTold:
        """The same by the clock."""
        from formulate.report.day_told import day_told

        return self._kept("day", lambda: day_told(self.today()))

    def version(self) -> str:
        """Mark of the files as they were before this page read any of them.

        What is written while a page is made has another mark, so that the open page notices it.
        """
        if request.method != "GET":  # what is written down is decided from the files of now
            return self.store.version()
        if "version" not in g:
            g.version = self.store.version()
        mark: str = g.version
        return mark

    def _kept(self, name: str, read: Callable[[], T]) -> T:
        """What was read of these very files a moment ago, else what is read now."""
        key = (self.version(), int(time.time() / FRESH))
        with self._lock:
            known = self._views.get(name)
        if known is not None and known[0] == key:
            kept: T = known[1]
            return kept
        found = read()
        with self._lock:
            self._views[name] = (key, found)
        return found

    def _read_today(self) -> Today:
        from formulate.answers.today import today

        home = self.home()
        return today(home.read, home.pantry)

    def _read_home(self, now: datetime | None = None) -> Home:
        from formulate.answers.household import Home, flock_of

        path, pantry = self._list_path(), self.pantry
        read = flock_of(path, now)
        flock = read.flock
        named = [flock.mix, *(animal.mix for animal in flock.animals)]
        named += [flock.change.from_mix] if flock.change else []
        for name in named:
            if name.endswith(".json"):
                self.store.path(name)
        return Home(read, self._pantry_of(flock.pantry, pantry), path)

    def _list_path(self) -> Path:
        """The list of animals; it and its log must lie in the folder."""
        path = self.flock_path
        self.store.path(path.with_suffix(".log.csv").name)
        if not path.exists():
            raise InputError(say("page.no-list"), say("page.list-first"))
        return path

    def _pantry_of(self, name: str, pantry: Pantry) -> Pantry:
        """The pantry that the flock's file names, within the folder."""
        if not name or Path(name).name == name == PANTRY:
            return pantry
        path = self.store.path(name)
        return parse_pantry(read_text(path), str(path))
