"""``formulate check``: read a recipe against a reference, and hold it to instruments."""

from __future__ import annotations

import click

from formulate.cli._common import (
    NO,
    all_cautions_option,
    country_option,
    how,
    json_option,
    kitchen_from,
    kitchen_option,
    output_option,
    pantry_option,
    print_json,
    shelf_from,
    tell,
    wrote_lines,
)


@click.command("check")
@click.argument("recipe")
@click.option("--against", default="lamb-replacer", metavar="NAME", help="Reference to hold it to.")
@pantry_option
@country_option
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
@output_option("--picture", output="picture", help="Draw the reads: .svg, .png or .pdf.")
@all_cautions_option
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    recipe: str,
    against: str,
    pantry: str | None,
    country: str | None,
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
    """Read what is in RECIPE, and say whether it may be fed.

    RECIPE is typed, as "2 quarts whole-milk + 1 can evaporated-milk", or the name of a
    recipe in the pantry. With what an instrument reads, it also says whether the mix is what
    the recipe says, and what most likely went wrong. Exit status 1 says that the milk is not
    inside every range, or that an instrument does not read what it should.
    """
    from formulate.answers.check import check
    from formulate.report.checked import check_lines, check_shape

    readings = {
        "brix": brix,
        "lactometer": lactometer,
        "at": at,
        "marked": lactometer_marked,
        "freezing_point": freezing_point,
        "weigh": weigh,
    }
    shelf = shelf_from(pantry, country)
    whose = kitchen_from(kitchen, shelf)
    answer = check(recipe, shelf, against, kitchen=whose, readings=readings)
    written = []
    if picture and answer.milk is not None:
        from pathlib import Path

        from formulate.report.pictures.look import save_picture
        from formulate.report.pictures.mix import reads_picture

        save_picture(reads_picture(answer.milk.mix), Path(picture))
        written.append(picture)
    if as_json:
        print_json(check_shape(answer) | ({"written": written} if written else {}))
    else:
        lines = check_lines(answer, how=how, all_cautions=all_cautions)
        tell("\n".join([*lines, *wrote_lines(written)]))
    ctx.exit(0 if answer.yes else NO)
