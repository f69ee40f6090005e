"""The feeds of one day: which are done, which is due now or next, and which come later.

What is due is never more, nor sooner, than what would be written down without a question
(`formulate.answers.record`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from formulate.answers.may_feed import Bar
from formulate.base.moments import over
from formulate.rearing.colostrum import ColostrumPlan
from formulate.rearing.feed_plan import DayFeed
from formulate.rearing.figures import value
from formulate.rearing.flock import ColostrumHad, MilkHad
from formulate.rearing.limits import Fed, FeedLimits, fed_within

__all__ = ["DueFeed", "FeedState", "feeds_of_day"]

#: A feed is due from so long before its time on.
SOON = timedelta(minutes=15)
#: A feed that would be smaller than this share of the planned one is left out.
A_TENTH = 0.1


class FeedState(StrEnum):
    """How a feed of today stands at the moment."""

    DONE = "done"
    NOT_LOGGED = "not logged"  # its time is past, and nothing was written down
    DUE = "due"
    NEXT = "next"
    LATER = "later"


@dataclass(frozen=True, slots=True)
class DueFeed:
    """One feed of today.

    Parameters
    ----------
    at : datetime
        When, by the plan; not before the gap after the last feed is over.
    millilitres : float
        [mL].
    what : str
        "milk" or "colostrum".
    state : FeedState
    logged : MilkHad or ColostrumHad or None
        What was written down for it.
    """

    at: datetime
    millilitres: float
    what: str
    state: FeedState = FeedState.LATER
    logged: Fed | None = None

    @property
    def open(self) -> bool:
        """Whether it is still to be given."""
        return self.state in (FeedState.DUE, FeedState.NEXT, FeedState.LATER)


def feeds_of_day(
    now: datetime,
    day: DayFeed | None,
    newborn: ColostrumPlan | None,
    had: Sequence[Fed],
    allowed: FeedLimits,
    bars: Sequence[Bar],
    not_before: datetime | None = None,
) -> tuple[DueFeed, ...]:
    """Today's feeds by time; future ones only if nothing bars them.

    Parameters
    ----------
    now : datetime
    day : DayFeed or None
        By the plan; None if there is none.
    newborn : ColostrumPlan or None
        In the first day.
    had : sequence of MilkHad or ColostrumHad
        Everything written down up to now, by time.
    allowed : FeedLimits
    bars : sequence of Bar
    not_before : datetime, optional
        After a drink beside the milk: milk comes no sooner.
    """
    given = [one for one in had if one.at.date() == now.date()]
    planned: list[DueFeed] = []
    if day is not None and not bars:
        moments = sorted(datetime.combine(now.date(), at) for at in day.times)
        planned = [DueFeed(at, day.millilitres, "milk") for at in moments]
    if newborn is None:
        if not planned:
            return tuple(_given(one) for one in given)
        matched = _matched(planned, given, now, allowed)
        return tuple(_with_states(matched, now, had, allowed, not_before))
    feeds = [_given(one) for one in given]
    if not any(bar.harm and not bar.of_milk for bar in bars):
        feeds += [DueFeed(at, newborn.next_feed, "colostrum") for at in newborn.times]
    feeds += [one for one in planned if one.at >= newborn.until]
    return tuple(_with_states(feeds, now, had, allowed, not_before))


def _given(one: Fed) -> DueFeed:
    what = "colostrum" if isinstance(one, ColostrumHad) else "milk"
    return DueFeed(one.at, one.millilitres, what, FeedState.DONE, one)


def _matched(
    planned: list[DueFeed], given: Sequence[Fed], now: datetime, allowed: FeedLimits
) -> list[DueFeed]:
    """Give each feed that was written down to the planned one nearest to it.

    One that is near to none stands on its own.
    """
    near = timedelta(hours=12) / len(planned)
    extra = []
    for one in given:
        open_ = [k for k, feed in enumerate(planned) if feed.logged is None]
        best = min(open_, key=lambda k: abs(planned[k].at - one.at), default=None)
        if best is not None and abs(planned[best].at - one.at) <= near:
            feed = planned[best]
            planned[best] = DueFeed(feed.at, feed.millilitres, feed.what, FeedState.DONE, one)
        else:
            extra.append(_given(one))
    feeds = [
        DueFeed(feed.at, feed.millilitres, feed.what, FeedState.NOT_LOGGED)
        if feed.logged is None and feed.at + allowed.gap < now
        else feed
        for feed in planned
    ]
    return sorted([*feeds, *extra], key=lambda feed: feed.at)


def _with_states(
    feeds: Sequence[DueFeed],
    now: datetime,
    had: Sequence[Fed],
    allowed: FeedLimits,
    not_before: datetime | None = None,
) -> list[DueFeed]:
    """Say which is due now or next, and hold each back until the gap is over.

    Where more was drunk than planned, the feeds to come are smaller, or left out.
    """
    found: list[DueFeed] = []
    coming = list(had)
    for feed in feeds:
        if not feed.open:
            found.append(feed)
            continue
        at = max([feed.at, now, not_before or now, *(over(o.at, allowed.gap) for o in coming[-1:])])
        room = value("day-over") * allowed.day - fed_within(coming, at)
        amount = feed.millilitres
        if room < amount:
            amount = float(int(max(room, 0.0)))
        if amount < A_TENTH * feed.millilitres:
            continue
        state = FeedState.LATER
        if not any(one.open for one in found):
            state = FeedState.DUE if at <= now + SOON else FeedState.NEXT
        moment = at if at > now else min(feed.at, at)
        found.append(DueFeed(moment, amount, feed.what, state))
        coming.append(MilkHad(at, amount))
    return found
