"""Flocks and milks that the rearing tests share."""

from __future__ import annotations

from datetime import date, datetime, time

from hypothesis import strategies as st

from formulate.rearing.flock import Animal, Flock, Species, Weighing
from formulate.rearing.milk import Milk

#: As strong as ewe's milk, about; and whole cow's milk.
STRONG = Milk("strong", 4.3, 17.0, 175.0, 24.0)
THIN = Milk("thin", 2.8, 11.9, 122.0, 26.5)

TODAY = date(2026, 11, 14)
NOW = datetime(2026, 11, 14, 12)
TIMES = tuple(time(hour) for hour in (2, 6, 10, 14, 18, 22))


def lamb(name="Pip", age=10, weight=5.0, birth=4.0, **more):
    born = date.fromordinal(TODAY.toordinal() - age)
    weighings = (Weighing(TODAY, weight),) if age else ()
    more = {"hour": time(1), "species": Species.LAMB, **more}
    return Animal(name, born=born, birth_weight=birth, weighings=weighings, **more)


def flock(*animals, times=TIMES, **more):
    return Flock(animals or (lamb(),), times, **more)


@st.composite
def animals(draw, name="Pip", oldest=60):
    species = draw(st.sampled_from(Species))
    age = draw(st.integers(0, oldest))
    birth = draw(st.floats(1.2, 6.0))
    grown = birth + age * draw(st.floats(0.05, 0.3))
    cap = draw(st.sampled_from([None, None, 30.0, 60.0]))
    hour = draw(st.sampled_from([None, time(0), time(4, 30), time(23, 59)]))
    return lamb(name, age, grown, birth, species=species, cap=cap, hour=hour)


@st.composite
def flocks(draw, most=4):
    count = draw(st.integers(1, most))
    members = tuple(draw(animals(f"animal {n}")) for n in range(count))
    return flock(*members, times=draw(feeding_times()))


@st.composite
def feeding_times(draw):
    """Times of a household, at least two hours apart but for some that lie closer."""
    start, gaps = draw(st.integers(0, 4)), draw(st.lists(st.integers(2, 4), min_size=5, max_size=8))
    hours = {start + sum(gaps[:n]) for n in range(len(gaps) + 1)}
    hours = {hour for hour in hours if hour < 22 + start}  # two hours round midnight as well
    hours |= draw(st.sets(st.integers(0, 23), max_size=2))
    return tuple(time(hour % 24) for hour in sorted(hours, key=lambda hour: hour % 24))


def milks():
    return st.builds(
        lambda energy, protein: Milk("some", energy, 4 * energy, 41 * energy, protein),
        st.floats(1.5, 6.5),
        st.floats(15, 40),
    )
