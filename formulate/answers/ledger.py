"""Check what is to be written down against the log and against what an animal can bear."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, time, timedelta

from formulate.answers.may_feed import bars_of
from formulate.answers.milks import FedMilk, milks_of, plans_of
from formulate.answers.wanted import CLOCKS, Wanted, what_words, when_words
from formulate.base.errors import InputError
from formulate.base.messages import duration, say
from formulate.base.moments import local, over, passed
from formulate.base.spelling import one_line
from formulate.base.units import parse_volume
from formulate.pantry.pantry import Pantry
from formulate.rearing.animal_file import parse_celsius, parse_grams
from formulate.rearing.bottle import bottle_words
from formulate.rearing.colostrum import is_newborn
from formulate.rearing.drinking import apart, drinks_within, scour_day
from formulate.rearing.feed_plan import DayFeed
from formulate.rearing.figures import value
from formulate.rearing.flock import Animal, ColostrumHad, DrinkHad
from formulate.rearing.flock_file import FlockRead
from formulate.rearing.limits import Fed, FeedLimits, colostrum_limits, fed, fed_within, limits
from formulate.rearing.log import ENDINGS, SURE, Entry, LogRead, What, struck
from formulate.rearing.logged import with_entries
from formulate.rearing.mixes import pantry_of
from formulate.rearing.warmth import warmth_of
from formulate.rearing.weights import out_of_line, parse_weight

__all__ = ["Ledger", "Question"]

#: What is seen of an animal, of which the last counts.
_STATES = (What.TEMPERATURE, What.WEAK, What.SWALLOWS, What.VETERINARIAN)
#: Questions that are worded in several ways.
_KINDS = {
    "apart-milk": "apart",
    "apart-drink": "apart",
    "meanwhile-by": "meanwhile",
    **{f"gap{when}{by}": "gap" for when in ("", "-now", "-after") for by in ("", "-by")},
    "first-day-unsure": "first-day",
}


@dataclass(frozen=True, slots=True)
class Question:
    """Why something is not written down before a person says that it is right.

    Parameters
    ----------
    id : str
        "weight", "in-log", "amount", "gap", "apart", "day", "drink-day", "first-day", "not-fed",
        "creep" or "meanwhile".
    text : str
    """

    id: str
    text: str


class Ledger:
    """What is to be written, checked against what is already there."""

    def __init__(self, read: FlockRead, log: LogRead, pantry: Pantry | None, sure: bool) -> None:
        self.read, self.log, self.pantry, self.sure = read, log, pantry, sure
        self.animals = {animal.name: animal for animal in read.flock.animals}
        self.slots = {entry.slot: entry for entry in log.entries}
        self.written = list(log.written)
        self.entries: list[Entry] = []
        self.added: list[Entry] = []
        self.questions: list[Question] = []
        self.notes: list[str] = []
        self._asks_of_gap = False
        self._days: dict[str, tuple[FedMilk, DayFeed | None]] | None = None

    def take(self, wanted: Wanted) -> None:
        """Add one thing, with what is to be asked about it."""
        if wanted.strikes:
            self._strike(wanted)
            return
        self._asks_of_gap = False
        animal = self._animal(wanted.animal)
        entry = self._entry(animal, wanted)
        self.entries.append(entry)
        known = self.slots.get(entry.slot)
        waited = wanted.at is not None and wanted.last_seen is not None
        # What happens now, or has waited to be written down, is another time and not again.
        now = (wanted.at is None or waited) and entry.what.timed
        again = known is not None and known.same(entry)
        twice = waited and known is not None and known.by == entry.by
        if again and (twice or not (now and entry.what.liquid)):
            return
        if known is not None and not now:
            words = what_words(known, self.read.flock.kitchen)
            self._ask("in-log", animal, entry=words, when=when_words(known))
            animal = _without(animal, known)
        if entry.what.fed:
            self._fed(animal, entry)
        elif entry.what is What.DRINK:
            self._drink(animal, entry)
        if entry.what.liquid and wanted.last_seen is not None and not self._asks_of_gap:
            self._meanwhile(animal, wanted.last_seen)
        if now:
            entry = self._free(entry)
            self.entries[-1] = entry
        if entry.what is What.WEIGHT:
            self._weight(animal, entry)
        elif entry.what is What.CREEP:
            self._creep(animal, entry)
        self._add(animal, entry)

    def _add(self, animal: Animal, entry: Entry) -> None:
        self.added.append(entry)
        self.written.append(entry)
        self.slots[entry.slot] = entry
        now = max(self.read.now, entry.when)
        after, _ = with_entries(animal, [entry], now)
        self.animals[animal.name] = after
        if entry.what is What.TEMPERATURE:
            self.notes += warmth_of(after, entry.when).steps
        elif entry.what is What.WEAK:
            self.notes += [bar.text for bar in bars_of(after, None, entry.when)][:1]

    def _strike(self, wanted: Wanted) -> None:
        """Take back an entry: the one that is meant, or the newest."""
        animal = self.read.flock.animal(wanted.animal, gone=True)
        at = wanted.at
        meant = [
            entry
            for entry in self.written
            if entry.animal.lower() == animal.name.lower()
            and (wanted.what is None or entry.what is wanted.what)
            and (at is None or _about(entry, at))
        ]
        if not meant:
            raise InputError(
                say("record.strike.nothing", animal=animal.name), say("record.strike.look")
            )
        entry = struck(meant[-1], one_line(wanted.by))
        self.written.remove(meant[-1])
        self.slots.pop(entry.slot, None)
        self.entries.append(entry)
        self.added.append(entry)

    # --- reading what is wanted ------------------------------------------------------------

    def _animal(self, name: str) -> Animal:
        flock = self.read.flock
        animal = flock.animal(name, gone=True)
        if animal not in flock.gone:
            return self.animals[animal.name]
        assert animal.ending is not None
        raise InputError(
            say("record.gone", animal=animal.name, how=say(f"record.how.{animal.ending.how}"),
                day=animal.ending.day),
            say("record.take-it-back"),
        )  # fmt: skip

    def _entry(self, animal: Animal, wanted: Wanted) -> Entry:
        what, now = wanted.what, self.read.now
        assert what is not None
        at = now if wanted.at is None else local(wanted.at)
        if at > now + CLOCKS:
            raise InputError(
                say("today.moment-to-come", moment=f"{at:%Y-%m-%d %H:%M}",
                    now=f"{now:%Y-%m-%d %H:%M}"),
                say("today.correct-the-day"),
            )  # fmt: skip
        if at.date() < animal.born or (animal.hour and at < animal.latest_birth):
            born = animal.latest_birth if animal.hour else animal.born
            raise InputError(
                say("record.when.before-birth", animal=animal.name, born=f"{born}"[:16]),
                say("record.weight.correct-one-day"),
            )
        when = at.replace(second=0, microsecond=0)
        if not what.timed:
            when = datetime.combine(at.date(), time())
        note = one_line(wanted.note)
        if what is What.ENDED:
            note = _ending(str(wanted.amount))
        elif what is What.WEIGHT and self.sure:
            note = SURE
        amount = self._amount(what, wanted.amount) if what.unit else 0.0
        return Entry(when, animal.name, what, amount, note, one_line(wanted.by))

    def _amount(self, what: What, amount: str | float) -> float:
        """In the unit of its kind, to the figure that is worth writing down."""
        decimals = {What.WEIGHT: 3, What.TEMPERATURE: 2}.get(what, 1)
        if not isinstance(amount, str):
            found = float(amount)
        elif not amount.strip():
            raise InputError(say("record.no-amount", what=what), say(f"record.write.{what}"))
        elif what is What.WEIGHT:
            found = parse_weight(amount)
        elif what is What.CREEP:
            found = parse_grams(amount)
        elif what is What.TEMPERATURE:
            found = parse_celsius(amount)
        else:
            found = parse_volume(amount, self.read.flock.kitchen)
        if not 0 < (rounded := round(found, decimals)) < float("inf"):
            raise InputError(say("record.not-above-zero"), say(f"record.write.{what}"))
        return rounded

    def _free(self, entry: Entry) -> Entry:
        """What happens in the same minute stands a second later, so that both count, in order."""
        taken = {slot[0] for slot in self.slots if self._follows(entry, slot)}
        when = entry.when
        while when in taken:
            when += timedelta(seconds=1)
        return replace(entry, when=when)

    @staticmethod
    def _follows(entry: Entry, slot: tuple[datetime, str, What]) -> bool:
        """Whether an entry must not stand at the same moment as another."""
        _, animal, what = slot
        both = entry.what in _STATES and what in _STATES
        return animal == entry.animal.lower() and (both or what is entry.what)

    # --- what is asked about ---------------------------------------------------------------

    def _ask(self, question: str, animal: Animal, **values: object) -> None:
        text = say(f"record.asks.{question}", animal=animal.name, **values)
        self.questions.append(Question(_KINDS.get(question, question), text))

    def _weight(self, animal: Animal, entry: Entry) -> None:
        unsure = replace(entry, note="")
        _, faults = with_entries(animal, [unsure], self.read.now)
        mine = [f for f in faults if f.where == f"weight of {entry.day}"]
        if mine:
            text = " ".join(part for part in (_sentence(mine[0].problem), mine[0].remedy) if part)
            self.questions.append(Question("weight", text))
        before = [w for w in animal.all_weights if w.day < entry.day]
        weighing = next(
            w for w in with_entries(animal, [replace(entry, note=SURE)], self.read.now)[0].weighings
            if w.day == entry.day
        )  # fmt: skip
        leap = out_of_line(animal, before, weighing)
        if leap is not None:
            self.notes.append(
                say("record.leap", kilograms=f"{leap.kilograms:.3g}", day=leap.day,
                    animal=animal.name)
            )  # fmt: skip

    def _creep(self, animal: Animal, entry: Entry) -> None:
        most = value("creep-most") * animal.last_weight.kilograms
        if entry.amount > most:
            kilograms = animal.last_weight.kilograms
            self._ask("creep", animal, grams=entry.amount, most=most, kilograms=kilograms)

    def _fed(self, animal: Animal, entry: Entry) -> None:
        """Ask about a feed that is too much, too soon, or must not be."""
        kitchen = self.read.flock.kitchen
        # A feed of this minute comes after what was seen in it.
        at = max(self.read.now, entry.when) if self._now(entry) else entry.when
        milk, day = self._today().get(animal.name, (None, None))
        colostrum = entry.what is What.COLOSTRUM
        barred = [
            bar for bar in bars_of(animal, milk, at) if bar.harm and not (colostrum and bar.of_milk)
        ]
        if barred:
            self._ask("not-fed", animal, why=barred[0].text)
        if not colostrum and is_newborn(animal, at):
            name = "first-day" if animal.hour else "first-day-unsure"
            until = f"{animal.colostrum_until:%Y-%m-%d %H:%M}"
            self._ask(name, animal, until=until)
        allowed = colostrum_limits(animal) if is_newborn(animal, at) else limits(animal, at, day)
        amount = bottle_words(entry.amount, kitchen)
        too_much = entry.amount > value("cap-over") * allowed.cap
        if too_much:
            kilograms = animal.last_weight.kilograms
            cap = bottle_words(allowed.cap, kitchen)
            self._ask("amount", animal, amount=amount, cap=cap, kilograms=kilograms)
        feeds = fed(animal, max(self.read.now, at) + CLOCKS)
        self._gap(animal, entry, feeds, allowed)
        self._apart(animal, entry, animal.drinks, "drink")
        if not too_much:
            self._day(animal, entry, feeds, allowed)

    def _now(self, entry: Entry) -> bool:
        """Whether it happens in this minute."""
        return entry.when >= self.read.now.replace(second=0, microsecond=0)

    def _drink(self, animal: Animal, entry: Entry) -> None:
        """Ask about a drink that is too much, too near the milk, or must not be."""
        at, kitchen = entry.when, self.read.flock.kitchen
        barred = [bar for bar in bars_of(animal, None, at) if bar.harm]
        if barred:
            self._ask("not-fed", animal, why=barred[0].text)
        kilograms = animal.last_weight.kilograms
        cap = limits(animal, at).cap
        if entry.amount > value("cap-over") * cap:
            self._ask(
                "amount",
                animal,
                amount=bottle_words(entry.amount, kitchen),
                cap=bottle_words(cap, kitchen),
                kilograms=kilograms,
            )
        day = drinks_within(animal, at, 24)
        total = entry.amount + sum(one.millilitres for one in day)
        most = value("day-over") * value("drink-day-clear") * kilograms
        if total > most:
            self._ask(
                "drink-day",
                animal,
                total=bottle_words(total, kitchen),
                most=bottle_words(most, kitchen),
            )
        self._apart(animal, entry, fed(animal, max(self.read.now, at) + CLOCKS), "milk")
        if scour_day(animal, at) > 1:
            self.notes.append(say("record.drink-long", animal=animal.name))

    def _meanwhile(self, animal: Animal, last_seen: datetime) -> None:
        """Ask about a feed that whoever writes this cannot have known of."""
        since = local(last_seen).replace(second=0, microsecond=0)
        until = self.read.now + CLOCKS
        had = [*fed(animal, until), *(one for one in animal.drinks if one.at <= until)]
        unknown = [one for one in had if one.at >= since]
        if not unknown:
            return
        newest = max(unknown, key=lambda one: one.at)
        amount = bottle_words(newest.millilitres, self.read.flock.kitchen)
        self._ask(
            "meanwhile-by" if newest.by else "meanwhile",
            animal,
            amount=amount,
            at=f"{newest.at:%H:%M}",
            by=newest.by,
        )

    def _apart(
        self, animal: Animal, entry: Entry, others: Sequence[Fed | DrinkHad], what: str
    ) -> None:
        """Ask about milk and drink too close together."""
        near = [one for one in others if abs(one.at - entry.when) < apart()]
        if near:
            nearest = min(near, key=lambda one: abs(one.at - entry.when))
            self._ask(
                f"apart-{what}",
                animal,
                between=duration(abs(nearest.at - entry.when)),
                at=f"{nearest.at:%H:%M}",
                hours=int(value("drink-milk-gap")),
            )

    def _gap(self, animal: Animal, entry: Entry, feeds: Sequence[Fed], allowed: FeedLimits) -> None:
        near = [one for one in feeds if passed(one.at, entry.when) < allowed.gap]
        together = entry.amount + sum(one.millilitres for one in near)
        if not near or together <= value("cap-over") * allowed.feed:
            return
        kitchen = self.read.flock.kitchen
        nearest = min(near, key=lambda one: abs(one.at - entry.when))
        name = "gap-after" if nearest.at > entry.when else "gap"
        if name == "gap" and self._now(entry):
            name = "gap-now"
        what = say(f"record.{'colostrum' if isinstance(nearest, ColostrumHad) else 'milk'}")
        until = over(max(one.at for one in near), allowed.gap)
        self._asks_of_gap = True
        self._ask(
            f"{name}-by" if nearest.by else name,
            animal,
            between=duration(passed(nearest.at, entry.when)),
            amount=bottle_words(nearest.millilitres, kitchen),
            what=what,
            at=f"{nearest.at:%H:%M}",
            by=nearest.by,
            until=f"{until:%H:%M}",
        )

    def _day(self, animal: Animal, entry: Entry, feeds: Sequence[Fed], allowed: FeedLimits) -> None:
        ends = [entry.when, *(f.at for f in feeds if f.at > entry.when)]
        sums = [
            fed_within(feeds, end) + entry.amount
            for end in ends
            if end - entry.when < timedelta(hours=23)
        ]
        if max(sums) > value("day-over") * allowed.day:
            kitchen = self.read.flock.kitchen
            self._ask("day", animal, total=bottle_words(max(sums), kitchen),
                      day=bottle_words(allowed.day, kitchen))  # fmt: skip

    def _today(self) -> dict[str, tuple[FedMilk, DayFeed | None]]:
        """Each animal's milk and day by the plan; empty if it cannot be planned."""
        if self._days is None:
            self._days = {}
            try:
                pantry = self.pantry or pantry_of(self.read.flock)
                milks = milks_of(self.read, pantry)
                plans = plans_of(self.read, milks, days=1)
            except InputError:  # a feed is written down all the same
                return self._days
            for milk, plan in zip(milks, plans, strict=True):
                planned = () if plan is None else plan.flock.names
                for name in milk.animals:
                    day = None
                    if plan is not None and name in planned:
                        day = plan.day_feed(planned.index(name), 0)
                    self._days[name] = milk, day
        return self._days


def _without(animal: Animal, entry: Entry) -> Animal:
    """An animal as if a feed had not been logged; other entries are kept as they are."""
    return replace(
        animal,
        milk=tuple(one for one in animal.milk if one.at != entry.when or not entry.what.fed),
        colostrum=tuple(
            one for one in animal.colostrum if one.at != entry.when or not entry.what.fed
        ),
        drinks=tuple(
            one for one in animal.drinks if one.at != entry.when or entry.what is not What.DRINK
        ),
    )


def _ending(how: str) -> str:
    found = how.strip().lower()
    if found not in ENDINGS:
        raise InputError(
            say("record.ending.unknown", how=how.strip()[:40]), say("record.ending.write")
        )
    return found


def _sentence(text: str) -> str:
    return text if text.endswith((".", "?", "!")) else f"{text}."


def _about(entry: Entry, at: datetime) -> bool:
    if not entry.what.timed:
        return entry.day == at.date()
    return entry.when.replace(second=0) == at.replace(second=0, microsecond=0)
