"""``formulate season``: the cost of rearing, from birth to weaning, on one page."""

from __future__ import annotations

import click

from formulate.cli._common import NO, by_option, how, json_option, output_option, print_json, tell
from formulate.cli._help import HelpedCommand
from formulate.cli._rearing import household_from, milk_option, on_option, sources_option


@click.command("season", cls=HelpedCommand)
@click.argument("flock", required=False)
@click.argument("pantry", required=False)
@milk_option
@click.option("--seconds", type=click.FloatRange(0.1, 3600), default=30.0, show_default=True)
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
    seconds: float,
    picture: str | None,
    on: str | None,
    tell_sources: bool,
    as_json: bool,
) -> None:
    """Show the cost of rearing the animals in FLOCK, from birth to weaning."""
    from formulate.answers.season import season
    from formulate.answers.shop import ShopRequest
    from formulate.report import season_text, shopping_shapes, shopping_text

    home = household_from(flock, pantry, on)
    with by_option({"seconds": "--seconds"}):
        request = ShopRequest(seconds=seconds)
    answer = season(home.read, home.pantry, request, milk)
    written = []
    if picture and answer.own:
        from pathlib import Path

        from formulate.report.pictures.look import save_picture
        from formulate.report.pictures.shopping import draw_season

        save_picture(draw_season(answer), Path(picture))
        written.append(picture)
    if as_json:
        print_json(shopping_shapes.season_shape(answer) | {"written": written})
        ctx.exit(0 if answer.yes else NO)
    tell(season_text.season_text(answer, home.said))
    if answer.shopping.shopping and tell_sources:
        task = answer.shopping.shopping.task
        tell("")
        tell("\n".join(shopping_text.shopping_sources(task, season_text.SEASON_FIGURES)))
    elif answer.own:
        tell(how("sources"))
    for name in written:
        tell(f"Wrote {name}")
    ctx.exit(0 if answer.yes else NO)
