"""The routes of the animals: a list of them, weights and bottles logged, which milk they drink."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flask import Flask, make_response, render_template, request

from formulate.base.errors import InputError
from formulate.base.files import read_text
from formulate.base.moments import parse_day
from formulate.page.store import FLOCK, PANTRY, Store
from formulate.pantry.pantry import Pantry, parse_pantry

if TYPE_CHECKING:
    from formulate.answers.household import Home
    from formulate.answers.record import Recorded
    from formulate.page.animals import Barnful
    from formulate.report.scour_told import ScourAsked, ScourTold

__all__ = ["Animals", "Barn", "animals_of"]

#: How long the page remembers who feeds [s].
REMEMBERED = 30 * 24 * 3600


@dataclass(frozen=True)
class Asked:
    """Why something was not written down, and what to send again if it is right.

    Parameters
    ----------
    where : str
        The route.
    questions : tuple of str
    fields : tuple of (str, str)
    """

    where: str
    questions: tuple[str, ...]
    fields: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Animals:
    """The part of the page about animals.

    Parameters
    ----------
    barn : Barnful or None
        None where no plan can be made.
    fault : str
        Why it cannot be read.
    said : tuple of str
        What was just done.
    typed : mapping
        What was typed and could not be taken.
    asked : Asked or None
        What is to be confirmed.
    mix : str
        Milk that the file names.
    milks : tuple of str
        Recipes to choose from.
    names : tuple of str
        Of the animals; empty where there is no list of them yet, or it cannot be read.
    times : str
        When they can be fed.
    today : date or None
    by : str
        Who feeds, as they said last.
    asks : ScourAsked or None
        What is asked of one that scours; None where there is no animal.
    scour : ScourTold or None
        What to do for one that scours.
    """

    barn: Barnful | None = None
    fault: str = ""
    said: tuple[str, ...] = ()
    typed: Any = None
    asked: Asked | None = None
    mix: str = ""
    milks: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    times: str = ""
    today: date | None = None
    by: str = ""
    asks: ScourAsked | None = None
    scour: ScourTold | None = None


def animals_of(store: Store, pantry: Pantry, **more: Any) -> Animals:
    """The animals of a folder, as they are now."""
    who = " ".join(request.form.get("by", request.cookies.get("by", "")).split())[:60]
    found = Animals(milks=tuple(pantry.recipes), by=who, **more)
    try:
        if not store.path(FLOCK).exists():
            return found
        from formulate.answers.today import today
        from formulate.page.animals import barnful
        from formulate.report.scour_told import scour_asked

        home = _household(store, pantry)
        flock = home.read.flock
        found = replace(
            found,
            mix=flock.mix,
            names=tuple(flock.names),
            times=" ".join(f"{moment:%H:%M}" for moment in flock.feeding_times),
            today=home.read.now.date(),
            milks=tuple(home.pantry.recipes),
            asks=scour_asked(),
        )
        return replace(found, barn=barnful(today(home.read, home.pantry)))
    except InputError as error:
        return replace(found, fault=found.fault or _plainly(error, store))


def _household(store: Store, pantry: Pantry) -> Home:
    """The flock and its pantry; nothing outside the folder is read for them.

    Raises
    ------
    InputError
        If there is no list of animals, or it names a file elsewhere.
    """
    from formulate.answers.household import Home, flock_of

    path = store.path(FLOCK)
    store.path(path.with_suffix(".log.csv").name)
    if not path.exists():
        raise InputError("there is no list of animals yet", "Put one on it first.")
    read = flock_of(path)
    flock = read.flock
    named = [flock.mix, *(animal.mix for animal in flock.animals)]
    named += [flock.change.from_mix] if flock.change else []
    for name in named:
        if name.endswith(".json"):
            store.path(name)
    return Home(read, _pantry_of(store, flock.pantry, pantry), path)


def _plainly(error: InputError, store: Store) -> str:
    """A fault as the page says it: without the folder's name."""
    return str(error).replace(f"{store.folder}/", "")


def _pantry_of(store: Store, name: str, pantry: Pantry) -> Pantry:
    """The pantry that the flock's file names, within the folder."""
    if not name or Path(name).name == name == PANTRY:
        return pantry
    path = store.path(name)
    return parse_pantry(read_text(path), str(path))


class Barn:
    """The routes.

    Parameters
    ----------
    store : Store
    whole_page : callable
        Renders the page, for those without scripts.
    """

    def __init__(self, store: Store, whole_page: Callable[..., Any]) -> None:
        self.store, self.whole_page = store, whole_page

    def routes(self, app: Flask) -> None:
        """Say what answers where."""
        for name in ("animal", "weigh", "fed", "note", "drink", "scour", "shop"):
            app.add_url_rule(f"/{name}", name, getattr(self, name), methods=["POST"])

    def _page(self, done: Callable[[], str | Recorded | ScourTold]) -> Any:
        """Do something and show the animals, with what was said, asked or wrong."""
        pantry = self.store.shelf().pantry
        status = 200
        try:
            more = self._told(done())
            status = 422 if "asked" in more else 200
        except InputError as error:
            status = 422
            more = {"fault": _plainly(error, self.store), "typed": request.form}
        animals = animals_of(self.store, pantry, **more)
        if request.headers.get("X-Part") == "animals":
            token = request.form.get("token", "")
            reply = make_response(
                render_template("animals.html", animals=animals, token=token), status
            )
        else:
            reply = make_response(self.whole_page(status=status, animals=animals))
        if request.form.get("by"):
            reply.set_cookie("by", animals.by, max_age=REMEMBERED, httponly=True, samesite="Strict")
        return reply

    def _told(self, done: str | Recorded | ScourTold) -> dict[str, Any]:
        """What is said after something was done, or asked before it."""
        if isinstance(done, str):
            return {"said": (done,)}
        from formulate.report.record_text import recorded_told
        from formulate.report.scour_told import ScourTold

        if isinstance(done, ScourTold):
            return {"scour": done, "typed": request.form}
        if done.questions:
            fields = [(k, v) for k, v in request.form.items() if k not in ("token", "sure")]
            questions = tuple(question.text for question in done.questions)
            return {"asked": Asked(request.path, questions, tuple(fields)), "typed": request.form}
        return {"said": recorded_told(done)}

    def _record(self, word: str, amount: str, at: datetime | None = None) -> Recorded:
        """Write something down of the animal that the form names."""
        from formulate.answers.record import record
        from formulate.answers.wanted import wanted_of

        form = request.form
        home = _household(self.store, self.store.shelf().pantry)
        one = wanted_of(
            form.get("name", ""), word, amount, at=at, by=form.get("by", ""),
            note=form.get("note", ""),
        )  # fmt: skip
        assert home.path is not None
        return record(home.path, [one], pantry=home.pantry, sure="sure" in form)

    def weigh(self) -> Any:
        """Log a weight."""

        def done() -> Recorded:
            day = _day(request.form.get("on", ""))
            at = None if day is None else datetime.combine(day, time())
            return self._record("weight", request.form.get("weight", ""), at)

        return self._page(done)

    def fed(self) -> Any:
        """Log a bottle."""

        def done() -> Recorded:
            what = request.form.get("what", "")
            what = what if what in ("colostrum", "drink") else "milk"
            return self._record(what, request.form.get("amount", ""), self._at())

        return self._page(done)

    def scour(self) -> Any:
        """Say what to do for one that scours."""

        def done() -> ScourTold:
            from formulate.answers.rehydrate import rehydrate, seen
            from formulate.report.scour_told import scour_asked, scour_told

            form = request.form
            home = _household(self.store, self.store.shelf().pantry)
            looked = seen(
                {sign.id: form.get(sign.id) or None for sign in scour_asked().signs},
                temperature=form.get("temperature", "").strip() or None,
                blood="blood" in form,
                belly="belly" in form,
                day=2 if "longer" in form else 1,
                others="others" in form,
                water={"yes": True, "no": False}.get(form.get("water", "")),
            )
            name = form.get("name", "")
            by_scale = {"scale": True, "spoons": False}.get(form.get("measure", ""))
            found = rehydrate(home.pantry, looked, read=home.read, animal=name, by_scale=by_scale)
            return scour_told(name, found)

        return self._page(done)

    def note(self) -> Any:
        """Log anything else, or take an entry back."""

        def done() -> Recorded:
            form = request.form
            return self._record(form.get("what", ""), form.get("amount", ""), self._at())

        return self._page(done)

    def _at(self) -> datetime | None:
        """The hour that was typed; None for now."""
        text = request.form.get("at", "").strip()
        if not text:
            return None
        from formulate.answers.wanted import parse_moment

        home = _household(self.store, self.store.shelf().pantry)
        return parse_moment(text, home.read.clock)

    def animal(self) -> Any:
        """Put an animal on the list."""

        def done() -> str:
            from formulate.answers.flock_edit import Newcomer, add_animal

            form = request.form
            mix = " ".join(form.get("mix", "").split())
            path = self.store.path(FLOCK)
            newcomer = Newcomer(
                form.get("animal", ""),
                "kid" if form.get("species") == "kid" else "lamb",
                form.get("born", ""),
                form.get("hour", ""),
                form.get("birth_weight", ""),
                mix if path.exists() else "",
            )
            begun = partial(self._begun, mix)
            return add_animal(path, begun, newcomer, self._pantry(), self._pantry_file())

        return self._page(done)

    def _begun(self, mix: str) -> str:
        from formulate.answers.flock_edit import FEEDING_TIMES, begin_flock

        return begin_flock(self.store.shelf().pantry, mix, FEEDING_TIMES)

    def _pantry_file(self) -> str:
        """Named in the list where there is one, so that the commands find it too."""
        return PANTRY if self.store.shelf().saved else ""

    def _pantry(self) -> Pantry:
        """The flock's pantry, or the page's where there is no list yet."""
        shelf = self.store.shelf().pantry
        return _household(self.store, shelf).pantry if self.store.path(FLOCK).exists() else shelf

    def drink(self) -> Any:
        """Say which milk they drink."""

        def done() -> str:
            from formulate.answers.flock_edit import change_milk

            form = request.form
            mix = " ".join(form.get("mix", "").split())
            times = form.get("times", "").replace(",", " ").split()
            path = self.store.path(FLOCK)
            return change_milk(
                path, mix, times, self._pantry(), self._pantry_file(),
                gradually="gradually" in form,
            )  # fmt: skip

        return self._page(done)

    def shop(self) -> Any:
        """The shopping list."""
        from formulate.page.shopping import shopping_list

        status = 200
        try:
            home = _household(self.store, self.store.shelf().pantry)
            shopping: dict[str, Any] = {"list": shopping_list(home)}
        except InputError as error:
            status, shopping = 422, {"fault": _plainly(error, self.store)}
        if request.headers.get("X-Part") == "shopping":
            token = request.form.get("token", "")
            return render_template("shopping.html", shopping=shopping, token=token), status
        return self.whole_page(status=status, shopping=shopping)


def _day(text: str) -> date | None:
    text = text.strip()
    if not text:
        return None
    return parse_day(text)
