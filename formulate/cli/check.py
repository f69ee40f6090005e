"""``formulate check``: compare a recipe with a reference, and with what instruments read."""

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
    shelf_here,
    tell,
    wrote_lines,
)
from formulate.cli._help import HelpedCommand


@click.command("check", cls=HelpedCommand)
@click.argument("recipe")
@click.option("--for", "whom", default="lamb-replacer", metavar="NAME")
@pantry_option
@country_option
@kitchen_option
@click.option("--brix", metavar="NUMBER")
@click.option("--lactometer", metavar="NUMBER")
@click.option("--temperature", metavar="TEMPERATURE")
@click.option("--lactometer-marked", metavar="TEMPERATURE")
@click.option("--freezing-point", metavar="NUMBER")
@click.option("--weigh", metavar="TEXT")
@output_option("--picture", output="picture")
@all_cautions_option
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    recipe: str,
    whom: str,
    pantry: str | None,
    country: str | None,
    kitchen: str | None,
    brix: str | None,
    lactometer: str | None,
    temperature: str | None,
    lactometer_marked: str | None,
    freezing_point: str | None,
    weigh: str | None,
    picture: str | None,
    all_cautions: bool,
    as_json: bool,
) -> None:
    """Read what is in RECIPE, and say whether it may be fed."""
    from formulate.answers.check import check
    from formulate.report.checked import check_lines, check_shape

    readings = {
        "brix": brix,
        "lactometer": lactometer,
        "at": temperature,
        "marked": lactometer_marked,
        "freezing_point": freezing_point,
        "weigh": weigh,
    }
    shelf = shelf_from(pantry, country)
    named = shelf is not None
    shelf = shelf or shelf_here()
    whose = kitchen_from(kitchen, shelf)
    answer = check(recipe, shelf, whom, kitchen=whose, readings=readings)
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
        lines = check_lines(answer, how=how, all_cautions=all_cautions, named=named)
        tell("\n".join([*lines, *wrote_lines(written)]))
    ctx.exit(0 if answer.yes else NO)
