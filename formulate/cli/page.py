"""``formulate page``: the page in the browser, on this computer only."""

from __future__ import annotations

from pathlib import Path

import click

from formulate.cli._help import HelpedCommand

#: Where it listens if nobody else does; the same each time, so that it can be kept as a bookmark.
USUAL_PORT = 8377


@click.command("page", cls=HelpedCommand)
@click.argument("folder", required=False)
@click.option("--port", type=click.IntRange(1, 65535), metavar="NUMBER")
@click.option("--no-browser", is_flag=True)
def command(folder: str | None, port: int | None, no_browser: bool) -> None:
    """Open the page for the kitchen, with the files of FOLDER (else of this one).

    It shows the built-in sample where there is no pantry.toml, and writes nothing until you
    save. It listens on this computer only. Stop it with Ctrl-C.
    """
    from formulate.page.serve import serve

    serve(
        Path(folder or "."),
        port,
        usual_port=USUAL_PORT,
        open_browser=not no_browser,
        announce=click.echo,
    )
