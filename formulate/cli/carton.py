"""``formulate carton``: read a carton's panel, or a bag's guaranteed analysis."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from formulate.base.messages import say
from formulate.cli._common import (
    asked,
    by_option,
    country_option,
    json_option,
    kitchen_from,
    kitchen_option,
    print_json,
    shelf_from,
    tell,
)
from formulate.cli._help import HelpedCommand
from formulate.cli._terminal import can_ask
from formulate.pantry.label_figures import LABEL_FIGURES, NEEDED, names_in_law

if TYPE_CHECKING:
    from formulate.pantry.labels import Label

#: Parts of a label, as this command's options name them.
OPTIONS = {"name": "--name", "at_least": "--at-least", "at_most": "--at-most"}


def _figure_options(function: Callable[..., Any]) -> Callable[..., Any]:
    for figure in reversed(LABEL_FIGURES.values()):
        which = "label.option-needed" if figure.name in NEEDED else "label.option"
        words = say(which, words=figure.words, unit=figure.unit)
        function = click.option(f"--{figure.name}", metavar="FIGURE", help=words)(function)
    return function


@click.command("carton", cls=HelpedCommand)
@click.option("--name", default="my-carton", show_default=True)
@click.option("--sold-as", default="", metavar="NAME")
@click.option("--kind", default="", metavar="KIND")
@click.option("--like", default="", metavar="FOOD")
@click.option("--serving", metavar="SIZE")
@click.option("--per", metavar="SIZE")
@click.option("--rounding", metavar="us|eu|anz")
@_figure_options
@click.option("--at-least", multiple=True, metavar="NAME=PERCENT")
@click.option("--at-most", multiple=True, metavar="NAME=PERCENT")
@click.option("--add-to", metavar="PANTRY")
@country_option
@kitchen_option
@json_option
def command(
    name: str,
    sold_as: str,
    kind: str,
    like: str,
    at_least: tuple[str, ...],
    at_most: tuple[str, ...],
    add_to: str | None,
    country: str | None,
    kitchen: str | None,
    as_json: bool,
    **printed: str | None,
) -> None:
    """Read a carton's panel or a bag's guarantee: what is in it, and how sure that is."""
    from formulate.pantry.add_food import add_to_pantry, check_free
    from formulate.pantry.labels import Label, printed_in, read_carton
    from formulate.pantry.labels.typed import lacking, parse_guarantees
    from formulate.pantry.pantry import sample_pantry
    from formulate.report.carton import carton_shape, carton_text

    panel: Mapping[str, str | float] = {
        key.replace("_", "-"): text for key, text in printed.items() if text is not None
    }
    shelf = shelf_from(add_to, country)
    whose = kitchen_from(kitchen, shelf)
    if shelf is not None and shelf.stated:
        panel = printed_in(panel, shelf.country.panel)
    with by_option(OPTIONS):
        label = Label(
            kind,
            sold_as,
            like,
            panel,
            parse_guarantees(at_least, "at_least"),
            parse_guarantees(at_most, "at_most"),
        )
        check_free(name, sample_pantry())
        if gaps := lacking(label):
            if not can_ask():
                wanted = [" or ".join(f"--{f.replace('_', '-')}" for f in gap) for gap in gaps]
                raise click.UsageError(say("how.carton-needs", options=", ".join(wanted)))
            name, label = _ask(name, label)
        carton = read_carton(name, label, whose)
        if add_to is not None:
            add_to_pantry(Path(add_to), name, "", label)
    if as_json:
        print_json(carton_shape(carton) | {"added_to": add_to})
        return
    tell(carton_text(carton))
    if add_to is not None:
        click.echo("")
        metric = shelf is not None and shelf.kitchen.metric
        package = ("1 L" if metric else "1 gallon") if label.panel else "25 lb"
        click.echo(say("how.carton-added", file=add_to, name=name))
        click.echo(f'  [foods.{name}]\n  price = ...\n  package = "{package}"')


def _ask(name: str, label: Label) -> tuple[str, Label]:
    """Ask for what is missing, one thing at a time; explain a wrong answer and ask again."""
    from dataclasses import replace

    from formulate.pantry.add_food import check_free
    from formulate.pantry.labels import parse_figure, rounding_of, stands_for
    from formulate.pantry.labels.typed import KINDS, parse_name, parse_size
    from formulate.pantry.pantry import sample_pantry

    bare = not label.panel and not label.kind and not label.sold_as
    panel = dict(label.panel)
    if bare:
        click.echo(say("how.carton-copy"), err=True)
        free = partial(check_free, pantry=sample_pantry())
        name = asked(say("how.carton-name", name=name), free, empty=True) or name
    if not {"serving", "per"} & set(panel):
        size = asked(say("how.carton-serving"), parse_size)
        panel |= parse_size(size)
    rounding = rounding_of(panel)
    if not label.kind and not label.sold_as:
        click.echo(say("how.carton-names", names=", ".join(names_in_law(rounding.law))), err=True)
        click.echo(say("how.carton-kinds", kinds=", ".join(KINDS)), err=True)
        named = partial(parse_name, law=rounding.law)
        told = named(asked(say("how.carton-sold-as"), named))
        label = replace(label, sold_as=told.get("sold_as", ""), kind=told.get("kind", ""))
    for key, figure in LABEL_FIGURES.items():
        wanted = key in NEEDED or (bare and figure.asked)
        if key not in panel and wanted:
            text = asked(
                say("label.prompt", words=figure.words, unit=figure.unit),
                lambda t, key=key: stands_for(key, parse_figure(key, t), rounding),  # type: ignore[misc]
                empty=key not in NEEDED,
            )
            if text:
                panel[key] = text
    return name, replace(label, panel=panel)
