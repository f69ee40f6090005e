"""The plan, growth and shopping on another day or another milk; a bottle without a list."""

from datetime import datetime
from importlib.resources import files

import pytest
from page.visitor import Visitor

from formulate.answers.household import one_animal
from formulate.answers.today import today
from formulate.cli.main import run
from formulate.report.today_text import screen_lines


@pytest.fixture
def visitor(tmp_path):
    for name in ("pantry", "flock"):
        data = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        (tmp_path / f"{name}.toml").write_bytes(data)
    return Visitor(tmp_path)


def printed(capsys, *words):
    capsys.readouterr()
    run(list(words))
    return capsys.readouterr().out


def words_of(text):
    """Words as the page has them, without the marks of a list."""
    return [word for word in text.replace("·", " ").split() if word not in ("-", "!")]


@pytest.mark.parametrize(
    ("address", "command"),
    [
        ("/plan?level=hearty&on=2026-11-16", ["feed", "--level", "hearty", "--on", "2026-11-16"]),
        ("/plan?weaning=abrupt&milk=cream-and-powder",
         ["feed", "--weaning", "abrupt", "--milk", "cream-and-powder"]),
        ("/plan?cold_wet=1&every-day=1", ["feed", "--cold-wet", "--every-day"]),
        ("/growth?on=2026-11-16", ["growth", "--on", "2026-11-16"]),
    ],
)  # fmt: skip
def test_another_plan_is_what_the_command_prints(visitor, capsys, address, command):
    name, *options = command
    told = printed(capsys, name, str(visitor.folder / "flock.toml"), *options)
    page = visitor.open(address)
    assert page.status == 200
    shown = set(words_of(page.text))
    lines = [line for line in told.splitlines() if "--sources" not in line]
    lacking = [word for word in words_of("\n".join(lines)) if word not in shown]
    assert len(lacking) <= len(words_of(told)) // 50, lacking  # a unit is tied to its number
    assert visitor.open(address).text == page.text


def test_another_plan_writes_nothing(visitor):
    before = {path: path.read_bytes() for path in visitor.folder.iterdir()}
    visitor.open("/plan?level=hearty&weaning=abrupt&milk=cream-and-powder&on=2026-11-20")
    assert {path: path.read_bytes() for path in visitor.folder.iterdir()} == before


def test_where_the_numbers_come_from_is_told_when_asked(visitor):
    assert "Where the numbers come from" not in visitor.open("/plan").text
    for address in ("/plan?sources=1", "/growth?sources=1"):
        assert "[" in visitor.open(address).text


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ("on=some+day", "some day"),
        ("level=mighty", "mighty"),
        ("milk=moonshine", "moonshine"),
        ("on=1026-11-14", "1026"),
    ],
)
def test_what_cannot_be_planned_is_said_in_its_place(visitor, asked, told):
    for place in ("/plan", "/growth") if not asked.startswith("level") else ("/plan",):
        page = visitor.open(f"{place}?{asked}")
        assert page.status == 422
        assert told in page.text
        assert "--" not in page.text


def test_the_shopping_of_another_milk(visitor):
    page = visitor.at("/shop").press(
        "Make my", "shop", typed={"milk": "cream-and-powder", "seconds": "0.5", "every-day": "1"}
    )
    assert page.status == 200
    assert "What to mix, day by day" in page.text
    assert page.values("shop", "milk") == ["cream-and-powder"]
    for seconds in ("0", "-1", "soon", "61"):
        page = visitor.press("Make my", "shop", typed={"seconds": seconds})
        assert page.status == 422, seconds
        assert page.values("shop", "seconds") == [seconds]


class Noon(datetime):
    """A clock that stands still."""

    @classmethod
    def now(cls, tz=None):
        return cls(2026, 11, 14, 12)


@pytest.mark.parametrize("species", ["lamb", "kid"])
def test_a_bottle_without_a_list_is_the_one_of_the_command(visitor, monkeypatch, species):
    monkeypatch.setattr("formulate.page.planning.datetime", Noon)
    (visitor.folder / "flock.toml").unlink()
    page = visitor.open(
        f"/bottle?species={species}&weight=4.2+kg&age=9+days&typed=1+gallon+whole-milk&cold_wet=1"
    )
    assert page.status == 200
    home = one_animal(
        species, "4.2 kg", "9 days", "1 gallon whole-milk", Noon.now(), folder=visitor.folder
    )
    lines = "\n".join(screen_lines(today(home.read, home.pantry, cold_wet=True)))
    shown = set(words_of(page.text))
    assert [word for word in words_of(lines) if word not in shown] == []
    assert [path.name for path in visitor.folder.iterdir()] == ["pantry.toml"]


@pytest.mark.parametrize(
    ("asked", "told"),
    [
        ("weight=4.2+kg&age=9", "age"),
        ("weight=42+kg&age=3+days", "42"),
        ("weight=&age=3+days", ""),
        ("weight=4.2+kg&age=3+days&typed=1+gallon+moonshine", "moonshine"),
        ("weight=4.2+kg&age=3+days&typed=1+quart+whole-milk+%2B+1+cup+milk-chocolate", "chocolate"),
    ],
)
def test_a_bottle_that_cannot_be_is_said(visitor, asked, told):
    page = visitor.open(f"/bottle?{asked}")
    assert page.status == 422 or "Do not feed" in page.text, page.text
    assert told in page.text


def test_no_place_names_the_folder_above_its_foot(visitor):
    for address in ("/", "/plan", "/growth", "/animals", "/milk"):
        told = visitor.open(address).text.partition("Its files are in")[0]
        assert str(visitor.folder) not in told, address
