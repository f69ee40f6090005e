"""Mix in the milk's own jug, or in any jar: what to pour off, what to add when, and the level.

A full jug has no room, so some milk is poured off first and kept. The integer program decides how
much: what stays is the full jug less whole measures, so `prepare` passes it to
`formulate.blend.whole.kitchen_mix.design_kitchen` as a food with a rest. Levels are worked out
from the composition: powders dissolve and take little room.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from formulate.base.content import ByContent
from formulate.base.errors import InputError, UnitError, UnknownName
from formulate.base.messages import say
from formulate.base.shown import brief_repr
from formulate.base.units import Kitchen, UnitKind, parse_amount
from formulate.blend.problem import Problem, Shelf, build
from formulate.blend.whole.kitchen_mix import KitchenMix, leftovers
from formulate.blend.whole.steps import Step, measure_words, pouring_step, unit_word
from formulate.foods.food import Composition, Food
from formulate.foods.food_table import FoodTable
from formulate.foods.national import said
from formulate.foods.tables import storage_days

__all__ = [
    "HEADSPACE",
    "Container",
    "JugPlan",
    "JugStep",
    "JugTask",
    "Keep",
    "Measures",
    "jug_steps",
    "order_of_work",
    "parse_container",
    "plan_jug",
    "prepare",
    "room_left",
]

Array = NDArray[np.float64]

#: Share of a container left empty, so that it can be shaken (judgement).
HEADSPACE = 0.03
#: Smallest batch to mix in a container, as a share of it (judgement).
LEAST_FILL = 0.1

_VESSELS = ("jug", "jar", "bottle", "bucket", "pail", "pitcher", "carton", "container", "tub")
_SPELLED = {"a": "1", "an": "1", "one": "1", "two": "2", "half": "1/2", "quarter": "1/4"}


@dataclass(frozen=True, slots=True)
class Container:
    """What the milk is mixed in.

    Parameters
    ----------
    volume : float
        Size as sold [mL]; the space above its usual fill level is not used.
    filled_with : Food or None
        The milk it is full of; None if it is empty.
    words : str
        As written, without the food: "1 gallon jug".
    """

    volume: float
    filled_with: Food | None
    words: str

    def most(self, headspace: float = HEADSPACE) -> float:
        """Most it holds [mL] while leaving room to shake it."""
        return self.volume * (1.0 - headspace)


def parse_container(text: str, kitchen: Kitchen, table: FoodTable) -> Container:
    """Read "1 gallon jug of whole-milk", "half-gallon jar", "2 L bottle".

    Raises
    ------
    InputError
        If the size, its unit or the food cannot be read.
    """
    head, *rest = re.split(r" (?:full |filled )?(?:of|with) ", " ".join(text.split()), maxsplit=1)
    words = re.sub(r"(?<=\w)-", " ", head.lower()).removeprefix("empty ").split()
    if words and words[-1].removesuffix("s") in _VESSELS:
        words = words[:-1]
    if words and words[0] in _SPELLED:
        words = [_SPELLED[words[0]], *words[2 if words[1:2] in (["a"], ["an"]) else 1 :]]
    elif words and not re.match(r"[\d.½¼¾⅓⅔⅛]", words[0]):
        words = ["1", *words]
    try:
        amount = parse_amount(" ".join(words))
    except InputError as error:
        raise InputError(
            say("jug.no-size", text=text.strip()),
            say("jug.no-size-remedy"),
        ) from error
    if amount.kind is not UnitKind.VOLUME:
        raise UnitError(say("jug.not-volume", text=text.strip()), say("jug.not-volume-remedy"))
    filled = table.find(rest[0]) if rest else None
    if filled is not None and not filled.liquid:
        raise InputError(
            say("jug.does-not-pour", food=filled.id),
            say("jug.does-not-pour-remedy"),
        )
    return Container(amount.size(kitchen), filled, head)


@dataclass(frozen=True)
class JugTask:
    """What to ask of `design_kitchen` for a container.

    Parameters
    ----------
    container : Container
    problem : Problem
        The milk in the jug is the only stock of that milk.
    steps : tuple of Step
        The jug's milk is measured by what is poured off.
    least_volume, most_volume : float
        Range of the batch [mL]; ask with ``fill=True``.
    full_count : int
        Whole measures of its own milk that the full jug holds; 0 for an empty container.
    """

    container: Container
    problem: Problem
    steps: tuple[Step, ...]
    least_volume: float
    most_volume: float
    full_count: int


def prepare(
    problem: Problem,
    steps: Sequence[Step],
    container: Container,
    kitchen: Kitchen,
    *,
    headspace: float = HEADSPACE,
) -> JugTask:
    """Turn a problem into that of filling a container.

    Parameters
    ----------
    problem : Problem
    steps : sequence of Step
        As for any batch; see `formulate.blend.whole.kitchen_mix.kitchen_steps`.
    container : Container
    kitchen : Kitchen
    headspace : float
        Share of the container left empty.

    Raises
    ------
    InputError
        If the jug's milk is not on the shelf or has no known density, or no room is left.
    """
    if not 0 <= headspace < 1:
        raise InputError(say("jug.no-headspace", share=headspace), say("jug.no-headspace-remedy"))
    most = container.most(headspace)
    steps, full_count, shelf = tuple(steps), 0, problem.shelf
    milk = container.filled_with
    if milk is not None:
        j = shelf.column(milk.id, say("errors.jug-milk-on-shelf"))
        if milk.density is None:
            raise InputError(say("jug.no-density", food=milk.id))
        # A scale weighs what is poured off; anything else is poured by the cup.
        by = steps[j] if steps[j].unit == "g" else pouring_step(milk, kitchen)
        full = container.volume * milk.density
        full_count = math.floor(full / by.grams + 1e-9)
        rest = full - full_count * by.grams
        by = replace(by, rest=rest if rest > 1e-9 * full else 0.0)
        steps = (*steps[:j], by, *steps[j + 1 :])
        on_hand = shelf.on_hand.copy()
        on_hand[j] = full
        shelf = replace(shelf, on_hand=on_hand)
    there = build(shelf, problem.bands, most)
    return JugTask(container, there, steps, LEAST_FILL * most, most, full_count)


def jug_steps(
    shelf: Shelf, steps: Sequence[Step], container: Container, kitchen: Kitchen
) -> tuple[tuple[Step, ...], int]:
    """How each food is measured into a container: a jug's own milk by what is poured off.

    Returns
    -------
    steps : tuple of Step, length n
    full_count : int
        Whole measures of its own milk that the full jug holds; 0 for an empty container.

    Raises
    ------
    InputError
        If the jug's milk is not on the shelf or has no known density.
    """
    steps, milk = tuple(steps), container.filled_with
    if milk is None:
        return steps, 0
    if milk.id not in shelf.ids:
        raise UnknownName(
            say("errors.food-on-shelf"),
            milk.id,
            shelf.ids,
            say("jug.not-on-shelf"),
        )
    if milk.density is None:
        raise InputError(say("jug.no-density", food=milk.id))
    j = shelf.ids.index(milk.id)
    # A scale weighs what is poured off; anything else is poured by the cup.
    by = steps[j] if steps[j].unit == "g" else pouring_step(milk, kitchen)
    full = container.volume * milk.density
    full_count = math.floor(full / by.grams + 1e-9)
    rest = full - full_count * by.grams
    by = replace(by, rest=rest if rest > 1e-9 * full else 0.0)
    return (*steps[:j], by, *steps[j + 1 :]), full_count


def room_left(container: Container, foods: Sequence[Food], grams: Sequence[float]) -> float:
    """Room left in a container [mL], of composition; below zero it overflows."""
    volume = Composition.of(foods).row("volume")
    return container.volume - float(volume @ np.asarray(grams, dtype=float))


# --- the plan ----------------------------------------------------------------------------------


@brief_repr
@dataclass(frozen=True, slots=True)
class JugStep:
    """One thing to do.

    Parameters
    ----------
    do : str
        What to do, in plain words: "Pour in 7 cups of whole milk."
    how : str
        The same without the amount: "Pour in the whole milk."
    food : str or None
        Id of what is poured off or goes in.
    words : str
        How much of it: "1/2 cup + 1 tbsp"; empty if nothing is measured.
    grams : float
        The same by weight; below zero where it is poured off.
    level : float
        Volume in the container after this step [mL].
    source : str
        Key in the source list, for the temperature or the order.
    """

    do: str
    how: str
    food: str | None
    words: str
    grams: float
    level: float
    source: str


@dataclass(frozen=True, slots=True)
class Keep:
    """Something that is left over, and how long it keeps.

    Parameters
    ----------
    food : str
        Id, or "mix" for the mixed milk.
    what : str
        "poured off", "left in the can", "the mixed milk".
    grams : float
    days : int or None
        Chilled; None if no figure is known.
    source, note : str
        For the days.
    """

    food: str
    what: str
    grams: float
    days: int | None
    source: str
    note: str


@brief_repr
@dataclass(frozen=True)
class JugPlan:
    """How to mix in a container.

    Parameters
    ----------
    container : Container
    steps : tuple of JugStep
        In order.
    final_volume : float
        [mL], of composition.
    room : float
        Left in the container [mL].
    keep : tuple of Keep
        The mixed milk, what was poured off, what is left in cans.
    """

    container: Container
    steps: tuple[JugStep, ...]
    final_volume: float
    room: float
    keep: tuple[Keep, ...]


#: When each kind of food goes in: place in the order, the message that says how, and the source.
#: The base first; powders while there is room to stir; fats by hand after; cream late, because
#: long shaking whips it; cultured foods last, just before feeding, because their acid thickens
#: warm milk.
_ORDER: Mapping[str, tuple[int, str, str]] = MappingProxyType(
    {
        **dict.fromkeys(("water", "milk"), (0, "put-in", "common-practice")),
        **dict.fromkeys(("whey", "soy", "plant-milk"), (1, "put-in", "common-practice")),
        **dict.fromkeys(
            ("dry-milk", "dry-whey", "dry-egg", "replacer-powder"),
            (2, "stir-powder", "mixing-water-45"),
        ),
        **dict.fromkeys(
            ("sweetener", "salt", "alkali", "glucose"), (3, "dissolve", "common-practice")
        ),
        **dict.fromkeys(("evaporated", "sweetened-milk"), (4, "put-in", "common-practice")),
        "egg": (5, "beat", "common-practice"),
        "cheese": (5, "blend", "common-practice"),
        "milk-fat": (6, "melt", "judgement"),
        **dict.fromkeys(("oil", "fish-oil"), (6, "whisk", "common-practice")),
        "cream": (7, "put-in-cream", "common-practice"),
        **dict.fromkeys(("cultured", "strained-yogurt"), (8, "stir-last", "nz-yoghurt-leaflet")),
    }
)


def plan_jug(task: JugTask, mix: KitchenMix, kitchen: Kitchen) -> JugPlan:
    """Lay out the work for a mix that was designed for a container.

    Parameters
    ----------
    task : JugTask
        The mix was designed with its problem and steps.
    mix : KitchenMix
    kitchen : Kitchen

    Raises
    ------
    InputError
        If the mix was designed for something else, or does not fit the container.
    """
    if mix.steps != task.steps or mix.mix.shelf.ids != task.problem.shelf.ids:
        raise InputError(say("jug.other-container", container=task.container.words))
    measured = Measures(mix.mix.shelf, mix.steps, mix.counts, mix.mix.grams)
    return order_of_work(measured, task.container, task.full_count, kitchen)


@dataclass(frozen=True, eq=False)
class Measures(ByContent):
    """Foods in whole measures.

    Parameters
    ----------
    shelf : Shelf
    steps : tuple of Step, length n
    counts : ndarray of int, shape (n,)
    grams : ndarray, shape (n,)
    """

    shelf: Shelf
    steps: tuple[Step, ...]
    counts: NDArray[np.intp]
    grams: Array

    @property
    def used(self) -> list[int]:
        """Numbers of the foods that are in it, in the order in which they go in."""
        return sorted((int(j) for j in np.flatnonzero(self.grams > 0)), key=self._place)

    def _place(self, j: int) -> tuple[int, float]:
        """Place in the order, larger amounts first."""
        return _ORDER[self.shelf.foods[j].kind][0], -float(self.grams[j])


def order_of_work(
    measured: Measures, container: Container, full_count: int, kitchen: Kitchen
) -> JugPlan:
    """Lay out the work: what to pour off, what goes in when, the level after each.

    Parameters
    ----------
    measured : Measures
    container : Container
    full_count : int
        Whole measures of its own milk that the full container holds; 0 for an empty one.
    kitchen : Kitchen

    Raises
    ------
    InputError
        If it does not fit the container.
    """
    shelf = measured.shelf
    room_of = shelf.composition.row("volume")
    milk, used = container.filled_with, measured.used
    steps: list[JugStep] = []
    keep: list[Keep] = []
    level, base = 0.0, _plain(shelf.foods[used[0]])
    inside = -1
    if milk is not None:
        inside = shelf.ids.index(milk.id)
        if measured.grams[inside] > 0:
            base = say("jug.its-milk", milk=_plain(milk))
        level = float(room_of[inside] * measured.grams[inside])
        off = full_count - int(measured.counts[inside])
        if off:
            steps.append(_pour_off(measured.steps[inside], milk, off, level, kitchen))
            keep.append(_keep(milk, say("jug.poured-off"), -steps[-1].grams))
    for j in used:
        if j == inside:
            continue
        level += float(room_of[j] * measured.grams[j])
        steps.append(_put_in(measured, j, level, base, kitchen))
    if level > container.volume:
        raise InputError(
            say("jug.does-not-fit", volume=level, container=container.words),
            say("jug.does-not-fit-remedy"),
        )
    by_id = dict(zip(shelf.ids, shelf.foods, strict=True))
    left = leftovers(shelf, measured.grams)
    keep += [
        _keep(by_id[x.food], say("jug.left-in", package=unit_word(x.package, kitchen)), x.grams)
        for x in left
    ]
    days, weight = storage_days()["mix"], float(measured.grams.sum())
    whole = Keep("mix", say("jug.mixed-milk"), weight, days.opened_days, days.source, days.note)
    return JugPlan(container, tuple(steps), level, container.volume - level, (whole, *keep))


def _pour_off(step: Step, food: Food, count: int, level: float, kitchen: Kitchen) -> JugStep:
    words = measure_words(step, count, kitchen)
    do = say("jug.pour-off", amount=_of(words, step, food))
    how = say("jug.pour-off-some")
    grams, source = -count * step.grams, storage_days()["milk"].source
    return JugStep(do, how, food.id, words, grams, level, source)


def _put_in(measured: Measures, j: int, level: float, base: str, kitchen: Kitchen) -> JugStep:
    food, step = measured.shelf.foods[j], measured.steps[j]
    words = measure_words(step, int(measured.counts[j]), kitchen)
    _, message, source = _ORDER[food.kind]
    text = say(f"jug.{message}", amount=_of(words, step, food), base=base)
    measured_before = say("jug.amount-measured", food=_plain(food))
    how = say(f"jug.{message}", amount=measured_before, base=base)
    return JugStep(text, how, food.id, words, float(measured.grams[j]), level, source)


def _plain(food: Food) -> str:
    return said(food)


def _of(words: str, step: Step, food: Food) -> str:
    """Amount and food: "2 cups of whole milk", "3 eggs (duck egg)"."""
    message = "amount-of-egg" if step.unit in ("egg", "yolk", "white") else "amount"
    return say(f"jug.{message}", measure=words, food=_plain(food))


def _keep(food: Food, what: str, grams: float) -> Keep:
    days = storage_days().get(food.kind)
    if days is None:
        return Keep(food.id, what, grams, None, "", say("jug.look-at-label"))
    return Keep(food.id, what, grams, days.opened_days, days.source, days.note)
