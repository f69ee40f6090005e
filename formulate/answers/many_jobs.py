"""Split a question about many pantries into one job for each.

Pantries and price lists come as files, folders, objects or tables; a name that cannot be read
is kept with its error, and stops nothing.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

from formulate.answers.mix_answer import MixRequest
from formulate.base.errors import InputError, WrongType
from formulate.base.files import read_text
from formulate.base.messages import say
from formulate.foods.bands import BandSet
from formulate.pantry.pantry import FILE, Pantry
from formulate.pantry.pantry_rows import pantries_of_rows
from formulate.pantry.price_list import PriceList, load_price_list, price_list_of

__all__ = ["BY_GRAM", "BadList", "Job", "files_of", "jobs_of", "price_lists_of"]

#: What is asked where nobody says otherwise.
BY_GRAM = MixRequest(by_gram=True, confidence=False)
#: Flock files lie beside pantries.
NOT_PANTRIES = ("flock",)

#: Text of a pantry file, a pantry, the rows of a table, or why there is none of these.
Source = str | Pantry | tuple[dict[str, Any], ...] | InputError


@dataclass(frozen=True)
class Job:
    """One pantry, and what to work out for it.

    Parameters
    ----------
    name : str
        What its rows call it.
    source : str, Pantry, tuple of mapping or InputError
        Text of its file, the pantry itself, the rows of a table, or why there is none.
    references : tuple of BandSet or str
    prices : tuple of PriceList
        The pantry's own prices where empty.
    request : MixRequest
        By the gram or in whole measures, and how much.
    country : str, optional
        Used in place of the file's own.
    """

    name: str
    source: Source
    references: tuple[BandSet | str, ...] = ("lamb-replacer",)
    prices: tuple[PriceList, ...] = ()
    request: MixRequest = BY_GRAM
    country: str | None = None

    @cached_property
    def _terms(self) -> bytes:
        """All but the pantry, in short."""
        told = (self.references, self.prices, self.request, self.country)
        return hashlib.sha256(repr(told).encode()).digest()

    def of(self, name: str, source: Source) -> Job:
        """The same asked of another pantry."""
        job = replace(self, name=name, source=source)
        job.__dict__["_terms"] = self._terms  # worked out once for all pantries
        return job

    @property
    def digest(self) -> str:
        """A name for all that its rows hang on, but for the program; empty of a `Pantry`."""
        if isinstance(self.source, Pantry):
            return ""
        told = self._terms + repr((self.name, self.source)).encode()
        return hashlib.sha256(told).hexdigest()[:16]


@dataclass(frozen=True)
class BadList:
    """A price list that cannot be read.

    Parameters
    ----------
    name : str
    error : str
    """

    name: str
    error: str


def files_of(named: Iterable[Path | str]) -> tuple[Path, ...]:
    """Files and folders that a person names, as pantry files, each once.

    A folder stands for every .toml file in it, in the order of their names, but for flock files;
    and for the pantry.toml of each folder in it.

    Raises
    ------
    InputError
        If a folder has none.
    """
    found: dict[Path, None] = {}
    for one in map(Path, named):
        inside = [one]
        if one.is_dir():
            files = (
                path
                for path in one.glob("*.toml")
                if path.stem not in NOT_PANTRIES and not path.is_dir()
            )
            inside = sorted([*files, *one.glob(f"*/{FILE}")])
            if not inside:
                raise InputError(say("many.empty-folder"), say("many.folder-holds"), str(one))
        found |= dict.fromkeys(inside)
    return tuple(found)


def _job_of_file(path: Path, like: Job) -> Job:
    """A job for one file; if it cannot be read, the job holds the error."""
    try:
        return like.of(str(path), read_text(path))
    except InputError as error:
        return like.of(str(path), error)


def jobs_of(pantries: Any, like: Job) -> Iterator[Job]:
    """A job for each pantry, in the order in which they are named; files are read one by one.

    Parameters
    ----------
    pantries : path, str, Pantry, DataFrame, mapping or iterable of them
        A folder stands for the pantries in it, a table for those that its column ``pantry``
        names; a mapping says what to call each.
    like : Job
        What is asked of each.

    Raises
    ------
    InputError
        If something is none of these, or a table has no such columns.
    """
    if isinstance(pantries, Mapping):
        for name, one in pantries.items():
            yield from _jobs_of_one(one, like.of(str(name), ""))
        return
    if isinstance(pantries, (str, Path, Pantry)) or _is_table(pantries):
        pantries = [pantries]
    if not isinstance(pantries, Iterable):
        raise WrongType(say("many.a-pantry"), pantries, say("many.give-pantry"))
    for number, one in enumerate(pantries, 1):
        yield from _jobs_of_one(one, like, number)


def _jobs_of_one(one: Any, like: Job, number: int = 1) -> Iterator[Job]:
    if isinstance(one, (str, Path)):
        for path in files_of([one]):
            job = _job_of_file(path, like)
            yield like.of(like.name, job.source) if like.name else job
    elif isinstance(one, Pantry):
        name = like.name or one.name or one.where or say("many.numbered", number=number)
        yield like.of(name, one)
    elif _is_table(one):
        name = like.name or say("many.numbered", number=number)
        for pantry, rows in pantries_of_rows(one.to_dict("records"), name).items():
            yield like.of(pantry, rows)
    else:
        raise WrongType(say("many.a-pantry"), one, say("many.give-pantry"))


def price_lists_of(prices: Any) -> tuple[PriceList | BadList, ...]:
    """Price lists, in the order in which they are named.

    Parameters
    ----------
    prices : path, str, PriceList, DataFrame, mapping, or iterable of them
        A folder stands for the .csv files in it; a mapping says what to call each.

    Raises
    ------
    InputError
        If something is none of these, or a folder has no such file.
    """
    if prices is None:
        return ()
    if isinstance(prices, Mapping):
        return tuple(
            replace(listed, name=str(name))
            for name, one in prices.items()
            for listed in _lists_of_one(one)
        )
    if isinstance(prices, (str, Path, PriceList)) or _is_table(prices):
        prices = [prices]
    if not isinstance(prices, Iterable):
        raise WrongType(say("many.a-list"), prices, say("many.give-list"))
    return tuple(
        listed for number, one in enumerate(prices, 1) for listed in _lists_of_one(one, number)
    )


def _lists_of_one(one: Any, number: int = 1) -> Iterator[PriceList | BadList]:
    if isinstance(one, PriceList):
        yield one
    elif _is_table(one):
        yield price_list_of(one.to_dict("records"), say("many.numbered-list", number=number))
    elif isinstance(one, (str, Path)):
        path = Path(one)
        paths = sorted(path.glob("*.csv")) if path.is_dir() else [path]
        if not paths:
            raise InputError(say("many.empty-list-folder"), "", str(one))
        for file in paths:
            try:
                yield load_price_list(file)
            except InputError as error:
                yield BadList(str(file), " ".join(str(error).split("\n")))
    else:
        raise WrongType(say("many.a-list"), one, say("many.give-list"))


def _is_table(thing: Any) -> bool:
    """Whether it is a DataFrame, or as good as one."""
    return hasattr(thing, "to_dict") and hasattr(thing, "columns")
