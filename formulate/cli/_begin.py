"""The questions that ``formulate start`` asks in a terminal, one at a time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING

import click

from formulate.base.messages import listed, say
from formulate.cli._common import asked, asked_price

if TYPE_CHECKING:
    from formulate.answers.flock_edit import Newcomer
    from formulate.base.units import Kitchen
    from formulate.pantry.pantry import Pantry

__all__ = ["Begun", "ask_for_animals", "ask_to_begin"]


@dataclass
class Begun:
    """What has been answered so far.

    Parameters
    ----------
    country : str or None
    kitchen : Kitchen or None
    foods : list of str
        With their prices, where these are known.
    animals : list of Newcomer
    """

    country: str | None
    kitchen: Kitchen | None = None
    foods: list[str] = field(default_factory=list)
    animals: list[Newcomer] = field(default_factory=list)

    @property
    def names(self) -> list[str]:
        """The foods without their prices."""
        return [food.partition("=")[0] for food in self.foods]

    def check_food(self, text: str) -> None:
        """Refuse a food that is not known, or there already."""
        from formulate.pantry.typed_foods import typed_pantry

        typed_pantry([text], self.kitchen, self.country)
        typed_pantry([*self.names, text.partition("=")[0]], self.kitchen, self.country)


def ask_to_begin(begun: Begun, with_animals: bool = True) -> Begun:
    """Ask for what is missing; explain a wrong answer and ask again."""
    from formulate.pantry.country import bare_pantry

    click.echo(say("start.ask.begin"), err=True)
    if begun.country is None:
        begun.country = _asked("country", bare_pantry, bare_pantry(None).country.key).lower()
    if _ask_foods(begun) and with_animals:
        _ask_animals(begun)
    return begun


def ask_for_animals(begun: Begun, pantry: Pantry) -> Begun:
    """Ask for animals alone, where there is a pantry already."""
    click.echo(say("start.pantry-stays", pantry=pantry.where), err=True)
    _ask_animals(begun)
    return begun


def _asked(topic: str, check: Callable[[str], object], default: str, **values: str) -> str:
    """Ask for something that has a default, shown in square brackets."""
    words = f"{say(f'start.ask.{topic}', **values)} [{default}]"
    return asked(words, check, empty=True) or default


def _ask_foods(begun: Begun) -> bool:
    """Ask for foods until they make a milk, or there are no more; return whether they do."""
    from formulate.answers.mix_answer import TryKind
    from formulate.answers.start import first_milk

    _ask_more_foods(begun)
    while True:
        found = first_milk(begun.foods, kitchen=begun.kitchen, country=begun.country)
        if found.yes:
            return True
        click.echo(say("start.no-milk-yet"), err=True)
        helping = [listed(one.foods) for one in found.tries if one.kind is TryKind.ADD]
        if helping:
            told = say("start.would-help", foods=listed(helping, either=True))
            click.echo(told, err=True)
        known = len(begun.foods)
        _ask_more_foods(begun)
        if len(begun.foods) == known:
            return False


def _ask_more_foods(begun: Begun) -> None:
    while food := asked(say("start.ask.food"), begun.check_food, empty=bool(begun.foods)):
        priced = not begun.foods or "=" in begun.foods[0]
        if priced and "=" not in food:
            price = asked_price(food, begun.kitchen, begun.country, needed=bool(begun.foods))
            food = f"{food}={price}" if price else food
        elif not priced:
            food = food.partition("=")[0]
        begun.foods.append(food)


def _ask_animals(begun: Begun) -> None:
    from formulate.answers.flock_edit import Newcomer, check_newcomer
    from formulate.answers.start import SPECIES, birth_of
    from formulate.base.errors import InputError, UnknownName

    def free(text: str) -> None:
        if text.lower() in (animal.name.lower() for animal in begun.animals):
            raise InputError(say("today.edit.taken", animal=text), say("today.edit.another-name"))

    def species(text: str) -> None:
        if text.lower() not in SPECIES:
            raise UnknownName("animal", text, SPECIES)

    def born(text: str) -> Newcomer:
        day, hour = birth_of(text)
        return replace(animal, born=day, hour=hour)

    today = f"{date.today()}"
    while name := asked(say("start.ask.animal"), free, empty=True):
        kind = _asked("species", species, SPECIES[0]).lower()
        animal = Newcomer(name, kind, today, "", "4 kg")
        day = _asked(
            "born", lambda text: check_newcomer(born(text)), today, example=f"{today} 04:30"
        )
        animal = born(day)
        weight = asked(
            say("start.ask.weight", example="4.2 kg"),
            lambda text, animal=animal: check_newcomer(replace(animal, birth_weight=text)),  # type: ignore[misc]
        )
        begun.animals.append(replace(animal, birth_weight=weight))
