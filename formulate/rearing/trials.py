"""Published feeding trials, and what the growth model predicts for each.

What each paper says, and what had to be assumed, stands in ``nutrient_tables/feeding_trials.toml``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from formulate.foods.measures import METABOLISABILITY
from formulate.foods.tables import read_toml
from formulate.rearing.milk import Milk, milk_of_dry_matter
from formulate.rearing.prediction import gain_half, predicted_gain

__all__ = ["TrialComparison", "TrialGroup", "comparisons", "groups", "mean_errors", "trial_table"]

#: How long a trial up to a weight is followed [d].
LONGEST = 300


@dataclass(frozen=True)
class TrialGroup:
    """One group of animals, its feed and its mean gain.

    Parameters
    ----------
    trial, name : str
    species : str
    weight : float
        At the start [kg].
    days : int or None
        None: up to `until`.
    until : float
        [kg].
    count : int
        Animals.
    sex : str
    energy, protein : callable
        Of the milk, by weight [kg]: metabolisable energy [MJ/d], protein [g/d].
    creep : float
        As fed [g/d].
    gain : float
        Published [g/d].
    together : bool
        Whether the groups of its trial count as one comparison.
    """

    trial: str
    name: str
    species: str
    weight: float
    days: int | None
    until: float
    count: int
    sex: str
    energy: Callable[[float], float]
    protein: Callable[[float], float]
    creep: float
    gain: float
    together: bool

    def predicted(self, more_weight: float = 0.0, of_energy: float = 1.0) -> tuple[float, int]:
        """The model's gain [g/d] and the days it is a mean of."""

        def energy(weight: float) -> float:
            return of_energy * self.energy(weight)

        def over(days: int) -> float:
            return predicted_gain(
                self.weight + more_weight, energy, self.protein, species=self.species,
                creep=self.creep, days=days, count=self.count, sex=self.sex,
            ).expected  # fmt: skip

        if self.days is not None:
            return 1e3 * over(self.days), self.days
        low, high = 1, LONGEST  # the first day on which the weight is reached
        start = self.weight + more_weight
        while low < high:
            middle = (low + high) // 2
            if start + middle * over(middle) >= self.until + more_weight:
                high = middle
            else:
                low = middle + 1
        return 1e3 * over(low), low


def groups() -> Sequence[TrialGroup]:
    """Every group, in the order of the file."""
    data: Mapping[str, Any] = read_toml("feeding_trials.toml")
    milks = {name: _milk(name, given) for name, given in data["milk"].items()}
    return tuple(
        _group(trial, group, milks[trial["milk"]])
        for trial in data["trial"]
        for group in trial["groups"]
    )


def _milk(name: str, given: Mapping[str, float]) -> Milk:
    """A milk by the composition of its dry matter, or of itself where its solids are given."""
    solids = given.get("solids")
    of_solids = 1.0 if solids is None else 100 / solids
    parts = {k: v * of_solids for k, v in given.items() if k != "solids"}
    return milk_of_dry_matter(**parts, name=name, **({} if solids is None else {"solids": solids}))


def _group(trial: Mapping[str, Any], group: Mapping[str, Any], milk: Milk) -> TrialGroup:
    solids = _solids(group, milk)
    name = group.get("name") or f"{_amount(group):g} a kg^0.75"
    return TrialGroup(
        trial["name"], name, trial["species"], group.get("weight", trial.get("weight", 0.0)),
        trial.get("days"), trial.get("until", 0.0), trial["count"], trial.get("sex", ""),
        lambda weight: solids(weight) * milk.energy_of_solids,
        lambda weight: solids(weight) * 10 * milk.protein,
        group.get("creep", 0.0), float(group["gain"]), trial.get("together", False),
    )  # fmt: skip


def _amount(group: Mapping[str, Any]) -> float:
    return float(group.get("gross_energy_per_kg75") or group["as_fed_per_kg75"])


def _solids(group: Mapping[str, Any], milk: Milk) -> Callable[[float], float]:
    """Dry matter of the milk that is drunk [kg/d], by weight [kg]."""
    if "dry_matter" in group:
        return lambda _: float(group["dry_matter"] / 1e3)
    if "gross_energy_per_kg75" in group:
        per_kg75 = group["gross_energy_per_kg75"] * METABOLISABILITY / milk.energy_of_solids
    else:
        per_kg75 = group["as_fed_per_kg75"] * milk.solids / 100
    return lambda weight: float(per_kg75 * weight**0.75)


@dataclass(frozen=True)
class TrialComparison:
    """The model compared with one group, or with groups that count together.

    Parameters
    ----------
    trial, name, species : str
    gain : float
        Published [g/d].
    predicted : float
        [g/d].
    half : float
        Half-width of the interval of such a mean [g/d].
    lighter, heavier, less_energy, more_energy : float
        Predicted less published [g/d] at 1 kg less and more, and at 5 % less and more energy.
    counts : bool
        Whether it is one of the errors that are averaged.
    """

    trial: str
    name: str
    species: str
    gain: float
    predicted: float
    half: float
    lighter: float
    heavier: float
    less_energy: float
    more_energy: float
    counts: bool = True

    @property
    def error(self) -> float:
        """Predicted less published [g/d]."""
        return self.predicted - self.gain

    @property
    def within(self) -> bool:
        """Whether the published mean lies within the interval of such a mean."""
        return abs(self.error) <= self.half


def comparisons() -> Sequence[TrialComparison]:
    """Every group, and the mean of those that count together."""
    return tuple(_compared())


def _compared() -> Iterator[TrialComparison]:
    found = groups()
    for trial in dict.fromkeys(group.trial for group in found):
        mine = [group for group in found if group.trial == trial]
        together = mine[0].together
        each = [_comparison(group) for group in mine]
        for one in each:
            yield TrialComparison(**{**vars(one), "counts": not together})
        if together:
            count, days = sum(group.count for group in mine), mine[0].days or LONGEST
            means = {
                field: sum(getattr(one, field) for one in each) / len(each)
                for field in (
                    "gain", "predicted", "lighter", "heavier", "less_energy", "more_energy",
                )
            }  # fmt: skip
            yield TrialComparison(
                trial=trial,
                name="mean of these",
                species=mine[0].species,
                half=1e3 * gain_half(days, count),
                **means,
            )


def _comparison(group: TrialGroup) -> TrialComparison:
    predicted, days = group.predicted()
    lighter, heavier, less_energy, more_energy = (
        group.predicted(*change)[0] - group.gain
        for change in ((-1.0, 1.0), (1.0, 1.0), (0.0, 0.95), (0.0, 1.05))
    )
    return TrialComparison(
        group.trial,
        group.name,
        group.species,
        group.gain,
        predicted,
        1e3 * gain_half(days, group.count),
        lighter,
        heavier,
        less_energy,
        more_energy,
    )


def mean_errors(found: Sequence[TrialComparison], species: str) -> tuple[float, float]:
    """Mean absolute error and bias [g/d] of a species' comparisons that count."""
    errors = [one.error for one in found if one.species == species and one.counts]
    return sum(map(abs, errors)) / len(errors), sum(errors) / len(errors)


def trial_table(found: Sequence[TrialComparison]) -> str:
    """The comparison as text."""
    head = (
        f"{'trial':<15}{'group':<17}{'gain':>5}{'model':>7}{'error':>7}  "
        f"{'-1 kg':>6}{'+1 kg':>6}{'-5 %':>6}{'+5 %':>6}  interval of a mean"
    )
    lines = [head]
    for one in found:
        inside = "inside" if one.within else "outside"
        mark = "" if one.counts else "  (in the mean)"
        lines.append(
            f"{one.trial:<15}{one.name:<17}{one.gain:>5.0f}{one.predicted:>7.0f}"
            f"{one.error:>+7.0f}  {one.lighter:>+6.0f}{one.heavier:>+6.0f}"
            f"{one.less_energy:>+6.0f}{one.more_energy:>+6.0f}  ± {one.half:.0f} {inside}{mark}"
        )
    for species in ("lamb", "kid"):
        absolute, bias = mean_errors(found, species)
        lines.append(f"{species}s: mean absolute error {absolute:.1f}, bias {bias:+.1f} g a day")
    lines.append("-1 kg, +1 kg, -5 %, +5 %: the error at another starting weight or energy.")
    return "\n".join(lines)
