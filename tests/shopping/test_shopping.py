"""A season's shopping, told in dates and foods."""

import json
from dataclasses import replace
from datetime import date, datetime, time, timedelta
from itertools import pairwise

import numpy as np
import pytest
from click.testing import CliRunner
from hypothesis import given, settings
from hypothesis import strategies as st
from rearing_flocks import NOW, STRONG, TODAY, flock, flocks, lamb

from formulate.answers.shop import ShopRequest
from formulate.answers.shop import shop as shopping_answer
from formulate.answers.verdict import Verdict
from formulate.base.errors import InputError
from formulate.cli.main import cli, run
from formulate.foods.food import KINDS
from formulate.foods.tables import sources, storage_days
from formulate.pantry.pantry import parse_pantry, sample_pantry
from formulate.rearing.feeding import plan_feeds
from formulate.rearing.flock import Ending, Species, Weighing
from formulate.rearing.flock_file import FlockRead, sample_flock
from formulate.shopping.batches import batches_of, jars_for, kept_days, mixing_hour, round_up
from formulate.shopping.plan import NoShopping
from formulate.shopping.shelf_life import shelf_life

PANTRY = """
currency = "EUR"
prices_on = 2026-11-02
kitchen = "metric"
[foods.whole-milk]
price = 1.20
package = "1 L"
sizes = [{ price = 2.10, package = "2 L" }]
[foods.heavy-cream]
price = 2.80
package = "500 mL"
[foods.nonfat-dry-milk]
price = 6.00
package = "500 g"
[recipes]
strong = "2 L whole-milk + 200 mL heavy-cream + 60 g nonfat-dry-milk"
milk = "1 L whole-milk"
"""


def pantry(text=PANTRY, **foods):
    for food, line in foods.items():
        head = f"[foods.{food.replace('_', '-')}]\n"
        text = text.replace(head, f"{head}{line}\n")
    return parse_pantry(text)


def household(*animals, **more):
    more = {"mix": "strong", "shopping_days": (2, 5), "jar": 1000.0, **more}
    return flock(*animals, **more)


def answer(flock=None, shelf=None, **request):
    read = FlockRead(flock or household(), NOW)
    return shopping_answer(read, shelf or pantry(), ShopRequest(**request))


def shop(flock=None, shelf=None, **request):
    return answer(flock, shelf, **request).shopping


class TestBatches:
    @given(flocks())
    def test_milk_is_fed_or_before_the_first_mixing(self, some):
        plan = plan_feeds(some, STRONG, NOW)
        for at in (time(0), mixing_hour(some), time(18)):
            batches = batches_of(plan, at, 1)
            assert batches.fed.sum() + batches.left_today == pytest.approx(plan.litres.sum())
            assert batches.bottles.sum() <= plan.feeds.sum()

    def test_a_feed_before_the_hour_comes_from_the_day_before(self):
        plan = plan_feeds(flock(), STRONG, NOW)
        early, late = batches_of(plan, time(0), 1), batches_of(plan, time(3), 1)
        at_two = np.array([
            plan.millilitres[0, d] / 1e3 * (time(2) in plan.times(0, d))
            for d in range(len(plan.days))
        ])  # fmt: skip
        np.testing.assert_allclose(late.fed[:5], early.fed[:5] - at_two[:5] + at_two[1:6])
        assert late.left_today == pytest.approx(at_two[0])

    def test_days_together(self):
        plan = plan_feeds(flock(), STRONG, NOW)
        one, two = batches_of(plan, time(2), 1), batches_of(plan, time(2), 2)
        assert two.fed.sum() == pytest.approx(one.fed.sum())
        assert two.fed[0] == pytest.approx(one.fed[:2].sum())
        assert two.day(1) == plan.days[2]

    def test_the_hour_of_mixing_follows_the_longest_gap(self):
        assert mixing_hour(flock(times=(time(6), time(12), time(18), time(22)))) == time(6)
        assert mixing_hour(flock(times=(time(1), time(5), time(17)))) == time(17)

    def test_a_batch_is_measured_in_whole_steps(self):
        np.testing.assert_allclose(round_up(np.array([0.0, 0.1, 0.1001]), 0.05), [0, 0.1, 0.15])
        assert jars_for(2.0, 1000.0) == 2
        assert jars_for(2.01, 1000.0) == 3
        assert jars_for(2.0, None) is None

    def test_how_long_it_is_kept(self):
        assert kept_days(None) == storage_days()["mix"].opened_days == 1
        assert kept_days(2) == 2
        for days in (0, -1, 4):
            with pytest.raises(InputError, match="cannot be kept"):
                kept_days(days)


class TestShopping:
    @given(flocks(most=3), st.integers(1, 2), st.sampled_from([0.0, 2.5]))
    @settings(max_examples=6)
    def test_everything_adds_up(self, some, keeps, trip_cost):
        some = replace(some, mix="strong", shopping_days=(0, 2, 5))
        found = shop(some, keeps=keeps, trip_cost=trip_cost, seconds=2)
        task = found.task
        # Milk mixed is fed or wasted, batch by batch.
        for batch in found.batches:
            assert batch.mixed >= batch.fed - 1e-9
            assert batch.mixed == pytest.approx(sum(litres for _, litres in batch.milks))
        assert found.mixed == pytest.approx(found.fed + found.wasted_milk)
        planned = task.batches.fed.sum()
        assert found.fed == pytest.approx(planned)
        # Money: purchases and trips.
        paid = sum(p.count * p.price for trip in found.trips for p in trip.purchases)
        assert found.cost == pytest.approx(paid + trip_cost * len(found.trips))
        assert found.lots.bound <= found.cost + 1e-9
        # Food bought is used or left over; packages are whole.
        for keeps_of_food in task.lives:
            food = keeps_of_food.food
            bought = sum(
                p.count * p.grams for trip in found.trips for p in trip.purchases if p.food == food
            )
            used = sum(grams for b in found.batches for f, grams in b.takes if f == food)
            left = sum(item.grams for item in found.leftovers if item.food == food)
            assert bought == pytest.approx(used + left, rel=1e-6)
            opened = sum(o.count for b in found.batches for o in b.opens if o.food == food)
            assert opened == sum(
                p.count for trip in found.trips for p in trip.purchases if p.food == food
            )
        for trip in found.trips:
            assert all(isinstance(p.count, int) and p.count > 0 for p in trip.purchases)
            assert trip.day == task.first_day or trip.day.weekday() in (0, 2, 5)

    def test_nothing_is_used_after_its_date(self):
        found = shop(household(lamb("Pip"), lamb("Wren", weight=4.2)))
        keeps = {k.food: k for k in found.task.lives}
        lots, problem = found.lots.problem.lots, found.lots.problem
        last_use = {}
        for (good, opened, last, batch), grams in found.lots.flows.items():
            if grams > 1e-6:
                key = (good, opened, last)
                last_use[key] = max(last_use.get(key, 0), batch)
        for k in np.flatnonzero(found.lots.count):
            key = (int(lots.good[k]), int(lots.opened[k]), int(lots.last[k]))
            food = keeps[problem.goods[lots.good[k]].name]
            trip = problem.trips[lots.trip[k]]
            used = last_use[key]
            assert used - lots.opened[k] <= food.open_days - 1
            assert used <= trip.day + food.closed_days

    def test_no_day_lies_between_trips_without_food(self):
        found = shop()
        days = {batch.day for batch in found.batches}
        assert days == {found.task.first_day + timedelta(days=d) for d in range(len(days))}

    def test_the_refrigerator_is_never_overfull(self):
        room = 8000.0
        found = shop(household(refrigerator=room))
        assert max(batch.room for batch in found.batches) <= room + 1e-6
        assert found.cost >= shop().cost - 1e-6

    def test_what_is_at_home_is_used_and_not_paid_again(self):
        bought = shop()
        shelf = pantry(whole_milk='on_hand = "5 L"\nuse_by = 2026-11-16')
        found = shop(shelf=shelf)
        assert found.cost < bought.cost
        stock = found.lots.problem.stocks
        assert [(s.count, s.opened, s.last_day) for s in stock] == [(5, False, 2)]
        part = pantry(whole_milk='on_hand = "1.5 L"')
        stock = shop(shelf=part).lots.problem.stocks
        assert [(s.count, s.opened, s.last_day) for s in stock] == [(1, False, 7), (1, True, 2)]

    def test_stock_out_of_date_does_not_count(self):
        shelf = pantry(whole_milk='on_hand = "5 L"\nuse_by = 2026-11-10')
        assert shop(shelf=shelf).cost == pytest.approx(shop().cost)

    def test_a_label_goes_before_the_table(self):
        label = pantry(heavy_cream="keeps_closed = 12\nkeeps_open = 6")
        item = label.item("heavy-cream")
        keeps = shelf_life(item)
        assert (keeps.closed_days, keeps.open_days) == (12, 6)
        assert (keeps.closed_source, keeps.open_source) == ("label", "label")
        assert shop(shelf=label).cost < shop().cost
        table = shelf_life(pantry().item("heavy-cream"))
        assert (table.closed_days, table.open_days) == (7, 3)
        assert {table.closed_source, table.open_source} <= set(sources())

    def test_the_larger_package_where_it_is_cheaper(self):
        dear = pantry(PANTRY.replace("price = 2.10", "price = 9.00"))
        sold = {p.package for t in shop(shelf=dear).trips for p in t.purchases}
        assert "2 L" not in sold
        assert "2 L" in {p.package for t in shop().trips for p in t.purchases}

    def test_without_shopping_days_once_a_week(self):
        found = shop(household(shopping_days=()))
        assert all((t.day - found.task.first_day).days % 7 == 0 for t in found.trips)

    def test_mixing_in_the_afternoon_uses_the_days_own_shopping(self):
        task = shop(mix_at=time(14)).task
        later = task.problem.trips[1]
        assert later.first_batch == later.day
        task = shop().task
        assert task.problem.trips[1].first_batch == task.problem.trips[1].day + 1

    def test_every_run_gives_the_same(self):
        assert shop().trips == shop().trips


class TestWhichMixWhen:
    def test_a_cheaper_mix_is_taken_gradually(self):
        # Plain milk is cheaper by the litre and by its energy here, and strong enough for a kid.
        kids = household(lamb(weight=6.0, species=Species.KID))
        found = shop(kids, also=("milk",))
        assert [s.milk for s in found.stints][-1] == "milk"
        assert found.cost <= shop(kids).cost + 1e-6
        energy = {m.milk.name: m.milk.energy for m in found.task.milks}
        shares = []  # of the new milk's energy in each batch
        for batch in found.batches:
            parts = {name: litres * energy[name] for name, litres in batch.milks}
            shares.append(parts.get("milk", 0.0) / sum(parts.values()))
        rising = [b - a for a, b in pairwise(shares)]
        assert min(rising) >= -1e-9
        # A fifth more each day; batches are measured in whole steps.
        assert max(rising) <= 0.25
        assert shares[0] == pytest.approx(0.2, abs=0.05)  # the flock's own milk comes before

    def test_a_weak_mix_is_left_out(self):
        weak = pantry(PANTRY + 'water = "1 L whole-milk + 3 L water"\n')
        (left_out,) = answer(shelf=weak, also=("water",)).left_out
        assert left_out.name == "water"
        assert "may not be fed" in left_out.why or "too weak" in left_out.why

    def test_a_mix_that_must_not_be_fed_is_left_out(self):
        text = PANTRY.replace("[recipes]", '[foods.sweetened-condensed-milk]\nprice = 2\n'
                              'package = "1 can"\n[recipes]\nsweet = '
                              '"1 can sweetened-condensed-milk + 1 L water"')  # fmt: skip
        (left_out,) = answer(shelf=parse_pantry(text), also=("sweet",)).left_out
        assert "may not be fed" in left_out.why


class TestNoShopping:
    def test_a_refrigerator_smaller_than_a_days_milk(self):
        with pytest.raises(InputError, match="a day's milk"):
            shop(household(refrigerator=400.0))

    def test_a_refrigerator_smaller_than_what_lasts_to_the_next_trip(self):
        found = shop(household(refrigerator=2500.0))
        assert isinstance(found, NoShopping)
        assert "refrigerator has room for 2.5 L" in found.reason
        assert "Shop more often" in found.remedy
        words = found.reason.rpartition("about ")[2].split()[0]
        assert not isinstance(shop(household(refrigerator=1e3 * float(words))), NoShopping)

    def test_shopping_days_too_far_apart(self):
        found = shop(shelf=pantry(whole_milk="keeps_closed = 2"))
        assert isinstance(found, NoShopping)
        assert "whole-milk keeps 2 days unopened" in found.reason

    def test_a_food_without_a_price(self):
        text = PANTRY.replace("60 g nonfat-dry-milk", "60 g dry-whole-milk")
        with pytest.raises(InputError, match="dry-whole-milk, which has no price"):
            shop(shelf=parse_pantry(text))

    def test_how_long_every_kind_keeps_is_known(self):
        for kind in set(KINDS) - {"water"}:
            keeps = storage_days()[kind]
            assert keeps.unopened_days >= 1
            assert {keeps.source, keeps.unopened_source} <= set(sources())
            assert keeps.unopened_note
            assert keeps.chilled_open or not keeps.chilled

    def test_nothing_is_needed_when_everyone_is_weaned(self):
        weaned = lamb("Old", ending=Ending(TODAY, "weaned"))
        found = answer(household(weaned))
        assert found.shopping is None
        assert found.nothing_needed
        assert found.yes
        assert [bar.id for bar in found.unplanned] == ["weaned"]

    @pytest.mark.parametrize(("days", "known"), [(28, True), (29, False)])
    def test_no_plan_is_made_past_its_knowledge(self, days, known):
        unseen = Weighing(TODAY - timedelta(days=days), 8.0)
        wren = replace(lamb("Wren", age=50), weighings=(unseen,))
        found = answer(household(lamb("Pip", age=50, weight=12.0), wren))
        drunk = {name for who in found.plan.task.drinkers for name in who.animals}
        assert drunk == ({"Pip", "Wren"} if known else {"Pip"})
        assert found.yes is (known and found.verdict is Verdict.INSIDE)
        assert any("Weigh it" in bar.text for bar in found.unplanned) is not known


def invoke(*arguments):
    return CliRunner().invoke(cli, list(arguments), catch_exceptions=False)


def uids(calendar):
    return [line for line in calendar.splitlines() if line.startswith(b"UID:")]


class TestCommand:
    def test_text(self):
        result = invoke("shop")
        assert result.exit_code == 0
        for words in ("Buy", "Mix each day", "What is not drunk", "How long it keeps", "proved",
                      "invented sample"):  # fmt: skip
            assert words in result.output
        assert max(map(len, result.output.splitlines())) <= 88

    def test_sources(self):
        output = invoke("shop", "--sources").output
        for key in ("[fn-ssb-085]", "[dairy-newsletter]", "[home-mix-24h]", "(from memory)"):
            assert key in output

    def test_every_day(self):
        read = sample_flock()
        shopping = shopping_answer(read, sample_pantry()).shopping
        output = invoke("shop", "--every-day").output
        assert "more with --every-day" not in output
        assert all(f"{batch.day}" in output for batch in shopping.batches)

    def test_json(self):
        result = invoke("shop", "--json")
        shape = json.loads(result.output)
        assert shape["status"] == "planned"
        assert shape["gap"] <= 0.01
        assert shape["cost"] == pytest.approx(sum(trip["cost"] for trip in shape["trips"]))
        assert shape["mixed_litres"] == pytest.approx(shape["fed_litres"] + shape["wasted_litres"])
        assert all(trip["day"][:2] == "20" for trip in shape["trips"])

    def test_there_is_none(self, tmp_path):
        invoke("start", str(tmp_path))
        path = tmp_path / "flock.toml"
        path.write_text(path.read_text().replace('"26 L"', '"9 L"'))
        result = invoke("shop", str(path))
        assert result.exit_code == 1
        assert "No shopping plan is possible." in result.output
        shape = json.loads(invoke("shop", str(path), "--json").output)
        assert shape["status"] == "impossible"

    @pytest.mark.parametrize(
        ("arguments", "words"),
        [
            (("--mix-at", "25:00"), "is not a time of day"),
            (("--keeps", "9"), "cannot be kept 9 days"),
            (("--milk", "nothing"), "no recipe called"),
            (("--trip-cost", "nan"), "nan is not an amount"),
            (("--seconds", "nan"), "nan is not an amount"),
            (("--on", "some day"), "is not a date"),
        ],
    )
    def test_bad_input(self, arguments, words, capsys):
        assert run(["shop", *arguments]) == 2
        assert words in capsys.readouterr().err

    def test_a_flock_of_none(self, tmp_path, capsys):
        path = tmp_path / "flock.toml"
        path.write_text('feeding_times = ["06:00"]\nmix = "plain-milk"\n')
        for command in ("shop", "season"):
            assert run([command, str(path)]) == 2
            assert "the flock is empty" in capsys.readouterr().err

    def test_files(self, tmp_path):
        calendar, picture = tmp_path / "season.ics", tmp_path / "shop.svg"
        result = invoke("shop", "--calendar", str(calendar), "--picture", str(picture))
        assert f"Wrote {calendar}" in result.output
        assert calendar.read_bytes().startswith(b"BEGIN:VCALENDAR\r\n")
        assert b"</svg>" in picture.read_bytes()
        first = calendar.read_bytes()
        invoke("shop", "--calendar", str(calendar))
        assert uids(calendar.read_bytes()) == uids(first)

    def test_on_another_day(self):
        shape = json.loads(invoke("shop", "--on", "2026-11-20", "--json").output)
        assert shape["batches"][0]["day"] == "2026-11-20"
        assert datetime.fromisoformat(shape["now"]).date() == date(2026, 11, 20)
