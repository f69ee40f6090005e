"""``formulate prices``: show which recipe is cheapest, as prices move."""

from __future__ import annotations

import click

from formulate.cli._common import (
    NO,
    by_option,
    cluster_option,
    executor_from,
    how,
    json_option,
    output_option,
    pantry_from,
    path_of,
    print_json,
    progress_bar,
    tell,
    workers_option,
    wrote_lines,
)
from formulate.cli._help import HelpedCommand

#: Parts of the question, as this command's options name them.
OPTIONS = {"vary": "--vary", "picture": "--picture"}


@click.command("prices", cls=HelpedCommand)
@click.argument("pantry", required=False)
@click.option("--vary", "varied", multiple=True, required=True, metavar="FOOD=LOW..HIGH")
@click.option("--for", "whom", default="lamb-replacer", metavar="NAME")
@output_option("--picture", output="picture")
@output_option("--csv", "table", output="table")
@click.option("--points", default=300, show_default=True, type=click.IntRange(2, 2000))
@workers_option
@cluster_option
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
    workers: int,
    cluster: str | None,
    as_json: bool,
) -> None:
    """Show which recipe is cheapest where, as the prices of some foods move."""
    from formulate.answers.prices import prices
    from formulate.report.mix import mix_heading
    from formulate.report.priced import prices_lines, prices_shape, write_files

    shelf = pantry_from(pantry)
    with by_option(OPTIONS):
        with executor_from(workers, cluster) as executor, progress_bar("prices") as progress:
            answer = prices(
                shelf, varied, whom, points=points, progress=progress, executor=executor
            )
        written = write_files(answer, path_of(table), path_of(picture))
    if as_json:
        print_json(prices_shape(answer) | {"written": written})
    else:
        lines = mix_heading(answer.bands, shelf, named=pantry is not None)
        lines += prices_lines(answer, how)
        tell("\n".join([*lines, *wrote_lines(written)]))
    ctx.exit(0 if answer.yes else NO)
