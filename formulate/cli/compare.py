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
from formulate.cli._help import HelpedCommand


@click.command("compare", cls=HelpedCommand)
@click.argument("recipes", nargs=-1, metavar="RECIPE...")
@pantry_option
@click.option(
    "--per",
    type=click.Choice(["litre", "kg-dry-matter", "megajoule"]),
    default="litre",
    show_default=True,
)
@click.option("--for", "whom", default="lamb-replacer", metavar="NAME")
@output_option("--picture", output="picture")
@country_option
@kitchen_option
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    recipes: tuple[str, ...],
    pantry: str | None,
    per: str,
    whom: str,
    picture: str | None,
    country: str | None,
    kitchen: str | None,
    as_json: bool,
) -> None:
    """Rank RECIPEs by what they cost; without any, every recipe of the pantry."""
    from formulate.answers.compare import Per, compare
    from formulate.report.compared import compare_lines, compare_shape, write_picture

    shelf = shelf_from(pantry, country) or pantry_from(None)
    whose = kitchen_from(kitchen, shelf)
    with by_option({"reference": "--for"}):
        answer = compare(recipes, shelf, whom, Per(per), kitchen=whose)
    written = write_picture(answer, path_of(picture))
    if as_json:
        print_json(compare_shape(answer) | ({"written": written} if written else {}))
    else:
        tell("\n".join([*compare_lines(answer), *wrote_lines(written)]))
    ctx.exit(0 if answer.yes else NO)
