"""Pages reached by one link from a place: recipes compared, prices, foods, ranges, the manual."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from flask import Flask, Response, request
from werkzeug.datastructures import MultiDict
from werkzeug.exceptions import NotFound

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.page.aim import USUAL, choices, decimal_of
from formulate.page.site import Site
from formulate.page.taken import file, picture
from formulate.page.told import blocks
from formulate.pantry.country import table_names

if TYPE_CHECKING:
    from formulate.answers.compare import CompareAnswer
    from formulate.answers.prices import PricesAnswer
    from formulate.answers.protection import ProtectionAnswer

__all__ = ["TablesPlace"]

Form = MultiDict[str, str]

#: Prices that may move at once, and how many of each a map tries: as usual, and at most.
MOVING, POINTS, MOST_POINTS = 4, 60, 300
#: Fields of a form that are not asked for, but of the form itself.
_OF_THE_FORM = ("token", "once")

#: Foods of a list that are shown; more words find the others.
MOST_FOODS = 60


class TablesPlace:
    """The routes of the tables.

    Parameters
    ----------
    site : Site
    """

    def __init__(self, site: Site) -> None:
        self.site = site

    def routes(self, app: Flask) -> None:
        """Register the routes."""
        for name in ("compare", "prices", "certainty", "foods", "bands"):
            app.add_url_rule(f"/{name}", name, getattr(self, f"open_{name}"))
        app.add_url_rule("/help", "help", self.open_help)
        app.add_url_rule("/keys", "keys", self.open_keys)
        app.add_url_rule("/help/<name>", "help_topic", self.open_topic)
        app.add_url_rule("/compare", "compare_asked", self.compare, methods=["POST"])
        app.add_url_rule("/prices", "prices_asked", self.prices, methods=["POST"])
        for name in ("compare", "prices", "certainty"):
            app.add_url_rule(f"/{name}.<kind>", f"{name}_file", getattr(self, f"{name}_file"))

    # --- recipes side by side --------------------------------------------------------------

    def open_compare(self) -> Response:
        """The form, with the recipes of the file."""
        return self.compare_shown()

    def compare_shown(self, status: int = 200, **more: Any) -> Response:
        """The place, with the recipes ranked where that was asked for."""
        pantry = self.site.pantry
        usual, others = choices(pantry)
        return self.site.show("compare_place.html", "/mix", status, pantry=pantry,
                              ranges=(*usual, *others), given=request.form, **more)  # fmt: skip

    def compare(self) -> Response:
        """Recipes by verdict and cost."""
        from formulate.report.compared import compared_told

        try:
            answer = self._compared(request.form)
        except InputError as error:
            return self.compare_shown(422, fault=self.site.plainly(error))
        return self.compare_shown(told=compared_told(answer), query=_query(request.form))

    def compare_file(self, kind: str) -> Response:
        """Their costs as a picture."""
        from formulate.report.pictures.compare import compare_picture

        answer = self._compared(request.args)
        invented = answer.pantry.invented
        return picture(lambda: compare_picture(answer.rows, answer.per, invented=invented),
                       f"recipes.{kind}", shown="shown" in request.args)  # fmt: skip

    def _compared(self, form: Form) -> CompareAnswer:
        from formulate.answers.compare import Per, compare

        chosen = form.getlist("recipe")[:20]
        chosen += [line.strip() for line in form.get("more", "").splitlines() if line.strip()][:8]
        per, pantry = form.get("per", "litre"), self.site.pantry
        wanted = Per(per) if per in list(Per) else Per.LITRE
        return compare(chosen, pantry, form.get("whom", USUAL[0]), wanted, kitchen=pantry.kitchen)

    # --- prices that move ------------------------------------------------------------------

    def open_prices(self) -> Response:
        """The form for a price that moves."""
        return self.prices_shown()

    def prices_shown(self, status: int = 200, **more: Any) -> Response:
        """The place, with the steps where they were asked for."""
        pantry = self.site.pantry
        priced = [item for item in pantry.items if item.price and item.in_mix
                  and not item.food.drink_only]  # fmt: skip
        usual, others = choices(pantry)
        return self.site.show("prices_place.html", "/mix", status, pantry=pantry, priced=priced,
                              ranges=(*usual, *others), moving=range(1, MOVING + 1),
                              points=POINTS, given=request.form, **more)  # fmt: skip

    def prices(self) -> Response:
        """Which recipe is cheapest where, as prices move."""
        from formulate.report.priced import prices_told

        try:
            answer = self._priced(request.form)
        except InputError as error:
            return self.prices_shown(422, fault=self.site.plainly(error))
        drawn = 0 < len(answer.moving) <= 2 and answer.found is not None
        return self.prices_shown(told=prices_told(answer), drawn=drawn, query=_query(request.form))

    def prices_file(self, kind: str) -> Response:
        """The same as a picture, or every row as a table."""
        from formulate.report.priced import prices_picture, prices_table

        answer = self._priced(request.args)
        if answer.found is None:
            raise NotFound
        if kind == "csv":
            return file(prices_table(answer).encode(), "prices.csv")
        return picture(lambda: prices_picture(answer), f"prices.{kind}",
                       shown="shown" in request.args)  # fmt: skip

    def _priced(self, form: Form) -> PricesAnswer:
        from formulate.answers.prices import prices

        moving = [
            f"{form[f'food.{k}']}={form.get(f'low.{k}', '')}..{form.get(f'high.{k}', '')}"
            for k in range(1, MOVING + 1)
            if form.get(f"food.{k}")
        ]
        points = decimal_of(form.get("points", "").strip(), "points") or POINTS
        if not 2 <= points <= MOST_POINTS:
            raise InputError(
                say("page.no-points", text=form["points"][:20]),
                say("page.no-points-remedy", most=MOST_POINTS),
            )
        whom = form.get("whom", USUAL[0])
        return prices(self.site.pantry, moving, whom, points=int(points))

    # --- what certainty costs --------------------------------------------------------------

    def open_certainty(self) -> Response:
        """What each chance of keeping every range costs, for one set of ranges."""
        from formulate.report.protection import protection_rows

        pantry = self.site.pantry
        usual, others = choices(pantry)
        whom = request.args.get("whom", usual[0].value)[:60]
        place: dict[str, Any] = {"ranges": (*usual, *others), "whom": whom,
                                 "make": request.args.get("make", "")[:30],
                                 "query": _query(request.args)}  # fmt: skip
        try:
            answer = self._certain()
        except InputError as error:
            return self.site.show("certainty_place.html", "/mix", 422, told=(),
                                  fault=self.site.plainly(error), **place)  # fmt: skip
        return self.site.show("certainty_place.html", "/mix", told=protection_rows(answer),
                              currency=pantry.currency, **place)  # fmt: skip

    def certainty_file(self, kind: str) -> Response:
        """The same as a picture."""
        from formulate.report.pictures.protection import protection_picture

        answer = self._certain()
        return picture(lambda: protection_picture(answer.points, answer.pantry.currency),
                       f"certainty.{kind}", shown="shown" in request.args)  # fmt: skip

    def _certain(self) -> ProtectionAnswer:
        from formulate.answers.protection import protection

        whom, make = request.args.get("whom", USUAL[0])[:60], request.args.get("make", "").strip()
        return protection(self.site.pantry, whom, make or None)

    # --- foods and ranges ------------------------------------------------------------------

    def open_foods(self) -> Response:
        """Foods found by words, or one food with everything known about it."""
        from formulate.answers.one_food import list_foods, show_food
        from formulate.report.food_text import food_text
        from formulate.report.words import food_words

        table, name = self.site.pantry.table, request.args.get("show", "")[:120]
        of = request.args.get("table", "")[:60]
        place: dict[str, Any] = {"tables": table_names(), "of": of}
        words = request.args.get("words", "")[:120].split()
        try:
            if name:
                found = show_food(name, table)
                return self.site.show("foods_place.html", "/shelf", title=food_words(found.food),
                                      one=blocks([food_text(found)]), asked="",
                                      **place)  # fmt: skip
            listed = list_foods(table, words, of or None)
        except InputError as error:
            return self.site.show("foods_place.html", "/shelf", 422, title="Foods",
                                  fault=self.site.plainly(error), asked=" ".join(words),
                                  **place)  # fmt: skip
        return self.site.show(
            "foods_place.html",
            "/shelf",
            title="Foods",
            foods=listed.foods[:MOST_FOODS],
            more=max(len(listed.foods) - MOST_FOODS, 0),
            listed=listed,
            asked=" ".join(words),
            **place,
        )

    def open_bands(self) -> Response:
        """The sets of ranges, or one with every number's source and reason."""
        from formulate.answers.bands import ranges
        from formulate.report.ranges import set_told

        name = request.args.get("name", "")[:60]
        try:
            answer = ranges(self.site.pantry, name or None)
        except InputError as error:
            return self.site.show("bands_place.html", "/mix", 422, sets=(), one=None,
                                  fault=self.site.plainly(error))  # fmt: skip
        one = set_told(answer.sets[0]) if answer.named else None
        return self.site.show("bands_place.html", "/mix", sets=answer.sets, one=one)

    # --- the manual ------------------------------------------------------------------------

    def open_help(self) -> Response:
        """The topics of the manual."""
        from formulate.report import manual

        return self.site.show("help_place.html", "", topics=manual.topics())

    def open_keys(self) -> Response:
        """Every key that the files may have, with an example and a word on each."""
        from formulate.pantry.start import every_key

        files = [(f"{which}.toml", every_key(which)) for which in ("pantry", "flock")]
        return self.site.show("keys_place.html", "/shelf", files=files)

    def open_topic(self, name: str) -> Response:
        """One topic.

        Raises
        ------
        UnknownName
            If there is none.
        """
        from markupsafe import Markup

        from formulate.report import manual

        topic = manual.topic(name[:60])
        html = Markup(manual.topic_html(topic, "/help"))
        return self.site.show("topic_place.html", "", topic=topic, text=html)


def _query(form: Form) -> str:
    """What was asked, as the end of an address that gives it as a file."""
    pairs = [pair for pair in form.items(multi=True) if pair[1] and pair[0] not in _OF_THE_FORM]
    return urlencode(pairs)
