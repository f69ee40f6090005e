"""``formulate note``: write down anything that happened to an animal."""

from __future__ import annotations

from pathlib import Path

import click

from formulate.base.messages import say
from formulate.cli._common import json_option
from formulate.cli._help import HelpedCommand
from formulate.cli._rearing import at_option, by_option, confirm_option, flock_path, write_down


@click.command("note", cls=HelpedCommand)
@click.argument("words", nargs=-1, metavar="[FLOCK] NAME WHAT [AMOUNT]")
@at_option
@by_option
@click.option("--whose", default="", metavar="WHOSE")
@confirm_option
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    words: tuple[str, ...],
    at: str | None,
    by: str,
    whose: str,
    confirm: bool,
    as_json: bool,
) -> None:
    """Write down what happened to animal NAME of file FLOCK."""
    from formulate.answers.household import load_household
    from formulate.answers.wanted import parse_moment, wanted_of
    from formulate.base.files import is_file

    first_is_file = bool(words) and (words[0].endswith(".toml") or is_file(Path(words[0])))
    flock, rest = (words[0], words[1:]) if first_is_file else (None, words)
    if len(rest) not in (2, 3):
        raise click.UsageError(say("how.note-needs"))
    path = flock_path(flock)
    moment = None
    if at is not None:
        moment = parse_moment(at, load_household(path).read.clock)
    told = wanted_of(rest[0], rest[1], *rest[2:], at=moment, by=by, note=whose)
    write_down(ctx, path, [told], confirm=confirm, as_json=as_json)
