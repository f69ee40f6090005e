"""Who may send requests, and how large: this computer alone; writing needs this run's token.

Where the page is shared with telephones, everybody needs a cookie too, this computer included
(`formulate.page.sharing.share`).

A page of another site cannot read this one (it is another origin), but it could point a form or
a name of its own at it. So the Host must be this computer's, the Origin of what is sent ours,
and whatever is sent must carry a token that only our own page holds.
"""

from __future__ import annotations

import hmac
from typing import TYPE_CHECKING

from flask import Response, abort, request

if TYPE_CHECKING:
    from flask import Flask

    from formulate.page.sharing.share import Share

__all__ = ["LARGEST_BODY", "LARGEST_FIELD", "guard"]

#: Bytes of one request; a shelf of a hundred foods needs a tenth of this.
LARGEST_BODY = 200_000
#: Letters in one field, and fields in one form.
LARGEST_FIELD, MOST_FIELDS = 4_000, 1_000
#: Letters of an address.
LARGEST_ADDRESS = 2_000

_HEADERS = {
    "Content-Security-Policy": (
        "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self'; "
        "connect-src 'self'; form-action 'self'; frame-ancestors 'none'; base-uri 'none'"
    ),
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), microphone=(), geolocation=()",
    "Cache-Control": "no-store",
}


def guard(app: Flask, port: int, token: str, share: Share | None = None) -> None:
    """Check every request to an application before anything looks at it.

    Parameters
    ----------
    app : Flask
    port : int
        Where it listens.
    token : str
        Of this run; whatever is sent must carry it in a field of that name. Only what pairs a
        telephone needs none: it carries the one-time code.
    share : Share, optional
        With whom the page is shared; by default it is for this computer only.
    """
    hosts = {f"{name}:{port}" for name in ("127.0.0.1", "localhost")}
    if port == 80:
        hosts |= {"127.0.0.1", "localhost"}
    app.config["MAX_CONTENT_LENGTH"] = LARGEST_BODY
    app.config["MAX_FORM_MEMORY_SIZE"] = LARGEST_BODY
    app.config["MAX_FORM_PARTS"] = MOST_FIELDS

    @app.before_request
    def check() -> None:
        host = request.environ.get("HTTP_HOST", "").lower()
        at_network = share is not None and share.at_network()
        if host not in (share.hosts() if share is not None and at_network else hosts):
            abort(403, "host")
        if share is not None:
            share.check()
        if len(request.path) + len(request.query_string) > LARGEST_ADDRESS:
            abort(414)
        if request.method in ("GET", "HEAD", "OPTIONS"):
            return
        origin = request.headers.get("Origin")
        if origin is not None and origin.lower() != f"http://{host}":
            abort(403, "origin")
        if request.headers.get("Sec-Fetch-Site", "same-origin") != "same-origin":
            abort(403, "origin")
        if request.mimetype not in ("application/x-www-form-urlencoded", "multipart/form-data"):
            abort(415)
        fields = list(request.form.items(multi=True))
        if len(fields) > MOST_FIELDS or any(
            len(name) > 200 or len(text) > LARGEST_FIELD for name, text in fields
        ):
            abort(413)
        if at_network and request.endpoint == "paired":
            return
        given = request.form.get("token", "")
        if not hmac.compare_digest(given.encode("utf-8", "replace"), token.encode()):
            abort(403, "token")

    @app.after_request
    def say_how(response: Response) -> Response:
        for name, value in _HEADERS.items():
            response.headers.setdefault(name, value)
        if request.endpoint == "static" and response.status_code in (200, 304):
            response.headers["Cache-Control"] = "no-cache"
        return response
