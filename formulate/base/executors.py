"""Spread work over threads, processes or machines, and return the results in order.

Anything that `concurrent.futures` calls an executor will do. No more than a window of tasks is
under way at a time, so that memory does not grow with their number.
"""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from itertools import islice
from typing import TypeVar

from formulate.base.errors import FormulateError, InputError, quoted
from formulate.base.extras import needed
from formulate.base.messages import say

__all__ = ["LostWorkers", "Steps", "dask_cluster", "in_order", "in_step", "process_pool"]

T = TypeVar("T")
R = TypeVar("R")

#: Work with pauses, and its result.
Steps = Generator[None, None, R]

#: Tasks sent together, because sending a single one can take longer than doing it.
TOGETHER = 8
#: Bundles of tasks under way at a time.
WINDOW = 64
#: How long to look for a scheduler [s].
PATIENCE = 10


class LostWorkers(FormulateError, RuntimeError):
    """The workers stopped before their work was done."""


def in_order(
    function: Callable[[T], R],
    tasks: Iterable[T],
    executor: Executor | None = None,
    *,
    together: int = TOGETHER,
    window: int = WINDOW,
) -> Iterator[R]:
    """Do tasks, here or by an executor, and give their results in the tasks' order.

    Parameters
    ----------
    function : callable
        Of one task; a function of a module, if it is to travel to another process.
    tasks : iterable
        Taken as they are needed.
    executor : concurrent.futures.Executor, optional
        Left out, each task is done here when its result is asked for.
    together : int
        Tasks handed over at once.
    window : int
        Most bundles under way.

    Raises
    ------
    LostWorkers
        If the executor breaks down. What a task itself raises, if one of ours, comes through.
    """
    if executor is None:
        yield from map(function, tasks)
        return
    rest = iter(tasks)
    under_way: deque[Future[list[R]]] = deque()
    try:
        while True:
            while len(under_way) < window and (some := list(islice(rest, together))):
                under_way.append(_submitted(executor, function, some))
            if not under_way:
                return
            yield from _result(under_way.popleft())
    finally:
        for future in under_way:
            future.cancel()


def in_step(start: Callable[[T], Steps[R]], tasks: Iterable[T]) -> list[R]:
    """Do tasks in step with each other: each up to its next pause, again and again.

    So the same code works many times in a row and stays in the processor's cache, which makes
    small tasks of many kinds of work about half as long.

    Parameters
    ----------
    start : callable
        Of one task: a generator that pauses (``yield``) between kinds of work, and returns the
        result.
    tasks : iterable

    Returns
    -------
    list
        In the tasks' order.
    """
    under_way = [start(task) for task in tasks]
    results: dict[int, R] = {}
    while len(results) < len(under_way):
        for number, work in enumerate(under_way):
            if number not in results:
                try:
                    next(work)
                except StopIteration as end:
                    results[number] = end.value
    return [results[number] for number in range(len(under_way))]


def _submitted(
    executor: Executor, function: Callable[[T], R], tasks: Sequence[T]
) -> Future[list[R]]:
    try:
        return executor.submit(_done, function, tasks)
    except RuntimeError as error:  # it was shut down, or broke
        raise LostWorkers(say("errors.lost-workers", detail=error)) from error


def _result(future: Future[list[R]]) -> list[R]:
    try:
        return future.result()
    except FormulateError:
        raise
    except Exception as error:
        detail = str(error) or type(error).__name__
        raise LostWorkers(say("errors.lost-workers", detail=detail)) from error


def _done(function: Callable[[T], R], tasks: Sequence[T]) -> list[R]:
    """Some tasks, one after another: what is handed over."""
    return [function(task) for task in tasks]


@contextmanager
def process_pool(workers: int) -> Iterator[Executor | None]:
    """A pool of so many processes on this computer; with one, the work is done here.

    Parameters
    ----------
    workers : int
        0: as many as there are processors.
    """
    workers = workers or os.cpu_count() or 1
    if workers == 1:
        yield None
        return
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    # Started afresh, as on every system: a copy of a process with threads may hang.
    with ProcessPoolExecutor(workers, mp_context=get_context("spawn")) as pool:
        try:
            yield pool
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise


@contextmanager
def dask_cluster(address: str) -> Iterator[Executor]:
    """The workers of a Dask scheduler. One that dies has its work done by another.

    Parameters
    ----------
    address : str
        Of the scheduler, as "tcp://10.0.0.5:8786".

    Raises
    ------
    MissingExtra
        If Dask is not installed.
    InputError
        If there is no scheduler at the address.
    """
    distributed = needed("distributed", "cluster")
    try:
        client = distributed.Client(address, timeout=PATIENCE, set_as_default=False)
    except (OSError, ValueError) as error:
        raise InputError(
            say("errors.no-scheduler", address=quoted(address)), say("errors.start-scheduler")
        ) from error
    with client:
        yield client.get_executor()
