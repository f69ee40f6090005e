"""``formulate label``: labels for jars of mixed milk."""

from __future__ import annotations

from typing import Any

import click

from formulate.cli._common import NO, WHOLE_NUMBER, by_option, json_option
from formulate.cli._help import HelpedCommand
from formulate.cli._printed import OPTIONS, prepared, printed_options


@click.command("label", cls=HelpedCommand)
@printed_options
@click.option("--per-sheet", type=WHOLE_NUMBER, metavar="N")
@json_option
@click.pass_context
def command(ctx: click.Context, /, as_json: bool, per_sheet: int | None, **options: Any) -> None:
    """Print labels for jars of milk, to cut out: for the animal, and not for people."""
    ready = prepared(ctx, as_json, **options)
    from formulate.base.messages import say
    from formulate.report.printed.label import save_labels

    with by_option(OPTIONS):
        count = save_labels(ready.sheet, ready.mixed, ready.paper, ready.path, per_sheet)
    paper = ready.paper.name.lower()
    told = say("card.labels-written", path=ready.path, labels=count, paper=paper)
    ready.print_out(as_json, told, labels=count)
    ctx.exit(0 if ready.sheet.yes else NO)
