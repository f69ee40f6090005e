"""The places of the page: all that the commands can do is there or one link away."""

import re
from importlib.resources import files
from pathlib import Path

import html5lib
import pytest
from page.visitor import ADDRESSES, HOST, Visitor
from werkzeug.datastructures import MultiDict

import formulate.page
from formulate.base.units import Kitchen, parse_amount
from formulate.cli import COMMANDS
from formulate.page.places import COMMAND_PLACES, DESK_COMMANDS, PLACES
from formulate.pantry.pantry import load_pantry

#: Bytes of one place with its style and its script.
HEAVIEST = 60_000


@pytest.fixture(scope="module")
def visitor(tmp_path_factory):
    folder = tmp_path_factory.mktemp("places")
    for name in ("pantry", "flock"):
        data = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        (folder / f"{name}.toml").write_bytes(data)
    return Visitor(folder)


def links(page):
    return {link.partition("#")[0] for link in re.findall(r'<a [^>]*href="([^"]+)"', page.html)}


def test_every_command_has_its_place(visitor):
    assert set(COMMANDS) == set(COMMAND_PLACES) | set(DESK_COMMANDS)
    assert not set(COMMAND_PLACES) & set(DESK_COMMANDS)
    near = {place.address for place in PLACES}
    for place in PLACES:
        near |= links(visitor.open(place.address))
    for command, address in COMMAND_PLACES.items():
        assert address in near, f"{command}: {address} is more than one link away"
        assert visitor.open(address).status == 200, command


def test_what_certainty_costs_is_what_the_command_prints(visitor):
    told = visitor.open("/certainty").text
    assert "95 % sure" in told
    assert "1.795" in told
    kids = visitor.open("/certainty?whom=kid-replacer").text
    assert "1.795" not in kids
    assert visitor.open("/certainty?whom=lamb-replacr").status == 422
    assert "lamb-replacer" in visitor.page.text


@pytest.mark.parametrize("fresh", [False, True])
def test_every_link_leads_somewhere(visitor, tmp_path, fresh):
    person = Visitor(tmp_path) if fresh else visitor
    found = set(ADDRESSES) - ({"/animal?name=Pip"} if fresh else set())
    for address in sorted(found):
        found |= links(person.open(address))
    pictures = re.compile(r"\.(svg|png|csv)\b")  # drawn in a test of their own
    for address in sorted(link for link in found if link and not pictures.search(link)):
        assert person.open(address).status == 200, address
        if not address.startswith("/help"):
            assert person.page.html.count('aria-current="page"') == 1, address


def test_the_place_where_one_is_stands_out_in_the_navigation(visitor):
    for place in PLACES:
        page = visitor.open(place.address)
        assert f'<a href="{place.address}" aria-current="page">{place.words}</a>' in page.html


def test_every_place_is_html_that_a_strict_reader_takes(visitor, tmp_path):
    fresh = Visitor(tmp_path)
    for person, addresses in ((visitor, ADDRESSES), (fresh, ("/", "/today", "/animals", "/milk"))):
        for address in addresses:
            html5lib.HTMLParser(strict=True).parse(person.open(address).html)


def test_answers_are_html_that_a_strict_reader_takes(visitor):
    presses = (
        ("/mix", "Show the mix", "kitchen", {"whom": "ewe-milk"}),
        ("/mix", "Show the mix", "kitchen", {"price.heavy-cream": "dear"}),
        ("/check", "Check it", "check", {"recipe": "1 gallon whole milk", "brix": "11"}),
        ("/shop", "Make my", "shop", {}),
        ("/compare", "Compare", "compare", {}),
        ("/prices", "Show", "prices", {"low.1": "2", "high.1": "6"}),
        ("/scour?name=Pip", "What to do", "scour", {}),
        ("/", "drank this", "feed-1", {}),
        ("/kitchen", "Save", "kitchen-form", {"currency": "pounds"}),
    )
    for address, button, form, typed in presses:
        page = visitor.at(address).press(button, form, typed=typed)
        html5lib.HTMLParser(strict=True).parse(page.html)
        assert page.status in (200, 422)


def test_every_place_is_light(visitor):
    static = Path(formulate.page.__file__).parent / "static"
    shared = sum(path.stat().st_size for path in static.iterdir())
    for address in ADDRESSES:
        page = visitor.open(address)
        assert len(page.html.encode()) + shared <= HEAVIEST, address


def test_first_comes_the_mix_then_the_day(tmp_path):
    person = Visitor(tmp_path)
    assert "The cheapest mix" in person.page.text
    typed = {"animal": "Oak", "born": "2026-11-01", "birth_weight": "4 kg"}
    person.at("/animals").press("Put it on the list", "add-animal", typed=typed)
    assert "<title>Today</title>" in person.open("/").html


def test_what_was_ticked_and_typed_but_not_saved_is_there_on_every_place(visitor):
    visitor.at("/mix").press("Show the mix", untick=["heavy-cream"], typed={"make": "3 quarts"})
    visitor.open("/")
    page = visitor.open("/mix")
    assert "heavy-cream" not in page.values("kitchen", "on")
    assert page.values("kitchen", "make") == ["3 quarts"]
    assert "Not saved yet: heavy cream" in page.text
    page = visitor.open("/shelf")
    assert "heavy-cream" not in page.values("kitchen", "on")
    visitor.press("Save my shelf", typed={"price.whole-milk": "dear"})  # it cannot be saved
    page = visitor.open("/shelf")
    assert page.values("kitchen", "price.whole-milk") == ["dear"]
    page = visitor.press("Discard what is not saved")
    page = visitor.open("/shelf")
    assert "heavy-cream" in page.values("kitchen", "on")
    assert page.values("kitchen", "price.whole-milk") == ["3.89"]
    assert "Not saved yet" not in page.text


def test_a_price_that_moves_is_told_recipe_by_recipe(visitor):
    from formulate.answers.prices import prices

    typed = {"low.1": "2", "high.1": "8"}
    page = visitor.at("/prices").press("Show the steps", "prices", typed=typed)
    pantry = load_pantry(visitor.folder / "pantry.toml")
    food = page.values("prices", "food.1")[0]
    found = prices(pantry, [f"{food}=2..8"]).found
    assert page.html.count('<li class="card">') == len(found.steps)
    assert "2.00 to" in page.text
    for step in found.steps:
        assert f"{step.cost_low:.2f} to {step.cost_high:.2f} USD" in page.text
    page = visitor.press("Show the steps", "prices", typed={"low.1": "8", "high.1": "2"})
    assert page.status == 422
    assert page.values("prices", "low.1") == ["8"]


def test_recipes_are_compared_as_the_library_ranks_them(visitor):
    from formulate.answers.compare import compare

    page = visitor.at("/compare").press("Compare them", "compare")
    pantry = load_pantry(visitor.folder / "pantry.toml")
    rows = compare((), pantry, "lamb-replacer", kitchen=pantry.kitchen).rows
    shown = re.findall(r'<li class="card" data-verdict="(\w+)"><h2>([^<]+)</h2>', page.html)
    assert shown == [(row.judgement.verdict.value, row.recipe.name) for row in rows]
    assert all(f"{row.per_litre:.2f} USD" in page.text for row in rows)


def test_an_instrument_is_compared_with_the_recipe(visitor):
    typed = {"recipe": "1 gallon whole-milk", "brix": "11"}
    page = visitor.at("/check").press("Check it", "check", typed=typed)
    assert "The readings agree with the recipe." in page.text
    page = visitor.press("Check it", "check", typed=typed | {"brix": "sweet"})
    assert page.status == 422
    assert page.values("check", "brix") == ["sweet"]


def test_stock_dates_and_packages_are_kept_in_the_file(tmp_path):
    path = tmp_path / "pantry.toml"
    path.write_bytes(files("nutrient_tables").joinpath("sample_pantry.toml").read_bytes())
    person = Visitor(tmp_path)
    typed = {"on_hand": "1/2 gallon", "use_by": "2026-11-20"}
    typed |= {"size.1": "1 pint", "size_price.1": "1.20"}
    page = person.at("/food?id=whole-milk").press("Save this", "food", typed=typed)
    assert "Saved in pantry.toml" in page.text
    item = load_pantry(path).item("whole-milk")
    assert f"{item.use_by}" == "2026-11-20"
    assert item.on_hand == pytest.approx(item.food.grams(parse_amount("1/2 gallon"), Kitchen.US))
    assert ("1 pint", 1.2) in [(size.words, size.price) for size in item.sizes]
    assert "1.20 USD for 1 pint" in " ".join(person.open("/shelf").text.split())
    before = path.read_text()
    mistakes = ({"on_hand": "some"}, {"use_by": "soon"}, {"keeps_open": "-1"}, {"size.2": "1 can"})
    for wrong in mistakes:
        page = person.at("/food?id=whole-milk").press("Save this", "food", typed=wrong)
        assert page.status == 422
        for name, text in wrong.items():
            assert page.values("food", name) == [text]
        assert path.read_text() == before


def test_the_kitchen_is_set_and_a_fresh_one_begins_with_its_country(tmp_path):
    person = Visitor(tmp_path)
    page = person.at("/kitchen").press("Save this", "kitchen-form", typed={"country": "uk"})
    assert page.status == 200
    pantry = load_pantry(tmp_path / "pantry.toml")
    assert (pantry.stated, pantry.currency) == ("uk", "GBP")
    page = person.press("Save this", "kitchen-form", typed={"currency": "EUR", "measures": "scale"})
    pantry = load_pantry(tmp_path / "pantry.toml")
    assert (pantry.currency, pantry.measures) == ("EUR", "scale")
    page = person.press("Save this", "kitchen-form", typed={"currency": "pounds"})
    assert page.status == 422
    assert load_pantry(tmp_path / "pantry.toml").currency == "EUR"


@pytest.mark.parametrize(
    ("button", "kind", "start"),
    [("The card", "application/pdf", b"%PDF"), ("The labels", "application/pdf", b"%PDF")],
)
def test_sheets_are_there_to_take_away(visitor, button, kind, start):
    pressed = visitor.open("/print").button(button, "print")
    form = MultiDict(visitor.page.fields["print"])
    reply = visitor.client.post(pressed.action, data=form, headers={"Host": HOST})
    assert reply.mimetype == kind
    assert reply.data.startswith(start)
    assert "attachment" in reply.headers["Content-Disposition"]


def test_the_calendar_is_there_to_take_away(visitor):
    form = MultiDict(visitor.open("/shop").fields["shop"])
    reply = visitor.client.post("/calendar", data=form, headers={"Host": HOST})
    assert reply.mimetype == "text/calendar"
    assert reply.data.startswith(b"BEGIN:VCALENDAR")
