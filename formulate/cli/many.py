"""``formulate many``: pantries × references × price lists, in one table."""

from __future__ import annotations

import click

from formulate.base.messages import say
from formulate.cli._common import (
    NO,
    by_option,
    cluster_option,
    country_option,
    executor_from,
    json_option,
    output_option,
    path_of,
    print_json,
    progress_bar,
    tell,
    workers_option,
)
from formulate.cli._help import HelpedCommand

#: Fields of what is asked, as this command's options name them.
OPTIONS = {"make": "--make", "table": "--csv", "columns": "--parquet", "cluster": "--cluster"}


@click.command("many", cls=HelpedCommand)
@click.argument("pantries", nargs=-1, required=True, metavar="FOLDER|FILE...")
@click.option(
    "--for",
    "references",
    multiple=True,
    default=("lamb-replacer",),
    show_default=True,
    metavar="NAME",
)
@click.option("--prices", multiple=True, metavar="FILE|FOLDER")
@click.option("--measures", is_flag=True)
@click.option("--make", metavar="VOLUME")
@output_option("--csv", "table", output="table")
@output_option("--parquet", "columns", output="columns")
@workers_option
@cluster_option
@country_option
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    /,
    pantries: tuple[str, ...],
    references: tuple[str, ...],
    prices: tuple[str, ...],
    measures: bool,
    make: str | None,
    table: str | None,
    columns: str | None,
    workers: int,
    cluster: str | None,
    country: str | None,
    as_json: bool,
) -> None:
    """Design a milk for many pantries and write one table."""
    from formulate.answers.many_jobs import files_of, jobs_of
    from formulate.report.many import asked
    from formulate.report.many_file import many_lines, many_shape, write_many

    if table is None and columns is None:
        raise click.UsageError(say("how.name-a-table"))
    with by_option(OPTIONS):
        like, bad = asked(references, prices, measures=measures, make=make, country=country)
        files = files_of(pantries)
        with executor_from(workers, cluster) as executor, progress_bar("pantries") as progress:
            written = write_many(
                jobs_of(files, like),
                bad,
                path_of(table),
                path_of(columns),
                executor,
                lambda done: progress(done, len(files)),
            )
    if as_json:
        print_json(many_shape(written))
    else:
        tell("\n".join(many_lines(written)))
    ctx.exit(0 if written.yes else NO)
