"""``formulate label``: labels for jars of mixed milk."""

from __future__ import annotations

from typing import Any

import click

from formulate.cli._common import json_option, print_json
from formulate.cli._printed import prepared, printed_options


@click.command("label")
@printed_options
@click.option("--per-sheet", type=int, metavar="N", help="Labels on a sheet; else all that fit.")
@json_option
@click.pass_context
def command(ctx: click.Context, /, as_json: bool, per_sheet: int | None, **options: Any) -> None:
    """Print labels for jars of the mix, to cut out: for the animal, and not for people."""
    ready = prepared(ctx, as_json, **options)
    from formulate.report.printed.label import save_labels

    count = save_labels(ready.made, ready.mixed, ready.paper, ready.path, per_sheet)
    if as_json:
        print_json(ready.shape(labels=count))
    else:
        labels = "1 label" if count == 1 else f"{count} labels"
        click.echo(f"Wrote {ready.path}: {labels} to cut out, {ready.paper.name.lower()}.")
        for note in ready.notes:
            click.echo(note)
