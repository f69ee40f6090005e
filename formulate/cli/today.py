"""``formulate today``: one screen for the barn."""

from __future__ import annotations

from pathlib import Path

import click

from formulate.base.messages import say
from formulate.cli._common import NO, json_option, kitchen_option, pantry_option, print_json, tell
from formulate.cli._help import HelpedCommand
from formulate.cli._rearing import (
    household_from,
    level_option,
    milk_option,
    moment_from,
    on_option,
)
from formulate.cli._terminal import shown_lines

#: Lines of one screen, which the answer keeps to where it can.
SCREEN = 24


@click.command("today", cls=HelpedCommand)
@click.argument("flock", required=False)
@pantry_option
@milk_option
@level_option
@on_option
@click.option("--lamb", metavar="WEIGHT")
@click.option("--kid", metavar="WEIGHT")
@click.option("--age", metavar="AGE")
@kitchen_option
@click.option("--cold-wet", is_flag=True)
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    flock: str | None,
    pantry: str | None,
    milk: str | None,
    level: str | None,
    on: str | None,
    lamb: str | None,
    kid: str | None,
    age: str | None,
    kitchen: str | None,
    cold_wet: bool,
    as_json: bool,
) -> None:
    """Say on one screen what to feed now, to whom, and what to mind."""
    from formulate.answers.household import one_animal
    from formulate.answers.today import today
    from formulate.base.units import parse_kitchen
    from formulate.report.rearing_shapes import today_shape
    from formulate.report.today_text import TIGHTEST, screen_lines

    if lamb is None and kid is None:
        if age is not None:
            raise click.UsageError(say("how.age-alone"))
        home = household_from(flock, pantry, on, level)
    else:
        if flock is not None or (lamb and kid):
            raise click.UsageError(say("how.one-flock"))
        if age is None:
            raise click.UsageError(say("how.no-age"))
        if milk is None:
            raise click.UsageError(say("how.no-milk"))
        species, weight = ("lamb", lamb) if lamb is not None else ("kid", kid)
        home = one_animal(
            species,
            weight or "",
            age,
            milk,
            moment_from(on),
            pantry=pantry,
            kitchen=None if kitchen is None else parse_kitchen(kitchen),
            folder=Path(),
        )
        milk = None
    found = today(home.read, home.pantry, named=milk, cold_wet=cold_wet)
    if as_json:
        print_json(today_shape(found))
    else:
        for tight in range(TIGHTEST + 1):
            text = "\n".join((*home.said, *screen_lines(found, tight)))
            if shown_lines(text) <= SCREEN:
                break
        tell(text)
    ctx.exit(0 if found.well else NO)
