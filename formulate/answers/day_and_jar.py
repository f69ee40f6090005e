"""What is mixed for a day and in a jar, and what each animal gets of it.

The day's batch is as large as the animals' plan asks, where there is a flock; the jar's is the
same recipe, changed as little as whole measures allow.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from formulate.answers.milks import refusal
from formulate.base.errors import InputError
from formulate.base.units import Amount, Kitchen, parse_volume, unit_size
from formulate.blend.mix import Mix, NoMix
from formulate.blend.protect.chance import NotSure
from formulate.blend.whole.kitchen_mix import KitchenMix, NoKitchenMix
from formulate.foods.bands import BandSet
from formulate.kitchen.batch import Batch, Wishes, default_volume, make_batch
from formulate.kitchen.jug import Container, JugPlan, JugTask, parse_container, plan_jug
from formulate.pantry.pantry import Pantry
from formulate.pantry.recipe import Recipe
from formulate.rearing.feed_plan import FeedPlan
from formulate.rearing.feeding import plan_feeds
from formulate.rearing.flock_file import FlockRead
from formulate.rearing.milk import Milk, milk_of_mix
from formulate.rearing.mixes import flock_milk

__all__ = ["DayAndJar", "day_and_jar", "default_jar"]

#: The feeding plan and the batch are made to agree within so many rounds.
_ROUNDS = 6


@dataclass(frozen=True)
class DayAndJar:
    """A day's batch, a jar's batch, and the animals' feeds.

    Parameters
    ----------
    day : Batch
    day_plan : JugPlan
        Its order of mixing, in a vessel of any size; or in the container that was named.
    jar : Batch or None
        None where no whole measures fill the jar, or the day's batch is mixed in the jar.
    jar_plan : JugPlan or None
    container : Container or None
        The jar.
    feeds : FeedPlan or None
        Of the flock on this milk; None without a flock.
    """

    day: Batch
    day_plan: JugPlan
    jar: Batch | None
    jar_plan: JugPlan | None
    container: Container | None
    feeds: FeedPlan | None

    @property
    def mix(self) -> Mix:
        """The day's mix."""
        return self.day.kitchen_mix.mix


def default_jar(kitchen: Kitchen) -> str:
    """What mixed milk is kept in where nobody says."""
    return "1 L jar" if kitchen.metric else "1 quart jar"


def day_and_jar(
    pantry: Pantry,
    bands: BandSet,
    *,
    volume: float | None = None,
    container: Container | None = None,
    favourite: Recipe | None = None,
    flock: FlockRead | None = None,
) -> DayAndJar | NoKitchenMix | NoMix:
    """Make the batch for a day, the same for a jar, and plan the feeds.

    Parameters
    ----------
    pantry : Pantry
    bands : BandSet
    volume : float, optional
        Of the day's batch [mL]; by default what the animals drink on the plan's first day, or
        about a day for two lambs.
    container : Container, optional
        The jar; by default the flock's own, or a quart or litre.
    favourite : Recipe, optional
        The recipe to keep to; by default the flock's.
    flock : FlockRead, optional

    Raises
    ------
    InputError
        If a recipe or the flock's plan cannot be made, or the flock's milk must not be fed.
    """
    old_milk = milk = None
    if flock is not None:
        milk, old_milk, own = _flock_milks(flock, pantry)
        favourite = favourite or own
    jar = container or _own_jar(flock, pantry)
    found: Batch | None = None
    feeds = None
    asked = 0.0
    for _ in range(_ROUNDS):
        if flock is not None and milk is not None:
            feeds = plan_feeds(flock.flock, milk, flock.now, old_milk=old_milk)
        need = volume or (None if feeds is None else _first_day(feeds, pantry))
        if found is not None and (need is None or found.kitchen_mix.mix.volume >= need):
            break
        # Never less than in the round before: milk and feeds may chase one another otherwise.
        asked = max(asked, need or parse_volume(default_volume(pantry.kitchen), pantry.kitchen))
        made = make_batch(pantry, bands, asked, Wishes(favourite=favourite))
        if not isinstance(made, Batch):
            assert not isinstance(made, NotSure)  # nothing was asked to be sure
            return made
        found = made
        if flock is None:
            break
        milk = milk_of_mix("this mix", found.kitchen_mix.mix)
    assert isinstance(found, Batch)
    in_jar = _fill_jar(pantry, bands, jar, _as_recipe(found.kitchen_mix, pantry.kitchen))
    return DayAndJar(
        found,
        _order(found, pantry.kitchen),
        in_jar,
        None if in_jar is None else in_jar.plan,
        jar,
        feeds,
    )


def _flock_milks(flock: FlockRead, pantry: Pantry) -> tuple[Milk, Milk | None, Recipe]:
    """The flock's milk, the one before it, and its recipe; refused where it must not be fed."""
    found = flock_milk(flock.flock, pantry)
    if why := refusal(found.mix):
        raise InputError(why, "No card is made of it.", found.recipe.name)
    change = flock.flock.change
    before = None if change is None else flock_milk(flock.flock, pantry, change.from_mix).milk
    return found.milk, before, found.recipe


def _first_day(feeds: FeedPlan, pantry: Pantry) -> float | None:
    """What the animals drink of this milk on the plan's first day [mL]; None for nothing."""
    litres = float((feeds.litres_by_day() * feeds.share_new)[0])
    return 1e3 * litres if litres > 0 else None


def _own_jar(flock: FlockRead | None, pantry: Pantry) -> Container:
    size = None if flock is None else flock.flock.jar
    if flock is None or size is None:
        return parse_container(default_jar(pantry.kitchen), pantry.kitchen, pantry.table)
    if flock.flock.kitchen.metric:
        return Container(size, None, f"{size / 1e3:g} L jar")
    quarts = size / unit_size("quart", flock.flock.kitchen)
    whole = abs(quarts - round(quarts, 2)) < 1e-6
    words = f"{quarts:g} quart jar" if whole else f"{size / 1e3:g} L jar"
    return Container(size, None, words)


def _as_recipe(found: KitchenMix, kitchen: Kitchen) -> Recipe:
    mix = found.mix
    used = [int(j) for j in np.flatnonzero(mix.grams > 0)]
    grams = mix.grams[used]
    text = " + ".join(f"{m.words} {m.food}" for m in found.measures(kitchen))
    foods = tuple(mix.shelf.foods[j] for j in used)
    return Recipe("the day's batch", text, foods, tuple(Amount(float(g), "g") for g in grams),
                  grams, kitchen)  # fmt: skip


def _fill_jar(pantry: Pantry, bands: BandSet, jar: Container, recipe: Recipe) -> Batch | None:
    found = make_batch(pantry, bands, 0.0, Wishes(container=jar, favourite=recipe))
    return found if isinstance(found, Batch) else None


def _order(batch: Batch, kitchen: Kitchen) -> JugPlan:
    """The order of mixing in a vessel that is large enough."""
    found = batch.kitchen_mix
    vessel = Container(1.25 * found.mix.volume, None, "clean pitcher")
    task = JugTask(vessel, batch.problem, found.steps, 0.0, found.mix.volume, 0)
    return plan_jug(task, found, kitchen)
