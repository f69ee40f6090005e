"""Compare levels of feeding: gain, weaning, milk and its cost, for every animal.

Levels are compared on the same milks, from the same day. Cost is that of the food by weight; whole
packages are a question of `formulate.answers.shop`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from datetime import date

import numpy as np
from numpy.typing import NDArray

from formulate.answers.compare import costs_of
from formulate.answers.milks import FedMilk, plans_of
from formulate.answers.today import Today
from formulate.rearing.feed_plan import FeedPlan, PlanReason, Stage
from formulate.rearing.flock import Level
from formulate.rearing.flock_file import FlockRead
from formulate.rearing.levels import at_level

__all__ = ["AtLevel", "levels_of"]

Array = NDArray[np.float64]

#: What can hold an animal back, the first that does first.
_HOLDING = (PlanReason.DAY_SHARE, PlanReason.FEED_CAP, PlanReason.PROTEIN)


@dataclass(frozen=True, slots=True)
class AtLevel:
    """One animal at one level.

    Parameters
    ----------
    animal : str
    level : Level
    chosen : bool
        Whether it is the level that the plan is made for.
    aim : float
        Gain aimed at [kg/d].
    gain : float
        Expected today [kg/d]; NaN on a day without milk.
    litres_today : float
        [L].
    held_by : str
        What holds its gain below the aim today: "day-share", "feed-cap", "protein"; else empty.
    reached : date or None
        First day on milk on which nothing holds it below the aim; None: no day of the plan.
    ready : date or None
        Weaning may start.
    litres_left : float
        Milk from today to the last [L].
    cost : float
        Of that milk [money]; NaN without prices.
    """

    animal: str
    level: Level
    chosen: bool
    aim: float
    gain: float
    litres_today: float
    held_by: str
    reached: date | None
    ready: date | None
    litres_left: float
    cost: float


def levels_of(read: FlockRead, found: Today) -> tuple[AtLevel, ...]:
    """Every animal that may be fed milk, at each level from the least to the most.

    Parameters
    ----------
    read : FlockRead
        The flock that `found` is of.
    found : Today
    """
    fed = {one.name: one.level for one in found.animals if one.plan is not None and one.may_be_fed}
    rows: dict[tuple[str, Level], AtLevel] = {}
    for level in Level:
        leveled = replace(read, flock=at_level(read.flock, level))
        for milk, plan in zip(found.milks, plans_of(leveled, found.milks), strict=True):
            if plan is None:
                continue
            prices = _price_by_day(milk, plan)
            for i, animal in enumerate(plan.flock.animals):
                if animal.name in fed and plan.feeds[i].any():
                    chosen = fed[animal.name] is level
                    rows[animal.name, level] = _row(plan, i, level, chosen, prices)
    return tuple(rows[name, level] for name in fed for level in Level if (name, level) in rows)


def _price_by_day(milk: FedMilk, plan: FeedPlan) -> Array:
    """Cost of a litre of each day's milk [money/L]; NaN without prices."""
    new = costs_of(milk.mix)[0]
    if milk.before is None or plan.old_milk is None:
        return np.full(len(plan.days), new)
    old = costs_of(milk.before.mix)[0]
    return np.where(plan.share_new == 1, new, plan.share_new * new + (1 - plan.share_new) * old)


def _row(plan: FeedPlan, i: int, level: Level, chosen: bool, prices: Array) -> AtLevel:
    day, weaning = plan.day_feed(i, 0), plan.weaning[i]
    free = (plan.stage[i] == Stage.MILK) & ((plan.reasons[i] & sum(_HOLDING)) == 0)
    held = next((r for r in _HOLDING if day.reasons & r), None)
    return AtLevel(
        plan.flock.animals[i].name,
        level,
        chosen,
        day.aim,
        day.gain[1] if day.stage is Stage.MILK else math.nan,
        day.litres,
        "" if held is None or held.name is None else held.name.lower().replace("_", "-"),
        plan.days[int(free.argmax())] if free.any() else None,
        weaning.ready,
        weaning.litres_left,
        float(plan.litres[i] @ prices),
    )
