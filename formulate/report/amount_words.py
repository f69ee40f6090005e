"""Explain why an animal gets its amount of milk."""

from __future__ import annotations

from formulate.answers.today import AnimalToday
from formulate.base.messages import say
from formulate.rearing.feed_plan import DayFeed, FeedPlan, PlanReason
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal
from formulate.rearing.growth import published_gains
from formulate.rearing.portions import cap_of, largest_published
from formulate.rearing.schedule import MILK_DENSITY, least_feeds, published, strength

__all__ = ["amount_words", "held_words"]


def amount_words(one: AnimalToday, day: DayFeed) -> str:
    """Its need, what holds it back, the cap, and what others give and gain.

    Parameters
    ----------
    one : AnimalToday
        With a plan.
    day : DayFeed
        Of today, on milk.
    """
    animal, plan = one.animal, one.plan
    assert plan is not None
    fewest = least_feeds(animal.species, day.age).feeds
    places = {
        "keep": day.keep,
        "need": day.need,
        "aim": 1e3 * day.aim,
        "level": one.level,
        "energy": day.litres * float(plan.energy[0]),
        "litres": day.litres,
        "share": 100 * day.litres * MILK_DENSITY / day.weight[1],
        "cap": day.cap,
        "per_kilogram": cap_of(animal, day.day),
        "fewest": fewest,
        "feeds": day.feeds,
        "more": 100 * (value("cold-keep") - 1),
        "solids": plan.milk.solids,
        "enough": value("day-share-solids"),
        "most": 100 * value("most-per-day"),
        "most_share": 100 * day.most * MILK_DENSITY / day.weight[1],
    }
    held = bool(day.reasons & PlanReason.SHORT_OF_AIM)
    texts = [say("growth.why-held" if held else "growth.why", **places)]
    if plan.flock.cold:
        texts.append(say("growth.why-cold", **places))
    texts += held_words(plan, day)
    if day.reasons & PlanReason.ABOVE_PUBLISHED and not day.reasons & PlanReason.DAY_SHARE:
        texts.append(say("growth.why-thin", **places))
    if animal.cap is not None:
        texts.append(say("growth.why-own-cap", **places))
    elif day.cap >= largest_published(animal):
        texts.append(say("growth.why-published-cap", **places))
    else:
        texts.append(say("growth.why-cap", **places))
    if day.reasons & PlanReason.MORE_FEEDS:
        too_big = 1e3 * day.litres > fewest * day.cap
        texts.append(say(f"growth.why-more-{'feeds' if too_big else 'marks'}", **places))
    low, high = (1e3 * gain.value for gain in published_gains(animal.species))
    texts.append(
        say(
            "growth.why-compared",
            kinds=say(f"words.species.{animal.species}-many"),
            low=low,
            high=high,
        )
    )
    return " ".join([*texts, _published_words(plan, animal, day)])


def held_words(plan: FeedPlan, day: DayFeed) -> list[str]:
    """What keeps an animal from the gain that its level aims at; empty if nothing does."""
    gain = 1e3 * day.gain[1]
    if day.reasons & PlanReason.DAY_SHARE:
        share = 100 * day.most * MILK_DENSITY / day.weight[1]
        enough = value("day-share-solids")
        solids = plan.milk.solids
        name = "growth.held-by-thin-day" if solids < enough else "growth.held-by-day"
        most = 100 * value("most-per-day")
        return [say(name, gain=gain, share=share, solids=solids, enough=enough, most=most)]
    if day.reasons & PlanReason.FEED_CAP:
        times = len(plan.flock.feeding_times)
        return [say("growth.held-by-feeds", gain=gain, cap=day.cap, times=times)]
    if day.reasons & PlanReason.PROTEIN:
        return [say("growth.held-by-protein", gain=gain)]
    return []


def _published_words(plan: FeedPlan, animal: Animal, day: DayFeed) -> str:
    """What schedules give, at their own strength, and whether the cap cuts them."""
    own = strength(animal.species).low
    for line in published(animal.species, day.age, day.weight[1]):
        if line.schedule != "by-age" or not line.feeds:
            continue
        low, high = (1e3 * amount / line.feeds for amount in (line.low, line.high))
        here = line.at(own, float(plan.energy[0]))
        name = "handbook-one" if low == high else "handbook"
        if here.high < day.litres - 1e-9:
            name += "-less"
        elif high > day.cap:
            name += "-cut"
        return say(f"growth.{name}", feeds=line.feeds, low=low, high=high)
    return say("growth.no-handbook")
