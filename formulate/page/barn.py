"""The routes of the animals: a list of them, weights and bottles logged, which milk they drink."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flask import Flask, render_template, request

from formulate.base.errors import InputError
from formulate.base.files import parse_toml, read_text, replace_file
from formulate.base.locks import held
from formulate.page.store import FLOCK, PANTRY, Store
from formulate.pantry.pantry import Pantry, parse_pantry

if TYPE_CHECKING:
    from formulate.page.animals import Barnful

__all__ = ["Animals", "Barn", "animals_of"]

#: Where nobody said when they can feed: six times, the fewest that a newborn needs.
FEEDING_TIMES = ("06:00", "09:30", "13:00", "16:30", "20:00", "23:30")


@dataclass(frozen=True)
class Animals:
    """The part of the page about animals.

    Parameters
    ----------
    barn : Barnful or None
        None where no plan can be made.
    fault : str
        Why it cannot be read.
    said : str
        What was just done.
    typed : mapping
        What was typed and could not be taken.
    ask_sure : bool
        Whether a weight looked wrong and is to be confirmed.
    mix : str
        Milk that the file names.
    milks : tuple of str
        Recipes to choose from.
    names : tuple of str
        Of the animals; empty where there is no list of them yet, or it cannot be read.
    times : str
        When they can be fed.
    today : date or None
    """

    barn: Barnful | None = None
    fault: str = ""
    said: str = ""
    typed: Any = None
    ask_sure: bool = False
    mix: str = ""
    milks: tuple[str, ...] = ()
    names: tuple[str, ...] = ()
    times: str = ""
    today: date | None = None


def animals_of(store: Store, pantry: Pantry, **more: Any) -> Animals:
    """The animals of a folder, as they are now."""
    found = Animals(milks=tuple(pantry.recipes), **more)
    try:
        path = store.path(FLOCK)
        if not path.exists():
            return found
        from formulate.page.animals import barnful
        from formulate.rearing.flock_file import load_flock
        from formulate.rearing.log import log_path

        store.path(log_path(path).name)
        read = load_flock(path)
        flock = read.flock
        found = replace(
            found,
            mix=flock.mix,
            names=tuple(flock.names),
            times=" ".join(f"{moment:%H:%M}" for moment in flock.feeding_times),
            today=read.now.date(),
        )
        own = _pantry_of(store, flock.pantry, pantry)
        if flock.mix.endswith(".json"):
            store.path(flock.mix)
        return replace(found, milks=tuple(own.recipes), barn=barnful(read, own))
    except InputError as error:
        return replace(found, fault=found.fault or _plainly(error, store))


def _plainly(error: InputError, store: Store) -> str:
    """A fault as the page says it: no folder, no options of the commands."""
    text = str(error).replace(f"{store.folder}/", "")
    text = text.replace("add --sure (in the flock file sure = true)", "tick the box")
    return text.replace("add --sure", "tick the box")


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
        for name in ("animal", "weigh", "fed", "drink", "shop"):
            app.add_url_rule(f"/{name}", name, getattr(self, name), methods=["POST"])

    def _page(self, done: Callable[[], str]) -> Any:
        """Do something and show the animals, with what was said or what was wrong."""
        pantry = self.store.shelf().pantry
        status = 200
        try:
            more: dict[str, Any] = {"said": done()}
        except InputError as error:
            status = 422
            fault, sure = _plainly(error, self.store), "--sure" in str(error)
            more = {"fault": fault, "typed": request.form, "ask_sure": sure}
        animals = animals_of(self.store, pantry, **more)
        if request.headers.get("X-Part") == "animals":
            token = request.form.get("token", "")
            return render_template("animals.html", animals=animals, token=token), status
        return self.whole_page(status=status, animals=animals)

    def _flock(self) -> Any:
        from formulate.rearing.flock_file import load_flock
        from formulate.rearing.log import log_path

        path = self.store.path(FLOCK)
        log = self.store.path(log_path(path).name)
        if not path.exists():
            raise InputError("there is no list of animals yet", "Put one on it first.")
        return load_flock(path), log

    def weigh(self) -> Any:
        """Log a weight."""
        return self._page(self._weigh)

    def _weigh(self) -> str:
        from formulate.rearing.log import SURE, Entry, What, add_entries
        from formulate.rearing.logged import with_entries
        from formulate.rearing.weights import parse_weight

        read, log = self._flock()
        animal = read.flock.animal(request.form.get("name", ""))
        day = _date(request.form.get("on", ""), read.now.date())
        kilograms = parse_weight(request.form.get("weight", ""))
        sure = "sure" in request.form
        moment = datetime.combine(day, time())
        entry = Entry(moment, animal.name, What.WEIGHT, round(kilograms, 3), SURE if sure else "")
        _, faults = with_entries(animal, [entry], read.now.date())
        if faults:
            raise faults[0]
        added = add_entries(log, [entry], replace=sure)
        done = "Written down" if added else "It was written down already"
        return f"{done}: {animal.name}, {kilograms:.2f} kg on {day}."

    def fed(self) -> Any:
        """Log a bottle."""
        return self._page(self._fed)

    def _fed(self) -> str:
        from formulate.base.units import parse_volume
        from formulate.rearing.colostrum import refuse_as_colostrum
        from formulate.rearing.log import Entry, What, add_entries

        read, log = self._flock()
        animal = read.flock.animal(request.form.get("name", ""))
        moment = read.now.replace(second=0, microsecond=0)
        volume = parse_volume(request.form.get("amount", ""), read.flock.kitchen)
        colostrum = request.form.get("what") == "colostrum"
        if not colostrum:
            refuse_as_colostrum(animal, moment)
        what = What.COLOSTRUM if colostrum else What.MILK
        entry = Entry(moment, animal.name, what, round(volume, 1))
        add_entries(log, [entry], replace="sure" in request.form)
        return f"Written down: {animal.name} drank {entry.amount:.0f} mL at {moment:%H:%M}."

    def animal(self) -> Any:
        """Put an animal on the list."""
        return self._page(self._animal)

    def _animal(self) -> str:
        import tomlkit

        form = request.form
        name = " ".join(form.get("animal", "").split())[:60]
        if not name:
            raise InputError("it has no name yet", "A number will do.")
        entry = tomlkit.table()
        entry["species"] = "kid" if form.get("species") == "kid" else "lamb"
        born = _date(form.get("born", ""), None)
        if hour := form.get("hour", "").strip():
            try:
                entry["born"] = datetime.combine(born, time.fromisoformat(hour))
            except ValueError:
                raise InputError(f'"{hour[:20]}" is not a time', "Write it as 04:30.") from None
        else:
            entry["born"] = born
        entry["birth_weight"] = " ".join(form.get("birth_weight", "").split())
        self._change(lambda document: _put(document, name, entry))
        return f"{name} is on the list."

    def drink(self) -> Any:
        """Say which milk they drink."""
        return self._page(self._drink)

    def _drink(self) -> str:
        mix = " ".join(request.form.get("mix", "").split())
        times = request.form.get("times", "").replace(",", " ").split()
        if not mix:
            raise InputError("no milk is named", "Choose one, or write a recipe.")

        def change(document: Any) -> None:
            document["mix"] = mix
            if times and times != [str(t)[:5] for t in document.get("feeding_times", [])]:
                document["feeding_times"] = times[:24]

        self._change(change)
        return f"They drink {mix}."

    def shop(self) -> Any:
        """The shopping list."""
        from formulate.answers.household import Household
        from formulate.page.shopping import shopping_list

        status = 200
        try:
            read, _ = self._flock()
            own = _pantry_of(self.store, read.flock.pantry, self.store.shelf().pantry)
            if read.flock.mix.endswith(".json"):
                self.store.path(read.flock.mix)
            shopping: dict[str, Any] = {"list": shopping_list(Household(read, own))}
        except InputError as error:
            status, shopping = 422, {"fault": _plainly(error, self.store)}
        if request.headers.get("X-Part") == "shopping":
            token = request.form.get("token", "")
            return render_template("shopping.html", shopping=shopping, token=token), status
        return self.whole_page(status=status, shopping=shopping)

    def _change(self, change: Callable[[Any], None]) -> None:
        """Change the flock's file, begun where there is none; read it before it is replaced."""
        import tomlkit
        from tomlkit.exceptions import TOMLKitError

        from formulate.rearing.flock_file import parse_flock

        path = self.store.path(FLOCK)
        with held(path):
            text = read_text(path) if path.exists() else ""
            parse_toml(text, FLOCK)
            try:
                document = tomlkit.parse(text) if text else self._begun()
                if "pantry" not in document and self.store.shelf().saved:
                    document["pantry"] = PANTRY  # so that the commands find it too
                change(document)
                new = tomlkit.dumps(document)
            except TOMLKitError as error:
                raise InputError(
                    "the page cannot change this file as it is laid out", "Change it by hand.",
                    FLOCK,
                ) from error  # fmt: skip
            parse_flock(new, FLOCK)
            if new != text:
                replace_file(path, new)

    def _begun(self) -> Any:
        """A new list: whose cups, which milk, when they are fed."""
        import tomlkit

        shelf = self.store.shelf()
        mix = " ".join(request.form.get("mix", "").split())
        if not mix:
            raise InputError("no milk is named", "Choose the milk they drink.")
        document = tomlkit.document()
        document.add(tomlkit.comment("The animals. Times are by the clock."))
        document["mix"] = mix
        document["kitchen"] = shelf.pantry.kitchen.value
        document["feeding_times"] = list(FEEDING_TIMES)
        return document


def _put(document: Any, name: str, entry: Any) -> None:
    import tomlkit

    if "animals" not in document:
        document.add("animals", tomlkit.table(is_super_table=True))
    taken = {known.lower() for known in document["animals"]}
    if name.lower() in taken:
        raise InputError(f"{name} is on the list already", "Give this one another name.")
    document["animals"].add(name, entry)


def _date(text: str, usual: date | None) -> date:
    text = text.strip()
    if not text and usual is not None:
        return usual
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise InputError(
            f'"{text[:20]}" is not a date' if text else "the day is missing",
            "Write it as 2026-11-14.",
        ) from None
