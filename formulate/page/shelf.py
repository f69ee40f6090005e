"""Shelf: the foods, their prices, how much is left; cartons; settings of the kitchen."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from flask import Flask, Response, request

from formulate.base.errors import InputError, ManyFaults
from formulate.base.messages import say
from formulate.base.moments import parse_day
from formulate.base.units import Kitchen
from formulate.page.label import CartonForm
from formulate.page.mixing import KitchenForm, MixPlace, foods_to_add
from formulate.page.once import Asked, Done
from formulate.page.rows import edits_of, rebased, rows_of
from formulate.page.site import Site
from formulate.page.store import PANTRY, Changed, SavedShelf
from formulate.pantry.add_food import put_food
from formulate.pantry.country import country_names, table_names
from formulate.pantry.edit import Edits, set_foods, set_kitchen
from formulate.pantry.item import Item
from formulate.pantry.pantry import sample_text
from formulate.pantry.price import parse_price
from formulate.report.text import tables_said
from formulate.report.words import food_words

__all__ = ["ShelfPlace"]

#: Other packages of a food that its place has room for.
SIZES = 4
#: Keys of a food that are a text as typed, a day, or a number of days.
_TEXTS = ("on_hand", "largest_share", "smallest", "step")
_DATES = ("use_by", "priced_on")
_DAYS = ("keeps_closed", "keeps_open")


class ShelfPlace:
    """The routes of Shelf.

    Parameters
    ----------
    site : Site
    mixing : MixPlace
        Shows the ticks again where they were sent from there.
    """

    def __init__(self, site: Site, mixing: MixPlace) -> None:
        self.site, self.mixing = site, mixing

    def routes(self, app: Flask) -> None:
        """Register the routes."""
        for name in ("shelf", "carton", "food", "kitchen"):
            app.add_url_rule(f"/{name}", name, getattr(self, f"open_{name}"))
        app.add_url_rule("/shelf", "shelf_typed", self.shelf, methods=["POST"])
        app.add_url_rule("/carton", "carton_read", self.carton, methods=["POST"])
        app.add_url_rule("/food", "food_written", self.food, methods=["POST"])
        app.add_url_rule("/kitchen", "kitchen_written", self.kitchen, methods=["POST"])
        app.add_url_rule("/save", "save", self.save, methods=["POST"])
        app.add_url_rule("/shelve", "shelve", self.shelve, methods=["POST"])

    # --- the shelf -------------------------------------------------------------------------

    def open_shelf(self) -> Response:
        """As the file has it, and what was not saved yet."""
        return self.shown(KitchenForm.kept(self.site))

    def shown(self, asked: KitchenForm, status: int = 200, **more: Any) -> Response:
        """The place, with the rows as typed."""
        pantry = asked.shelf.pantry
        return self.site.show(
            "shelf_place.html",
            "/shelf",
            status,
            shelf=asked.shelf,
            pantry=pantry,
            rows=asked.rows,
            unsaved=asked.unsaved,
            drinks=[item for item in pantry.items if item.food.drink_only],
            foods_said=tables_said(pantry),
            **foods_to_add(pantry, asked.rows),
            **more,
        )

    def shelf(self) -> Response:
        """With what was typed, and a new food put to it."""
        asked = KitchenForm.sent(self.site)
        added = [request.form["add"]] if request.form.get("add") else []
        asked, focus = asked.with_foods(added)
        return asked.remembered(self.shown(asked, focus=focus))

    def save(self) -> Response:
        """Write the shelf to its file, unless somebody else has written meanwhile."""
        asked = KitchenForm.sent(self.site)
        on_mix = request.form.get("back") == "mix"
        show = self.mixing.shown if on_mix else self.shown
        if any(row.faults for row in asked.rows):
            return asked.remembered(show(asked, 422, not_saved=True))
        pantry = asked.shelf.pantry
        edits = edits_of(asked.rows, pantry, date.today())
        now = self.site.store.shelf()
        if not edits and now.mark != asked.shelf.mark:
            return asked.remembered(self._conflict(asked, edits, now))

        def act() -> Done | Asked:
            self.site.store.save(asked.shelf.mark, set_foods(edits, pantry.table))
            return Done((say("page.saved", file=PANTRY),))

        def again(status: int, fault: str = "", **_: Any) -> Response:
            return show(asked, status, not_saved=True, fault=fault)

        try:
            reply = self.site.write(act, "/mix" if on_mix else "/shelf", again)
        except Changed as changed:
            return asked.remembered(self._conflict(asked, edits, changed.now))
        if reply.status_code >= 400:
            return asked.remembered(reply)
        saved = self.site.store.shelf()
        return KitchenForm(saved, rows_of(saved.pantry), asked.aim).remembered(reply)

    def _conflict(self, asked: KitchenForm, mine: Edits, now: SavedShelf) -> Response:
        """Both, side by side; nothing is written until the person chooses."""
        theirs = edits_of(rows_of(now.pantry), asked.shelf.pantry, date.today())
        gone = [i.food for i in asked.shelf.pantry.items if now.pantry.item(i.food.id) is None]
        return self.site.show(
            "conflict.html",
            "/shelf",
            409,
            mine=_told(mine, now, asked.shelf),
            theirs=_told(theirs, now, asked.shelf),
            gone=gone,
            both=sorted(f for f in mine if set(mine[f]) & set(theirs.get(f, {}))),
            rows=rebased(asked.rows, mine, now.pantry),
            now=now,
            taken_away=asked.shelf.saved and not now.saved,
            aim=asked.aim,
            back=request.form.get("back", ""),
        )

    # --- one food --------------------------------------------------------------------------

    def open_food(self) -> Response:
        """One food of the shelf: everything that the file may say about it."""
        return self.food_shown(request.args.get("id", ""))

    def food_shown(self, name: str, status: int = 200, fault: str = "", **_: Any) -> Response:
        """The place of one food.

        Raises
        ------
        InputError
            If it is not on the shelf.
        """
        shelf = self.site.store.shelf()
        item = _item_of(shelf, name)
        form = request.form if request.method == "POST" else {}
        return self.site.show(
            "food_place.html",
            "/shelf",
            status,
            shelf=shelf,
            pantry=shelf.pantry,
            item=item,
            words=food_words(item.food),
            fields={**_fields_of(item, shelf), **form},
            sizes=range(SIZES),
            fault=fault,
            seen=form.get("seen", shelf.mark),
        )

    def food(self) -> Response:
        """Write down what is on hand, when it goes off, its packages, how it may be used."""
        form = request.form
        name = form.get("id", "")
        shelf = self.site.store.seen(form.get("seen", "")) or self.site.store.shelf()
        item = _item_of(shelf, name)

        def act() -> Done | Asked:
            edits = {item.food.id: _edits_of_food(form, item, shelf)}
            try:
                self.site.store.save(shelf.mark, set_foods(edits, shelf.pantry.table))
            except Changed:
                raise InputError(
                    say("page.changed-elsewhere", file=PANTRY), say("page.look-then-save")
                ) from None
            return Done((say("page.saved", file=PANTRY),))

        def show(status: int, fault: str = "", **_: Any) -> Response:
            return self.food_shown(name, status, fault)

        return self.site.write(act, f"/food?id={item.food.id}", show)

    # --- cartons ---------------------------------------------------------------------------

    def open_carton(self) -> Response:
        """The form for a label."""
        return self.carton_shown(CartonForm())

    def carton_shown(self, carton: CartonForm, status: int = 200, **_: Any) -> Response:
        """The place of a label."""
        return self.site.show("carton_place.html", "/shelf", status, carton=carton)

    def carton(self) -> Response:
        """A label read."""
        carton = CartonForm.of(request.form, self.site.pantry, True)
        return self.carton_shown(carton, 422 if carton.fault else 200)

    def shelve(self) -> Response:
        """Put a labelled food into the file, and on the shelf to be priced."""
        carton = CartonForm.of(request.form, self.site.pantry, True)
        once = self.site.once.said(request.form.get("once", ""))
        if once is None and (carton.fault or carton.label is None):
            return self.carton_shown(carton, 422)

        def act() -> Done | Asked:
            assert carton.label is not None
            self.site.store.save(
                None, put_food(carton.food_id, carton.name, carton.label, more=carton.own)
            )
            return Done((say("page.carton-kept", name=carton.name),))

        def show(status: int, fault: str = "", **_: Any) -> Response:
            return self.carton_shown(replace(carton, fault=fault), status)

        reply = self.site.write(act, f"/shelf#price-{carton.food_id}", show)
        if reply.status_code >= 400 or not carton.food_id:
            return reply
        asked, _ = KitchenForm.kept(self.site).with_foods([carton.food_id])
        return asked.remembered(reply)

    # --- the kitchen -----------------------------------------------------------------------

    def open_kitchen(self) -> Response:
        """Whose cups, foods and money."""
        return self.kitchen_shown()

    def kitchen_shown(self, status: int = 200, fault: str = "", **_: Any) -> Response:
        """The place of the kitchen."""
        shelf = self.site.store.shelf()
        pantry = shelf.pantry
        form = request.form if request.method == "POST" else {}
        fields = {
            "country": pantry.stated,
            "kitchen": pantry.kitchen.value,
            "currency": pantry.currency,
            "measures": pantry.measures,
            "name": pantry.name,
            "table": _written(shelf, "table"),
            "prices_on": _written(shelf, "prices_on"),
        }
        return self.site.show(
            "kitchen_place.html",
            "/shelf",
            status,
            shelf=shelf,
            fields={**fields, **form},
            countries=country_names(),
            tables=table_names(),
            kitchens=[(one.value, one.title) for one in Kitchen],
            fault=fault,
        )

    def kitchen(self) -> Response:
        """Write down the kitchen; a fresh one begins with its country's sample."""
        form = request.form

        def act() -> Done | Asked:
            shelf = self.site.store.shelf()
            country = form.get("country", "").strip()
            if not shelf.saved and country and country != shelf.pantry.stated:
                self.site.store.save(None, lambda _: sample_text(country))
                return Done((say("page.country-shelf", file=PANTRY),))
            keys = {
                "country": country or None,
                "kitchen": form.get("kitchen", "").strip() or None,
                "currency": form.get("currency", "").strip().upper() or None,
                "measures": form.get("measures", "").strip() or None,
                "name": " ".join(form.get("name", "").split()) or None,
                "table": form.get("table", "").strip() or None,
                "prices_on": parse_day(dated) if (dated := form.get("prices_on", "")) else None,
            }
            self.site.store.save(shelf.mark, set_kitchen(keys))
            return Done((say("page.saved", file=PANTRY),))

        def show(status: int, fault: str = "", **_: Any) -> Response:
            return self.kitchen_shown(status, fault)

        try:
            return self.site.write(act, "/kitchen", show)
        except Changed:
            return self.kitchen_shown(
                409,
                self.site.plainly(
                    InputError(
                        say("page.changed-elsewhere", file=PANTRY), say("page.look-then-save")
                    )
                ),
            )


def _written(shelf: SavedShelf, key: str) -> str:
    """A key of the whole file, as written there."""
    from formulate.base.files import parse_toml

    return str(parse_toml(shelf.text, "pantry").get(key, ""))


def _item_of(shelf: SavedShelf, name: str) -> Item:
    item = shelf.pantry.item(shelf.pantry.table.find(name).id)
    if item is None:
        raise InputError(say("page.not-on-shelf"), say("page.shelve-first"), name)
    return item


def _fields_of(item: Item, shelf: SavedShelf) -> dict[str, str]:
    """What the file says about a food, as written there."""
    from formulate.base.files import parse_toml

    foods = parse_toml(shelf.text, "pantry").get("foods", {})
    entry: Mapping[str, Any] = {}
    for name, told in foods.items():
        if shelf.pantry.table.find(name).id == item.food.id:
            entry = told
    fields = {key: str(entry[key]) for key in (*_TEXTS, *_DAYS, *_DATES) if key in entry}
    for k, size in enumerate(item.sizes[:SIZES]):
        fields |= {f"size.{k}": size.words, f"size_price.{k}": f"{size.price:g}"}
    return fields


def _edits_of_food(form: Mapping[str, str], item: Item, shelf: SavedShelf) -> dict[str, Any]:
    """What was typed of a food, as keys to set; what is the same as before is left out."""
    was = _fields_of(item, shelf)
    faults: list[InputError] = []
    edits: dict[str, Any] = {}
    for key in (*_TEXTS, *_DAYS, *_DATES):
        text = " ".join(form.get(key, "").split())
        if text == was.get(key, ""):
            continue
        try:
            edits[key] = _value(key, text)
        except InputError as error:
            faults.append(error.at(key.replace("_", " ")))
    sizes = []
    for k in range(SIZES):
        package = " ".join(form.get(f"size.{k}", "").split())
        price = form.get(f"size_price.{k}", "").strip()
        if not package and not price:
            continue
        try:
            if not (package and price):
                raise InputError(say("page.package-and-price"))
            sizes.append({"price": parse_price(price), "package": package})
        except InputError as error:
            faults.append(error.at(f"package {k + 2}"))
    if sizes != [{"price": s.price, "package": s.words} for s in item.sizes[:SIZES]]:
        if len(item.sizes) > SIZES:
            faults.append(
                InputError(say("page.more-packages"), say("page.change-them", file=PANTRY))
            )
        edits["sizes"] = sizes or None
        if (item.priced_on is None or sizes) and "priced_on" not in edits:
            edits["priced_on"] = date.today()
    if faults:
        raise ManyFaults(faults)
    return edits


def _value(key: str, text: str) -> Any:
    if not text:
        return None
    if key in _DATES:
        return parse_day(text)
    if key in _DAYS:
        if not (text.isascii() and text.isdigit() and 0 < int(text[:6]) <= 3650):
            raise InputError(say("page.no-days"), say("page.no-days-remedy"))
        return int(text)
    return text


def _told(edits: Edits, now: SavedShelf, seen: SavedShelf) -> list[tuple[str, list[str]]]:
    """Edits as a person reads them: the food, and what changes about it."""
    words = {key: say(f"page.edited.{key}") for key in ("price", "package", "in_mix")}
    told = []
    for food_id, keys in edits.items():
        food = now.pantry.table.get(food_id) or seen.pantry.table[food_id]
        lines = []
        for key, raw in keys.items():
            value = raw
            if key == "package":
                value = raw or say("page.edited.none")
            elif key == "in_mix":
                value = say("page.edited.yes" if value else "page.edited.no")
            elif key == "price":
                value = say("page.edited.none") if value is None else f"{value:.2f}"
            if key in words:
                lines.append(f"{words[key]}: {value}")
        told.append((food_words(food), lines))
    return told
