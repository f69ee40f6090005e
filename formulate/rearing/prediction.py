"""Predict how fast a lamb or kid grows on its feed, and how far one animal may differ.

The gain is what energy (`formulate.rearing.energy`) and protein (`formulate.rearing.meaning`) both
allow. Its spread is a prediction interval: of healthy animals on this feed 19 in 20 should lie
within it. Three things widen it: animals differ, the equation may be wrong for all of them, and the
scale may be wrong twice.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from formulate.base.errors import InputError
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

WEEK = 7
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
    energy: float | Callable[[float], float] | None = None,
    protein: float | Callable[[float], float] | None = None,
    *,
    milk: Milk | None = None,
    litres: float | None = None,
    species: Species | str = Species.LAMB,
    creep: float = 0.0,
    days: int = WEEK,
    count: int = 1,
    sex: str = "",
    cold: bool = False,
) -> GainForecast:
    """Predict daily gain on a feed, day by day from a starting weight.

    Parameters
    ----------
    weight : float
        At the start [kg].
    energy : float or callable, optional
        Metabolisable energy of the milk [MJ/d]; a callable is asked anew each day with the weight
        [kg]. Left out where `milk` and `litres` are given.
    protein : float or callable, optional
        Crude protein of the milk [g/d], likewise; None: plenty.
    milk : Milk, optional
        With `litres` of it a day [L/d].
    litres : float, optional
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
        If there is no energy, or the weight, days or count are not above zero.

    Notes
    -----
    Age makes no difference to the equations; it bounds the feeds (`formulate.rearing.portions`).

    Examples
    --------
    >>> low, expected, high = predicted_gain(6.0, energy=5.0)
    >>> round(1e3 * expected)
    186
    """
    if not (weight > 0 and days > 0 and count > 0):
        raise InputError(say("growth.predict.above-zero"))
    if milk is not None and litres is not None:
        energy, protein = milk.energy * litres, protein_of(milk) * litres
    if energy is None:
        raise InputError(say("growth.predict.no-energy"))
    kid = Species(species) is Species.KID
    more = value("cold-keep") if cold else 1.0
    if kid and sex:
        more *= value(f"maintenance-kid-{sex}")
    of_creep = creep / 1e3 * value("creep-energy")
    now = weight
    for _ in range(days):
        of_milk = energy(now) if callable(energy) else energy
        eaten = np.inf
        if protein is not None:
            eaten = protein(now) if callable(protein) else protein
        eaten += creep * value("creep-protein")
        now += float(todays_gain(of_milk + of_creep, eaten, now, kid, more))
        now = max(now, 0.1 * weight)
    expected, half = (now - weight) / days, gain_half(days, count)
    return GainForecast(expected - half, expected, expected + half)
