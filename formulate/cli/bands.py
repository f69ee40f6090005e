"""``formulate bands``: list reference ranges, or show one set."""

from __future__ import annotations

import click

from formulate.cli._common import json_option, pantry_from, pantry_option, print_json
from formulate.cli._help import HelpedCommand


@click.command("bands", cls=HelpedCommand)
@click.argument("name", required=False)
@pantry_option
@json_option
def command(name: str | None, pantry: str | None, as_json: bool) -> None:
    """List the reference sets, or show set NAME with each number's source and reason."""
    from formulate.answers.bands import ranges
    from formulate.report.ranges import ranges_shape, ranges_words

    answer = ranges(None if pantry is None else pantry_from(pantry), name)
    if as_json:
        print_json(ranges_shape(answer))
    else:
        click.echo(ranges_words(answer))
