"""``formulate foods``: list foods, or show one."""

from __future__ import annotations

import click

from formulate.cli._common import json_option, pantry_from, pantry_option, print_json


@click.command("foods")
@click.argument("words", nargs=-1)
@click.option("--show", metavar="ID", help="Show one food with all its values.")
@pantry_option
@json_option
def command(words: tuple[str, ...], show: str | None, pantry: str | None, as_json: bool) -> None:
    """List the foods in whose names every WORD occurs, or show one."""
    from formulate.foods.tables import food_table
    from formulate.report import shapes, text

    table = food_table() if pantry is None else pantry_from(pantry).table
    if show is not None:
        food = table.find(show)
        if as_json:
            print_json(shapes.food_shape(food))
        else:
            click.echo(text.food_text(food))
        return
    found = table.search(words)
    if as_json:
        print_json({"foods": [shapes.food_line_shape(food) for food in found]})
    elif found:
        click.echo(text.foods_text(found))
    else:
        click.echo(f'No food has "{" ".join(words)}" in its name.')
