"""Who drinks which milk, what is judged of it, and what a veterinarian's word lifts."""

from dataclasses import replace
from datetime import date

import pytest

from formulate.answers.milks import fed_now, milks_of, plans_of, worst
from formulate.answers.verdict import Judgement, Reason, Verdict
from formulate.base.errors import InputError
from formulate.pantry.pantry import sample_pantry
from formulate.rearing.flock import Permission, Species
from formulate.rearing.flock_file import parse_flock, sample_flock

SWEETENED = "1 quart whole-milk + 1 tbsp table-sugar"


@pytest.fixture
def sample():
    return sample_flock()


def flock_on(mix, *tables, animal='species = "lamb"\nborn = 2026-11-04'):
    text = f"""
day = 2026-11-14
mix = "{mix}"
feeding_times = ["00:00", "04:00", "08:00", "12:00", "16:00", "20:00"]
{chr(10).join(tables)}
[animals.Pip]
{animal}
birth_weight = "4 kg"
weights = [{{ on = 2026-11-13, weight = "5 kg" }}]
"""
    return parse_flock(text)


def judged(monkeypatch, verdict):
    """Every milk gets this verdict, whatever is in it."""
    reason = Reason("made-up", verdict, "It is made up.", "judgement")
    found = Judgement(verdict, (reason,))
    monkeypatch.setattr("formulate.answers.milks.judge", lambda mix: found)


def word(recipe):
    return Permission(recipe, "Dr A. Sorrel", date(2026, 11, 12), "for Pip")


def allow(read, recipe):
    return replace(read, flock=replace(read.flock, permissions=(word(recipe),)))


def test_the_sample_feeds_lambs_and_a_kid_each_a_milk_that_is_inside(sample):
    lambs, kid = milks_of(sample, sample_pantry())
    assert (lambs.name, lambs.species, lambs.animals) == (
        "cream-and-powder", Species.LAMB, ("Pip", "Wren", "Dot"),
    )  # fmt: skip
    assert (kid.name, kid.species, kid.animals) == ("kid-jug", Species.KID, ("Bramble",))
    assert [m.verdict for m in fed_now((lambs, kid))] == [Verdict.INSIDE] * 3
    assert worst((lambs, kid)) is Verdict.INSIDE


def test_a_kid_on_a_milk_made_for_lambs_is_judged_as_a_kid(sample):
    lambs, kid = milks_of(sample, sample_pantry(), "cream-and-powder")
    assert (lambs.verdict, kid.verdict) == (Verdict.INSIDE, Verdict.OUTSIDE)
    assert kid.judgement.reasons[0].id == "solids"
    assert worst((lambs, kid)) is Verdict.OUTSIDE


def test_only_animals_on_the_flocks_milk_change_over(sample):
    lambs, kid = milks_of(sample, sample_pantry())
    assert lambs.before is not None
    assert (lambs.before.name, lambs.blends) == ("cream-and-cans", True)
    assert (kid.before, kid.blends) == (None, False)
    plans = plans_of(sample, (lambs, kid))
    assert [p.old_milk is None for p in plans] == [False, True]
    assert [p.flock.names for p in plans] == [["Pip", "Wren", "Dot"], ["Bramble"]]


@pytest.mark.parametrize(("first_day", "changing"), [("2026-11-11", True), ("2026-11-10", False)])
def test_a_change_is_over_after_its_days(first_day, changing):
    change = f'[change]\nbefore = "plain-milk"\nfirst_day = {first_day}\ndays = 4'
    (milk,) = milks_of(flock_on("cream-and-powder", change), sample_pantry())
    assert (milk.before is not None) is changing


@pytest.mark.parametrize(
    ("verdict", "alone", "with_word"),
    [
        (Verdict.NEVER, False, False),
        (Verdict.VET, False, True),
        (Verdict.UNKNOWN, False, True),
        (Verdict.OUTSIDE, True, True),
        (Verdict.INSIDE, True, True),
    ],
)
def test_a_word_lifts_what_needs_a_veterinarian_but_never_never(
    monkeypatch, verdict, alone, with_word
):
    judged(monkeypatch, verdict)
    read = flock_on("1 quart whole-milk")
    for one, may in ((read, alone), (allow(read, "1 quart whole-milk"), with_word)):
        milks = milks_of(one, sample_pantry())
        assert milks[0].may_be_fed is may
        assert [plan is not None for plan in plans_of(one, milks)] == [may]
        assert bool(milks[0].why_not) is not may


@pytest.mark.parametrize(
    ("allowed", "same"),
    [
        (SWEETENED, True),
        ("2 quarts whole-milk + 2 tbsp table-sugar", True),  # twice as much of the same milk
        ("1 tbsp table-sugar + 1 quart whole-milk", True),
        ("1 quart whole-milk + 1.01 tbsp table-sugar", False),
        ("1 quart whole-milk + 0.99 tbsp table-sugar", False),
        ("1 quart whole-milk + 1 tbsp table-sugar + 1 tsp honey", False),
        ("1 quart whole-milk", False),
    ],
)
def test_a_word_holds_for_its_amounts_only(monkeypatch, allowed, same):
    judged(monkeypatch, Verdict.VET)
    read = allow(flock_on(SWEETENED), allowed)
    (milk,) = milks_of(read, sample_pantry())
    assert (milk.permission is not None) is same
    assert milk.may_be_fed is same


def test_a_word_for_a_name_is_asked_for_its_amounts():
    read = allow(flock_on("plain-milk"), "plain-milk")
    with pytest.raises(InputError, match="only a name") as error:
        milks_of(read, sample_pantry())
    assert "1 gallon whole-milk" in str(error.value)


def test_a_word_stands_in_the_flock_file():
    table = f"""[[veterinarian]]
recipe = "{SWEETENED}"
name = "Dr A. Sorrel"
on = 2026-11-12
allows = "for Pip, until 20 November"
"""
    (permission,) = flock_on(SWEETENED, table).flock.permissions
    assert permission.allows == "for Pip, until 20 November"
    with pytest.raises(InputError, match="in the future"):
        flock_on(SWEETENED, table.replace("2026-11-12", "2026-11-15"))
    with pytest.raises(InputError, match="allows is missing"):
        flock_on(SWEETENED, table.replace("allows", "# allows"))


def test_a_milk_that_must_not_be_fed_is_not_blended_in(monkeypatch):
    change = '[change]\nbefore = "1 quart heavy-cream"\nfirst_day = 2026-11-14\ndays = 4'
    read = flock_on("cream-and-powder", change)
    real = milks_of(read, sample_pantry())[0].judgement
    bad = Judgement(Verdict.NEVER, (Reason("made-up", Verdict.NEVER, "No.", "judgement"),))
    monkeypatch.setattr(
        "formulate.answers.milks.judge",
        lambda mix: bad if mix.grams[0] and len(mix.shelf.foods) == 1 else real,
    )
    (milk,) = milks_of(read, sample_pantry())
    assert milk.before is not None
    assert not milk.blends
    (plan,) = plans_of(read, (milk,))
    assert plan is not None
    assert (plan.share_new == 1).all()
    assert fed_now((milk,)) == (milk,)


def test_an_animal_without_a_milk_is_reported():
    read = flock_on("x")
    with pytest.raises(InputError, match="no mix is named"):
        milks_of(replace(read, flock=replace(read.flock, mix="")), sample_pantry())
