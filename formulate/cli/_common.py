"""Options and steps that several commands share."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from formulate.base.units import Kitchen
    from formulate.pantry.pantry import Pantry

F = TypeVar("F", bound=Callable[..., Any])

json_option = click.option("--json", "as_json", is_flag=True, help="Print one JSON object.")
all_cautions_option = click.option(
    "--all-cautions", is_flag=True, help="Tell every caution, each with its source."
)
kitchen_option = click.option(
    "--kitchen", metavar="us|metric|imperial", help="Whose cups and spoons a typed recipe means."
)
pantry_option = click.option(
    "--pantry", metavar="FILE", help="Pantry file with prices, own foods and recipes."
)

#: Exit status of a "no".
NO = 1


def pantry_from(path: str | None) -> Pantry:
    """Load a pantry, or the sample where none is named."""
    from formulate.pantry.pantry import load_pantry, sample_pantry

    return sample_pantry() if path is None else load_pantry(Path(path))


def kitchen_from(name: str | None) -> Kitchen:
    """Kitchen of typed recipes: US unless named."""
    from formulate.base.units import Kitchen, parse_kitchen

    return Kitchen.US if name is None else parse_kitchen(name)


def print_json(shape: Any) -> None:
    """Print one JSON object and nothing else."""
    from formulate.report.shapes import dump

    click.echo(dump(shape))
