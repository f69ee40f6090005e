"""Find foods by the names that people use for them, at home and in other countries.

A name is looked up at home first: among the foods of the kitchen's own country, which are also
what a table lists and proposes. A name that is not used at home is looked up abroad, among the
foods of the other tables. If a name means different foods, the table asks which.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

from formulate.base.errors import AmbiguousName, InputError, NotForLambs, UnknownName, nearest_names
from formulate.base.messages import say
from formulate.base.shown import Renderable, brief
from formulate.base.spelling import plain_letters
from formulate.foods.food import Food

__all__ = ["FoodTable", "Unfit", "name_key"]


@lru_cache(maxsize=8192)
def name_key(name: str) -> str:
    """A name as it is compared: without case and accents, with hyphens for spaces.

    An apostrophe is dropped ("goat's milk"), except one that stands for a letter and a space
    ("huile d'olive").
    """
    kept = plain_letters(name.replace(" %", "%"))
    if "'" in kept:
        kept = re.sub(r"\b([dl])'(?=\w)", r"\1 ", kept).replace("'", "")
    for sign in "-_:":
        kept = kept.replace(sign, " ")
    return "-".join(kept.split())


@dataclass(frozen=True, slots=True)
class Unfit:
    """Something a person may name that is not for lambs or kids.

    Parameters
    ----------
    id : str
        Readable id, as ``chocolate-milk``.
    names : tuple of str
        Other words for it.
    verdict : str
        "never", or "vet": not without a veterinarian.
    text : str
        Why, as sentences.
    source, status : str
        Key of the source list; what the statement is.
    """

    id: str
    names: tuple[str, ...]
    verdict: str
    text: str
    source: str
    status: str


class FoodTable(Mapping[str, Food], Renderable):
    """Foods by id, found by any of their names. As a mapping it holds the foods at home.

    Parameters
    ----------
    foods : iterable of Food
        At home. Ids must differ.
    left_out : callable, optional
        Gives names of foods that are left out on purpose, with the reason. Called when first
        needed, as are the next two.
    unfit : callable, optional
        Gives things that are not for lambs or kids: a typed name gets the reason.
    abroad : callable, optional
        Gives foods that are found by their names, never listed unasked; their ids differ from
        all others.
    short_names : mapping of str to str
        What people call each food-composition table, as "cofid" for "cofid-2021".
    asks : bool
        Whether to ask about a word that means one food at home and another abroad; not needed once
        a person has named their country.
    """

    def __repr__(self) -> str:
        return brief(self, "", f"{len(self)} foods")

    def __init__(
        self,
        foods: Iterable[Food],
        left_out: Callable[[], Mapping[str, str]] = dict,
        unfit: Callable[[], Iterable[Unfit]] = tuple,
        abroad: Callable[[], Iterable[Food]] = tuple,
        short_names: Mapping[str, str] | None = None,
        *,
        asks: bool = False,
    ) -> None:
        self._foods: dict[str, Food] = {}
        self._later = left_out, unfit, abroad
        self._short_names = dict(short_names or {})
        self._asks = asks
        for food in foods:
            if food.id in self._foods:
                raise InputError(say("foods.twice", food=food.id))
            self._foods[food.id] = food

    @cached_property
    def _left_out(self) -> dict[str, str]:
        return {name_key(name): reason for name, reason in self._later[0]().items()}

    @cached_property
    def _unfit(self) -> dict[str, Unfit]:
        return {name_key(name): one for one in self._later[1]() for name in (one.id, *one.names)}

    @cached_property
    def _abroad(self) -> dict[str, Food]:
        abroad: dict[str, Food] = {}
        for food in self._later[2]():
            if food.id not in self._foods:
                abroad[food.id] = food
        return abroad

    @cached_property
    def _names(self) -> dict[str, list[Food]]:
        return _by_name(self._foods.values())

    @cached_property
    def _names_abroad(self) -> dict[str, list[Food]]:
        return _by_name(self._abroad.values())

    @cached_property
    def _codes(self) -> dict[str, Food]:
        return {
            f"{name_key(table)}-{name_key(food.record)}": food
            for food in (*self._abroad.values(), *self._foods.values())
            if food.record
            for table in (food.table, self._short_names.get(food.table, food.table))
        }

    def __getitem__(self, food_id: str) -> Food:
        return self._foods[food_id]

    def __iter__(self) -> Iterator[str]:
        return iter(self._foods)

    def __len__(self) -> int:
        return len(self._foods)

    @property
    def abroad(self) -> Mapping[str, Food]:
        """Foods of other countries' tables, by id."""
        return self._abroad

    def with_own(self, foods: Iterable[Food]) -> FoodTable:
        """A table with a person's own foods before those of the table."""
        own = tuple(foods)
        for food in own:
            if food.id in self._foods:
                raise InputError(
                    say("foods.own-taken", food=food.id),
                    say("foods.own-taken-remedy", food=food.id),
                )
        return FoodTable(
            (*own, *self._foods.values()),
            *self._later,
            short_names=self._short_names,
            asks=self._asks,
        )

    def unfit(self, name: str) -> Unfit | None:
        """The thing called `name` that is not for lambs; None if there is none."""
        key = name_key(name)
        return self._unfit.get(key) or self._unfit.get(key.removesuffix("s"))

    def left_out(self, name: str) -> str:
        """Why a food is left out of the table; empty if it is not left out."""
        return self._left_out.get(name_key(name), "")

    def find(self, name: str) -> Food:
        """The one food that goes by `name`: an id, another word, or a table and its code.

        Raises
        ------
        AmbiguousName
            If several foods do, at home or in two countries: the table never guesses.
        NotForLambs
            If it is something that must not be fed.
        UnknownName
            If none does, with the nearest names.
        """
        shown, key = name.strip(), name_key(name)
        if key in self._foods:
            return self._foods[key]
        if key in self._codes:
            return self._codes[key]
        for form in (key, key.removesuffix("s")):
            at_home = self._names.get(form, [])
            abroad = self._names_abroad.get(form, [])
            if at_home:
                return self._one(shown, [*at_home, *self._unlike(at_home, abroad)])
            if len(abroad) == 1:
                return abroad[0]
            if abroad:
                return self._one(shown, [*self._same_at_home(abroad), *abroad])
        if (bad := self.unfit(name)) is not None:
            raise NotForLambs(shown, bad.id, bad.verdict, bad.text, bad.source, bad.status)
        if why := self.left_out(name):
            raise InputError(say("foods.left-out", food=shown), why)
        self._no_such_code(shown, key)
        known = {**self._names_abroad, **self._names}
        raise UnknownName("food", shown, known, say("foods.see-all"))

    def _unlike(self, at_home: Sequence[Food], abroad: Sequence[Food]) -> list[Food]:
        """Foods abroad that a word may also mean, while the country is not known."""
        if not self._asks or any(food.own for food in at_home):
            return []
        meant = {food.same_food for food in at_home}
        others = [food for food in abroad if food.same_food not in meant]
        # A word as broad as "milk" already leads to a question at home.
        return others if len(at_home) == 1 or len(abroad) == 1 else []

    def _same_at_home(self, abroad: Sequence[Food]) -> list[Food]:
        """What those foods are at home, where the word for it is another language's."""
        meant = {food.same_food for food in abroad}
        return [food for food in self._foods.values() if not food.own and food.same_food in meant]

    def _one(self, name: str, foods: Sequence[Food]) -> Food:
        if len(foods) == 1:
            return foods[0]
        tables = {food.table for food in foods if food.table}
        if len(tables) < 2:
            raise AmbiguousName("food", name, [food.id for food in foods])
        raise AmbiguousName(
            "food", name, [food.id for food in foods], [self.described(food) for food in foods]
        )

    def described(self, food: Food) -> str:
        """A food with its table, code and fat, to tell it from its namesakes."""
        if not food.table:
            return say("foods.own-one", id=food.id)
        return say("foods.one-of", id=food.id, code=self.code(food), fat=food.value("fat"))

    def code(self, food: Food) -> str:
        """Its table as people call it, and its code there: "CoFID 12-334"."""
        return f"{self._short_names.get(food.table, food.table)} {food.record}".rstrip()

    def _no_such_code(self, shown: str, key: str) -> None:
        """Reject a code that its table does not have."""
        for table, short in self._short_names.items():
            for start in (name_key(table), name_key(short)):
                code = key.removeprefix(f"{start}-")
                if code != key and code[:1].isdigit():
                    records = [f.record for f in self._codes.values() if f.table == table]
                    near = ", ".join(nearest_names(shown.rsplit(maxsplit=1)[-1], records))
                    raise InputError(
                        say("foods.no-such-code", table=short, name=shown),
                        say("foods.near-codes", codes=near) if near else "",
                    )

    def search(self, words: Sequence[str]) -> tuple[Food, ...]:
        """Foods in whose names, kind or aliases every word occurs, those at home first.

        Without words all foods at home.
        """
        wanted = [name_key(word) for word in words]

        def text(food: Food) -> str:
            code = self.code(food)
            return name_key(" ".join((food.id, food.name, food.kind, code, *food.aliases)))

        foods = [*self._foods.values(), *(self._abroad.values() if wanted else ())]
        return tuple(f for f in foods if all(word in text(f) for word in wanted))

    def search_unfit(self, words: Sequence[str]) -> tuple[Unfit, ...]:
        """Things not for lambs or kids whose name has every word; none without words."""
        wanted = [name_key(word) for word in words]
        found = (
            one
            for key, one in self._unfit.items()
            if wanted and all(word in key for word in wanted)
        )
        return tuple({one.id: one for one in found}.values())


def _by_name(foods: Iterable[Food]) -> dict[str, list[Food]]:
    names: dict[str, list[Food]] = {}
    for food in foods:
        for name in {name_key(food.id), *map(name_key, food.aliases)}:
            names.setdefault(name, []).append(food)
    return names
