"""``formulate page``: the page in the browser, on this computer or on the home network too."""

from __future__ import annotations

import gc
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.cli._help import HelpedCommand

if TYPE_CHECKING:
    from formulate.page.sharing.share import Share

#: Where it listens if nobody else does; the same each time, so that it can be kept as a bookmark.
USUAL_PORT = 8377


@click.command("page", cls=HelpedCommand)
@click.argument("folder", required=False)
@click.option("--port", type=click.IntRange(1, 65535), metavar="NUMBER")
@click.option("--no-browser", is_flag=True)
@click.option("--share", is_flag=True)
@click.option("--address", metavar="ADDRESS")
@click.option("--forget-all", is_flag=True)
def command(
    folder: str | None,
    port: int | None,
    no_browser: bool,
    share: bool,
    address: str | None,
    forget_all: bool,
) -> None:
    """Open the page for the kitchen, with the files of FOLDER (else of this one).

    It shows the built-in sample if there is no pantry.toml, and writes nothing until you
    save. It listens on this computer only, unless you share it. Stop it with Ctrl-C.
    """
    if forget_all:
        from formulate.page.sharing.telephones import Telephones, telephones_file

        count = Telephones(telephones_file(), Path(folder or ".")).forget_all()
        click.echo(
            say("share.forgotten.some", count=count) if count else say("share.forgotten.none")
        )
        return
    if address is not None and not share:
        raise InputError(say("share.address-alone"), say("share.address-alone-remedy"))
    gc.disable()  # while the page loads: what is loaded stays, so there is no waste to look for
    try:
        from formulate.page.serve import serve
    finally:
        gc.freeze()
        gc.enable()

    serve(
        Path(folder or "."),
        port,
        usual_port=USUAL_PORT,
        open_browser=not no_browser,
        announce=click.echo,
        share=partial(_shared, Path(folder or "."), address) if share else None,
    )


def _shared(folder: Path, wanted: str | None) -> Share:
    """Share at the one private address of this computer, or at the one that was named."""
    from formulate.page.sharing.address import chosen_address, own_addresses
    from formulate.page.sharing.share import Share

    return Share(chosen_address(wanted, own_addresses()), folder)
