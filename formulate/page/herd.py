"""Animals: the list, a page for each, what they drink, and what to do when one scours."""

from __future__ import annotations

from datetime import date, datetime, time
from functools import partial
from typing import TYPE_CHECKING, Any

from flask import Flask, Response, request

from formulate.base.errors import InputError
from formulate.base.moments import WEEK, parse_day
from formulate.base.units import Kitchen
from formulate.page.animal import animal_page
from formulate.page.answer import answer
from formulate.page.mixing import KitchenForm
from formulate.page.noting import at_of_note, quoted, record_of_form
from formulate.page.once import Asked, Done
from formulate.page.site import Site
from formulate.page.store import PANTRY
from formulate.pantry.pantry import Pantry

if TYPE_CHECKING:
    from formulate.report.scour_told import ScourTold

__all__ = ["HerdPlace", "rehydration_of_form"]


class HerdPlace:
    """The routes of Animals.

    Parameters
    ----------
    site : Site
    """

    def __init__(self, site: Site) -> None:
        self.site = site

    def routes(self, app: Flask) -> None:
        """Register the routes."""
        for name in ("animals", "milk", "scour"):
            app.add_url_rule(f"/{name}", name, getattr(self, f"open_{name}"))
        app.add_url_rule("/animal", "animal", self.open_animal)
        app.add_url_rule("/animal", "animal_added", self.animal, methods=["POST"])
        app.add_url_rule("/scour", "scour_asked", self.scour, methods=["POST"])
        for name in ("weigh", "note", "drink", "change", "allow", "rear", "store"):
            app.add_url_rule(f"/{name}", f"{name}_written", getattr(self, name), methods=["POST"])

    # --- the list --------------------------------------------------------------------------

    def open_animals(self) -> Response:
        """Every animal, each a link to its own place."""
        return self.animals_shown()

    def animals_shown(self, status: int = 200, **more: Any) -> Response:
        """The list, with what was said, asked or wrong."""
        site = self.site
        values: dict[str, Any] = {"barn": None, "names": (), "gone": (), "mix": ""}
        if site.has_animals():
            try:
                read = site.list_read()
                values |= {"names": tuple(read.flock.names), "day": read.now.date()}
                values["gone"] = tuple(animal.name for animal in read.flock.gone)
                barn = values["barn"] = site.barn()
                values["warnings"] = [site.here(text) for text in (*barn.warnings, *barn.faults)]
            except InputError as error:
                more.setdefault("fault", site.plainly(error))
        recipes: tuple[str, ...] = ()
        try:
            recipes = tuple(self._pantry_or_sample().recipes)
            if not values["names"]:
                kept = KitchenForm.kept(site)
                values["mix"] = answer(kept.rows, kept.aim, kept.shelf.pantry).recipe
        except InputError as error:
            more.setdefault("fault", site.plainly(error))
        return site.show("animals_place.html", "/animals", status, milks=recipes, **values, **more)

    def _pantry_or_sample(self) -> Pantry:
        """The flock's pantry, or the page's where the list cannot be read."""
        try:
            return self._pantry()
        except InputError:
            return self.site.pantry

    def _pantry(self) -> Pantry:
        """The flock's pantry, or the page's if there is no list yet."""
        return self.site.home().pantry if self.site.has_animals() else self.site.pantry

    def _pantry_file(self) -> str:
        """Named in the list, if there is one, so that the commands find it too."""
        return PANTRY if self.site.store.shelf().saved else ""

    def animal(self) -> Response:
        """Put an animal on the list."""
        form = request.form

        def act() -> Done | Asked:
            from formulate.answers.flock_edit import Newcomer, add_animal

            mix = " ".join(form.get("mix", "").split())
            path = self.site.flock_path
            newcomer = Newcomer(
                form.get("animal", ""),
                "kid" if form.get("species") == "kid" else "lamb",
                form.get("born", ""),
                form.get("hour", ""),
                form.get("birth_weight", ""),
                mix if path.exists() else "",
            )
            begun = partial(self._begun, mix)
            return Done((add_animal(path, begun, newcomer, self._pantry(), self._pantry_file()),))

        return self.site.write(act, "/animals", self.animals_shown)

    def _begun(self, mix: str) -> str:
        from formulate.answers.flock_edit import FEEDING_TIMES, begin_flock

        return begin_flock(self.site.pantry, mix, FEEDING_TIMES)

    # --- one animal ------------------------------------------------------------------------

    def open_animal(self) -> Response:
        """One animal: its feeds, weights and entries, and everything to write down."""
        return animal_page(self.site, request.args.get("name", ""))

    def _one_shown(self, **more: Any) -> Response:
        return animal_page(self.site, request.form.get("name", ""), **more)

    def _back(self) -> str:
        if request.form.get("back") == "animal":
            return f"/animal?name={quoted(request.form.get('name', ''))}"
        return "/" if request.form.get("back") == "today" else "/animals"

    def _show(self) -> Any:
        return self._one_shown if request.form.get("back") == "animal" else self.animals_shown

    def weigh(self) -> Response:
        """Write down a weight."""

        def act() -> Done | Asked:
            day = _day(request.form.get("on", ""))
            at = None if day is None else datetime.combine(day, time())
            return record_of_form(self.site, "weight", request.form.get("weight", ""), at)

        return self.site.write(act, self._back(), self._show())

    def note(self) -> Response:
        """Write down anything else, or take an entry back."""

        def act() -> Done | Asked:
            form = request.form
            return record_of_form(
                self.site, form.get("what", ""), form.get("amount", ""), at_of_note(self.site)
            )

        return self.site.write(act, self._back(), self._show())

    def change(self) -> Response:
        """Correct what the list says of an animal."""
        form = request.form

        def act() -> Done | Asked:
            from formulate.answers.flock_edit import Newcomer, change_animal

            newcomer = Newcomer(
                form.get("name", ""),
                "kid" if form.get("species") == "kid" else "lamb",
                form.get("born", ""),
                form.get("hour", ""),
                form.get("birth_weight", ""),
                " ".join(form.get("mix", "").split()),
                form.get("level"),
                form.get("weaning"),
                None if "cap" not in form else " ".join(form["cap"].split()),
                None if "notes" not in form else form["notes"].strip(),
            )
            return Done((change_animal(self.site.flock_path, newcomer, self._pantry()),))

        return self.site.write(act, self._back(), self._one_shown)

    # --- what they drink -------------------------------------------------------------------

    def open_milk(self) -> Response:
        """What they drink, when, and what a veterinarian allows."""
        return self.milk_shown()

    def milk_shown(self, status: int = 200, **more: Any) -> Response:
        """The place, with what was said or is wrong."""
        from formulate.answers.flock_store import stored
        from formulate.report.fed_milks import milks_told

        site = self.site
        values: dict[str, Any] = {"flock": None, "milks": (), "told": (), "fed": ()}
        if site.has_animals():
            try:
                home = site.home()
                times = " ".join(f"{moment:%H:%M}" for moment in home.read.flock.feeding_times)
                values |= {"flock": home.read.flock, "milks": tuple(home.pantry.recipes),
                           "times": times, "day": home.read.now.date(),
                           "stored": stored(site.flock_path), "week": WEEK,
                           "kitchens": [(one.value, one.title) for one in Kitchen]}  # fmt: skip
                today = site.today()
                values |= {"told": milks_told(today.milks), "fed": today.milks}
            except InputError as error:
                more.setdefault("fault", site.plainly(error))
        return site.show("milk_place.html", "/animals", status, **values, **more)

    def drink(self) -> Response:
        """Say which milk they drink."""
        form = request.form

        def act() -> Done | Asked:
            from formulate.answers.flock_edit import change_milk

            mix = " ".join(form.get("mix", "").split())
            times = form.get("times", "").replace(",", " ").split()
            told = change_milk(
                self.site.flock_path, mix, times, self._pantry(), self._pantry_file(),
                gradually="gradually" in form,
            )  # fmt: skip
            return Done((told,))

        return self.site.write(act, "/milk", self.milk_shown)

    def rear(self) -> Response:
        """Say how fast they should grow, how milk ends, and whether the shed is cold."""
        form = request.form

        def act() -> Done | Asked:
            from formulate.answers.flock_edit import change_rearing

            level, weaning = form.get("level", ""), form.get("weaning", "")
            pantry = self.site.home().pantry
            told = change_rearing(self.site.flock_path, level, weaning, "cold" in form, pantry)
            return Done((told,))

        return self.site.write(act, "/milk", self.milk_shown)

    def store(self) -> Response:
        """Say which bottles, jars, refrigerator and shopping days there are."""
        form = request.form

        def act() -> Done | Asked:
            from formulate.answers.flock_store import STORED, change_store

            told = {key: " ".join(form.getlist(key)) for key in STORED if key in form}
            if "days" in form:  # a page without a ticked day sends none of them
                told["shopping_days"] = " ".join(form.getlist("shopping_days"))
            return Done((change_store(self.site.flock_path, told, self.site.home().pantry),))

        return self.site.write(act, "/milk", self.milk_shown)

    def allow(self) -> Response:
        """Write down a veterinarian's word for a milk."""
        form = request.form

        def act() -> Done | Asked:
            from formulate.answers.flock_edit import allow_milk

            told = allow_milk(
                self.site.flock_path,
                form.get("recipe", ""),
                form.get("veterinarian", ""),
                form.get("on", ""),
                form.get("allows", ""),
                self._pantry(),
            )
            return Done((told,))

        return self.site.write(act, "/milk", self.milk_shown)

    # --- one that scours -------------------------------------------------------------------

    def open_scour(self) -> Response:
        """What to look at, and when to ring the veterinarian."""
        return self.scour_shown(request.args.get("name", ""))

    def scour_shown(
        self, name: str, status: int = 200, fault: str = "", found: ScourTold | None = None
    ) -> Response:
        """The place for one animal, with what to do for it."""
        from formulate.report.scour_told import scour_asked

        site = self.site
        names: tuple[str, ...] = ()
        try:
            names = tuple(site.home().read.flock.names) if site.has_animals() else ()
        except InputError as error:
            fault = fault or site.plainly(error)
        return site.show(
            "scour_place.html", "/animals", status, asks=scour_asked(), found=found,
            name=name if name in names else "", names=names, fault=fault, mine=request.form,
        )  # fmt: skip

    def scour(self) -> Response:
        """Say what to do for an animal that scours."""
        from formulate.report.scour_told import scour_told

        name = request.form.get("name", "")
        try:
            found = scour_told(name, rehydration_of_form(self.site))
        except InputError as error:
            return self.scour_shown(name, 422, self.site.plainly(error))
        return self.scour_shown(name, found=found)


def rehydration_of_form(site: Site) -> Any:
    """What to do for the animal that the form names, by its signs."""
    from formulate.answers.rehydrate import rehydrate, seen
    from formulate.report.scour_told import scour_asked

    form = request.form
    typed = {key: form.get(key, "").strip()[:2000] or None
             for key in ("temperature", "age", "weight", "drink", "make")}  # fmt: skip
    name = form.get("name", "")
    home = site.home() if site.has_animals() and name else None
    looked = seen(
        {sign.id: form.get(sign.id) or None for sign in scour_asked().signs},
        temperature=typed["temperature"],
        age=typed["age"],
        blood="blood" in form,
        belly="belly" in form,
        day=2 if "longer" in form else 1,
        others="others" in form,
        water={"yes": True, "no": False}.get(form.get("water", "")),
    )
    by_scale = {"scale": True, "spoons": False}.get(form.get("measure", ""))
    return rehydrate(
        site.pantry if home is None else home.pantry,
        looked,
        recipe=typed["drink"],
        read=None if home is None else home.read,
        animal=name or None,
        weight=typed["weight"],
        water=typed["make"],
        by_scale=by_scale,
    )


def _day(text: str) -> date | None:
    text = text.strip()
    return parse_day(text) if text else None
