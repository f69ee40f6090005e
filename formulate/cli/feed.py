"""``formulate feed``: how much milk each animal gets, from today to weaning."""

from __future__ import annotations

import click

from formulate.cli._common import NO, WRONG, how, json_option, pantry_option, print_json, tell
from formulate.cli._help import HelpedCommand
from formulate.cli._rearing import (
    at_option,
    by_option,
    confirm_option,
    flock_path,
    household_from,
    level_option,
    milk_option,
    on_option,
    sources_option,
    write_down,
)


@click.command("feed", cls=HelpedCommand)
@click.argument("flock", required=False)
@pantry_option
@milk_option
@level_option
@click.option("--weaning", type=click.Choice(["stepped", "abrupt"]))
@on_option
@click.option("--every-day", is_flag=True)
@click.option("--cold-wet", is_flag=True)
@click.option("--fed", nargs=2, multiple=True, metavar="NAME AMOUNT")
@click.option("--colostrum", nargs=2, multiple=True, metavar="NAME AMOUNT")
@click.option("--creep", nargs=2, multiple=True, metavar="NAME AMOUNT")
@click.option("--whose", default="", metavar="WHOSE")
@at_option
@by_option
@confirm_option
@sources_option
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    flock: str | None,
    pantry: str | None,
    milk: str | None,
    level: str | None,
    weaning: str | None,
    on: str | None,
    every_day: bool,
    cold_wet: bool,
    fed: tuple[tuple[str, str], ...],
    colostrum: tuple[tuple[str, str], ...],
    creep: tuple[tuple[str, str], ...],
    whose: str,
    at: str | None,
    by: str,
    confirm: bool,
    tell_sources: bool,
    as_json: bool,
) -> None:
    """Plan the milk of every animal in file FLOCK, or log what one drank."""
    if fed or colostrum or creep:
        from formulate.answers.household import load_household
        from formulate.answers.wanted import parse_moment, wanted_of

        path = flock_path(flock)
        moment = None if at is None else parse_moment(at, load_household(path).read.clock)
        wanted = [
            wanted_of(name, kind, amount, at=moment, by=by, note=whose * (kind == "colostrum"))
            for kind, told in (("milk", fed), ("colostrum", colostrum), ("creep", creep))
            for name, amount in told
        ]
        write_down(ctx, path, wanted, confirm=confirm, as_json=as_json)
        return
    from formulate.answers.household import with_weaning
    from formulate.answers.levels import levels_of
    from formulate.answers.today import today
    from formulate.report import rearing_shapes, rearing_sources, rearing_text

    home = household_from(flock, pantry, on, level)
    if weaning is not None:
        home = with_weaning(home, weaning)
    found = today(home.read, home.pantry, named=milk, cold_wet=cold_wet)
    levels = levels_of(home.read, found)
    if as_json:
        colostrum_due = any(one.newborn is not None for one in found.animals)
        used = rearing_sources.figures_used(found.flock, colostrum=colostrum_due)
        shape = rearing_shapes.feed_shape(found, levels)
        print_json({**shape, "figures": rearing_shapes.figures_shape(used)})
    else:
        for line in home.said:
            tell(line)
        tell(rearing_text.feed_text(found, every_day=every_day, levels=levels))
        tell(how("sources"))
        if tell_sources:
            tell("")
            tell("\n".join(rearing_sources.source_lines(found)))
    ctx.exit(WRONG if home.read.idle_level else 0 if found.well else NO)
