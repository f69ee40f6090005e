"""What each level of feeding would give, as text and as JSON."""

from __future__ import annotations

import math
from collections.abc import Sequence

from formulate.answers.levels import AtLevel
from formulate.base.messages import say
from formulate.rearing.figures import value
from formulate.rearing.flock import Level, Species
from formulate.rearing.growth import published_gains
from formulate.report import words
from formulate.report.shapes import Shape

__all__ = ["compared_words", "level_shape", "levels_lines"]

#: Of more animals than this only the sum is shown.
MOST = 6


def levels_lines(levels: Sequence[AtLevel], species: Sequence[Species], currency: str) -> list[str]:
    """A table of the levels, what holds an animal back, and what others gained.

    Parameters
    ----------
    levels : sequence of AtLevel
    species : sequence of Species
        Of the animals, each once.
    currency : str
    """
    names = list(dict.fromkeys(one.animal for one in levels))
    head = ("", *(say(f"growth.levels.{column}", currency=currency) for column in _COLUMNS))
    rows: list[tuple[str, ...]] = [head]
    for name in names if len(names) <= MOST else []:
        mine = [one for one in levels if one.animal == name]
        rows += [_row(one, mine[0], first=one is mine[0]) for one in mine]
    if len(names) > 1:
        rows += _sums(levels)
    lines = [say("growth.levels.title"), *words.table(rows, right=(2, 3, 5, 6, 7))]
    if len(names) <= MOST:
        for by in dict.fromkeys(one.held_by for one in levels if one.held_by):
            lines.append(words.bullet(say(f"growth.levels.held-{by}"), "  "))
        held = [one for one in levels if one.held_by and one.chosen]
        lines += [words.bullet(_held_words(one), "  ") for one in held]
    lines += [words.bullet(compared_words(f"growth.compared-{s}", s), "  ") for s in species]
    lines.append(words.bullet(say("growth.levels.default"), "  "))
    return lines


_COLUMNS = ("level", "aim", "gain", "weans", "left", "cost", "against")


def _row(one: AtLevel, gentle: AtLevel, *, first: bool) -> tuple[str, ...]:
    chosen = say("growth.levels.chosen", level=one.level) if one.chosen else one.level.value
    gain = "" if math.isnan(one.gain) else f"{1e3 * one.gain:.0f} g"
    if gain and one.held_by:
        by = say(f"growth.levels.by-{one.held_by}")
        gain = say("growth.levels.held-gain", by=by, gain=1e3 * one.gain)
    return (
        one.animal if first else "",
        chosen,
        f"{1e3 * one.aim:.0f} g",
        gain,
        "" if one.ready is None else f"{one.ready}",
        f"{one.litres_left:,.0f} L",
        _cost(one.cost),
        _more(one.cost - gentle.cost) if one is not gentle else "",
    )


def _sums(levels: Sequence[AtLevel]) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    gentle = 0.0
    for level in Level:
        mine = [one for one in levels if one.level is level]
        cost = sum(one.cost for one in mine)
        gentle = cost if level is Level.GENTLE else gentle
        rows.append(
            (
                say("growth.levels.all") if level is Level.GENTLE else "",
                level.value,
                "",
                "",
                "",
                f"{sum(one.litres_left for one in mine):,.0f} L",
                _cost(cost),
                "" if level is Level.GENTLE else _more(cost - gentle),
            )
        )
    return rows


def _cost(cost: float) -> str:
    return f"{cost:,.2f}" if math.isfinite(cost) else ""


def _more(cost: float) -> str:
    return f"{cost:+,.2f}".replace("-", "−") if math.isfinite(cost) else ""


def _held_words(one: AtLevel) -> str:
    until = "until" if one.reached is not None else "always"
    return say(
        f"growth.levels.{one.held_by}-{until}",
        animal=one.animal,
        level=one.level,
        aim=1e3 * one.aim,
        gain=1e3 * one.gain,
        day=one.reached,
    )


def compared_words(name: str, species: Species) -> str:
    """A sentence beside the gains that trials found."""
    low, high = (1e3 * gain.value for gain in published_gains(species))
    dam_low, dam_high = (1e3 * value(f"dam-gain-{end}", species) for end in ("low", "high"))
    kinds = say(f"words.species.{species.value}-many")
    return say(name, kinds=kinds, low=low, high=high, dam_low=dam_low, dam_high=dam_high)


def level_shape(one: AtLevel) -> Shape:
    """One animal at one level."""
    return {
        "level": one.level,
        "chosen": one.chosen,
        "aim_kg_per_day": one.aim,
        "gain_kg_per_day": None if math.isnan(one.gain) else one.gain,
        "litres_today": one.litres_today,
        "held_by": one.held_by,
        "reached": one.reached,
        "ready": one.ready,
        "litres_left": one.litres_left,
        "cost": None if math.isnan(one.cost) else one.cost,
    }
