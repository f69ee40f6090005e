"""``formulate today``: one screen for the barn."""

from __future__ import annotations

from pathlib import Path

import click

from formulate.cli._common import (
    NO,
    json_option,
    kitchen_option,
    pantry_option,
    print_json,
    tell,
)
from formulate.cli._rearing import household_from, mix_option, moment_from, on_option


@click.command("today")
@click.argument("flock", required=False)
@pantry_option
@mix_option
@on_option
@click.option("--lamb", metavar="WEIGHT", help="One lamb without a flock file, as --lamb 4.2kg.")
@click.option("--kid", metavar="WEIGHT", help="One kid without a flock file.")
@click.option("--age", metavar="AGE", help="Its age, as 36h, 3d or 2w.")
@click.option("--milk", metavar="RECIPE", help="What it drinks.")
@kitchen_option
@click.option("--cold-wet", is_flag=True, help="Newborns stand in cold wet wind.")
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    flock: str | None,
    pantry: str | None,
    mix_name: str | None,
    on: str | None,
    lamb: str | None,
    kid: str | None,
    age: str | None,
    milk: str | None,
    kitchen: str | None,
    cold_wet: bool,
    as_json: bool,
) -> None:
    """Say on one screen what to feed now, to whom, and what to mind.

    FLOCK is a flock file; without it the one in this folder is used, or the built-in sample.
    One animal needs no file: formulate today --lamb 4.2kg --age 3d --milk "1 quart whole-milk".
    Exit status 1 says that a milk is not right, or too weak for some animal, or that one must
    not be fed.
    """
    from formulate.answers.household import one_animal
    from formulate.answers.today import today
    from formulate.base.units import parse_kitchen
    from formulate.report.rearing_shapes import today_shape
    from formulate.report.today_text import screen_lines

    if lamb is None and kid is None:
        if age or milk:
            raise click.UsageError("--age and --milk go with --lamb or --kid.")
        home = household_from(flock, pantry, on)
    else:
        if flock is not None or (lamb and kid):
            raise click.UsageError("name one flock, or one --lamb, or one --kid.")
        if age is None:
            raise click.UsageError("say how old it is, as --age 3d.")
        drinks = milk or mix_name
        if drinks is None:
            raise click.UsageError('say what it drinks, as --milk "1 quart whole-milk".')
        species, weight = ("lamb", lamb) if lamb is not None else ("kid", kid)
        home = one_animal(
            species,
            weight or "",
            age,
            drinks,
            moment_from(on),
            pantry=pantry,
            kitchen=None if kitchen is None else parse_kitchen(kitchen),
            folder=Path(),
        )
        mix_name = None
    found = today(home.read, home.pantry, named=mix_name, cold_wet=cold_wet)
    if as_json:
        print_json({**today_shape(found), "answer": "yes" if found.well else "no"})
    else:
        for line in (*home.said, *screen_lines(found)):
            tell(line)
    ctx.exit(0 if found.well else NO)
