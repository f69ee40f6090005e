"""``formulate manual``: the manual that ships with the program."""

from __future__ import annotations

import click

from formulate.cli._help import HelpedCommand


@click.command("manual", cls=HelpedCommand)
@click.argument("topic", required=False)
def command(topic: str | None) -> None:
    """Print one topic of the manual, or list the topics."""
    from formulate.report import manual

    lines = manual.list_lines() if topic is None else manual.topic_lines(manual.topic(topic))
    click.echo("\n".join(lines))
