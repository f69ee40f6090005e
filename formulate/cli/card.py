"""``formulate card``: what to mix and who gets how much, for the refrigerator door."""

from __future__ import annotations

from typing import Any

import click

from formulate.cli._common import NO, json_option, print_json
from formulate.cli._printed import prepared, printed_options


@click.command("card")
@printed_options
@json_option
@click.pass_context
def command(ctx: click.Context, /, as_json: bool, **options: Any) -> None:
    """Print a card for the refrigerator door, from the foods in file PANTRY.

    The recipe in kitchen measures with the order of mixing, for a day and for a jar; what each
    animal of a FLOCK gets this week, or lines to write it on; when to call a veterinarian.
    Exit status 1 says that the foods cannot make it, or that the mix is too weak for an animal.
    """
    ready = prepared(ctx, as_json, **options)
    from formulate.rearing.feeding import shortfall
    from formulate.report.printed.card import save_card

    feeds = ready.made.feeds
    weak = [] if feeds is None else [
        animal.name for i, animal in enumerate(feeds.flock.animals) if shortfall(feeds, i)
    ]  # fmt: skip
    pages = save_card(ready.made, ready.pantry, ready.mixed, ready.paper, ready.path)
    if as_json:
        print_json(ready.shape(pages=pages, too_weak_for=weak))
    else:
        sheets = "1 page" if pages == 1 else f"{pages} pages"
        click.echo(f"Wrote {ready.path}: {sheets}, {ready.paper.name.lower()}.")
        for note in ready.notes:
            click.echo(note)
        if weak:
            click.echo(f"This mix is too weak for {', '.join(weak)}: see formulate feed.")
    ctx.exit(NO if weak else 0)
