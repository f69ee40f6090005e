"""The milk of a flock: by name, by text, or as a designed mix."""

import json

import pytest

from formulate.answers.verdict import Verdict, judge
from formulate.base.errors import InputError
from formulate.blend.design import design
from formulate.blend.mix import Mix
from formulate.foods.tables import band_set
from formulate.pantry.pantry import sample_pantry
from formulate.rearing.flock import Species
from formulate.rearing.mixes import milk_named
from formulate.report import shapes


def test_strength_is_the_recipes_own():
    pantry = sample_pantry()
    milk = milk_named("plain-milk", pantry, Species.LAMB).milk
    # SR28 01077: water 88.13, protein 3.15, fat 3.25, carbohydrate 4.80 in 100 g.
    gross = 41.94 * 0.0325 + 15.85 * 0.0315 + 21.41 * 0.0480
    volume = 3.25 / 0.93 + (100 - 88.13 - 3.25) / 1.608 + 88.13 / 0.998  # mL in 100 g
    assert milk.energy == pytest.approx(0.943 * gross * 100 / volume, rel=1e-3)
    assert milk.solids == pytest.approx(11.87)
    assert milk.protein == pytest.approx(100 * 3.15 / 11.87)
    assert milk.solids_for(2 * milk.energy) == pytest.approx(2 * 11.87)


def test_a_designed_mix_is_read_back(tmp_path):
    pantry = sample_pantry()
    mix = design(pantry.shelf(), band_set("lamb-replacer"), 2000.0)
    assert isinstance(mix, Mix)
    path = tmp_path / "mix.json"
    path.write_text(shapes.dump(shapes.mix_shape(mix, "us", pantry)))
    milk = milk_named(str(path), pantry, Species.LAMB)
    assert milk.mix.weight == pytest.approx(mix.weight)
    assert milk.milk.solids_per_litre == pytest.approx(
        10 * milk.milk.solids * mix.weight / mix.volume
    )


@pytest.mark.parametrize("text", ["[]", "{}", "not json", json.dumps({"amounts": []})])
def test_a_file_without_a_mix_is_reported(tmp_path, text):
    path = tmp_path / "mix.json"
    path.write_text(text)
    with pytest.raises(InputError, match=r"no mix|no amounts"):
        milk_named(str(path), sample_pantry(), Species.LAMB)


def test_a_dangerous_mix_is_never_fed():
    strong = milk_named(
        "350 g dry-whole-milk + 150 g nonfat-dry-milk + 1 L water", sample_pantry(), Species.LAMB
    )
    assert [r.id for r in judge(strong.mix).reasons if r.verdict is Verdict.NEVER] == [
        "osmolality-never"
    ]
    plain = milk_named("plain-milk", sample_pantry(), Species.LAMB)
    assert judge(plain.mix).verdict is Verdict.OUTSIDE


def test_nothing_but_water_is_no_milk():
    with pytest.raises(InputError, match="no energy"):
        milk_named("1 L water", sample_pantry(), Species.LAMB)
