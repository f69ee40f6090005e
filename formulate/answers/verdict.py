"""One verdict for every milk, decided here and nowhere else.

From worst to best: ``never`` (do not feed), ``vet`` (not without a veterinarian), ``unknown``
(something that matters cannot be read), ``outside`` (misses a range), ``inside``. A verdict
comes with its reasons in order of weight, and with the cautions that belong to the milk. Every
door shows it before anything else.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from formulate.answers.cautions import Caution, cautions_for
from formulate.base.messages import listed, number, say
from formulate.blend.mix import Mix
from formulate.foods.bands import Read, Role, Standing

__all__ = ["Judgement", "Reason", "Verdict", "judge"]


class Verdict(StrEnum):
    """Whether a milk may be fed, from worst to best."""

    NEVER = "never"
    VET = "vet"
    UNKNOWN = "unknown"
    OUTSIDE = "outside"
    INSIDE = "inside"

    @property
    def rank(self) -> int:
        """0 for the worst."""
        return list(Verdict).index(self)


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason for a verdict.

    Parameters
    ----------
    id : str
        Name in the data, or the measure that misses.
    verdict : Verdict
        What this reason alone would make of the milk.
    text : str
    source : str
        Key of the source list.
    """

    id: str
    verdict: Verdict
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class Judgement:
    """What is said of a milk before anything else.

    Parameters
    ----------
    verdict : Verdict
        The worst of the reasons'; inside without any.
    reasons : tuple of Reason
        In order of weight.
    cautions : tuple of Caution
        What else to tell of it, in the order of telling.
    """

    verdict: Verdict
    reasons: tuple[Reason, ...] = ()
    cautions: tuple[Caution, ...] = ()

    @property
    def may_be_fed(self) -> bool:
        """Whether a bottle of it may be planned without a veterinarian's word."""
        return self.verdict.rank >= Verdict.OUTSIDE.rank


#: Cautions that say "do not feed".
_NEVER = frozenset({"osmolality-danger", "copper", "sweetened-condensed"})


def judge(mix: Mix) -> Judgement:
    """Judge a milk by its reads and what is in it; the size of the batch does not matter."""
    cautions = cautions_for(mix)
    reasons = [Reason(c.id, Verdict.NEVER, c.text, c.source) for c in cautions if c.id in _NEVER]
    reasons += [reason for read in mix.reads if (reason := _of_read(read)) is not None]
    reasons.sort(key=lambda reason: reason.verdict.rank)
    verdict = reasons[0].verdict if reasons else Verdict.INSIDE
    return Judgement(verdict, tuple(reasons), cautions)


def _of_read(read: Read) -> Reason | None:
    band = read.band
    if band.role is Role.SHOWN or read.standing in (None, Standing.INSIDE):
        return None
    safety = band.role is Role.SAFETY
    if read.standing is Standing.UNKNOWN:
        verdict = Verdict.UNKNOWN if safety else Verdict.OUTSIDE
        if not read.lacks:
            return Reason(band.measure, verdict, say("verdict.not-read", label=band.label), "")
        text = say(
            "verdict.no-value", label=band.label, foods=listed(read.lacks), count=len(read.lacks)
        )
        return Reason(band.measure, verdict, text, band.source)
    assert read.value is not None
    text = say(
        "verdict.too-low" if read.standing is Standing.BELOW else "verdict.too-high",
        label=band.label,
        value=number(read.value),
        unit=band.unit_words,
        range=band.range_words,
    )
    return Reason(band.measure, Verdict.VET if safety else Verdict.OUTSIDE, text, band.source)
