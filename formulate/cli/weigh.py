"""``formulate weigh``: log a weight."""

from __future__ import annotations

import click

from formulate.cli._common import json_option, print_json
from formulate.cli._rearing import flock_from, on_option


@click.command("weigh")
@click.argument("flock")
@click.argument("name")
@click.argument("weight")
@on_option
@click.option("--sure", is_flag=True, help="The weight is right, however unlikely it looks.")
@json_option
def command(flock: str, name: str, weight: str, on: str | None, sure: bool, as_json: bool) -> None:
    """Log that animal NAME of file FLOCK weighs WEIGHT, as 6.4kg or "14 lb 2 oz".

    A weight that cannot be true is not logged unless you say --sure. Logging the same weight
    twice does nothing.
    """
    from datetime import datetime

    from formulate.rearing.log import SURE, Entry, What, add_entries, log_path
    from formulate.rearing.logged import with_entries
    from formulate.rearing.weights import parse_weight
    from formulate.report import rearing_shapes
    from formulate.report.rearing_text import weighing_text

    read = flock_from(flock, on)
    animal = read.flock.animal(name)
    kilograms = parse_weight(weight)
    day = read.now.date()
    moment = datetime.combine(day, datetime.min.time())
    entry = Entry(moment, animal.name, What.WEIGHT, round(kilograms, 3), SURE if sure else "")
    _, faults = with_entries(animal, [entry], day)
    if faults:
        raise faults[0]
    path = log_path(flock)
    added = add_entries(path, [entry], replace=sure)
    if as_json:
        print_json(rearing_shapes.entries_shape([entry], added, str(path)))
        return
    click.echo(weighing_text(animal, day, kilograms, added=bool(added), path=str(path)))
    click.echo(f"Next: formulate growth {flock}")
