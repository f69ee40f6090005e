"""``formulate carton``: read a carton's panel, or a bag's guaranteed analysis."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from formulate.base.messages import say
from formulate.cli._common import json_option, kitchen_from, kitchen_option, print_json
from formulate.pantry.label_figures import LABEL_FIGURES, NEEDED

if TYPE_CHECKING:
    from formulate.pantry.labels import Label


def _figure_options(function: Callable[..., Any]) -> Callable[..., Any]:
    for figure in reversed(LABEL_FIGURES.values()):
        which = "label.option-needed" if figure.name in NEEDED else "label.option"
        words = say(which, words=figure.words, unit=figure.unit)
        function = click.option(f"--{figure.name}", metavar="FIGURE", help=words)(function)
    return function


@click.command("carton")
@click.option("--name", default="my-carton", show_default=True, help="Short name of the food.")
@click.option("--sold-as", default="", metavar="NAME", help='As "whole milk": a name in law.')
@click.option("--kind", default="", metavar="KIND", help='Kind of food, as "milk".')
@click.option("--like", default="", metavar="FOOD", help="A food of the table it resembles.")
@click.option("--serving", metavar="SIZE", help='As printed: "1 cup (240 mL)".')
@click.option("--per", metavar="SIZE", help='"100 g" or "100 mL", in place of a serving.')
@click.option("--rounding", metavar="us|elsewhere", help="Whose panel it is, if not plain.")
@_figure_options
@click.option(
    "--at-least", multiple=True, metavar="NAME=PERCENT", help="A bag's guarantee: protein=23."
)
@click.option(
    "--at-most", multiple=True, metavar="NAME=PERCENT", help="A bag's guarantee: ash=8, water=5."
)
@click.option("--add-to", metavar="PANTRY", help="Add the food to this pantry file.")
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
    kitchen: str | None,
    as_json: bool,
    **printed: str | None,
) -> None:
    """Read a carton's panel or a bag's guarantee: what is in it, and how sure that is.

    Copy one column of the panel, as printed: "less than 1 g" and 0 are read as the ranges they
    are. In a terminal, what is not given as an option is asked for.
    """
    from formulate.pantry.add_food import add_to_pantry
    from formulate.pantry.labels import Label, read_carton
    from formulate.report.carton import carton_shape, carton_text

    panel = {key.replace("_", "-"): text for key, text in printed.items() if text is not None}
    label = Label(
        kind,
        sold_as,
        like,
        panel,
        _guarantees(at_least, "--at-least"),
        _guarantees(at_most, "--at-most"),
    )
    whose = kitchen_from(kitchen)
    _check_name(name)
    if _lacking(label):
        if not sys.stdin.isatty():
            raise click.UsageError(
                f"say {', '.join(_lacking(label))}; in a terminal you would be asked for them."
            )
        name, label = _ask(name, label)
    carton = read_carton(name, label, whose)
    if add_to is not None:
        add_to_pantry(Path(add_to), name, "", label)
    if as_json:
        print_json(carton_shape(carton) | {"added_to": add_to})
        return
    click.echo(carton_text(carton))
    if add_to is not None:
        click.echo("")
        package = "1 gallon" if label.panel else "25 lb"
        click.echo(f"Added to {add_to} as [own.{name}]. To have a mix use it, price it there:")
        click.echo(f'  [foods.{name}]\n  price = ...\n  package = "{package}"')


def _check_name(name: str) -> None:
    from formulate.base.errors import InputError
    from formulate.foods.tables import food_table
    from formulate.pantry.own_food import check_food_id

    check_food_id(name)
    if name in food_table():
        raise InputError(
            f'a food of the table is called "{name}"', f"Say --name my-{name}, say.", "--name"
        )


def _guarantees(pairs: tuple[str, ...], option: str) -> dict[str, float]:
    """Read "protein=23" and "ash=8 %"."""
    from formulate.base.errors import InputError

    found: dict[str, float] = {}
    for pair in pairs:
        measure, equals, text = pair.partition("=")
        try:
            value = float(text.strip().removesuffix("%"))
        except ValueError:
            value = -1.0
        if not equals or not 0 <= value < 1e6:
            raise InputError(
                f'"{pair}" is not a guarantee', f'Write {option} "protein=23".', option
            )
        measure = measure.strip().lower().replace("_", "-")
        found["water" if measure == "moisture" else "fibre" if measure == "fiber" else measure] = (
            value
        )
    return found


def _lacking(label: Label) -> list[str]:
    """Options without which a label cannot be read."""
    lacking = [] if label.kind or label.sold_as else ["--sold-as or --kind"]
    if label.panel or not (label.at_least or label.at_most):
        if not {"serving", "per"} & set(label.panel):
            lacking.append("--serving or --per")
        lacking += [f"--{name}" for name in NEEDED if name not in label.panel]
    return lacking


def _ask(name: str, label: Label) -> tuple[str, Label]:
    """Ask for what is not there, one thing at a time; a wrong answer is told and asked again."""
    from dataclasses import replace

    from formulate.base.errors import InputError
    from formulate.foods.food import KINDS
    from formulate.foods.tables import standards
    from formulate.pantry.labels import Rounding, parse_figure, stands_for

    bare = not label.panel and not label.kind and not label.sold_as
    panel = dict(label.panel)

    def ask(words: str, check: Callable[[str], Any], empty: bool) -> str:
        while True:
            answer = click.prompt(
                words, default="" if empty else None, show_default=False, err=True
            )
            text = str(answer).strip()
            if not text and empty:
                return ""
            try:
                check(text)
            except InputError as error:
                click.echo(f"  {error}", err=True)
            else:
                return text

    if bare:
        click.echo("Copy from the carton. Enter alone leaves a line out.", err=True)
        name = ask(f"Short name for it (Enter: {name})", _check_name, empty=True) or name
    if not {"serving", "per"} & set(panel):
        size = ask(
            'Serving, as "1 cup (240 mL)"; or "per 100 g", "per 100 mL"', _is_size, empty=False
        )
        key = "per" if size.lower().startswith("per") else "serving"
        panel[key] = size[3:].strip() if key == "per" else size
    rounding = Rounding.ELSEWHERE if "per" in panel else Rounding.US
    if not label.kind and not label.sold_as:
        law = "us" if rounding is Rounding.US else "eu"
        names = list(dict.fromkeys(s.name for s in standards() if s.law == law))
        click.echo(f"Names the law knows: {', '.join(names)}.", err=True)
        click.echo(f"Other kinds: {', '.join(KINDS)}.", err=True)
        told = ask(
            "What is it sold as, or of what kind", lambda t: _is_named(t, names), empty=False
        )
        word = " ".join(told.lower().split())
        label = replace(label, sold_as=word) if word in names else replace(label, kind=word)
    for key, figure in LABEL_FIGURES.items():
        wanted = key in NEEDED or (bare and figure.asked)
        if key not in panel and wanted:
            text = ask(
                say("label.prompt", words=figure.words, unit=figure.unit),
                lambda t, key=key: stands_for(key, parse_figure(key, t), rounding),  # type: ignore[misc]
                empty=key not in NEEDED,
            )
            if text:
                panel[key] = text
    return name, replace(label, panel=panel)


def _is_size(text: str) -> None:
    from formulate.base.units import Kitchen
    from formulate.pantry.labels.panel import parse_serving
    from formulate.pantry.labels.rounding import Rounding

    bare = text[3:].strip() if text.lower().startswith("per") else text
    parse_serving(bare, True, Kitchen.US, Rounding.US)


def _is_named(text: str, names: list[str]) -> None:
    from formulate.base.errors import UnknownName
    from formulate.foods.food import KINDS

    word = " ".join(text.lower().split())
    if word not in names and word not in KINDS:
        raise UnknownName("such name or kind", text, [*names, *KINDS])
