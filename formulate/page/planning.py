"""The plan to weaning, growth, and a bottle without a list; also on another day or another milk."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from flask import Flask, Response, request
from werkzeug.datastructures import MultiDict

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.moments import parse_planned
from formulate.page.animal import picture_of
from formulate.page.site import Site
from formulate.page.taken import picture
from formulate.page.told import blocks

if TYPE_CHECKING:
    from formulate.answers.household import Home
    from formulate.answers.today import Today

__all__ = ["PlanPlace", "Planned", "planned"]

#: Animals whose growth is drawn on one page; each has its drawing in its own place too.
DRAWN = 8
#: Fields by which another plan is asked for.
WISHES = ("on", "milk", "level", "weaning", "cold_wet")


@dataclass(frozen=True)
class Planned:
    """A household as a form asks for it.

    Parameters
    ----------
    home : Home
        At the moment, at the level, and with the end of milk that were asked for.
    milk : str or None
        For every animal; None: what the list says.
    """

    home: Home
    milk: str | None


def planned(site: Site, form: MultiDict[str, str]) -> Planned:
    """Read what a form asks for; what it leaves empty is as the list says, now.

    Raises
    ------
    InputError
        If something typed cannot be read, or the list cannot.
    """
    from formulate.answers.household import fed_at_level, with_weaning

    asked = {name: form.get(name, "").strip()[:2000] for name in WISHES}
    home = site.home_at(parse_planned(asked["on"])) if asked["on"] else site.home()
    if asked["level"]:
        home = fed_at_level(home, asked["level"])
    if asked["weaning"] in ("stepped", "abrupt"):
        home = with_weaning(home, asked["weaning"])
    return Planned(home, asked["milk"] or None)


class PlanPlace:
    """The routes of the plan, of growth and of a bottle without a list.

    Parameters
    ----------
    site : Site
    """

    def __init__(self, site: Site) -> None:
        self.site = site

    def routes(self, app: Flask) -> None:
        """Register the routes."""
        for name in ("plan", "growth", "bottle"):
            app.add_url_rule(f"/{name}", name, getattr(self, f"open_{name}"))
        app.add_url_rule("/growth.<kind>", "growth_file", self.growth_file)

    def open_plan(self) -> Response:
        """The feeds of every animal to weaning."""
        from formulate.answers.levels import levels_of
        from formulate.report.rearing_sources import source_lines
        from formulate.report.rearing_text import feed_text

        def told(home: Home, today: Today) -> list[str]:
            every_day = "every-day" in request.args
            text = feed_text(today, every_day=every_day, levels=levels_of(home.read, today))
            return [text, *(["", *source_lines(today)] if "sources" in request.args else [])]

        return self._told("/", say("page.plan"), told, plan=True)

    def open_growth(self) -> Response:
        """What each weighed, and what its feed should give."""
        from formulate.report.growth_text import growth_text
        from formulate.report.rearing_sources import source_lines

        def told(home: Home, today: Today) -> list[str]:
            sources = ["", *source_lines(today, growth=True)]
            return [growth_text(today), *(sources if "sources" in request.args else [])]

        return self._told("/animals", say("page.growth"), told, plan=False)

    def growth_file(self, kind: str) -> Response:
        """The growth of every animal, drawn."""
        from formulate.report.pictures.growth import draw_growth

        _, today = self._planned()
        return picture(lambda: draw_growth(today), f"growth.{kind}")

    def _planned(self) -> tuple[Home, Today]:
        from formulate.answers.today import today

        asked = planned(self.site, request.args)
        cold_wet = "cold_wet" in request.args
        return asked.home, today(
            asked.home.read, asked.home.pantry, named=asked.milk, cold_wet=cold_wet
        )

    def _told(self, place: str, title: str, tell: Any, *, plan: bool) -> Response:
        """A place that tells of every animal, with the form that asks for another plan."""
        from formulate.report.barn_told import barn_told
        from formulate.report.fed_milks import milks_told

        site, given = self.site, request.args
        values: dict[str, Any] = {"title": title, "blocks": (), "pictures": (), "plan": plan,
                                  "given": given, "asked": any(given.values()),
                                  "recipes": ()}  # fmt: skip
        if not site.has_animals():
            return site.show("told_place.html", place, **values, empty=say("page.no-list-yet"))
        status = 200
        try:
            values["recipes"] = tuple(site.home().pantry.recipes)
            home, today = self._planned()
        except InputError as error:
            status, values["fault"] = 422, site.plainly(error)
        else:
            values["blocks"] = blocks(site.here(text) for text in tell(home, today))
            values["milks"] = milks_told(today.milks, most=1)
            if not plan:
                barn = barn_told(today)
                drawn = barn.animals[:DRAWN]
                values["pictures"] = [(one.name, picture_of(one)) for one in drawn]
                values["undrawn"] = len(barn.animals) - len(drawn)
        return site.show("told_place.html", place, status, **values)

    # --- one animal without a list ---------------------------------------------------------

    def open_bottle(self) -> Response:
        """The next bottle of one animal that is on no list."""
        from formulate.answers.household import one_animal
        from formulate.answers.today import today
        from formulate.report.today_text import screen_lines

        site, given = self.site, request.args
        pantry = site.pantry  # a file elsewhere is refused here
        values: dict[str, Any] = {"given": given, "recipes": tuple(pantry.recipes), "blocks": ()}
        status = 200
        if given.get("weight") or given.get("age"):
            try:
                home = one_animal(
                    "kid" if given.get("species") == "kid" else "lamb",
                    given.get("weight", "")[:20],
                    given.get("age", "")[:20],
                    (given.get("typed", "").strip() or given.get("milk", ""))[:2000],
                    datetime.now(),
                    kitchen=pantry.kitchen,
                    folder=site.store.folder,
                )
                found = today(home.read, home.pantry, cold_wet="cold_wet" in given)
                values |= {
                    "blocks": blocks(map(site.here, screen_lines(found))),
                    "well": found.well,
                }
            except InputError as error:
                status, values["fault"] = 422, site.plainly(error)
        return site.show("bottle_place.html", "/", status, **values)
