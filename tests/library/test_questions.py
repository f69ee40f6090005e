"""The questions, asked of what a person has; and what a wrong argument is told."""

from __future__ import annotations

import pickle
from datetime import date, datetime
from pathlib import Path

import pint
import pytest

import formulate
from formulate.pantry.pantry import sample_text

PRICED = ["whole-milk=3.80/gallon", "evaporated-milk=1.79/can", "nonfat-dry-milk=9/kg",
          "heavy-cream=5/quart"]  # fmt: skip


@pytest.fixture
def farm(tmp_path) -> Path:
    """A folder with a pantry and a flock of one's own."""
    from formulate.cli.main import run

    assert run(["start", str(tmp_path)]) == 0
    return tmp_path


# --- what a person has ---


def test_a_pantry_is_an_object_a_file_or_names_of_foods(tmp_path):
    path = tmp_path / "pantry.toml"
    path.write_text(sample_text(), encoding="utf-8")
    loaded = formulate.load_pantry(path)
    mixes = [formulate.mix(given) for given in (loaded, path, str(path))]
    assert mixes[0] == mixes[1] == mixes[2]
    assert formulate.mix(PRICED).yes
    assert formulate.mix(iter(PRICED)) == formulate.mix(tuple(PRICED))
    assert formulate.mix(["whole-milk", "heavy-cream", "nonfat-dry-milk"]).fewest is not None
    assert formulate.mix("whole-milk").milk is None  # one food alone: a no, not an error


def test_a_flock_is_a_file_or_what_was_loaded_of_it(farm):
    path = farm / "flock.toml"
    read = formulate.load_flock(path)
    answers = [formulate.today(given) for given in (path, str(path), read)]
    assert answers[0] == answers[1] == answers[2]
    assert answers[0].pantry.where == str(farm / "pantry.toml")
    given = formulate.load_pantry(farm / "pantry.toml")
    assert formulate.today(path, given) == answers[0]
    alone = formulate.today(read.flock, given)  # without its log
    assert alone.flock == read.flock


def test_a_moment_is_a_datetime_a_day_or_text(farm):
    path = farm / "flock.toml"
    noon = formulate.today(path, now=datetime(2026, 11, 20, 12))
    for given in (date(2026, 11, 20), "2026-11-20", "2026-11-20 12:00"):
        assert formulate.today(path, now=given) == noon


def test_an_amount_may_be_a_quantity():
    pantry = formulate.sample_pantry()
    litres = pint.get_application_registry().Quantity(2, "litre")
    assert formulate.mix(pantry, make=litres) == formulate.mix(pantry, make=2000)


def test_a_recipe_may_be_one_of_the_pantry():
    pantry = formulate.sample_pantry()
    recipe = pantry.recipes["cream-and-powder"]
    by_name = formulate.check("cream-and-powder", pantry=pantry)
    assert formulate.check(recipe, pantry=pantry) == by_name
    ranked = formulate.compare(pantry, [recipe, "bag"])
    assert {row.recipe.name for row in ranked} == {"cream-and-powder", "bag"}


def test_what_is_recorded_stands_in_the_log_beside_the_file(farm):
    path = farm / "flock.toml"
    done = formulate.record(
        path, "Pip", "weight", "6.4 kg", at="2026-11-14", by="Sam", confirm=True
    )
    assert done.outcome == "written"
    assert done.log.is_file()
    again = formulate.record(
        formulate.load_flock(path), "Pip", "weight", "6.4 kg", at="2026-11-14", by="Sam"
    )
    assert again.outcome == "already"
    assert again.to_frame()["amount"].tolist() == [6.4]


def test_a_flock_without_a_file_has_nothing_to_write_beside():
    with pytest.raises(formulate.InputError, match="has no file"):
        formulate.record(formulate.sample_flock(), "Pip", "milk", "240 mL")


# --- wrong arguments ---

PANTRY, FLOCK = formulate.sample_pantry(), formulate.sample_flock()
WRONG = {
    "mix: number": (lambda: formulate.mix(3), "the pantry cannot be of type int. Give a Pantry"),
    "mix: none": (lambda: formulate.mix(None), "the pantry cannot be of type NoneType"),
    "mix: numbers": (lambda: formulate.mix([3]), "the pantry cannot be of type int"),
    "mix: reference": (lambda: formulate.mix(PANTRY, 3), 'such as "lamb-replacer"'),
    "mix: make": (lambda: formulate.mix(PANTRY, make=[1]), "the volume cannot be"),
    "mix: sure": (lambda: formulate.mix(PANTRY, sure="95"), "the sure cannot be of type str"),
    "mix: flag": (lambda: formulate.mix(PANTRY, most_foods=True), "Give a number"),
    "mix: keep to": (lambda: formulate.mix(PANTRY, keep_to=3), "Give a recipe as text"),
    "mix: kitchen": (lambda: formulate.mix("whole-milk", kitchen=3), "Give one of us, metric"),
    "mix: country": (lambda: formulate.mix(PANTRY, country="uk"), "has its country already"),
    "mix: cups": (lambda: formulate.mix(PANTRY, kitchen="uk"), "has its kitchen already"),
    "check: number": (lambda: formulate.check(3), "Give a recipe as text"),
    "check: frame": (lambda: formulate.check(PANTRY.to_frame()), "cannot be of type DataFrame"),
    "compare: number": (lambda: formulate.compare(PANTRY, 3), "Give a list of recipes"),
    "compare: numbers": (lambda: formulate.compare(PANTRY, [3]), "Give a list of recipes"),
    "compare: per": (lambda: formulate.compare(PANTRY, per="liter"), "Did you mean litre"),
    "prices: number": (lambda: formulate.prices(PANTRY, 3), 'such as "whole-milk=2.5..6"'),
    "today: number": (lambda: formulate.today(3), "Give a flock from load_flock"),
    "today: pantry": (lambda: formulate.today(PANTRY), "cannot be of type Pantry"),
    "today: moment": (lambda: formulate.today(FLOCK, now=3), "Give a datetime, a date"),
    "today: words": (lambda: formulate.today(FLOCK, now="soon"), '"soon" is not a date'),
    "today: zone": (lambda: formulate.today(FLOCK, now="2026-11-14T06:00Z"), "time zone"),
    "record: number": (lambda: formulate.record("f.toml", "Pip", "milk", 8), "with its unit"),
    "record: flock": (lambda: formulate.record(3, "Pip", "milk", "8 fl oz"), "load_flock"),
    "shop: hour": (lambda: formulate.shop(FLOCK, mix_at=6), 'such as "06:30"'),
    "shop: also": (lambda: formulate.shop(FLOCK, also=3), "Give a list of recipes"),
    "season: seconds": (lambda: formulate.season(FLOCK, seconds="5"), "Give a number"),
    "rehydrate: weight": (lambda: formulate.rehydrate(PANTRY, weight=4), "with its unit"),
    "load: number": (lambda: formulate.load_pantry(3), "Give a path as text"),
    "load: none": (lambda: formulate.load_flock(None), "the path cannot be of type NoneType"),
    "load: moment": (lambda: formulate.sample_flock(3), "Give a datetime.datetime"),
    "load: country": (lambda: formulate.sample_pantry(3), 'such as "uk"'),
    "foods: country": (lambda: formulate.food_table(3), 'such as "uk"'),
    "bands: number": (lambda: formulate.band_set(3), 'such as "lamb-replacer"'),
    "bands: name": (lambda: formulate.band_set("lamb-replaser"), "Did you mean lamb-replacer"),
    "save: pantry": (lambda: formulate.save(PANTRY, "x.png"), "Give an answer"),
    "save: path": (lambda: formulate.save(formulate.compare(PANTRY), 3), "Give a path"),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_argument_is_our_own_error_with_a_hint(name):
    call, says = WRONG[name]
    with pytest.raises(formulate.InputError) as caught:
        call()
    assert says in str(caught.value)
    again = pickle.loads(pickle.dumps(caught.value))
    assert str(again) == str(caught.value)
    assert type(again) is type(caught.value)


def test_a_wrong_type_is_a_type_error_too():
    with pytest.raises(TypeError):
        formulate.mix(3)
    with pytest.raises(ValueError, match="cannot be of type int"):
        formulate.mix(3)


# --- files ---


def test_an_answer_is_written_in_the_form_that_the_ending_names(tmp_path):
    milk = formulate.mix(PANTRY)
    saved = {
        "milk.lp": milk,
        "steps.csv": formulate.prices(PANTRY, "whole-milk=2.5..6"),
        "growth.svg": formulate.today(FLOCK),
        "plan.ics": formulate.shop(FLOCK),
        "drink.pdf": formulate.rehydrate(PANTRY, flock=FLOCK),
    }
    for name, answer in saved.items():
        assert formulate.save(answer, tmp_path / name) == tmp_path / name
        assert (tmp_path / name).stat().st_size > 200
    formulate.save(milk, str(tmp_path / "milk.lp"))  # over its own, again


def test_what_cannot_be_written_says_so_and_writes_nothing(tmp_path):
    milk = formulate.mix(PANTRY)
    with pytest.raises(formulate.InputError, match=r"MixAnswer cannot be written as \.docx.*\.svg"):
        formulate.save(milk, tmp_path / "milk.docx")
    with pytest.raises(formulate.InputError, match="nothing to write"):
        formulate.save(formulate.check("1 cup chocolate"), tmp_path / "reads.png")
    (tmp_path / "own.svg").write_text("somebody's own", encoding="utf-8")
    with pytest.raises(formulate.InputError):
        formulate.save(milk, tmp_path / "own.svg")
    assert [path.name for path in tmp_path.iterdir()] == ["own.svg"]
