"""The public face: what `formulate` itself offers, pinned whole; light, short, picklable."""

import ast
import copy
import dataclasses
import doctest
import inspect
import pickle
import pydoc
import re
import subprocess
import sys
from datetime import date
from pathlib import Path

import cloudpickle
import pytest

import formulate
from formulate.library import about_animals, about_milk, saving
from formulate.report import many

QUESTIONS = (
    "check", "compare", "many", "mix", "prices", "record", "rehydrate", "season", "shop", "today",
)  # fmt: skip
FACE = {
    *QUESTIONS,
    # loading, saving, tables
    "band_set", "band_sets", "food_table", "load_flock", "load_pantry", "sample_flock",
    "sample_pantry", "save", "sources",
    # what they speak in
    "BandSet", "Flock", "FlockRead", "Food", "Judgement", "Kitchen", "Mix", "Pantry", "Read",
    "Recipe", "Standing", "Verdict",
    # answers
    "CheckAnswer", "CompareAnswer", "MixAnswer", "PricesAnswer", "Recorded", "Rehydration",
    "SeasonAnswer", "ShopAnswer", "Today",
    # errors
    "AmbiguousName", "FormulateError", "InputError", "ManyFaults", "MissingComposition",
    "SolverFault", "UnitError", "UnknownName", "WrongType",
}  # fmt: skip
TWO_SCREENS = 100


def test_the_list_is_pinned_whole():
    assert dir(formulate) == sorted(FACE)
    for name in FACE:
        assert getattr(formulate, name) is not None


def test_tools_that_read_types_see_the_same_list():
    tree = ast.parse(Path(formulate.__file__).read_text(encoding="utf-8"))
    typed = next(node for node in tree.body if isinstance(node, ast.If))
    seen = {
        one.asname: node.module
        for node in typed.body
        if isinstance(node, ast.ImportFrom)
        for one in node.names
    }
    assert seen == formulate._HOME


def test_the_version_is_the_one_that_the_command_tells(capsys):
    from formulate.cli.main import run

    run(["--version"])
    assert capsys.readouterr().out == f"formulate {formulate.__version__}\n"


def test_no_other_name_is_made_up():
    with pytest.raises(AttributeError, match="no attribute 'optimize'"):
        formulate.optimize  # noqa: B018


def test_a_misspelt_name_is_answered_with_the_nearest():
    code = "import formulate; formulate.chek"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.stderr.rstrip().endswith("has no attribute 'chek'. Did you mean: 'check'?")


def test_help_fits_on_two_screens_and_tells_every_name():
    told = pydoc.plain(pydoc.render_doc(formulate))
    assert len(told.splitlines()) <= TWO_SCREENS
    assert set(re.findall(r"\w+", told)) >= FACE
    assert max(map(len, (formulate.__doc__ or "").splitlines())) <= 100


@pytest.mark.parametrize("name", QUESTIONS)
def test_every_question_tells_its_parameters_and_has_an_example(name):
    ask = getattr(formulate, name)
    told = inspect.getdoc(ask)
    for heading in ("Parameters", "Returns", "Raises", "Examples"):
        assert f"\n{heading}\n{'-' * len(heading)}\n" in told
    for parameter in inspect.signature(ask).parameters:
        assert re.search(rf"^(\w+, )*{parameter}(, \w+)* : ", told, re.MULTILINE), parameter


@pytest.mark.parametrize("name", sorted(name for name in FACE - {*QUESTIONS} if name.islower()))
def test_every_other_function_tells_what_it_takes_and_gives(name):
    ask = getattr(formulate, name)
    told = inspect.getdoc(ask)
    assert "\nReturns\n-------\n" in told
    for parameter in inspect.signature(ask).parameters:
        assert re.search(rf"^{parameter} : ", told, re.MULTILINE), parameter


@pytest.mark.parametrize(
    "module", [formulate, about_milk, about_animals, saving, many], ids=lambda m: m.__name__
)
def test_the_examples_run(module):
    names = {"formulate": formulate}
    done = doctest.testmod(module, extraglobs=names, optionflags=doctest.ELLIPSIS)
    assert done.attempted
    assert not done.failed


# --- light ---------------------------------------------------------------------------------------


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
    code += "with contextlib.redirect_stdout(io.StringIO()): run(['mix'])\n"
    code += "import formulate; repr(formulate.mix(formulate.sample_pantry()))"
    assert not loaded_after(code) & HEAVY


def test_a_module_never_hides_the_function_of_its_name():
    code = """
import formulate
import formulate.answers.compare, formulate.answers.mix, formulate.blend.mix
from formulate.library import about_animals, about_milk
for module in (about_animals, about_milk):
    for name in module.__all__:
        assert getattr(formulate, name) is getattr(module, name), name
"""
    assert "formulate.answers.compare" in loaded_after(code)


# --- equal, picklable, short ---------------------------------------------------------------------

RECIPE = "1 quart whole-milk + 1 can evaporated-milk"


def answers():
    """Something of each kind that the public functions give."""
    from formulate.answers.sheet import sheet
    from formulate.pantry.country import bare_pantry

    pantry, flock = formulate.sample_pantry(), formulate.sample_flock()
    return {
        "pantry": pantry,
        "bare pantry": bare_pantry("uk"),
        "flock and log": flock,
        "flock": flock.flock,
        "recipe": next(iter(pantry.recipes.values())),
        "food": pantry.items[0].food,
        "bands": formulate.band_set("lamb-replacer"),
        "mix": formulate.mix(pantry),
        "no mix": formulate.mix(pantry, "ewe-milk"),
        "closest": formulate.mix(pantry, "ewe-milk", closest=True),
        "sure": formulate.mix(pantry, sure=90, by_gram=True),
        "in a jug": formulate.mix(pantry, container="1 gallon jug of whole-milk"),
        "check": formulate.check(RECIPE, pantry=pantry, brix=15.0),
        "never": formulate.check("1 quart whole-milk + 1 cup chocolate"),
        "compare": formulate.compare(pantry),
        "prices": formulate.prices(pantry, "whole-milk=2.5..6"),
        "today": formulate.today(flock),
        "shop": formulate.shop(flock),
        "season": formulate.season(flock),
        "rehydrate": formulate.rehydrate(pantry, flock=flock),
        "sheet": sheet(pantry, read=flock),
    }


@pytest.fixture(scope="module")
def made():
    return answers()


def test_equal_answers_are_equal(made):
    flock = formulate.sample_flock()
    assert flock == made["flock and log"]
    pantry = formulate.sample_pantry()
    assert pantry == made["pantry"]
    assert hash(pantry) == hash(made["pantry"])
    for name, again in {
        "mix": formulate.mix(pantry),
        "no mix": formulate.mix(pantry, "ewe-milk"),
        "check": formulate.check(RECIPE, pantry=pantry, brix=15.0),
        "compare": formulate.compare(pantry),
        "prices": formulate.prices(pantry, "whole-milk=2.5..6"),
        "today": formulate.today(flock),
    }.items():
        assert again == made[name], name
        assert again != made["closest"], name


def test_everything_pickles_and_comes_back_equal(made):
    for name, thing in made.items():
        assert pickle.loads(pickle.dumps(thing)) == thing, name
    for name in ("mix", "pantry", "today"):
        assert pickle.loads(cloudpickle.dumps(made[name])) == made[name], name
        assert copy.deepcopy(made[name]) == made[name], name


def test_a_function_that_names_the_package_travels_to_another_process():
    code = "import cloudpickle, formulate; cloudpickle.dumps(lambda: formulate.sample_pantry())"
    subprocess.run([sys.executable, "-c", code], check=True)


def test_an_answer_that_travelled_still_shows_itself(made):
    code = "import pickle, sys; print(pickle.load(sys.stdin.buffer).to_json())"
    done = subprocess.run(
        [sys.executable, "-c", code],
        input=pickle.dumps(made["mix"]),
        capture_output=True,
        check=True,
    )
    assert done.stdout.decode() == made["mix"].to_json() + "\n"


def parts(thing, depth):
    """An object and every dataclass in it."""
    if dataclasses.is_dataclass(thing):
        yield thing
        inner = [getattr(thing, field.name) for field in dataclasses.fields(thing)]
    elif isinstance(thing, list | tuple):
        inner = thing[:3]
    else:
        inner = []
    for one in inner if depth else ():
        yield from parts(one, depth - 1)


def test_the_repr_of_every_answer_and_of_all_that_is_in_it_is_short(made):
    shown = {(type(part).__name__, repr(part)) for one in made.values() for part in parts(one, 5)}
    assert len({kind for kind, _ in shown}) > 60
    assert {kind: len(text) for kind, text in shown if len(text) > 400} == {}
    assert not [text for _, text in shown if "\n" in text]
    assert len(repr(formulate.food_table())) <= 400
    assert len(repr(dataclasses.replace(made["pantry"], name="long name " * 100))) <= 400


def test_the_repr_of_a_mix_tells_its_verdict_foods_and_price(made):
    text = repr(made["mix"])
    for word in ("inside", "lamb-replacer", "whole-milk", "USD/L"):
        assert word in text
    assert repr(made["flock"]).startswith("<Flock ")
    assert repr(made["never"]).startswith("<CheckAnswer never")
    assert date.today().isoformat() not in text
