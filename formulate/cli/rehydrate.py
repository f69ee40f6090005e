"""``formulate rehydrate``: what to do when an animal scours."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from formulate.cli._common import (
    NO,
    WHOLE_NUMBER,
    how,
    json_option,
    output_option,
    pantry_from,
    pantry_option,
    print_json,
    tell,
)
from formulate.cli._help import HelpedCommand
from formulate.cli._rearing import household_from, on_option

if TYPE_CHECKING:
    from formulate.answers.rehydrate import Rehydration
    from formulate.pantry.pantry import Pantry

#: Signs, as options; the answer itself lists what each may be.
_SIGNS = ("stands", "sucks", "mouth", "skin", "eyes", "gums")


@click.command("rehydrate", cls=HelpedCommand)
@click.argument("flock", required=False)
@pantry_option
@on_option
@click.option("--animal", metavar="NAME")
@click.option("--weight", metavar="WEIGHT")
@click.option("--age", metavar="AGE")
@click.option("--stands", metavar="yes|no")
@click.option("--sucks", metavar="yes|weakly|no")
@click.option("--mouth", metavar="warm|cold")
@click.option("--skin", metavar="at-once|slowly|stays")
@click.option("--eyes", metavar="normal|sunken|deep")
@click.option("--gums", metavar="wet|sticky|dry")
@click.option("--temperature", metavar="DEGREES")
@click.option("--blood", is_flag=True)
@click.option("--swollen-belly", is_flag=True)
@click.option("--day", type=WHOLE_NUMBER, default=1, show_default=True, metavar="NUMBER")
@click.option("--others", is_flag=True)
@click.option("--water/--no-water", default=None)
@click.option("--check", "recipe", metavar="DRINK")
@click.option("--make", metavar="AMOUNT")
@click.option("--scale/--spoons", default=None)
@output_option("--card", output="sheet")
@click.option("--paper", metavar="a4|letter")
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    /,
    flock: str | None,
    pantry: str | None,
    on: str | None,
    animal: str | None,
    weight: str | None,
    age: str | None,
    temperature: str | None,
    blood: bool,
    swollen_belly: bool,
    day: int,
    others: bool,
    water: bool | None,
    recipe: str | None,
    make: str | None,
    scale: bool | None,
    card: str | None,
    paper: str | None,
    as_json: bool,
    **signs: str | None,
) -> None:
    """Say what to look at when one scours, and which drink, how much and when."""
    from formulate.answers.rehydrate import rehydrate, seen
    from formulate.base.messages import say
    from formulate.report.rehydrate import rehydrate_lines, rehydrate_shape

    home = None
    if flock is not None or (pantry is None and recipe is None) or animal is not None:
        home = household_from(flock, pantry, on)
    shelf = pantry_from(pantry) if home is None else home.pantry
    answer = rehydrate(
        shelf,
        seen(
            {name: signs[name] for name in _SIGNS},
            temperature=temperature,
            age=age,
            blood=blood,
            belly=swollen_belly,
            day=day,
            others=others,
            water=water,
        ),
        recipe=recipe,
        read=None if home is None else home.read,
        animal=animal,
        weight=weight,
        water=make,
        by_scale=scale,
    )
    written = [] if card is None or not answer.good else _card(answer, shelf, card, paper)
    if as_json:
        files = {} if card is None else {"written": [card] * bool(written)}
        print_json(rehydrate_shape(answer) | files)
    else:
        told = rehydrate_lines(answer, how)
        if card is not None:
            told += ["", *(written or [say("rehydrate.card.none")])]
        tell("\n".join(told))
    ctx.exit(0 if answer.good else NO)


def _card(answer: Rehydration, pantry: Pantry, name: str, paper: str | None) -> list[str]:
    """Print the card; say so."""
    from pathlib import Path

    from formulate.base.messages import say
    from formulate.report.printed.drink_card import save_drink_card
    from formulate.report.printed.paper import paper_named

    sheet = paper_named(paper, pantry)
    pages = save_drink_card(answer, sheet, Path(name))
    return [say("rehydrate.card.wrote", path=name, pages=pages, paper=sheet.name.lower())]
