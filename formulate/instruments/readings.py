"""What an instrument shows, as people type it: ``13.5``, ``32`` at ``20 C``, ``1 cup = 251 g``."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from enum import StrEnum

from formulate.base.errors import InputError, UnitError
from formulate.base.messages import say
from formulate.base.units import Kitchen, UnitKind, parse_amount, parse_volume, with_points
from formulate.instruments.rules import limits, temperatures

__all__ = ["Instrument", "Reading", "parse_readings", "parse_temperature"]

#: Temperature of a density that is given without one.
ROOM = 20.0
#: What most lactometers are marked for: 60 °F.
USUAL_MARK = 15.56
#: Densities [g/mL] outside which something else was weighed than milk without its cup.
_LIGHTEST, _HEAVIEST = 0.85, 1.25

_NUMBER = re.compile(r"\s*([-−+]?(?:\d+(?:\.\d*)?|\.\d+))\s*(.*?)\s*")
_TEMPERATURE_WORDS = {
    "c": "C",
    "°c": "C",
    "deg c": "C",
    "degrees c": "C",
    "degrees celsius": "C",
    "centigrade": "C",
    "celsius": "C",
    "f": "F",
    "°f": "F",
    "deg f": "F",
    "degrees f": "F",
    "degrees fahrenheit": "F",
    "fahrenheit": "F",
}


class Instrument(StrEnum):
    """What was read; the name is that of the tables."""

    BRIX = "brix"
    LACTOMETER = "lactometer"
    FREEZING_POINT = "freezing-point"
    WEIGHING = "weighing"


@dataclass(frozen=True, slots=True)
class Reading:
    """What an instrument shows.

    Parameters
    ----------
    instrument : Instrument
    value : float
        °Brix, lactometer degrees, °C, or the weight [g] of `volume`.
    celsius : float
        Temperature of the milk [°C]; only density asks for it.
    marked : float
        Temperature that the lactometer is marked for [°C].
    volume : float
        What was weighed [mL]; 0 for the others.
    words : str
        What was weighed, as typed.
    """

    instrument: Instrument
    value: float
    celsius: float = ROOM
    marked: float = USUAL_MARK
    volume: float = 0.0
    words: str = ""

    def __post_init__(self) -> None:
        low, high = limits(self.instrument)
        if self.instrument is Instrument.FREEZING_POINT and self.value >= 0:
            raise InputError(
                say("instruments.not-below-zero", value=self.value),
                say(f"instruments.usual.{self.instrument}"),
            )
        if not low <= self.value <= high:  # NaN too
            raise InputError(
                say(
                    "instruments.not-milk",
                    reading=say(f"instruments.reading.{self.instrument}"),
                    value=self.value,
                ),
                say(f"instruments.usual.{self.instrument}"),
            )
        for celsius in (self.celsius, self.marked):
            _check_temperature(celsius)
        if self.instrument is not Instrument.WEIGHING:
            return
        if not (math.isfinite(self.volume) and self.volume > 0):
            raise InputError(say("instruments.nothing-weighed"), say("instruments.write-weighed"))
        if not _LIGHTEST <= self.value / self.volume <= _HEAVIEST:
            raise InputError(
                say("instruments.weight", volume=self.volume, grams=self.value),
                say("instruments.weight-remedy", grams=1.03 * self.volume),
            )


def _check_temperature(celsius: float) -> None:
    coldest, warmest = temperatures()
    if not coldest <= celsius <= warmest:
        raise InputError(
            say("instruments.too-hot", celsius=celsius, coldest=coldest, warmest=warmest),
            say("instruments.too-hot-remedy"),
        )


def parse_temperature(text: str) -> float:
    """Read "20 C" or "68 F" [°C].

    Raises
    ------
    UnitError
        Without a unit: 20 might be either.
    InputError
        If it is no temperature.
    """
    found = _NUMBER.fullmatch(with_points(text))
    if not found:
        raise InputError(
            say("instruments.no-temperature", text=text.strip()),
            say("instruments.write-temperature"),
        )
    number = float(found[1].replace("−", "-"))
    unit = _TEMPERATURE_WORDS.get(" ".join(found[2].lower().rstrip(".").split()))
    if unit is None:
        if found[2]:
            problem = say("instruments.no-unit", unit=found[2], text=text.strip())
        else:
            problem = say("instruments.unit-missing", text=text.strip())
        raise UnitError(problem, say("instruments.write-temperature"))
    return number if unit == "C" else (number - 32) / 1.8


def parse_readings(
    kitchen: Kitchen,
    *,
    brix: str | None = None,
    lactometer: str | None = None,
    at: str | None = None,
    marked: str | None = None,
    freezing_point: str | None = None,
    weigh: str | None = None,
) -> tuple[Reading, ...]:
    """Read what a person typed; what is None was not read.

    Parameters
    ----------
    kitchen : Kitchen
        Whose cup was weighed.
    brix, lactometer, freezing_point : str, optional
        Numbers; their usual units may follow.
    at : str, optional
        Temperature of the milk; a lactometer reading needs it.
    marked : str, optional
        Temperature that the lactometer is marked for; 60 °F.
    weigh : str, optional
        "1 cup = 251 g".

    Raises
    ------
    InputError
        Naming the option.
    """
    if lactometer is not None and at is None:
        raise InputError(
            say("instruments.needs-temperature"), say("instruments.needs-temperature-remedy")
        )
    if at is not None and lactometer is None and weigh is None:
        raise InputError(
            say("instruments.idle-temperature"),
            say("instruments.idle-temperature-remedy"),
        )
    if marked is not None and lactometer is None:
        raise InputError(say("instruments.no-lactometer"), say("instruments.no-lactometer-remedy"))
    found = []
    if brix is not None:
        with _Place("--brix"):
            found.append(Reading(Instrument.BRIX, _number(brix, ("", "%", "°bx", "brix", "°brix"))))
    celsius = ROOM
    if at is not None:
        with _Place("--temperature"):
            celsius = parse_temperature(at)
            _check_temperature(celsius)
    mark = USUAL_MARK
    if marked is not None:
        with _Place("--lactometer-marked"):
            mark = parse_temperature(marked)
            _check_temperature(mark)
    if lactometer is not None:
        with _Place("--lactometer"):
            value = _number(lactometer, ("", "degrees", "°", "°l", "l"))
            found.append(Reading(Instrument.LACTOMETER, value, celsius, mark))
    if freezing_point is not None:
        with _Place("--freezing-point"):
            value = _number(freezing_point, ("", "c", "°c"))
            found.append(Reading(Instrument.FREEZING_POINT, value))
    if weigh is not None:
        with _Place("--weigh"):
            found.append(_weighing(weigh, kitchen, celsius))
    return tuple(found)


class _Place:
    """Name the option with an error."""

    def __init__(self, option: str) -> None:
        self.option = option

    def __enter__(self) -> None:
        return None

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> None:
        if isinstance(error, InputError):
            error.at(self.option)


def _number(text: str, units: tuple[str, ...]) -> float:
    found = _NUMBER.fullmatch(with_points(text))
    if not found:
        raise InputError(
            say("instruments.no-number", text=text.strip()), say("instruments.write-number")
        )
    if found[2].lower() not in units:
        raise InputError(
            say("instruments.not-its-unit", unit=found[2]), say("instruments.write-number")
        )
    return float(found[1].replace("−", "-"))


def _weighing(text: str, kitchen: Kitchen, celsius: float) -> Reading:
    what, equals, weight = (part.strip() for part in text.partition("="))
    if not (what and equals and weight):
        raise InputError(
            say("instruments.what-weighs", text=text.strip()), say("instruments.write-weighed")
        )
    volume = parse_volume(what, kitchen)
    amount = parse_amount(weight)
    if amount.kind not in (UnitKind.MASS, UnitKind.OUNCE):
        raise UnitError(say("instruments.no-weight", text=weight), say("instruments.write-weighed"))
    return Reading(Instrument.WEIGHING, amount.size(kitchen), celsius, volume=volume, words=what)
