"""The places of the page: all that the commands can do is there or one link away."""

import re
from importlib.resources import files
from pathlib import Path

import html5lib
import pytest
from page.visitor import ADDRESSES, Visitor

import formulate.page
from formulate.cli import COMMANDS
from formulate.page.places import COMMAND_PLACES, DESK_COMMANDS, PLACES

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


@pytest.mark.parametrize("fresh", [False, True])
def test_every_link_leads_somewhere(visitor, tmp_path, fresh):
    person = Visitor(tmp_path) if fresh else visitor
    found = set(ADDRESSES) - ({"/animal?name=Pip"} if fresh else set())
    for address in sorted(found):
        found |= links(person.open(address))
    for address in sorted(link for link in found if link):
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
    page = visitor.press("Forget what is not saved")
    page = visitor.open("/shelf")
    assert "heavy-cream" in page.values("kitchen", "on")
    assert page.values("kitchen", "price.whole-milk") == ["3.89"]
    assert "Not saved yet" not in page.text
