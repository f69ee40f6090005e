"""``formulate bands``: list reference ranges, or show one set."""

from __future__ import annotations

import click

from formulate.cli._common import json_option, pantry_from, pantry_option, print_json


@click.command("bands")
@click.argument("name", required=False)
@pantry_option
@json_option
def command(name: str | None, pantry: str | None, as_json: bool) -> None:
    """List the reference sets, or show set NAME with each number's source and reason."""
    from formulate.foods.tables import band_set, band_sets
    from formulate.report import shapes, text

    own = {} if pantry is None else dict(pantry_from(pantry).own_bands)
    if name is not None:
        chosen = band_set(name, own)
        if as_json:
            print_json(shapes.set_shape(chosen))
        else:
            click.echo(text.set_text(chosen))
        return
    sets = {**own, **band_sets()}.values()
    if as_json:
        print_json({"sets": [shapes.set_shape(s) for s in sets]})
    else:
        click.echo(text.bands_text(sets))
