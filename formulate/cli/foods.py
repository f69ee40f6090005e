"""``formulate foods``: list foods, or compare one food's values across tables."""

from __future__ import annotations

import click

from formulate.cli._common import (
    country_option,
    json_option,
    numbers_of,
    pantry_option,
    path_of,
    print_json,
    shelf_from,
    tell,
)
from formulate.cli._help import HelpedCommand


@click.command("foods", cls=HelpedCommand)
@click.argument("words", nargs=-1)
@click.option("--show", metavar="ID")
@click.option("--table", "table_name", metavar="NAME")
@country_option
@pantry_option
@json_option
def command(
    words: tuple[str, ...],
    show: str | None,
    table_name: str | None,
    country: str | None,
    pantry: str | None,
    as_json: bool,
) -> None:
    """List the foods in whose names every WORD occurs, or show one."""
    from formulate.answers.one_food import list_foods, show_food
    from formulate.pantry.pantry import foods_of
    from formulate.report import food_text, shapes

    numbers_of(shelf_from(pantry, country))
    table = foods_of(path_of(pantry), country)
    if show is not None:
        found = show_food(show, table)
        if as_json:
            print_json(shapes.one_food_shape(found))
        else:
            tell(food_text.food_text(found))
        return
    listed = list_foods(table, words, table_name)
    if as_json:
        print_json(shapes.foods_shape(listed))
    else:
        tell(food_text.foods_text(listed))
