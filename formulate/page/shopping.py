"""Shop: what to buy on each trip, the season, and sheets and a calendar to take away."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from flask import Flask, Response, request

from formulate.base.errors import InputError
from formulate.base.messages import dated, say
from formulate.base.moments import parse_clock, parse_day
from formulate.page.aim import choices, seconds_of
from formulate.page.planning import planned
from formulate.page.site import Site
from formulate.page.taken import file, picture
from formulate.page.told import Block, blocks

if TYPE_CHECKING:
    from formulate.answers.season import SeasonAnswer
    from formulate.answers.sheet import Sheet
    from formulate.answers.shop import ShopAnswer, ShopRequest
    from formulate.report.fed_milks import MilkTold

__all__ = ["ShopPlace", "ShoppingShown", "TripShown", "shown"]

#: Longest search of one request [s].
PATIENCE = 5.0
#: Trips shown at once; the rest are one tap away.
SOON = 3
#: Fields that are out of sight until they are wanted.
_WISHES = ("keeps", "mix_at", "trip_cost", "also", "on", "milk", "seconds", "every-day", "sources")


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
    bars : tuple of str
        Animals that are not planned for, and why.
    rest : tuple of Block
        What to mix day by day, how long each food keeps, what to mind.
    sources : tuple of Block
        Where the numbers come from, where that was asked for.
    why_not : tuple of str
        Why there is no list.
    """

    verdict: tuple[MilkTold, ...]
    summary: tuple[str, ...] = ()
    soon: tuple[TripShown, ...] = ()
    later: tuple[TripShown, ...] = ()
    prices: tuple[tuple[str, str, str, str], ...] = ()
    left: tuple[str, ...] = ()
    bars: tuple[str, ...] = ()
    rest: tuple[Block, ...] = ()
    sources: tuple[Block, ...] = ()
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
        for name in ("card", "labels", "calendar", "drink-card", "shop-picture", "season-picture"):
            method = getattr(self, name.replace("-", "_"))
            app.add_url_rule(f"/{name}", name, method, methods=["POST"])

    # --- the list --------------------------------------------------------------------------

    def open_shop(self) -> Response:
        """The form for a list."""
        return self.shop_shown()

    def shop_shown(self, status: int = 200, **more: Any) -> Response:
        """The place, with a list where one was asked for."""
        recipes = self._recipes(more)
        return self.site.show("shop_place.html", "/shop", status, recipes=recipes,
                              given=request.form, wished=_wished(), **more)  # fmt: skip

    def _recipes(self, more: dict[str, Any]) -> tuple[str, ...]:
        """Recipes that the animals may drink; a file that cannot be read becomes a fault."""
        try:
            return tuple(self.site.home().pantry.recipes) if self.site.has_animals() else ()
        except InputError as error:
            more.setdefault("fault", self.site.plainly(error))
            return ()

    def shop(self) -> Response:
        """The shopping list."""
        try:
            answer = self._shopped()
        except InputError as error:
            return self.shop_shown(422, fault=self.site.plainly(error))
        return self.shop_shown(list=shown(answer, "every-day" in request.form,
                                          sources="sources" in request.form))  # fmt: skip

    def _shopped(self) -> ShopAnswer:
        from formulate.answers.shop import shop

        asked = planned(self.site, request.form)
        return shop(asked.home.read, asked.home.pantry, request_of_form(), asked.milk)

    def shop_picture(self) -> Response:
        """The trips and what is mixed, drawn."""
        from formulate.report.pictures.shopping import draw_shopping

        try:
            answer = self._shopped()
        except InputError as error:
            return self.shop_shown(422, fault=self.site.plainly(error))
        plan = answer.plan
        if not plan:
            return self.shop_shown(list=shown(answer))
        return picture(lambda: draw_shopping(plan), "shopping.png")

    def calendar(self) -> Response:
        """Feeds, mixing, trips and weighings as a calendar to take away."""
        from formulate.report.calendar import calendar_text

        try:
            answer = self._shopped()
        except InputError as error:
            return self.shop_shown(422, fault=self.site.plainly(error))
        if not answer.plan:
            return self.shop_shown(list=shown(answer))
        return file(calendar_text(answer), "feeds.ics")

    # --- the season ------------------------------------------------------------------------

    def open_season(self) -> Response:
        """The form for a season."""
        return self.season_shown()

    def season_shown(self, status: int = 200, **more: Any) -> Response:
        """The place, with a season where one was asked for."""
        recipes = self._recipes(more)
        return self.site.show("season_place.html", "/shop", status, recipes=recipes,
                              given=request.form, wished=_wished(), **more)  # fmt: skip

    def season(self) -> Response:
        """What rearing costs from birth to weaning."""
        from formulate.report.season_text import SEASON_FIGURES, season_text
        from formulate.report.shopping_text import shopping_sources

        try:
            answer = self._season()
        except InputError as error:
            return self.season_shown(422, fault=self.site.plainly(error))
        lines, plan = [season_text(answer)], answer.shopping.shopping
        if plan and "sources" in request.form:
            lines += ["", *shopping_sources(plan.task, SEASON_FIGURES)]
        return self.season_shown(blocks=blocks(map(self.site.here, lines)))

    def _season(self) -> SeasonAnswer:
        from formulate.answers.season import season
        from formulate.answers.shop import ShopRequest

        asked = planned(self.site, request.form)
        seconds = seconds_of(request.form.get("seconds", ""), 2 * PATIENCE)
        return season(asked.home.read, asked.home.pantry, ShopRequest(seconds=seconds), asked.milk)

    def season_picture(self) -> Response:
        """What it costs on each milk, drawn."""
        from formulate.report.pictures.shopping import draw_season

        try:
            answer = self._season()
        except InputError as error:
            return self.season_shown(422, fault=self.site.plainly(error))
        if not answer.own:
            return self.season()
        return picture(lambda: draw_season(answer), "season.png")

    # --- sheets ----------------------------------------------------------------------------

    def open_print(self) -> Response:
        """The form for the card and the labels."""
        return self.print_shown()

    def print_shown(self, status: int = 200, **more: Any) -> Response:
        """The place of the sheets."""
        recipes = self._recipes(more)
        usual, others = choices(self.site.pantry)
        return self.site.show("print_place.html", "/shop", status, given=request.form,
                              recipes=recipes, own=tuple(self.site.pantry.recipes),
                              ranges=(*usual, *others), listed=self.site.has_animals(),
                              **more)  # fmt: skip

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
            on = request.form.get("on", "").strip()
            mixed = None if "by-hand" in request.form else parse_day(on) if on else date.today()
            per_sheet = request.form.get("per_sheet", "").strip()
            if per_sheet and not (per_sheet.isascii() and per_sheet.isdigit()):
                raise InputError(say("units.no-whole", text=per_sheet[:20]),
                                 say("units.no-whole-remedy"))  # fmt: skip
            if name == "card.pdf":
                data = card_bytes(found, mixed, paper)
            else:
                count = int(per_sheet[:6]) if per_sheet else None
                data = labels_bytes(found, mixed, paper, count)
        except InputError as error:
            return self.print_shown(422, fault=self.site.plainly(error))
        return file(data, name)

    def _sheet_of_form(self) -> Sheet:
        from formulate.answers.sheet import SheetRequest, sheet

        form = request.form
        wanted = {key: form.get(key, "").strip() or None for key in ("make", "container")}
        if self.site.has_animals() and "without" not in form:
            asked = planned(self.site, form)
            wanted["mix"] = asked.milk
            return sheet(asked.home.pantry, SheetRequest(**wanted), asked.home.read)
        wanted["reference"] = form.get("whom") or None
        wanted["keep_to"] = form.get("keep_to") or None
        return sheet(self.site.pantry, SheetRequest(**wanted))

    def drink_card(self) -> Response:
        """A card for the drink of a scouring animal."""
        from formulate.page.herd import rehydration_of_form
        from formulate.report.printed.drink_card import drink_card_bytes
        from formulate.report.printed.paper import paper_named

        answer = rehydration_of_form(self.site)
        if not answer.good:
            raise InputError(say("page.no-drink-card"))
        paper = paper_named(request.form.get("paper") or None, self.site.pantry)
        return file(drink_card_bytes(answer, paper), "drink-card.pdf")


def _wished() -> bool:
    """Whether more than the usual was asked for."""
    return any(request.form.get(name) for name in _WISHES)


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
        seconds_of(form.get("seconds", ""), PATIENCE),
    )


def shown(answer: ShopAnswer, every_day: bool = False, *, sources: bool = False) -> ShoppingShown:
    """An answer as the page has it: foods without hyphens, and trips in two parts."""
    from formulate.report import words as tell
    from formulate.report.fed_milks import milks_told
    from formulate.report.shopping_text import (
        answer_lines,
        goods_words,
        left_out_texts,
        mixing_lines,
        price_rows,
        shopping_sources,
        waste_texts,
        why_none,
    )

    verdict = tuple(milks_told(answer.milks))
    bars = (*(bar.text for bar in answer.unplanned), *left_out_texts(answer))
    plan = answer.plan
    if plan is None:
        return ShoppingShown(verdict, bars=bars, why_not=tuple(why_none(answer)))
    currency = answer.pantry.currency
    trips = tuple(
        TripShown(
            dated(trip.day, f"%A {trip.day.day} %B"),
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
        bars,
        blocks(mixing_lines(plan, every_day)),
        blocks(shopping_sources(plan.task)) if sources else (),
    )


def _plain(food: str) -> str:
    return food.replace("-", " ")
