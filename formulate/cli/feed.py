"""``formulate feed``: how much milk each animal gets, from today to weaning."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from formulate.cli._common import NO, json_option, pantry_option, print_json
from formulate.cli._rearing import (
    flock_from,
    mix_option,
    moment_from,
    on_option,
    sources_option,
)

if TYPE_CHECKING:
    from formulate.rearing.flock_file import FlockRead
    from formulate.rearing.log import Entry


@click.command("feed")
@click.argument("flock", required=False)
@pantry_option
@mix_option
@on_option
@click.option("--every-day", is_flag=True, help="Tell each day, not each week.")
@click.option("--cold-wet", is_flag=True, help="Newborns stand in cold wet wind.")
@click.option(
    "--fed", nargs=2, multiple=True, metavar="NAME AMOUNT", help='Log a feed: --fed Pip "8 fl oz".'
)
@click.option("--colostrum", nargs=2, multiple=True, metavar="NAME AMOUNT", help="Log colostrum.")
@click.option(
    "--creep", nargs=2, multiple=True, metavar="NAME AMOUNT", help="Log creep eaten today."
)
@click.option("--what", default="", metavar="WHOSE", help="Whose colostrum: ewe, doe, cow.")
@click.option("--at", metavar="TIME", help='When it drank, as "2026-11-14 06:30"; else now.')
@click.option("--sure", is_flag=True, help="Put this in place of what stands in the log.")
@sources_option
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    flock: str | None,
    pantry: str | None,
    mix_name: str | None,
    on: str | None,
    every_day: bool,
    cold_wet: bool,
    fed: tuple[tuple[str, str], ...],
    colostrum: tuple[tuple[str, str], ...],
    creep: tuple[tuple[str, str], ...],
    what: str,
    at: str | None,
    sure: bool,
    tell_sources: bool,
    as_json: bool,
) -> None:
    """Plan the milk of every animal in file FLOCK, or log what one drank.

    Amounts are set by what keeps and grows each animal on this milk, in feeds under a cap;
    never bigger feeds, rather more of them. Exit status 1 says that this mix must not be fed,
    or that it is too weak for some animal. Without a file the built-in sample is used.
    """
    read = flock_from(flock, on)
    if fed or colostrum or creep:
        if flock is None:
            raise click.UsageError("there is no flock to log for: name its file.")
        _log(flock, read, fed, colostrum, creep, what, at, sure, as_json)
        return
    from formulate.answers.milks import refusals
    from formulate.answers.verdict import judge
    from formulate.base.errors import InputError
    from formulate.rearing.colostrum import colostrum_plan, is_newborn
    from formulate.rearing.feeding import check_refrigerator, plan_feeds, shortfall
    from formulate.rearing.mixes import flock_milk, pantry_of
    from formulate.report import rearing_shapes, rearing_sources, rearing_text

    shelf = pantry_of(read.flock, pantry)
    milk = flock_milk(read.flock, shelf, mix_name)
    judged = judge(milk.mix)
    if refusals(judged):
        if as_json:
            print_json(
                rearing_shapes.forbidden_shape(read.flock, milk, judged, read.now, read.log_faults)
            )
        else:
            click.echo(rearing_text.forbidden_text(read.flock, read.now, milk, judged))
        ctx.exit(NO)
    change = read.flock.change
    before = None if change is None else flock_milk(read.flock, shelf, change.from_mix).milk
    plan = plan_feeds(read.flock, milk.milk, read.now, old_milk=before)
    try:
        check_refrigerator(plan)
    except InputError as error:  # the animals are fed all the same
        click.echo(f"formulate: {error}", err=True)
    newborns = [
        colostrum_plan(animal, read.now, cold_wet)
        for animal in read.flock.animals
        if is_newborn(animal, read.now)
    ]
    if as_json:
        shape = rearing_shapes.feed_shape(plan, judged, read.now, newborns, read.log_faults)
        used = rearing_sources.figures_used(read.flock, colostrum=bool(newborns))
        print_json({**shape, "figures": rearing_shapes.figures_shape(used)})
    else:
        for line in rearing_text.pantry_lines(shelf, flock=flock, named=bool(pantry)):
            click.echo(line)
        click.echo(
            rearing_text.feed_text(plan, milk, judged, read.now, newborns, every_day=every_day)
        )
        if tell_sources:
            click.echo("")
            click.echo("\n".join(rearing_sources.source_lines(plan, colostrum=bool(newborns))))
    short = any(shortfall(plan, i) for i in range(len(read.flock.animals)))
    ctx.exit(NO if short else 0)


def _log(
    flock: str,
    read: FlockRead,
    fed: tuple[tuple[str, str], ...],
    colostrum: tuple[tuple[str, str], ...],
    creep: tuple[tuple[str, str], ...],
    what: str,
    at: str | None,
    sure: bool,
    as_json: bool,
) -> None:
    """Add lines to the log; colostrum is the only milk of a first day."""
    from datetime import datetime

    from formulate.base.units import parse_volume
    from formulate.rearing.colostrum import refuse_as_colostrum
    from formulate.rearing.figures import value
    from formulate.rearing.flock_file import parse_grams
    from formulate.rearing.log import Entry, What, add_entries, log_path
    from formulate.report import rearing_shapes

    moment = (moment_from(at) or read.now).replace(second=0, microsecond=0)
    day = datetime.combine(moment.date(), datetime.min.time())
    entries: list[Entry] = []
    notes: list[str] = []
    for name, amount in fed:
        animal = read.flock.animal(name)
        refuse_as_colostrum(animal, moment)
        volume = parse_volume(amount, read.flock.kitchen)
        cap = (animal.cap or value("cap-per-feed")) * animal.last_weight.kilograms
        if volume > 1.02 * cap:  # a mark on the bottle is no finer
            notes.append(
                f"That is more than {animal.name}'s cap of {cap:.0f} mL a feed at its last "
                "weight. Watch its belly; give the next feed smaller."
            )
        entries.append(Entry(moment, animal.name, What.MILK, round(volume, 1)))
    for name, amount in colostrum:
        animal = read.flock.animal(name)
        volume = parse_volume(amount, read.flock.kitchen)
        entries.append(Entry(moment, animal.name, What.COLOSTRUM, round(volume, 1), what))
    for name, amount in creep:
        entries.append(
            Entry(day, read.flock.animal(name).name, What.CREEP, round(parse_grams(amount), 1))
        )
    path = log_path(flock)
    added = add_entries(path, entries, replace=sure)
    if as_json:
        print_json(rearing_shapes.entries_shape(entries, added, str(path)))
        return
    for entry in entries:
        done = "Logged" if entry in added else "Already in the log"
        amount_words = f"{entry.amount:.0f} {entry.what.unit} of {entry.what}"
        click.echo(f"{done}: {entry.animal}, {amount_words}, {_when(entry)}")
    for note in notes:
        click.echo(note)


def _when(entry: Entry) -> str:
    return f"{entry.when:%Y-%m-%d %H:%M}" if entry.what.timed else f"{entry.day}"
