"""The animals on the page: a list, weights, bottles, newborns, and what must not be fed."""

import re
from datetime import date
from importlib.resources import files

import pytest
from page.visitor import Visitor

from formulate.pantry.pantry import load_pantry
from formulate.rearing.flock_file import load_flock


@pytest.fixture
def folder(tmp_path):
    for name in ("pantry", "flock"):
        data = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        (tmp_path / f"{name}.toml").write_bytes(data)
    return tmp_path


@pytest.fixture
def visitor(folder):
    return Visitor(folder)


def test_each_animals_bottles_are_the_librarys(visitor, folder):
    from formulate.rearing.feeding import plan_feeds
    from formulate.rearing.mixes import flock_milk, pantry_of
    from formulate.report.rearing_text import bottle_words

    read = load_flock(folder / "flock.toml")
    pantry = pantry_of(read.flock)
    old = flock_milk(read.flock, pantry, read.flock.change.from_mix).milk
    milk = flock_milk(read.flock, pantry).milk
    plan = plan_feeds(read.flock, milk, read.now, old_milk=old)
    for i, animal in enumerate(read.flock.animals):
        day = plan.day_feed(i, 0)
        assert animal.name in visitor.page.text
        if day.feeds:
            words = bottle_words(day.millilitres, read.flock.kitchen)
            assert f"{day.feeds} bottles of {words}" in visitor.page.text
    assert "Colostrum only" in visitor.page.text
    assert f"{plan.litres_by_day()[0]:.1f} L" in visitor.page.text


def test_a_change_of_milk_says_how_to_blend_today(visitor):
    text = "Stir today's milk of 2 parts cream-and-powder and 2 parts cream-and-cans"
    assert text in visitor.page.text


def test_a_newborn_and_one_that_hardly_grows_stand_out(visitor):
    assert "Dot is in its first day" in visitor.page.text
    assert "It hardly grows" in visitor.page.text
    assert "call a veterinarian" in visitor.page.text
    assert "--" not in re.sub(r"--:--", "", visitor.page.text)


def test_growth_is_drawn_with_its_words(visitor):
    pictures = re.findall(r'<svg class="growth"[^>]*aria-label="([^"]+)"', visitor.page.html)
    assert len(pictures) == 4
    assert "By the scale: 5.6 kg at 11 days" in pictures[0]
    assert visitor.page.html.count('<circle class="dot"') == 3 + 3 + 2 + 1


def test_a_weight_is_written_down_once(visitor, folder):
    typed = {"name": "Pip", "weight": "5.9 kg", "on": "2026-11-14"}
    page = visitor.press("Write it down", form="weigh", typed=typed)
    assert "Written down: Pip, 5.90 kg" in page.text
    page = visitor.press("Write it down", form="weigh", typed=typed)
    assert "already" in page.text
    assert (folder / "flock.log.csv").read_text().count("5.9") == 1
    assert load_flock(folder / "flock.toml").flock.animal("Pip").last_weight.kilograms == 5.9


def test_an_unlikely_weight_is_asked_about_first(visitor, folder):
    typed = {"name": "Pip", "weight": "13 kg", "on": "2026-11-14"}
    page = visitor.press("Write it down", form="weigh", typed=typed)
    assert page.status == 422
    assert "cannot be right" in page.text
    assert "tick the box" in page.text
    assert not (folder / "flock.log.csv").exists()
    page = visitor.press("Write it down", form="weigh", typed=typed | {"sure": "1"})
    assert "Written down: Pip, 13.00 kg" in page.text


@pytest.mark.parametrize(
    ("form", "typed"),
    [
        ("weigh", {"name": "Pip", "weight": "5.9"}),
        ("weigh", {"name": "Pip", "weight": ""}),
        ("weigh", {"name": "Nobody", "weight": "5.9 kg"}),
        ("weigh", {"name": "Pip", "weight": "5.9 kg", "on": "2027-01-01"}),
        ("weigh", {"name": "Pip", "weight": "5.9 kg", "on": "soon"}),
        ("fed", {"name": "Pip", "amount": "a lot"}),
        ("fed", {"name": "Dot", "amount": "100 mL"}),
    ],
)
def test_what_cannot_be_written_down_is_told(visitor, folder, form, typed):
    page = visitor.press("Write it down", form=form, typed=typed)
    assert page.status == 422
    assert 'role="alert"' in page.html
    assert str(folder) not in page.text.replace(f"Its files are in {folder}.", "")
    assert not (folder / "flock.log.csv").exists()


def test_bottles_and_colostrum_are_written_down(visitor, folder):
    page = visitor.press("Write it down", form="fed", typed={"name": "Pip", "amount": "8 fl oz"})
    assert "Pip drank 237 mL" in page.text
    page = visitor.press(
        "Write it down", form="fed", typed={"name": "Dot", "amount": "140 mL", "what": "colostrum"}
    )
    assert "It has had 290 mL" in page.text
    assert (
        "237" in (folder / "flock.log.csv").read_text()
        or "236.6" in (folder / "flock.log.csv").read_text()
    )


def test_they_drink_another_milk(visitor, folder):
    before = (folder / "flock.toml").read_text()
    page = visitor.press("Set this", form="drink", typed={"mix": "bag"})
    assert "They drink bag." in page.text
    after = (folder / "flock.toml").read_text()
    assert after.replace('mix = "bag"', 'mix = "cream-and-powder"') == before


def test_other_feeding_times_are_set_and_too_few_are_told(visitor, folder):
    times = "05:30 09:00 12:30 16:00 19:30 23:00"
    page = visitor.press("Set this", form="drink", typed={"times": times})
    assert "05:30 · " in page.text
    assert [f"{t:%H:%M}" for t in load_flock(folder / "flock.toml").flock.feeding_times] == (
        times.split()
    )
    page = visitor.press("Set this", form="drink", typed={"times": "06:00 12:00"})
    assert "Add feeding times" in page.text
    assert "bottles of" not in page.text
    page = visitor.press("Set this", form="drink", typed={"times": times})
    assert "bottles of" in page.text


def test_a_first_animal_begins_the_list(tmp_path):
    visitor = Visitor(tmp_path)
    typed = {"animal": "Oak", "born": str(date.today()), "birth_weight": "4.1 kg",
             "mix": ""}  # fmt: skip
    page = visitor.press("Put it on the list", form="animal", typed=typed)
    assert page.status == 422
    assert "no milk is named" in page.text
    typed["mix"] = "plain-milk"
    page = visitor.press("Put it on the list", form="animal", typed=typed)
    assert page.status == 200
    assert "Oak is on the list" in page.text
    assert "Oak is in its first day" in page.text
    flock = load_flock(tmp_path / "flock.toml").flock
    assert flock.names == ["Oak"]
    assert not (tmp_path / "pantry.toml").exists()
    page = visitor.press("Put it on the list", form="animal", typed=typed)
    assert "on the list already" in page.text
    visitor.press("Save my shelf")
    visitor.press("Put it on the list", form="animal", typed=typed | {"animal": "Ash"})
    flock = load_flock(tmp_path / "flock.toml").flock
    assert (flock.names, flock.pantry) == (["Oak", "Ash"], "pantry.toml")


@pytest.mark.parametrize(
    "typed",
    [{"animal": ""}, {"born": ""}, {"born": "monday"}, {"birth_weight": ""}, {"hour": "25:00"},
     {"birth_weight": "400 kg"}, {"animal": "a\x01b"}],
)  # fmt: skip
def test_an_animal_that_cannot_be_listed_is_told(visitor, folder, typed):
    before = (folder / "flock.toml").read_text()
    whole = {"animal": "Oak", "born": "2026-11-10", "birth_weight": "4.1 kg"}
    page = visitor.press("Put it on the list", form="animal", typed=whole | typed)
    assert page.status == 422
    assert (folder / "flock.toml").read_text() == before


def test_no_plan_is_made_with_a_milk_that_must_not_be_fed(visitor, folder):
    milk = "1 can sweetened-condensed-milk + 1 cup water"
    page = visitor.press("Set this", form="drink", typed={"mix": milk})
    assert "No plan is made with this milk" in page.text
    assert "bottles of" not in page.text


def test_only_the_animals_come_back_to_the_script(visitor):
    fields = [*visitor.page.fields["weigh"], ("weight", "5.9 kg")]
    part = visitor.send("/weigh", fields, **{"X-Part": "animals"})
    assert "<html" not in part.html
    assert "5The animals" in part.text


def test_a_broken_list_is_told_and_left_alone(folder):
    (folder / "flock.toml").write_text("[animals.Pip]\nborn = 1\n")
    visitor = Visitor(folder)
    assert visitor.page.status == 200
    assert "born" in visitor.page.text
    assert "The cheapest mix" in visitor.page.text


@pytest.mark.parametrize("line", ['pantry = "../secret.toml"', 'mix = "../secret.json"'])
def test_a_list_that_names_a_file_elsewhere_is_refused(folder, line):
    inside = folder / "inside"
    inside.mkdir()
    (folder / "secret.toml").write_bytes((folder / "pantry.toml").read_bytes())
    (folder / "secret.json").write_text('{"amounts": [{"food": "whole-milk", "grams": 10}]}')
    key = line.split(" = ")[0]
    text = (folder / "flock.toml").read_text()
    (inside / "flock.toml").write_text(re.sub(rf'(?m)^{key} = "[^"]*"', line, text))
    (inside / "pantry.toml").write_bytes((folder / "pantry.toml").read_bytes())
    page = Visitor(inside).page
    assert "not in the folder" in page.text
    assert "bottles of" not in page.text


def test_the_shopping_list_is_the_librarys(visitor, folder):
    from formulate.answers.shop import shop

    read = load_flock(folder / "flock.toml")
    pantry = load_pantry(folder / "pantry.toml")
    answer = shop(read, pantry)
    found = answer.plan
    page = visitor.press("Make my shopping list", form="shop")
    assert f"{found.cost:.2f} USD in {len(found.trips)} trips" in page.text
    for trip in found.trips:
        day = f"{trip.day:%A} {trip.day.day} {trip.day:%B}"
        assert f"{day} {trip.cost:.2f} USD" in page.text
    thrown = sum(x.grams for x in found.leftovers if not x.good and x.food == "heavy-cream")
    assert f"thrown away, open too long: heavy cream {thrown:.0f} g" in page.text
    for price in answer.prices:
        assert f"<td>{price.package}</td><td>{price.price:.2f} USD</td>" in page.html
    assert "cream-and-powder, for Pip, Wren and Dot: In range" in page.text
    part = visitor.send("/shop", visitor.page.fields["shop"], **{"X-Part": "shopping"})
    assert "<html" not in part.html


def test_shopping_without_animals_says_what_to_do_first(tmp_path):
    page = Visitor(tmp_path).press("Make my shopping list", form="shop")
    assert page.status == 422
    assert "no list of animals yet" in page.text
