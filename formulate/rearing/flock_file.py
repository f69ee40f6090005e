"""Read the flock file and its log into a flock, and report every fault at once.

A TOML file; ``nutrient_tables/samples/every_key_flock.toml`` has every key and what it is for.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from functools import lru_cache, partial
from pathlib import Path

from formulate.base.errors import InputError, check_type
from formulate.base.faults import Faults
from formulate.base.files import as_path, parse_toml, read_text
from formulate.base.messages import say
from formulate.base.moments import WEEK, parse_clock
from formulate.base.shapes import read_shape
from formulate.base.shown import brief
from formulate.base.units import Kitchen, parse_volume
from formulate.foods.shipped import read_shipped
from formulate.rearing.animal_file import animal_of
from formulate.rearing.figures import value
from formulate.rearing.flock import Change, Flock, Level, MilkEnd, Permission
from formulate.rearing.flock_shape import FlockFile
from formulate.rearing.levels import level_named
from formulate.rearing.log import log_path, read_log
from formulate.rearing.logged import with_log

__all__ = ["FlockRead", "load_flock", "parse_flock", "sample_flock"]

SAMPLE = "sample_flock.toml"


@dataclass(frozen=True, slots=True)
class FlockRead:
    """A flock, and what of its log could not be used.

    Parameters
    ----------
    flock : Flock
    now : datetime
        The moment to plan from.
    log_faults : tuple of InputError
        Lines of the log that were left out, each with its number; and levels of animals that are
        weaned.
    """

    flock: Flock
    now: datetime
    log_faults: tuple[InputError, ...] = ()

    @property
    def idle_level(self) -> bool:
        """Whether a level is written for an animal that is weaned."""
        return any(one.level is not None and one.ending is not None for one in self.flock.animals)

    def __repr__(self) -> str:
        faults = f"{len(self.log_faults)} faults of the log" if self.log_faults else ""
        return brief(self, f"at {self.now:%Y-%m-%d %H:%M}", repr(self.flock), faults)

    @property
    def clock(self) -> datetime:
        """The moment at which something is written down: this one, whatever day is planned from.

        Only of a sample it is the day that its file names.
        """
        if self.flock.day is None or self.flock.invented:
            return self.now
        return max(self.now, datetime.now())


#: What a moment may be; None is now.
_MOMENTS = (datetime, type(None))


def load_flock(
    path: Path | str, now: datetime | None = None, usual: Kitchen = Kitchen.US
) -> FlockRead:
    """Read a flock file and the log beside it.

    Parameters
    ----------
    path : Path or str
        The file, as "flock.toml".
    now : datetime, optional
        The moment to plan from; else noon of the day that the file names, else this moment.
    usual : Kitchen
        Where the file does not say whose marks stand on the bottle.

    Returns
    -------
    FlockRead
        The flock with its log, at that moment.

    Raises
    ------
    WrongType
        If the path or the moment is none.
    ManyFaults, InputError
        With every fault of the flock file. Faults of the log are handed back instead.
    """
    path = as_path(path)
    _check_moment(now)
    read = parse_flock(read_text(path), str(path), now, usual)
    log = read_log(log_path(path))
    # What was written down in this minute stands a second or two later in it, to keep the order.
    soon = read.now + timedelta(minutes=1)
    written = (e.when for e in reversed(log.entries) if e.when < soon)  # the newest first
    latest = next((when for when in written if when.replace(second=0) <= read.now), read.now)
    now = max(read.now, latest)
    flock, faults = with_log(read.flock, log.entries, now, str(log_path(path)))
    useless = [
        InputError(
            say("today.level.weaned", animal=animal.name),
            say("today.level.delete"),
            f"{path}: animals.{animal.name}.level",
        )
        for animal in flock.animals
        if animal.level is not None and animal.ending is not None
    ]  # reported and not refused: the other animals must have their milk
    return FlockRead(flock, now, (*log.faults, *faults, *useless))


def sample_flock(now: datetime | None = None) -> FlockRead:
    """The built-in sample: an invented flock, fed from the sample pantry.

    Parameters
    ----------
    now : datetime, optional
        The moment to plan from; noon of the sample's own day where left out.

    Returns
    -------
    FlockRead

    Raises
    ------
    WrongType
        If the moment is none.
    """
    _check_moment(now)
    text = read_shipped(SAMPLE)
    read = parse_flock(text, say("flock.the-sample"), now)
    return replace(read, flock=replace(read.flock, pantry="", invented=True))


def _check_moment(now: object) -> None:
    check_type(now, _MOMENTS, say("library.what.moment"), say("library.a-datetime"))


def parse_flock(
    text: str,
    where: str = "flock",
    now: datetime | None = None,
    usual: Kitchen = Kitchen.US,
) -> FlockRead:
    """Read a flock from TOML text; see `load_flock`."""
    shape = _shape(text, where)
    said = shape.kitchen is not None
    shape = replace(shape, kitchen=shape.kitchen or usual.value)
    if now is None:
        now = datetime.now() if shape.day is None else datetime.combine(shape.day, time(12))
    faults = Faults(where)
    kitchen = Kitchen(shape.kitchen or usual)

    def volume(key: str, text: str | None) -> float | None:
        return None if text is None else faults.catch(key, lambda: parse_volume(text, kitchen))

    animals = [
        faults.catch(f"animals.{name}", partial(animal_of, name, entry, shape, now))
        for name, entry in shape.animals.items()
    ]
    if not animals:
        faults.add("animals", say("flock.empty"), say("flock.empty-remedy"))
    lower = [name.lower() for name in shape.animals]
    for name in shape.animals:
        if lower.count(name.lower()) > 1:
            place = f"animals.{name}"
            faults.add(place, say("flock.twice", name=name), say("flock.twice-remedy"))
    flock = Flock(
        tuple(animal for animal in animals if animal),
        faults.catch("feeding_times", lambda: _times(shape)) or (),
        shape.mix or "",
        shape.pantry or "",
        kitchen,
        _change(shape),
        faults.catch("level", lambda: level_named(shape.level) or Level.GENTLE) or Level.GENTLE,
        shape.cold,
        volume("jar", shape.jar),
        shape.jars,
        volume("refrigerator", shape.refrigerator),
        tuple(WEEK.index(day) for day in shape.shopping_days),
        shape.day,
        shape.name,
        where,
        shape.sample,
        _permissions(shape, now.date(), faults),
        kitchen_said=said,
        weaning=MilkEnd(shape.weaning),
        mark=volume("bottle_marks", shape.bottle_marks),
    )
    faults.settle()
    return FlockRead(flock, now)


@lru_cache(maxsize=8)
def _shape(text: str, where: str) -> FlockFile:
    """A flock file by its keys; only its log changes with every feed."""
    return read_shape(FlockFile, parse_toml(text, where), "flock", where)


def _change(shape: FlockFile) -> Change | None:
    entry = shape.change
    if entry is None:
        return None
    return Change(entry.before, entry.first_day, entry.days or int(value("change-days")))


def _permissions(shape: FlockFile, today: date, faults: Faults) -> tuple[Permission, ...]:
    for number, entry in enumerate(shape.veterinarian, 1):
        if entry.on > today:
            faults.add(
                f"veterinarian.{number}.on", say("today.day-to-come", day=entry.on, today=today),
                say("today.correct-the-day"),
            )  # fmt: skip
    return tuple(Permission(e.recipe, e.name, e.on, e.allows) for e in shape.veterinarian)


def _times(shape: FlockFile) -> tuple[time, ...]:
    if not shape.feeding_times:
        raise InputError(say("flock.no-times"), say("flock.no-times-remedy"))
    times = set()
    for written in shape.feeding_times:
        moment = parse_clock(written.isoformat() if isinstance(written, time) else written)
        times.add(moment.replace(second=0, microsecond=0))
    if len(times) < len(shape.feeding_times):
        raise InputError(say("flock.time-twice"), say("flock.time-twice-remedy"))
    if len(times) > 12:
        raise InputError(say("flock.too-many-times"), say("flock.too-many-times-remedy"))
    return tuple(sorted(times))
