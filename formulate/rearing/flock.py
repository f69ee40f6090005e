"""A flock: the animals, what is known about each, and how the household feeds them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from enum import StrEnum

from formulate.base.errors import UnknownName
from formulate.base.messages import say
from formulate.base.shown import brief, brief_repr
from formulate.base.units import Kitchen

__all__ = [
    "Animal",
    "Change",
    "ColostrumHad",
    "DrinkHad",
    "Eaten",
    "Ending",
    "Flock",
    "How",
    "Level",
    "MilkEnd",
    "MilkHad",
    "Permission",
    "Seen",
    "Species",
    "TemperatureRead",
    "Weighing",
]


class Species(StrEnum):
    """What an animal is."""

    LAMB = "lamb"
    KID = "kid"


class Level(StrEnum):
    """How fast an animal is meant to grow on its milk, from the least milk to the most."""

    GENTLE = "gentle"
    USUAL = "usual"
    HEARTY = "hearty"


class MilkEnd(StrEnum):
    """How milk is taken from an animal that may be weaned."""

    STEPPED = "stepped"  # two thirds of it for some days, one third for as many, then none
    ABRUPT = "abrupt"  # from one day to the next


@dataclass(frozen=True, slots=True, order=True)
class Weighing:
    """A weight on a day.

    Parameters
    ----------
    day : date
    kilograms : float
        Weight [kg].
    sure : bool
        Whether the person confirmed a weight that looked wrong.
    """

    day: date
    kilograms: float
    sure: bool = False


@dataclass(frozen=True, slots=True)
class ColostrumHad:
    """Colostrum an animal drank.

    Parameters
    ----------
    at : datetime
    millilitres : float
        Volume [mL].
    what : str
        Whose: "own ewe", "another ewe", "cow", "powder".
    by : str
        Who gave it.
    """

    at: datetime
    millilitres: float
    what: str = ""
    by: str = ""


@brief_repr
@dataclass(frozen=True, slots=True)
class MilkHad:
    """Milk an animal drank: one feed.

    Parameters
    ----------
    at : datetime
    millilitres : float
        Volume [mL].
    by : str
        Who gave it.
    """

    at: datetime
    millilitres: float
    by: str = ""


@dataclass(frozen=True, slots=True)
class DrinkHad:
    """A drink beside the milk, given to a scouring animal; it never counts as milk.

    Parameters
    ----------
    at : datetime
    millilitres : float
        Volume [mL].
    by : str
        Who gave it.
    """

    at: datetime
    millilitres: float
    by: str = ""


@dataclass(frozen=True, slots=True)
class TemperatureRead:
    """A temperature taken in the rectum.

    Parameters
    ----------
    at : datetime or None
        None if the file does not say when.
    celsius : float
        [°C].
    by : str
        Who took it.
    """

    at: datetime | None
    celsius: float
    by: str = ""


class How(StrEnum):
    """How somebody saw an animal, or what a veterinarian said of it."""

    WEAK = "weak"  # it cannot swallow, or cannot hold up its head
    SWALLOWS = "swallows"  # it does both again
    VETERINARIAN = "veterinarian"  # a veterinarian says that it may be fed


@dataclass(frozen=True, slots=True)
class Seen:
    """What was seen of an animal at a moment.

    Parameters
    ----------
    at : datetime
    how : How
    by : str
        Who saw it.
    """

    at: datetime
    how: How
    by: str = ""


@dataclass(frozen=True, slots=True)
class Ending:
    """Why an animal is fed no more milk.

    Parameters
    ----------
    day : date
        First day without.
    how : str
        "sold", "died" or "weaned".
    """

    day: date
    how: str

    @property
    def gone(self) -> bool:
        """Whether it has left the flock; one that is weaned stays."""
        return self.how != "weaned"


@dataclass(frozen=True, slots=True)
class Eaten:
    """Creep (dry feed) eaten on a day.

    Parameters
    ----------
    day : date
    grams : float
        Weight as fed [g].
    """

    day: date
    grams: float


@brief_repr
@dataclass(frozen=True)
class Animal:
    """One lamb or kid.

    Parameters
    ----------
    name : str
        Name or number.
    species : Species
    born : date
    hour : time or None
        Of birth; None if it is not known.
    birth_weight : float or None
        [kg].
    weighings : tuple of Weighing
        Since birth, by day; the birth weight is not among them.
    colostrum : tuple of ColostrumHad
    milk : tuple of MilkHad
        Feeds that were logged.
    creep : tuple of Eaten
        By day.
    temperatures : tuple of TemperatureRead
        By time; one without a time first.
    seen : tuple of Seen
        By time.
    ending : Ending or None
        Where it is fed no more milk.
    cap : float or None
        The veterinarian's own largest feed [mL/kg]; None: the default.
    notes : str
    mix : str
        The milk it drinks, where it is not the flock's: a recipe's name or recipe text.
    drinks : tuple of DrinkHad
        Beside the milk, by time.
    level : Level or None
        How fast it is meant to grow; None: as the flock.
    fed_at : Level or None
        What it was fed at until now, where a plan asks what another level would give.
    weaning : MilkEnd or None
        How its milk ends; None: as the flock's.
    """

    name: str
    species: Species
    born: date
    hour: time | None = None
    birth_weight: float | None = None
    weighings: tuple[Weighing, ...] = ()
    colostrum: tuple[ColostrumHad, ...] = ()
    milk: tuple[MilkHad, ...] = ()
    creep: tuple[Eaten, ...] = ()
    temperatures: tuple[TemperatureRead, ...] = ()
    seen: tuple[Seen, ...] = ()
    ending: Ending | None = None
    cap: float | None = None
    notes: str = ""
    mix: str = ""
    drinks: tuple[DrinkHad, ...] = ()
    level: Level | None = None
    fed_at: Level | None = None
    weaning: MilkEnd | None = None

    @property
    def all_weights(self) -> tuple[Weighing, ...]:
        """Birth weight and weighings, by day."""
        at_birth = () if self.birth_weight is None else (Weighing(self.born, self.birth_weight),)
        return (*at_birth, *self.weighings)

    @property
    def last_weight(self) -> Weighing:
        """The newest weight; a flock file always gives one."""
        return self.weighings[-1] if self.weighings else self.all_weights[-1]

    def age_days(self, day: date) -> int:
        """Whole days since the day of birth; 0 on that day."""
        return (day - self.born).days

    @property
    def latest_birth(self) -> datetime:
        """When it was born; where the hour is not known, the last minute it can have been."""
        return datetime.combine(self.born, self.hour or time(23, 59))

    @property
    def colostrum_until(self) -> datetime:
        """End of the first 24 hours, counted from the latest that it can have been born."""
        return self.latest_birth + timedelta(hours=24)


@dataclass(frozen=True, slots=True)
class Change:
    """A gradual change from another milk.

    Parameters
    ----------
    from_mix : str
        Recipe or its name.
    first_day : date
        First day on which some of the new milk is fed.
    days : int
        How many days hold a blend.
    """

    from_mix: str
    first_day: date
    days: int


@brief_repr
@dataclass(frozen=True, slots=True)
class Permission:
    """A veterinarian's word that a milk may be fed, for one recipe and its very amounts.

    Parameters
    ----------
    recipe : str
        Recipe text. A name would not do: what it names may change.
    name : str
        The veterinarian's.
    on : date
        The day it was given.
    allows : str
        What was allowed, in the veterinarian's words.
    """

    recipe: str
    name: str
    on: date
    allows: str


@dataclass(frozen=True)
class Flock:
    """Animals and the household that feeds them.

    Parameters
    ----------
    animals : tuple of Animal
        Those that are here, each name once.
    feeding_times : tuple of time
        Times of day at which the household can feed, by the clock.
    mix : str
        The mix in use: a recipe's name in the pantry, or recipe text.
    pantry : str
        Pantry file as written, relative to the flock file; may be empty.
    kitchen : Kitchen
        Whose fluid ounces stand on the bottle.
    change : Change or None
        From the milk before.
    level : Level
        How fast the animals are meant to grow, but for those with a level of their own.
    cold : bool
        Whether they are housed in the cold.
    jar : float or None
        Size of a jar for mixed milk [mL].
    jars : int or None
        How many there are.
    refrigerator : float or None
        Room for milk, mixed and in cartons [mL].
    shopping_days : tuple of int
        Days of the week, Monday 0.
    day : date or None
        The day to plan from, where the file fixes it (the sample does).
    name : str
    where : str
        The file.
    invented : bool
        Whether the file says it is a sample.
    permissions : tuple of Permission
        What veterinarians allowed.
    gone : tuple of Animal
        Those that were sold or died.
    kitchen_said : bool
        Whether the file says the kitchen.
    weaning : MilkEnd
        How milk ends, but for animals with their own.
    mark : float or None
        Marks on the bottle, so far apart [mL]; None: those that are usual in the kitchen.
    """

    animals: tuple[Animal, ...]
    feeding_times: tuple[time, ...]
    mix: str = ""
    pantry: str = ""
    kitchen: Kitchen = Kitchen.US
    change: Change | None = None
    level: Level = Level.GENTLE
    cold: bool = False
    jar: float | None = None
    jars: int | None = None
    refrigerator: float | None = None
    shopping_days: tuple[int, ...] = ()
    day: date | None = None
    name: str = ""
    where: str = ""
    invented: bool = False
    permissions: tuple[Permission, ...] = ()
    gone: tuple[Animal, ...] = ()
    kitchen_said: bool = False
    weaning: MilkEnd = MilkEnd.STEPPED
    mark: float | None = None

    def __repr__(self) -> str:
        return brief(
            self, self.name or self.where, f"{len(self.animals)} animals", ", ".join(self.names)
        )

    @property
    def names(self) -> Sequence[str]:
        """Names of the animals."""
        return [animal.name for animal in self.animals]

    def animal(self, name: str, *, gone: bool = False) -> Animal:
        """Find an animal; a difference of capitals does not matter.

        Parameters
        ----------
        name : str
        gone : bool
            Whether one that was sold or died is meant too.

        Raises
        ------
        UnknownName
            With the nearest names.
        """
        for animal in (*self.animals, *(self.gone if gone else ())):
            if animal.name.lower() == name.strip().lower():
                return animal
        raise UnknownName(
            "animal", name, self.names, say("errors.known.animals", names=", ".join(self.names))
        )
