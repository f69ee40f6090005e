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
from formulate.rearing.meaning import protein_of

DAYS = 70


def herd(count):
    """Lambs of all ages and weights, weighed today."""
    made = []
    for n in range(count):
        age = 3 + n % 25
        animal = lamb(f"lamb {n}", age, 3.5 + 0.15 * age + 0.001 * (n % 700), 3.0 + n % 3)
        made.append(replace(animal, weighings=(Weighing(TODAY, animal.weighings[0].kilograms),)))
    return flock(*made)


def bare(weight, age, ready_weight, days, energy, protein):
    """The plan's arithmetic and nothing else: growth, need, feeds, step-down."""
    n = len(weight)
    now = weight
    share = (0.769 + 0.679) / 2
    ahead = days + AHEAD
    weights, gains, litres, least = (np.empty((n, ahead)) for _ in range(4))
    most, kept, need, limit = (np.empty((n, ahead)) for _ in range(4))
    cap = np.where(age[:, None] + np.arange(ahead) >= 28, 60.0, 50.0)

    def less_of(w):
        return 4.184e-3 * (0.769 * 145.2 * w**0.75 + 0.679 * 100.4 * w**0.73) / 2

    def curve(w):
        w = np.maximum(w, 4.0)
        return 15.19 - 16.32 / w, -219.57 / w**2

    def energy_for(gain, w):
        slope, bend = curve(w)
        scale = share * 13.8
        a, b = bend / scale, 2 + slope / scale
        c = (less_of(w) - 0.17) / scale - 0.40 * w / 13.8 - 3 * gain
        x = -2 * c / (b + np.sqrt(np.maximum(b**2 - 4 * a * c, 0.0)))
        x = np.minimum(x, -slope / (2 * bend))
        return 0.40 * w + 13.8 * (3 * gain - 2 * x)

    for d in range(ahead):
        w = now
        kept[:, d] = energy_for(0.0, w)
        least[:, d] = energy_for(np.minimum(0.025 * w, 0.150), w)
        need[:, d] = energy_for(0.150, w)
        most[:, d] = 0.2 / 1.03 * w
        by_feed = np.floor(np.minimum(cap[:, d] * w, 500) + 1e-9) * len(TIMES) / 1e3
        given = np.minimum(need[:, d] / energy, np.minimum(by_feed, most[:, d]))
        slope, bend = curve(w)
        kept_in = share * given * energy - less_of(w) + 0.17
        x = (np.sqrt(np.maximum(slope**2 + 4 * bend * kept_in, 0.0)) - slope) / (2 * bend)
        by_energy = ((given * energy - 0.40 * w) / 13.8 + 2 * x) / 3
        limit[:, d] = (0.72 * given * protein - 6.25 * 0.148 * w**0.75) / 0.15 / 1e3
        gains[:, d] = np.minimum(by_energy, limit[:, d])
        weights[:, d], litres[:, d] = w, given
        now = now + gains[:, d]
    half = 1.96 * np.hypot(np.hypot(0.033, 0.020) * np.arange(ahead), 0.1 / np.sqrt(3))
    tracks = np.stack([weights - half, weights, weights + half])
    ready = []
    for track in tracks:
        heavy = track >= ready_weight[:, None]
        at = np.where(heavy.any(axis=1), heavy.argmax(axis=1), 10**6)
        ready.append(np.maximum(np.maximum(at, 35 - age), 3))
    return bare_bottles(age, ready[1], weights, litres, least / energy, cap, days)


def bare_bottles(age, ready, weight, litres, least, cap, days):
    """Feeds and millilitres that hold for three days from today or the second week on."""
    at_birth = np.array([5] * 4 + [4] * 17 + [3] * 14 + [2] * 200)
    day, mark = np.arange(days), 14.78676478125
    begun = np.maximum(0, 7 - age - (7 - age) % 3)[:, None]
    ready = ready + (begun[:, 0] - ready) % 3  # weaning begins where a stretch ends
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
    top = np.floor(held(np.minimum(cap * weight, 500), np.minimum) / mark + 1e-9)
    wanted = np.minimum(1e3 * left * held(litres, np.maximum), most)
    enough = np.maximum(0.9 * wanted, 0.96 * 1e3 * left * held(least, np.maximum))
    near = 0.96 * wanted
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
    weight = np.array([a.last_weight.kilograms for a in some.animals])
    age = np.array([a.age_days(TODAY) for a in some.animals])
    ready = np.array([max(9.0, 2.5 * a.birth_weight) for a in some.animals])
    return lambda: bare(weight, age, ready, DAYS, STRONG.energy, protein_of(STRONG))


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
