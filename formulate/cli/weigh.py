"""``formulate weigh``: log a weight."""

from __future__ import annotations

import click

from formulate.base.messages import say
from formulate.cli._common import json_option
from formulate.cli._help import HelpedCommand
from formulate.cli._rearing import by_option, confirm_option, flock_path, moment_from, write_down


@click.command("weigh", cls=HelpedCommand)
@click.argument("words", nargs=-1, metavar="[FLOCK] NAME WEIGHT")
@click.option("--on", metavar="DATE")
@by_option
@confirm_option
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    words: tuple[str, ...],
    on: str | None,
    by: str,
    confirm: bool,
    as_json: bool,
) -> None:
    """Log that animal NAME of file FLOCK weighs WEIGHT, as 6.4kg or "14 lb 2 oz"."""
    from formulate.answers.wanted import wanted_of

    if len(words) not in (2, 3):
        raise click.UsageError(say("how.weigh-needs"))
    flock, (name, weight) = words[0] if len(words) == 3 else None, words[-2:]
    told = wanted_of(name, "weight", weight, at=moment_from(on), by=by)
    write_down(ctx, flock_path(flock), [told], confirm=confirm, as_json=as_json)
