"""What the card and the label share: options, and the batches they tell of."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from formulate.cli._common import NO, pantry_from, print_json

if TYPE_CHECKING:
    from formulate.answers.day_and_jar import DayAndJar
    from formulate.blend.mix import NoMix
    from formulate.blend.whole.kitchen_mix import NoKitchenMix
    from formulate.pantry.pantry import Pantry
    from formulate.rearing.flock_file import FlockRead
    from formulate.report.printed.paper import Paper
    from formulate.report.shapes import Shape

F = TypeVar("F", bound=Callable[..., Any])

_OPTIONS = (
    click.argument("pantry", required=False),
    click.option("--for", "whom", metavar="NAME", help="What to design to."),
    click.option("--make", metavar="VOLUME", help="The day's batch; else what the flock drinks."),
    click.option("--in", "container", metavar="CONTAINER", help='The jar: "half-gallon jar".'),
    click.option(
        "--keep-to", metavar="RECIPE", help="A recipe to keep to; else the flock's, if any."
    ),
    click.option("--flock", metavar="FLOCK", help="Flock file, for what each animal gets."),
    click.option("--on", metavar="DATE", help="The day it is mixed; else today."),
    click.option("--by-hand", is_flag=True, help="Leave the dates open, to write them in."),
    click.option(
        "--paper",
        metavar="a4|letter",
        help="Else that of the pantry's country; letter for US cups, A4 for others.",
    ),
    click.option("--out", required=True, metavar="FILE", help="Write it: .pdf or .png."),
)


def printed_options(command: F) -> F:
    """Add the options that card and label share."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


@dataclass(frozen=True)
class Prepared:
    """What there is to print."""

    made: DayAndJar
    pantry: Pantry
    mixed: date | None
    paper: Paper
    path: Path
    notes: tuple[str, ...] = ()

    def shape(self, **more: Any) -> Shape:
        """What was printed, as JSON."""
        from formulate.answers.judged import judged
        from formulate.report.milk import milk_shape, plan_shape
        from formulate.report.printed.card import Dates

        dates = Dates.of(self.mixed)
        jar, kitchen = self.made.jar, self.pantry.kitchen
        return {
            "written": [str(self.path)],
            "paper": self.paper.name.lower(),
            "mixed_on": None if dates.mixed is None else dates.mixed.isoformat(),
            "use_by": None if dates.use_by is None else dates.use_by.isoformat(),
            "day": {
                **milk_shape(judged(self.made.day), kitchen, self.pantry),
                "order": plan_shape(self.made.day_plan)["steps"],
            },
            "jar": None if jar is None else milk_shape(judged(jar), kitchen, self.pantry),
            "notes": list(self.notes),
            **more,
        }


def prepared(
    ctx: click.Context,
    as_json: bool,
    pantry: str | None,
    whom: str | None,
    make: str | None,
    container: str | None,
    keep_to: str | None,
    flock: str | None,
    on: str | None,
    by_hand: bool,
    paper: str | None,
    out: str,
) -> Prepared:
    """Make the batches; where they cannot be made say why, and leave with status 1."""
    from formulate.answers.day_and_jar import DayAndJar, day_and_jar
    from formulate.base.units import parse_volume
    from formulate.cli._rearing import flock_from, moment_from
    from formulate.foods.tables import band_set
    from formulate.kitchen.jug import parse_container
    from formulate.pantry.pantry import recipe_named
    from formulate.rearing.mixes import pantry_of
    from formulate.report.printed.paper import check_ending, paper_named

    check_ending(Path(out))
    moment = moment_from(on)
    read = None if flock is None else flock_from(flock, on)
    shelf = pantry_from(pantry) if read is None else pantry_of(read.flock, pantry)
    sheet = paper_named(paper, shelf)
    species = "lamb" if read is None else str(read.flock.animals[0].species)
    bands = band_set(whom or f"{species}-replacer", shelf.own_bands)
    found = day_and_jar(
        shelf,
        bands,
        volume=None if make is None else parse_volume(make, shelf.kitchen),
        container=(container and parse_container(container, shelf.kitchen, shelf.table)) or None,
        favourite=None if keep_to is None else recipe_named(keep_to, shelf, shelf.kitchen),
        flock=read,
    )
    if not isinstance(found, DayAndJar):
        _tell_no(found, shelf, as_json)
        ctx.exit(NO)
    if by_hand:
        mixed = None
    elif read is not None:
        mixed = read.now.date()
    else:
        mixed = date.today() if moment is None else moment.date()
    notes = () if read is None or keep_to is not None else _notes(read, shelf)
    return Prepared(found, shelf, mixed, sheet, Path(out), notes)


def _notes(read: FlockRead, pantry: Pantry) -> tuple[str, ...]:
    """What to know where the flock's own recipe lies outside its range."""
    from formulate.base.messages import listed
    from formulate.rearing.mixes import flock_milk

    own = flock_milk(read.flock, pantry)
    if not own.mix.misses:
        return ()
    missed = listed([f"{r.band.label} {r.standing}" for r in own.mix.misses])
    return (
        f"{own.recipe.name} misses its range ({missed}). This is the mix in range that keeps "
        "nearest to it: change over to it gradually.",
    )


def _tell_no(found: NoKitchenMix | NoMix, pantry: Pantry, as_json: bool) -> None:
    """Why these foods do not make it."""
    from formulate.answers.mix import none_answer
    from formulate.report.mix import mix_lines, mix_shape

    answer = none_answer(pantry, found)
    if as_json:
        print_json(mix_shape(answer))
    else:
        click.echo("\n".join(mix_lines(answer)))
