"""``formulate prices``: which recipe is cheapest where, as prices move."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from formulate.cli._common import NO, json_option, pantry_from, print_json

if TYPE_CHECKING:
    from formulate.blend.problem import Problem
    from formulate.pantry.pantry import Pantry
    from formulate.pantry.price_range import Vary

#: Price vectors tried where more than two prices move.
SAMPLES = 20_000


@click.command("prices")
@click.argument("pantry", required=False)
@click.option(
    "--vary",
    "varied",
    multiple=True,
    required=True,
    metavar="FOOD=LOW..HIGH",
    help="Price per package from low to high. Once: a staircase; twice: a map; more: a sample.",
)
@click.option("--for", "whom", default="lamb-replacer", metavar="NAME", help="What to design to.")
@click.option("--picture", metavar="FILE", help="Draw it (.svg, .png, .pdf).")
@click.option("--csv", "table", metavar="FILE", help="Write every row as a CSV table.")
@click.option(
    "--points",
    default=300,
    show_default=True,
    type=click.IntRange(2, 2000),
    help="Prices along each side of a map.",
)
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    /,
    pantry: str | None,
    varied: tuple[str, ...],
    whom: str,
    picture: str | None,
    table: str | None,
    points: int,
    as_json: bool,
) -> None:
    """Show which recipe is cheapest where, as the prices of some foods move.

    Prices are those of a package, as the pantry file has them. Recipes are by the gram.
    """
    from formulate.blend.problem import build
    from formulate.foods.tables import band_set
    from formulate.pantry.price_range import parse_vary
    from formulate.report import text

    shelf = pantry_from(pantry)
    bands = band_set(whom, shelf.own_bands)
    ranges = [parse_vary(one) for one in varied]
    problem = build(shelf.shelf(), bands, 1000.0)
    asked = _Asked(shelf, problem, ranges, picture, table)
    if len(ranges) == 1:
        answer = asked.staircase()
    else:
        answer = asked.map(points) if len(ranges) == 2 else asked.sample()
    if answer is None:
        told = (
            f'These foods cannot make it at any price; "formulate mix --for {bands.name}" says why.'
        )
        if as_json:
            print_json({"status": "infeasible", "bands": bands.name})
        else:
            click.echo(told)
        ctx.exit(NO)
    shape, lines = answer
    if as_json:
        print_json({"status": "optimal", "bands": bands.name, "currency": shelf.currency} | shape)
    else:
        click.echo("\n".join([*text.heading(bands, shelf.kitchen, shelf), "", *lines]))


class _Asked:
    """One call: the ranges in money per gram, and how to tell and file what comes of them."""

    def __init__(
        self,
        pantry: Pantry,
        problem: Problem,
        ranges: Sequence[Vary],
        picture: str | None,
        table: str | None,
    ) -> None:
        from formulate.base.errors import InputError
        from formulate.kitchen.batch import packages
        from formulate.report.prices import Per

        known = packages(pantry)
        self.problem, self.picture, self.table = problem, picture, table
        self.foods: list[str] = []
        self.per: list[Any] = []
        self.ranges: list[tuple[float, float]] = []
        for vary in ranges:
            food = pantry.table.find(vary.food).id
            problem.shelf.column(food)
            if food in self.foods:
                raise InputError(f"--vary names {food} twice", "Name each food once.")
            words, grams = known[food]
            self.foods.append(food)
            self.per.append(Per(words, grams))
            self.ranges.append((vary.low / grams, vary.high / grams))

    def staircase(self) -> tuple[dict[str, Any], list[str]] | None:
        """One price: the exact steps."""
        from formulate.blend.prices.staircase import staircase
        from formulate.report.pictures.prices import staircase_picture
        from formulate.report.prices import staircase_rows
        from formulate.report.why import row_lines

        found = staircase(self.problem, self.foods[0], *self.ranges[0])
        if found is None:
            return None
        rows = staircase_rows(found, self.per[0])
        lines = [f"As {self.foods[0]} gets dearer, the cheapest mix of a litre:", *row_lines(rows)]
        written = self._file(rows, lambda: staircase_picture(found, self.per[0]))
        return {"steps": rows, "written": written}, [*lines, *_wrote(written)]

    def map(self, points: int) -> tuple[dict[str, Any], list[str]] | None:
        """Two prices: which recipe where."""
        from formulate.blend.prices.price_map import price_map
        from formulate.report.pictures.prices import price_map_picture
        from formulate.report.prices import map_rows, sweep_rows
        from formulate.report.why import row_lines

        with _Bar(points * points) as progress:
            found = price_map(
                self.problem, self.foods[0], self.ranges[0], self.foods[1], self.ranges[1],
                (points, points), progress=progress,
            )  # fmt: skip
        if found is None:
            return None
        recipes = sweep_rows(found.sweep)
        written = self._file(
            map_rows(found, *self.per) if self.table else [],
            lambda: price_map_picture(found, *self.per),
        )
        shape = {"recipes": recipes, "bases": found.sweep.n_bases, "written": written}
        title = f"Of {points} × {points} prices, each recipe is cheapest at this share:"
        return shape, [title, *row_lines(recipes), *_wrote(written)]

    def sample(self) -> tuple[dict[str, Any], list[str]] | None:
        """More prices: a seeded sample of their box."""
        import numpy as np

        from formulate.base.errors import InputError
        from formulate.blend.prices.parametric import sweep
        from formulate.report.prices import sweep_rows
        from formulate.report.why import row_lines

        if self.picture:
            raise InputError("a picture has room for two prices", "Leave --picture out.")
        random = np.random.default_rng(0)
        prices = np.tile(self.problem.shelf.price, (SAMPLES, 1))
        for food, (low, high) in zip(self.foods, self.ranges, strict=True):
            prices[:, self.problem.shelf.column(food)] = random.uniform(low, high, SAMPLES)
        with _Bar(SAMPLES) as progress:
            found = sweep(self.problem, prices, progress=progress)
        if found is None:
            return None
        rows = sweep_rows(found)
        written = self._file(rows, None)
        title = (
            f"Of {SAMPLES:,} prices drawn from these ranges, each recipe is cheapest at this share:"
        )
        return (
            {"recipes": rows, "bases": found.n_bases, "written": written},
            [title, *row_lines(rows), *_wrote(written)],
        )

    def _file(self, rows: Sequence[dict[str, Any]], draw: Callable[[], Any] | None) -> list[str]:
        """Write the table and the picture that were asked for; return their names."""
        written = []
        if self.table:
            from formulate.base.files import replace_file
            from formulate.report.tables import csv_text

            replace_file(Path(self.table), csv_text(rows))
            written.append(self.table)
        if self.picture and draw:
            from formulate.report.pictures.look import save_picture

            save_picture(draw(), Path(self.picture))
            written.append(self.picture)
        return written


def _wrote(written: Sequence[str]) -> list[str]:
    return [""] * bool(written) + [f"Wrote {name}" for name in written]


class _Bar:
    """A progress bar on standard error, where somebody is looking and it takes long."""

    def __init__(self, length: int) -> None:
        self.length = length
        self.bar: Any = None

    def __enter__(self) -> Callable[[int, int], None]:
        import sys

        if sys.stderr.isatty():
            self.bar = click.progressbar(length=self.length, file=sys.stderr, label="prices")
        return self.tell

    def tell(self, done: int, total: int) -> None:
        """Move the bar to `done`."""
        if self.bar is not None:
            self.bar.update(done - self.bar.pos)

    def __exit__(self, *_: object) -> None:
        if self.bar is not None:
            self.bar.render_finish()
