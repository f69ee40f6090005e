"""What instruments read and what probably went wrong, in words and as JSON."""

from __future__ import annotations

from typing import Any

from formulate.base.messages import listed
from formulate.foods.food import Composition
from formulate.instruments.diagnosis import Explained, Slip, SlipKind
from formulate.instruments.hold import HeldRecipe
from formulate.instruments.readings import Instrument, Reading
from formulate.instruments.rules import Outside, instrument_data
from formulate.report import words as say

__all__ = ["instruments_answer", "instruments_lines", "instruments_shape", "slip_words"]

Shape = dict[str, Any]

#: Other slips told after the likeliest.
_ALSO = 4
#: Two slips whose scores differ by less are hardly told apart.
_ALIKE = 2.0
_SWEETENED = "sweetened-condensed-milk"
_RANGE_WORDS = {
    "solids": "% solids",
    "fat": "% fat",
    "solids-not-fat": "% solids that are not fat",
    "fat_share": "g of fat to a gram of other solids",
}


def instruments_lines(found: Explained) -> list[str]:
    """Each reading against the recipe, then the slips that explain it."""
    lines = ["What instruments read", *say.table([_row(h) for h in found.held], right=(1, 4))]
    for held in found.held:
        lines += [say.bullet(note) for note in _notes(held)]
    return [*lines, "", *(_agreed(found) if found.agrees else _slips(found))]


def instruments_answer(found: Explained) -> str:
    """Whether the readings agree with the recipe, in a sentence."""
    if found.agrees:
        return "The readings agree with the recipe."
    wrong = [_name(held.reading) for held in found.held if not held.agrees]
    told = f"Not as the recipe should read: {listed(wrong)}."
    return say.bullet(f"{told} The ranges were held to the recipe, not to what is in the jug.", "")


def slip_words(slip: Slip) -> str:
    """What went wrong: "the nonfat dry milk was left out"."""
    food, taken = _plain(slip.food), _plain(slip.taken)
    return {
        SlipKind.LEFT_OUT: f"the {food} was left out",
        SlipKind.DOUBLED: f"the {food} went in twice",
        SlipKind.MORE: f"{slip.amount} too much of the {food}",
        SlipKind.LESS: f"{slip.amount} too little of the {food}",
        SlipKind.SWAPPED: f"{taken} went in instead of the {food}",
        SlipKind.WATER: f"about {slip.amount} of water got in",
    }[slip.kind]


def _plain(food: str) -> str:
    return food.replace("-", " ")


def _name(reading: Reading) -> str:
    """What was read, within a sentence."""
    if reading.instrument is Instrument.WEIGHING:
        return f"weight of {reading.words}"
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
        "should read",
        _value(reading, held.should_read, unit=False),
        f"± {_value(reading, held.error, unit=False)}",
        _verdict(held),
    )


def _verdict(held: HeldRecipe) -> str:
    if held.agrees:
        return "agrees"
    by = _value(held.reading, abs(held.off), unit=False)
    if held.reading.instrument is Instrument.FREEZING_POINT:
        return f"too near to zero by {by}" if held.off > 0 else f"too far below zero by {by}"
    return f"too {'low' if held.off < 0 else 'high'} by {by}"


def _notes(held: HeldRecipe) -> list[str]:
    reading = held.reading
    notes = []
    if held.outside:
        there = "; ".join(_outside(o) for o in held.outside)
        notes.append(
            f"No published formula of the {_name(reading)} is for a milk like this one: {there}. "
            "Its error is widened for that."
            if held.rule
            else f"The density of a milk like this one is not checked: {there}."
        )
    if reading.instrument is Instrument.LACTOMETER:
        notes.append(
            f"Read in milk of {reading.celsius:.0f} °C, by a lactometer marked for "
            f"{reading.marked:.0f} °C ({reading.marked * 1.8 + 32:.0f} °F). If the stem says "
            "otherwise, add --lactometer-marked."
        )
    if reading.instrument is Instrument.FREEZING_POINT and not held.natural:
        notes.append(
            "The freezing point of anything but plain cow's milk is an estimate, good to ±15 %: "
            "it cannot show a little added water. Read a batch that you trust; from then on, "
            "each 1 % nearer to zero is about 1 % of water more."
        )
    return notes


def _outside(out: Outside) -> str:
    return (
        f"{say.number(out.value)} {_RANGE_WORDS[out.name]}, "
        f"where {say.bound(out.low)} to {say.bound(out.high)} are known"
    )


def _agreed(found: Explained) -> list[str]:
    """What such readings cannot rule out."""
    whole = (SlipKind.LEFT_OUT, SlipKind.DOUBLED, SlipKind.SWAPPED)
    hidden = [slip_words(slip) for slip in found.slips if slip.kind in whole and slip.explains]
    if found.unseen_water:
        hidden.append(f"up to {found.unseen_water} of water got in")
    lines = ["Nothing points to a slip."]
    if hidden:
        lines.append("They would read so, within their error, even if")
        lines += [say.bullet(text) for text in hidden]
    return lines


def _slips(found: Explained) -> list[str]:
    likely = found.likely
    if not likely:
        lines = [say.bullet("No single slip explains this.", "")]
        if found.slips:
            nearest = found.slips[0]
            text = f"The nearest: {slip_words(nearest)} ({_would_read(found, nearest)})."
            lines.append(say.bullet(text))
        text = "Stir well, check the instrument in clean water, and read again before you feed it."
        return [*lines, say.bullet(text)]
    best, *others = likely
    lines = [
        say.bullet(f"The likeliest slip: {slip_words(best)} ({_would_read(found, best)}).", ""),
        say.bullet(f"{_then(found, best)} {_advice(best)}"),
    ]
    if others:
        lines.append("Also possible, the likelier first:")
        for slip in others[:_ALSO]:
            lines.append(say.bullet(f"{slip_words(slip)} ({_would_read(found, slip)})"))
        if others[0].score - best.score < _ALIKE:
            lines.append("  These readings hardly tell the first two apart.")
    lines.append(
        say.bullet(
            "This points to a slip; it proves none. Look how full the packages are, before you "
            "feed it.",
            "  ",
        )
    )
    return lines


def _would_read(found: Explained, slip: Slip) -> str:
    reads = [
        _value(held.reading, value) for held, value in zip(found.held, slip.would_read, strict=True)
    ]
    return f"would read {listed(reads)}"


def _then(found: Explained, slip: Slip) -> str:
    composition = Composition.of(found.foods)
    used = slip.grams > 0
    total = slip.grams.sum()
    solids, fat = (
        100 * float(composition.row(name)[used] @ slip.grams[used]) / total
        for name in ("solids", "fat")
    )
    return f"It would then have {say.number(solids)} % solids and {say.number(fat)} % fat."


def _advice(slip: Slip) -> str:
    if slip.kind in (SlipKind.LEFT_OUT, SlipKind.LESS):
        return "If so, stir in what is missing, and read again."
    if slip.kind is SlipKind.SWAPPED and slip.taken == _SWEETENED:
        return "Look at the can: this milk is nearly half sugar. Do not feed it."
    if slip.kind is SlipKind.SWAPPED:
        return "Look at the package."
    return "If so, mix afresh, or add the other foods in proportion and read again."


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
