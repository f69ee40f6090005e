"""Questions about a milk: what to mix, whether a recipe is right, which one is cheapest.

Each function turns what it is given into what its question takes (`formulate.library.given`), asks
`formulate.answers`, and returns that answer whole. The command line and the page ask the same.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from formulate.answers.bands import BandsLike, check_reference
from formulate.answers.check import CheckAnswer
from formulate.answers.compare import CompareAnswer, Per
from formulate.answers.mix_answer import MixAnswer
from formulate.answers.prices import PricesAnswer
from formulate.base.errors import UnknownName
from formulate.base.quantities import Quantity, magnitude
from formulate.library.given import (
    RECIPES,
    KitchenLike,
    PantryLike,
    RecipeLike,
    is_a,
    kitchen_from,
    numbers_only,
    pantry_from,
    shelf_from,
    texts_from,
    texts_only,
)

__all__ = ["check", "compare", "mix", "prices"]


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
