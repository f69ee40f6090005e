"""Shelf, aim, mix and check: what a person without scripts sees and gets."""

import re
from concurrent.futures import ThreadPoolExecutor

import pytest
from page.visitor import HOST, Visitor
from werkzeug.datastructures import MultiDict

from formulate.answers.mix import mix
from formulate.answers.mix_answer import MixRequest
from formulate.base.units import parse_volume
from formulate.blend.whole.kitchen_mix import KitchenMix
from formulate.foods.tables import band_set
from formulate.kitchen.batch import Batch, BatchWishes, make_batch
from formulate.pantry.pantry import load_pantry, sample_pantry
from formulate.pantry.recipe import parse_recipe
from formulate.pantry.typed_foods import typed_pantry


@pytest.fixture
def visitor(tmp_path):
    return Visitor(tmp_path)


def sample_mix(name="lamb-replacer", **wishes) -> KitchenMix:
    pantry = sample_pantry()
    found = make_batch(
        pantry, band_set(name), parse_volume("2 quarts", pantry.kitchen), BatchWishes(**wishes)
    )
    assert isinstance(found, Batch)
    return found.kitchen_mix


def cost(text: str) -> float:
    return float(re.search(r"([\d.]+) USD a litre", text)[1])


def test_a_fresh_page_shows_the_samples_mix_and_writes_nothing(visitor):
    mix = sample_mix()
    for measured in mix.measures(sample_pantry().kitchen):
        assert f"{measured.words} {measured.food.replace('-', ' ')}" in visitor.page.text
    assert cost(visitor.page.text) == round(mix.mix.cost_per_litre, 2)
    assert "made-up prices" in visitor.page.text
    assert list(visitor.folder.iterdir()) == []


def test_the_first_page_says_how_sure(visitor):
    assert "about 5 in 10 would be in every range" in visitor.page.text


def test_each_read_is_drawn_with_its_words(visitor):
    reads = [r for r in sample_mix().mix.reads if r.standing is not None]
    pictures = re.findall(r'<svg class="read"[^>]*aria-label="([^"]+)"', visitor.page.html)
    assert len(pictures) == sum(r.band.role != "shown" for r in reads)
    assert all(re.search("drop lies (in|well inside) the gap", words) for words in pictures)
    assert visitor.page.html.count('<path class="drop"') == len(pictures)


def test_unticking_a_food_changes_the_mix(visitor):
    before = cost(visitor.page.text)
    page = visitor.press("Show the mix", untick=["heavy-cream"])
    assert "heavy-cream" not in page.values("kitchen", "on")
    assert "cannot make it" in page.text or cost(page.text) > before


@pytest.mark.parametrize("price", ["1.00", "1,00", "$1.00", " 1 "])
def test_prices_are_read_as_people_write_them(visitor, price):
    page = visitor.press("Show the mix", typed={"price.heavy-cream": price})
    assert page.status == 200
    assert cost(page.text) < 1.74


@pytest.mark.parametrize(
    "price", ["-1", "nan", "1e9", "inf", "one", "1.2.3", "٣", "1,234", "9999999"]
)
def test_a_bad_price_is_reported_at_its_field(visitor, price):
    page = visitor.press("Show the mix", typed={"price.heavy-cream": price})
    assert page.status == 200
    told = (
        "is not a number",
        "is far too large",
        "could be a decimal number or a number of thousands",
    )
    assert any(words in page.text for words in told)
    assert 'id="price-heavy-cream"' in page.html
    assert 'aria-describedby="fault-heavy-cream"' in page.html
    assert 'href="#price-heavy-cream"' in page.html


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"make": "much"}, "much"),
        ({"make": "999 gallons"}, "1,000 L or less"),
        ({"make": "1e9 gallons"}, "far too large"),
        ({"container": "a hat"}, "hat"),
        ({"container": "1 gallon jug of moonshine"}, "moonshine"),
        ({"most": "many"}, "Ask for at least one food"),
        ({"most": "0"}, "Ask for at least one food"),
        ({"whom": "crocodile"}, "crocodile"),
        ({"package.heavy-cream": "1 hogshead"}, "hogshead"),
        ({"package.heavy-cream": ""}, "Say how much the price buys"),
        ({"price.heavy-cream": ""}, "no price yet"),
    ],
)
def test_what_cannot_be_used_is_reported(visitor, typed, told):
    page = visitor.press("Show the mix", typed=typed)
    assert page.status == 200
    assert told in page.text


def test_a_food_is_put_on_the_shelf_and_asks_for_its_price(visitor):
    page = visitor.press("Put it on the shelf", typed={"add": "greek-yogurt"})
    assert "greek-yogurt" in page.values("kitchen", "on")
    assert "greek yogurt: It has no price yet" in page.text
    assert "autofocus" in page.html
    page = visitor.press(
        "Show the mix", typed={"price.greek-yogurt": "0", "package.greek-yogurt": "1 cup"}
    )
    assert "greek yogurt" in page.text
    assert "no price yet" not in page.text


def test_nothing_ticked_is_reported(visitor):
    page = visitor.press("Show the mix", untick=visitor.page.values("kitchen", "on"))
    assert "Tick at least one food" in page.text


def test_a_surer_mix_is_one_tap_away_and_back(visitor):
    cheap = cost(visitor.page.text)
    page = visitor.press("Make it more certain")
    assert "about 9 in 10" in page.text
    assert cost(page.text) > cheap
    assert cost(visitor.press("Go back to the cheapest").text) == cheap


def test_fewer_foods_are_one_tap_away(visitor):
    page = visitor.press("Try with 2 foods at most")
    assert page.values("kitchen", "most") == ["2"]


def test_an_infeasible_shelf_says_why_and_offers_what_would_help(visitor):
    page = visitor.press("Show the mix", typed={"whom": "ewe-milk"})
    assert "These foods cannot make it." in page.text
    assert "Protein and milk sugar clash" in page.text
    assert 'class="read outside"' in page.html
    assert "the drop lies left of the gap, too low" in page.html
    page = visitor.press("Add nonfat greek yogurt")
    assert "nonfat-greek-yogurt" in page.values("kitchen", "on")
    page = visitor.press(
        "Show the mix",
        typed={"price.nonfat-greek-yogurt": "5", "package.nonfat-greek-yogurt": "2 lb"},
    )
    assert "cannot make it" not in page.text
    assert cost(page.text) > 0


def test_a_jug_is_filled_step_by_step(visitor):
    page = visitor.press("Show the mix", typed={"container": "1 gallon jug of whole-milk"})
    assert "How to mix it" in page.text
    assert "Pour off" in page.text
    assert "of space for shaking" in page.text


def test_a_tiny_batch_says_the_nearest_that_works(visitor):
    page = visitor.press("Show the mix", typed={"make": "1/4 cup"})
    assert "No whole measures make" in page.text
    assert "The nearest size that works" in page.text


def test_a_recipe_is_checked(visitor):
    visitor.open("/check")
    page = visitor.press("Check it", "check", typed={"recipe": "1 gallon whole milk"})
    assert "Not right yet: it misses the range it should have." in page.text
    assert "Too low in solids" in page.text
    page = visitor.press("cream-and-powder", "check")
    assert "In range, and within every safety limit." in page.text


@pytest.mark.parametrize("recipe", ["", "1 gallon moonshine", "milk", "1 cup + whole-milk"])
def test_a_recipe_that_cannot_be_read_is_reported(visitor, recipe):
    page = visitor.at("/check").press("Check it", "check", typed={"recipe": recipe})
    assert page.status == 422
    assert recipe in page.html  # what was typed is still there
    assert 'role="alert"' in page.html


def test_the_mix_is_kept_as_a_recipe_that_reads_back(visitor):
    page = visitor.press("Keep it", typed={"keep_as": "Spring Mix"})
    assert "Saved as spring-mix" in page.text
    pantry = load_pantry(visitor.folder / "pantry.toml")
    kept, mix = pantry.recipes["spring-mix"], sample_mix()
    for food, grams in kept.by_food().items():
        assert grams == pytest.approx(mix.mix.grams[mix.mix.shelf.ids.index(food)])
    page = visitor.press("Keep it", typed={"keep_as": "plain-milk"})
    assert page.status == 422
    assert "already" in page.text
    assert load_pantry(visitor.folder / "pantry.toml").recipes["plain-milk"].foods


@pytest.mark.parametrize("name", ["lamb-replacer", "kid-replacer"])
def test_a_mix_as_text_reads_back_to_its_weights(name):
    pantry = sample_pantry()
    milk = mix(pantry, name).milk
    back = parse_recipe(milk.recipe_text(pantry), pantry.table, pantry.kitchen)
    assert sum(back.grams) == pytest.approx(milk.mix.weight)


def test_a_label_is_read_and_put_on_the_shelf(visitor):
    label = {
        "c.name": "Farm milk", "c.sold_as": "whole milk", "c.serving": "1 cup (240 mL)",
        "c.energy": "150", "c.fat": "8", "c.carbohydrate": "12", "c.protein": "8",
    }  # fmt: skip
    page = visitor.at("/carton").press("Read the label", "carton", typed=label)
    assert "In 100 g of Farm milk" in page.text
    assert list(visitor.folder.iterdir()) == []
    page = visitor.press("Put it on the shelf and in pantry.toml", "carton")
    assert page.status == 200
    assert "farm-milk" in page.values("kitchen", "on")
    pantry = load_pantry(visitor.folder / "pantry.toml")
    assert [food.id for food in pantry.own_foods][-1] == "farm-milk"
    page = visitor.press(
        "Save my shelf", typed={"price.farm-milk": "2.50", "package.farm-milk": "1 quart"}
    )
    assert "Saved" in page.text
    item = load_pantry(visitor.folder / "pantry.toml").item("farm-milk")
    assert item.price == 2.5


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ({"c.name": ""}, "no name"),
        ({"c.name": "Whole milk"}, "called"),
        ({"c.serving": ""}, "serving is missing"),
        ({"c.fat": "400"}, ""),
        ({"c.protein": "some"}, "some"),
    ],
)
def test_a_label_that_cannot_be_read_is_reported(visitor, typed, told):
    label = {
        "c.name": "Farm milk", "c.sold_as": "whole milk", "c.serving": "1 cup (240 mL)",
        "c.fat": "8", "c.carbohydrate": "12", "c.protein": "8",
    }  # fmt: skip
    page = visitor.at("/carton").press("Put it on the shelf and in", "carton", typed=label | typed)
    assert page.status == 422
    assert 'role="alert"' in page.html
    assert told in page.text
    assert list(visitor.folder.iterdir()) == []


def test_the_answer_alone_is_the_answer_of_the_page(visitor):
    part = visitor.send("/answer", visitor.page.fields["kitchen"])
    assert "<html" not in part.html
    assert cost(part.text) == cost(visitor.page.text)


def test_a_pantry_with_faults_is_reported_and_left_alone(tmp_path):
    text = 'currency = "USD"\n[foods.unicorn-milk]\nprice = 1\npackage = "1 cup"\n'
    (tmp_path / "pantry.toml").write_text(text)
    visitor = Visitor(tmp_path)
    assert visitor.page.status == 400
    assert "unicorn-milk" in visitor.page.text
    assert (tmp_path / "pantry.toml").read_text() == text


def test_many_windows_at_once_get_the_answers_of_one(visitor):
    """Every thread has a solver of its own: none disturbs another's answer."""
    fields = visitor.page.fields["kitchen"]
    forms = [
        [(n, f"{3 + k / 10:.2f}" if n == "price.heavy-cream" else v) for n, v in fields]
        for k in range(12)
    ]

    def ask(form):
        reply = visitor.app.test_client().post(
            "/answer", data=MultiDict(form), headers={"Host": HOST}
        )
        return reply.status_code, reply.text

    alone = [ask(form) for form in forms]
    with ThreadPoolExecutor(8) as pool:
        assert list(pool.map(ask, forms * 4)) == alone * 4
    assert len(set(alone)) == len(alone)


def test_a_price_that_looks_like_a_slip_is_asked_about(visitor):
    path = visitor.folder / "pantry.toml"
    path.write_text(
        'currency = "USD"\nprices_on = 2026-11-02\n'
        '[foods.whole-milk]\nprice = 38900\npackage = "1 gallon"\n'
        '[foods.heavy-cream]\nprice = 6.49\npackage = "1 quart"\n'
    )
    assert "Is 38,900.00 USD for 1 gallon of whole-milk right?" in visitor.open("/shelf").text


def without_prices(visitor, *foods):
    """A shelf with these foods ticked and no price at all."""
    ids = visitor.page.values("kitchen", "row")
    typed = {f"{what}.{food}": "" for food in ids for what in ("price", "package")}
    on = set(visitor.page.values("kitchen", "on"))
    return {"typed": typed, "untick": on - set(foods), "tick": set(foods) - on}


def test_without_any_price_the_fewest_foods_are_shown(visitor):
    page = visitor.press("Show the mix", **without_prices(visitor, "whole-milk", "evaporated-milk"))
    assert "5 cups whole milk" in page.text
    assert "2 cans evaporated milk" in page.text
    assert "No fewer foods stay inside every range (proved)." in page.text
    assert "no price yet" not in page.text
    assert "Make it more certain It costs a little more" not in page.text


def test_a_shelf_without_prices_is_saved_and_gives_what_the_names_give(tmp_path):
    (tmp_path / "pantry.toml").write_text("[foods.whole-milk]\n[foods.lowfat-buttermilk]\n")
    visitor = Visitor(tmp_path)
    assert "These foods cannot make it." in visitor.page.text
    visitor.press("Put it on the shelf", typed={"add": "evaporated-milk"})
    page = visitor.press("Save the shelf")
    assert "Saved in pantry.toml" in page.text
    pantry = load_pantry(tmp_path / "pantry.toml")
    assert not pantry.has_prices
    named = typed_pantry(["whole-milk", "lowfat-buttermilk", "evaporated-milk"])
    assert (mix(pantry).milk.mix.grams == mix(named).milk.mix.grams).all()
    assert "5 cups whole milk" in page.text


def test_one_price_asks_for_the_rest(visitor):
    asked = without_prices(visitor, "whole-milk", "evaporated-milk")
    asked["typed"] |= {"price.whole-milk": "3.80", "package.whole-milk": "1 gallon"}
    page = visitor.press("Show the mix", **asked)
    assert "evaporated milk: It has no price yet" in page.text


def test_more_wishes_are_those_of_the_command(visitor):
    page = visitor.press("Show the mix", typed={"by_gram": "1", "why": "1"})
    assert page.status == 200
    found = mix(sample_pantry(), request=MixRequest(make="2 quarts", by_gram=True)).milk.mix
    assert cost(page.text) == round(found.cost_per_litre, 2)
    assert "What each range costs" in page.html
    asked = {"by_gram": None, "why": None, "keep_to": "can-and-buttermilk"}
    page = visitor.press("Show the mix", typed=asked)
    assert "This needs a look" not in page.text
    assert page.values("kitchen", "keep_to") == ["can-and-buttermilk"]
    recipe = " ".join(re.findall(r'<span class="what">([^<]+)</span>', page.html))
    assert "evaporated milk" in recipe
    page = visitor.press("Show the mix", typed={"by_gram": "1", "use_up": "1"})
    assert "This needs a look" in page.text  # what does not go together is told
    assert 'href="#' in page.html
