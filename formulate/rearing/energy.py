"""Energy of suckling lambs: what keeps one, and what a day's milk makes it gain.

Three published accounts, each from other lambs on other milk; where they differ is the spread
of every forecast. Energy is metabolisable [MJ/d], weight W and gain G are in kg and kg/d.

====================  =============================  =====================================
account               keeps                          gains
====================  =============================  =====================================
Danso et al. 2016     0.40 W                         G = (E − keep) / 13.8
Jagusch & Mitchell    145.2 kcal W^0.75              0.769 (E − keep) is kept in the body
Walker & Norton       100.4 kcal W^0.73, more at     0.679 (E − keep) is kept, other shares
                      other shares of protein        at other shares of protein
====================  =============================  =====================================

What is kept in the body becomes gain by Mantecón et al. 1987::

    kept = −0.17 + 15.19 G − 16.32 G/W − 219.57 (G/W)²

No account of kids was found: lambs' is used for them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray

from formulate.rearing.figures import CALORIE, figure, value

__all__ = [
    "ACCOUNTS",
    "Account",
    "accounts",
    "energy_for_gain",
    "gain_from_kept",
    "gains",
    "keep",
    "least_gain",
]

Array = NDArray[np.float64]

#: Sources of the accounts, in the order of every array of them.
ACCOUNTS = ("danso-2016", "jagusch-mitchell-1971", "walker-norton-1971")

# Protein in dry matter [g/100 g] of the three milks of Walker & Norton.
_PROTEIN = (12.0, 28.5, 45.5)


@dataclass(frozen=True, slots=True)
class Account:
    """One published account, ready for a milk.

    Parameters
    ----------
    source : str
    keep : float
        Maintenance [MJ/kg^power/d].
    power : float
        Of weight [-].
    efficiency : float
        Energy kept in the body for energy above maintenance [MJ/MJ]; NaN where `per_gain` is
        given.
    per_gain : float
        Energy for gain [MJ/kg]; NaN where `efficiency` is given.
    """

    source: str
    keep: float
    power: float
    efficiency: float = np.nan
    per_gain: float = np.nan

    def maintenance(self, weight: ArrayLike) -> Array:
        """Energy that keeps an animal of `weight` [kg] at it [MJ/d]."""
        return np.asarray(self.keep * np.asarray(weight, float) ** self.power)

    def gain(self, energy: ArrayLike, weight: ArrayLike) -> Array:
        """Gain [kg/d] on `energy` [MJ/d]; a loss below maintenance."""
        spare = np.asarray(energy) - self.maintenance(weight)
        if np.isfinite(self.per_gain):
            return np.asarray(spare / self.per_gain)
        return gain_from_kept(self.efficiency * spare, weight)


@cache
def accounts(protein: float = 28.5) -> tuple[Account, ...]:
    """The three accounts for a milk of `protein` [g/100 g dry matter].

    Between the milks that Walker & Norton fed, theirs is interpolated; beyond them it stays.
    """
    shares = (12, 28, 45)
    walker_keep = [value(f"maintenance-walker-{share}") * CALORIE for share in shares]
    walker_kept = [value(f"efficiency-walker-{share}") for share in shares]
    return (
        Account("danso-2016", value("maintenance-danso"), 1.0, per_gain=_per_gain()),
        Account(
            "jagusch-mitchell-1971",
            value("maintenance-jagusch") * CALORIE,
            0.75,
            value("efficiency-jagusch"),
        ),
        Account(
            "walker-norton-1971",
            float(np.interp(protein, _PROTEIN, walker_keep)),
            0.73,
            float(np.interp(protein, _PROTEIN, walker_kept)),
        ),
    )


def _per_gain() -> float:
    return value("energy-per-gain-danso")


def gain_from_kept(kept: Array, weight: ArrayLike) -> Array:
    """Turn energy kept in the body [MJ/d] into gain [kg/d]: Mantecón et al. 1987, solved for G.

    Past the top of its curve, where no gain would keep so much, the gain at the top; lambs
    lighter than `kept-least-weight` are taken as that heavy.
    """
    weight = np.maximum(weight, value("kept-least-weight"))
    slope = value("kept-per-gain") + value("kept-per-relative-gain") / weight
    bend = -value("kept-per-relative-gain-squared") / weight**2
    root = np.sqrt(np.maximum(slope**2 - 4 * bend * (kept - value("kept-constant")), 0.0))
    return np.asarray((slope - root) / (2 * bend))


def gains(energy: ArrayLike, weight: ArrayLike, protein: float = 28.5) -> Array:
    """Daily gain by every account [kg/d], shape (3, ...), in the order of `ACCOUNTS`."""
    return np.stack([account.gain(energy, weight) for account in accounts(protein)])


def keep(weight: ArrayLike, protein: float = 28.5) -> Array:
    """Energy that keeps an animal [MJ/d] by the account that asks most of it."""
    return np.asarray(np.max([a.maintenance(weight) for a in accounts(protein)], axis=0))


def energy_for_gain(gain: ArrayLike) -> Array:
    """Energy above maintenance for a gain [kg/d], by Danso et al. [MJ/d].

    Theirs is the one account that gives it by itself; on the highest keep it leaves at least
    `gain` by all three.
    """
    return np.asarray(_per_gain() * np.asarray(gain))


def least_gain(weight: ArrayLike, most: ArrayLike) -> Array:
    """Least sound gain [kg/d]: a share of weight [kg], up to the species' figure `most`."""
    return np.asarray(np.minimum(figure("least-gain-share").value * np.asarray(weight), most))
