"""``formulate shop``: what to buy on which day, and what to mix of it, to the end of weaning."""

from __future__ import annotations

from datetime import time
from typing import TYPE_CHECKING

import click

from formulate.cli._common import NO, json_option, print_json
from formulate.cli._rearing import flock_from, mix_option, on_option, sources_option

if TYPE_CHECKING:
    from formulate.pantry.pantry import Pantry
    from formulate.rearing.flock_file import FlockRead


def mixing_hour_from(text: str | None) -> time | None:
    """Read an hour of the day."""
    from formulate.base.errors import InputError

    if text is None:
        return None
    try:
        return time.fromisoformat(text.strip()).replace(tzinfo=None)
    except ValueError:
        raise InputError(f'"{text}" is not a time of day', 'Write "06:00".', "--mix-at") from None


def tell_forbidden(read: FlockRead, shelf: Pantry, mix_name: str | None, as_json: bool) -> bool:
    """Say so where the milk must not be fed."""
    from formulate.answers.milks import refusals
    from formulate.answers.verdict import judge
    from formulate.rearing.mixes import flock_milk
    from formulate.report import rearing_shapes, rearing_text

    milk = flock_milk(read.flock, shelf, mix_name)
    judged = judge(milk.mix)
    if not refusals(judged):
        return False
    if as_json:
        print_json(
            rearing_shapes.forbidden_shape(read.flock, milk, judged, read.now, read.log_faults)
        )
    else:
        click.echo(rearing_text.forbidden_text(read.flock, read.now, milk, judged))
    return True


@click.command("shop")
@click.argument("flock", required=False)
@click.argument("pantry", required=False)
@mix_option
@click.option(
    "--also", multiple=True, metavar="RECIPE", help="Another mix that may be used; repeatable."
)
@click.option("--keeps", type=int, metavar="DAYS", help="How long mixed milk is kept chilled.")
@click.option("--mix-at", metavar="HH:MM", help="Hour of mixing.")
@click.option(
    "--trip-cost",
    type=click.FloatRange(0, 1e5),
    default=0.0,
    metavar="MONEY",
    help="What one trip costs.",
)
@click.option(
    "--seconds",
    type=click.FloatRange(0.1, 3600),
    default=30.0,
    show_default=True,
    help="Longest search.",
)
@click.option("--every-day", is_flag=True, help="Tell every batch, not the first week's.")
@click.option("--calendar", metavar="FILE", help="Write the season to FILE.ics.")
@click.option("--picture", metavar="FILE", help="Draw it: .svg, .png or .pdf.")
@on_option
@sources_option
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    flock: str | None,
    pantry: str | None,
    mix_name: str | None,
    also: tuple[str, ...],
    keeps: int | None,
    mix_at: str | None,
    trip_cost: float,
    seconds: float,
    every_day: bool,
    calendar: str | None,
    picture: str | None,
    on: str | None,
    tell_sources: bool,
    as_json: bool,
) -> None:
    """List what to buy, trip by trip, for the animals in FLOCK, at the prices in PANTRY.

    Whole packages at the least cost, so that nothing is used out of date and the refrigerator
    holds it. Exit status 1 says that there is no such shopping. Without files the built-in
    samples are used.
    """
    from pathlib import Path

    from formulate.answers.milks import refusal
    from formulate.rearing.mixes import pantry_of
    from formulate.report import rearing_text, shopping_shapes, shopping_text
    from formulate.shopping.plan import NoShopping, plan_shopping
    from formulate.shopping.task import ShopRequest, prepare_shopping

    read = flock_from(flock, on)
    shelf = pantry_of(read.flock, pantry)
    if tell_forbidden(read, shelf, mix_name, as_json):
        ctx.exit(NO)
    hour = mixing_hour_from(mix_at)
    request = ShopRequest(also, keeps, hour, trip_cost, seconds)
    task = prepare_shopping(read.flock, shelf, read.now, refusal, mix_name, request)
    found = plan_shopping(task)
    if isinstance(found, NoShopping):
        if as_json:
            print_json(shopping_shapes.no_shopping_shape(found, read.now))
        else:
            for line in rearing_text.pantry_lines(shelf, flock=flock, named=bool(pantry)):
                click.echo(line)
            click.echo(shopping_text.no_shopping_text(found))
        ctx.exit(NO)
    written = []
    if calendar:
        from formulate.base.files import replace_file
        from formulate.report.calendar import calendar_text

        replace_file(Path(calendar), calendar_text(found, read.now))
        written.append(calendar)
    if picture:
        from formulate.report.pictures.look import save_picture
        from formulate.report.pictures.shopping import draw_shopping

        save_picture(draw_shopping(found), Path(picture))
        written.append(picture)
    if as_json:
        print_json(shopping_shapes.shopping_shape(found, read.now))
        return
    for line in rearing_text.pantry_lines(shelf, flock=flock, named=bool(pantry)):
        click.echo(line)
    click.echo(shopping_text.shopping_text(found, every_day=every_day))
    if tell_sources:
        click.echo("")
        click.echo("\n".join(shopping_text.shopping_sources(task)))
    for name in written:
        click.echo(f"Wrote {name}")
