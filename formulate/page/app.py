"""The application: one page, its routes, its plain pages for whatever goes wrong."""

from __future__ import annotations

import secrets
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import Any

from flask import Flask, Response, render_template, request
from werkzeug.exceptions import HTTPException
from werkzeug.wrappers import Response as AnyResponse

from formulate.base.errors import FormulateError, InputError, ManyFaults
from formulate.base.numerals import with_marks_in_html
from formulate.page.aim import Aim, choices, containers
from formulate.page.answer import Checked, answer, checked
from formulate.page.guard import guard
from formulate.page.label import CartonForm
from formulate.page.rows import (
    Row,
    edits_of,
    rebased,
    rows_from,
    rows_of,
    with_food,
)
from formulate.page.sharing.routes import ShareRoutes
from formulate.page.sharing.share import Share, let_in_as
from formulate.page.store import PANTRY, Changed, SavedShelf, Store
from formulate.pantry.add_food import put_food
from formulate.pantry.edit import Edits, keep_recipe, set_foods
from formulate.report.text import tables_said
from formulate.report.words import food_words, tied

__all__ = ["create_app"]

#: What a person is told when a request is turned away, by status.
_TURNED_AWAY = {
    401: "This browser is not let in. On the computer, open the address that the program printed. "
    "On a telephone, pair it: show a code on the computer’s page, under “Telephones”, and scan it.",
    403: "This page answers only to itself, on this computer. If the program was started again, "
    "open the page afresh.",
    404: "There is nothing at this address.",
    405: "That cannot be done at this address.",
    413: "That was too much at once. A shelf, a recipe or a label is shorter.",
    414: "The address is too long.",
    415: "Only what the page itself sends is read.",
    500: "A fault of the program, not of your doing. Your files are as they were.",
}


@dataclass(frozen=True)
class _Asked:
    """A form, read: whose shelf it was made from, the rows, the aim."""

    shelf: SavedShelf
    rows: tuple[Row, ...]
    aim: Aim
    check_text: str = ""
    more: dict[str, Any] = field(default_factory=dict)


def create_app(
    folder: Path, port: int, token: str | None = None, share: Share | None = None
) -> Flask:
    """Make the application for a folder.

    Parameters
    ----------
    folder : Path
        With a ``pantry.toml``, or where one is to be saved; the sample is shown until then.
    port : int
        Where it will listen, on this computer only.
    token : str, optional
        What every form must carry; drawn afresh where left out.
    share : Share, optional
        With whom the page is shared; by default it is for this computer only.
    """
    app = Flask("formulate.page")
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    app.jinja_env.filters["food"] = food_words
    app.jinja_env.filters["tied"] = tied
    app.url_map.merge_slashes = False
    token = token or secrets.token_urlsafe(24)
    guard(app, port, token, share)
    if share is not None:
        ShareRoutes(share.at(port), token).routes(app)
    store = Store(folder)
    _Page(store, token).routes(app)
    _faults(app)
    _numbers(app, store, share)
    return app


def _numbers(app: Flask, store: Store, share: Share | None) -> None:
    """Let every page write its numbers as the kitchen's country does."""

    @app.after_request
    def written(response: Response) -> Response:
        if share is not None and let_in_as() is None:
            return response  # no file is read for whoever is not let in
        if response.mimetype == "text/html" and not response.is_streamed:
            try:
                decimal = store.shelf().pantry.decimal
            except InputError:
                return response
            if decimal != ".":
                response.set_data(with_marks_in_html(response.get_data(as_text=True), decimal))
        return response


class _Page:
    """The routes, sharing a folder and a token."""

    def __init__(self, store: Store, token: str) -> None:
        self.store, self.token = store, token

    def routes(self, app: Flask) -> None:
        """Say what answers where."""
        app.add_url_rule("/", "home", self.home)
        for name in ("mix", "answer", "check", "checked", "save", "keep", "carton", "shelve"):
            app.add_url_rule(f"/{name}", name, getattr(self, name), methods=["POST"])
        from formulate.page.barn import Barn

        Barn(self.store, self.whole_page).routes(app)

    # --- what is asked ---------------------------------------------------------------------

    def asked(self) -> _Asked:
        """Read the form against the shelf that it was made from."""
        form = request.form
        shelf = self.store.seen(form.get("seen", "")) or self.store.shelf()
        rows = rows_from(form, shelf.pantry) if "row" in form else rows_of(shelf.pantry)
        aim = Aim.of(form, shelf.pantry)
        return _Asked(shelf, rows, aim, form.get("recipe", "")[:2000])

    # --- pages -----------------------------------------------------------------------------

    def whole_page(self, asked: _Asked | None = None, status: int = 200, **more: Any) -> Any:
        """The whole page, as asked."""
        if asked is None:
            shelf = self.store.shelf()
            asked = _Asked(shelf, rows_of(shelf.pantry), Aim.of(request.form, shelf.pantry))
        pantry = asked.shelf.pantry
        usual, others = choices(pantry)
        there = {row.id for row in asked.rows}
        foods = [food for food in pantry.table.values() if food.id not in there]
        html = render_template(
            "page.html",
            token=self.token,
            shelf=asked.shelf,
            pantry=pantry,
            folder=self.store.folder,
            file=PANTRY,
            rows=asked.rows,
            aim=asked.aim,
            usual=usual,
            others=others,
            containers=containers(pantry.kitchen),
            foods_said=tables_said(pantry),
            suitable=[food for food in foods if food.suitable],
            unusual=[food for food in foods if not (food.suitable or food.drink_only)],
            answer=answer(asked.rows, asked.aim, pantry),
            check_text=asked.check_text,
            carton=more.pop("carton", None) or CartonForm.of(request.form, pantry),
            animals=more.pop("animals", None) or self._animals(asked.shelf),
            **more,
        )
        return html, status

    def _animals(self, shelf: SavedShelf) -> Any:
        from formulate.page.barn import animals_of

        return animals_of(self.store, shelf.pantry)

    def home(self) -> Any:
        """The page as the file has it."""
        return self.whole_page()

    def mix(self) -> Any:
        """The page with what was typed; a try or a new food put to it."""
        asked = self.asked()
        form = request.form
        rows, aim, focus = asked.rows, asked.aim, ""
        kind, _, what = form.get("try", "").partition(":")
        if kind == "sure":
            aim = replace(aim, sure=True)
        elif kind == "not-sure":
            aim = replace(aim, sure=False)
        elif kind == "most":
            aim = replace(aim, most=what)
        added = what.split(",") if kind == "with" else []
        if "put" in form and form.get("add"):
            added = [form["add"]]
        for name in added[:3]:
            rows = with_food(rows, name, asked.shelf.pantry)
            focus = rows[-1].id if rows[-1].faults else ""
        return self.whole_page(_Asked(asked.shelf, rows, aim, asked.check_text), focus=focus)

    def answer(self) -> Any:
        """The answer alone, for the script to put in its place."""
        asked = self.asked()
        found = answer(asked.rows, asked.aim, asked.shelf.pantry)
        return render_template(
            "answer.html", answer=found, aim=asked.aim, pantry=asked.shelf.pantry
        )

    # --- a recipe of one's own -------------------------------------------------------------

    def check(self) -> Any:
        """The page with a recipe checked."""
        asked = self.asked()
        if name := request.form.get("named"):
            asked = _Asked(asked.shelf, asked.rows, asked.aim, name[:2000])
        found, fault = _try_check(asked)
        return self.whole_page(asked, checked=found, check_fault=fault)

    def checked(self) -> Any:
        """The check alone, for the script."""
        asked = self.asked()
        found, fault = _try_check(asked)
        return render_template("checked.html", checked=found, check_fault=fault)

    # --- saving ----------------------------------------------------------------------------

    def save(self) -> Any:
        """Write the shelf to its file, unless somebody else has written meanwhile."""
        asked = self.asked()
        if any(row.faults for row in asked.rows):
            return self.whole_page(asked, 422, not_saved=True)
        edits = edits_of(asked.rows, asked.shelf.pantry, date.today())
        now = self.store.shelf()
        if not edits and now.mark != asked.shelf.mark:
            return self._conflict(asked, edits, now)
        try:
            saved = self.store.save(asked.shelf.mark, set_foods(edits, asked.shelf.pantry.table))
        except Changed as changed:
            return self._conflict(asked, edits, changed.now)
        rows = rows_of(saved.pantry)
        return self.whole_page(_Asked(saved, rows, asked.aim, asked.check_text), saved=True)

    def _conflict(self, asked: _Asked, mine: Edits, now: SavedShelf) -> Any:
        """Both, side by side; nothing is written until the person says what."""
        theirs = edits_of(rows_of(now.pantry), asked.shelf.pantry, date.today())
        gone = [i.food for i in asked.shelf.pantry.items if now.pantry.item(i.food.id) is None]
        html = render_template(
            "conflict.html",
            token=self.token,
            file=PANTRY,
            mine=_told(mine, now, asked.shelf),
            theirs=_told(theirs, now, asked.shelf),
            gone=gone,
            both=sorted(f for f in mine if set(mine[f]) & set(theirs.get(f, {}))),
            rows=rebased(asked.rows, mine, now.pantry),
            now=now,
            taken_away=asked.shelf.saved and not now.saved,
            aim=asked.aim,
        )
        return html, 409

    def keep(self) -> Any:
        """Put the mix among the pantry's recipes."""
        asked = self.asked()
        name = "-".join(request.form.get("keep_as", "").lower().split())[:60]
        text = request.form.get("kept", "")
        try:
            if not name:
                raise InputError("the recipe has no name", "Write one, as spring-mix.")
            checked(text, asked.aim, asked.shelf.pantry)
            saved = self.store.save(None, keep_recipe(name, text))
        except InputError as error:
            return self.whole_page(asked, 422, keep_fault=str(error))
        return self.whole_page(self._onto(asked, saved), kept_as=name)

    def _onto(self, asked: _Asked, now: SavedShelf) -> _Asked:
        """What was typed, on top of a file that has grown since."""
        edits = edits_of(asked.rows, asked.shelf.pantry, date.today())
        rows = rebased(asked.rows, edits, now.pantry)
        return _Asked(now, rows, asked.aim, asked.check_text)

    # --- cartons ---------------------------------------------------------------------------

    def carton(self) -> Any:
        """The page with a label read."""
        asked = self.asked()
        return self.whole_page(asked, carton=CartonForm.of(request.form, asked.shelf.pantry, True))

    def shelve(self) -> Any:
        """Put a labelled food into the file and on the shelf."""
        asked = self.asked()
        carton = CartonForm.of(request.form, asked.shelf.pantry, True)
        if carton.fault or carton.label is None:
            return self.whole_page(asked, 422, carton=carton)
        saved = self.store.save(None, put_food(carton.food_id, carton.name, carton.label))
        onto = self._onto(asked, saved)
        rows = with_food(onto.rows, carton.food_id, saved.pantry)
        onto = _Asked(saved, rows, asked.aim, asked.check_text)
        return self.whole_page(onto, carton=CartonForm(), shelved=carton.name, focus=carton.food_id)


def _try_check(asked: _Asked) -> tuple[Checked | None, str]:
    if not asked.check_text.strip():
        return None, "Write a recipe first, as 2 quarts whole milk + 3/4 cup heavy cream."
    try:
        return checked(asked.check_text, asked.aim, asked.shelf.pantry), ""
    except FormulateError as error:
        return None, str(error)


def _told(edits: Edits, now: SavedShelf, seen: SavedShelf) -> list[tuple[str, list[str]]]:
    """Edits as a person reads them: the food, and what of it."""
    words = {"price": "price", "package": "package", "in_mix": "in the mix"}
    told = []
    for food_id, keys in edits.items():
        food = now.pantry.table.get(food_id) or seen.pantry.table[food_id]
        lines = []
        for key, raw in keys.items():
            value = raw
            if key == "package":
                value = raw or "none"
            elif key == "in_mix":
                value = "yes" if value else "no"
            elif key == "price":
                value = "none" if value is None else f"{value:.2f}"
            if key in words:
                lines.append(f"{words[key]}: {value}")
        told.append((food_words(food), lines))
    return told


def _faults(app: Flask) -> None:
    """Whatever goes wrong is told on a plain page."""

    def page(status: int, title: str, lines: list[str]) -> Any:
        return render_template("message.html", title=title, lines=lines), status

    @app.errorhandler(HTTPException)
    def turned_away(error: HTTPException) -> Any:
        if isinstance(error.response, AnyResponse):
            return error.response
        status = error.code or 500
        return page(status, "Not done", [_TURNED_AWAY.get(status, "That could not be read.")])

    @app.errorhandler(InputError)
    def wrong(error: InputError) -> Any:
        faults = error.faults if isinstance(error, ManyFaults) else (error,)
        return page(400, "This needs a look", [str(fault) for fault in faults])

    @app.errorhandler(Exception)
    def fault(error: Exception) -> Any:
        app.logger.exception("fault of the page", exc_info=error)
        return page(500, "Not done", [_TURNED_AWAY[500]])
