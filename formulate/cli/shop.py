"""``formulate shop``: what to buy on each day and what to mix from it, until weaning."""

from __future__ import annotations

from datetime import time

import click

from formulate.cli._common import (
    NO,
    WHOLE_NUMBER,
    by_option,
    how,
    json_option,
    output_option,
    print_json,
    tell,
)
from formulate.cli._help import HelpedCommand
from formulate.cli._rearing import household_from, milk_option, on_option, sources_option

#: Options by the field of the request.
OPTIONS = {"keeps": "--keeps", "trip_cost": "--trip-cost", "seconds": "--seconds"}


def mixing_hour_from(text: str | None) -> time | None:
    """Read an hour of the day."""
    from formulate.base.errors import InputError
    from formulate.base.moments import parse_clock

    try:
        return None if text is None else parse_clock(text)
    except InputError as error:
        raise error.at("--mix-at") from None


@click.command("shop", cls=HelpedCommand)
@click.argument("flock", required=False)
@click.argument("pantry", required=False)
@milk_option
@click.option("--also", multiple=True, metavar="RECIPE")
@click.option("--keeps", type=WHOLE_NUMBER, metavar="DAYS")
@click.option("--mix-at", metavar="HH:MM")
@click.option("--trip-cost", type=click.FloatRange(0, 1e5), default=0.0, metavar="MONEY")
@click.option("--seconds", type=click.FloatRange(0.1, 3600), default=30.0, show_default=True)
@click.option("--every-day", is_flag=True)
@output_option("--calendar", output="calendar")
@output_option("--picture", output="picture")
@on_option
@sources_option
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    flock: str | None,
    pantry: str | None,
    milk: str | None,
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
    """List what to buy, trip by trip, for the animals in FLOCK, at the prices in PANTRY."""
    from pathlib import Path

    from formulate.answers.shop import ShopRequest, shop
    from formulate.report import shopping_shapes, shopping_text

    home = household_from(flock, pantry, on)
    with by_option(OPTIONS):
        request = ShopRequest(also, keeps, mixing_hour_from(mix_at), trip_cost, seconds)
    answer = shop(home.read, home.pantry, request, milk)
    written = []
    if calendar and answer.plan:
        from formulate.base.outputs import Output, write_output
        from formulate.report.calendar import calendar_text

        write_output(Path(calendar), calendar_text(answer), Output.CALENDAR)
        written.append(calendar)
    if picture and answer.plan:
        from formulate.report.pictures.look import save_picture
        from formulate.report.pictures.shopping import draw_shopping

        save_picture(draw_shopping(answer.plan), Path(picture))
        written.append(picture)
    if as_json:
        print_json(shopping_shapes.shopping_shape(answer) | {"written": written})
        ctx.exit(0 if answer.yes else NO)
    tell(shopping_text.shopping_text(answer, every_day=every_day, notes=home.said))
    if answer.plan and tell_sources:
        tell("")
        tell("\n".join(shopping_text.shopping_sources(answer.plan.task)))
    elif answer.plan:
        tell(how("sources"))
    for name in written:
        tell(f"Wrote {name}")
    ctx.exit(0 if answer.yes else NO)
