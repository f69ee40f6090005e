"""How quick feed plans are, against the same arithmetic as bare numpy arrays.

Run on request only::

    pytest tests/benchmarks/test_feed_plan_speed.py -s

Contestants alternate within the run; medians and their ratio are printed, and a missed target
fails the run.
"""

from __future__ import annotations

import time
import tracemalloc
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from statistics import median

import numpy as np
from rearing_flocks import NOW, STRONG, TIMES, TODAY, flock, lamb

from formulate.rearing.feed_plan import Stage
from formulate.rearing.feeding import plan_feeds
from formulate.rearing.flock import Weighing
from formulate.rearing.held import AHEAD

DAYS = 70


def herd(count):
    """Lambs of all ages and weights, weighed today."""
    made = []
    for n in range(count):
        age = 3 + n % 25
        animal = lamb(f"lamb {n}", age, 3.5 + 0.15 * age + 0.001 * (n % 700), 3.0 + n % 3)
        made.append(replace(animal, weighings=(Weighing(TODAY, animal.weighings[0].kilograms),)))
    return flock(*made)


def bare(weight, age, ready_weight, days, energy, protein_walker):
    """The plan's arithmetic and nothing else: growth, need, feeds, step-down."""
    n = len(weight)
    walker_keep, walker_kept = protein_walker
    now = np.repeat(weight[None, :], 3, axis=0)
    weights = np.empty((3, n, days + AHEAD))
    litres, least = np.empty((n, days + AHEAD)), np.empty((n, days + AHEAD))
    for d in range(days + AHEAD):
        w = now[1]
        keep = np.maximum(0.40 * w, 145.2 * 4.184e-3 * w**0.75)
        keep = np.maximum(keep, walker_keep * w**0.73)
        least[:, d] = keep + 13.8 * np.minimum(0.025 * w, 0.150)
        most = np.minimum(np.floor(50 * w) * len(TIMES) / 1e3, 0.2 / 1.03 * w)
        given = np.minimum((keep + 13.8 * 0.150) / energy, most)
        e = given * energy
        slope = 15.19 - 16.32 / np.maximum(now, 3.0)
        bend = 219.57 / np.maximum(now, 3.0) ** 2
        a = (e - 0.40 * now) / 13.8
        kept = 0.769 * (e - 145.2 * 4.184e-3 * now**0.75)
        b = (slope - np.sqrt(np.maximum(slope**2 - 4 * bend * (kept + 0.17), 0))) / (2 * bend)
        kept = walker_kept * (e - walker_keep * now**0.73)
        c = (slope - np.sqrt(np.maximum(slope**2 - 4 * bend * (kept + 0.17), 0))) / (2 * bend)
        low = np.minimum(np.minimum(a, b), c)[0]
        high = np.maximum(np.maximum(a, b), c)[2]
        mid = np.maximum(np.minimum(a, b), np.minimum(np.maximum(a, b), c))[1]
        weights[:, :, d], litres[:, d] = now, given
        now = now + np.stack([low, mid, high])
    heavy = weights[1] >= ready_weight[:, None]
    at = np.where(heavy.any(axis=1), heavy.argmax(axis=1), 10**6)
    ready = np.maximum(np.maximum(at, 35 - age), 3)
    return bare_bottles(age, ready, weights[1], litres, least / energy, days)


def bare_bottles(age, ready, weight, litres, least, days):
    """Feeds and millilitres that hold for three days from today or the second week on."""
    at_birth = np.array([5] * 4 + [4] * 17 + [3] * 14 + [2] * 200)
    day, mark = np.arange(days), 14.78676478125
    begun = np.maximum(0, 7 - age)[:, None]
    first = day - (day - begun) % 3
    first = np.where(day >= ready[:, None], day - (day - ready[:, None]) % 3, first)
    first = np.where(day >= begun, np.maximum(first, 0), day)

    def held(values, worst):
        three = worst(worst(values[:, :-2], values[:, 1:-1]), values[:, 2:])
        return np.where(day >= begun, np.take_along_axis(three, first, axis=1), values[:, :days])

    since = np.clip(day - ready[:, None] + 1, 0, 7)
    left = np.array([1, 2 / 3, 2 / 3, 2 / 3, 1 / 3, 1 / 3, 1 / 3, 0])[since]
    fewest = at_birth[np.clip(age[:, None] + first, 0, 150)]
    fewest = np.where((left < 1) & (left > 0), np.minimum(fewest, 2), fewest)
    most = 1e3 * held(0.2 / 1.03 * weight, np.minimum)
    top = np.floor(held(50 * weight, np.minimum) / mark + 1e-9)
    wanted = np.minimum(1e3 * left * held(litres, np.maximum), most)
    enough = np.maximum(0.9 * wanted, 0.95 * 1e3 * left * held(least, np.maximum))
    near = 0.95 * wanted
    feeds = np.clip(np.ceil(near / (top * mark) - 1e-9), fewest, len(TIMES))

    def marks(count, where=...):
        asked = np.minimum(np.ceil(near[where] / count / mark - 1e-9), top[where])
        return np.minimum(asked, np.floor(most[where] / count / mark + 1e-9))

    each = marks(feeds)
    short = np.nonzero(feeds * each * mark < near * (1 - 1e-9))
    best, found, shared = fewest[short], np.zeros(len(short[0])), False
    for count in range(1, len(TIMES) + 1):
        more = marks(count, short)
        asked = np.where(shared, np.minimum(enough[short], near[short]), near[short])
        better = (count >= fewest[short]) & (best * found * mark < asked * (1 - 1e-9))
        better &= count * more > best * found * (1 + 1e-9)
        shared = np.where(better, more < top[short], shared)
        best, found = np.where(better, count, best), np.where(better, more, found)
    feeds[short], each[short] = best, found
    return np.where(wanted > 0, feeds, 0), np.where(wanted > 0, each * mark, 0)


def bare_for(some):
    from formulate.rearing.energy import accounts

    walker = accounts(STRONG.protein)[2]
    weight = np.array([a.last_weight.kilograms for a in some.animals])
    age = np.array([a.age_days(TODAY) for a in some.animals])
    ready = np.array([max(9.0, 2.5 * a.birth_weight) for a in some.animals])
    return lambda: bare(weight, age, ready, DAYS, STRONG.energy, (walker.keep, walker.efficiency))


def race(contestants: dict[str, Callable[[], object]], rounds: int) -> dict[str, float]:
    """Median seconds of each, in turns after one warming round."""
    times: dict[str, list[float]] = {name: [] for name in contestants}
    for turn in range(rounds + 1):
        for name, run in contestants.items():
            start = time.perf_counter()
            run()
            if turn:
                times[name].append(time.perf_counter() - start)
    return {name: median(spent) for name, spent in times.items()}


def judge(words: str, ratio: float, most: float) -> None:
    print(f"  {words}: {ratio:.2f} (target at most {most:g})")
    assert ratio <= most, f"{words}: {ratio:.2f} is above {most:g}"


def test_the_bare_arithmetic_is_the_same():
    some = herd(200)
    plan = plan_feeds(some, STRONG, NOW, days=DAYS)
    feeds, each = bare_for(some)()
    assert (plan.feeds == feeds).all()
    assert np.allclose(plan.millilitres, each)
    assert (plan.stage == Stage.WEANED).any()
    assert plan.days[-1] == TODAY + timedelta(days=DAYS - 1)


def test_a_thousand_animals_for_seventy_days_against_bare_arrays():
    some = herd(1000)
    medians = race(
        {"plan": lambda: plan_feeds(some, STRONG, NOW, days=DAYS), "bare numpy": bare_for(some)}, 9
    )
    print("\nFeed plans, 1,000 animals x 70 days")
    for name, seconds in medians.items():
        print(f"  {name:<12}{seconds * 1e3:9.2f} ms")
    judge("plan / bare numpy", medians["plan"] / medians["bare numpy"], 4)


def test_time_and_memory_grow_no_faster_than_the_animals():
    flocks = {count: herd(count) for count in (1000, 2000, 4000, 8000)}
    medians = race(
        {
            str(count): lambda some=some: plan_feeds(some, STRONG, NOW, days=DAYS)
            for count, some in flocks.items()
        },
        5,
    )
    print("\nFeed plans x 70 days, by animals")
    for name, seconds in medians.items():
        print(f"  {name:>6}{seconds * 1e3:9.1f} ms, {seconds / int(name) * 1e6:7.2f} µs an animal")
    judge("8,000 / 1,000 animals, per animal", medians["8000"] / medians["1000"] / 8, 1.5)
    peaks = {}
    for count in (1000, 4000):
        tracemalloc.start()
        plan_feeds(flocks[count], STRONG, NOW, days=DAYS)
        peaks[count] = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
    print(f"  peak memory {peaks[1000] / 1e6:.1f} and {peaks[4000] / 1e6:.1f} MB")
    judge("memory of 4,000 / 1,000 animals, per animal", peaks[4000] / peaks[1000] / 4, 1.2)
