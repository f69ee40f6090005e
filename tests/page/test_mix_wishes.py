"""Wishes of a mix beyond the usual: eggs and oils proposed, the middle of the ranges, its cost."""

import pytest
from page.visitor import Visitor

from formulate.answers.mix import mix
from formulate.answers.mix_answer import MixRequest
from formulate.pantry.pantry import sample_pantry


@pytest.fixture
def visitor(tmp_path):
    return Visitor(tmp_path).at("/mix")


def asked(**wishes):
    return mix(sample_pantry(), request=MixRequest(make="2 quarts", **wishes))


def test_the_middle_of_the_ranges_costs_what_the_command_says(visitor):
    found = asked(closest=True)
    page = visitor.press("Show the mix", typed={"closest": "1"})
    assert "As close as possible to the middle of lamb-replacer" in page.text
    assert f"{found.milk.mix.cost_per_litre:.2f} USD a litre" in page.text
    assert found.milk.mix.cost_per_litre > asked().milk.mix.cost_per_litre
    assert "What the next ten cents buy" in page.text
    assert page.values("kitchen", "closest") == ["1"]


def test_the_middle_is_kept_under_the_most_that_a_litre_may_cost(visitor):
    dear = asked(closest=True).milk.mix.cost_per_litre
    cheap = asked(by_gram=True).milk.mix.cost_per_litre
    limit = round((dear + cheap) / 2, 2)
    found = asked(closest=True, within_cost=limit)
    page = visitor.press("Show the mix", typed={"closest": "1", "within": f"{limit:.2f}"})
    assert f"for at most {limit:.2f} USD a litre" in page.text
    assert f"{found.milk.mix.cost_per_litre:.2f} USD a litre" in page.text
    assert found.closest.deviation > asked(closest=True).closest.deviation


@pytest.mark.parametrize(
    ("typed", "told", "field"),
    [
        ({"within": "2"}, "a limit on the cost needs something to come close to", "within"),
        ({"closest": "1", "within": "much"}, "much", "within"),
        ({"closest": "1", "within": "-1"}, "-1", "within"),
        ({"closest": "1", "sure": "90"}, "only one of them can be met at a time", "sure"),
        ({"closest": "1", "most": "3"}, "one of them needs whole measures", "most"),
    ],
)
def test_wishes_that_cannot_be_met_are_reported_at_their_field(visitor, typed, told, field):
    page = visitor.press("Show the mix", typed=typed)
    assert page.status == 200
    assert told in page.text
    assert f'href="#{field}"' in page.html


def test_a_litre_that_costs_too_little_is_reported_with_the_cheapest(visitor):
    page = visitor.press("Show the mix", typed={"closest": "1", "within": "0.10"})
    assert "costs at most 0.10 USD a litre: the cheapest costs" in page.text


def test_foods_on_request_are_proposed_only_where_they_are_asked_for(visitor):
    table = sample_pantry().table
    there = visitor.page.values("kitchen", "row")
    bare = {f"{what}.{food}": "" for food in there for what in ("price", "package")}
    visitor.press("Put it on the shelf", typed={**bare, "add": "skim-milk"}, untick=there)

    def proposed(**typed):
        page = visitor.press("Show the mix", typed={**bare, **typed}, untick=there)
        assert "These foods cannot make it." in page.text
        foods = [b.value.removeprefix("with:").split(",") for b in page.buttons if b.name == "try"]
        assert foods
        return {food for some in foods for food in some if not table[food].suitable}

    assert proposed() == set()
    assert "salted-butter" in proposed(on_request="1")


def test_a_chance_is_promised_and_priced(visitor):
    from formulate.report.mix import promise_of

    page = visitor.press("Show the mix", typed={"sure": "95"})
    for line in promise_of(asked(sure=95.0)):
        assert line in page.text
    assert page.values("kitchen", "sure") == ["95"]


def test_foods_at_their_worst_are_guarded_against(visitor):
    from formulate.report.mix import promise_of

    page = visitor.press("Show the mix", typed={"worst": "1"})
    for line in promise_of(asked(worst_case=1.0)):
        assert line in page.text
    page = visitor.press("Show the mix", typed={"worst": "99"})
    assert 'href="#worst"' in page.html


def test_another_solver_and_the_numbers_behind_the_reasons_are_shown(visitor):
    from formulate.report.why import opinion_line

    page = visitor.press("Show the mix", typed={"opinion": "1", "numbers": "1"})
    found = asked(opinion=True, explain=True)
    assert opinion_line(found) in page.text
    assert 'class="columns"' in page.html


@pytest.mark.parametrize(("seconds", "good"), [("0", False), ("0.1", True), ("60", True),
                                               ("61", False), ("soon", False)])  # fmt: skip
def test_a_search_may_be_longer(visitor, seconds, good):
    page = visitor.press("Show the mix", typed={"seconds": seconds})
    assert ('href="#seconds"' in page.html) is not good
    assert page.values("kitchen", "seconds") == [seconds]
