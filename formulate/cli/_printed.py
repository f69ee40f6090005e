"""What ``card`` and ``label`` share: their options, and the sheet they print."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from formulate.cli._common import NO, by_option, output_option, pantry_from, print_json, tell

if TYPE_CHECKING:
    from formulate.answers.sheet import Sheet
    from formulate.report.printed.paper import Paper

F = TypeVar("F", bound=Callable[..., Any])

_OPTIONS = (
    click.argument("pantry", required=False),
    click.option(
        "--for",
        "reference",
        metavar="NAME",
    ),
    click.option(
        "--make",
        metavar="VOLUME",
    ),
    click.option(
        "--in",
        "container",
        metavar="CONTAINER",
    ),
    click.option(
        "--keep-to",
        metavar="RECIPE",
    ),
    click.option(
        "--flock",
        metavar="FLOCK",
    ),
    click.option(
        "--milk",
        "mix",
        metavar="RECIPE",
    ),
    click.option(
        "--on",
        metavar="DATE",
    ),
    click.option(
        "--by-hand",
        is_flag=True,
    ),
    click.option(
        "--paper",
        metavar="a4|letter",
    ),
    output_option(
        "--out",
        required=True,
        output="sheet",
    ),
)


#: Options by the field of the request.
OPTIONS = {
    "reference": "--for",
    "make": "--make",
    "container": "--in",
    "keep_to": "--keep-to",
    "mix": "--milk",
    "per_sheet": "--per-sheet",
}


def printed_options(command: F) -> F:
    """Add the options that card and label share."""
    for option in reversed(_OPTIONS):
        command = option(command)
    return command


@dataclass(frozen=True)
class Prepared:
    """What there is to print."""

    sheet: Sheet
    mixed: date | None
    paper: Paper
    path: Path
    said: tuple[str, ...] = ()

    def print_out(self, as_json: bool, told: str, **more: Any) -> None:
        """Say what was printed: its verdict first."""
        from formulate.report.fed_milks import fed_milk_lines
        from formulate.report.printed.sheet_shape import sheet_shape

        if as_json:
            paper = self.paper.name.lower()
            print_json(
                sheet_shape(self.sheet, self.mixed)
                | {"written": [str(self.path)], "paper": paper, **more}
            )
            return
        bars = [bar.text for bar in self.sheet.bars]
        tell("\n".join([*fed_milk_lines(self.sheet.fed), *bars, *self.said, told]))


def prepared(
    ctx: click.Context,
    as_json: bool,
    pantry: str | None,
    flock: str | None,
    on: str | None,
    by_hand: bool,
    paper: str | None,
    out: str,
    **asked: str | None,
) -> Prepared:
    """Answer what stands on the sheet; where there is none say why, and leave with status 1."""
    from formulate.answers.sheet import SheetRequest, sheet
    from formulate.base.folder import file_lying_in
    from formulate.base.messages import say
    from formulate.base.outputs import Output, check_output
    from formulate.cli._rearing import household_from, moment_from
    from formulate.report.printed.paper import paper_named

    check_output(Path(out), Output.SHEET)
    moment = moment_from(on)
    said: tuple[str, ...] = ()
    if flock is None and pantry is None and not any(asked.values()):
        lying = file_lying_in(Path(), "animals", "flock")
        flock = None if lying is None else str(lying)
        said = () if lying is None else (say("today.household.flock-here", name=lying.name),)
    if flock is None:
        read, shelf = None, pantry_from(pantry)
    else:
        home = household_from(flock, pantry, on)
        read, shelf, said = home.read, home.pantry, (*said, *home.said)
    page = paper_named(paper, shelf)
    with by_option(OPTIONS):
        found = sheet(shelf, SheetRequest(**asked), read)
    if by_hand:
        mixed = None
    elif read is not None:
        mixed = read.now.date()
    else:
        mixed = date.today() if moment is None else moment.date()
    if not found.milks:
        _tell_no(found, mixed, as_json)
        ctx.exit(NO)
    return Prepared(found, mixed, page, Path(out), said)


def _tell_no(found: Sheet, mixed: date | None, as_json: bool) -> None:
    """Why nothing is printed: no milk may be fed, or these foods make none."""
    from formulate.report.fed_milks import fed_milk_lines
    from formulate.report.mix import mix_lines, mix_shape
    from formulate.report.printed.sheet_shape import sheet_shape

    if found.design is not None and not found.refused:
        if as_json:
            print_json(mix_shape(found.design) | {"written": []})
        else:
            tell("\n".join(mix_lines(found.design)))
    elif as_json:
        print_json(sheet_shape(found, mixed) | {"written": []})
    else:
        from formulate.base.messages import say

        bars = [bar.text for bar in found.bars]
        why = "card.nothing" if found.refused else "card.nothing-planned"
        tell("\n".join([*fed_milk_lines(found.refused), *bars, say(why)]))
