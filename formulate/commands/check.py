"""``formulate check``: read a recipe against a reference."""

from __future__ import annotations

import click

from formulate.commands._common import (
    NO,
    all_cautions_option,
    json_option,
    kitchen_from,
    kitchen_option,
    pantry_from,
    pantry_option,
    print_json,
)


@click.command("check")
@click.argument("recipe")
@click.option("--against", default="lamb-replacer", metavar="NAME", help="Reference to hold it to.")
@pantry_option
@kitchen_option
@all_cautions_option
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    recipe: str,
    against: str,
    pantry: str | None,
    kitchen: str | None,
    all_cautions: bool,
    as_json: bool,
) -> None:
    """Read what is in RECIPE, and hold it to a reference.

    RECIPE is typed, as "104 fl oz whole-milk + 12 fl oz evaporated-milk", or the name of a
    recipe in the pantry. Exit status 1 says that a demanded read lies outside its range.
    """
    from formulate.check import check
    from formulate.pantry import recipe_named
    from formulate.report import shapes, text
    from formulate.tables import band_set

    shelf = None if pantry is None else pantry_from(pantry)
    bands = band_set(against, None if shelf is None else shelf.own_bands)
    read = recipe_named(recipe, shelf, kitchen_from(kitchen))
    mix = check(read, bands, shelf)
    if as_json:
        shape = shapes.mix_shape(mix, read.kitchen.value, shelf)
        shape |= {"recipe": read.name, "answer": "outside" if mix.misses else "inside"}
        print_json(shape)
    else:
        click.echo("\n".join([f"Recipe: {read.name}", *text.heading(bands, read.kitchen, shelf)]))
        click.echo("")
        click.echo(text.mix_text(mix, read.kitchen, shelf, all_cautions=all_cautions))
        click.echo("")
        click.echo(text.answer_line(mix))
    ctx.exit(NO if mix.misses else 0)
