"""``formulate start``: begin a folder with your own foods and animals, or with a sample."""

from __future__ import annotations

from pathlib import Path

import click

from formulate.base.messages import say
from formulate.cli._begin import Begun, ask_for_animals, ask_to_begin
from formulate.cli._common import (
    country_option,
    json_option,
    kitchen_from,
    kitchen_option,
    print_json,
    tell,
)
from formulate.cli._help import HelpedCommand
from formulate.cli._terminal import can_ask, fitted_toml, narrow, untouched


@click.command("start", cls=HelpedCommand)
@click.argument("folder", default=".")
@click.option("--food", "foods", multiple=True, metavar="FOOD")
@click.option("--animal", "animals", multiple=True, metavar="TEXT")
@click.option("--sample", is_flag=True)
@click.option("--keys", type=click.Choice(["pantry", "flock"]))
@kitchen_option
@country_option
@json_option
def command(
    folder: str,
    foods: tuple[str, ...],
    animals: tuple[str, ...],
    sample: bool,
    keys: str | None,
    kitchen: str | None,
    country: str | None,
    as_json: bool,
) -> None:
    """Write the first files of a folder."""
    from formulate.answers.start import newcomer, pantry_there
    from formulate.base.errors import InputError
    from formulate.pantry.start import FLOCK_FILE, check_free, every_key

    if keys is not None:
        width = narrow()
        text = every_key(keys) if width is None else fitted_toml(every_key(keys), width)
        with untouched():  # a file, on a terminal too
            click.echo(text, nl=False)
        return
    if sample and (foods or animals):
        raise InputError(say("start.sample-alone"), say("start.sample-alone-remedy"), "--sample")
    asks = can_ask() and not as_json
    if sample or not (foods or animals or asks):
        _write_sample(folder, country, as_json)
        return
    whose = None if kitchen is None else kitchen_from(kitchen)
    begun = Begun(country, whose, list(foods), [newcomer(text) for text in animals])
    there = pantry_there(Path(folder))
    if not foods and there is None:
        if not asks:
            raise InputError(say("start.foods-too"), say("start.foods-too-remedy"), "--animal")
        check_free(Path(folder))
        ask_to_begin(begun, with_animals=not animals)
    elif there is not None and not (foods or animals):
        check_free(Path(folder), [FLOCK_FILE])
        if not ask_for_animals(begun, there).animals:
            return
    _write(folder, begun, as_json)


def _write_sample(folder: str, country: str | None, as_json: bool) -> None:
    from formulate.pantry.start import write_sample

    written = write_sample(folder, country)
    if as_json:
        print_json({"written": [str(path) for path in written]})
        return
    lines = [say("start.wrote", path=path) for path in written]
    tell("\n".join([*lines, say("start.invented"), say("start.edit-sample", path=written[0])]))


def _write(folder: str, begun: Begun, as_json: bool) -> None:
    from formulate.answers.start import start

    answer = start(folder, begun.foods, begun.animals, kitchen=begun.kitchen, country=begun.country)
    recipes = dict(answer.recipes)
    if as_json:
        print_json({"written": [str(path) for path in answer.written], "recipes": recipes})
        return
    lines = [say("start.wrote", path=path) for path in answer.written]
    if begun.foods and answer.pantry.has_prices and begun.country is None:
        lines.append(say("start.currency-taken", currency=answer.pantry.currency))
    lines += [say("start.milk", name=name, recipe=text) for name, text in recipes.items()]
    if not recipes:
        lines += [say("start.no-milk-yet"), say("start.see-why")]
    lines.append(say("start.next-today") if begun.animals else say("start.next-mix"))
    tell("\n".join(lines))
