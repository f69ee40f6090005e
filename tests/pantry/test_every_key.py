"""The commented references hold every key that a pantry or a flock file may have."""

import dataclasses
import tomllib

import pytest

from formulate.cli.main import run
from formulate.pantry.pantry import parse_pantry
from formulate.pantry.pantry_shape import (
    BandEntry,
    BandsEntry,
    FoodEntry,
    OwnEntry,
    PantryFile,
    SizeEntry,
)
from formulate.pantry.start import every_key
from formulate.rearing.flock_file import parse_flock
from formulate.rearing.flock_shape import (
    AnimalEntry,
    ChangeEntry,
    ColostrumEntry,
    CreepEntry,
    FlockFile,
    PermissionEntry,
    TemperatureEntry,
    WeightEntry,
)

#: Where the tables of each shape stand.
PANTRY = {
    PantryFile: "",
    FoodEntry: "foods.*",
    SizeEntry: "foods.*.sizes",
    OwnEntry: "own.*",
    BandsEntry: "bands.*",
    BandEntry: "bands.*.demand",
}
FLOCK = {
    FlockFile: "",
    ChangeEntry: "change",
    PermissionEntry: "veterinarian",
    AnimalEntry: "animals.*",
    WeightEntry: "animals.*.weights",
    ColostrumEntry: "animals.*.colostrum",
    CreepEntry: "animals.*.creep",
    TemperatureEntry: "animals.*.temperatures",
}


def tables(document: object, path: str) -> list[dict]:
    """Every table at a path; "*" is any name, and lists are looked through."""
    found = [document]
    for step in filter(None, path.split(".")):
        inside: list = []
        for one in found:
            values = one.values() if step == "*" else [one[step]] if step in one else []
            for value in values:
                inside += value if isinstance(value, list) else [value]
        found = inside
    return found


@pytest.mark.parametrize(("which", "shapes"), [("pantry", PANTRY), ("flock", FLOCK)])
def test_every_key_is_there_with_a_comment(which, shapes):
    text = every_key(which)
    document = tomllib.loads(text)
    for shape, path in shapes.items():
        keys = {field.name for field in dataclasses.fields(shape)}
        there = set().union(*(set(table) for table in tables(document, path)))
        assert there == keys, shape.__name__
    assert text.count("#") >= 15


def test_no_shape_is_forgotten():
    from formulate.pantry import pantry_shape
    from formulate.rearing import flock_shape

    for module, shapes in ((pantry_shape, PANTRY), (flock_shape, FLOCK)):
        made = {
            one
            for one in vars(module).values()
            if dataclasses.is_dataclass(one) and one.__module__ == module.__name__
        }
        assert made == set(shapes)


def test_they_can_be_read():
    pantry = parse_pantry(every_key("pantry"))
    assert pantry.recipes
    assert pantry.own_bands
    assert parse_flock(every_key("flock")).flock.names == ["Pip"]


@pytest.mark.parametrize("which", ["pantry", "flock"])
def test_the_command_prints_them(which, capsys):
    assert run(["start", "--keys", which]) == 0
    assert capsys.readouterr().out == every_key(which)
