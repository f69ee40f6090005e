"""Pictures, tables and programs that a place has to take away are those that a command writes."""

import io
import re
from html import unescape
from importlib.resources import files
from zipfile import ZipFile

import pytest
from page.visitor import HOST, Visitor
from werkzeug.datastructures import MultiDict

from formulate.cli.main import run

PNG, SVG = b"\x89PNG", b"<?xml"


@pytest.fixture(scope="module")
def visitor(tmp_path_factory):
    folder = tmp_path_factory.mktemp("taken")
    for name in ("pantry", "flock"):
        data = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        (folder / f"{name}.toml").write_bytes(data)
    return Visitor(folder)


def got(visitor, address):
    return visitor.client.get(unescape(address), headers={"Host": HOST})


def sent(visitor, address, form, *more):
    named = {name for name, _ in more}
    fields = MultiDict([*(one for one in visitor.page.fields[form] if one[0] not in named), *more])
    return visitor.client.post(address, data=fields, headers={"Host": HOST})


def links(page, ending):
    return re.findall(rf'(?:src|href)="(/\w+\.{ending}(?:\?[^"]*)?)"', page.html)


@pytest.mark.parametrize(
    ("moving", "words"),
    [
        ({"low.1": "2", "high.1": "6"}, ["whole-milk=2..6"]),
        (
            {"low.1": "2", "high.1": "6", "food.2": "heavy-cream", "low.2": "2", "high.2": "9",
             "points": "9"},
            ["whole-milk=2..6", "heavy-cream=2..9"],
        ),
    ],
)  # fmt: skip
def test_prices_that_move_are_there_as_a_table_and_as_a_picture(visitor, tmp_path, moving, words):
    typed = {"food.1": "whole-milk"} | moving
    page = visitor.at("/prices").press("Show the steps", "prices", typed=typed)
    (table,) = links(page, "csv")
    reply = got(visitor, table)
    assert reply.mimetype == "text/csv"
    asked = [part for word in words for part in ("--vary", word)]
    points = ["--points", "9"]
    mine = tmp_path / "prices.csv"
    run(["prices", str(visitor.folder / "pantry.toml"), *asked, *points, "--csv", str(mine)])
    assert reply.data == mine.read_bytes()
    (shown,) = links(page, "png")
    if len(words) == 2:
        reply = got(visitor, shown)
        assert reply.data.startswith(PNG)
        assert reply.headers["Content-Disposition"].startswith("inline")
    (alt,) = re.findall(r'<img [^>]*alt="([^"]+)"', page.html)
    assert "cost of a litre" in alt


def test_three_prices_have_a_table_and_no_picture(visitor):
    typed = {"food.1": "whole-milk", "low.1": "2", "high.1": "6"}
    for k, food in ((2, "heavy-cream"), (3, "evaporated-milk")):
        typed |= {f"food.{k}": food, f"low.{k}": "2", f"high.{k}": "6"}
    page = visitor.at("/prices").press("Show the steps", "prices", typed=typed)
    assert len(links(page, "csv")) == 1
    assert links(page, "png") == []


@pytest.mark.parametrize("points", ["1", "301", "many", "nan"])
def test_a_number_of_prices_that_is_none_is_reported(visitor, points):
    typed = {"low.1": "2", "high.1": "6", "points": points}
    page = visitor.at("/prices").press("Show the steps", "prices", typed=typed)
    assert page.status == 422
    assert points in page.text
    assert page.values("prices", "points") == [points]


@pytest.mark.parametrize("place", ["/compare", "/certainty", "/growth"])
def test_other_places_have_their_picture(visitor, place):
    page = visitor.open(place)
    if place == "/compare":
        page = visitor.press("Compare them", "compare")
    (address,) = links(page, "png" if place == "/growth" else "svg")
    reply = got(visitor, address)
    assert reply.data.startswith(PNG if place == "/growth" else SVG)
    assert reply.headers["Content-Disposition"].startswith("attachment")


def test_the_problem_of_the_mix_is_the_one_that_the_command_writes(visitor, tmp_path):
    visitor.at("/mix").press("Show the mix", typed={"make": "2 quarts"})
    reply = sent(visitor, "/taken", "kitchen", ("file", "lp"))
    with ZipFile(io.BytesIO(reply.data)) as archive:
        taken = {name: archive.read(name) for name in archive.namelist()}
    pantry, path = visitor.folder / "pantry.toml", tmp_path / "mix.lp"
    run(["mix", str(pantry), "--make", "2 quarts", "--write", str(path)])
    assert taken == {one.name: one.read_bytes() for one in tmp_path.iterdir()}
    assert "mix.by-gram.lp" in taken


def test_the_picture_of_the_mix_is_of_what_is_ticked(visitor):
    visitor.at("/mix").press("Show the mix")
    assert sent(visitor, "/taken", "kitchen", ("file", "png")).data.startswith(PNG)
    another = Visitor(visitor.folder).at("/mix")  # what was typed stays in the first one's browser
    wrong = sent(another, "/taken", "kitchen", ("worst", "99"), ("file", "lp"))
    assert wrong.status_code == 422
    assert "at their worst at once" in wrong.text


@pytest.mark.parametrize("kind", ["", "exe", "csv/../x", "lp.exe"])
def test_no_other_file_is_made(visitor, kind):
    visitor.at("/mix").press("Show the mix")
    assert sent(visitor, "/taken", "kitchen", ("file", kind)).status_code == 404
    assert got(visitor, f"/growth.{kind or 'x'}").status_code == 404


@pytest.mark.parametrize("what", ["shop", "season"])
def test_the_shopping_and_the_season_have_their_picture(visitor, what):
    visitor.open(f"/{what}")
    reply = sent(visitor, f"/{what}-picture", what, ("seconds", "0.2"))
    assert reply.data.startswith(PNG)


def test_a_checked_recipe_has_its_picture(visitor):
    visitor.at("/check").press("Check it", "check", typed={"recipe": "1 gallon whole milk"})
    recipe = ("recipe", "1 gallon whole milk")  # the reader of pages leaves a text area empty
    assert sent(visitor, "/check-picture", "check", recipe).data.startswith(PNG)
    wrong = sent(visitor, "/check-picture", "check", ("recipe", "1 gallon of moonshine"))
    assert wrong.status_code == 422


def test_a_checked_recipe_can_be_kept(tmp_path):
    from formulate.pantry.pantry import load_pantry

    person = Visitor(tmp_path)
    typed = {"recipe": "1 gallon whole milk + 1 cup heavy cream"}
    person.at("/check").press("Check it", "check", typed=typed)
    page = person.press("Keep it", "check", typed=typed)
    assert page.status == 422
    assert "the recipe has no name" in page.text
    assert not (tmp_path / "pantry.toml").exists()
    page = person.press("Keep it", "check", typed=typed | {"keep_as": "Our milk"})
    assert "Saved as our-milk" in page.text
    kept = load_pantry(tmp_path / "pantry.toml").recipes["our-milk"]
    assert kept.text == typed["recipe"]
