"""The public face: names handed on, nothing defined, nothing heavy imported."""

import copy
import pickle
import subprocess
import sys

import cloudpickle
import pytest

import formulate


def test_every_public_name_is_there():
    for name in formulate.__all__:
        assert getattr(formulate, name) is not None
    assert set(formulate.__all__) <= set(dir(formulate))


def test_the_list_is_pinned():
    assert len(formulate.__all__) == len(set(formulate.__all__))
    assert {
        "Mix", "NoMix", "Shelf", "Band", "Basis", "design", "check", "compare", "load_pantry",
        "parse_recipe", "food_table", "band_set", "InputError", "Kitchen", "reads_frame",
    } <= set(formulate.__all__)  # fmt: skip


def test_no_other_name_is_made_up():
    with pytest.raises(AttributeError, match="no attribute 'optimize'"):
        formulate.optimize  # noqa: B018


def loaded_after(code):
    script = f"import sys\n{code}\nprint(' '.join(sys.modules))"
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True
    )
    return set(done.stdout.split())


# pint imports the bare name scipy, whose parts load only when used.
HEAVY = {"pandas", "scipy.optimize", "scipy.sparse", "matplotlib", "pulp"}


def test_importing_the_package_loads_no_library():
    assert not loaded_after("import formulate") & (HEAVY | {"numpy", "highspy", "pint"})


def test_help_loads_no_library():
    code = "from formulate.cli.main import run; import io, contextlib\n"
    code += "with contextlib.redirect_stdout(io.StringIO()): run(['--help'])"
    assert not loaded_after(code) & (HEAVY | {"numpy", "highspy", "pint"})


def test_a_mix_loads_no_plotting_and_no_tables_library():
    code = "from formulate.cli.main import run; import io, contextlib\n"
    code += "with contextlib.redirect_stdout(io.StringIO()): run(['mix'])"
    assert not loaded_after(code) & HEAVY


def test_a_module_never_hides_the_function_of_its_name():
    code = """
import formulate
pantry, lamb = formulate.sample_pantry(), formulate.band_set("lamb-replacer")
for _ in range(2):
    formulate.compare(pantry.recipes.values(), pantry, lamb)
    formulate.check(pantry.recipes["bag"], lamb)
from formulate.pantry.reading import check
assert formulate.check is check
import formulate.answers.compare
assert callable(formulate.compare)
"""
    assert "formulate.answers.compare" in loaded_after(code)


def test_dir_shows_the_public_names_and_nothing_else():
    assert dir(formulate) == sorted(formulate.__all__)


@pytest.fixture(scope="module")
def made():
    """Something of each kind that the public functions give."""
    pantry = formulate.sample_pantry()
    lamb = formulate.band_set("lamb-replacer")
    ewe = formulate.band_set("ewe-milk")
    shelf = pantry.shelf()
    recipe = next(iter(pantry.recipes.values()))
    return {
        "pantry": pantry,
        "shelf": shelf,
        "recipe": recipe,
        "mix": formulate.design(shelf, lamb, volume=2000.0),
        "no mix": formulate.design(shelf.take([0]), ewe, volume=2000.0),
        "checked": formulate.check(recipe, lamb),
        "problem": formulate.build(shelf, lamb, 2000.0),
        "solved": formulate.solve(formulate.build(shelf, lamb, 2000.0).program()),
        "compared": tuple(formulate.compare(pantry.recipes.values(), pantry, lamb)),
        "foods": formulate.food_table(),
        "composition": formulate.table_composition(),
        "bands": lamb,
    }


def test_equal_answers_are_equal(made):
    assert formulate.sample_pantry() == made["pantry"]
    lamb = formulate.band_set("lamb-replacer")
    again = formulate.design(formulate.sample_pantry().shelf(), lamb, volume=2000.0)
    assert again == made["mix"]
    assert hash(again) == hash(made["mix"])
    assert formulate.design(made["shelf"], lamb, volume=1000.0) != made["mix"]
    assert len({made["shelf"], formulate.sample_pantry().shelf()}) == 1


def test_everything_pickles_and_comes_back_equal(made):
    for name, thing in made.items():
        for dumps in (pickle.dumps, cloudpickle.dumps):
            assert pickle.loads(dumps(thing)) == thing, name
        assert copy.deepcopy(thing) == thing, name


def test_a_function_that_names_the_package_travels_to_another_process():
    code = "import cloudpickle, formulate; cloudpickle.dumps(lambda: formulate.sample_pantry())"
    subprocess.run([sys.executable, "-c", code], check=True)
