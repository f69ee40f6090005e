"""When an animal scours: what to look at, whether a drink may be given, which, how much, when.

The signs come first and the veterinarian before any recipe. A drink is designed from what the
pantry has, or a typed one is checked. Without a veterinarian's word in the flock file for these
very amounts it stands under "Only if your veterinarian agrees".
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
from numpy.typing import NDArray

from formulate.answers.drink_judged import DRINKABLE, judge_drink
from formulate.answers.milks import milks_of, plans_of
from formulate.answers.verdict import Judgement, Verdict
from formulate.base.content import ByContent
from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.shown import Renderable, brief, brief_repr
from formulate.base.units import Amount, Kitchen, UnitKind, parse_amount
from formulate.blend.mix import Mix, NoMix
from formulate.blend.whole.steps import Step, step_words
from formulate.foods.food import Food
from formulate.foods.tables import drink_bands
from formulate.instruments.readings import parse_temperature
from formulate.kitchen.drink import (
    Drink,
    DrinkMeasured,
    NoSpoons,
    design_drink,
    drink_shelf,
    what_is_missing,
)
from formulate.kitchen.drink_slips import SlipRead, slip_table, slips_of
from formulate.pantry.pantry import Pantry
from formulate.pantry.reading import check
from formulate.pantry.recipe import Recipe, parse_recipe
from formulate.rearing.drinking import (
    DrinkAmount,
    DrinkSitting,
    drink_amount,
    scour_day,
    timetable,
)
from formulate.rearing.flock import Animal, Flock, Permission, Species
from formulate.rearing.flock_file import FlockRead
from formulate.rearing.schedule import least_feeds
from formulate.rearing.scour import Dryness, Looked, ScourCheck, look_at
from formulate.rearing.warmth import can_swallow, warmth_of
from formulate.rearing.weights import parse_weight

__all__ = ["AnimalDrink", "DrinkTold", "Rehydration", "Weighed", "rehydrate", "seen"]

Array = NDArray[np.float64]

#: What a kitchen scale shows [g].
SCALE = 1.0
#: Amounts are those that were allowed where none differs by more.
SAME_AMOUNTS = 1e-3


@brief_repr
@dataclass(frozen=True, eq=False)
class DrinkTold(ByContent):
    """A drink, designed or typed.

    Parameters
    ----------
    mix : Mix
        Its grams and reads.
    measures : tuple of DrinkMeasured
        What hands take, water first.
    slips : tuple of SlipRead
        The result of each slip; empty for what is not a drink.
    judgement : Judgement
    designed : Drink or None
        None for a typed one.
    """

    mix: Mix
    measures: tuple[DrinkMeasured, ...]
    slips: tuple[SlipRead, ...]
    judgement: Judgement
    designed: Drink | None = None

    @property
    def text(self) -> str:
        """As a recipe that can be typed."""
        return " + ".join(f"{m.words} {m.food}" for m in self.measures)


@dataclass(frozen=True, slots=True)
class Weighed:
    """How much safer weighing is than spoons: highest values after one slip."""

    spoons_sodium: float
    spoons_osmolality: float
    scale_sodium: float
    scale_osmolality: float


@brief_repr
@dataclass(frozen=True, slots=True)
class AnimalDrink:
    """How much one animal is given.

    Parameters
    ----------
    name : str
    kilograms : float
    amounts : tuple of (Dryness, DrinkAmount)
        For the band seen; for either band where nobody looked.
    sittings : tuple of DrinkSitting
        Its day; empty if its feeding times are not known.
    stopped : str
        Why it gets none; empty if it may have some.
    """

    name: str
    kilograms: float
    amounts: tuple[tuple[Dryness, DrinkAmount], ...]
    sittings: tuple[DrinkSitting, ...] = ()
    stopped: str = ""


@dataclass(frozen=True, eq=False)
class Rehydration(ByContent, Renderable):
    """The answer.

    Parameters
    ----------
    check : ScourCheck
        Signs, and what means the veterinarian now.
    looked : Looked
    drink : DrinkTold or None
        None if it may have none, or none can be made.
    none : NoMix, NoSpoons or None
        Why none can be made.
    missing : tuple of tuple of str
        The fewest foods that would make one possible.
    weighed : Weighed or None
        Of a drink that was designed, where both ways make one.
    animals : tuple of AnimalDrink
    permission : Permission or None
        The veterinarian's word for these very amounts.
    kitchen : Kitchen
    water : str
        How much it was to be made with.
    by_scale : bool
        Whether it was to be weighed.
    """

    check: ScourCheck
    looked: Looked
    drink: DrinkTold | None
    none: NoMix | NoSpoons | None
    missing: tuple[tuple[str, ...], ...]
    weighed: Weighed | None
    animals: tuple[AnimalDrink, ...]
    permission: Permission | None
    kitchen: Kitchen
    water: str = ""
    by_scale: bool = False

    def __repr__(self) -> str:
        drink = "no drink" if self.drink is None else self.drink.text
        verdict = "" if self.drink is None else str(self.drink.judgement.verdict)
        return brief(
            self, verdict, drink, "agreed" if self.agreed else "not agreed by a veterinarian"
        )

    @property
    def agreed(self) -> bool:
        """Whether the veterinarian's word stands for this drink."""
        return self.permission is not None

    @property
    def good(self) -> bool:
        """Whether there is a drink inside every range for an animal that may have it."""
        return self.drink is not None and self.drink.judgement.verdict is Verdict.INSIDE


def seen(
    signs: Mapping[str, str | None],
    *,
    temperature: str | None = None,
    age: str | None = None,
    blood: bool = False,
    belly: bool = False,
    day: int = 1,
    others: bool = False,
    water: bool | None = None,
) -> Looked:
    """What a person has seen, as typed.

    Parameters
    ----------
    signs : mapping of str to str or None
        Answer by sign; None if it was not looked at.
    temperature : str, optional
        As "38.9 C" or "102 F".
    age : str, optional
        As "9 days".
    blood, belly, day, others, water
        See `Looked`.

    Raises
    ------
    InputError
        If a temperature or an age cannot be read.
    """
    given = {name: word for name, word in signs.items() if word is not None}
    celsius = None if temperature is None else parse_temperature(temperature)
    days = None if age is None else _days(age)
    return Looked(given, celsius, days, blood, belly, day, others, water)


def _days(text: str) -> float:
    found = re.fullmatch(r"(\d+(?:\.\d+)?)\s*(h|hours?|d|days?|w|weeks?)", text.strip().lower())
    if not found:
        raise InputError(
            say("rehydrate.ask.no-age", text=text.strip()), say("rehydrate.ask.as-days")
        )
    return float(found[1]) * {"h": 1 / 24, "d": 1.0, "w": 7.0}[found[2][0]]


def rehydrate(
    pantry: Pantry,
    looked: Looked | None = None,
    *,
    recipe: str | None = None,
    read: FlockRead | None = None,
    animal: str | None = None,
    weight: str | None = None,
    water: str | None = None,
    by_scale: bool | None = None,
) -> Rehydration:
    """Answer what to do for an animal that scours.

    Parameters
    ----------
    pantry : Pantry
        What is in the kitchen, and whose spoons.
    looked : Looked, optional
        What was seen.
    recipe : str, optional
        A drink to check; left out, one is designed.
    read : FlockRead, optional
        For weights, ages and feeding times, and for the veterinarian's word.
    animal : str, optional
        One of the flock; left out, all of them.
    weight : str, optional
        Of an animal without a flock, or instead of its last weight, as "4.2 kg".
    water : str, optional
        How much it is made with, as "1 L"; by default a litre, or a quart.
    by_scale : bool, optional
        Whether it is weighed; by default as the pantry measures.

    Raises
    ------
    InputError
        If something typed cannot be read or cannot be.
    """
    looked, one = looked or Looked(), _animal(read, animal)
    if one is not None and read is not None:
        looked = _from_log(looked, one, read.now)
    kilograms = None if weight is None else parse_weight(weight)
    found, amount = look_at(looked), _water(water, pantry.kitchen)
    scale = SCALE if (pantry.measures == "scale" if by_scale is None else by_scale) else None
    drink: DrinkTold | None = None
    none: NoMix | NoSpoons | None = None
    missing: tuple[tuple[str, ...], ...] = ()
    weighed = None
    if recipe is not None:
        drink = _checked(recipe, pantry, looked)
    elif found.may_drink:
        shelf = drink_shelf(pantry)
        made = design_drink(shelf, amount, pantry.kitchen, scale=scale)
        if isinstance(made, Drink):
            drink = _told(made, looked)
            other = design_drink(
                shelf, amount, pantry.kitchen, scale=SCALE if scale is None else None
            )
            weighed = _weighed(made, other)
        else:
            none = made
            missing = what_is_missing(shelf) if isinstance(made, NoMix) else ()
    return Rehydration(
        found,
        looked,
        drink,
        none,
        missing,
        weighed,
        _animals(read, one, kilograms, found, looked, pantry),
        None if drink is None or read is None else _permission(drink, read.flock, pantry),
        pantry.kitchen,
        str(amount),
        scale is not None,
    )


def _water(text: str | None, kitchen: Kitchen) -> Amount:
    if text is None:
        return Amount(1, "L" if kitchen.metric else "quart")
    amount = parse_amount(text)
    if amount.kind not in (UnitKind.VOLUME, UnitKind.MASS):
        raise InputError(
            say("rehydrate.ask.no-water-amount", text=text), say("rehydrate.ask.as-1-l")
        )
    return amount


def _told(made: Drink, looked: Looked) -> DrinkTold:
    judgement = judge_drink(made.mix, spoons=not made.by_scale, water_beside=looked.water)
    return DrinkTold(made.mix, made.measures, made.slips, judgement, made)


def _weighed(made: Drink, other: Drink | NoSpoons | NoMix) -> Weighed | None:
    if not isinstance(other, Drink):
        return None
    spoons, scale = (other, made) if made.by_scale else (made, other)
    return Weighed(
        spoons.worst_sodium,
        spoons.worst_osmolality,
        scale.worst_sodium,
        scale.worst_osmolality,
    )


# --- a drink that was typed ---------------------------------------------------------------------


def _checked(text: str, pantry: Pantry, looked: Looked) -> DrinkTold:
    recipe = _parsed(text, pantry)
    water = [k for k, food in enumerate(recipe.foods) if food.kind == "water"]
    milky = any(food.kind not in DRINKABLE for food in recipe.foods)
    if not water and not milky:
        raise InputError(say("rehydrate.ask.no-water"), say("rehydrate.ask.add-water"), f'"{text}"')
    mix = check(recipe, drink_bands(), pantry)
    units = [amount.unit for amount in recipe.amounts]
    spoons = any(unit in ("tsp", "tbsp") for unit in units)
    slips: tuple[SlipRead, ...] = ()
    if water and not milky:
        every = slips_of(recipe.foods, units, pantry.kitchen)
        slips = slip_table(every, mix.shelf.composition, mix.grams)
    order = sorted(range(len(recipe.foods)), key=lambda k: k not in water)
    measures = tuple(
        DrinkMeasured(recipe.foods[k].id, _as_taken(recipe, k), float(recipe.grams[k]))
        for k in order
    )
    judgement = judge_drink(mix, spoons=spoons, water_beside=looked.water)
    return DrinkTold(mix, measures, slips, judgement)


def _as_taken(recipe: Recipe, k: int) -> str:
    """An amount with its fraction: "1/2 tsp"."""
    amount, grams = recipe.amounts[k], float(recipe.grams[k])
    return step_words(Step(amount.unit, amount.number, grams), 1) if amount.unit else str(amount)


def _parsed(text: str, pantry: Pantry) -> Recipe:
    """Read a drink; what people write about drinks gets an answer of its own."""
    words = text.lower().split()
    for word in ("pinch", "pinches", "handful", "dash", "some"):
        if word in words:
            raise InputError(
                say("rehydrate.ask.no-pinch", word=word),
                say("rehydrate.ask.say-spoon"),
                f'"{text}"',
            )
    for word in ("spoon", "spoons", "spoonful", "spoonfuls"):
        if word in words:
            raise InputError(
                say("rehydrate.ask.which-spoon", word=word),
                say("rehydrate.ask.say-spoon"),
                f'"{text}"',
            )
    return parse_recipe(text, pantry.table, pantry.kitchen)


def _from_log(looked: Looked, animal: Animal, now: datetime) -> Looked:
    """What was seen, completed from the log."""
    signs, warmth = dict(looked.signs), warmth_of(animal, now)
    if "sucks" not in signs and not can_swallow(animal, now):
        signs["sucks"] = "no"
    known = None if warmth.read is None or warmth.stale else warmth.read.celsius
    return replace(
        looked,
        signs=signs,
        age_days=float(animal.age_days(now.date())) if looked.age_days is None else looked.age_days,
        celsius=known if looked.celsius is None else looked.celsius,
        day=max(looked.day, scour_day(animal, now)),
    )


# --- animals ------------------------------------------------------------------------------------


def _animal(read: FlockRead | None, name: str | None) -> Animal | None:
    if name is None:
        return None
    if read is None:
        raise InputError(
            say("rehydrate.ask.no-flock", animal=name), say("rehydrate.ask.name-flock")
        )
    return read.flock.animal(name)


def _animals(
    read: FlockRead | None,
    one: Animal | None,
    weight: float | None,
    found: ScourCheck,
    looked: Looked,
    pantry: Pantry,
) -> tuple[AnimalDrink, ...]:
    """The animal asked about; without one the whole flock, each by its own age."""
    if one is None and weight is not None:
        amounts = tuple(
            (band, drink_amount(weight, band, pantry.kitchen)) for band in _bands(found)
        )
        return (AnimalDrink("", weight, amounts, (), _stopped(found)),)
    if read is None:
        return ()
    chosen = read.flock.animals if one is None else (one,)
    feeds = {} if one is None else _planned_feeds(read, pantry)
    return tuple(_of(animal, read, weight, found, looked, feeds) for animal in chosen)


def _bands(found: ScourCheck) -> tuple[Dryness, ...]:
    """The band seen; both that a drink is for if nobody looked; none if it is bad."""
    if not found.may_drink:
        return ()
    if found.band is None:
        return (Dryness.LITTLE, Dryness.CLEAR)
    return () if found.band is Dryness.BAD else (found.band,)


def _stopped(found: ScourCheck) -> str:
    """Why an animal gets none, or none without the veterinarian's own amounts; else nothing."""
    for alarm in found.alarms:
        if alarm.stops:
            return alarm.text
    return say("rehydrate.when.bad") if found.band is Dryness.BAD else ""


def _of(
    animal: Animal,
    read: FlockRead,
    weight: float | None,
    found: ScourCheck,
    looked: Looked,
    planned: Mapping[str, int],
) -> AnimalDrink:
    flock = read.flock
    kilograms = animal.last_weight.kilograms if weight is None else weight
    own = look_at(_from_log(replace(looked, age_days=None), animal, read.now))
    bands = _bands(found)
    # The age that was given may stop a drink which the age on the list does not.
    if (stopped := _stopped(own) or ("" if bands else _stopped(found))) or not bands:
        return AnimalDrink(animal.name, kilograms, (), (), stopped)
    amounts = tuple(
        (band, drink_amount(kilograms, band, flock.kitchen, animal.cap)) for band in bands
    )
    feeds = planned.get(animal.name) or _feeds(animal, read)
    times = timetable(flock.feeding_times, feeds, amounts[-1][1].times)
    return AnimalDrink(animal.name, kilograms, amounts, times)


def _feeds(animal: Animal, read: FlockRead) -> int:
    """Milk feeds it has a day: as many as its age asks, at most what the household can."""
    age = max(animal.age_days(read.now.date()), 0)
    asked = least_feeds(Species(animal.species), age).feeds
    return min(max(asked, 1), len(read.flock.feeding_times))


def _planned_feeds(read: FlockRead, pantry: Pantry) -> dict[str, int]:
    """Today's planned milk feeds, by animal; empty if there is no plan."""
    try:
        plans = plans_of(read, milks_of(read, pantry))
    except InputError:
        return {}
    return {
        animal.name: int(plan.feeds[i, 0])
        for plan in plans
        if plan is not None
        for i, animal in enumerate(plan.flock.animals)
    }


# --- the veterinarian's word --------------------------------------------------------------------


def _permission(drink: DrinkTold, flock: Flock, pantry: Pantry) -> Permission | None:
    foods = drink.mix.shelf.foods
    mine = _by_water(foods, drink.mix.grams)
    for permission in flock.permissions:
        try:
            recipe = parse_recipe(permission.recipe, pantry.table, pantry.kitchen)
        except InputError as error:
            raise error.at(f"{flock.where}: veterinarian") from None
        theirs = _by_water(recipe.foods, recipe.grams)
        if mine.keys() == theirs.keys() and all(
            math.isclose(mine[food], theirs[food], rel_tol=SAME_AMOUNTS) for food in mine
        ):
            return permission
    return None


def _by_water(foods: Sequence[Food], grams: Array) -> dict[str, float]:
    """Grams of each food for a gram of water: another amount of the same drink is the same."""
    water = sum(g for food, g in zip(foods, grams, strict=True) if food.kind == "water") or 1.0
    return {
        food.id: float(g / water)
        for food, g in zip(foods, grams, strict=True)
        if g > 0 and food.kind != "water"
    }
