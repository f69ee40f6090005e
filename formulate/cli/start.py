"""``formulate start``: write a sample pantry to edit."""

from __future__ import annotations

import click

from formulate.cli._common import country_option, json_option, print_json
from formulate.cli._help import HelpedCommand


@click.command("start", cls=HelpedCommand)
@click.argument("folder", default=".")
@country_option
@json_option
def command(folder: str, country: str | None, as_json: bool) -> None:
    """Write pantry.toml and flock.toml, commented samples, into FOLDER; never overwrites."""
    from formulate.pantry.start import write_sample

    written = write_sample(folder, country)
    if as_json:
        print_json({"written": [str(path) for path in written]})
    else:
        for path in written:
            click.echo(f"Wrote {path}")
        click.echo(f"Edit it, then: formulate mix {written[0]}")
