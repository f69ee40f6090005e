"""What to feed now: each animal's milk, feeds, warnings and notes at one moment.

One answer. The plan, growth, the card's feeds, the calendar and the one-screen view are renderings
of it, so that no door says anything else. Nothing is planned that must not be fed, and what is due
next is never more, nor sooner, than what would be written down without a question
(`formulate.answers.due`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime

from formulate.answers.cautions import Caution, cautions_at
from formulate.answers.due import DueFeed, FeedState, feeds_of_day
from formulate.answers.facts import AnimalFacts
from formulate.answers.may_feed import Bar, bars_of
from formulate.answers.milks import FedMilk, fed_now, milks_of, plans_of, worst
from formulate.answers.verdict import Verdict, judge
from formulate.answers.weaning_notes import weaning_notes
from formulate.base.errors import InputError
from formulate.base.messages import listed, say
from formulate.base.shown import Renderable, brief, brief_repr
from formulate.foods.tables import band_set
from formulate.pantry.pantry import Pantry
from formulate.pantry.reading import check
from formulate.rearing.bottle import bottle_words
from formulate.rearing.colostrum import ColostrumPlan, colostrum_plan, is_newborn
from formulate.rearing.drinking import drinks_within, milk_again, scour_day
from formulate.rearing.energy import least_gain
from formulate.rearing.feed_plan import DayFeed, FeedPlan, PlanReason, Stage, Weaning
from formulate.rearing.feeding import Shortfall, shortfall
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, Flock, Level, Species
from formulate.rearing.flock_file import FlockRead
from formulate.rearing.growth import Alarm, GrowthCheck, check_growth, veterinary_signs
from formulate.rearing.limits import Fed, FeedLimits, fed, fed_within, limits
from formulate.rearing.meaning import protein_gain, protein_of
from formulate.rearing.portions import mark_of
from formulate.rearing.schedule import MILK_DENSITY
from formulate.rearing.warmth import Warmth, warmth_of

__all__ = ["AnimalToday", "Pour", "Sitting", "Today", "today"]


@brief_repr
@dataclass(frozen=True)
class AnimalToday:
    """One animal at one moment.

    Parameters
    ----------
    animal : Animal
    milk : FedMilk or None
        What it drinks; None if it drinks none any more.
    plan : FeedPlan or None
        Of the animals on its milk; None if it has no plan.
    row : int
        Its row in the plan; -1 without one.
    bars : tuple of Bar
        Why it must not be fed now, the gravest first.
    warmth : Warmth
    newborn : ColostrumPlan or None
        In its first day.
    feeds : tuple of DueFeed
        Of today, by time; of colostrum until the first day is over.
    last : MilkHad or ColostrumHad or None
        The last liquid feed that was written down.
    had : float
        Drunk in the last 24 hours [mL], by the log.
    limits : FeedLimits
    check : GrowthCheck or None
        None if it has no plan.
    alarms : tuple of Alarm
    shortfall : Shortfall or None
    weaning : Weaning or None
    notes : tuple of str
    """

    animal: Animal
    milk: FedMilk | None
    plan: FeedPlan | None
    row: int
    bars: tuple[Bar, ...]
    warmth: Warmth
    newborn: ColostrumPlan | None
    feeds: tuple[DueFeed, ...]
    last: Fed | None
    had: float
    limits: FeedLimits
    check: GrowthCheck | None
    alarms: tuple[Alarm, ...]
    shortfall: Shortfall | None
    weaning: Weaning | None
    notes: tuple[str, ...]

    @property
    def name(self) -> str:
        """Of the animal."""
        return self.animal.name

    @property
    def level(self) -> Level | None:
        """How fast it is meant to grow; None if it has no plan."""
        return None if self.plan is None else self.animal.level or self.plan.flock.level

    @property
    def may_be_fed(self) -> bool:
        """Whether nothing bars it."""
        return not self.bars

    @property
    def well(self) -> bool:
        """Whether it may be fed, its milk is enough, and no veterinarian is to be called for it."""
        first_day = self.newborn is not None and (self.newborn.overdue or self.newborn.lost > 0)
        barred = any(bar.harm or bar.id == "weigh-first" for bar in self.bars)
        return not (self.shortfall or barred or first_day or self.warmth.veterinarian)

    @property
    def day(self) -> DayFeed | None:
        """Its day by the plan."""
        return None if self.plan is None else self.plan.day_feed(self.row, 0)

    @property
    def next(self) -> DueFeed | None:
        """The feed that is due now, or next."""
        return next((f for f in self.feeds if f.state in (FeedState.DUE, FeedState.NEXT)), None)

    @property
    def litres(self) -> float:
        """Milk planned for the day [L]; 0 if it is not fed."""
        day = self.day
        return 0.0 if day is None else day.litres


@brief_repr
@dataclass(frozen=True, slots=True)
class Sitting:
    """Everybody who is fed at one time.

    Parameters
    ----------
    at : datetime
    feeds : tuple of (name, DueFeed)
    """

    at: datetime
    feeds: tuple[tuple[str, DueFeed], ...]

    @property
    def millilitres(self) -> float:
        """All of it [mL]."""
        return sum(feed.millilitres for _, feed in self.feeds)


@dataclass(frozen=True, slots=True)
class Pour:
    """What the rest of the day needs of one milk.

    Parameters
    ----------
    milk : str
        Name of the recipe: what stands on the jar.
    millilitres : float
    """

    milk: str
    millilitres: float


@dataclass(frozen=True)
class Today(Renderable):
    """A flock at one moment.

    Parameters
    ----------
    flock : Flock
    now : datetime
    pantry : Pantry
    milks : tuple of FedMilk
        Each with its judgement, in the order of the first animal that drinks it.
    plans : tuple of FeedPlan or None
        One for each milk; None if it may not be fed.
    animals : tuple of AnimalToday
    sittings : tuple of Sitting
        Of today by the clock, of those who may be fed.
    pours : tuple of Pour
        What is still to be poured today, by milk.
    litres_today, litres_week : float
        Milk to make [L]; of those who may be fed.
    warnings : tuple of str
        Of the household, as a refrigerator that is too small.
    log_faults : tuple of InputError
        Lines of the log that were left out, each with its number.
    notes : tuple of str
        Of the milks: who allowed one, what is not stirred in, whom it was made for.
    cautions : tuple of Caution
        Of all milks, each once.
    signs : Alarm
        Signs that need a veterinarian, whatever the plan says.
    """

    flock: Flock
    now: datetime
    pantry: Pantry
    milks: tuple[FedMilk, ...]
    plans: tuple[FeedPlan | None, ...]
    animals: tuple[AnimalToday, ...]
    sittings: tuple[Sitting, ...]
    pours: tuple[Pour, ...]
    litres_today: float
    litres_week: float
    warnings: tuple[str, ...]
    log_faults: tuple[InputError, ...]
    notes: tuple[str, ...]
    cautions: tuple[Caution, ...]
    signs: Alarm

    def __repr__(self) -> str:
        due = ", ".join(
            f"{one.name} {one.next.millilitres:.0f} mL {one.next.at:%H:%M}"
            for one in self.animals
            if one.next is not None
        )
        barred = ", ".join(one.name for one in self.animals if not one.may_be_fed)
        return brief(
            self,
            f"{self.verdict} at {self.now:%Y-%m-%d %H:%M}",
            f"next {due}" if due else "nothing due",
            f"not fed now {barred}" if barred else "",
        )

    @property
    def verdict(self) -> Verdict:
        """The worst verdict of the milks fed now."""
        return worst(self.milks)

    @property
    def well(self) -> bool:
        """Whether every milk is inside, nobody is short of it, and nobody needs a veterinarian."""
        return self.verdict is Verdict.INSIDE and all(one.well for one in self.animals)

    @property
    def pours_now(self) -> tuple[Pour, ...]:
        """What the feeds that are due now take of each milk."""
        return _pours(self.animals, (FeedState.DUE,))

    @property
    def growing(self) -> bool:
        """Whether no animal has an alarm."""
        return self.verdict is Verdict.INSIDE and not any(one.alarms for one in self.animals)

    def animal(self, name: str) -> AnimalToday:
        """One of them.

        Raises
        ------
        UnknownName
        """
        found = self.flock.animal(name)
        return next(one for one in self.animals if one.animal is found)


def today(
    read: FlockRead,
    pantry: Pantry,
    now: datetime | None = None,
    named: str | None = None,
    *,
    cold_wet: bool = False,
) -> Today:
    """Everything about feeding a flock at one moment.

    Parameters
    ----------
    read : FlockRead
    pantry : Pantry
    now : datetime, optional
        By default the moment the flock was read for.
    named : str, optional
        One milk for all, instead of those that the flock file names.
    cold_wet : bool
        Whether newborns stand in cold wet wind.

    Raises
    ------
    InputError
        If a milk cannot be read, or there are fewer feeding times than an animal's age asks.
    """
    read = read if now is None else replace(read, now=now)
    milks = milks_of(read, pantry, named)
    plans = plans_of(read, milks)
    places: dict[str, _AnimalPlace] = {}
    for milk, plan in zip(milks, plans, strict=True):
        checks = () if plan is None else check_growth(plan, read.now)
        rows = {a.name: i for i, a in enumerate(() if plan is None else plan.flock.animals)}
        for name in milk.animals:
            i = rows.get(name, -1)
            places[name] = _AnimalPlace(milk) if i < 0 else _AnimalPlace(milk, plan, i, checks[i])
    animals = tuple(
        _animal(one, read, places.get(one.name, _AnimalPlace()), cold_wet)
        for one in read.flock.animals
    )
    fed_by_plan = [one for one in animals if one.plan is not None and one.may_be_fed]
    return Today(
        read.flock,
        read.now,
        pantry,
        milks,
        plans,
        animals,
        _sittings(animals),
        _pours(animals),
        sum(one.litres for one in fed_by_plan),
        sum(float(one.plan.litres[one.row, :7].sum()) for one in fed_by_plan if one.plan),
        _refrigerator(read, plans),
        read.log_faults,
        tuple(note for milk in milks for note in _milk_notes(milk, pantry)),
        _cautions(milks, animals, read.now),
        veterinary_signs(),
    )


@dataclass(frozen=True)
class _AnimalPlace:
    """Where an animal stands: its milk, and its row in the plan of that milk."""

    milk: FedMilk | None = None
    plan: FeedPlan | None = None
    row: int = -1
    check: GrowthCheck | None = None


def _animal(animal: Animal, read: FlockRead, place: _AnimalPlace, cold_wet: bool) -> AnimalToday:
    milk, plan, row, check = place.milk, place.plan, place.row, place.check
    now = read.now
    day = None if plan is None else plan.day_feed(row, 0)
    bars = bars_of(animal, milk, now)
    newborn = None
    if is_newborn(animal, now):
        newborn = colostrum_plan(animal, now, cold_wet, mark_of(read.flock))
    feeds = fed(animal, now)
    allowed = limits(animal, now, day)
    short = (
        None if plan is None or day is None or day.stage is Stage.WEANED else shortfall(plan, row)
    )
    return AnimalToday(
        animal,
        milk,
        plan,
        row,
        bars,
        warmth_of(animal, now),
        newborn,
        feeds_of_day(now, day, newborn, feeds, allowed, bars, milk_again(animal, now)),
        feeds[-1] if feeds else None,
        fed_within(feeds, now),
        allowed,
        check,
        () if check is None else check.alarms,
        short,
        None if plan is None else plan.weaning[row],
        (
            *_drink_notes(animal, read),
            *_notes(animal, read, milk, plan, day),
            *([] if plan is None or day is None else weaning_notes(animal, day, plan.weaning[row])),
        ),
    )


def _sittings(animals: Sequence[AnimalToday]) -> tuple[Sitting, ...]:
    by_time: dict[datetime, list[tuple[str, DueFeed]]] = {}
    for one in animals:
        for feed in one.feeds:
            if feed.what == "milk":
                by_time.setdefault(feed.at, []).append((one.name, feed))
    return tuple(Sitting(at, tuple(by_time[at])) for at in sorted(by_time))


#: Feeds that are still to be given.
_OPEN = (FeedState.DUE, FeedState.NEXT, FeedState.LATER)


def _pours(animals: Sequence[AnimalToday], states: Sequence[FeedState] = _OPEN) -> tuple[Pour, ...]:
    """What the feeds in some states take of each milk."""
    left: dict[str, float] = {}
    for one in animals:
        if one.milk is None or one.plan is None:
            continue
        milk = [feed for feed in one.feeds if feed.what == "milk" and feed.state in states]
        amount = sum(feed.millilitres for feed in milk)
        share = float(one.plan.share_new[0])
        left[one.milk.name] = left.get(one.milk.name, 0.0) + share * amount
        if one.milk.before is not None and share < 1:
            before = one.milk.before.name
            left[before] = left.get(before, 0.0) + (1 - share) * amount
    return tuple(Pour(name, amount) for name, amount in left.items() if amount > 0)


# --- what to know ------------------------------------------------------------------------------


def _refrigerator(read: FlockRead, plans: Sequence[FeedPlan | None]) -> tuple[str, ...]:
    room = read.flock.refrigerator
    made = [plan.litres_by_day() for plan in plans if plan is not None]
    if room is None or not made:
        return ()
    days = max(len(litres) for litres in made)
    fullest = max(sum(float(litres[d]) for litres in made if d < len(litres)) for d in range(days))
    if room >= 1e3 * fullest:
        return ()
    return (say("today.refrigerator", room=room / 1e3, fullest=fullest),)


def _drink_notes(animal: Animal, read: FlockRead) -> list[str]:
    """The drinks of the last day, when milk may follow, and when they have gone on too long."""
    drinks = drinks_within(animal, read.now, 24)
    if not drinks:
        return []
    kitchen, last = read.flock.kitchen, drinks[-1]
    total = sum(one.millilitres for one in drinks)
    again = milk_again(animal, read.now)
    found = [
        say(
            "today.note.drink-by" if last.by else "today.note.drink",
            animal=animal.name,
            count=len(drinks),
            total=bottle_words(total, kitchen),
            last=bottle_words(last.millilitres, kitchen),
            at=f"{last.at:%H:%M}",
            by=last.by,
        )
    ]
    if again is not None:
        found.append(say("today.note.milk-again", animal=animal.name, until=f"{again:%H:%M}"))
    if scour_day(animal, read.now) > 1:
        found.append(say("record.drink-long", animal=animal.name))
    return found


def _notes(
    animal: Animal, read: FlockRead, milk: FedMilk | None, plan: FeedPlan | None,
    day: DayFeed | None,
) -> list[str]:  # fmt: skip
    found = []
    weighed = (read.now.date() - animal.last_weight.day).days
    if day is not None and value("weigh-asked") < weighed <= value("weigh-needed"):
        found.append(say("today.note.weigh", animal=animal.name, weeks=weighed // 7))
    if milk is None or plan is None or day is None or day.stage is not Stage.MILK:
        return found
    low = {reason.id for reason in milk.judgement.reasons}
    weight = day.weight[1]
    share = 100 * day.litres * MILK_DENSITY / weight
    if "solids" in low and share > 100 * value("most-per-day"):
        found.append(say("today.note.thin", animal=animal.name, litres=day.litres, share=share,
                         most=100 * value("most-per-day")))  # fmt: skip
    allowed = float(protein_gain(weight, day.litres * protein_of(milk.milk)))
    sound = float(least_gain(weight, value("least-gain", animal.species)))
    if day.reasons & PlanReason.PROTEIN and ("protein" in low or allowed < sound):
        found.append(say("today.note.protein", animal=animal.name, gain=1e3 * allowed,
                         sound=1e3 * max(sound, day.aim if "protein" in low else 0.0)))  # fmt: skip
    return found


def _milk_notes(milk: FedMilk, pantry: Pantry) -> list[str]:
    found = []
    if milk.permission is not None:
        allowed = milk.permission
        found.append(say("today.note.allowed", milk=milk.name, name=allowed.name, on=allowed.on,
                         allows=allowed.allows))  # fmt: skip
    if milk.before is not None and not milk.blends:
        found.append(say("today.note.not-blended", before=milk.before.name, milk=milk.name))
    if milk.verdict is Verdict.OUTSIDE:
        other = Species.KID if milk.species is Species.LAMB else Species.LAMB
        read = check(milk.recipe, band_set(f"{other}-replacer"), pantry)
        if judge(read).verdict is Verdict.INSIDE:
            found.append(say(f"today.note.made-for-{other}s", milk=milk.name))
    return found


def _cautions(
    milks: Sequence[FedMilk], animals: Sequence[AnimalToday], now: datetime
) -> tuple[Caution, ...]:
    """Cautions about the milks, then about animals, with names if they are for only some."""
    found: dict[tuple[str, str], Caution] = {}
    for milk in fed_now(milks):
        for caution in milk.judgement.cautions:
            found.setdefault((caution.id, caution.text), caution)
    alike: dict[AnimalFacts, list[str]] = {}
    for one in animals:
        stage = None if one.plan is None else Stage(int(one.plan.stage[one.row, 0]))
        alike.setdefault(AnimalFacts.of(one.animal, now.date(), stage), []).append(one.name)
    whose: dict[Caution, list[str]] = {}
    for facts, names in alike.items():
        for caution in cautions_at(facts):
            whose.setdefault(caution, []).extend(names)
    for caution, names in whose.items():
        text = caution.text
        if len(names) < len(animals):
            text = say("today.caution-for", animals=listed(names), caution=text)
        found[caution.id, text] = replace(caution, text=text)
    return tuple(found.values())
