"""What the terminal says about a shared page, and opening this computer's browser privately."""

from __future__ import annotations

import html
import sys
import webbrowser
from pathlib import Path
from typing import TYPE_CHECKING
from urllib.parse import urlsplit

from formulate.base.files import private_folder, replace_file
from formulate.base.messages import language, say
from formulate.page.sharing.qr import qr_terminal
from formulate.page.sharing.telephones import telephones_file

if TYPE_CHECKING:
    from formulate.page.sharing.share import Share

__all__ = ["opened_privately", "sharing_told"]


def _led_on(address: str) -> str:
    """A page that leads on to the address."""
    where, title = html.escape(address), html.escape(say("share.opening"))
    return (
        f'<!doctype html><html lang="{language()}"><meta charset="utf-8"><title>{title}</title>'
        f'<meta http-equiv="refresh" content="0; url={where}">'
        f'<p><a href="{where}">{html.escape(say("share.open"))}</a></p></html>'
    )


def sharing_told(share: Share, home: str) -> str:
    """What to tell the person at the terminal; it makes the first pairing code.

    Parameters
    ----------
    share : Share
    home : str
        Address for this computer's own browser.
    """
    share.codes.new()
    where = share.pairing_address
    colours = sys.stdout.isatty()
    lines = [
        say("share.told.home", address=home),
        "",
        say("share.told.on", address=share.web_address),
        say("share.told.warning"),
        "",
        say("share.told.scan"),
        *_picture(where, colours=colours),
        where,
        "",
        say("share.told.stop"),
    ]
    return "\n".join(lines)


def opened_privately(address: str) -> Path:
    """Open the browser at an address without showing it to others on this computer.

    What a program is started with, every user of a computer can see. So the browser is started
    with a file that only its owner can read, and the file leads it on. The file is given back,
    to be removed in the end.
    """
    port = urlsplit(address).port  # two programs may share at once
    file = telephones_file().with_name(f"open-{port}.html")
    private_folder(file.parent)
    replace_file(file, _led_on(address), private=True)
    webbrowser.open(file.as_uri())
    return file


def _picture(text: str, *, colours: bool) -> list[str]:
    """The QR code, if the terminal can show it."""
    picture = qr_terminal(text, colours=colours)
    try:
        picture.encode(sys.stdout.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return []
    return picture.split("\n")
