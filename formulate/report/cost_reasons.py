"""What each demand of a mix costs, and the prices that would change it, in plain sentences."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence

import numpy as np
from numpy.typing import NDArray

from formulate.base import messages
from formulate.base.messages import listed
from formulate.blend.mix import Mix
from formulate.blend.prices.ranging import EntryPrice, PriceRange, equal_recipes
from formulate.blend.prices.shadow_prices import ShadowPrice, Slope
from formulate.blend.problem import LimitKind
from formulate.foods.bands import Role
from formulate.report import reason_words as tell
from formulate.report.reason_words import Packages, Told

__all__ = ["cost_reasons", "price_reasons"]


# --- what each demand costs -----------------------------------------------------------------


def cost_reasons(costs: Iterable[ShadowPrice], currency: str = "") -> Told:
    """Say, for each limit that the mix lies on, what loosening it saves and tightening it costs."""
    costs = tuple(costs)
    sentences = [text for cost in costs if (text := _limit_cost(cost, currency))]
    rows = [
        {
            **tell.limit_row(cost.limit),
            "step": cost.step,
            "currency": currency or None,
            **tell.slope_row("looser", cost.looser),
            **tell.slope_row("tighter", cost.tighter),
            "kinked": cost.kinked,
            "while_used": cost.while_used,
        }
        for cost in costs
    ]
    return Told(tuple(sentences), tuple(rows))


def _limit_cost(cost: ShadowPrice, currency: str) -> str:
    limit = cost.limit
    if limit.band is not None and limit.band.role is Role.SAFETY:
        if cost.looser is None or cost.looser.rate < 0:
            return messages.say("costs.safety", what=tell.label(limit.band))
        return ""
    looser, tighter = cost.looser, cost.tighter
    saves = looser is not None and looser.rate < 0 and looser.step_change is not None
    more = _more(cost, currency)
    if not saves or looser is None:
        return more
    money = _money(-(looser.step_change or 0.0), looser, currency)
    told = [_asking("would-save", cost, money=money), _holds(cost, looser)]
    if tighter is None or cost.kinked:
        told.append(more)
    return " ".join(sentence for sentence in told if sentence)


def _more(cost: ShadowPrice, currency: str) -> str:
    """What a step the other way would cost."""
    if cost.limit.exact:
        return ""  # the other end says what lies that way
    if cost.tighter is None:
        return _asking("nor-part", cost)
    if cost.tighter.step_change is None:
        return _asking("not-possible", cost)
    if cost.tighter.rate <= 0:
        return ""
    return _asking(
        "would-cost", cost, money=_money(cost.tighter.step_change, cost.tighter, currency)
    )


def _asking(told: str, cost: ShadowPrice, money: str = "") -> str:
    """What a step of a limit would do, as a sentence."""
    limit, step = cost.limit, cost.step
    kind = limit.kind.value
    if limit.band is not None:
        quantity, what = tell.step(step, limit.band), tell.basis_label(limit.band)
        return messages.say(f"costs.{kind}.{told}", step=quantity, what=what, money=money)
    quantity = tell.share(step) if limit.kind is LimitKind.SHARE else tell.weight(step)
    return messages.say(f"costs.{kind}.{told}", step=quantity, food=limit.food, money=money)


def _holds(cost: ShadowPrice, slope: Slope) -> str:
    """How far the rate holds, where that is beyond the step told."""
    limit = cost.limit
    same = "-same-foods" if cost.while_used else ""
    if math.isfinite(slope.until) and abs(slope.until - limit.value) >= cost.step * (1 - 1e-9):
        down = slope.until < limit.value
        scale = 100.0 if limit.kind is LimitKind.SHARE else 1.0
        end = tell.rounded(slope.until * scale, math.ceil if down else math.floor) / scale
        way = "down" if down else "up"
        return messages.say(f"costs.holds.{way}{same}", end=tell.value(end, limit))
    return messages.say("costs.holds.same-foods") if same else ""


def _money(money: float, slope: Slope, currency: str) -> str:
    """An amount of money; "about" where the rate is not the same all along its range."""
    told = tell.small_money(money, currency)
    varies = abs(slope.rate_until - slope.rate) > 0.1 * abs(slope.rate)
    return messages.say("costs.about", money=told) if varies else told


# --- over which prices ----------------------------------------------------------------------


def price_reasons(
    mix: Mix,
    entries: Sequence[EntryPrice],
    ranges: Sequence[PriceRange],
    packages: Packages | None = None,
) -> Told:
    """Tell at which prices foods stay, leave and come in, and whether another recipe ties.

    Parameters
    ----------
    mix : Mix
        The cheapest mix.
    entries, ranges : sequences
        Of its unused and used foods.
    packages : mapping, optional
        Words and weight [g] of each food's package; without them prices are per kg.
    """
    currency = mix.shelf.currency
    sentences = [_tie(mix, grams) for grams in equal_recipes(entries, ranges)]
    sentences += [_stays(item, currency, packages or {}) for item in ranges]
    sentences += [_enters(entry, currency, packages or {}) for entry in entries]
    rows = [
        tell.price_row(item.food, item.price, currency, packages or {})
        | {
            "used": True,
            "same_recipe_from": tell.plain(item.low * 1e3),
            "same_recipe_to": tell.plain(item.high * 1e3),
            "leaves_at": tell.plain(item.leaves_at * 1e3),
            "tied": item.tied_below or item.tied_above,
        }
        for item in ranges
    ]
    rows += [
        tell.price_row(entry.food, entry.price, currency, packages or {})
        | {
            "used": False,
            "comes_in_below": None if entry.below is None else entry.below * 1e3,
            "tied": entry.tied,
        }
        for entry in entries
    ]
    return Told(tuple(sentences), tuple(rows))


def _tie(mix: Mix, grams: NDArray[np.float64]) -> str:
    amounts = listed(
        [f"{tell.weight(g)} {food}" for food, g in zip(mix.shelf.ids, grams, strict=True) if g > 0]
    )
    return messages.say("costs.same-cost", amounts=amounts)


def _stays(item: PriceRange, currency: str, packages: Packages) -> str:
    def price(per_gram: float, way: Callable[[float], int]) -> str:
        return tell.price(per_gram, item.food, currency, packages, way)

    if math.isinf(item.leaves_at):
        stays = messages.say("costs.stays-always", food=item.food)
    else:
        leaves = price(item.leaves_at, math.floor)
        stays = messages.say("costs.stays-up-to", food=item.food, price=leaves)
    if item.tied_below or item.tied_above:
        return stays  # the recipe that ties has its own sentence
    low, high = price(item.low, math.ceil), price(item.high, math.floor)
    if item.low > 0 and not math.isinf(item.high):
        span = tell.price_span(item.low, item.high, item.food, currency, packages)
        return f"{stays} {messages.say('costs.amounts-between', prices=span)}"
    if item.low > 0:
        within = "from"
    else:
        within = "all-along" if item.high >= item.leaves_at * (1 - 1e-9) else "up-to"
    return f"{stays} {messages.say(f'costs.amounts-{within}', low=low, high=high)}"


def _enters(entry: EntryPrice, currency: str, packages: Packages) -> str:
    if entry.below is None or entry.below <= 0:
        return messages.say("costs.never-in", food=entry.food)
    price = tell.price(entry.below, entry.food, currency, packages, math.floor)
    return messages.say("costs.in-below", food=entry.food, price=price)
