"""One tree of errors: each has its exit status, keeps its text, and travels between processes."""

from __future__ import annotations

import copy
import pickle
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from formulate.base import errors
from formulate.base.errors import (
    AmbiguousName,
    FormulateError,
    InputError,
    ManyFaults,
    MissingComposition,
    SolverFault,
    UnitError,
    UnknownName,
    nearest_names,
    quoted,
)

EVERY_KIND = [
    InputError("no foods to mix", "Put at least one food on the shelf."),
    InputError("no foods to mix", where="pantry.toml"),
    InputError("no foods to mix").at("[food]").at("pantry.toml"),
    UnknownName("food", "evaporatd milk", ["evaporated-milk", "water"]),
    UnknownName("unit", "bucket", ["cup"], "Units: cup."),
    AmbiguousName("food", "milk", ["whole-milk", "skim-milk"]),
    UnitError('"500 g" is not a volume', "Write a volume, as 2 quarts or 2 L."),
    MissingComposition("copper", ["my-milk"], "the floor on copper"),
    MissingComposition("copper", ["my-milk", "my-cream"], "the floor on copper").at("pantry.toml"),
    ManyFaults([InputError("one"), UnknownName("unit", "cpu", ["cup"])]),
    SolverFault("HiGHS refused the linear program"),
]


@pytest.mark.parametrize("error", EVERY_KIND, ids=lambda error: type(error).__name__)
@pytest.mark.parametrize("protocol", range(pickle.HIGHEST_PROTOCOL + 1))
def test_errors_survive_pickling(error, protocol):
    again = pickle.loads(pickle.dumps(error, protocol))
    assert type(again) is type(error)
    assert str(again) == str(error)
    assert again.args == error.args
    late = {"known", "nearest", "remedy"}  # worked out when somebody asks
    assert {k: str(v) for k, v in vars(again).items() if k not in late} == {
        k: str(v) for k, v in vars(error).items() if k not in late
    }
    assert again.remedy == error.remedy if isinstance(error, InputError) else True
    assert str(copy.deepcopy(error)) == str(error)


@pytest.mark.parametrize("error", EVERY_KIND, ids=lambda error: type(error).__name__)
def test_a_person_s_mistake_is_2_and_ours_is_3(error):
    assert isinstance(error, FormulateError)
    assert error.exit_status == (2 if isinstance(error, InputError) else 3)
    assert isinstance(error, ValueError if isinstance(error, InputError) else RuntimeError)


@pytest.mark.parametrize(
    ("error", "text"),
    list(
        zip(
            EVERY_KIND,
            [
                "no foods to mix. Put at least one food on the shelf.",
                "pantry.toml: no foods to mix.",
                "pantry.toml: [food]: no foods to mix.",
                'there is no food called "evaporatd milk". Did you mean evaporated-milk?',
                'there is no unit called "bucket". Units: cup.',
                '"milk" could be more than one food. Say which: whole-milk, skim-milk.',
                '"500 g" is not a volume. Write a volume, as 2 quarts or 2 L.',
                "my-milk has no value for copper, which the floor on copper needs. "
                "A missing value is not zero. Add it to the food, or leave the food out.",
                "pantry.toml: my-milk and my-cream have no value for copper, which the floor on "
                "copper needs. "
                "A missing value is not zero. Add it to the food, or leave the food out.",
                'one.\nthere is no unit called "cpu". Did you mean cup?',
                "HiGHS refused the linear program",
            ],
            strict=True,
        )
    ),
)
def test_what_they_say(error, text):
    assert str(error) == text


def test_the_place_can_be_told_on_the_way_up():
    error = UnitError("no price")
    assert error.at("[food]").at("shelf.toml") is error
    assert str(error) == "shelf.toml: [food]: no price."


@pytest.mark.parametrize(
    ("name", "known", "first"),
    [
        ("evaporatd milk", ["evaporated-milk", "whole-milk", "water"], "evaporated-milk"),
        ("milk whole", ["whole-milk", "skim-milk", "water"], "whole-milk"),
        ("CUPS", ["cup", "quart"], "cup"),
        ("fl-oz", ["fl oz", "oz", "floor"], "fl oz"),
    ],
)
def test_the_nearest_name_comes_first(name, known, first):
    assert nearest_names(name, known)[0] == first


def test_nothing_near_is_not_guessed():
    assert nearest_names("hay", ["whole-milk", "water"]) == ()


@given(st.text(max_size=20), st.lists(st.text(max_size=12), max_size=8))
def test_near_names_are_known_ones_and_do_not_depend_on_their_order(name, known):
    found = nearest_names(name, known)
    assert set(found) <= set(known)
    assert len(found) <= 3
    assert found == nearest_names(name, sorted(known, reverse=True))


LONG = "x" * 500


@pytest.mark.parametrize(
    "error",
    [
        InputError(f'"{LONG}" is no amount'),
        InputError(f"{LONG} is no amount"),
        InputError(f'"{LONG} {LONG}" is no amount').at(LONG),
        InputError(f'"{LONG}" is no amount', where=LONG).at("pantry.toml"),
        UnknownName("food", LONG, ["water"]),
        UnknownName("food", "x " * 500, ["water"]),
        AmbiguousName("food", LONG, ["water"]),
    ],
)
def test_what_was_typed_is_quoted_in_short(error):
    problem = error.problem
    assert max(len(part) for part in re.split(r'[\s"]', problem)) <= 60
    assert max([len(part) for part in re.findall('"([^"]*)"', problem)], default=0) <= 60
    assert len(str(error)) < 600


def test_sixty_letters_are_quoted_whole_and_one_more_is_cut():
    assert quoted("x" * 60) == f'"{"x" * 60}"'
    assert quoted("x" * 61) == f'"{"x" * 59}…"'
    assert str(InputError(f'"{"x" * 60}" is no food')) == f'"{"x" * 60}" is no food.'
    assert str(InputError(f'"{"x" * 61}" is no food')) == f'"{"x" * 59}…" is no food.'


@pytest.mark.parametrize(
    "sign", ["\x1b[2J", "\x07", "\r", "\n", "\u202e", "\u200b", "\x9b", "\x00"]
)
def test_no_control_character_reaches_a_terminal(sign):
    error = UnknownName("food", f"mi{sign}lk", ["milk"]).at(f"pan{sign}try.toml")
    assert sign not in str(error)
    assert str(error).isprintable()
    assert "Did you mean milk?" in str(error)


def test_twenty_faults_are_reported_and_the_rest_counted():
    def many(count):
        return str(ManyFaults([InputError(f"fault {n}") for n in range(count)])).splitlines()

    assert len(many(20)) == 20
    assert many(21)[20] == "And one more fault."
    assert many(120)[19:] == ["fault 19.", "And 100 more faults."]


def test_likely_names_are_looked_for_only_when_an_error_is_reported(monkeypatch):
    looked = []
    monkeypatch.setattr(errors, "nearest_names", lambda name, known: looked.append(name) or ())
    faults = ManyFaults([UnknownName("food", f"f{n}", ["milk"]) for n in range(1000)])
    assert not looked
    str(faults)
    assert len(looked) == 20


def test_what_would_be_right_is_said_once():
    """A log whose every line is damaged says only once what to do."""
    log = [InputError("it is damaged", "Mend it.").at(f"line {n}") for n in (1, 2)]
    other = InputError("no unit", "Write a unit.").at("line 3")
    assert str(ManyFaults([*log, other])).splitlines() == [
        "line 1: it is damaged. Mend it.",
        "line 2: it is damaged.",
        "line 3: no unit. Write a unit.",
    ]


def test_a_remedy_that_is_known_by_near_names_is_said_of_each():
    faults = [UnknownName("key", name, ["price", "package"]) for name in ("prise", "packet")]
    assert str(ManyFaults(faults)).count("Did you mean") == 2
