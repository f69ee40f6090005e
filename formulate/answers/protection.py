"""What it costs to be surer: the cheapest mix, by the gram, for each of several chances."""

from __future__ import annotations

from dataclasses import dataclass

from formulate.answers.mix import read_request
from formulate.answers.mix_answer import MixRequest
from formulate.answers.verdict import Judgement, Verdict, judge
from formulate.base.shown import Renderable, brief
from formulate.blend.problem import build
from formulate.blend.protect.chance import ProtectionPoint, protection_curve
from formulate.foods.bands import BandSet
from formulate.foods.spread import spread_of
from formulate.foods.tables import default_spreads
from formulate.pantry.pantry import Pantry

__all__ = ["ProtectionAnswer", "protection"]


@dataclass(frozen=True)
class ProtectionAnswer(Renderable):
    """What protection costs.

    Parameters
    ----------
    pantry : Pantry
    bands : BandSet
    points : tuple of ProtectionPoint
        From the cheapest mix of average cartons to the surest.
    judgements : tuple of Judgement or None
        Of each point's mix; None if there is no mix so sure.
    """

    pantry: Pantry
    bands: BandSet
    points: tuple[ProtectionPoint, ...]
    judgements: tuple[Judgement | None, ...]

    def __repr__(self) -> str:
        made = sum(point.mix is not None for point in self.points)
        return brief(self, self.bands.name, f"{made} of {len(self.points)} chances can be met")

    @property
    def yes(self) -> bool:
        """Whether some mix is inside every range that matters."""
        return any(one is not None and one.verdict is Verdict.INSIDE for one in self.judgements)


def protection(
    pantry: Pantry,
    reference: BandSet | str = "lamb-replacer",
    make: float | str | None = None,
) -> ProtectionAnswer:
    """Find what a litre costs at each chance that every range holds.

    Parameters
    ----------
    pantry : Pantry
    reference : BandSet or str
        What it is for.
    make : float or str, optional
        How much [mL], or in words; it matters only where stocks or smallest amounts do.

    Raises
    ------
    InputError
        If something cannot be read, or a food has no price.
    """
    bands, request = read_request(pantry, reference, MixRequest(make=make))
    assert isinstance(request.make, float)
    problem = build(pantry.shelf(), bands, request.make)
    spread = spread_of(problem.shelf.composition, default_spreads())
    points = tuple(protection_curve(problem, spread))
    judgements = tuple(None if point.mix is None else judge(point.mix) for point in points)
    return ProtectionAnswer(pantry, bands, points, judgements)
