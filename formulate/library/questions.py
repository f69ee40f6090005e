"""The questions that a person asks in Python, each of what they have.

Each function turns what it is given into what its question takes (`formulate.library.given`), asks
`formulate.answers`, and returns that answer whole. The command line and the page ask the same.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import time

from formulate.answers.bands import BandsLike, check_reference
from formulate.answers.check import CheckAnswer
from formulate.answers.compare import CompareAnswer, Per
from formulate.answers.mix_answer import MixAnswer
from formulate.answers.prices import PricesAnswer
from formulate.answers.record import Recorded
from formulate.answers.rehydrate import Rehydration
from formulate.answers.season import SeasonAnswer
from formulate.answers.shop import ShopAnswer
from formulate.answers.today import Today
from formulate.base.errors import UnknownName
from formulate.base.quantities import Quantity, magnitude
from formulate.library.given import (
    RECIPES,
    FlockLike,
    KitchenLike,
    MomentLike,
    PantryLike,
    RecipeLike,
    clock_from,
    flock_path,
    home_from,
    is_a,
    kitchen_from,
    moment_from,
    numbers_only,
    pantry_from,
    shelf_from,
    texts_from,
    texts_only,
)

__all__ = [
    "check",
    "compare",
    "mix",
    "prices",
    "record",
    "rehydrate",
    "season",
    "shop",
    "today",
]


def mix(
    foods: PantryLike,
    reference: BandsLike = "lamb-replacer",
    *,
    make: float | Quantity | str | None = None,
    container: str | None = None,
    keep_to: RecipeLike | None = None,
    most_foods: int | None = None,
    use_up: bool = False,
    by_gram: bool = False,
    sure: float | None = None,
    worst_case: float | None = None,
    closest: bool = False,
    within_cost: float | None = None,
    explain: bool = False,
    seconds: float | None = None,
    kitchen: KitchenLike | None = None,
    country: str | None = None,
) -> MixAnswer:
    """Find the milk to mix: the cheapest inside its ranges, in kitchen measures.

    Parameters
    ----------
    foods : Pantry, path, str or iterable of str
        A pantry, the path of a pantry file, or names of foods: ``"whole-milk"``, or with prices
        ``["whole-milk=3.80/gallon", "evaporated-milk=1.79/can"]``. Without prices the mix has
        the fewest foods.
    reference : str or BandSet
        The ranges to meet: a built-in set, or one of the pantry's.
    make : float, pint.Quantity or str, optional
        How much [mL], or in words: ``"2 quarts"``. About a day for two lambs where left out.
    container : str, optional
        Fill it instead: ``"1 gallon jug of whole-milk"``.
    keep_to : str or Recipe, optional
        Keep every food of this recipe, and change it as little as possible.
    most_foods : int, optional
        No more foods than this.
    use_up : bool
        Use what is on hand, what spoils first before the rest.
    by_gram : bool
        Weigh the foods instead of measuring them.
    sure : float, optional
        Each range holds with this chance [%], although cartons vary.
    worst_case : float, optional
        By the gram: every range holds with this many foods at their worst at once.
    closest : bool
        By the gram: as near to the middle of the ranges as possible.
    within_cost : float, optional
        With `closest`: the most a litre may cost [money/L].
    explain : bool
        Say what each demand costs, and where prices would change the recipe.
    seconds : float, optional
        Longest search for whole measures.
    kitchen : str or Kitchen, optional
        Whose cups and spoons; a pantry file says so itself.
    country : str, optional
        Whose foods, money and kitchen, as ``"uk"``.

    Returns
    -------
    MixAnswer
        With the milk, or why there is none and what comes nearest. ``answer["fat"]`` is one
        read, ``answer.to_frame("reads")`` all of them.

    Raises
    ------
    InputError
        If something cannot be read, or two wishes contradict each other.

    Examples
    --------
    >>> import formulate
    >>> milk = formulate.mix(formulate.sample_pantry(), make="2 quarts")
    >>> milk.verdict
    <Verdict.INSIDE: 'inside'>
    >>> milk["fat"].standing
    <Standing.INSIDE: 'inside'>
    >>> list(milk.to_frame("measures")["food"])
    ['whole-milk', 'heavy-cream', 'nonfat-dry-milk']
    """
    from formulate.answers.mix import mix as answer
    from formulate.answers.mix_answer import MixRequest

    texts_only(container=container, country=country)
    numbers_only(
        most_foods=most_foods,
        sure=sure,
        worst_case=worst_case,
        within_cost=within_cost,
        seconds=seconds,
    )
    if keep_to is not None:
        is_a(keep_to, RECIPES, "recipe", "a-recipe")
    pantry = pantry_from(foods, country, kitchen)
    check_reference(reference)
    if not (make is None or isinstance(make, str)):
        make = magnitude(make, "millilitre", "volume")
    request = MixRequest(
        make=make,
        container=container,
        keep_to=keep_to,
        most_foods=most_foods,
        use_up=use_up,
        by_gram=by_gram,
        sure=sure,
        worst_case=worst_case,
        closest=closest,
        within_cost=within_cost,
        explain=explain,
    )
    if seconds is not None:
        request = replace(request, time_limit=seconds)
    return answer(pantry, reference, request)


def check(
    recipe: RecipeLike,
    reference: BandsLike = "lamb-replacer",
    *,
    pantry: PantryLike | None = None,
    kitchen: KitchenLike | None = None,
    country: str | None = None,
    brix: float | str | None = None,
    lactometer: float | str | None = None,
    temperature: str | None = None,
    lactometer_marked: str | None = None,
    freezing_point: float | str | None = None,
    weigh: str | None = None,
) -> CheckAnswer:
    """Say whether a recipe is right and safe, and what is in it.

    Parameters
    ----------
    recipe : str or Recipe
        As ``"2 quarts whole-milk + 1 can evaporated-milk"``, or its name in the pantry.
    reference : str or BandSet
        The ranges to meet.
    pantry : Pantry, path or names of foods, optional
        For prices, and for foods, ranges and recipes of your own.
    kitchen : str or Kitchen, optional
        Whose cups and spoons; the pantry's where left out.
    country : str, optional
        Whose foods and kitchen, as ``"uk"``.
    brix, lactometer : float or str, optional
        What an instrument read [°Bx; lactometer degrees].
    temperature, lactometer_marked : str, optional
        Temperature of the milk, and the one the lactometer is marked for: ``"20 C"``.
    freezing_point : float or str, optional
        What a cryoscope read [°C].
    weigh : str, optional
        What some of it weighs: ``"1 cup = 251 g"``.

    Returns
    -------
    CheckAnswer
        Verdict, reads and cautions; and with readings, what most likely went wrong.

    Raises
    ------
    InputError
        If the recipe, the reference or a reading cannot be read.

    Examples
    --------
    >>> import formulate
    >>> answer = formulate.check("1 quart whole-milk + 1 can evaporated-milk")
    >>> answer.verdict
    <Verdict.OUTSIDE: 'outside'>
    >>> answer["protein"].standing
    <Standing.INSIDE: 'inside'>
    """
    from formulate.answers.check import check as answer

    is_a(recipe, RECIPES, "recipe", "a-recipe")
    texts_only(
        country=country, temperature=temperature, lactometer_marked=lactometer_marked, weigh=weigh
    )
    check_reference(reference)
    shelf = shelf_from(pantry, country)
    readings = {
        "brix": brix,
        "lactometer": lactometer,
        "at": temperature,
        "marked": lactometer_marked,
        "freezing_point": freezing_point,
        "weigh": weigh,
    }
    return answer(
        recipe,
        shelf,
        reference,
        kitchen=kitchen_from(kitchen, shelf),
        readings={name: None if text is None else str(text) for name, text in readings.items()},
    )


def compare(
    pantry: PantryLike,
    recipes: Iterable[RecipeLike] | str = (),
    reference: BandsLike = "lamb-replacer",
    *,
    per: Per | str = "litre",
    kitchen: KitchenLike | None = None,
) -> CompareAnswer:
    """Rank recipes: the best verdict first, then the cheapest.

    Parameters
    ----------
    pantry : Pantry or path
        For the prices.
    recipes : iterable of str or Recipe, optional
        Typed, or named in the pantry; every recipe of the pantry where left out.
    reference : str or BandSet
        The ranges to meet.
    per : {"litre", "kg-dry-matter", "megajoule"}
        What to rank by: money per litre of milk, per kg of dry matter or per MJ of energy.
    kitchen : str or Kitchen, optional
        Whose cups and spoons typed recipes mean; the pantry's where left out.

    Returns
    -------
    CompareAnswer
        A row for each recipe, with its verdict and costs.

    Raises
    ------
    InputError
        If a recipe cannot be read, or a food has no price.

    Examples
    --------
    >>> import formulate
    >>> ranked = formulate.compare(formulate.sample_pantry(), per="kg-dry-matter")
    >>> [row.recipe.name for row in ranked][0]
    'cream-and-powder'
    >>> ranked.to_frame()[["name", "verdict", "cost_per_litre"]].shape
    (6, 3)
    """
    from formulate.answers.compare import compare as answer

    chosen = texts_from(recipes, RECIPES, "recipes", "recipes")
    check_reference(reference)
    shelf = pantry_from(pantry)
    try:
        ranked_by = Per(per)
    except ValueError:
        raise UnknownName("per", str(per), list(Per)) from None
    whose = None if kitchen is None else kitchen_from(kitchen)
    return answer(chosen, shelf, reference, ranked_by, kitchen=whose)


def prices(
    pantry: PantryLike,
    vary: Iterable[str] | str,
    reference: BandsLike = "lamb-replacer",
    *,
    points: int = 300,
) -> PricesAnswer:
    """Find which recipe is cheapest where, as the prices of some foods move.

    Parameters
    ----------
    pantry : Pantry or path
        For the other prices.
    vary : str or iterable of str
        Prices per package from low to high: ``"whole-milk=2.5..6"``. One gives exact steps, two
        a map, more a sample.
    reference : str or BandSet
        The ranges to meet.
    points : int
        Prices along each side of a map.

    Returns
    -------
    PricesAnswer
        Recipes by the gram, and where each is the cheapest.

    Raises
    ------
    InputError
        If a range cannot be read, or a food is not in the pantry.

    Examples
    --------
    >>> import formulate
    >>> moved = formulate.prices(formulate.sample_pantry(), "heavy-cream=3..9")
    >>> len(moved.to_frame()) == len(moved.found.steps)
    True
    """
    from formulate.answers.prices import prices as answer

    ranges = texts_from(vary, (str,), "vary", "a-range")
    numbers_only(points=points)
    check_reference(reference)
    return answer(pantry_from(pantry), ranges, reference, points=points)


def today(
    flock: FlockLike,
    pantry: PantryLike | None = None,
    *,
    now: MomentLike | None = None,
    milk: str | None = None,
    cold_wet: bool = False,
) -> Today:
    """Say what to feed now, to whom, and what to watch for.

    Parameters
    ----------
    flock : path, FlockRead or Flock
        The path of a flock file, or a flock from `load_flock`.
    pantry : Pantry or path, optional
        The one that the flock file names, or the one beside it, where left out.
    now : datetime, date or str, optional
        The moment to plan from; this one, where left out.
    milk : str, optional
        One milk for all, a recipe or its name, instead of those in the flock file.
    cold_wet : bool
        Whether newborns stand in cold wet wind.

    Returns
    -------
    Today
        Every animal's milk, feeds, growth, warnings and weaning; its plan to weaning too.

    Raises
    ------
    InputError
        If a file or a milk cannot be read.

    Examples
    --------
    >>> import formulate
    >>> now = formulate.today(formulate.sample_flock())
    >>> now.verdict
    <Verdict.INSIDE: 'inside'>
    >>> list(now.to_frame().columns)
    ['animal', 'at', 'ml', 'what', 'state', 'logged_ml', 'by']
    """
    from formulate.answers.today import today as answer

    texts_only(milk=milk)
    home = home_from(flock, pantry, now)
    return answer(home.read, home.pantry, named=milk, cold_wet=cold_wet)


def record(
    flock: FlockLike,
    animal: str,
    what: str,
    amount: str = "",
    *,
    at: MomentLike | None = None,
    by: str = "",
    note: str = "",
    confirm: bool = False,
    pantry: PantryLike | None = None,
) -> Recorded:
    """Write down what happened to an animal, or ask first where it looks wrong.

    Parameters
    ----------
    flock : path or FlockRead
        The path of a flock file, or a flock from `load_flock`. The log stands beside the file.
    animal : str
        Its name.
    what : str
        ``"milk"``, ``"colostrum"``, ``"weight"``, ``"temperature"``, ``"creep"``, ``"died"`` …;
        ``"strike"`` takes back the newest entry.
    amount : str
        With its unit: ``"8 fl oz"``, ``"6.4 kg"``, ``"38.9 C"``.
    at : datetime, date or str, optional
        When it was; now, where left out.
    by : str
        Who did it.
    note : str
        Whose colostrum.
    confirm : bool
        Write it down although it looks wrong.
    pantry : Pantry or path, optional
        The flock's, where left out.

    Returns
    -------
    Recorded
        Written, there already, or asked about; nothing is written where it asks.

    Raises
    ------
    InputError
        If the animal is not known, or the amount or the moment cannot be.

    Examples
    --------
    >>> import formulate
    >>> formulate.record(formulate.sample_flock(), "Bramble", "milk", "240 mL")
    Traceback (most recent call last):
    ...
    formulate.base.errors.InputError: the sample flock has no file, ...
    """
    from formulate.answers.record import record as answer
    from formulate.answers.wanted import wanted_of

    texts_only(animal=animal, what=what, amount=amount, by=by, note=note)
    wanted = wanted_of(animal, what, amount, at=moment_from(at), by=by, note=note)
    shelf = None if pantry is None else pantry_from(pantry)
    return answer(flock_path(flock), [wanted], pantry=shelf, sure=confirm)


def shop(
    flock: FlockLike,
    pantry: PantryLike | None = None,
    *,
    now: MomentLike | None = None,
    milk: str | None = None,
    also: Iterable[str] | str = (),
    keeps: int | None = None,
    mix_at: time | str | None = None,
    trip_cost: float = 0.0,
    seconds: float = 30.0,
) -> ShopAnswer:
    """Plan the cheapest shopping, in whole packages, to the end of weaning.

    Parameters
    ----------
    flock : path, FlockRead or Flock
        The path of a flock file, or a flock from `load_flock`.
    pantry : Pantry or path, optional
        The one that the flock file names, or the one beside it, where left out.
    now : datetime, date or str, optional
        The moment to plan from.
    milk : str, optional
        One milk for all, a recipe or its name, instead of those in the flock file.
    also : str or iterable of str
        Other recipes that may be mixed.
    keeps : int, optional
        Days that mixed milk is kept chilled.
    mix_at : time or str, optional
        Hour of mixing: ``"06:30"``.
    trip_cost : float
        What one trip costs [money].
    seconds : float
        Longest search.

    Returns
    -------
    ShopAnswer
        What to buy on which day, what to mix of it, and what is left over.

    Raises
    ------
    InputError
        If a file or a milk cannot be read, or a food has no price.

    Examples
    --------
    >>> import formulate
    >>> list_ = formulate.shop(formulate.sample_flock())
    >>> list(list_.to_frame().columns)
    ['day', 'food', 'package', 'count', 'grams', 'price', 'use_by']
    """
    from formulate.answers.shop import ShopRequest
    from formulate.answers.shop import shop as answer

    texts_only(milk=milk)
    numbers_only(keeps=keeps, trip_cost=trip_cost, seconds=seconds)
    home = home_from(flock, pantry, now)
    others = tuple(texts_from(also, (str,), "recipes", "recipes"))
    request = ShopRequest(others, keeps, clock_from(mix_at), trip_cost, seconds)
    return answer(home.read, home.pantry, request, milk)


def season(
    flock: FlockLike,
    pantry: PantryLike | None = None,
    *,
    now: MomentLike | None = None,
    milk: str | None = None,
    seconds: float = 30.0,
) -> SeasonAnswer:
    """Work out the cost of rearing, from birth to weaning, on each recipe of the pantry.

    Parameters
    ----------
    flock : path, FlockRead or Flock
        The path of a flock file, or a flock from `load_flock`.
    pantry : Pantry or path, optional
        The one that the flock file names, or the one beside it, where left out.
    now : datetime, date or str, optional
        The moment to plan from.
    milk : str, optional
        One milk for all, a recipe or its name, instead of those in the flock file.
    seconds : float
        Longest search, over all milks.

    Returns
    -------
    SeasonAnswer
        Litres, money, hours and dates, each from low to high.

    Raises
    ------
    InputError
        If a file or a milk cannot be read, or a food has no price.

    Examples
    --------
    >>> import formulate
    >>> rearing = formulate.season(formulate.sample_flock(), seconds=5)
    >>> rearing.own.cost.low < rearing.own.cost.expected < rearing.own.cost.high
    True
    """
    from formulate.answers.season import season as answer
    from formulate.answers.shop import ShopRequest

    texts_only(milk=milk)
    numbers_only(seconds=seconds)
    home = home_from(flock, pantry, now)
    return answer(home.read, home.pantry, ShopRequest(seconds=seconds), milk)


def rehydrate(
    pantry: PantryLike,
    *,
    drink: str | None = None,
    flock: FlockLike | None = None,
    animal: str | None = None,
    weight: str | None = None,
    age: str | None = None,
    signs: Mapping[str, str] | None = None,
    temperature: str | None = None,
    blood: bool = False,
    swollen_belly: bool = False,
    day: int = 1,
    others: bool = False,
    water: bool | None = None,
    make: str | None = None,
    by_scale: bool | None = None,
    now: MomentLike | None = None,
) -> Rehydration:
    """Say what to look at when an animal scours, and which drink, how much and when.

    The veterinarian comes first: without a veterinarian's word in the flock file no drink is
    ``agreed``.

    Parameters
    ----------
    pantry : Pantry, path or names of foods
        What is in the kitchen, and whose spoons.
    drink : str, optional
        A drink to check: ``"1 L water + 1/2 tsp salt + 20 g dextrose"``. One is designed where
        left out.
    flock : path, FlockRead or Flock, optional
        For weights, ages, feeding times and the veterinarian's word.
    animal : str, optional
        One of the flock; all of them where left out.
    weight, age : str, optional
        Of one animal: ``"4.2 kg"``, ``"9 days"``.
    signs : mapping of str to str, optional
        What was seen, by sign: stands, sucks, mouth, skin, eyes, gums.
    temperature : str, optional
        As ``"38.9 C"`` or ``"102 F"``.
    blood, swollen_belly : bool
        Blood in its dung; a swollen belly.
    day : int
        Of the scour, 1 for the first.
    others : bool
        Whether more than one is ill.
    water : bool, optional
        Whether clean water is always within its reach.
    make : str, optional
        How much water: ``"1 L"``.
    by_scale : bool, optional
        Weigh it instead of measuring in level spoons; as the pantry says where left out.
    now : datetime, date or str, optional
        The moment to plan from.

    Returns
    -------
    Rehydration
        The signs, the drink with its verdict, and every animal's amounts.

    Raises
    ------
    InputError
        If something typed cannot be read or cannot be.

    Examples
    --------
    >>> import formulate
    >>> answer = formulate.rehydrate(formulate.sample_pantry(), weight="4 kg", age="9 days")
    >>> answer.agreed
    False
    """
    from formulate.answers.rehydrate import rehydrate as answer
    from formulate.answers.rehydrate import seen

    texts_only(drink=drink, animal=animal, weight=weight, age=age, temperature=temperature)
    texts_only(make=make)
    numbers_only(day=day)
    home = None if flock is None else home_from(flock, pantry, now)
    looked = seen(
        signs or {},
        temperature=temperature,
        age=age,
        blood=blood,
        belly=swollen_belly,
        day=day,
        others=others,
        water=water,
    )
    return answer(
        pantry_from(pantry) if home is None else home.pantry,
        looked,
        recipe=drink,
        read=None if home is None else home.read,
        animal=animal,
        weight=weight,
        water=make,
        by_scale=by_scale,
    )
