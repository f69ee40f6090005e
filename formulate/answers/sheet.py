"""The milks of a household as they are printed: for the refrigerator door and for the jars.

Each milk has two amounts, for a day and for a jar, in whole measures. Both are one milk: the
recipe that the animals drink, in its own proportions. Where no whole measures keep them, the jar is
left out and the sheet says so. A milk that may not be fed is refused. Without a flock the
sheet gives the cheapest mix of the shelf.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from formulate.answers.cautions import Caution, cautions_at, cautions_for
from formulate.answers.facts import AnimalFacts
from formulate.answers.may_feed import Bar, bars_of
from formulate.answers.milks import FedMilk, milks_of, plans_of, worst
from formulate.answers.mix import mix
from formulate.answers.mix_answer import MixAnswer, MixRequest
from formulate.answers.verdict import Verdict, judge
from formulate.base.errors import InputError
from formulate.base.messages import say
from formulate.base.shown import Renderable, brief, brief_repr
from formulate.base.units import Kitchen, parse_volume, unit_size
from formulate.kitchen.batch import default_volume, pantry_steps
from formulate.kitchen.jug import Container, JugPlan, Measures, order_of_work, parse_container
from formulate.kitchen.same_milk import Portion, fill_container, same_milk
from formulate.pantry.pantry import Pantry
from formulate.pantry.reading import check
from formulate.pantry.recipe import Recipe
from formulate.rearing.feed_plan import FeedPlan, Stage
from formulate.rearing.feeding import shortfall
from formulate.rearing.flock import Flock, Species
from formulate.rearing.flock_file import FlockRead
from formulate.rearing.milk import milk_of_mix

__all__ = ["Sheet", "SheetAmount", "SheetMilk", "SheetRequest", "default_jar", "sheet"]

Array = NDArray[np.float64]

#: The order of mixing is laid out in a vessel with room to stir.
_ROOMY = 1.25
#: Days that are looked at for the first with milk: a newborn's first is tomorrow.
_SOON = 3


@dataclass(frozen=True)
class SheetRequest:
    """What a person can ask of a sheet; all in words, as typed.

    Parameters
    ----------
    make : str or None
        The day's batch; None: what the animals drink, or about a day for two lambs.
    container : str or None
        The jar; None: the flock's own, or a quart or litre.
    mix : str or None
        One milk for all animals, instead of those that the flock file names.
    reference : str or None
        Without a flock: what to design to.
    keep_to : str or None
        Without a flock: a recipe to keep to.
    """

    make: str | None = None
    container: str | None = None
    mix: str | None = None
    reference: str | None = None
    keep_to: str | None = None


@brief_repr
@dataclass(frozen=True)
class SheetAmount:
    """A milk in one amount.

    Parameters
    ----------
    portion : Portion
    plan : JugPlan
        The order of work.
    """

    portion: Portion
    plan: JugPlan


@brief_repr
@dataclass(frozen=True)
class SheetMilk:
    """One milk of the sheet.

    Parameters
    ----------
    fed : tuple of FedMilk
        The recipe, judged for each species that drinks it; all may be fed.
    day : SheetAmount
        What is mixed for a day.
    jar : SheetAmount or None
        What fills the jar; None if no whole measures are the same milk.
    container : Container
        The jar.
    plans : tuple of FeedPlan
        What each animal gets; empty without a flock.
    cautions : tuple of Caution
        About the milk and the animals that drink it; those that are shown without being asked for.
    """

    fed: tuple[FedMilk, ...]
    day: SheetAmount
    jar: SheetAmount | None
    container: Container
    plans: tuple[FeedPlan, ...]
    cautions: tuple[Caution, ...]

    @property
    def name(self) -> str:
        """Name of the recipe, or its text if it has none."""
        return self.fed[0].name

    @property
    def verdict(self) -> Verdict:
        """The worst, over the species that drink it."""
        return worst(self.fed)

    @property
    def jars(self) -> int:
        """Jars that hold the day's batch."""
        return math.ceil(self.day.portion.volume / self.container.most() - 1e-9)

    @property
    def before(self) -> FedMilk | None:
        """The milk that is still stirred in."""
        return next((m.before for m in self.fed if m.blends), None)

    @property
    def too_weak_for(self) -> tuple[str, ...]:
        """Animals that cannot drink enough of it at these feeding times."""
        return tuple(
            animal.name
            for plan in self.plans
            for i, animal in enumerate(plan.flock.animals)
            if shortfall(plan, i)
        )


@dataclass(frozen=True)
class Sheet(Renderable):
    """What stands on the card and the labels.

    Parameters
    ----------
    pantry : Pantry
    read : FlockRead or None
    milks : tuple of SheetMilk
        Those that may be fed.
    refused : tuple of FedMilk
        Those that may not be: nothing is printed of them.
    bars : tuple of Bar
        Animals that are not fed now, or that no amounts are known for.
    design : MixAnswer or None
        Without a flock: how the mix was found, or why there is none.
    """

    pantry: Pantry
    read: FlockRead | None
    milks: tuple[SheetMilk, ...]
    refused: tuple[FedMilk, ...]
    bars: tuple[Bar, ...] = ()
    design: MixAnswer | None = None

    def __repr__(self) -> str:
        names = ", ".join(milk.name for milk in self.milks)
        refused = ", ".join(fed.name for fed in self.refused)
        return brief(self, str(self.verdict), names, f"refused {refused}" if refused else "")

    @property
    def fed(self) -> tuple[FedMilk, ...]:
        """Every milk, judged, whether it may be fed or not."""
        return (*(one for milk in self.milks for one in milk.fed), *self.refused)

    @property
    def verdict(self) -> Verdict:
        """The worst of all."""
        return worst(self.fed)

    @property
    def too_weak_for(self) -> tuple[str, ...]:
        """Animals that cannot drink enough of their milk at these feeding times."""
        return tuple(name for milk in self.milks for name in milk.too_weak_for)

    @property
    def yes(self) -> bool:
        """Whether there is a sheet, every milk is right, and every animal gets enough."""
        known = all(bar.id != "weigh-first" for bar in self.bars)
        right = self.verdict is Verdict.INSIDE and not self.too_weak_for
        return bool(self.milks) and right and known


def default_jar(kitchen: Kitchen) -> str:
    """The default container for mixed milk."""
    return "1 L jar" if kitchen.metric else "1 quart jar"


def sheet(
    pantry: Pantry, request: SheetRequest | None = None, read: FlockRead | None = None
) -> Sheet:
    """Write down each milk of a flock, or the cheapest mix of the shelf.

    Parameters
    ----------
    pantry : Pantry
    request : SheetRequest, optional
    read : FlockRead, optional

    Raises
    ------
    InputError
        If something cannot be read, or two things do not go together.
    """
    request = request or SheetRequest()
    if read is None:
        return _designed(pantry, request)
    if request.reference or request.keep_to:
        raise InputError(
            say("card.flock-decides"), say("card.name-another", recipes=", ".join(pantry.recipes))
        ).about("reference" if request.reference else "keep_to")
    milks = milks_of(read, pantry, request.mix)
    together: dict[tuple[str, str], list[tuple[FedMilk, FeedPlan]]] = {}
    for milk, plan in zip(milks, plans_of(read, milks), strict=True):
        if plan is not None:
            together.setdefault((milk.name, milk.recipe.text), []).append((milk, plan))
    if request.make and len(together) > 1:
        names = ", ".join(name for name, _ in together)
        raise InputError(say("card.one-size", milks=names), say("card.leave-size-out")).about(
            "make"
        )
    written = tuple(
        _written(pantry, request, [m for m, _ in one], [p for _, p in one], read.flock)
        for one in together.values()
    )
    refused = tuple(milk for milk in milks if not milk.may_be_fed)
    bars = tuple(
        bar
        for animal in read.flock.animals
        for bar in bars_of(animal, None, read.now)
        if bar.of_animal or bar.id == "weigh-first"
    )
    return Sheet(pantry, read, written, refused, bars)


def _designed(pantry: Pantry, request: SheetRequest) -> Sheet:
    """The cheapest mix of the shelf, in whole measures; refused if it must not be fed."""
    if request.mix:
        raise InputError(say("card.no-flock"), say("card.keep-to-it")).about("mix")
    wanted = MixRequest(make=request.make, keep_to=request.keep_to, confidence=False)
    answer = mix(pantry, request.reference or "lamb-replacer", wanted)
    if answer.milk is None:
        return Sheet(pantry, None, (), (), design=answer)
    found = answer.milk.mix
    used = np.flatnonzero(found.grams > 0)
    foods = tuple(found.shelf.foods[j] for j in used)
    name = answer.request.keep_to.name if isinstance(answer.request.keep_to, Recipe) else ""
    text = " + ".join(f"{found.grams[j]:.6g} g {found.shelf.ids[j]}" for j in used)
    recipe = Recipe(
        name or say("card.this-mix"), text, foods, (), found.grams[used], pantry.kitchen
    )
    species = Species(found.bands.species)
    fed = FedMilk(
        recipe, found, milk_of_mix(recipe.name, found), answer.milk.judgement, species, ()
    )
    if not fed.may_be_fed:
        return Sheet(pantry, None, (), (fed,), design=answer)
    written = _written(pantry, request, [fed], [], None, found.volume)
    return Sheet(pantry, None, (written,), (), design=answer)


def _written(
    pantry: Pantry,
    request: SheetRequest,
    fed: Sequence[FedMilk],
    plans: Sequence[FeedPlan],
    flock: Flock | None,
    need: float | None = None,
) -> SheetMilk:
    """A milk in its two amounts.

    Parameters
    ----------
    pantry : Pantry
    request : SheetRequest
    fed : sequence of FedMilk
        One recipe, a milk for each species.
    plans : sequence of FeedPlan
        One for each.
    flock : Flock or None
    need : float, optional
        Size of the day's batch [mL]; by default as asked, else what is drunk.
    """
    recipe, kitchen = fed[0].recipe, pantry.kitchen
    shelf = pantry.shelf_for(recipe.foods)
    usual = pantry_steps(pantry, shelf)
    if need is None and request.make:
        try:
            need = parse_volume(request.make, kitchen)
        except InputError as error:
            raise error.about("make") from None
    need = need or _first_milk(plans, kitchen)

    def as_good(grams: Array) -> bool:
        """Whether rounding leaves the verdict what it is."""
        rounded = replace(recipe, grams=grams)
        return all(
            judge(check(rounded, one.mix.bands, pantry)).verdict.rank >= one.verdict.rank
            for one in fed
        )

    day = same_milk(shelf, recipe.grams, usual, need, kitchen, as_good)
    if day is None:
        raise InputError(say("card.not-measured", milk=fed[0].name), say("card.larger-batch"))
    container = _container(request, pantry, flock)
    jar = fill_container(shelf, recipe.grams, usual, container, kitchen, as_good)
    vessel = Container(_ROOMY * day.volume, None, say("card.pitcher"))
    return SheetMilk(
        tuple(fed),
        _amount(day, vessel, kitchen),
        None if jar is None else _amount(jar, container, kitchen),
        container,
        tuple(plans),
        _cautions(fed, plans),
    )


def _amount(portion: Portion, container: Container, kitchen: Kitchen) -> SheetAmount:
    measured: Measures = portion.measured
    return SheetAmount(portion, order_of_work(measured, container, portion.full_count, kitchen))


def _first_milk(plans: Sequence[FeedPlan], kitchen: Kitchen) -> float:
    """What the animals drink of this milk on the first day that has any [mL]."""
    for day in range(_SOON):
        litres = sum(
            float(plan.litres_by_day()[day] * plan.share_new[day])
            for plan in plans
            if day < len(plan.days)
        )
        if litres > 0:
            return 1e3 * litres
    return parse_volume(default_volume(kitchen), kitchen)


def _container(request: SheetRequest, pantry: Pantry, flock: Flock | None) -> Container:
    """The jar that is named, the flock's own, or the usual one."""
    kitchen = pantry.kitchen
    if request.container:
        try:
            return parse_container(request.container, kitchen, pantry.table)
        except InputError as error:
            raise error.about("container") from None
    if flock is None or flock.jar is None:
        return parse_container(default_jar(kitchen), kitchen, pantry.table)
    if not flock.kitchen.metric:
        quarts = flock.jar / unit_size("quart", flock.kitchen)
        if abs(quarts - round(quarts, 2)) < 1e-6:
            return Container(flock.jar, None, say("card.quart-jar", quarts=quarts))
    return Container(flock.jar, None, say("card.litre-jar", litres=flock.jar / 1e3))


def _cautions(fed: Sequence[FedMilk], plans: Sequence[FeedPlan]) -> tuple[Caution, ...]:
    """Of the milk, then of the animals; each once, by its text."""
    told = [caution for one in fed for caution in cautions_for(one.mix)]
    animals = [
        AnimalFacts.of(animal, plan.days[0], Stage(int(plan.stage[i, 0])))
        for plan in plans
        for i, animal in enumerate(plan.flock.animals)
    ]
    # Without a flock no age is known: say what holds at any age.
    animals = animals or [AnimalFacts(str(one.species), math.nan, "milk") for one in fed]
    told += [caution for animal in animals for caution in cautions_at(animal)]
    return tuple({c.text: c for c in told if c.shown}.values())
