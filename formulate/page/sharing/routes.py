"""Routes to pair a telephone, list the paired ones, and let in this computer's own browser."""

from __future__ import annotations

from base64 import b64encode
from hashlib import sha256
from typing import Any

from flask import Flask, Response, abort, make_response, redirect, render_template, request
from markupsafe import Markup
from werkzeug.exceptions import HTTPException

from formulate.base.errors import InputError
from formulate.page.sharing.codes import CodeState
from formulate.page.sharing.qr import qr_svg
from formulate.page.sharing.share import Share, let_in_as
from formulate.page.sharing.telephones import LONGEST_NAME, owner_name

__all__ = ["ShareRoutes"]

#: Of the pages that are shown without a cookie: no file is given away to style them.
_STYLE = """
:root { color-scheme: light dark }
body { font: 1.125rem/1.5 system-ui, sans-serif; margin: 1rem auto }
body { max-width: 30rem; padding: 0 1rem }
h1 { font-size: 1.6rem }
input, button { font: inherit; padding: .6rem .8rem; width: 100%; box-sizing: border-box }
button { font-weight: bold }
"""
_STYLE_HASH = b64encode(sha256(_STYLE.encode()).digest()).decode()
_POLICY = (
    f"default-src 'none'; style-src 'sha256-{_STYLE_HASH}'; form-action 'self'; "
    "frame-ancestors 'none'; base-uri 'none'"
)
_STATUS = {CodeState.GONE: 410, CodeState.WRONG: 403}


class ShareRoutes:
    """The routes of a shared page.

    Parameters
    ----------
    share : Share
    token : str
        Of this run; every form but that of pairing carries it.
    """

    def __init__(self, share: Share, token: str) -> None:
        self.share, self.token = share, token

    def routes(self, app: Flask) -> None:
        """Register the routes."""
        app.add_url_rule("/here/<secret>", "here", self.here)
        app.add_url_rule("/pair/<code>", "pair", self.pair)
        app.add_url_rule("/pair/<code>", "paired", self.paired, methods=["POST"])
        app.add_url_rule("/telephones", "telephones", self.telephones)
        app.add_url_rule("/telephones", "telephones_change", self.change, methods=["POST"])

        @app.errorhandler(401)
        def not_let_in(_: HTTPException) -> Response:
            return _plain("not_let_in.html", 401, at_network=self.share.at_network())

        @app.context_processor
        def sharing() -> dict[str, Any]:
            return {"share": self.share, "let_in": let_in_as()}

    # --- the computer's own browser --------------------------------------------------------

    def here(self, secret: str) -> Any:
        """Give this computer's browser its cookie, and send it on."""
        if self.share.at_network():
            abort(404)
        if not self.share.is_secret(secret):
            abort(403)
        # Not a redirect: a browser that was led here from a file does not send its new cookie on.
        reply = self.share.give_home_cookie(_plain("here.html"))
        reply.headers["Referrer-Policy"] = "no-referrer"  # its address holds the secret
        return reply

    # --- pairing ---------------------------------------------------------------------------

    def pair(self, code: str) -> Any:
        """Ask whose telephone this is."""
        self._network_only()
        state = self.share.codes.look(code)
        if state is not CodeState.OPEN:
            return _refused(state)
        return self._form(code)

    def paired(self, code: str) -> Any:
        """Pair the telephone; the code is gone afterwards."""
        self._network_only()
        codes = self.share.codes
        try:
            owner = owner_name(request.form.get("owner", ""))
        except InputError as error:
            state = codes.look(code)
            if state is not CodeState.OPEN:
                return _refused(state)
            return self._form(code, str(error), 422)
        state = codes.take(code)
        if state is not CodeState.OPEN:
            return _refused(state)
        _, key = self.share.telephones.pair(owner, request.remote_addr or "")
        reply: Response = make_response(redirect("/", 303))
        return self.share.give_key(reply, key)

    def _network_only(self) -> None:
        if not self.share.at_network():
            abort(404)

    def _form(self, code: str, fault: str = "", status: int = 200) -> Response:
        typed = request.form.get("owner", "")[:LONGEST_NAME]
        return _plain(
            "pair.html", status, code=code, fault=fault, typed=typed, longest=LONGEST_NAME
        )

    # --- the list --------------------------------------------------------------------------

    def telephones(self) -> Any:
        """Who is paired, and the code for one more."""
        self._computer_only()
        return self._list()

    def change(self) -> Any:
        """Make a code, or forget telephones."""
        self._computer_only()
        form, share = request.form, self.share
        if "code" in form:
            share.codes.new()
        elif "all" in form:
            for one in share.telephones.all():
                share.telephones.forget(one.id)
        elif form.get("same"):
            share.telephones.accept(form["same"])
        elif form.get("forget"):
            share.telephones.forget(form["forget"])
        return redirect("/telephones", 303)

    def _computer_only(self) -> None:
        if self.share.at_network():
            abort(403)

    def _list(self) -> str:
        share = self.share
        where = share.pairing_address
        return render_template(
            "telephones.html",
            token=self.token,
            pairing_address=where,
            picture=Markup(qr_svg(where)) if where else "",
            minutes=max(1, round(share.codes.left / 60)),
            tries=share.codes.tries,
            closed=share.codes.closed,
            telephones=share.telephones.all(),
        )


def _refused(state: CodeState) -> Response:
    return _plain("not_paired.html", _STATUS[state], gone=state is CodeState.GONE)


def _plain(template: str, status: int = 200, **values: Any) -> Response:
    """A page for somebody who has no cookie yet: its style stands in it, scripts never run."""
    style = Markup(f"<style>{_STYLE}</style>")
    reply = make_response(render_template(template, style=style, **values), status)
    reply.headers["Content-Security-Policy"] = _POLICY
    return reply
