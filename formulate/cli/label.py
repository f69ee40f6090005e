"""``formulate label``: labels for jars of mixed milk."""

from __future__ import annotations

from typing import Any

import click

from formulate.cli._common import NO, by_option, json_option
from formulate.cli._printed import OPTIONS, prepared, printed_options


@click.command("label")
@printed_options
@click.option("--per-sheet", type=int, metavar="N", help="Labels on a sheet; else all that fit.")
@json_option
@click.pass_context
def command(ctx: click.Context, /, as_json: bool, per_sheet: int | None, **options: Any) -> None:
    """Print labels for jars of milk, to cut out: for the animal, and not for people.

    A sheet of labels for each milk of a FLOCK; nothing is printed of a milk that may not be fed.
    Exit status 1 means that a milk is not right, or that the foods make none.
    """
    ready = prepared(ctx, as_json, **options)
    from formulate.base.messages import say
    from formulate.report.printed.label import save_labels

    with by_option(OPTIONS):
        count = save_labels(ready.sheet, ready.mixed, ready.paper, ready.path, per_sheet)
    paper = ready.paper.name.lower()
    told = say("card.labels-written", path=ready.path, labels=count, paper=paper)
    ready.print_out(as_json, told, labels=count)
    ctx.exit(0 if ready.sheet.yes else NO)
