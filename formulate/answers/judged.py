"""A mix with everything that is said of it: its judgement, and how sure its reads are."""

from __future__ import annotations

from dataclasses import dataclass

from formulate.answers.verdict import Judgement, judge
from formulate.blend.mix import Mix
from formulate.blend.protect.confidence import Sureness, how_sure
from formulate.kitchen.batch import Batch

__all__ = ["JudgedMix", "judged"]


@dataclass(frozen=True)
class JudgedMix:
    """A mix, judged.

    Parameters
    ----------
    mix : Mix
    judgement : Judgement
        Shown before anything else.
    confidence : Sureness or None
        How sure each read is; None where it was left for later.
    batch : Batch or None
        The mix in whole measures; None where it is weighed by the gram.
    """

    mix: Mix
    judgement: Judgement
    confidence: Sureness | None
    batch: Batch | None = None


def judged(made: Mix | Batch, *, confidence: bool = True) -> JudgedMix:
    """Judge a mix, and say how sure it is.

    Parameters
    ----------
    made : Mix or Batch
    confidence : bool
        Whether to say how sure it is.
    """
    batch = made if isinstance(made, Batch) else None
    mix = made.kitchen_mix.mix if isinstance(made, Batch) else made
    return JudgedMix(mix, judge(mix), how_sure(mix) if confidence else None, batch)
