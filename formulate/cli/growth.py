"""``formulate growth``: compare each animal's weight with what its feed should support."""

from __future__ import annotations

import click

from formulate.base.messages import say
from formulate.cli._common import (
    NO,
    how,
    json_option,
    output_option,
    pantry_option,
    print_json,
    tell,
)
from formulate.cli._help import HelpedCommand
from formulate.cli._rearing import household_from, milk_option, on_option, sources_option


@click.command("growth", cls=HelpedCommand)
@click.argument("flock", required=False)
@pantry_option
@milk_option
@on_option
@output_option(
    "--picture",
    output="picture",
)
@sources_option
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    flock: str | None,
    pantry: str | None,
    milk: str | None,
    on: str | None,
    picture: str | None,
    tell_sources: bool,
    as_json: bool,
) -> None:
    """Compare each animal's growth in file FLOCK with what its feed should support."""
    from formulate.answers.today import today
    from formulate.report import growth_text, rearing_shapes, rearing_sources

    home = household_from(flock, pantry, on)
    found = today(home.read, home.pantry, named=milk)
    if picture:
        from pathlib import Path

        from formulate.report.pictures.growth import draw_growth
        from formulate.report.pictures.look import save_picture

        save_picture(draw_growth(found), Path(picture))
    if as_json:
        used = rearing_sources.figures_used(found.flock, colostrum=False, growth=True)
        shape = rearing_shapes.growth_shape(found)
        print_json({**shape, "figures": rearing_shapes.figures_shape(used)})
    else:
        for line in home.said:
            tell(line)
        tell(growth_text.growth_text(found))
        tell(how("sources"))
        if picture:
            tell(say("how.wrote", name=picture))
        if tell_sources:
            tell("")
            tell("\n".join(rearing_sources.source_lines(found, growth=True)))
    ctx.exit(0 if found.growing else NO)
