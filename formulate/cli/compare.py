"""``formulate compare``: rank recipes by cost."""

from __future__ import annotations

import click

from formulate.cli._common import (
    NO,
    by_option,
    country_option,
    json_option,
    kitchen_from,
    kitchen_option,
    output_option,
    pantry_from,
    pantry_option,
    path_of,
    print_json,
    shelf_from,
    tell,
    wrote_lines,
)


@click.command("compare")
@click.argument("recipes", nargs=-1, metavar="RECIPE...")
@pantry_option
@click.option(
    "--per",
    type=click.Choice(["litre", "kg-dry-matter", "megajoule"]),
    default="litre",
    show_default=True,
    help="What to rank by.",
)
@click.option("--against", default="lamb-replacer", metavar="NAME", help="Ranges to remark on.")
@output_option("--picture", output="picture", help="Draw the costs: .svg, .png or .pdf.")
@country_option
@kitchen_option
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    recipes: tuple[str, ...],
    pantry: str | None,
    per: str,
    against: str,
    picture: str | None,
    country: str | None,
    kitchen: str | None,
    as_json: bool,
) -> None:
    """Rank RECIPEs by what they cost; without any, every recipe of the pantry.

    A bagged powder is one more recipe: "200 g my-powder + 800 mL water", with the powder and
    its price in the pantry file. Exit status 1 says that no recipe is inside its ranges.
    """
    from formulate.answers.compare import Per, compare
    from formulate.report.compared import compare_lines, compare_shape, write_picture

    shelf = shelf_from(pantry, country) or pantry_from(None)
    whose = kitchen_from(kitchen, shelf)
    with by_option({"reference": "--against"}):
        answer = compare(recipes, shelf, against, Per(per), kitchen=whose)
    written = write_picture(answer, path_of(picture))
    if as_json:
        print_json(compare_shape(answer) | ({"written": written} if written else {}))
    else:
        tell("\n".join([*compare_lines(answer), *wrote_lines(written)]))
    ctx.exit(0 if answer.yes else NO)
