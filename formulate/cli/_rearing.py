"""Options and steps that the rearing commands share."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from formulate.answers.household import Household
    from formulate.rearing.flock_file import FlockRead

on_option = click.option(
    "--on", metavar="DATE", help='The day to plan from, as 2026-11-14 or "2026-11-14 06:30".'
)
mix_option = click.option(
    "--mix", "mix_name", metavar="RECIPE", help="The milk: a recipe, its name, or a .json mix."
)
sources_option = click.option(
    "--sources", "tell_sources", is_flag=True, help="Tell where every number comes from."
)


def moment_from(text: str | None) -> datetime | None:
    """Read a day or a moment; a day alone means its noon."""
    from formulate.base.errors import InputError

    if text is None:
        return None
    try:
        moment = datetime.fromisoformat(text.strip())
    except ValueError:
        raise InputError(
            f'"{text}" is not a date', 'Write 2026-11-14 or "2026-11-14 06:30".', "--on"
        ) from None
    moment = moment.replace(tzinfo=None)
    if len(text.strip()) <= len("2026-11-14"):
        moment = datetime.combine(date(moment.year, moment.month, moment.day), time(12))
    return moment


def flock_from(path: str | None, on: str | None) -> FlockRead:
    """Load a flock, or the sample where none is named.

    Lines of its log that were left out are told on standard error.
    """
    from formulate.rearing.flock_file import load_flock, sample_flock
    from formulate.report.rearing_text import log_fault_lines

    moment = moment_from(on)
    read = sample_flock(moment) if path is None else load_flock(path, moment)
    for line in log_fault_lines(read.log_faults):
        click.echo(f"formulate: {line}", err=True)
    return read


def household_from(flock: str | None, pantry: str | None, on: str | None) -> Household:
    """Load a flock and its pantry, or the samples where none is named.

    Lines of the log that were left out are told on standard error.
    """
    from formulate.answers.household import load_household
    from formulate.report.rearing_text import log_fault_lines

    home = load_household(flock, pantry, moment_from(on))
    for line in log_fault_lines(home.read.log_faults):
        click.echo(f"formulate: {line}", err=True)
    return home
