"""Who is let in while the page is shared: this computer's own browser, and paired telephones.

There are two ways in. The loopback one is for this computer and asks for the cookie that the
secret in the printed address gives, so that another user of the same computer gets nothing. The
one at the network address asks for a telephone's key. Neither cookie counts at the other.

Cookies do not tell ports apart: another server on this computer that its own browser is led to
could read the computer's cookie. It ends with the run.
"""

from __future__ import annotations

import hmac
import secrets
from collections.abc import Callable
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from flask import Response, abort, g, request

from formulate.base.errors import InputError
from formulate.page.sharing.address import Address, is_ours, web_host
from formulate.page.sharing.codes import PairingCodes
from formulate.page.sharing.telephones import SEASON, Telephone, Telephones, telephones_file

__all__ = ["LetIn", "Share", "ShareStanding", "let_in_as"]

#: What is answered without a cookie: at the network address the pages that pair a telephone, at
#: the loopback one the page that gives the computer's own browser its cookie.
_AT_NETWORK, _AT_HOME = frozenset({"pair", "paired"}), frozenset({"here"})


@dataclass(frozen=True, slots=True)
class LetIn:
    """Who asks.

    Parameters
    ----------
    telephone : Telephone or None
        None for this computer.
    """

    telephone: Telephone | None = None

    @property
    def owner(self) -> str:
        """Whose telephone it is; empty for this computer, which several people may use."""
        return "" if self.telephone is None else self.telephone.owner


@dataclass(frozen=True, slots=True)
class ShareStanding:
    """How sharing stands.

    Parameters
    ----------
    paired : int
        Telephones that are let in.
    odd : bool
        Whether somebody has to look: a key came from another address, wrong codes were tried, the
        list cannot be read, or this computer no longer has the address.
    """

    paired: int
    odd: bool


def let_in_as() -> LetIn | None:
    """Who sent this request; None if the page is not shared."""
    found: LetIn | None = g.get("let_in")
    return found


class Share:
    """What is shared, and with whom.

    Parameters
    ----------
    address : IPv4Address or IPv6Address
        Where telephones reach this computer.
    folder : Path
        Of the page.
    file : Path, optional
        The paired telephones; by default this user's.
    ours : callable, optional
        Whether an address is one of this computer; by default the system is asked.
    """

    def __init__(
        self,
        address: Address,
        folder: Path,
        file: Path | None = None,
        ours: Callable[[Address], bool] = is_ours,
    ) -> None:
        self.address = address
        self._is_ours = ours
        self.port = 0
        self.codes = PairingCodes()
        self.telephones = Telephones(file or telephones_file(), folder)
        # Pages of two folders may be shared at one address, and cookies do not tell ports apart.
        self.telephone_cookie = (
            f"telephone-{sha256(str(folder.resolve()).encode()).hexdigest()[:8]}"
        )
        self.secret = secrets.token_urlsafe(32)
        self._cookie = secrets.token_urlsafe(32)

    def at(self, port: int) -> Share:
        """Say at which port it listens."""
        self.port = port
        return self

    @property
    def web_address(self) -> str:
        """Where telephones open the page."""
        return f"http://{web_host(self.address, self.port)}/"

    @property
    def pairing_address(self) -> str:
        """What the QR code says; empty if no code is open."""
        code = self.codes.code
        return f"{self.web_address}pair/{code}" if code else ""

    @property
    def home_path(self) -> str:
        """Path that gives this computer's own browser its cookie."""
        return f"/here/{self.secret}"

    def standing(self) -> ShareStanding:
        """How sharing stands, for every page of this computer."""
        try:
            paired = self.telephones.all()
        except InputError:
            return ShareStanding(0, True)
        odd = self.codes.closed or self.address_lost()
        odd = odd or any(one.stopped or one.moved for one in paired)
        return ShareStanding(sum(not one.stopped for one in paired), odd)

    def address_lost(self) -> bool:
        """Whether this computer has another address by now, where no telephone finds the page."""
        return not self._is_ours(self.address)

    # --- every request ---------------------------------------------------------------------

    def at_network(self) -> bool:
        """Whether this request came in at the network address."""
        return str(request.environ.get("SERVER_NAME")) == str(self.address)

    def hosts(self) -> set[str]:
        """What the Host header may be at the network address."""
        return {web_host(self.address, self.port)}

    def check(self) -> None:
        """Turn away whoever has no cookie of the way in that they came by."""
        if self.at_network():
            if request.endpoint in _AT_NETWORK:
                return
            key = request.cookies.get(self.telephone_cookie, "")
            try:
                found = self.telephones.holder(key, request.remote_addr or "")
            except InputError:  # nobody is let in by a list that cannot be read
                found = None
            if found is None:
                abort(401)
            g.let_in = LetIn(found)
            return
        if request.endpoint in _AT_HOME:
            return
        given = request.cookies.get(self._home_cookie, "").encode("utf-8", "replace")
        if not hmac.compare_digest(given, self._cookie.encode()):
            abort(401)
        g.let_in = LetIn()

    # --- cookies ---------------------------------------------------------------------------

    @property
    def _home_cookie(self) -> str:
        return f"computer-{self.port}"

    def is_secret(self, given: str) -> bool:
        """Whether this is the secret of the printed address."""
        return hmac.compare_digest(given.encode("utf-8", "replace"), self.secret.encode())

    def give_home_cookie(self, reply: Response) -> Response:
        """Let this computer's browser in, until the program ends."""
        reply.set_cookie(self._home_cookie, self._cookie, **_COOKIE)
        return reply

    def give_key(self, reply: Response, key: str) -> Response:
        """Let a telephone in, for the season."""
        reply.set_cookie(self.telephone_cookie, key, max_age=SEASON, **_COOKIE)
        reply.delete_cookie("by", httponly=True, samesite="Strict")  # whoever had it before
        return reply


_COOKIE: dict[str, Any] = {"httponly": True, "samesite": "Strict", "path": "/"}
