"""How quick the answer for today is, against the feed plans that it rests on.

Run on request only::

    pytest tests/benchmarks/test_today_speed.py -s

The first answer of a day makes the plans; the next ones find them made. Contestants alternate
within the run; medians and their ratios are printed, and a missed target fails the run.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace
from statistics import median

from formulate.answers import milks
from formulate.answers.today import today
from formulate.pantry.pantry import sample_pantry
from formulate.rearing.feeding import plan_feeds
from formulate.rearing.flock_file import sample_flock
from formulate.report.barn_told import barn_told
from formulate.report.today_text import screen_lines

PANTRY = sample_pantry()


def barn(count):
    """The sample's animals over and over."""
    read = sample_flock()
    animals = read.flock.animals
    herd = tuple(replace(animals[n % 4], name=f"animal {n}") for n in range(count))
    return replace(read, flock=replace(read.flock, animals=herd))


def race(contestants: dict[str, Callable[[], object]], rounds: int) -> dict[str, float]:
    """Median seconds of each, in turns after one warming round."""
    times: dict[str, list[float]] = {name: [] for name in contestants}
    for turn in range(rounds + 1):
        for name, run in contestants.items():
            start = time.process_time()
            run()
            if turn:
                times[name].append(time.process_time() - start)
    return {name: median(spent) for name, spent in times.items()}


def judge(words: str, ratio: float, most: float) -> None:
    print(f"  {words}: {ratio:.2f} (target at most {most:g})")
    assert ratio <= most, f"{words}: {ratio:.2f} is above {most:g}"


def test_today_for_forty_animals_against_their_plans():
    read = barn(40)
    fed = milks.milks_of(read, PANTRY)

    def plans():
        for milk in fed:
            drinkers = tuple(a for a in read.flock.animals if a.name in milk.animals)
            change = read.flock.change if milk.blends else None
            old = milk.before.milk if milk.blends else None
            group = replace(read.flock, animals=drinkers, change=change)
            plan_feeds(group, milk.milk, read.now, old_milk=old)

    def first():
        milks._planned.cache_clear()
        return today(read, PANTRY)

    found = today(read, PANTRY)
    medians = race(
        {
            "plans": plans,
            "first answer": first,
            "next answer": lambda: today(read, PANTRY),
            "its screen": lambda: screen_lines(found),
            "its cards": lambda: barn_told(found),
        },
        9,
    )
    print("\nToday, 40 animals, processor time")
    for name, seconds in medians.items():
        print(f"  {name:<14}{seconds * 1e3:8.2f} ms")
    judge("first answer / plans", medians["first answer"] / medians["plans"], 4)
    judge("next answer / plans", medians["next answer"] / medians["plans"], 2.5)


def test_time_grows_no_faster_than_the_animals():
    reads = {count: barn(count) for count in (40, 160)}
    medians = race(
        {str(count): lambda read=read: today(read, PANTRY) for count, read in reads.items()}, 5
    )
    judge("160 / 40 animals, per animal", medians["160"] / medians["40"] / 4, 1.5)
