"""Choose which of the household's times each animal is fed at, to share the fewest sittings.

A feed lies at least the gap from the one before it. The animal with the most feeds decides how
often somebody sits down; the others are fed at some of those times.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import time, timedelta
from functools import cache
from itertools import groupby, pairwise
from typing import NamedTuple

from formulate.base.errors import InputError
from formulate.base.messages import duration, say
from formulate.rearing.figures import value

__all__ = ["DayFeeds", "after_a_moment", "counts_that_fit", "least_gap", "refuse_close", "shared"]

#: Minutes of a day.
_DAY = 24 * 60
#: From so many feeds a day on each number of them has its own times, the same on every day.
_STANDING = 3
#: More times than these are thinned out: with two hours between feeds no day holds more feeds.
_MOST_TIMES = 12


class DayFeeds(NamedTuple):
    """Feeds of one animal on one day.

    Parameters
    ----------
    feeds : int
    after : int
        Minute of the day from which on it is fed; 0: all day, and the next day begins like it.
    gap : int
        Least time between two of its feeds [min].
    """

    feeds: int
    after: int = 0
    gap: int = 0

    @classmethod
    def all_day(cls, feeds: int) -> DayFeeds:
        """So many feeds round the clock."""
        return cls(feeds, 0, least_gap(feeds))


def least_gap(feeds: int) -> int:
    """Least time between two feeds of an animal that has so many a day [min]."""
    hours = max(value("gap-share") * 24 / feeds, value("gap-least"))
    return round(60 * hours)


@dataclass(frozen=True, slots=True)
class _Choice:
    """Some of the household's times."""

    mask: int
    count: int
    first: int  # minute of the day
    longest: int  # gap round the clock [min]
    uneven: int  # sum of the squares of the gaps
    shortest: int  # gap round the clock [min]
    inside: int  # shortest gap that does not pass midnight [min]
    late: bool  # whether it leaves out the time at which the household's day begins

    def holds(self, wanted: DayFeeds, last: int) -> bool:
        """Whether these may be the times of an animal.

        Whatever was fed the day before ended by `last`, the household's last time [min]: the gap
        counts from there, since an animal may have had more feeds on that day, or fewer.
        """
        if self.count != wanted.feeds or self.first < wanted.after:
            return False
        if wanted.after:
            return self.inside >= wanted.gap
        return self.shortest >= wanted.gap and self.first + _DAY - last >= wanted.gap


@cache
def shared(
    times: tuple[time, ...], wanted: frozenset[DayFeeds]
) -> Mapping[DayFeeds, tuple[time, ...]]:
    """Times of the animals of a household on one day, at the fewest sittings that hold them all.

    So many feeds have the same times on every day, whoever else is fed (`_standing`), where the
    times of more feeds can hold those of fewer. Else, of sittings as few, those that begin the
    household's day; of these, those that leave the animals the shortest longest gaps round the
    clock; of equals the most even, then the earliest.

    Parameters
    ----------
    times : tuple of time
        When the household can feed.
    wanted : frozenset of DayFeeds
        Feeds of the animals, each kind once.
    """
    known = _kept(times)
    choices, ends = _choices(known), _minute(known[-1]) if known else 0
    fits = {one: [c for c in choices if c.holds(one, ends)] for one in wanted if one.feeds > 0}
    # Where the gap cannot be kept the feeds stand as far apart as they can.
    for one, found in fits.items():
        if not found:
            last = [c for c in choices if c.count == one.feeds and c.first >= one.after]
            fits[one] = sorted(last or choices[-1:], key=lambda c: -c.inside)[:1]
    if not fits:
        return dict.fromkeys(wanted, ())
    standing = _standing(known)
    chosen = {
        one: standing[one.feeds]
        for one in fits
        if one == DayFeeds.all_day(one.feeds) and one.feeds in standing
    }
    if not chosen:
        chosen = _together(choices, fits)
    sittings = 0
    for choice in chosen.values():
        sittings |= choice.mask
    for one in sorted(fits.keys() - chosen, reverse=True):
        # At the others' sittings if it can be; the most even first.
        chosen[one] = min(fits[one], key=lambda c: (c.mask & ~sittings).bit_count())
        sittings |= chosen[one].mask
    return {one: _named(chosen[one].mask, known) if one in chosen else () for one in wanted}


def _together(
    choices: Sequence[_Choice], fits: Mapping[DayFeeds, Sequence[_Choice]]
) -> dict[DayFeeds, _Choice]:
    """Times of kinds of feeds at the fewest sittings that hold them all."""
    most = max(one.feeds for one in fits)
    for _, sittings in groupby((c for c in choices if c.count >= most), lambda c: c.count):
        held = [(s, inside) for s in sittings if (inside := _inside(s, fits)) is not None]
        if held:
            break
    # Of as few sittings, those whose animals wait least; of these the first, so the most even.
    _, chosen = min(held, key=lambda one: (one[0].late, sum(c.longest for c in one[1].values())))
    return chosen


@cache
def _standing(times: tuple[time, ...]) -> Mapping[int, _Choice]:
    """The times of each number of feeds from three up, those of fewer among those of more.

    Of all such rows of times the ones that begin the household's day, with the shortest longest
    gaps, the most even; nothing where there is no such row.
    """
    choices, counts = _choices(times), [n for n in _counts(times) if n >= _STANDING]
    if not counts:
        return {}
    ends = _minute(times[-1])
    own = {c.mask: c for c in choices if c.holds(DayFeeds.all_day(c.count), ends)}
    # The best row within each set of times, by ever larger sets: its cost, and its last choice.
    best: dict[int, tuple[tuple[int, int, int], tuple[_Choice, ...]]] = {}
    for mask in sorted((c.mask for c in choices), key=lambda m: (m.bit_count(), _order(m))):
        smaller = [best[left] for left in _without_one(mask) if left in best]
        row = min(smaller, key=lambda one: one[0], default=None)
        if mask.bit_count() < counts[0]:
            row = ((0, 0, 0), ())
        if row is not None and mask.bit_count() in counts:
            choice, (cost, chosen) = own.get(mask), row
            if choice is None:
                continue
            late, longest, uneven = cost
            # The longest gap counts most where there are most feeds: these are the youngest.
            longest += choice.count * choice.longest
            cost = (late + choice.late, longest, uneven + choice.uneven)
            row = (cost, (*chosen, choice))
        if row is not None:
            best[mask] = row
    whole = [one for mask, one in best.items() if mask.bit_count() == counts[-1]]
    row = min(whole, key=lambda one: one[0], default=None)
    return {} if row is None else {choice.count: choice for choice in row[1]}


def _without_one(mask: int) -> Iterator[int]:
    """A set of times without each of them, the last first: so the earlier ones stay."""
    for i in reversed(_order(mask)):
        yield mask ^ 1 << i


def _inside(
    sitting: _Choice, fits: Mapping[DayFeeds, Sequence[_Choice]]
) -> dict[DayFeeds, _Choice] | None:
    """The most even times of each kind of feeds at a sitting's; None if one has none there."""
    found = {}
    for one, choices in fits.items():
        choice = next((c for c in choices if not c.mask & ~sitting.mask), None)
        if choice is None:
            return None
        found[one] = choice
    return found


@cache
def counts_that_fit(times: tuple[time, ...]) -> tuple[int, ...]:
    """How many feeds a day the household's times can hold with the gap between them."""
    return _counts(_kept(times))


@cache
def after_a_moment(times: tuple[time, ...], minute: int, feeds: int, gap: int) -> int:
    """Feeds of the rest of a day, of an animal that has `feeds` in a whole one, `gap` apart."""
    held, last = 0, -_DAY
    for at in (_minute(t) for t in _kept(times)):
        if at >= minute and at - last >= gap:
            held, last = held + 1, at
    return min(held, -(-feeds * (_DAY - minute) // _DAY))


def refuse_close(times: Sequence[time], least: int, animal: str, where: str) -> None:
    """Refuse feeding times that leave no day of so many feeds with the gap between them.

    Raises
    ------
    InputError
    """
    if any(feeds >= least for feeds in counts_that_fit(tuple(times))):
        return
    known = sorted(times)
    pairs = zip(known, (*known[1:], known[0]), strict=True)
    apart, before, after = min(((_minute(b) - _minute(a)) % _DAY, a, b) for a, b in pairs)
    raise InputError(
        say("sittings.too-close", before=before, after=after, apart=_words(apart),
            animal=animal, feeds=least, gap=_words(least_gap(least))),
        say("sittings.spread", feeds=least),
        where,
    )  # fmt: skip


def _words(minutes: int) -> str:
    return duration(timedelta(minutes=minutes))


def _minute(moment: time) -> int:
    return moment.hour * 60 + moment.minute


@cache
def _thinned(times: tuple[time, ...]) -> tuple[time, ...]:
    """By the clock; where there are very many, without the most crowded."""
    left = sorted(set(times))
    while len(left) > _MOST_TIMES:
        at = [_minute(t) for t in left]
        room = [(at[(i + 1) % len(at)] - at[i - 1]) % _DAY for i in range(len(at))]
        del left[room.index(min(room))]
    return tuple(left)


@cache
def _kept(times: tuple[time, ...]) -> tuple[time, ...]:
    """The times that are used: all but the last ones, where without these more counts of feeds fit.

    A last time shortly before midnight and a first one shortly after it cannot both be used, or an
    animal whose feeds change overnight would have two inside the gap.
    """
    known = _thinned(times)
    fewer = (known[:n] for n in range(len(known), 0, -1))
    return max(fewer, key=lambda kept: len(_counts(kept)), default=known)


@cache
def _counts(times: tuple[time, ...]) -> tuple[int, ...]:
    """How many feeds a day these times can hold, the last of them used or not."""
    choices, last = _choices(times), _minute(times[-1])
    return tuple(
        feeds
        for feeds in range(1, len(times) + 1)
        if any(c.holds(DayFeeds.all_day(feeds), last) for c in choices)
    )


@cache
def _choices(times: tuple[time, ...]) -> tuple[_Choice, ...]:
    """Every set of times but the empty one: the fewest first, of these the most even first."""
    at = [_minute(t) for t in times]
    # Where the household rests over midnight, every day begins at its first time: so the last feed
    # of one day and the first of the next keep the gap, however many there are on either.
    begins = all(b - a <= at[0] + _DAY - at[-1] for a, b in pairwise(at))
    found = []
    for mask in range(1, 1 << len(at)):
        chosen = [minute for i, minute in enumerate(at) if mask >> i & 1]
        inside = [b - a for a, b in pairwise(chosen)]
        gaps = [*inside, chosen[0] + _DAY - chosen[-1]]
        found.append(
            _Choice(
                mask,
                len(chosen),
                chosen[0],
                max(gaps),
                sum(gap * gap for gap in gaps),
                min(gaps),
                min(inside, default=_DAY),
                begins and not mask & 1,
            )
        )
    return tuple(
        sorted(found, key=lambda c: (c.count, c.late, c.longest, c.uneven, _order(c.mask)))
    )


def _order(mask: int) -> tuple[int, ...]:
    """Earlier times come first."""
    return tuple(i for i in range(mask.bit_length()) if mask >> i & 1)


def _named(mask: int, times: Sequence[time]) -> tuple[time, ...]:
    return tuple(t for i, t in enumerate(times) if mask >> i & 1)
