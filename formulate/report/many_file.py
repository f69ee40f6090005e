"""Write many answers as they arrive to a CSV or Parquet table that can be resumed.

Rows go to a journal beside the table, ``out.csv.part``, as soon as a few pantries are done. When
all are, the table is put together from it in the order of the pantries, takes the place of an older
one, and the journal goes. So a run that is interrupted loses no more than the few it was at.

A table that is there already, or the journal of a run that was interrupted, is gone through
first. Rows are taken from it whose ``inputs`` are those of a pantry asked about now: then its file,
the references, the price lists, the options and the version of the program are all the same.
"""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor
from contextlib import ExitStack
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any, BinaryIO

from formulate.answers.many_jobs import BadList, Job
from formulate.answers.verdict import Verdict
from formulate.base.errors import InputError
from formulate.base.extras import needed
from formulate.base.files import reason, replaced_file
from formulate.base.locks import held
from formulate.base.messages import say
from formulate.base.outputs import NAME, Output, check_output
from formulate.report.many import (
    COLUMNS,
    DAYS,
    NUMBERS,
    Cells,
    bad_list_cells,
    cells_of_jobs,
    inputs_of,
)
from formulate.report.words import bullet

__all__ = ["ManyWritten", "many_lines", "many_shape", "write_many"]

#: Rows put into a Parquet file at a time.
GROUP = 5_000
#: How many errors to print; the table has them all.
TOLD = 3


@dataclass
class ManyWritten:
    """What was written, in numbers.

    Parameters
    ----------
    rows : int
    pantries, reused : int
        Pantries asked about, and those whose rows were there already.
    verdicts : Counter
        Rows by verdict; "" counts those without a milk.
    errors : list of (str, str)
        The first few: what, and why.
    n_errors, n_inside : int
        Rows with an error, and rows whose milk is what was asked for and inside.
    written : list of str
    """

    rows: int = 0
    pantries: int = 0
    reused: int = 0
    verdicts: Counter[str] = field(default_factory=Counter)
    errors: list[tuple[str, str]] = field(default_factory=list)
    n_errors: int = 0
    n_inside: int = 0
    written: list[str] = field(default_factory=list)

    @property
    def yes(self) -> bool:
        """Whether every row is a milk as it was asked for, inside every range that matters."""
        return self.n_inside == self.rows > 0

    def count(self, cells: dict[str, str]) -> None:
        """Count a row."""
        self.rows += 1
        self.verdicts[cells["verdict"]] += 1
        self.n_inside += cells["verdict"] == "inside" and cells["status"] == "designed"
        if cells["error"]:
            self.n_errors += 1
            if len(self.errors) < TOLD:
                what = cells["pantry"] or cells["prices"]
                self.errors.append((what, cells["error"]))


def write_many(
    jobs: Iterable[Job],
    bad: Sequence[BadList],
    table: Path | None,
    columns: Path | None,
    executor: Executor | None = None,
    progress: Callable[[int], None] | None = None,
) -> ManyWritten:
    """Answer for every job and write the table.

    Parameters
    ----------
    jobs : iterable of Job
    bad : sequence of BadList
        Price lists that cannot be read: rows of their own, before the others.
    table, columns : Path or None
        The CSV and the Parquet file; at least one.
    executor : concurrent.futures.Executor, optional
    progress : callable, optional
        Told after each pantry how many are done.

    Raises
    ------
    InputError
        If a file must not be written: another is there that this did not make.
    MissingExtra
        If a Parquet file is asked for without its library.
    """
    files = [(path, what) for path, what in ((table, Output.TABLE), (columns, Output.COLUMNS))]
    paths = [path for path, _ in files if path is not None]
    for path, what in files:
        if path is not None:
            check_output(path, what)
    if columns is not None:
        needed("pyarrow", "parquet")
    journal = _Journal(paths[0].with_name(f"{paths[0].name}.part"))
    written = ManyWritten(written=[str(path) for path in paths])
    with ExitStack() as locks:
        for path in paths:
            locks.enter_context(held(path, "table"))
        file = locks.enter_context(journal.opened(paths[0]))
        try:
            order = _fill(journal, file, jobs, executor, progress, written)
        except BaseException:
            if journal.begun_anew and not journal.added:
                journal.path.unlink(missing_ok=True)  # there is nothing to go on from
            raise
        for path in paths:
            write = _write_csv if path is table else _write_parquet
            write(path, _rows(journal, file, order, bad, written if path is paths[0] else None))
    journal.path.unlink(missing_ok=True)
    return written


def _fill(
    journal: _Journal,
    file: BinaryIO,
    jobs: Iterable[Job],
    executor: Executor | None,
    progress: Callable[[int], None] | None,
    written: ManyWritten,
) -> list[str]:
    """Do the jobs whose rows the journal does not have; give the ``inputs`` of all, in order."""
    order: list[str] = []

    def missing() -> Iterator[Job]:
        for job in jobs:
            written.pantries += 1
            order.append(inputs_of(job.digest))
            if order[-1] in journal.at:
                written.reused += 1
            else:
                yield job

    for cells in cells_of_jobs(missing(), executor):
        journal.add(file, cells)
        if progress is not None:
            progress(written.reused + len(journal.added))
    if progress is not None:
        progress(written.pantries)
    return order


def _rows(
    journal: _Journal,
    file: BinaryIO,
    order: Iterable[str],
    bad: Sequence[BadList],
    written: ManyWritten | None,
) -> Iterator[list[str]]:
    """Every row in order, as text; counted if `written` is there."""
    for one in bad:
        row = _text(bad_list_cells(one))
        if written is not None:
            written.count(dict(zip(COLUMNS, row, strict=True)))
        yield row
    for inputs in order:
        for row in journal.rows(file, inputs):
            if written is not None:
                written.count(dict(zip(COLUMNS, row, strict=True)))
            yield row


# --- the journal -------------------------------------------------------------------------------


@dataclass
class _Journal:
    """Rows that are done, in the order in which they were.

    Parameters
    ----------
    path : Path
    at : dict
        Where the rows of each job lie: first byte and how many.
    added : set of str
        Jobs done in this run.
    begun_anew : bool
        Whether no run was interrupted before.
    """

    path: Path
    at: dict[str, tuple[int, int]] = field(default_factory=dict)
    added: set[str] = field(default_factory=set)
    begun_anew: bool = False

    def opened(self, table: Path) -> BinaryIO:
        """The journal, begun anew from an older table where a run was not interrupted."""
        self.begun_anew = not self.path.exists()
        try:
            if self.begun_anew:
                with self.path.open("wb") as new:
                    new.write(_line(COLUMNS))
                    for row in _older(table):
                        new.write(_line([_one_line(cell) for cell in row]))
            file = self.path.open("r+b")
            if file.readline() != _line(COLUMNS):
                file.close()
                raise InputError(say("files.not-ours"), say("files.name-another"), str(self.path))
        except OSError as error:
            problem = say("errors.cannot-write", what="file", reason=reason(error))
            raise InputError(problem, "", str(self.path)) from error
        self._look_through(file, whole=self.begun_anew)
        return file

    def _look_through(self, file: BinaryIO, *, whole: bool) -> None:
        """Find the rows of each job; after a stop the last may lack some, and is done again."""
        file.seek(len(_line(COLUMNS)))
        begin, before = file.tell(), ""
        while line := file.readline():
            inputs = line.rstrip(b"\n").rpartition(b",")[2].decode(errors="replace")
            if inputs != before:
                begin, before = file.tell() - len(line), inputs
            if not line.endswith(b"\n"):
                break
            self.at[inputs] = begin, file.tell() - begin
        if whole:
            return
        self.at.pop(before, None)
        file.seek(begin)
        file.truncate()

    def add(self, file: BinaryIO, cells: Sequence[Cells]) -> None:
        """Write the rows of a job."""
        data = b"".join(_line(_text(row)) for row in cells)
        begin = file.seek(0, io.SEEK_END)
        file.write(data)
        file.flush()
        inputs = str(cells[0]["inputs"])
        self.at[inputs] = begin, len(data)
        self.added.add(inputs)

    def rows(self, file: BinaryIO, inputs: str) -> Iterator[list[str]]:
        """The rows of a job."""
        begin, size = self.at[inputs]
        file.seek(begin)
        yield from csv.reader(file.read(size).decode().splitlines())


def _line(row: Sequence[str]) -> bytes:
    out = io.StringIO()
    csv.writer(out, lineterminator="\n").writerow(row)
    return out.getvalue().encode("utf-8", "backslashreplace")


def _text(cells: Cells) -> list[str]:
    """Cells as a CSV table has them: one line, numbers in full, nothing for None."""
    return ["" if cells[name] is None else _one_line(cells[name]) for name in COLUMNS]


def _one_line(cell: Any) -> str:
    if isinstance(cell, float):
        return repr(float(cell))
    return " ".join(str(cell).splitlines())


def _older(table: Path) -> Iterator[list[str]]:
    """The rows of a table that this wrote before; none if its columns were others."""
    if not table.exists() or not table.stat().st_size:
        return
    if table.suffix.lower() == ".parquet":
        parquet = needed("pyarrow.parquet", "parquet")
        with parquet.ParquetFile(table) as held_open:
            if tuple(held_open.schema_arrow.names) != COLUMNS:
                return
            for batch in held_open.iter_batches(GROUP):
                for cells in batch.to_pylist():
                    yield _text(cells)
        return
    with table.open(encoding="utf-8", newline="") as file:
        rows = csv.reader(file)
        if tuple(next(rows, ())) == COLUMNS:
            yield from (row for row in rows if len(row) == len(COLUMNS))


# --- the tables --------------------------------------------------------------------------------


def _write_csv(path: Path, rows: Iterable[Sequence[str]]) -> None:
    with replaced_file(path) as file:
        file.write(_line(COLUMNS))
        for row in rows:
            file.write(_line(row))


def _write_parquet(path: Path, rows: Iterable[Sequence[str]]) -> None:
    arrow, parquet = needed("pyarrow", "parquet"), needed("pyarrow.parquet", "parquet")
    kinds = dict.fromkeys(NUMBERS, arrow.float64()) | dict.fromkeys(DAYS, arrow.date32())
    schema = arrow.schema(
        [(name, kinds.get(name, arrow.string())) for name in COLUMNS], metadata={"made by": NAME}
    )
    with replaced_file(path) as file, parquet.ParquetWriter(file, schema) as writer:
        some: list[Sequence[str]] = []

        def flush() -> None:
            columns = {
                name: [_typed(name, row[k]) for row in some] for k, name in enumerate(COLUMNS)
            }
            writer.write_table(arrow.table(columns, schema=schema))
            some.clear()

        for row in rows:
            some.append(row)
            if len(some) == GROUP:
                flush()
        flush()


def _typed(column: str, text: str) -> str | float | date | None:
    if column in NUMBERS:
        return float(text) if text else None
    if column in DAYS:
        return date.fromisoformat(text) if text else None
    return text


# --- what was written, for people and for programs ---------------------------------------------


def many_lines(written: ManyWritten) -> list[str]:
    """What was written, as lines of text."""
    count = {"pantries": written.pantries, "rows": written.rows}
    lines = [say("many.counted", **count)]
    for verdict in Verdict:
        if written.verdicts[verdict]:
            lines.append(f"  {written.verdicts[verdict]:>6,}  {say(f'many.are-{verdict}')}")
    none = written.verdicts[""] - written.n_errors
    if none:
        lines.append(f"  {none:>6,}  {say('many.are-none')}")
    if written.n_errors:
        lines.append(f"  {written.n_errors:>6,}  {say('many.are-errors')}")
    if written.reused:
        lines.append(say("many.reused", count=written.reused))
    if written.errors:
        lines += ["", *(bullet(error) for _, error in written.errors)]
        rest = written.n_errors - len(written.errors)
        lines += [bullet(say("many.more-errors", count=rest))] if rest else []
    return [*lines, "", *(say("how.wrote", name=name) for name in written.written)]


def many_shape(written: ManyWritten) -> dict[str, Any]:
    """What was written, as JSON."""
    return {
        "answer": "yes" if written.yes else "no",
        "pantries": written.pantries,
        "reused": written.reused,
        "rows": written.rows,
        "inside": written.n_inside,
        "errors": written.n_errors,
        "verdicts": {one.value: written.verdicts[one] for one in Verdict},
        "written": written.written,
    }
