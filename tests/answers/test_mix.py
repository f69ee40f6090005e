"""The answer to "what shall I mix?": whole, whatever part of it fails."""

from __future__ import annotations

import pytest

from formulate.answers.mix import mix
from formulate.answers.mix_answer import MixRequest, Outcome
from formulate.base.errors import SolverFault
from formulate.pantry.pantry import parse_pantry, sample_pantry
from formulate.report.mix import mix_lines, mix_shape


def faulty(*args, **how):
    raise SolverFault("no answer")


def test_reasons_that_cannot_be_told_cost_no_mix(monkeypatch):
    from formulate.blend.prices import shadow_prices

    monkeypatch.setattr(shadow_prices, "band_costs", faulty)
    answer = mix(sample_pantry(), "lamb-replacer", MixRequest(explain=True))
    assert answer.outcome is Outcome.MIX
    assert answer.milk is not None
    assert answer.reasons is None
    assert "could not be worked out" in "\n".join(mix_lines(answer))
    assert mix_shape(answer)["status"] == "optimal"


@pytest.mark.parametrize("part", ["nearest", "smallest_conflicts"])
def test_no_mix_is_explained_as_far_as_can_be(part, monkeypatch):
    from formulate.blend import design

    monkeypatch.setattr(design, part, faulty)
    answer = mix(sample_pantry(), "ewe-milk")
    assert answer.outcome is Outcome.NO_MIX
    text = "\n".join(mix_lines(answer))
    assert "could not be worked out" in text
    assert ("clash" in text) == (part == "nearest" or "clash could not" in text)
    assert mix_shape(answer)["status"] == "infeasible"


def test_help_that_cannot_be_worked_out_costs_no_explanation(monkeypatch):
    from formulate.answers import mix as asking

    monkeypatch.setattr(asking, "would_help", faulty)
    answer = mix(sample_pantry(), "ewe-milk")
    assert answer.additions is None
    assert answer.instead is not None
    assert "clash" in "\n".join(mix_lines(answer))


def test_a_range_of_one_value_has_reasons():
    text = """
name = "Exact"
currency = "USD"
prices_on = 2026-11-02
kitchen = "us"
[foods.whole-milk]
price = 3.89
package = "1 gallon"
[foods.heavy-cream]
price = 3.20
package = "1 pint"
[foods.nonfat-dry-milk]
price = 11
package = "2 lb"
[bands.exact]
title = "Exactly so"

demand = [{ measure = "fat", basis = "as_fed", unit = "g/100 g", low = 4.5, high = 4.5 }]
"""
    answer = mix(parse_pantry(text), "exact", MixRequest(by_gram=True, explain=True))
    assert answer.reasons is not None
    lines = "\n".join(mix_lines(answer))
    assert "less fat would save" in lines
    assert "not possible" not in lines
