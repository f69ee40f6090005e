"""``formulate check``: read a recipe against a reference, and hold it to instruments."""

from __future__ import annotations

import click

from formulate.cli._common import (
    NO,
    all_cautions_option,
    how,
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
@click.option("--brix", metavar="NUMBER", help="What a Brix refractometer reads.")
@click.option("--lactometer", metavar="NUMBER", help="What a lactometer reads; needs --at.")
@click.option("--at", metavar="TEMPERATURE", help='Of the milk, as "20 C" or "68 F".')
@click.option(
    "--lactometer-marked",
    metavar="TEMPERATURE",
    help='What the lactometer\'s stem is marked for ("60 F" unless you say).',
)
@click.option("--freezing-point", metavar="NUMBER", help="In °C, as -0.545.")
@click.option("--weigh", metavar="TEXT", help='What some of it weighs, as "1 cup = 251 g".')
@click.option("--picture", metavar="FILE", help="Draw the reads: .svg, .png or .pdf.")
@all_cautions_option
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    recipe: str,
    against: str,
    pantry: str | None,
    kitchen: str | None,
    brix: str | None,
    lactometer: str | None,
    at: str | None,
    lactometer_marked: str | None,
    freezing_point: str | None,
    weigh: str | None,
    picture: str | None,
    all_cautions: bool,
    as_json: bool,
) -> None:
    """Read what is in RECIPE, and hold it to a reference.

    RECIPE is typed, as "2 quarts whole-milk + 1 can evaporated-milk", or the name of a
    recipe in the pantry. With what an instrument reads, it also says whether the mix is what
    the recipe says, and what most likely went wrong. Exit status 1 says that a demanded read
    lies outside its range, or that an instrument does not read what it should.
    """
    from formulate.answers.judged import judged
    from formulate.base.messages import say
    from formulate.foods.tables import band_set
    from formulate.pantry.pantry import recipe_named
    from formulate.pantry.reading import check
    from formulate.report import text
    from formulate.report.milk import milk_lines, milk_shape

    shelf = None if pantry is None else pantry_from(pantry)
    bands = band_set(against, None if shelf is None else shelf.own_bands)
    read = recipe_named(recipe, shelf, kitchen_from(kitchen))
    typed = {
        "brix": brix,
        "lactometer": lactometer,
        "at": at,
        "marked": lactometer_marked,
        "freezing_point": freezing_point,
        "weigh": weigh,
    }
    found = None
    if any(value is not None for value in typed.values()):
        from formulate.instruments import parse_readings
        from formulate.instruments.diagnosis import find_slips
        from formulate.report import instruments_text

        found = find_slips(read, parse_readings(read.kitchen, **typed))
    mix = check(read, bands, shelf)
    if picture:
        from pathlib import Path

        from formulate.report.pictures.look import save_picture
        from formulate.report.pictures.mix import reads_picture

        save_picture(reads_picture(mix), Path(picture))
    milk = judged(mix)
    if as_json:
        shape = milk_shape(milk, read.kitchen, shelf)
        shape |= {"recipe": read.name, "answer": "outside" if mix.misses else "inside"}
        if found is not None:
            shape |= instruments_text.instruments_shape(found)
        if picture:
            shape["written"] = [picture]
        print_json(shape)
    else:
        click.echo("\n".join([f"Recipe: {read.name}", *text.heading(bands, read.kitchen, shelf)]))
        click.echo("")
        title, more = say("mix.checked-title"), how
        click.echo(
            "\n".join(milk_lines(milk, read.kitchen, title, how=more, all_cautions=all_cautions))
        )
        click.echo("")
        if found is not None:
            click.echo("\n".join([*instruments_text.instruments_lines(found), ""]))
        click.echo(text.answer_line(mix))
        if found is not None:
            click.echo(instruments_text.instruments_answer(found))
        if picture:
            click.echo(f"Wrote {picture}")
    ctx.exit(NO if mix.misses or (found is not None and not found.agrees) else 0)
