"""Energy of lambs and kids on milk: what they need to live, and the gain the rest supports.

Energy is metabolisable [MJ/d], weight W in kg, gain G in kg/d.

Lambs: the mean of all three published accounts of lambs fed milk by hand, none of which fits every
trial. Two of them say how much energy is kept in the body; the mean of both becomes gain by one
curve. One set of efficiencies serves every milk, that of Walker & Norton's milk of 28.5 % protein
in dry matter: protein acts on its own (`formulate.rearing.meaning`), since their figures for other
shares of protein would make more protein look worse.

======================  ==========================  =======================================
account                 keeps                       gains
======================  ==========================  =======================================
Danso et al. 2016       0.40 W                      G = (E - keep) / 13.8
Jagusch & Mitchell '71  145.2 kcal W^0.75           0.769 (E - keep) is kept in the body
Walker & Norton 1971    100.4 kcal W^0.73           0.679 (E - keep) is kept in the body
======================  ==========================  =======================================

What is kept in the body becomes gain by Mantecón et al. 1987::

    kept = -0.17 + 15.19 G - 16.32 G/W - 219.57 (G/W)²

Kids: Luo et al. 2004, as Langston University gives it: 0.485 MJ W^0.75 keeps one (males 7.5 % more,
females as much less), and 13.4 MJ make a kilogram of gain.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from formulate.rearing.figures import CALORIE, figure, value

__all__ = ["energy_for", "gain_from_kept", "gain_of_energy", "keep", "least_gain"]

Array = NDArray[np.float64]


def gain_of_energy(
    energy: ArrayLike, weight: ArrayLike, kid: ArrayLike = False, more_keep: float = 1.0
) -> Array:
    """Daily gain on energy [kg/d]; a loss below what keeps the animal.

    Parameters
    ----------
    energy : array_like
        Metabolisable [MJ/d].
    weight : array_like
        [kg].
    kid : array_like of bool
        A kid; else a lamb.
    more_keep : float
        What the cold, or the animal's sex, makes of the energy that keeps it [MJ/MJ].

    Examples
    --------
    >>> round(1e3 * float(gain_of_energy(4.5, 6.0)))
    168
    """
    kid = np.asarray(kid)
    energy, weight = np.asarray(energy, float), np.asarray(weight, float)
    if kid.all():
        return _kids_gain(energy, weight, more_keep)
    kept = _kept_share() * energy - _kept_less(weight, more_keep)
    lambs = (_danso(energy, weight, more_keep) + 2 * gain_from_kept(kept, weight)) / 3
    if not kid.any():
        return lambs
    return np.where(kid, _kids_gain(energy, weight, more_keep), lambs)


def energy_for(
    gain: ArrayLike, weight: ArrayLike, kid: ArrayLike = False, more_keep: float = 1.0
) -> Array:
    """Energy for a gain [MJ/d]: the inverse of `gain_of_energy`.

    Parameters
    ----------
    gain : array_like
        [kg/d].
    weight : array_like
        [kg].
    kid : array_like of bool
    more_keep : float

    Examples
    --------
    >>> round(float(energy_for(0.2, 6.0)), 2)
    4.95
    """
    kid = np.asarray(kid)
    gain, weight = np.asarray(gain, float), np.asarray(weight, float)
    if kid.all():
        return _kids_energy(gain, weight, more_keep)
    lambs = _lambs_energy(gain, weight, more_keep)
    return np.where(kid, _kids_energy(gain, weight, more_keep), lambs) if kid.any() else lambs


def keep(weight: ArrayLike, kid: ArrayLike = False, more_keep: float = 1.0) -> Array:
    """Energy that keeps an animal at its weight [MJ/d]."""
    return energy_for(0.0, weight, kid, more_keep)


def _kids_keep(weight: Array, more_keep: float) -> Array:
    return np.asarray(more_keep * value("maintenance-kid") * weight**0.75)


def _kids_gain(energy: Array, weight: Array, more_keep: float) -> Array:
    return np.asarray((energy - _kids_keep(weight, more_keep)) / value("energy-per-gain-kid"))


def _kids_energy(gain: Array, weight: Array, more_keep: float) -> Array:
    return np.asarray(_kids_keep(weight, more_keep) + value("energy-per-gain-kid") * gain)


def _danso_keep(weight: Array, more_keep: float) -> Array:
    return np.asarray(more_keep * value("maintenance-danso") * weight)


def _danso(energy: Array, weight: Array, more_keep: float) -> Array:
    return np.asarray((energy - _danso_keep(weight, more_keep)) / value("energy-per-gain-danso"))


def _kept_share() -> float:
    """Of a megajoule, what is kept in the body by the mean of two accounts [MJ/MJ]."""
    return (value("efficiency-jagusch") + value("efficiency-walker")) / 2


def _kept_less(weight: Array, more_keep: float) -> Array:
    """What they take off for keeping the animal, already times their efficiency [MJ/d]."""
    jagusch = value("efficiency-jagusch") * value("maintenance-jagusch") * weight**0.75
    walker = value("efficiency-walker") * value("maintenance-walker") * weight**0.73
    return np.asarray(more_keep * CALORIE * (jagusch + walker) / 2)


def _curve(weight: Array) -> tuple[Array, Array]:
    """Slope and bend of the curve from gain to energy kept, at a weight."""
    weight = np.maximum(weight, value("kept-least-weight"))
    slope = value("kept-per-gain") + value("kept-per-relative-gain") / weight
    return slope, value("kept-per-relative-gain-squared") / weight**2


def gain_from_kept(kept: Array, weight: ArrayLike) -> Array:
    """Turn energy kept in the body [MJ/d] into gain [kg/d]: Mantecón et al. 1987, solved for G.

    Past the top of its curve, where no gain would keep so much, the gain at the top; lambs
    lighter than `kept-least-weight` are taken as that heavy.
    """
    slope, bend = _curve(np.asarray(weight))
    root = np.sqrt(np.maximum(slope**2 + 4 * bend * (kept - value("kept-constant")), 0.0))
    return np.asarray((root - slope) / (2 * bend))


def _lambs_energy(gain: Array, weight: Array, more_keep: float) -> Array:
    """The energy on which the mean of the accounts is `gain`, in closed form.

    With x the gain by the curve, 3 G - 2 x is that by Danso et al. on the same energy: a quadratic
    in x. Past the top of the curve x stays there, and Danso et al. carry the rest.
    """
    per_gain = value("energy-per-gain-danso")
    slope, bend = _curve(weight)
    scale = _kept_share() * per_gain
    danso = _danso_keep(weight, more_keep)
    a = bend / scale
    b = 2 + slope / scale
    less = _kept_less(weight, more_keep) + value("kept-constant")
    c = less / scale - danso / per_gain - 3 * gain
    x = -2 * c / (b + np.sqrt(np.maximum(b**2 - 4 * a * c, 0.0)))
    x = np.minimum(x, -slope / (2 * bend))
    return np.asarray(danso + per_gain * (3 * gain - 2 * x))


def least_gain(weight: ArrayLike, most: ArrayLike) -> Array:
    """Least sound gain [kg/d]: a share of weight [kg], up to the species' figure `most`."""
    return np.asarray(np.minimum(figure("least-gain-share").value * np.asarray(weight), most))
