"""What instruments read, and what probably went wrong, in words and as JSON."""

from __future__ import annotations

from typing import Any

from formulate.base import messages
from formulate.base.messages import listed
from formulate.foods.food import Composition
from formulate.instruments.diagnosis import Explained, Slip, SlipKind
from formulate.instruments.hold import HeldRecipe
from formulate.instruments.readings import Instrument, Reading
from formulate.instruments.rules import Outside, instrument_data
from formulate.report import words as say

__all__ = ["instruments_answer", "instruments_lines", "instruments_shape", "slip_words"]

Shape = dict[str, Any]

#: How many slips to list after the likeliest.
_ALSO = 4
#: Two slips whose scores differ by less than this can hardly be told apart.
_ALIKE = 2.0
_SWEETENED = "sweetened-condensed-milk"


def instruments_lines(found: Explained) -> list[str]:
    """Each reading against the recipe, then the slips that explain it."""
    lines = [
        messages.say("instruments.title"),
        *say.table([_row(h) for h in found.held], right=(1, 4)),
    ]
    for held in found.held:
        lines += [say.bullet(note) for note in _notes(held)]
    return [*lines, "", *(_agreed(found) if found.agrees else _slips(found))]


def instruments_answer(found: Explained) -> str:
    """Whether the readings agree with the recipe, in a sentence."""
    if found.agrees:
        return messages.say("instruments.agree")
    wrong = [_name(held.reading) for held in found.held if not held.agrees]
    told = messages.say("instruments.disagree", names=listed(wrong))
    return say.bullet(messages.say("instruments.of-the-recipe", told=told), "")


def slip_words(slip: Slip) -> str:
    """What went wrong: "the nonfat dry milk was left out"."""
    food, taken = _plain(slip.food), _plain(slip.taken)
    return {
        SlipKind.LEFT_OUT: messages.say("instruments.slip.left-out", food=food),
        SlipKind.DOUBLED: messages.say("instruments.slip.twice", food=food),
        SlipKind.MORE: messages.say("instruments.slip.too-much", amount=slip.amount, food=food),
        SlipKind.LESS: messages.say("instruments.slip.too-little", amount=slip.amount, food=food),
        SlipKind.SWAPPED: messages.say("instruments.slip.instead", taken=taken, food=food),
        SlipKind.WATER: messages.say("instruments.slip.water", amount=slip.amount),
    }[slip.kind]


def _plain(food: str) -> str:
    return food.replace("-", " ")


def _name(reading: Reading) -> str:
    """What was read, within a sentence."""
    if reading.instrument is Instrument.WEIGHING:
        return messages.say("instruments.weight-of", what=reading.words)
    return str(instrument_data(reading.instrument)["title"])


def _title(reading: Reading) -> str:
    name = _name(reading)
    return name[0].upper() + name[1:]


def _value(reading: Reading, value: float, unit: bool = True) -> str:
    entry = instrument_data(reading.instrument)
    shown = f"{value:,.{entry['decimals']}f}".replace("-", "−")
    return f"{shown} {entry['unit']}" if unit else shown


def _row(held: HeldRecipe) -> tuple[str, ...]:
    reading = held.reading
    return (
        _title(reading),
        _value(reading, reading.value, unit=False),
        str(instrument_data(reading.instrument)["unit"]),
        messages.say("instruments.should-read"),
        _value(reading, held.should_read, unit=False),
        f"± {_value(reading, held.error, unit=False)}",
        _verdict(held),
    )


def _verdict(held: HeldRecipe) -> str:
    if held.agrees:
        return "agrees"
    by = _value(held.reading, abs(held.off), unit=False)
    if held.reading.instrument is Instrument.FREEZING_POINT:
        return (
            messages.say("instruments.too-near-zero", by=by)
            if held.off > 0
            else messages.say("instruments.too-far-below", by=by)
        )
    return messages.say(f"instruments.too-{'low' if held.off < 0 else 'high'}", by=by)


def _notes(held: HeldRecipe) -> list[str]:
    reading = held.reading
    notes = []
    if held.outside:
        there = "; ".join(_outside(o) for o in held.outside)
        notes.append(
            messages.say("instruments.no-formula", name=_name(reading), there=there)
            if held.rule
            else messages.say("instruments.no-density", there=there)
        )
    if reading.instrument is Instrument.LACTOMETER:
        notes.append(
            messages.say(
                "instruments.read-in",
                celsius=reading.celsius,
                marked=reading.marked,
                fahrenheit=reading.marked * 1.8 + 32,
            )
        )
    if reading.instrument is Instrument.FREEZING_POINT and not held.natural:
        notes.append(messages.say("instruments.freezing"))
    return notes


def _outside(out: Outside) -> str:
    return messages.say(
        "instruments.outside",
        value=say.number(out.value),
        what=messages.say(f"instruments.unit.{out.name}"),
        low=say.bound(out.low),
        high=say.bound(out.high),
    )


def _agreed(found: Explained) -> list[str]:
    """What such readings cannot rule out."""
    whole = (SlipKind.LEFT_OUT, SlipKind.DOUBLED, SlipKind.SWAPPED)
    hidden = [slip_words(slip) for slip in found.slips if slip.kind in whole and slip.explains]
    if found.unseen_water:
        hidden.append(messages.say("instruments.slip.unseen-water", amount=found.unseen_water))
    lines = [messages.say("instruments.no-slip")]
    if hidden:
        lines.append(messages.say("instruments.unseen"))
        lines += [say.bullet(text) for text in hidden]
    return lines


def _slips(found: Explained) -> list[str]:
    likely = found.likely
    if not likely:
        lines = [say.bullet(messages.say("instruments.no-single"), "")]
        if found.slips:
            nearest = found.slips[0]
            text = messages.say(
                "instruments.nearest", slip=slip_words(nearest), reads=_would_read(found, nearest)
            )
            lines.append(say.bullet(text))
        text = messages.say("instruments.stir")
        return [*lines, say.bullet(text)]
    best, *others = likely
    lines = [
        say.bullet(
            messages.say(
                "instruments.likeliest", slip=slip_words(best), reads=_would_read(found, best)
            ),
            "",
        ),
        say.bullet(f"{_then(found, best)} {_advice(best)}"),
    ]
    if others:
        lines.append(messages.say("instruments.also"))
        for slip in others[:_ALSO]:
            lines.append(say.bullet(f"{slip_words(slip)} ({_would_read(found, slip)})"))
        if others[0].score - best.score < _ALIKE:
            lines.append("  " + messages.say("instruments.alike"))
    lines.append(
        say.bullet(
            messages.say("instruments.no-proof"),
            "  ",
        )
    )
    return lines


def _would_read(found: Explained, slip: Slip) -> str:
    reads = [
        _value(held.reading, value) for held, value in zip(found.held, slip.would_read, strict=True)
    ]
    return messages.say("instruments.would-read", reads=listed(reads))


def _then(found: Explained, slip: Slip) -> str:
    composition = Composition.of(found.foods)
    used = slip.grams > 0
    total = slip.grams.sum()
    solids, fat = (
        100 * float(composition.row(name)[used] @ slip.grams[used]) / total
        for name in ("solids", "fat")
    )
    return messages.say("instruments.then-has", solids=say.number(solids), fat=say.number(fat))


def _advice(slip: Slip) -> str:
    if slip.kind in (SlipKind.LEFT_OUT, SlipKind.LESS):
        return messages.say("instruments.stir-in")
    if slip.kind is SlipKind.SWAPPED and slip.taken == _SWEETENED:
        return messages.say("instruments.sweetened")
    if slip.kind is SlipKind.SWAPPED:
        return messages.say("instruments.look")
    return messages.say("instruments.afresh")


def instruments_shape(found: Explained) -> Shape:
    """Readings and ranked slips, for JSON."""
    return {
        "readings_agree": found.agrees,
        "instruments": [_held_shape(held) for held in found.held],
        "recipe_chi_square": found.chi_square,
        "slips": [_slip_shape(found, slip) for slip in found.slips],
    }


def _held_shape(held: HeldRecipe) -> Shape:
    reading = held.reading
    shape: Shape = {
        "instrument": reading.instrument.value,
        "unit": instrument_data(reading.instrument)["unit"],
        "reads": reading.value,
        "should_read": held.should_read,
        "error": held.error,
        "agrees": held.agrees,
        "valid": held.valid,
        "outside": [
            {"what": o.name, "value": o.value, "low": o.low, "high": o.high} for o in held.outside
        ],
        "formula": held.rule or None,
        "source": held.source,
    }
    if reading.instrument in (Instrument.LACTOMETER, Instrument.WEIGHING):
        shape["celsius"] = reading.celsius
    if reading.instrument is Instrument.LACTOMETER:
        shape["marked_celsius"] = reading.marked
    if reading.instrument is Instrument.WEIGHING:
        shape["volume_ml"] = reading.volume
    return shape


def _slip_shape(found: Explained, slip: Slip) -> Shape:
    return {
        "what": slip_words(slip),
        "kind": slip.kind.value,
        "food": slip.food,
        "amount": slip.amount or None,
        "taken": slip.taken or None,
        "explains": slip.explains,
        "chi_square": slip.chi_square,
        "score": slip.score,
        "would_read": {
            held.reading.instrument.value: value
            for held, value in zip(found.held, slip.would_read, strict=True)
        },
    }
