"""The application: its places, and a plain page for each kind of error."""

from __future__ import annotations

import secrets
from pathlib import Path
from typing import TYPE_CHECKING, Any

from flask import Flask, Response, g, render_template
from werkzeug.exceptions import HTTPException
from werkzeug.wrappers import Response as AnyResponse

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.numerals import with_marks_in_html
from formulate.page.barn import TodayPlace
from formulate.page.guard import guard
from formulate.page.herd import HerdPlace
from formulate.page.mixing import MixPlace
from formulate.page.places import PLACES
from formulate.page.planning import PlanPlace
from formulate.page.shelf import ShelfPlace
from formulate.page.shopping import ShopPlace
from formulate.page.site import Site
from formulate.page.spoken import Spoken, speak_scripts
from formulate.page.store import Store
from formulate.page.tables import TablesPlace
from formulate.report.words import food_words, tied

if TYPE_CHECKING:
    from formulate.page.sharing.share import Share

__all__ = ["create_app"]

#: Statuses of a refused request that have a sentence of their own.
_TURNED_AWAY = (403, 404, 405, 413, 414, 415, 500)


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
    app.jinja_env.add_extension(Spoken)
    speak_scripts(app)
    app.jinja_env.globals["say"] = say
    app.jinja_env.filters["food"] = food_words
    app.jinja_env.filters["tied"] = tied
    app.url_map.merge_slashes = False
    token = token or secrets.token_urlsafe(24)
    guard(app, port, token, share)

    @app.context_processor
    def frame() -> dict[str, Any]:
        return {"places": PLACES, "here": ""}

    if share is not None:  # what telephones need is not loaded for a computer alone
        from formulate.page.sharing.routes import ShareRoutes

        ShareRoutes(share.at(port), token).routes(app)
    store = Store(folder)
    site = Site(store, token)
    mixing = MixPlace(site)
    places = (
        TodayPlace(site, mixing),
        mixing,
        HerdPlace(site),
        PlanPlace(site),
        ShopPlace(site),
        ShelfPlace(site, mixing),
        TablesPlace(site),
    )
    for place in places:
        place.routes(app)
    _faults(app, site)
    _numbers(app, store, share)
    return app


def _numbers(app: Flask, store: Store, share: Share | None) -> None:
    """Let every page write its numbers as the kitchen's country does."""

    @app.after_request
    def written(response: Response) -> Response:
        if share is not None and g.get("let_in") is None:
            return response  # no file is read for whoever is not let in
        if response.status_code in _TURNED_AWAY:
            return response  # nor for what is refused
        if response.mimetype == "text/html" and not response.is_streamed:
            try:
                decimal = store.shelf().pantry.decimal
            except InputError:
                return response
            if decimal != ".":
                response.set_data(with_marks_in_html(response.get_data(as_text=True), decimal))
        return response


def _faults(app: Flask, site: Site) -> None:
    """Report any error on a plain page."""

    def page(status: int, title: str, lines: list[str]) -> Any:
        html = render_template("message.html", title=title, lines=lines)
        return html, status

    @app.errorhandler(HTTPException)
    def turned_away(error: HTTPException) -> Any:
        if isinstance(error.response, AnyResponse):
            return error.response
        status = error.code or 500
        told = status if status in _TURNED_AWAY else "else"
        return page(status, say("page.not-done"), [say(f"page.refused.{told}")])

    @app.errorhandler(InputError)
    def wrong(error: InputError) -> Any:
        return page(400, say("page.look"), site.plainly(error).split("\n"))

    @app.errorhandler(Exception)
    def fault(error: Exception) -> Any:
        app.logger.exception("fault of the page", exc_info=error)
        return page(500, say("page.not-done"), [say("page.refused.500")])
