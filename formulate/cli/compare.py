"""``formulate compare``: rank recipes by cost."""

from __future__ import annotations

import click

from formulate.cli._common import (
    json_option,
    kitchen_from,
    kitchen_option,
    pantry_from,
    pantry_option,
    print_json,
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
@click.option("--picture", metavar="FILE", help="Draw the costs: .svg, .png or .pdf.")
@kitchen_option
@json_option
def command(
    recipes: tuple[str, ...],
    pantry: str | None,
    per: str,
    against: str,
    picture: str | None,
    kitchen: str | None,
    as_json: bool,
) -> None:
    """Rank RECIPEs by what they cost; without any, every recipe of the pantry.

    A bagged powder is one more recipe: "200 g my-powder + 800 mL water", with the powder and
    its price in the pantry file.
    """
    from formulate.answers.compare import Per, compare
    from formulate.foods.tables import band_set
    from formulate.pantry.pantry import recipe_named
    from formulate.report import shapes, text

    shelf = pantry_from(pantry)
    bands = band_set(against, shelf.own_bands)
    whose = kitchen_from(kitchen)
    read = [recipe_named(recipe, shelf, whose) for recipe in recipes or tuple(shelf.recipes)]
    if not read:
        raise click.UsageError(
            "there is nothing to compare: type recipes, or put some in the pantry."
        )
    rows = compare(read, shelf, bands, Per(per))
    if picture:
        from pathlib import Path

        from formulate.report.pictures.compare import compare_picture
        from formulate.report.pictures.look import save_picture

        save_picture(compare_picture(rows, Per(per), invented=shelf.invented), Path(picture))
    written = {"written": [picture]} if picture else {}
    if as_json:
        print_json({**shapes.compare_shape(rows, per, shelf), **written})
    else:
        click.echo(text.compare_text(rows, Per(per), shelf, bands))
        if picture:
            click.echo(f"Wrote {picture}")
