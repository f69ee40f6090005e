"""Pages reached by one link from a place: recipes compared, prices, foods, ranges, the manual."""

from __future__ import annotations

from typing import Any

from flask import Flask, Response, request

from formulate.base.errors import InputError
from formulate.page.aim import choices
from formulate.page.site import Site
from formulate.page.told import blocks

__all__ = ["TablesPlace"]

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
        app.add_url_rule("/help/<name>", "help_topic", self.open_topic)
        app.add_url_rule("/compare", "compare_asked", self.compare, methods=["POST"])
        app.add_url_rule("/prices", "prices_asked", self.prices, methods=["POST"])

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
        from formulate.answers.compare import Per, compare
        from formulate.report.compared import compared_told

        form = request.form
        chosen = form.getlist("recipe")[:20]
        chosen += [line.strip() for line in form.get("more", "").splitlines() if line.strip()][:8]
        per = form.get("per", "litre")
        try:
            wanted = Per(per) if per in list(Per) else Per.LITRE
            pantry = self.site.pantry
            whom = form.get("whom", "lamb-replacer")
            answer = compare(chosen, pantry, whom, wanted, kitchen=pantry.kitchen)
        except InputError as error:
            return self.compare_shown(422, fault=self.site.plainly(error))
        return self.compare_shown(told=compared_told(answer))

    # --- prices that move ------------------------------------------------------------------

    def open_prices(self) -> Response:
        """The form for a price that moves."""
        return self.prices_shown()

    def prices_shown(self, status: int = 200, **more: Any) -> Response:
        """The place, with the steps where they were asked for."""
        pantry = self.site.pantry
        priced = [item for item in pantry.items if item.price and item.in_mix
                  and not item.food.drink_only]  # fmt: skip
        return self.site.show("prices_place.html", "/mix", status, pantry=pantry, priced=priced,
                              given=request.form, **more)  # fmt: skip

    def prices(self) -> Response:
        """Which recipe is cheapest where, as one price or two move."""
        from formulate.answers.prices import prices
        from formulate.report.priced import prices_told

        form = request.form
        try:
            moving = [
                f"{form[f'food.{k}']}={form.get(f'low.{k}', '')}..{form.get(f'high.{k}', '')}"
                for k in (1, 2)
                if form.get(f"food.{k}")
            ]
            answer = prices(self.site.pantry, moving, form.get("whom", "lamb-replacer"), points=60)
        except InputError as error:
            return self.prices_shown(422, fault=self.site.plainly(error))
        return self.prices_shown(told=prices_told(answer))

    # --- what certainty costs --------------------------------------------------------------

    def open_certainty(self) -> Response:
        """What each chance of keeping every range costs, for one set of ranges."""
        from formulate.answers.protection import protection
        from formulate.report.protection import protection_rows

        pantry = self.site.pantry
        usual, others = choices(pantry)
        whom = request.args.get("whom", usual[0].value)[:60]
        place: dict[str, Any] = {"ranges": (*usual, *others), "whom": whom}
        try:
            answer = protection(pantry, whom)
        except InputError as error:
            return self.site.show("certainty_place.html", "/mix", 422, told=(),
                                  fault=self.site.plainly(error), **place)  # fmt: skip
        return self.site.show("certainty_place.html", "/mix", told=protection_rows(answer),
                              currency=pantry.currency, **place)  # fmt: skip

    # --- foods and ranges ------------------------------------------------------------------

    def open_foods(self) -> Response:
        """Foods found by words, or one food with everything known about it."""
        from formulate.answers.one_food import list_foods, show_food
        from formulate.report.food_text import food_text
        from formulate.report.words import food_words

        table, name = self.site.pantry.table, request.args.get("show", "")[:120]
        words = request.args.get("words", "")[:120].split()
        try:
            if name:
                found = show_food(name, table)
                return self.site.show("foods_place.html", "/shelf", title=food_words(found.food),
                                      one=blocks([food_text(found)]), asked="")  # fmt: skip
            listed = list_foods(table, words)
        except InputError as error:
            return self.site.show("foods_place.html", "/shelf", 422, title="Foods",
                                  fault=str(error), asked=" ".join(words))  # fmt: skip
        return self.site.show(
            "foods_place.html",
            "/shelf",
            title="Foods",
            foods=listed.foods[:MOST_FOODS],
            more=max(len(listed.foods) - MOST_FOODS, 0),
            listed=listed,
            asked=" ".join(words),
        )

    def open_bands(self) -> Response:
        """The sets of ranges, or one with every number's source and reason."""
        from formulate.answers.bands import ranges
        from formulate.report.ranges import set_told

        name = request.args.get("name", "")[:60]
        try:
            answer = ranges(self.site.pantry, name or None)
        except InputError as error:
            return self.site.show("bands_place.html", "/mix", 422, fault=str(error), sets=(),
                                  one=None)  # fmt: skip
        one = set_told(answer.sets[0]) if answer.named else None
        return self.site.show("bands_place.html", "/mix", sets=answer.sets, one=one)

    # --- the manual ------------------------------------------------------------------------

    def open_help(self) -> Response:
        """The topics of the manual."""
        from formulate.report import manual

        return self.site.show("help_place.html", "", topics=manual.topics())

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
