"""``formulate growth``: what the scale says against what the feed should give."""

from __future__ import annotations

import click

from formulate.cli._common import NO, json_option, pantry_option, print_json
from formulate.cli._rearing import flock_from, mix_option, on_option, sources_option


@click.command("growth")
@click.argument("flock", required=False)
@pantry_option
@mix_option
@on_option
@click.option("--picture", metavar="FILE", help="Draw it: .svg, .png or .pdf.")
@sources_option
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    flock: str | None,
    pantry: str | None,
    mix_name: str | None,
    on: str | None,
    picture: str | None,
    tell_sources: bool,
    as_json: bool,
) -> None:
    """Hold the growth of every animal in file FLOCK against what its feed should give.

    Exit status 1 says that some animal needs a look. Without a file the built-in sample is
    used.
    """
    from formulate.rearing.feeding import plan_feeds
    from formulate.rearing.growth import check_growth
    from formulate.rearing.mixes import flock_milk, pantry_of
    from formulate.report import growth_text, rearing_shapes, rearing_sources, rearing_text

    read = flock_from(flock, on)
    shelf = pantry_of(read.flock, pantry)
    milk = flock_milk(read.flock, shelf, mix_name)
    change = read.flock.change
    before = None if change is None else flock_milk(read.flock, shelf, change.from_mix).milk
    plan = plan_feeds(read.flock, milk.milk, read.now, old_milk=before)
    checks = check_growth(plan, read.now)
    if picture:
        from pathlib import Path

        from formulate.report.pictures.growth import draw_growth
        from formulate.report.pictures.look import save_picture

        save_picture(draw_growth(checks, plan), Path(picture))
    if as_json:
        shape = rearing_shapes.growth_shape(checks, plan, milk, read.now, read.log_faults)
        used = rearing_sources.figures_used(read.flock, colostrum=False, growth=True)
        print_json({**shape, "figures": rearing_shapes.figures_shape(used)})
    else:
        for line in rearing_text.pantry_lines(shelf, flock=flock, named=bool(pantry)):
            click.echo(line)
        click.echo(growth_text.growth_text(checks, plan, milk, read.now))
        if picture:
            click.echo(f"Wrote {picture}")
        if tell_sources:
            click.echo("")
            lines = rearing_sources.source_lines(plan, colostrum=False, growth=True)
            click.echo("\n".join(lines))
    ctx.exit(NO if any(check.alarms for check in checks) else 0)
