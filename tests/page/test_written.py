"""What the page writes into both files besides prices and animals can be read from them."""

from importlib.resources import files

import pytest
from page.visitor import HOST, Visitor
from werkzeug.datastructures import MultiDict

from formulate.base.units import Kitchen
from formulate.pantry.pantry import load_pantry
from formulate.rearing.flock_file import load_flock


@pytest.fixture
def visitor(tmp_path):
    for name in ("pantry", "flock"):
        data = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        (tmp_path / f"{name}.toml").write_bytes(data)
    return Visitor(tmp_path)


def flock(visitor):
    return load_flock(visitor.folder / "flock.toml").flock


def test_bottles_jars_and_the_refrigerator_are_written_and_taken_out_again(visitor):
    typed = {"kitchen": "metric", "bottle_marks": "10 mL", "jar": "750 mL", "jars": "4",
             "refrigerator": "15 L", "name": "Barn", "shopping_days": "friday"}  # fmt: skip
    page = visitor.at("/milk").press("Set this", "store", typed=typed)
    assert "Written into the list: bottles, jars" in page.text
    found = flock(visitor)
    assert (found.jar, found.jars, found.refrigerator) == (750.0, 4, 15000.0)
    assert (found.kitchen, found.mark, found.shopping_days) == (Kitchen.METRIC, 10.0, (4,))
    text = (visitor.folder / "flock.toml").read_text()
    assert text.index('jar = "750 mL"') < text.index("[animals")
    page = visitor.at("/milk").press("Set this", "store", typed={"jar": "", "jars": ""})
    assert (flock(visitor).jar, flock(visitor).jars) == (None, None)
    assert flock(visitor).refrigerator == 15000.0
    fields = [pair for pair in page.fields["store"] if pair[0] != "shopping_days"]
    visitor.send("/store", fields)
    assert flock(visitor).shopping_days == ()


@pytest.mark.parametrize(
    "wrong",
    [{"jar": "big"}, {"jars": "many"}, {"jars": "0"}, {"jars": "2.5"}, {"refrigerator": "-1 L"},
     {"bottle_marks": "1 cow"}, {"shopping_days": "someday"}, {"kitchen": "moon"}],
)  # fmt: skip
def test_a_jar_that_is_none_is_reported_and_nothing_is_written(visitor, wrong):
    before = (visitor.folder / "flock.toml").read_bytes()
    page = visitor.at("/milk").press("Set this", "store", typed=wrong)
    assert page.status == 422
    assert (visitor.folder / "flock.toml").read_bytes() == before
    for name, text in wrong.items():
        if name not in ("kitchen", "shopping_days"):
            assert page.values("store", name) == [text]


def test_an_animal_has_its_veterinarians_limit_and_remarks(visitor):
    typed = {"cap": "60 mL/kg", "notes": "smaller twin"}
    visitor.at("/animal?name=Pip").press("Change it", "change", typed=typed)
    found = flock(visitor).animal("Pip")
    assert (found.cap, found.notes) == (60.0, "smaller twin")
    page = visitor.open("/animal?name=Pip")
    assert page.values("change", "cap") == ["60 mL/kg"]
    page = visitor.press("Change it", "change", typed={"cap": "a lot"})
    assert page.status == 422
    visitor.at("/animal?name=Pip").press("Change it", "change", typed={"cap": "", "notes": ""})
    assert flock(visitor).animal("Pip").cap is None
    assert flock(visitor).animal("Pip").notes == ""


def test_the_kitchen_has_a_name_a_table_and_the_day_of_its_prices(visitor):
    typed = {"name": "Our kitchen", "table": "usda-sr28", "prices_on": "2026-11-01"}
    visitor.open("/kitchen")
    page = visitor.press("Save this", "kitchen-form", typed=typed)
    assert page.status == 200, page.text
    pantry = load_pantry(visitor.folder / "pantry.toml")
    assert pantry.name == "Our kitchen"
    text = (visitor.folder / "pantry.toml").read_text()
    assert "prices_on = 2026-11-01" in text
    assert f'table = "{typed["table"]}"' in text
    page = visitor.at("/kitchen").press("Save this", "kitchen-form", typed={"prices_on": "lately"})
    assert page.status == 422


def test_a_price_has_a_day_of_its_own(visitor):
    visitor.at("/food?id=whole-milk").press("Save this", "food", typed={"priced_on": "2026-11-03"})
    item = load_pantry(visitor.folder / "pantry.toml").item("whole-milk")
    assert f"{item.priced_on}" == "2026-11-03"


def test_a_bag_is_read_by_its_guarantee_and_kept_with_its_scoop(visitor):
    typed = {
        "c.name": "Meadow bag", "c.kind": "replacer-powder", "c.serving": "",
        "c.at_least": "protein=23, fat=20", "c.at_most": "fibre=0.15; ash=8; water=5",
        "c.weighs": "1 cup = 110 g, 1 scoop = 40 g", "c.largest_share": "30 %",
        "c.ingredients": "skimmed milk powder, whey powder", "c.source": "the bag",
    }  # fmt: skip
    page = visitor.at("/carton").press("Read the label", "carton", typed=typed)
    assert page.status == 200, page.text
    assert "In 100 g of Meadow bag" in page.text
    page = visitor.press("Put it on the shelf", "carton", typed=typed)
    food = load_pantry(visitor.folder / "pantry.toml").table.find("meadow-bag")
    assert food.largest_share == pytest.approx(0.3)
    assert "1 scoop = 40 g" in (visitor.folder / "pantry.toml").read_text()


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"c.at_least": "lots"}, "lots"),
        ({"c.kind": "moonshine", "c.at_least": "protein=23, fat=20"}, "moonshine"),
        ({"c.at_least": "protein=23, fat=20", "c.weighs": "a scoop"}, "scoop"),
    ],
)
def test_a_bag_that_cannot_be_read_is_reported_and_nothing_is_written(visitor, wrong, told):
    before = (visitor.folder / "pantry.toml").read_bytes()
    typed = {"c.name": "Bag", "c.kind": "replacer-powder", "c.serving": ""} | wrong
    page = visitor.at("/carton").press("Put it on the shelf", "carton", typed=typed)
    assert page.status == 422, page.text
    assert told in page.text
    assert (visitor.folder / "pantry.toml").read_bytes() == before


def sheet(visitor, address, **typed):
    fields = MultiDict(visitor.open("/print").fields["print"])
    fields.update({key: text for key, text in typed.items() if key not in fields})
    for key, text in typed.items():
        fields[key] = text
    return visitor.client.post(address, data=fields, headers={"Host": HOST})


def test_a_card_may_be_of_another_milk_or_without_the_animals(visitor):
    usual = sheet(visitor, "/card").data
    other = sheet(visitor, "/card", milk="cream-and-powder").data
    without = sheet(visitor, "/card", without="1", whom="kid-replacer").data
    assert len({usual, other, without}) == 3
    assert all(one.startswith(b"%PDF") for one in (usual, other, without))


def test_labels_may_be_counted(visitor):
    few, many = (sheet(visitor, "/labels", per_sheet=count).data for count in ("1", "4"))
    assert few != many
    for wrong in ("0", "999", "some"):
        assert sheet(visitor, "/labels", per_sheet=wrong).status_code == 422


def test_an_animal_on_no_list_that_scours_is_answered_for(tmp_path):
    person = Visitor(tmp_path)
    typed = {"name": "", "weight": "4.2 kg", "age": "9 days", "stands": "yes", "sucks": "yes"}
    page = person.at("/scour").press("What to do", "scour", typed=typed)
    assert page.status == 200
    assert page.values("scour", "weight") == ["4.2 kg"]
    assert "Only if your veterinarian agrees" in page.text
    page = person.at("/scour").press("What to do", "scour", typed=typed | {"weight": "heavy"})
    assert page.status == 422


def test_a_drink_of_ones_own_is_checked(visitor):
    typed = {"stands": "yes", "sucks": "yes", "drink": "1 L water + 3 tbsp salt"}
    page = visitor.at("/scour?name=Pip").press("What to do", "scour", typed=typed)
    assert page.status == 200
    assert "sodium" in page.text.lower()
    page = visitor.at("/scour").press("What to do", "scour", typed={"drink": "1 L moonshine"})
    assert page.status == 422


def test_foods_of_one_table_are_listed(visitor):
    page = visitor.open("/foods")
    keys = [part.partition('"')[0] for part in page.html.split('<option value="')[1:]]
    other = next(key for key in keys if key and key != "usda-sr28")
    assert visitor.open(f"/foods?table={other}").html != page.html
    assert visitor.open("/foods?table=moon").status == 422


BROKEN = ("price = 3.89", "price = dear")


def broken(visitor):
    path = visitor.folder / "pantry.toml"
    path.write_text(path.read_text().replace(*BROKEN, 1))


def test_a_feed_is_written_down_though_the_pantry_cannot_be_read(visitor):
    broken(visitor)
    page = visitor.open("/")
    assert "this is not TOML" in page.text
    assert "no amounts can be worked out" in page.text
    assert "/animal?name=Pip" in page.html
    typed = {"amount": "8 fl oz", "by": "Ann"}
    page = visitor.at("/animal?name=Pip").press("Write it down", "fed", typed=typed)
    assert "Written down: Pip, 237 mL (8 fl oz)" in page.text
    assert "this is not TOML" in page.text
    page = visitor.open("/")
    assert "Pip 237 mL" in page.text or "Pip, 237 mL (8 fl oz)" in page.text
    assert "by Ann" in page.text


def test_every_place_that_needs_no_pantry_opens_without_one(visitor):
    broken(visitor)
    for address in ("/", "/animals", "/animal?name=Pip", "/milk", "/scour", "/shop", "/help"):
        assert visitor.open(address).status == 200, address
    for address in ("/bands", "/plan", "/growth"):
        page = visitor.open(address)
        assert page.status == 422, address
        assert str(visitor.folder) not in page.text.partition("Its files are in")[0], address


def test_lines_of_the_log_that_cannot_be_read_are_said_first(visitor):
    (visitor.folder / "flock.log.csv").write_text("Date;Item\n2026-11-01;hay\n")
    page = visitor.open("/")
    text = page.text
    assert text.index("2 lines of the log cannot be read") < text.index("drank this")
    assert page.html.count('id="log"') == 1
    assert str(visitor.folder) not in page.text.partition("Its files are in")[0]
