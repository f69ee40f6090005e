"""Shop: what to buy on each trip, the season, and sheets and a calendar to take away."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from flask import Flask, Response, make_response, request

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.moments import parse_clock
from formulate.page.site import Site

if TYPE_CHECKING:
    from formulate.answers.household import Home
    from formulate.answers.sheet import Sheet
    from formulate.answers.shop import ShopAnswer, ShopRequest
    from formulate.report.fed_milks import MilkTold

__all__ = ["ShopPlace", "ShoppingShown", "TripShown", "shopping_list", "shown"]

#: Longest search of one request [s].
PATIENCE = 5.0
#: Trips shown at once; the rest are one tap away.
SOON = 3


@dataclass(frozen=True)
class TripShown:
    """One trip.

    Parameters
    ----------
    day, cost : str
    goods : tuple of str
    """

    day: str
    cost: str
    goods: tuple[str, ...]


@dataclass(frozen=True)
class ShoppingShown:
    """What to buy, trip by trip.

    Parameters
    ----------
    verdict : tuple of MilkTold
        On every milk, the worst first.
    summary : tuple of str
    soon, later : tuple of TripShown
    prices : tuple of (food, package, price, date)
        Every package that was weighed against the others.
    left : tuple of str
        What is thrown away or left over.
    left_out : tuple of str
        Milks that are not used.
    why_not : tuple of str
        Why there is no list.
    """

    verdict: tuple[MilkTold, ...]
    summary: tuple[str, ...] = ()
    soon: tuple[TripShown, ...] = ()
    later: tuple[TripShown, ...] = ()
    prices: tuple[tuple[str, str, str, str], ...] = ()
    left: tuple[str, ...] = ()
    why_not: tuple[str, ...] = ()


class ShopPlace:
    """The routes of Shop.

    Parameters
    ----------
    site : Site
    """

    def __init__(self, site: Site) -> None:
        self.site = site

    def routes(self, app: Flask) -> None:
        """Register the routes."""
        for name in ("shop", "season", "print"):
            app.add_url_rule(f"/{name}", name, getattr(self, f"open_{name}"))
        app.add_url_rule("/shop", "shop_asked", self.shop, methods=["POST"])
        app.add_url_rule("/season", "season_asked", self.season, methods=["POST"])
        for name in ("card", "labels", "calendar", "drink-card"):
            method = getattr(self, name.replace("-", "_"))
            app.add_url_rule(f"/{name}", name, method, methods=["POST"])

    # --- the list --------------------------------------------------------------------------

    def open_shop(self) -> Response:
        """The form for a list."""
        return self.shop_shown()

    def shop_shown(self, status: int = 200, **more: Any) -> Response:
        """The place, with a list where one was asked for."""
        recipes: tuple[str, ...] = ()
        if self.site.has_animals():
            try:
                recipes = tuple(self.site.home().pantry.recipes)
            except InputError as error:
                more.setdefault("fault", self.site.plainly(error))
        return self.site.show("shop_place.html", "/shop", status, recipes=recipes,
                              given=request.form, **more)  # fmt: skip

    def shop(self) -> Response:
        """The shopping list."""
        try:
            found = shopping_list(self.site.home(), request_of_form())
        except InputError as error:
            return self.shop_shown(422, fault=self.site.plainly(error))
        return self.shop_shown(list=found)

    def calendar(self) -> Response:
        """Feeds, mixing, trips and weighings as a calendar to take away."""
        from formulate.answers.shop import shop
        from formulate.report.calendar import calendar_text

        try:
            home = self.site.home()
            answer = shop(home.read, home.pantry, request_of_form())
        except InputError as error:
            return self.shop_shown(422, fault=self.site.plainly(error))
        if not answer.plan:
            return self.shop_shown(list=shown(answer))
        return _file(calendar_text(answer), "text/calendar", "feeds.ics")

    # --- the season ------------------------------------------------------------------------

    def open_season(self) -> Response:
        """The form for a season."""
        return self.season_shown()

    def season_shown(self, status: int = 200, **more: Any) -> Response:
        """The place, with a season where one was asked for."""
        return self.site.show("season_place.html", "/shop", status, **more)

    def season(self) -> Response:
        """What rearing costs from birth to weaning."""
        from formulate.answers.season import season
        from formulate.answers.shop import ShopRequest
        from formulate.page.told import blocks
        from formulate.report.season_text import season_text

        try:
            home = self.site.home()
            answer = season(home.read, home.pantry, ShopRequest(seconds=2 * PATIENCE))
        except InputError as error:
            return self.season_shown(422, fault=self.site.plainly(error))
        return self.season_shown(blocks=blocks([season_text(answer)]))

    # --- sheets ----------------------------------------------------------------------------

    def open_print(self) -> Response:
        """The form for the card and the labels."""
        return self.print_shown()

    def print_shown(self, status: int = 200, **more: Any) -> Response:
        """The place of the sheets."""
        return self.site.show("print_place.html", "/shop", status, given=request.form, **more)

    def card(self) -> Response:
        """The card for the refrigerator door."""
        return self._sheet("card.pdf")

    def labels(self) -> Response:
        """Labels for the jars."""
        return self._sheet("labels.pdf")

    def _sheet(self, name: str) -> Response:
        """A sheet to take away, or why there is none."""
        from formulate.report.fed_milks import milks_told
        from formulate.report.printed.card import card_bytes
        from formulate.report.printed.label import labels_bytes
        from formulate.report.printed.paper import paper_named

        try:
            found = self._sheet_of_form()
            paper = paper_named(request.form.get("paper") or None, found.pantry)
            if not found.milks:
                told = milks_told(found.refused)
                return self.print_shown(422, told=told, bars=[bar.text for bar in found.bars],
                                        fault=say("page.nothing-printed"))  # fmt: skip
            mixed = None if "by-hand" in request.form else date.today()
            if name == "card.pdf":
                data = card_bytes(found, mixed, paper)
            else:
                data = labels_bytes(found, mixed, paper)
        except InputError as error:
            return self.print_shown(422, fault=self.site.plainly(error))
        return _file(data, "application/pdf", name)

    def _sheet_of_form(self) -> Sheet:
        from formulate.answers.sheet import SheetRequest, sheet

        form = request.form
        wanted = {key: form.get(key, "").strip() or None for key in ("make", "container")}
        if not self.site.has_animals():
            return sheet(self.site.pantry, SheetRequest(**wanted))
        home = self.site.home()
        return sheet(home.pantry, SheetRequest(**wanted), home.read)

    def drink_card(self) -> Response:
        """A card for the drink of a scouring animal."""
        from formulate.page.herd import rehydration_of_form
        from formulate.report.printed.drink_card import drink_card_bytes
        from formulate.report.printed.paper import paper_named

        answer = rehydration_of_form(self.site)
        if not answer.good:
            raise InputError(say("page.no-drink-card"))
        paper = paper_named(None, self.site.home().pantry)
        return _file(drink_card_bytes(answer, paper), "application/pdf", "drink-card.pdf")


def request_of_form() -> ShopRequest:
    """What the form asks of the shopping.

    Raises
    ------
    InputError
        If a field cannot be read.
    """
    from formulate.answers.shop import ShopRequest
    from formulate.pantry.price import parse_price

    form = request.form
    keeps, hour = form.get("keeps", "").strip(), form.get("mix_at", "").strip()
    trip = form.get("trip_cost", "").strip()
    if keeps and not (keeps.isascii() and keeps.isdigit() and len(keeps) < 4):
        raise InputError(say("page.not-days", text=keeps[:20]), say("page.not-days-remedy"))
    return ShopRequest(
        tuple(name for name in form.getlist("also") if name)[:8],
        int(keeps) if keeps else None,
        parse_clock(hour) if hour else None,
        parse_price(trip) if trip else 0.0,
        PATIENCE,
    )


def _file(data: bytes, kind: str, name: str) -> Response:
    """Bytes to take away."""
    reply = make_response(data)
    reply.mimetype = kind
    reply.headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return reply


def shopping_list(home: Home, wanted: ShopRequest) -> ShoppingShown:
    """Plan the shopping for a flock to the end of its milk."""
    from formulate.answers.shop import shop

    return shown(shop(home.read, home.pantry, wanted))


def shown(answer: ShopAnswer) -> ShoppingShown:
    """An answer as the page has it: foods without hyphens, and trips in two parts."""
    from formulate.report import words as tell
    from formulate.report.fed_milks import milks_told
    from formulate.report.shopping_text import (
        answer_lines,
        goods_words,
        price_rows,
        waste_texts,
        why_none,
    )

    verdict = tuple(milks_told(answer.milks))
    plan = answer.plan
    if plan is None:
        return ShoppingShown(verdict, why_not=tuple(why_none(answer)))
    currency = answer.pantry.currency
    trips = tuple(
        TripShown(
            f"{trip.day:%A} {trip.day.day} {trip.day:%B}",
            tell.money(trip.cost, currency),
            tuple(goods_words(p.count, p.package, _plain(p.food)) for p in trip.purchases),
        )
        for trip in plan.trips
    )
    rows = price_rows(answer)
    prices = tuple((_plain(food), package, price, day) for food, package, price, day in rows)
    return ShoppingShown(
        verdict,
        tuple(answer_lines(plan)),
        trips[:SOON],
        trips[SOON:],
        prices,
        tuple(waste_texts(plan, _plain)),
    )


def _plain(food: str) -> str:
    return food.replace("-", " ")
