"""Today: who is fed now, how much and by whom; one tap writes it down."""

from __future__ import annotations

from typing import Any

from flask import Flask, Response, make_response, request

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.page.animal import animal_page
from formulate.page.mixing import MixPlace
from formulate.page.noting import at_of, quoted, record_of_form
from formulate.page.once import Asked, Done
from formulate.page.site import LONGEST_NAME, Site

__all__ = ["TodayPlace"]

#: Fields that are of the form itself, not of what is written down.
_OF_THE_FORM = ("token", "once", "sure", "by", "somebody", "kept_by")


class TodayPlace:
    """The routes of Today.

    Parameters
    ----------
    site : Site
    mixing : MixPlace
        Stands first while there is no animal.
    """

    def __init__(self, site: Site, mixing: MixPlace) -> None:
        self.site, self.mixing = site, mixing

    def routes(self, app: Flask) -> None:
        """Register the routes."""
        app.add_url_rule("/", "home", self.home)
        app.add_url_rule("/today", "today", self.open)
        app.add_url_rule("/version", "version", self.version)
        for name in ("fed", "who"):
            app.add_url_rule(f"/{name}", name, getattr(self, name), methods=["POST"])

    def home(self) -> Response:
        """Today, once there is an animal; the mix until then."""
        return self.open() if self.site.has_animals() else self.mixing.open()

    def open(self) -> Response:
        """The day as it is now."""
        return self.shown()

    def version(self) -> Response:
        """A mark of the files: open pages ask for it, and reload when it changes."""
        reply = make_response(self.site.store.version())
        reply.mimetype = "text/plain"
        return reply

    def shown(self, status: int = 200, **more: Any) -> Response:
        """The place, with what was asked or is wrong."""
        site = self.site
        values: dict[str, Any] = {"names": (), "barn": None, "day": None}
        if site.has_animals():
            try:
                today, barn, day = site.today(), site.barn(), site.day()
            except InputError as error:
                more.setdefault("fault", site.plainly(error))
                values["last"] = self._last()
            else:
                # Newborns come first, so that the steps of each follow in the same order.
                newborn = [one for one in barn.turns if one.newborn]
                newborn.sort(key=lambda one: not one.due)
                due = sorted((a for a in barn.turns if a.due), key=lambda a: a.newborn is None)
                values = {"barn": barn, "day": day, "due": due, "newborn": newborn,
                          "faults": [site.here(text) for text in barn.faults],
                          "invented": today.flock.invented, "unread": ""}  # fmt: skip
                if lines := len(today.log_faults):
                    values["unread"] = say("page.log-unread", count=lines)
                later = [one for one in barn.turns if one.amount and not one.due]
                values |= {"later": later, "names": tuple(today.flock.names)}
        return site.show("today_place.html", "/", status, **values, **more)

    def _last(self) -> list[tuple[str, str]]:
        """What was written down last of each animal, where no more than that can be said."""
        from formulate.answers.logbook import newest_entries
        from formulate.report.record_text import entries_told

        path = self.site.flock_path
        try:
            flock = self.site.list_read().flock
            told = {}
            for name in flock.names:
                entries = entries_told(newest_entries(path, name, 1), flock.kitchen)
                told[name] = entries[0].words if entries else say("page.nothing-written")
        except InputError:
            return []
        return list(told.items())

    def fed(self) -> Response:
        """Write down that an animal was fed; first ask who fed it, if nobody said."""
        form = request.form
        where = form.get("back", "")
        back = f"/animal?name={quoted(form.get('name', ''))}" if where == "animal" else "/"

        def act() -> Done | Asked:
            if not self.site.by():
                return self._who()
            word = form.get("what", "")
            word = word if word in ("colostrum", "drink") else "milk"
            return record_of_form(self.site, word, form.get("amount", ""), at_of(self.site))

        show = self.animal_shown if where == "animal" else self.shown
        return self.site.write(act, back, show)

    def animal_shown(self, **more: Any) -> Response:
        """An animal's own place, from where a feed was sent."""
        return animal_page(self.site, request.form.get("name", ""), **more)

    def _who(self) -> Asked:
        """Ask who fed: the names in the log are one tap."""
        from formulate.report.day_told import feeders_of

        fields = tuple((k, v) for k, v in request.form.items() if k not in _OF_THE_FORM)
        try:
            names = feeders_of(self.site.today())
        except InputError:
            names = ()
        question = say("page.who-fed", animal=request.form.get("name", "")[:LONGEST_NAME])
        return Asked(request.path, (question,), fields, names, asks_who=True)

    def who(self) -> Response:
        """Say who feeds from now on, on this telephone or computer."""
        from flask import redirect

        return self.site.remember_who(make_response(redirect("/", 303)))
