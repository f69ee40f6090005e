"""Results in the order of the tasks, whoever does them."""

from concurrent.futures import ThreadPoolExecutor

import pytest

from formulate.base.errors import InputError
from formulate.base.executors import LostWorkers, dask_cluster, in_order, in_step, process_pool
from formulate.base.extras import MissingExtra, needed


def doubled(number):
    return 2 * number


def slow_first(number):
    import time

    time.sleep(0.02 if number == 0 else 0)
    return number


@pytest.mark.parametrize("count", [0, 1, 7, 100])
def test_results_come_in_the_order_of_the_tasks(count):
    with ThreadPoolExecutor(3) as pool:
        for executor in (None, pool):
            assert list(in_order(doubled, range(count), executor, together=3, window=2)) == [
                2 * number for number in range(count)
            ]
        assert list(in_order(slow_first, range(9), pool, together=1)) == list(range(9))


def test_no_more_tasks_are_taken_than_the_window_holds():
    taken = []

    def tasks():
        for number in range(100):
            taken.append(number)
            yield number

    with ThreadPoolExecutor(2) as pool:
        results = in_order(doubled, tasks(), pool, together=2, window=3)
        assert [next(results) for _ in range(4)] == [0, 2, 4, 6]
        assert len(taken) <= 4 + 2 * 3
        results.close()


def test_tasks_in_step_go_from_pause_to_pause_in_turn():
    done = []

    def work(name):
        for step in range(len(name)):
            done.append((name, step))
            yield
        return name * 2

    assert in_step(work, ["a", "bbb", ""]) == ["aa", "bbbbbb", ""]
    assert done == [("a", 0), ("bbb", 0), ("bbb", 1), ("bbb", 2)]
    assert in_step(work, []) == []


def test_an_executor_that_is_shut_down_is_told_of():
    pool = ThreadPoolExecutor(1)
    pool.shutdown()
    with pytest.raises(LostWorkers, match="Run it again"):
        list(in_order(doubled, range(3), pool))


def test_what_a_task_raises_comes_through():
    def fails(number):
        raise InputError("no such thing")

    with ThreadPoolExecutor(1) as pool, pytest.raises(InputError, match="no such thing"):
        list(in_order(fails, range(3), pool))


def test_one_worker_is_no_pool():
    with process_pool(1) as pool:
        assert pool is None


def test_a_missing_library_is_named_with_its_command():
    with pytest.raises(MissingExtra) as told:
        needed("no_such_library.part", "cluster")
    text = str(told.value)
    assert "\n" not in text
    assert text == (
        "no_such_library is not installed, and this needs it. "
        "Install it with: pip install 'formulate-milk[cluster]'"
    )
    assert isinstance(told.value, ImportError)


def test_no_scheduler_is_told_of():
    pytest.importorskip("distributed")
    with pytest.raises(InputError, match="no Dask scheduler"), dask_cluster("nonsense://x"):
        pass
