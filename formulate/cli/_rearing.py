"""Options and steps that the rearing commands share."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

import click

from formulate.base.messages import say
from formulate.cli._common import by_option as named_by_option
from formulate.cli._common import how, numbers_of, print_json, tell

if TYPE_CHECKING:
    from formulate.answers.household import Home
    from formulate.answers.wanted import Wanted

on_option = click.option("--on", metavar="DATE")
milk_option = click.option("--milk", metavar="RECIPE")
level_option = click.option("--level", metavar="LEVEL")
sources_option = click.option("--sources", "tell_sources", is_flag=True)
at_option = click.option("--at", metavar="TIME")
by_option = click.option("--by", default="", envvar="FORMULATE_BY", metavar="NAME")
confirm_option = click.option("--confirm", is_flag=True)


def moment_from(text: str | None) -> datetime | None:
    """Read a day or a moment; a day alone means its noon."""
    from formulate.base.errors import InputError
    from formulate.base.moments import parse_planned

    try:
        return None if text is None else parse_planned(text)
    except InputError as error:
        raise error.at("--on") from None


def household_from(
    flock: str | None, pantry: str | None, on: str | None, level: str | None = None
) -> Home:
    """Load a flock and its pantry: those named, those in this folder, or the samples.

    With a level, all animals are fed at it, whatever the file says.

    Lines of the log that were left out are listed on standard error.
    """
    from formulate.answers.household import fed_at_level, load_household
    from formulate.base.errors import ManyFaults

    found = load_household(flock, pantry, moment_from(on), folder=Path())
    with named_by_option({"level": "--level"}):
        found = found if level is None else fed_at_level(found, level)
    numbers_of(found.pantry)
    if found.read.log_faults:
        click.echo(f"formulate: {ManyFaults(found.read.log_faults)}", err=True)
    return found


def flock_path(named: str | None) -> Path:
    """The flock file to write beside: the one named, or the one in this folder.

    Raises
    ------
    UsageError
        If there is none.
    """
    from formulate.base.folder import file_lying_in

    found = Path(named) if named else file_lying_in(Path(), "animals", "flock")
    if found is None:
        raise click.UsageError(say("how.no-flock"))
    return found


def write_down(
    ctx: click.Context, flock: Path, wanted: Sequence[Wanted], *, confirm: bool, as_json: bool
) -> None:
    """Write things down and say what became of them; a question ends with status 2."""
    from formulate.answers.record import RecordOutcome, record
    from formulate.report.rearing_shapes import recorded_shape
    from formulate.report.record_text import recorded_lines

    done = record(flock, wanted, sure=confirm)
    asks = done.outcome is RecordOutcome.ASKS
    if as_json:
        print_json(recorded_shape(done))
    elif asks:
        for question in done.questions:
            click.echo(f"formulate: {question.text}", err=True)
        click.echo(how("confirm"), err=True)
    else:
        tell("\n".join(recorded_lines(done)))
    if asks:
        ctx.exit(2)
