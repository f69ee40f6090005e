"""Predict how fast a lamb or kid grows on its feed, and how far one animal may differ.

The gain is what energy (`formulate.rearing.energy`) and protein (`formulate.rearing.meaning`) both
allow. Its spread is a prediction interval: of healthy animals on this feed 19 in 20 should lie
within it. Three things widen it: animals differ, the equation may be wrong for all of them, and the
scale may be wrong twice.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from numbers import Integral
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from formulate.base.errors import InputError, UnknownName
from formulate.base.messages import say
from formulate.rearing.energy import gain_of_energy
from formulate.rearing.figures import value
from formulate.rearing.flock import Species
from formulate.rearing.meaning import protein_gain, protein_of
from formulate.rearing.milk import Milk

__all__ = [
    "WEEK",
    "GainForecast",
    "gain_half",
    "gain_sd",
    "predicted_gain",
    "todays_gain",
    "weight_half",
]

Array = NDArray[np.float64]
#: An amount of each day, the same or by the weight [kg].
Daily = float | Callable[[float], float]

WEEK = 7
#: What `predicted_gain` knows of a kid's sex.
_SEXES = ("", "male", "female")
#: Half-width of an interval that holds 19 in 20, in standard deviations of a normal variable.
NINETEEN_IN_TWENTY = 1.96


class GainForecast(NamedTuple):
    """Daily gain [kg/d]: expected, and the interval that holds 19 animals (or means) in 20."""

    low: float
    expected: float
    high: float


def todays_gain(
    energy: ArrayLike,
    protein: ArrayLike,
    weight: ArrayLike,
    kid: ArrayLike = False,
    more_keep: float = 1.0,
) -> Array:
    """Expected gain of a day [kg/d]: what energy allows, or protein where that is less.

    Parameters
    ----------
    energy : array_like
        Metabolisable [MJ/d].
    protein : array_like
        Crude protein [g/d].
    weight : array_like
        [kg].
    kid : array_like of bool
    more_keep : float
        What the cold, or the animal's sex, makes of the energy that keeps it [MJ/MJ].
    """
    by_energy = gain_of_energy(energy, weight, kid, more_keep)
    return np.minimum(by_energy, protein_gain(weight, protein))


def _sd_of_feed(count: int = 1) -> float:
    """Of animals and of the equation [kg/d]; of the mean of `count` animals."""
    return math.hypot(value("gain-spread") / math.sqrt(count), value("equation-spread"))


def _sd_of_scale() -> float:
    """Of the difference of two weights [kg]: each anywhere within the scale's error."""
    return math.sqrt(2 / 3) * value("scale-error")


def gain_sd(days: float, count: int = 1) -> float:
    """Standard deviation of a gain by the scale over some days [kg/d].

    Parameters
    ----------
    days : float
        Between the two weighings [d].
    count : int
        Of how many animals the gain is the mean.

    Examples
    --------
    >>> round(1e3 * gain_sd(7), 1)
    40.3
    """
    return math.hypot(_sd_of_feed(count), _sd_of_scale() / math.sqrt(count) / days)


def gain_half(days: float, count: int = 1) -> float:
    """Half-width of the prediction interval of a gain over some days [kg/d].

    Examples
    --------
    >>> round(1e3 * gain_half(7))
    79
    """
    return NINETEEN_IN_TWENTY * gain_sd(days, count)


def weight_half(days: ArrayLike) -> Array:
    """Half-width of the prediction interval of a weight, so many days after a weighing [kg]."""
    grown = _sd_of_feed() * np.asarray(days, float)
    return np.asarray(NINETEEN_IN_TWENTY * np.hypot(grown, _sd_of_scale() / math.sqrt(2)))


def predicted_gain(
    weight: float,
    energy: Daily | None = None,
    protein: Daily | None = None,
    *,
    milk: Milk | None = None,
    litres: Daily | None = None,
    dry_matter: Daily | None = None,
    species: Species | str = Species.LAMB,
    creep: float = 0.0,
    days: int = WEEK,
    count: int = 1,
    sex: str = "",
    cold: bool = False,
) -> GainForecast:
    """Predict daily gain on a feed, day by day from a starting weight.

    The feed is a `milk` with the `litres` or the `dry_matter` drunk, or `energy` and `protein`.
    Each amount is a number, or a callable that is asked anew each day with the weight [kg].

    Parameters
    ----------
    weight : float
        At the start [kg].
    energy : float or callable, optional
        Metabolisable energy of the milk [MJ/d].
    protein : float or callable, optional
        Crude protein of the milk [g/d]; None: plenty.
    milk : Milk, optional
        `formulate.rearing.milk.milk_of_dry_matter` makes one by the fat and protein of a powder.
    litres : float or callable, optional
        Of `milk` [L/d].
    dry_matter : float or callable, optional
        Of `milk` [g/d], instead of litres.
    species : Species or str
        "lamb" or "kid".
    creep : float
        Eaten beside the milk, as fed [g/d].
    days : int
        Over which the gain is the mean.
    count : int
        Animals whose mean gain is predicted; 1: one animal's own.
    sex : str
        Of a kid: "male", "female" (wethers too), or "" where it is not known. Lambs' accounts make
        no difference.
    cold : bool
        Whether they are housed in the cold.

    Returns
    -------
    GainForecast
        low, expected, high [kg/d]. The interval counts on a scale at both ends.

    Raises
    ------
    InputError
        If there is no feed or two, or a number is not possible.

    Notes
    -----
    Age makes no difference to the equations; it bounds the feeds (`formulate.rearing.portions`).

    Examples
    --------
    >>> low, expected, high = predicted_gain(6.0, energy=5.0)
    >>> round(1e3 * expected)
    186

    Eight lambs of 4 kg on 193 g a day of powder dry matter, 31 % fat and 23 % protein, four weeks:

    >>> from formulate.rearing.milk import milk_of_dry_matter
    >>> powder = milk_of_dry_matter(fat=31, protein=23)
    >>> gain = predicted_gain(4.0, milk=powder, dry_matter=193, days=28, count=8)
    >>> [round(1e3 * part) for part in gain]
    [113, 158, 204]
    """
    _refuse_what_cannot_be(weight, creep, days, count, sex)
    kid = _species(species) is Species.KID
    of_milk, eaten = _feed(energy, protein, milk, litres, dry_matter)
    plenty = milk is None and protein is None
    more = value("cold-keep") if cold else 1.0
    if kid and sex:
        more *= value(f"maintenance-kid-{sex}")
    more_energy, more_protein = creep / 1e3 * value("creep-energy"), creep * value("creep-protein")
    now = float(weight)
    for _ in range(days):
        drunk, crude = _amount(of_milk, now), math.inf if plenty else _amount(eaten, now)
        now += float(todays_gain(drunk + more_energy, crude + more_protein, now, kid, more))
        now = max(now, 0.1 * weight)
    expected, half = (now - weight) / days, gain_half(days, count)
    return GainForecast(expected - half, expected, expected + half)


def _species(name: Species | str) -> Species:
    try:
        return Species(name)
    except ValueError:
        raise UnknownName("species", str(name), [one.value for one in Species]) from None


def _refuse_what_cannot_be(weight: float, creep: float, days: int, count: int, sex: str) -> None:
    whole = all(isinstance(one, Integral) for one in (days, count))
    if not (whole and 0 < weight < math.inf and days > 0 and count > 0):
        raise InputError(say("growth.predict.above-zero"))
    if not 0 <= creep < math.inf:
        raise InputError(say("growth.predict.no-amount", amount=creep))
    if sex not in _SEXES:
        raise UnknownName("sex", sex, [one for one in _SEXES if one])


def _feed(
    energy: Daily | None,
    protein: Daily | None,
    milk: Milk | None,
    litres: Daily | None,
    dry_matter: Daily | None,
) -> tuple[Daily, Daily]:
    """Energy [MJ/d] and protein [g/d] of what is drunk."""
    if milk is None and litres is None and dry_matter is None and energy is not None:
        return energy, 0.0 if protein is None else protein
    given = litres if dry_matter is None else dry_matter
    both = litres is not None and dry_matter is not None
    if milk is None or given is None or both or energy is not None or protein is not None:
        raise InputError(say("growth.predict.no-energy"))
    share = 1.0 if dry_matter is None else 1 / milk.solids_per_litre  # L in each unit given
    return _times(given, share * milk.energy), _times(given, share * protein_of(milk))


def _times(amount: Daily, factor: float) -> Daily:
    if callable(amount):
        asked = amount
        return lambda weight: factor * asked(weight)
    return factor * amount


def _amount(daily: Daily, weight: float) -> float:
    found = daily(weight) if callable(daily) else daily
    if not 0 <= found < math.inf:
        raise InputError(say("growth.predict.no-amount", amount=found))
    return found
