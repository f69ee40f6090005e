"""Cautions: each speaks when it should and only then, and names a source."""

import pytest

from formulate.answers.cautions import cautions_at, cautions_for, entries_from, milk_entries
from formulate.answers.condition_data import condition_from
from formulate.answers.facts import AnimalFacts, MilkFacts
from formulate.answers.verdict import Verdict
from formulate.base.errors import InputError
from formulate.foods.tables import band_set, food_table, read_toml, sources
from formulate.pantry.pantry import parse_pantry
from formulate.pantry.reading import check
from formulate.pantry.recipe import parse_recipe

ALWAYS = {"not-for-the-first-day", "veterinarian", "local-rules", "estimates"}


def told(text, against="lamb-replacer", pantry=None):
    table = pantry.table if pantry else food_table()
    mix = check(parse_recipe(text, table), band_set(against), pantry)
    return {caution.id: caution.text for caution in cautions_for(mix)}


# --- the data -----------------------------------------------------------------------------------

EVERY = [
    (room, name, entry)
    for room in ("milk", "animal")
    for name, entry in read_toml("cautions.toml")[room].items()
]


@pytest.mark.parametrize(("room", "name", "entry"), EVERY, ids=lambda one: str(one)[:30])
def test_every_entry_can_be_read_and_is_short(room, name, entry):
    (read,) = entries_from({name: {k: v for k, v in entry.items() if k != "unless"}})
    assert read.source in sources()
    assert len(read.text) < 270, "a tired person reads this"
    assert read.text[-1] == "."
    assert room == "milk" or not read.verdict, "an animal has no verdict"


def test_what_decides_comes_before_what_only_cautions_and_the_worst_first():
    verdicts = [entry.verdict for entry in milk_entries()]
    decided = [Verdict(v).rank for v in verdicts if v]
    assert decided == sorted(decided)
    assert not any(verdicts[len(decided) :])


GOOD = {"when": {"always": True}, "text": "So.", "source": "judgement", "status": "judgement"}


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"when": {}}, "no condition"),
        ({"when": {"whenever": True}}, "no condition"),
        ({"when": "always"}, "a table"),
        ({"when": {"always": True, "kinds": ["egg"]}}, 'no key called "kinds"'),
        ({"when": {"kinds": ["eggs"]}}, "Did you mean egg"),
        ({"when": {"foods": ["whole-mlik"]}}, "Did you mean whole-milk"),
        ({"when": {"measure": "copper", "basis": "dry_matter", "unit": "mg/kg"}}, "no limit"),
        ({"when": {"measure": "coper", "basis": "dry_matter", "unit": "mg/kg", "above": 1}},
         "Did you mean copper"),
        ({"when": {"measure": "copper", "basis": "dry", "unit": "mg/kg", "above": 1}}, "basis"),
        ({"when": {"measure": "copper", "basis": "dry_matter", "unit": "g/kg", "above": 1}}, "mg"),
        ({"when": {"measure": "copper", "basis": "dry_matter", "unit": "mg/kg", "above": "1"}},
         "Write a number"),
        ({"when": {"measure": "copper", "basis": "dry_matter", "unit": "mg/kg", "above": 1,
                   "figures": 7}}, "figures"),
        ({"when": {"kinds": ["soy"], "above": 10}}, "a limit goes with"),
        ({"when": {"kinds": ["soy"], "share_of": "solids"}}, "a limit goes with"),
        ({"when": {"kinds": ["soy"], "lacks": ["coper"]}}, "Did you mean copper"),
        ({"when": {"unread": "unsafe"}}, "unread"),
        ({"when": {"species": "calf"}}, "One of: lamb, kid"),
        ({"when": {"age_from": 14}}, "age_to"),
        ({"when": {"age_from": 14, "age_to": 14}}, "ages run from"),
        ({"when": {"stages": ["suckling"]}}, "stages"),
        ({"when": {"all": [{"always": True}]}}, "two conditions"),
        ({"when": {"any": [{"always": True}, {"often": True}]}}, "no condition"),
        ({"source": "hearsay"}, "source"),
        ({"status": "true"}, "status"),
        ({"verdict": "fine"}, "verdict"),
        ({"text": "{amount} of it."}, "place"),
        ({"unless": ["another"]}, 'no entry called "another"'),
        ({"say": "So."}, "key"),
    ],
)  # fmt: skip
def test_an_entry_that_cannot_be_meant_is_refused_at_its_place(change, told):
    with pytest.raises(InputError, match=told) as error:
        entries_from({"mine": {**GOOD, **change}})
    assert str(error.value).startswith("mine: ")


@pytest.mark.parametrize("key", ["when", "text", "source", "status"])
def test_an_entry_without_one_of_its_parts_is_refused(key):
    with pytest.raises(InputError, match=f"mine: {key} is missing"):
        entries_from({"mine": {k: v for k, v in GOOD.items() if k != key}})


# --- the conditions -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("key", "limit", "holds"),
    [
        ("above", 43.0, False), ("above", 42.9, True),
        ("at_least", 43.0, True), ("at_least", 43.1, False),
        ("up_to", 43.0, True), ("up_to", 42.9, False),
        ("below", 43.0, False), ("below", 43.1, True),
    ],
)  # fmt: skip
def test_the_ends_of_a_limit(key, limit, holds):
    mix = check(parse_recipe("1 cup whole-milk", food_table()), band_set("lamb-replacer"))
    when = condition_from({"measure": "sodium", "basis": "as_fed", "unit": "mg/100 g", key: limit})
    assert (when.find(MilkFacts(mix, "lamb", mix.reads)) is not None) is holds


def test_a_plain_mix_draws_only_what_always_holds():
    mix = "2 quarts whole-milk + 3/4 cup light-whipping-cream + 1/2 cup nonfat-dry-milk"
    assert set(told(mix)) == ALWAYS


@pytest.mark.parametrize(
    ("text", "expected", "not_expected"),
    [
        ("1 cup sweetened-condensed-milk + 1 cup water", "sweetened-condensed-never", "sugar"),
        ("1 gallon whole-milk + 1 tbsp sweetened-condensed-milk", "sweetened-condensed", "sugar"),
        ("1 cup evaporated-milk + 1 cup nonfat-dry-milk", "osmolality-never", "osmolality-vet"),
        ("1 cup evaporated-milk + 1 cup nonfat-dry-milk", "strong-vet", "too-strong"),
        ("1 cup evaporated-milk + 1 cup whole-milk", "osmolality-high", "osmolality-vet"),
        ("2 cups whole-milk + 1 cup water", "thin-vet", "too-weak-lamb"),
        ("1 cup whole-milk", "too-weak-lamb", "thin-vet"),
        ("1 cup evaporated-milk + 1/2 cup whole-milk", "lactose", "lactose-vet"),
        ("1 cup lowfat-buttermilk", "salted-culture", "sodium-never"),
        ("1 cup lowfat-buttermilk", "sodium-vet", "raw-milk"),
        ("1 cup producer-milk", "raw-milk", "egg"),
        ("2 cups whole-milk + 1 egg", "egg", "oil"),
        ("2 cups whole-milk + 1 tbsp canola-oil", "oil", "fish-oil"),
        ("2 cups whole-milk + 1 tsp cod-liver-oil", "fish-oil", "oil"),
        ("2 quarts whole-milk + 1 tsp sugar", "sugar", "sugar-vet"),
    ],
)
def test_each_speaks_when_it_should_and_only_then(text, expected, not_expected):
    found = told(text)
    assert expected in found
    assert not_expected not in found


def test_weak_and_strong_depend_on_the_animal():
    assert "too-weak-lamb" in told("1 cup whole-milk", "lamb-replacer")
    assert not {"too-weak-lamb", "too-weak-kid"} & set(told("1 cup whole-milk", "kid-replacer"))
    assert "too-weak-kid" in told("10 cups whole-milk + 1 cup water", "kid-replacer")


HEAD = """
currency = "USD"
prices_on = 2026-11-02
[foods.bagged]
price = 2
package = "1 kg"
[own.bagged]
kind = "replacer-powder"
"""
PROXIMATES = "water = 4, protein = 20, fat = 20, ash = 8, sodium = 400, potassium = 1200"


def test_copper_of_a_mineral_powder_is_caught_and_unknown_is_not_called_safe():
    text = "150 g bagged + 850 g water"
    rich = parse_pantry(HEAD + f"per_100_g = {{ {PROXIMATES}, copper = 3.0 }}")
    assert "More than 17 poisons" in told(text, pantry=rich)["copper-never"]
    some = parse_pantry(HEAD + f"per_100_g = {{ {PROXIMATES}, copper = 1.0 }}")
    assert "copper-vet" in told(text, pantry=some)
    silent = parse_pantry(HEAD + f"per_100_g = {{ {PROXIMATES} }}")
    found = told(text, pantry=silent)
    assert not {"copper-vet", "copper-never"} & set(found)
    assert "copper" in found["unread"]


def test_no_caution_advises_copper_or_minerals_but_by_a_veterinarian():
    texts = [" ".join(entry["text"].split()) for _, _, entry in EVERY]
    minerals = [text for text in texts if "iron," in text]
    assert len(minerals) == 1
    assert "A veterinarian gives them" in minerals[0]
    assert not any("add copper" in text.lower() for text in texts)


# --- of an animal -------------------------------------------------------------------------------


def at(age, species="lamb", stage="milk"):
    return {caution.id for caution in cautions_at(AnimalFacts(species, age, stage))}


@pytest.mark.parametrize(
    ("name", "inside", "outside"),
    [
        ("bloat", (14, 30.9), (13.9, 31)),
        ("navel", (0, 1.9), (2,)),
        ("minerals", (14, 119), (13.9,)),
        ("coccidia-lamb", (21, 62.9), (20.9, 63)),
        ("vaccines", (14, 83), (13, 84)),
    ],
)
def test_an_age_has_its_cautions_and_no_other(name, inside, outside):
    assert all(name in at(age) for age in inside)
    assert not any(name in at(age) for age in outside)


def test_kids_have_their_own_window_of_coccidia():
    assert "coccidia-kid" in at(100, "kid")
    assert "coccidia-kid" not in at(100, "lamb")
    assert "coccidia-lamb" not in at(30, "kid")


def test_an_animal_off_milk_gets_no_advice_on_bottles():
    assert not {"feeding-position", "teat", "standing-bottle", "bloat"} & at(20, stage="weaned")
    assert {"feeding-position", "standing-bottle"} <= at(20, stage="")


def test_a_flock_is_told_whom_a_caution_is_for():
    from formulate.answers.today import today
    from formulate.pantry.pantry import sample_pantry
    from formulate.rearing.flock_file import sample_flock

    found = {c.id: c.text for c in today(sample_flock(), sample_pantry()).cautions}
    assert found["navel"].startswith("Dot: Dip the navel")
    assert found["feeding-position"].startswith("Feed it standing")  # all of them
    assert "bloat" not in found  # Pip and Wren are twelve days old
