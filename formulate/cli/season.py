"""``formulate season``: what rearing costs, from birth to weaning, on one page."""

from __future__ import annotations

import click

from formulate.cli._common import NO, json_option, print_json
from formulate.cli._rearing import flock_from, mix_option, on_option, sources_option
from formulate.cli.shop import tell_forbidden


@click.command("season")
@click.argument("flock", required=False)
@click.argument("pantry", required=False)
@mix_option
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
    picture: str | None,
    on: str | None,
    tell_sources: bool,
    as_json: bool,
) -> None:
    """Tell what the animals in FLOCK drink and cost from birth to weaning, low to high.

    Beside it, the same on every other recipe of PANTRY, a bagged powder among them. Without
    files the built-in samples are used.
    """
    from formulate.answers.milks import refusal
    from formulate.rearing.mixes import pantry_of
    from formulate.report import rearing_text, shopping_shapes, shopping_text
    from formulate.shopping.season import season_of

    read = flock_from(flock, on)
    shelf = pantry_of(read.flock, pantry)
    if tell_forbidden(read, shelf, mix_name, as_json):
        ctx.exit(NO)
    season = season_of(read.flock, shelf, read.now, refusal, mix_name)
    if picture:
        from pathlib import Path

        from formulate.report.pictures.look import save_picture
        from formulate.report.pictures.shopping import draw_season

        save_picture(draw_season(season), Path(picture))
    if as_json:
        print_json(shopping_shapes.season_shape(season, read.now))
        return
    for line in rearing_text.pantry_lines(shelf, flock=flock, named=bool(pantry)):
        click.echo(line)
    click.echo(shopping_text.season_text(season))
    if tell_sources:
        click.echo("")
        click.echo("\n".join(shopping_text.shopping_sources(season.shopping.task, season=True)))
    if picture:
        click.echo(f"Wrote {picture}")
