"""Levels of feeding: what each gives, what holds it back, what it costs."""

import json
import math
import re
from dataclasses import replace
from datetime import timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rearing_flocks import NOW, STRONG, TODAY, flock, flocks, lamb, milks

from formulate.answers.household import Home, fed_at_level
from formulate.answers.levels import levels_of
from formulate.answers.today import today
from formulate.base.errors import InputError
from formulate.cli.main import run
from formulate.pantry.pantry import sample_pantry
from formulate.pantry.start import write_sample
from formulate.rearing.feed_plan import PlanReason, Stage
from formulate.rearing.feeding import plan_feeds
from formulate.rearing.flock import Ending, Level, Species
from formulate.rearing.flock_file import FlockRead, sample_flock
from formulate.rearing.levels import aim, at_level
from formulate.rearing.portions import cap_of
from formulate.report.levels_text import levels_lines
from formulate.report.words import tied

READ = sample_flock()
PANTRY = sample_pantry()


def sample(level):
    home = fed_at_level(Home(READ, PANTRY), level)
    return home.read, today(home.read, PANTRY)


def test_usual_feeds_the_healthy_lamb_for_200_g_once_its_caps_allow():
    read, found = sample("usual")
    pip = found.animal("Pip")
    plan, i = pip.plan, pip.row
    held = plan.reasons[i] & (PlanReason.DAY_SHARE | PlanReason.FEED_CAP | PlanReason.PROTEIN)
    for d in range(len(plan.days)):
        day = plan.day_feed(i, d)
        if day.age >= 19 and day.stage is Stage.MILK:  # on the bottles' marks
            assert not held[d]
            assert day.gain[1] == pytest.approx(0.200, abs=0.010)
    row = next(r for r in levels_of(read, found) if r.animal == "Pip" and r.chosen)
    assert row.level is Level.USUAL
    assert row.held_by == "day-share"
    assert row.reached <= pip.animal.born + timedelta(days=19)


def test_every_level_has_its_cost_its_weaning_and_its_milk():
    read, found = sample("usual")
    rows = levels_of(read, found)
    assert [r.level for r in rows[:3]] == list(Level)
    assert {r.animal for r in rows} == {"Pip", "Wren", "Bramble", "Dot"}
    for row in rows:
        assert row.cost > 0
        assert row.litres_left > 0
        assert row.ready is not None
        assert row.chosen is (row.level is Level.USUAL)
    plan = found.animal("Pip").plan
    mine = next(r for r in rows if r.animal == "Pip" and r.chosen)
    assert mine.litres_left == pytest.approx(plan.litres[found.animal("Pip").row].sum())


def test_the_table_says_what_is_beside_it_and_never_advises_it():
    read, found = sample("hearty")
    text = "\n".join(levels_lines(levels_of(read, found), [Species.LAMB, Species.KID], "USD"))
    for words in ("hearty *", "over gentle", "For comparison, not as advice",
                  "190 to 311 g a day", "Gentle is the default"):  # fmt: skip
        assert words in " ".join(text.split())
    assert "nan" not in text
    assert max(map(len, text.splitlines())) <= 88


def test_without_prices_there_is_no_cost_and_many_animals_are_added_up():
    many = flock(*(lamb(f"lamb {n}", weight=6.0) for n in range(9)), mix="1 quart whole-milk")
    read = FlockRead(many, NOW)
    found = today(read, PANTRY)
    rows = levels_of(read, found)
    text = levels_lines(rows, [Species.LAMB], "USD")
    assert len(text) < 12
    bare = [replace(row, cost=math.nan) for row in rows]
    assert "nan" not in "\n".join(levels_lines(bare, [Species.LAMB], "USD"))


def test_an_option_goes_before_what_the_file_says_but_not_into_the_past():
    own = replace(READ.flock.animals[0], level=Level.HEARTY)
    given_level = at_level(replace(READ.flock, animals=(own,)), Level.GENTLE)
    assert given_level.level is Level.GENTLE
    assert given_level.animals[0].level is None
    assert given_level.animals[0].fed_at is Level.HEARTY


@pytest.mark.parametrize(
    ("level", "told"), [("usul", "Did you mean usual?"), ("9", "Write gentle")]
)
def test_a_level_that_is_none(level, told):
    with pytest.raises(InputError) as caught:
        fed_at_level(Home(READ, PANTRY), level)
    assert caught.value.fields == ("level",)
    assert told in str(caught.value)


def test_a_level_on_an_animal_that_is_weaned_ends_with_wrong_input(tmp_path, capsys):
    write_sample(tmp_path)
    file = tmp_path / "flock.toml"
    assert run(["note", str(file), "Pip", "weaned", "--at", "2026-11-13 09:00"]) == 0
    assert run(["feed", str(file)]) == 0
    capsys.readouterr()
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("[animals.Pip]", '[animals.Pip]\nlevel = "hearty"'))
    assert run(["feed", str(file)]) == 2
    told = capsys.readouterr()
    assert "animals.Pip.level: Pip is weaned, so it has no level" in told.err
    assert told.err.count("\n") == 1
    assert "Wren" in told.out  # the others have their milk all the same


def test_a_level_for_nobody():
    weaned = replace(lamb(), ending=Ending(TODAY, "weaned"))
    with pytest.raises(InputError, match="nobody here drinks milk"):
        fed_at_level(Home(FlockRead(flock(weaned), NOW), PANTRY), "usual")


def test_the_command_says_which_level_and_what_it_costs(tmp_path, capsys):
    write_sample(tmp_path)
    file = str(tmp_path / "flock.toml")
    assert run(["feed", file, "--level", "usual", "--json"]) == 0
    pip = json.loads(capsys.readouterr().out)["animals"][0]
    assert pip["level"] == "usual"
    assert [row["level"] for row in pip["levels"]] == ["gentle", "usual", "hearty"]
    assert pip["days"][0]["aim_kg_per_day"] == 0.2
    assert "day-share" in pip["days"][0]["reasons"]
    assert run(["feed", file, "--level", "huge"]) == 2
    assert 'no level called "huge"' in capsys.readouterr().err


@given(flocks(most=2), milks(), st.sampled_from([None, 10.0, 25.0]))
@settings(max_examples=30)
def test_a_smaller_level_never_gives_more_milk_on_any_day_before_weaning(some, milk, mark):
    try:
        some = replace(some, mark=mark)
        plans = [plan_feeds(replace(some, level=level), milk, NOW, days=60) for level in Level]
    except InputError:  # a mark coarser than a feed
        return
    for less, more in pairwise(plans):
        both = (less.stage <= Stage.MILK) & (more.stage <= Stage.MILK)
        assert (less.litres <= more.litres + 1e-9)[both].all()


def test_a_smaller_amount_that_whole_feeds_round_up_further_lifts_the_larger_one():
    # By itself usual would give 4 x 300 mL on the fourth day, which is less than 5 x 250 mL.
    thin = replace(STRONG, energy=3.0, solids=12.0)
    kid = lamb(age=11, weight=5.6, birth=3.4, species=Species.KID)
    some = flock(kid, mark=50.0)
    gentle, usual = (
        plan_feeds(replace(some, level=level), thin, NOW, days=7)
        for level in (Level.GENTLE, Level.USUAL)
    )
    assert gentle.litres[0, 3] == pytest.approx(1.25)
    assert usual.litres[0, 3] == pytest.approx(1.25)
    assert (usual.millilitres <= usual.cap).all()
    assert (usual.litres <= usual.most).all()


def test_no_share_of_weight_limits_triplets_under_3_kg():
    # 2.5 % of 2.4 kg would be 60 g a day; the day's fifth of its weight allows more.
    plan = plan_feeds(flock(lamb(age=4, weight=2.4, birth=2.1)), STRONG, NOW, days=1)
    assert plan.litres[0, 0] * 1.03 == pytest.approx(0.2 * 2.4, rel=0.06)  # whole marks
    assert plan.gain[1, 0, 0] > 0.075


def test_levels_rise_and_each_says_where_it_comes_from():
    for species in Species:
        aims = [aim(level, species) for level in Level]
        values = [one.value for one in aims]
        assert values == sorted(values)
        assert all(one.note for one in aims)
    assert [aim(level, Species.LAMB).value for level in Level] == [0.150, 0.200, 0.250]


def test_the_cap_on_a_feed_rises_at_four_weeks_and_not_before():
    young, older = (lamb(age=age, weight=8.0) for age in (27, 28))
    assert (cap_of(young, TODAY), cap_of(older, TODAY)) == (50, 60)
    assert cap_of(replace(older, cap=45.0), TODAY) == 45
    plan = plan_feeds(flock(young), STRONG, NOW, days=2)
    assert plan.cap[0, 0] == pytest.approx(50 * 8.0)
    assert plan.cap[0, 1] == pytest.approx(60 * plan.weight[1, 0, 1])


def test_a_small_cap_is_named_as_what_holds():
    hearty = flock(lamb(weight=6.0, cap=20.0), level=Level.HEARTY)
    day = plan_feeds(hearty, STRONG, NOW, days=1).day_feed(0, 0)
    assert day.reasons & PlanReason.FEED_CAP
    assert not day.reasons & PlanReason.DAY_SHARE


def test_a_milk_short_of_protein_is_named_as_what_holds():
    poor = replace(STRONG, protein=14.0)
    plan = plan_feeds(flock(lamb(weight=6.0)), poor, NOW, days=1)
    assert plan.reasons[0, 0] & PlanReason.PROTEIN
    rich = plan_feeds(flock(lamb(weight=6.0)), STRONG, NOW, days=1)
    assert plan.gain[1, 0, 0] < rich.gain[1, 0, 0]


def test_an_animal_housed_in_the_cold_gets_more_milk():
    warm, cold = (
        plan_feeds(flock(lamb(weight=6.0), cold=cold), STRONG, NOW, days=1).day_feed(0, 0)
        for cold in (False, True)
    )
    assert cold.keep == pytest.approx(warm.keep * 1.15, rel=0.02)
    assert cold.litres > warm.litres


@pytest.mark.parametrize(
    ("fat", "sugar", "beyond"),
    [(125, 52.9, ()), (126, 40, ("fat",)), (60, 53, ("sugar",)), (130, 60, ("fat", "sugar"))],
)
def test_a_milk_beyond_the_energy_equation_says_so(fat, sugar, beyond):
    assert replace(STRONG, fat=fat, sugar=sugar).beyond_equation == beyond
    assert STRONG.beyond_equation == ()  # nothing known of it


COLD = """
day = 2026-11-24
mix = "7.5 cups whole-milk + 6 tbsp heavy-cream + 9 tbsp nonfat-dry-milk"
kitchen = "metric"
feeding_times = ["06:00", "09:30", "13:00", "16:30", "20:00", "23:30"]
cold = true
level = "hearty"
pantry = "pantry.toml"
[animals.Tuft]
species = "lamb"
born = 2026-11-20
birth_weight = "2.1 kg"
weights = [{ on = 2026-11-24, weight = "2.4 kg" }]
[animals.Moss]
species = "lamb"
born = 2026-11-20
birth_weight = "2.6 kg"
[animals.Fern]
species = "lamb"
born = 2026-11-01
birth_weight = "4.0 kg"
weights = [{ on = 2026-11-14, weight = "5.5 kg" }, { on = 2026-11-23, weight = "5.1 kg" }]
[animals.Sorrel]
species = "kid"
mix = "1 quart goat-milk"
level = "usual"
born = 2026-11-03
birth_weight = "3.0 kg"
weights = [{ on = 2026-11-23, weight = "5.6 kg" }]
"""


@pytest.fixture
def cold_farm(tmp_path):
    write_sample(tmp_path)
    (tmp_path / "flock.toml").write_text(COLD, encoding="utf-8")
    return str(tmp_path / "flock.toml")


def test_why_this_amount_names_the_cold_the_thin_milk_and_the_marks(cold_farm, capsys):
    run(["feed", cold_farm])
    told = " ".join(capsys.readouterr().out.split())
    tuft, sorrel = (told.split(f"- {name}: It needs")[1][:900] for name in ("Tuft", "Sorrel"))
    assert "counts 15 % more, because it is housed in the cold (our judgement)" in tuft
    # 4 x 110 mL lie under the cap of 120 mL, but 5 x 90 mL come closer to a fifth of its weight.
    assert "At its age 4 feeds are the fewest; 5 hold more of what it needs" in tuft
    assert "too big" not in tuft
    assert "solids) may go to 25 % of its weight, where milk of 16 % stops at 20 %" in sorrel
    # Where the day is full, more feeds are not advised.
    assert "too weak for Tuft to grow well, and it may have no more of it in a day" in told
    assert "feed more often" not in told
    assert "day: 55 g" in told or "day: the day's share of its weight" in told


def test_a_loss_has_a_minus_sign_and_one_weight_is_not_passed_over(cold_farm, capsys):
    run(["growth", cold_farm])
    told = capsys.readouterr().out
    assert "−44 g/d" in told
    assert "Moss, lamb: 2.60 kg on 2026-11-20\n  Only one weight is known." in told


def test_by_the_clock_no_name_parts_from_its_amount(cold_farm, capsys):
    rows = COLD.split("[animals.Moss]")[1].split("[animals.")[0]
    more = "".join(f"[animals.L{n}]{rows}" for n in range(9))
    text = COLD.replace('"metric"', '"us"') + more
    Path(cold_farm).write_text(text, encoding="utf-8")
    run(["feed", cold_farm])
    told = capsys.readouterr().out.split("By the clock")[1].split("Why this")[0]
    for line in told.strip().splitlines():
        assert re.search(r"(fl oz[,:]|in all)$", line), line
    assert " " not in tied("15 1/2 fl oz")
