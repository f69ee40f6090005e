"""``formulate mix``: design the cheapest mix from a pantry."""

from __future__ import annotations

import click

from formulate.commands._common import (
    NO,
    all_cautions_option,
    json_option,
    pantry_from,
    print_json,
)


@click.command("mix")
@click.argument("pantry", required=False)
@click.option("--for", "whom", default="lamb-replacer", metavar="NAME", help="What to design to.")
@click.option("--make", metavar="VOLUME", help='How much, as "2 quarts" or "3 L".')
@all_cautions_option
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    pantry: str | None,
    whom: str,
    make: str | None,
    all_cautions: bool,
    as_json: bool,
) -> None:
    """Design the cheapest mix from the foods in file PANTRY.

    Without a file the built-in sample is used, an invented smallholding. Exit status 1 says
    that these foods cannot meet the ranges; then the clash and the nearest mix are told.
    """
    from formulate.blend.mix import Mix, design
    from formulate.report import shapes, text
    from formulate.tables import band_set, table_composition
    from formulate.units import Kitchen, parse_volume

    shelf = pantry_from(pantry)
    bands = band_set(whom, shelf.own_bands)
    default = "2 L" if shelf.kitchen is Kitchen.METRIC else "2 quarts"
    volume = parse_volume(make or default, shelf.kitchen)
    result = design(shelf.shelf(), bands, volume, table_composition())
    if as_json:
        to_json = shapes.mix_shape if isinstance(result, Mix) else shapes.no_mix_shape
        print_json(to_json(result, shelf.kitchen.value, shelf))  # type: ignore[arg-type]
    else:
        click.echo("\n".join(text.heading(bands, shelf.kitchen, shelf)))
        if pantry is None:
            click.echo("No pantry file was named, so this is the built-in sample.")
        click.echo("")
        if isinstance(result, Mix):
            click.echo(text.mix_text(result, shelf.kitchen, shelf, all_cautions=all_cautions))
        else:
            click.echo(text.no_mix_text(result, shelf.kitchen, shelf, all_cautions))
    ctx.exit(0 if isinstance(result, Mix) else NO)
