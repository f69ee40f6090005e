"""``formulate note``: write down anything that happened to an animal."""

from __future__ import annotations

from pathlib import Path

import click

from formulate.cli._common import json_option
from formulate.cli._rearing import at_option, by_option, flock_path, sure_option, write_down


@click.command("note")
@click.argument("words", nargs=-1, metavar="[FLOCK] NAME WHAT [AMOUNT]")
@at_option
@by_option
@click.option("--what", "whose", default="", metavar="WHOSE", help="Whose colostrum it was.")
@sure_option
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    words: tuple[str, ...],
    at: str | None,
    by: str,
    whose: str,
    sure: bool,
    as_json: bool,
) -> None:
    """Write down what happened to animal NAME of file FLOCK.

    \b
    WHAT          AMOUNT
    milk          what it drank of its mix, as "8 fl oz" or "240 mL"
    colostrum     what it drank of it
    drink         what it had of the drink for scour; it never counts as milk
    creep         what it ate today, as "120 g"
    weight        as 6.4kg or "14 lb 2 oz"
    temperature   as "38.9 C" or "102 F"
    weak          it cannot swallow or hold up its head
    swallows      it does both again
    veterinarian  a veterinarian says that it may be fed
    sold, died, weaned  it gets no more milk
    strike        takes back its newest entry, or the newest of a kind

    Without FLOCK the flock file in this folder is meant. Whatever looks wrong is asked about
    first, and nothing is ever removed from the log.
    """  # noqa: D301  (the mark tells click to keep the lines)
    from formulate.answers.household import load_household
    from formulate.answers.wanted import parse_moment, wanted_of

    first_is_file = bool(words) and (words[0].endswith(".toml") or Path(words[0]).is_file())
    flock, rest = (words[0], words[1:]) if first_is_file else (None, words)
    if len(rest) not in (2, 3):
        raise click.UsageError('say which animal and what, as: note Pip temperature "38.9 C"')
    path = flock_path(flock)
    moment = None
    if at is not None:
        moment = parse_moment(at, load_household(path).read.clock)
    told = wanted_of(rest[0], rest[1], *rest[2:], at=moment, by=by, note=whose)
    write_down(ctx, path, [told], sure=sure, as_json=as_json)
