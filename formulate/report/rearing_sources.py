"""The source of each number in a feed plan."""

from __future__ import annotations

import math

from formulate.answers.today import Today
from formulate.base import messages
from formulate.foods.tables import sources
from formulate.rearing.feed_plan import DayFeed
from formulate.rearing.figures import Figure, figure
from formulate.rearing.flock import Animal, Flock, Species
from formulate.rearing.schedule import least_feeds, published, strength
from formulate.report import words as say

__all__ = ["energy_sources", "figure_line", "figures_used", "published_for", "source_lines"]

#: Figures that every feed plan rests on, whatever the species.
_PLAN_FIGURES = (
    "protein-use", "protein-endogenous", "protein-per-gain", "creep-energy", "creep-protein",
    "gain-spread", "equation-spread", "scale-error", "least-gain-share", "cap-per-feed",
    "cap-per-feed-older", "cap-older-age", "most-per-day", "most-per-day-thin", "day-share-solids",
    "milk-warm",
    "wean-birth-multiple", "wean-creep-days", "wean-step-days", "wean-horizon",
    "gap-share", "gap-least", "day-over", "weigh-asked", "weigh-needed",
)  # fmt: skip
#: What energy makes of a lamb and of a kid.
_ENERGY_FIGURES = {
    Species.LAMB: (
        "maintenance-danso", "energy-per-gain-danso", "maintenance-jagusch", "efficiency-jagusch",
        "maintenance-walker", "efficiency-walker",
        "kept-constant", "kept-per-gain", "kept-per-relative-gain",
        "kept-per-relative-gain-squared", "kept-least-weight",
    ),
    Species.KID: ("maintenance-kid", "energy-per-gain-kid"),
}  # fmt: skip
_SPECIES_FIGURES = (
    "feed-largest",
    "least-gain",
    "aim-gentle",
    "aim-usual",
    "aim-hearty",
    "milk-last-age",
    "wean-age",
    "wean-weight",
    "wean-creep",
)
_COLOSTRUM_FIGURES = (
    "colostrum-per-feed", "colostrum-first-hours", "colostrum-first-latest-hours",
    "colostrum-gap", "colostrum-closure-hours", "colostrum-cow-more", "colostrum-cold-more",
    "colostrum-warm", "colostrum-too-hot", "cold-danger", "cold-normal", "fever",
    "cold-glucose-hours", "temperature-fresh",
)  # fmt: skip
#: What the growth check is shown beside.
_COMPARED = ("published-gain-low", "published-gain-high", "dam-gain-low", "dam-gain-high")
_COLOSTRUM_SPECIES = ("colostrum-per-day", "colostrum-early", "colostrum-early-hours")


def figures_used(flock: Flock, *, colostrum: bool, growth: bool = False) -> tuple[Figure, ...]:
    """Every figure that a flock's plan rests on, in the order of the tables."""
    kinds = sorted({animal.species for animal in flock.animals}, reverse=True)
    found = [figure(name) for kind in kinds for name in _ENERGY_FIGURES[kind]]
    found += [figure(name) for name in _PLAN_FIGURES]
    found += [figure("cold-keep")] if flock.cold else []
    found += [figure(name, kind) for name in _SPECIES_FIGURES for kind in kinds]
    if colostrum:
        found += [figure(name) for name in _COLOSTRUM_FIGURES]
        found += [figure(name, kind) for name in _COLOSTRUM_SPECIES for kind in kinds]
    if growth:
        found += [
            figure(name)
            for name in (
                "stall-gain",
                "slow-look",
                "fastest-gain",
                "falls-by-half",
                "conversion-litres-low",
                "conversion-litres-high",
            )
        ]
        found += [figure(name, kind) for name in _COMPARED for kind in kinds]
    return tuple(found)


def energy_sources(species: Species) -> tuple[str, ...]:
    """Keys of the documents that turn energy into gain."""
    return tuple(dict.fromkeys(figure(name).source for name in _ENERGY_FIGURES[species]))


def figure_line(used: Figure) -> str:
    """A figure with its unit, what it is, and the key of its document."""
    told = "figure-noted" if used.note else "figure"
    return messages.say(
        f"growth.source.{told}",
        name=used.name.replace("-", " "),
        value=used.value,
        unit=used.unit,
        note=used.note,
        source=used.source,
    )


def source_lines(today: Today, *, growth: bool = False) -> list[str]:
    """Every number with the key of its document, then the documents."""
    lines = [messages.say("growth.sources")]
    colostrum = any(one.newborn is not None for one in today.animals) and not growth
    keys = set()
    for used in figures_used(today.flock, colostrum=colostrum, growth=growth):
        lines.append(say.bullet(figure_line(used)))
        keys.add(used.source)
    for one in today.animals:
        animal, day = one.animal, one.day
        if day is None:
            continue
        least = least_feeds(animal.species, max(day.age, 0))
        lines.append(
            say.bullet(
                messages.say(
                    "growth.source.least-feeds",
                    animal=animal.name,
                    feeds=least.feeds,
                    note=least.note,
                    source=least.source,
                )
            )
        )
        keys.add(least.source)
        for line in () if math.isnan(day.weight[1]) else published_for(animal, day):
            lines.append(
                say.bullet(messages.say("growth.source.of", animal=animal.name, line=line))
            )
        if animal.cap is not None:
            cap = messages.say("growth.source.cap", animal=animal.name, cap=animal.cap)
            lines.append(say.bullet(cap))
            keys.add("own")
        found = (
            () if math.isnan(day.weight[1]) else published(animal.species, day.age, day.weight[1])
        )
        keys |= {strength(animal.species).source, *(p.source for p in found)}
    lines.append(say.bullet(messages.say("growth.energy-source")))
    keys |= {"sebek-everts-1993", "walker-norton-1971"}
    lines.append(messages.say("shop.documents"))
    lines += [say.bullet(f"[{key}] {sources()[key]}") for key in sorted(keys)]
    return lines


def published_for(animal: Animal, day: DayFeed) -> list[str]:
    """What every schedule gives an animal today, in its own milk."""
    found = []
    for line in published(animal.species, day.age, day.weight[1]):
        litres = f"{line.low:.2f}"
        if line.high > line.low:
            litres = messages.say("growth.source.litres", low=line.low, high=line.high)
        told = f"growth.source.published-{line.schedule}"
        found.append(messages.say(told, litres=litres, source=line.source))
    return found
