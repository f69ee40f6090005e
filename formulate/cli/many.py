"""``formulate many``: pantries × references × price lists, as one table."""

from __future__ import annotations

import click

from formulate.cli._common import (
    NO,
    by_option,
    country_option,
    json_option,
    output_option,
    path_of,
    print_json,
    progress_bar,
    tell,
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
@click.option("--workers", type=click.IntRange(0, 512), default=1, show_default=True, metavar="N")
@click.option("--cluster", metavar="ADDRESS")
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
    from formulate.base.executors import dask_cluster, process_pool
    from formulate.report.many import asked
    from formulate.report.many_file import many_lines, many_shape, write_many

    if table is None and columns is None:
        raise click.UsageError("Name the table to write: --csv FILE or --parquet FILE.")
    if cluster is not None and workers != 1:
        raise click.UsageError("The work is done by --workers or by a --cluster, not by both.")
    with by_option(OPTIONS):
        like, bad = asked(references, prices, measures=measures, make=make, country=country)
        files = files_of(pantries)
        pool = process_pool(workers) if cluster is None else dask_cluster(cluster)
        with pool as executor, progress_bar("pantries") as progress:
            written = write_many(
                lambda: jobs_of(files, like),
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
