"""``formulate card``: what to mix and how much each animal gets, for the refrigerator door."""

from __future__ import annotations

from typing import Any

import click

from formulate.cli._common import NO, json_option
from formulate.cli._help import HelpedCommand
from formulate.cli._printed import prepared, printed_options


@click.command("card", cls=HelpedCommand)
@printed_options
@json_option
@click.pass_context
def command(ctx: click.Context, /, as_json: bool, **options: Any) -> None:
    """Print a card for the refrigerator door, from the foods in file PANTRY."""
    ready = prepared(ctx, as_json, **options)
    from formulate.base.messages import listed, say
    from formulate.report.printed.card import save_card

    pages = save_card(ready.sheet, ready.mixed, ready.paper, ready.path)
    paper = ready.paper.name.lower()
    told = [say("card.written", path=ready.path, pages=pages, paper=paper)]
    if weak := ready.sheet.too_weak_for:
        told.append(say("card.written-weak", animals=listed(weak)))
    ready.print_out(as_json, "\n".join(told), pages=pages)
    ctx.exit(0 if ready.sheet.yes else NO)
