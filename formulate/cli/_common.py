"""Options and steps that several commands share."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from contextvars import ContextVar
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from formulate.base.messages import say

if TYPE_CHECKING:
    from concurrent.futures import Executor

    from formulate.base.units import Kitchen
    from formulate.pantry.pantry import Pantry

F = TypeVar("F", bound=Callable[..., Any])

json_option = click.option("--json", "as_json", is_flag=True)
all_cautions_option = click.option("--all-cautions", is_flag=True)
kitchen_option = click.option("--kitchen", metavar="us|metric|imperial|uk|au")
country_option = click.option("--country", metavar="us|uk|ie|fr|nz|au|ca")
pantry_option = click.option("--pantry", metavar="FILE")
workers_option = click.option(
    "--workers", type=click.IntRange(0, 512), default=1, show_default=True, metavar="N"
)
cluster_option = click.option("--cluster", metavar="ADDRESS")


class DecimalNumber(click.ParamType[float]):
    """A plain number from nothing up; a decimal comma will do."""

    name = "number"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> float:
        """Read it; errors are reported as for every other input."""
        from formulate.base.errors import InputError
        from formulate.base.units import parse_decimal

        if isinstance(value, float):
            return value
        try:
            return parse_decimal(str(value))
        except InputError as error:
            raise error.at(param.opts[0] if param else "") from None


class _WholeNumber(click.ParamType[int]):
    """A whole number of at most nine digits."""

    name = "number"

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> int:
        """Read it; errors are reported as for every other input."""
        from formulate.base.errors import InputError
        from formulate.base.messages import say

        text = str(value).strip()
        digits = text.removeprefix("-")
        if not digits.isdecimal() or len(digits) > 9:
            error = InputError(say("units.no-whole", text=text), say("units.no-whole-remedy"))
            raise error.at(param.opts[0] if param else "")
        return int(text)


WHOLE_NUMBER = _WholeNumber()


class _OutputFile(click.ParamType[str]):
    """A file to write: its ending fits, and it is not somebody's own."""

    name = "file"

    def __init__(self, output: str) -> None:
        self.output = output

    @property
    def endings(self) -> tuple[str, ...]:
        """What its file may end in."""
        from formulate.base.outputs import Output

        return Output[self.output.upper()].endings

    def convert(
        self, value: object, param: click.Parameter | None, ctx: click.Context | None
    ) -> str:
        """Refuse it before any work is done."""
        from formulate.base.outputs import Output, check_output

        check_output(Path(str(value)), Output[self.output.upper()])
        return str(value)


def output_option(*names: str, output: str, **more: Any) -> Callable[[F], F]:
    """An option that names a file to write.

    Parameters
    ----------
    *names : str
        Of the option.
    output : str
        Name of an `Output`: "picture".
    **more
        As of every option.
    """
    return click.option(*names, type=_OutputFile(output), metavar="FILE", **more)


#: Exit status of a "no".
NO = 1
#: Exit status where an answer stands, but something that was written is wrong.
WRONG = 2
#: What ends so is a file; any other word is a food.
FILE_ENDING = ".toml"


#: Decimal mark of what is printed: that of the kitchen's country, once it is known.
_DECIMAL: ContextVar[str] = ContextVar("decimal", default=".")


def numbers_of(pantry: Pantry | None) -> None:
    """Print numbers as a pantry's country writes them from here on."""
    _DECIMAL.set("." if pantry is None else pantry.decimal)


def tell(text: str) -> None:
    """Print a text to be read by a person."""
    from formulate.base.numerals import with_marks

    click.echo(with_marks(text, _DECIMAL.get()))


def pantry_from(path: str | None, country: str | None = None) -> Pantry:
    """Load a pantry; where none is named that of this folder, else the sample."""
    from formulate.pantry.pantry import load_pantry, pantry_here

    pantry = pantry_here(Path(), country) if path is None else load_pantry(Path(path), country)
    numbers_of(pantry)
    for question in () if pantry.invented else pantry.questions():
        click.echo(f"formulate: {pantry.where}: {question}", err=True)
    return pantry


def shelf_asked(words: Sequence[str], kitchen: str | None, country: str | None) -> Pantry:
    """A shelf as it was asked for: a pantry file, names of foods, or neither.

    In a terminal the prices are asked for that some of the foods lack.

    Raises
    ------
    InputError
        If it is more than one file, or a file and foods.
    """
    from formulate.base.errors import InputError
    from formulate.base.files import is_file, is_folder
    from formulate.base.messages import say
    from formulate.cli._terminal import can_ask
    from formulate.pantry.typed_foods import typed_pantry

    named = [word for word in words if word.lower().endswith(FILE_ENDING)]
    if not named and words:
        for word in words:
            if set(word) & set("./\\") and is_folder(Path(word)):
                raise InputError(say("files.folder"), say("files.name-a-file"), word)
            if is_file(Path(word)):
                raise InputError(say("typed.no-toml", name=word), say("typed.rename"))
        whose = None if kitchen is None else kitchen_from(kitchen)
        if can_ask():
            words = _with_prices(words, whose, country)
        pantry = typed_pantry(words, whose, country)
        numbers_of(pantry)
        return pantry
    if len(named) > 1:
        raise InputError(say("typed.two-files"), say("typed.file-or-foods"))
    if len(words) > 1:
        food = next(word for word in words if word not in named)
        problem = say("typed.file-and-foods", file=named[0], food=food)
        raise InputError(problem, say("typed.file-or-foods"))
    if kitchen is not None:
        raise InputError(say("typed.kitchen-of-file"), "", "--kitchen")
    return pantry_from(words[0] if words else None, country)


def _with_prices(
    words: Sequence[str], kitchen: Kitchen | None, country: str | None
) -> Sequence[str]:
    """Foods with the prices that were missing; as they are where all or none had one."""
    from formulate.pantry.typed_foods import typed_pantry

    if len({"=" in word for word in words}) < 2:
        return words
    # Report unknown and repeated names before asking anything.
    typed_pantry([word.partition("=")[0] for word in words], kitchen, country)
    return [
        word if "=" in word else f"{word}={asked_price(word, kitchen, country)}" for word in words
    ]


def asked_price(
    food: str, kitchen: Kitchen | None, country: str | None, *, needed: bool = True
) -> str:
    """Ask what a food costs until the answer is valid or, if it may be, left empty."""
    from formulate.base.messages import say
    from formulate.pantry.country import bare_pantry
    from formulate.pantry.typed_foods import typed_pantry

    package = bare_pantry(country).country.milk_package
    topic = "price-needed" if needed else "price"
    return asked(
        say(f"start.ask.{topic}", food=food, example=f"3.80/{package}"),
        lambda text: typed_pantry([f"{food}={text}"], kitchen, country),
        empty=not needed,
    )


def shelf_from(path: str | None, country: str | None) -> Pantry | None:
    """A pantry, or a country's bare one where only that is said; else nothing."""
    from formulate.pantry.country import bare_pantry

    if path is not None:
        return pantry_from(path, country)
    pantry = None if country is None else bare_pantry(country)
    numbers_of(pantry)
    return pantry


def shelf_here() -> Pantry | None:
    """The pantry of this folder; None where there is none."""
    from formulate.pantry.pantry import pantry_file

    return None if pantry_file(Path()) is None else pantry_from(None)


def kitchen_from(name: str | None, pantry: Pantry | None = None) -> Kitchen:
    """Kitchen of typed recipes: as named, else the pantry's, else US."""
    from formulate.base.units import Kitchen, parse_kitchen

    if name is not None:
        return parse_kitchen(name)
    return Kitchen.US if pantry is None else pantry.kitchen


def path_of(text: str | None) -> Path | None:
    """A path that was typed, if one was."""
    return None if text is None else Path(text)


def how(topic: str, **values: object) -> str:
    """How the command line does what a sentence speaks of."""
    from formulate.base.messages import say

    return say(f"how.{topic}", **values)


@contextmanager
def by_option(options: Mapping[str, str]) -> Iterator[None]:
    """Say by its option what a wrong part of a request is about.

    Parameters
    ----------
    options : mapping of str to str
        Field of the request to option: "make" to "--make".
    """
    from formulate.base.errors import InputError, ManyFaults

    try:
        yield
    except InputError as error:
        for fault in error.faults if isinstance(error, ManyFaults) else (error,):
            if names := [options[field] for field in fault.fields if field in options]:
                fault.at(" and ".join(names))
        raise


def wrote_lines(written: Sequence[str]) -> list[str]:
    """What was written, after a gap."""
    return [""] * bool(written) + [say("how.wrote", name=name) for name in written]


def print_json(shape: Any) -> None:
    """Print one JSON object and nothing else."""
    from formulate.cli._terminal import untouched
    from formulate.report.shapes import dump

    with untouched():
        click.echo(dump(shape))


def asked(words: str, check: Callable[[str], Any], empty: bool = False) -> str:
    """Ask for one thing until it can be read."""
    from formulate.base.errors import InputError
    from formulate.base.messages import say

    while True:
        text = str(click.prompt(words, default="", show_default=False, err=True)).strip()
        if not text:
            if empty:
                return ""
            click.echo(f"  {say('start.ask.needed')}", err=True)
            continue
        try:
            check(text)
        except InputError as error:
            click.echo(f"  {error}", err=True)
        else:
            return text


@contextmanager
def progress_bar(label: str) -> Iterator[Callable[[int, int], None]]:
    """A progress bar on standard error, in a terminal; call it with (done, total)."""
    import sys

    from formulate.cli._terminal import drawn_on, help_width

    bar: Any = None

    def tell_bar(done: int, total: int) -> None:
        nonlocal bar
        if bar is None:
            if not sys.stderr.isatty():
                return
            columns = help_width()  # label, bar and time left
            width = 36 if columns is None else max(columns - len(label) - 26, 4)
            bar = click.progressbar(
                length=total, file=drawn_on(sys.stderr), label=label, width=width
            )
        bar.update(done - bar.pos)

    yield tell_bar
    if bar is not None:
        bar.render_finish()


def executor_from(workers: int, cluster: str | None) -> AbstractContextManager[Executor | None]:
    """Who does the work: this process, so many of them, or a Dask cluster."""
    from formulate.base.executors import dask_cluster, process_pool

    if cluster is None:
        return process_pool(workers)
    if workers != 1:
        raise click.UsageError(say("how.workers-or-cluster"))
    return dask_cluster(cluster)
