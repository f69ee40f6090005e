"""Questions about animals: feeding, recording, buying, cost, and scour.

As in `formulate.library.about_milk`, each asks `formulate.answers` and returns the answer whole.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import time

from formulate.answers.record import Recorded
from formulate.answers.rehydrate import Rehydration
from formulate.answers.season import SeasonAnswer
from formulate.answers.shop import ShopAnswer
from formulate.answers.today import Today
from formulate.library.given import (
    FlockLike,
    MomentLike,
    PantryLike,
    clock_from,
    flock_path,
    home_from,
    moment_from,
    numbers_only,
    pantry_from,
    texts_from,
    texts_only,
)

__all__ = ["record", "rehydrate", "season", "shop", "today"]


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
    """Write down what happened to an animal, or ask first if it looks wrong.

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
