"""Mix: what may go in, what it is for, and the answer; and checking a recipe of one's own."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from flask import Flask, Response, make_response, render_template, request

from formulate.base.errors import FormulateError, InputError, ManyFaults
from formulate.base.messages import say
from formulate.page.aim import CHANCES, SURE, USUAL, Aim, choices, containers
from formulate.page.answer import Checked, answer, asked_mix, checked
from formulate.page.drafts import COOKIE, aim_of, drafted, keep, rows_with
from formulate.page.once import Done
from formulate.page.rows import Row, rows_from, rows_of, with_food
from formulate.page.site import Site
from formulate.page.store import SavedShelf
from formulate.page.taken import PROGRAMS, picture, program
from formulate.page.told import blocks
from formulate.pantry.edit import keep_recipe
from formulate.pantry.pantry import Pantry
from formulate.report.text import tables_said

__all__ = ["KitchenForm", "MixPlace"]

#: Readings of instruments: field of the page, as `check` takes it.
READINGS = ("brix", "lactometer", "at", "marked", "freezing_point", "weigh")


@dataclass(frozen=True)
class KitchenForm:
    """The shelf's form as it was sent, or as the file and the draft have it.

    Parameters
    ----------
    shelf : SavedShelf
        Whose rows they are.
    rows : tuple of Row
    aim : Aim
    """

    shelf: SavedShelf
    rows: tuple[Row, ...]
    aim: Aim

    @classmethod
    def sent(cls, site: Site) -> KitchenForm:
        """Read the form against the shelf that it was made from."""
        form = request.form
        shelf = site.store.seen(form.get("seen", "")) or site.store.shelf()
        if "row" not in form:
            kept = cls.kept(site)
            aim = Aim.of(form, shelf.pantry) if "whom" in form or "make" in form else kept.aim
            return cls(kept.shelf, kept.rows, aim)
        # Another place than Mix does not ask what it is for.
        aim = Aim.of(form, shelf.pantry)
        if "whom" not in form:
            aim = aim_of(drafted(request.cookies.get(COOKIE, "")), shelf.pantry)
        return cls(shelf, rows_from(form, shelf.pantry), aim)

    @classmethod
    def kept(cls, site: Site) -> KitchenForm:
        """The file's rows, with what was not saved yet on top."""
        shelf = site.store.shelf()
        draft = drafted(request.cookies.get(COOKIE, ""))
        rows = rows_with(rows_of(shelf.pantry), draft, shelf.pantry)
        return cls(shelf, rows, aim_of(draft, shelf.pantry))

    def with_foods(self, names: list[str]) -> tuple[KitchenForm, str]:
        """With some foods ticked; and the one whose price is asked for."""
        rows, focus = self.rows, ""
        for name in names[:3]:
            rows = with_food(rows, name, self.shelf.pantry)
            focus = rows[-1].id if rows[-1].faults else focus
        return replace(self, rows=rows), focus

    @property
    def unsaved(self) -> tuple[str, ...]:
        """Foods with changes that are not in the file yet."""
        return tuple(row.words for row in self.rows if row.is_changed(self.shelf.pantry))

    def remembered(self, reply: Response) -> Response:
        """Keep what is not saved with a reply."""
        return keep(reply, self.rows, self.aim, self.shelf.pantry)


def foods_to_add(pantry: Pantry, rows: tuple[Row, ...]) -> dict[str, Any]:
    """Foods that are not on the shelf yet: milk foods, and those for a veterinarian to decide."""
    there = {row.id for row in rows}
    foods = [food for food in pantry.table.values() if food.id not in there]
    return {
        "suitable": [food for food in foods if food.suitable],
        "unusual": [food for food in foods if not (food.suitable or food.drink_only)],
    }


class MixPlace:
    """The routes of Mix.

    Parameters
    ----------
    site : Site
    """

    def __init__(self, site: Site) -> None:
        self.site = site

    def routes(self, app: Flask) -> None:
        """Register the routes."""
        app.add_url_rule("/mix", "mix", self.open)
        app.add_url_rule("/mix", "mix_asked", self.mix, methods=["POST"])
        app.add_url_rule("/check", "check", self.open_check)
        app.add_url_rule("/check", "check_asked", self.check, methods=["POST"])
        for name in ("check-picture", "keep-checked"):
            method = getattr(self, name.replace("-", "_"))
            app.add_url_rule(f"/{name}", name, method, methods=["POST"])
        for name in ("answer", "keep", "forget", "draft", "taken"):
            app.add_url_rule(f"/{name}", name, getattr(self, name), methods=["POST"])

    # --- the mix ---------------------------------------------------------------------------

    def open(self) -> Response:
        """As the file has it, and what was not saved yet."""
        return self.shown(KitchenForm.kept(self.site))

    def shown(self, asked: KitchenForm, status: int = 200, **more: Any) -> Response:
        """The place, as asked."""
        pantry = asked.shelf.pantry
        usual, others = choices(pantry)
        return self.site.show(
            "mix_place.html",
            "/mix",
            status,
            shelf=asked.shelf,
            pantry=pantry,
            rows=asked.rows,
            unsaved=asked.unsaved,
            aim=asked.aim,
            usual=usual,
            others=others,
            containers=containers(pantry.kitchen),
            chances=CHANCES,
            foods_said=tables_said(pantry),
            answer=answer(asked.rows, asked.aim, pantry),
            **foods_to_add(pantry, asked.rows),
            **more,
        )

    def mix(self) -> Response:
        """With what was typed; a try or a new food put to it."""
        asked = KitchenForm.sent(self.site)
        form = request.form
        kind, _, what = form.get("try", "").partition(":")
        if kind in ("sure", "not-sure"):
            asked = replace(asked, aim=replace(asked.aim, sure=SURE if kind == "sure" else ""))
        elif kind == "most":
            asked = replace(asked, aim=replace(asked.aim, most=what))
        added = what.split(",") if kind == "with" else []
        if "put" in form and form.get("add"):
            added = [form["add"]]
        asked, focus = asked.with_foods(added)
        return asked.remembered(self.shown(asked, focus=focus))

    def answer(self) -> Response:
        """The answer alone, for the script to put in its place."""
        asked = KitchenForm.sent(self.site)
        pantry = asked.shelf.pantry
        found = answer(asked.rows, asked.aim, pantry)
        html = render_template(
            "answer.html", answer=found, aim=asked.aim, pantry=pantry, unsaved=asked.unsaved
        )
        return asked.remembered(make_response(html))

    def taken(self) -> Response:
        """The mix to take away: a picture, or the problem for another solver."""
        asked = KitchenForm.sent(self.site)
        from formulate.report.mix import mix_picture, write_files

        kind = request.form.get("file", "")
        try:
            found = asked_mix(asked.rows, asked.aim, asked.shelf.pantry)
        except FormulateError:
            return asked.remembered(self.shown(asked, 422))  # the answer says what is wrong
        if kind in PROGRAMS:
            return program(lambda path: write_files(found, [path]), f"mix.{kind}")
        made = found.milk or found.plain or found.instead
        if made is None:
            return asked.remembered(self.shown(asked, 422))
        return picture(lambda: mix_picture(found, made), f"mix.{kind}")

    def draft(self) -> Response:
        """Remember what is ticked and typed, and say nothing."""
        return KitchenForm.sent(self.site).remembered(make_response("", 204))

    def forget(self) -> Response:
        """Take back what was ticked and typed but not saved."""
        shelf = self.site.store.shelf()
        asked = KitchenForm(shelf, rows_of(shelf.pantry), Aim.of(request.form, shelf.pantry))
        return asked.remembered(self.shown(asked))

    def keep(self) -> Response:
        """Put the mix among the pantry's recipes."""
        asked = KitchenForm.sent(self.site)
        act = partial(self._kept, request.form.get("kept", ""), asked.aim)

        def show(status: int, fault: str = "", **_: Any) -> Response:
            return self.shown(asked, status, keep_fault=fault)

        return asked.remembered(self.site.write(act, "/mix#answer", show))

    # --- a recipe of one's own -------------------------------------------------------------

    def open_check(self) -> Response:
        """The form for a recipe and for instrument readings."""
        return self.shown_check(request.args.get("recipe", "")[:2000])

    def shown_check(self, text: str, whom: str = "", status: int = 200, **more: Any) -> Response:
        """The place, with a recipe in its field."""
        pantry = self.site.pantry
        usual, others = choices(pantry)
        aim = aim_of(drafted(request.cookies.get(COOKIE, "")), pantry)
        return self.site.show(
            "check_place.html",
            "/mix",
            status,
            pantry=pantry,
            text=text,
            whom=whom or aim.whom,
            ranges=(*usual, *others),
            given=request.form,
            **more,
        )

    def check(self) -> Response:
        """A checked recipe, with the readings of instruments, if any."""
        text, whom = _recipe_of_form()
        typed = {name: request.form.get(name, "").strip() or None for name in READINGS}
        try:
            found: Checked = checked(text, Aim(whom), self.site.pantry, typed)
        except FormulateError as error:
            return self.shown_check(text, whom, 422, fault=_faults_of(error))
        return self.shown_check(text, whom, checked=found, held=blocks(found.held))

    def check_picture(self) -> Response:
        """Each value of a recipe against its range, drawn."""
        from formulate.answers.check import check
        from formulate.report.pictures.mix import reads_picture

        text, whom = _recipe_of_form()
        pantry = self.site.pantry
        try:
            found = check(text, pantry, whom, kitchen=pantry.kitchen)
        except FormulateError as error:
            return self.shown_check(text, whom, 422, fault=_faults_of(error))
        milk = found.milk
        if milk is None:
            return self.check()
        return picture(lambda: reads_picture(milk.mix), "recipe.png")

    def keep_checked(self) -> Response:
        """Put a recipe of one's own among the pantry's."""
        text, whom = _recipe_of_form()

        def show(status: int, fault: str = "", **_: Any) -> Response:
            if not text.strip():
                return self.shown_check(text, whom, status, fault=fault)
            return self.shown_check(text, whom, status, keep_fault=fault,
                                    checked=checked(text, Aim(whom), self.site.pantry))  # fmt: skip

        return self.site.write(partial(self._kept, text, Aim(whom)), "/check", show)

    def _kept(self, text: str, aim: Aim) -> Done:
        """Write a recipe into the file."""
        name = "-".join(request.form.get("keep_as", "").lower().split())[:60]
        if not name:
            raise InputError(say("page.no-recipe-name"), say("page.no-recipe-name-remedy"))
        checked(text, aim, self.site.pantry)
        self.site.store.save(None, keep_recipe(name, " ".join(text.split())))
        return Done((say("page.kept", name=name),))


def _recipe_of_form() -> tuple[str, str]:
    """The recipe to check, and for whom."""
    form = request.form
    text = form.get("named") or form.get("recipe", "")
    return text[:2000], form.get("whom", USUAL[0])


def _faults_of(error: FormulateError) -> str:
    """What is wrong, every part of it."""
    parts = error.faults if isinstance(error, ManyFaults) else (error,)
    return " ".join(str(part) for part in parts)
