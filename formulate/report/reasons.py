"""Explain why there is no mix, and what would make one possible, in plain sentences.

Each function returns sentences for people and the numbers behind them, as rows of plain values
for a table or JSON. A sentence claims no more than its numbers: upper limits are rounded down,
lower limits are rounded up.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import reduce

import numpy as np

from formulate.base.messages import listed, say
from formulate.base.units import Kitchen
from formulate.blend.additions import Additions, Help, ToBuy
from formulate.blend.explain import best_reach
from formulate.blend.mix import Mix, NoMix
from formulate.blend.problem import Limit, LimitKind, Problem
from formulate.blend.whole.steps import counted_words
from formulate.foods.bands import Role
from formulate.foods.measures import measure
from formulate.report import reason_words as tell
from formulate.report.reason_words import Packages, Told
from formulate.report.words import share_words

__all__ = ["Packages", "Told", "demand_words", "helpers", "why_not"]


# --- why there is no mix --------------------------------------------------------------------


def why_not(result: NoMix, most: int = 3) -> Told:
    """Describe the first `most` minimal clashes; the rows list the members of every clash."""
    problem = result.problem
    conflicts = (result.conflict, *result.other_conflicts)
    sentences = [_clash(problem, conflict) for conflict in conflicts[:most]]
    rest = len(conflicts) - most
    if rest > 0:
        sentences.append(say("clash.more", count=rest))
    rows = [
        {
            "conflict": number,
            **tell.limit_row(limit),
            "best_reach": tell.plain(best_reach(problem, conflict, limit)),
        }
        for number, conflict in enumerate(conflicts, 1)
        for limit in conflict
    ]
    return Told(tuple(sentences), tuple(rows))


def _clash(problem: Problem, conflict: Sequence[Limit]) -> str:
    """One conflict as a sentence."""
    if not conflict:
        return say("why.no-clash")
    if any(limit.kind is LimitKind.READABLE for limit in conflict):
        return _nothing_to_read(conflict)
    if any(limit.kind is LimitKind.SMALLEST for limit in conflict):
        if len(conflict) == 1:
            limit = conflict[0]
            return say("clash.no-room", weight=tell.weight(limit.value), food=limit.food)
        kept = listed([demand_words(limit) for limit in conflict])
        return say("clash.all", demands=kept)
    last = max(range(len(conflict)), key=lambda k: (_spoken_last(conflict[k]), k))
    broken = conflict[last]
    others = [limit for k, limit in enumerate(conflict) if k != last]
    reach = best_reach(problem, conflict, broken)
    if not others:
        return _alone(broken, reach)
    names = list(dict.fromkeys(_name(limit) for limit in (*others, broken)))
    title = (
        say("clash.names", names=listed(names))
        if len(names) > 1
        else say("clash.one", what=names[0])
    )
    demands = listed([demand_words(limit) for limit in others])
    verb = {LimitKind.BAND_HIGH: "bring", LimitKind.BAND_LOW: "leave"}.get(broken.kind, "take")
    instead, best = _broken(broken), _best(broken, reach)
    if best:
        end = "low" if broken.kind is LimitKind.BAND_LOW else "high"
        instead = say(f"clash.reach-{end}", limit=instead, reach=best)
    return say(
        f"clash.{verb}s" if len(others) == 1 else f"clash.{verb}",
        title=tell.capital(title),
        demands=demands,
        limit=instead,
    )


def _nothing_to_read(conflict: Sequence[Limit]) -> str:
    """A band whose denominator is zero in every mix."""
    band = next(x.band for x in conflict if x.kind is LimitKind.READABLE and x.band is not None)
    what, per = band.label, measure(band.denominator).label
    return say("why.nothing-to-read", what=what, basis=band.basis.words, per=per)


def _spoken_last(limit: Limit) -> int:
    """Rank the members of a clash; the highest is described as the one broken."""
    if limit.band is None:
        return 1 if limit.kind is LimitKind.STOCK else 0
    ceiling = limit.kind is LimitKind.BAND_HIGH
    return (3 if limit.relaxable else 2) + 2 * ceiling


def _name(limit: Limit) -> str:
    if limit.band is not None:
        return tell.label(limit.band)
    return {
        LimitKind.SHARE: say("clash.share-of", food=limit.food),
        LimitKind.STOCK: say("clash.stock-of", food=limit.food),
    }.get(limit.kind, say("clash.least-of", food=limit.food))


def demand_words(limit: Limit) -> str:
    """Describe what a limit demands: "protein of at least 5.4 %"."""
    if limit.band is not None:
        end = "least" if limit.kind is LimitKind.BAND_LOW else "most"
        safety = "-safety" if limit.band.role is Role.SAFETY else ""
        amount = tell.amount(limit.value, limit.band)
        return say(f"clash.band-{end}{safety}", label=tell.label(limit.band), amount=amount)
    return {
        LimitKind.SHARE: say("clash.at-most-share", share=tell.share(limit.value), food=limit.food),
        LimitKind.STOCK: say(
            "clash.no-more-than", weight=tell.weight(limit.value), food=limit.food
        ),
    }.get(
        limit.kind,
        say("clash.at-least-weight", weight=tell.weight(limit.value), food=limit.food),
    )


def _broken(limit: Limit) -> str:
    """Describe a broken limit: "more than 5.4 % milk sugar"."""
    if limit.band is not None:
        than, label = "less" if limit.kind is LimitKind.BAND_LOW else "more", tell.label(limit.band)
        if limit.band.unit != "g/100 g":
            amount = tell.amount(limit.value, limit.band)
            return say(f"clash.band-{than}", label=label, amount=amount)
        return say(f"clash.amount-{than}", amount=tell.amount_of(limit.value, limit.band))
    if limit.kind is LimitKind.SHARE:
        return say("clash.more-than-share", share=tell.share(limit.value), food=limit.food)
    return say("clash.more-than-stock", weight=tell.weight(limit.value), food=limit.food)


def _alone(limit: Limit, reach: float | None) -> str:
    """A limit that cannot be met by itself, as a sentence."""
    best = _best(limit, reach)
    known = "-best" if best else ""
    if limit.band is not None:
        verb = "reaches" if limit.kind is LimitKind.BAND_LOW else "keeps-to"
        return say(f"clash.{verb}{known}", demand=demand_words(limit), reach=best)
    if limit.kind is LimitKind.SHARE:
        share = tell.share(limit.value)
        return say(f"clash.holds-only{known}", share=share, food=limit.food, reach=best)
    weight = tell.weight(limit.value)
    return say(f"clash.makes-do{known}", weight=weight, food=limit.food, reach=best)


def _best(limit: Limit, reach: float | None) -> str:
    """The best value that can be reached, or "" where it says no more than the limit."""
    if reach is None:
        return ""
    low = limit.kind is LimitKind.BAND_LOW
    scale = 100.0 if limit.kind is LimitKind.SHARE else 1.0
    if abs(reach) <= 1e-9 * max(1.0, abs(limit.value)):
        reach = 0.0
    shown = tell.rounded(reach * scale, math.ceil if low else math.floor) / scale
    if (shown >= limit.value) if low else (shown <= limit.value):
        return ""
    return tell.value(shown, limit)


# --- what would help ------------------------------------------------------------------------


def helpers(
    additions: Additions, currency: str = "", most: int = 5, kitchen: Kitchen = Kitchen.US
) -> Told:
    """List the foods that would make a mix possible, the first `most` of them by name."""
    sentences: list[str] = []
    shown = additions.found[:most]
    by_kind: dict[tuple[str, ...], list[Help]] = {}
    for help_ in shown:
        by_kind.setdefault(tuple(food.kind for food in help_.foods), []).append(help_)
    for kinds, group in by_kind.items():
        subject = listed(_kind_words(kinds))
        told = _either([_help(help_, currency, kitchen) for help_ in group])
        pair = "help-pair-for-less" if additions.singles else "help-pair"
        sentences.append(say(f"why.{pair if len(kinds) > 1 else 'help'}", foods=subject, how=told))
    rest = len(additions.found) - len(shown)
    if rest:
        alone = "more-help-alone" if not additions.pairs else "more-help"
        sentences.append(say(f"why.{alone}", count=rest))
    if not additions.found:
        if not additions.tried:
            sentences.append(say("clash.nothing-to-try"))
        else:
            count = len(additions.tried)
            tried = "pairs-tried" if additions.pairs_tried else "some-tried"
            sentences.append(
                say(f"clash.{tried}", count=count)
                if count > 1
                else say("clash.one-tried", food=additions.tried[0])
            )
    if additions.unknown:
        lacking = listed([f"{food} ({what})" for food, what in additions.unknown])
        sentences.append(say("clash.not-tried", foods=lacking))
    rows = [
        {
            "foods": list(help_.ids),
            "shares": list(help_.shares),
            "to_buy": [
                {
                    "food": b.food,
                    "grams": b.grams,
                    "packages": b.count or None,
                    "package": b.package or None,
                }
                for b in help_.to_buy
            ],
            "cost_per_litre": help_.cost_per_litre,
            "currency": currency or None,
            "rule": "cheapest" if _priced(help_.mix) else "least added",
        }
        for help_ in additions.found
    ]
    return Told(tuple(sentences), tuple(rows))


def _kind_words(kinds: Sequence[str]) -> list[str]:
    """Kinds of food as the subject of a sentence: "A cream" and "another cream"."""
    first, *more = kinds
    words = [say(f"why.kind.{first}.first")]
    for kind in more:
        form = "another" if kind == first else "after"
        words.append(say(f"why.kind.{kind}.{form}"))
    return words


def _either(ways: Sequence[str]) -> str:
    """One way, or several to choose from."""
    first, *more = ways
    return reduce(lambda told, way: say("why.or", ways=told, way=way), more, first)


def _help(help_: Help, currency: str, kitchen: Kitchen) -> str:
    """Describe one way to make it possible: what to add, what to buy, and the cost of a litre."""
    part = "why.add" if _priced(help_.mix) else "why.add-at-least"
    parts = [
        say(part, food=buy.food, share=share_words(share), buy=_buy_words(buy, kitchen))
        for buy, share in zip(help_.to_buy, help_.shares, strict=True)
    ]
    if help_.cost_per_litre is None:
        return say("why.add-unpriced", parts=listed(parts))
    money = tell.money(help_.cost_per_litre, currency)
    return say("why.add-priced", parts=listed(parts), money=money)


def _buy_words(buy: ToBuy, kitchen: Kitchen) -> str:
    """Packages to buy: "2 cans", "3 x 12 fl oz"; the weight where no package is known."""
    if not buy.count:
        return tell.weight(buy.grams)
    unit = buy.package.removeprefix("1 ")
    if unit[:1].isdigit():
        return say("why.times", count=buy.count, package=unit)
    return counted_words(buy.count, unit, kitchen)


def _priced(mix: Mix) -> bool:
    """Whether every price is known, so that these are the amounts of the cheapest mix."""
    return bool(np.isfinite(mix.shelf.price).all())
