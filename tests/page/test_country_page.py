"""The page in the kitchens of other countries."""

from __future__ import annotations

from importlib.resources import files

import pytest
from page.visitor import Visitor


@pytest.fixture(params=["uk", "fr", "nz"])
def place(request, tmp_path):
    data = files("nutrient_tables").joinpath(f"samples/pantry_{request.param}.toml").read_bytes()
    (tmp_path / "pantry.toml").write_bytes(data)
    return request.param, Visitor(tmp_path)


def test_the_page_speaks_the_words_of_the_place(place):
    country, visitor = place
    page = visitor.open()
    words = {
        "uk": ("whole milk", "double cream", "GBP", "CoFID 2021", "Open Government Licence"),
        "fr": ("lait entier", "crème fluide 30", "EUR", "Ciqual 2025", "Licence Ouverte"),
        "nz": ("full cream milk", "NZD", "There is no table for New Zealand here"),
    }
    for word in words[country]:
        assert word in page.text
    answer = page.text[page.text.index("cheapest mix") :][:300]
    assert "quart" not in answer
    assert ("1,9 L" in answer) == (country == "fr")
    assert ("1.9 L" in answer) == (country != "fr")


def test_usual_packages_are_offered(place):
    country, visitor = place
    html = visitor.open("/shelf").html
    assert "1 quart" not in html
    sizes = {"uk": "2.272 L", "fr": "6 L", "nz": "3 L"}
    assert f'<option value="{sizes[country]}"></option>' in html


def test_what_is_typed_with_a_decimal_comma_is_read(place):
    country, visitor = place
    milk = {"uk": "whole-milk", "fr": "lait-entier", "nz": "full-cream-milk"}[country]
    page = visitor.press(
        "Show the mix", typed={f"price.{milk}": "1,05", f"package.{milk}": "1,5 L"}
    )
    assert page.status == 200
    assert "not the size of a package" not in page.text
    assert 'value="1,05"' in page.html


def test_without_a_country_the_page_is_unchanged(tmp_path):
    visitor = Visitor(tmp_path)
    page = visitor.open()
    assert "US Department of Agriculture, SR28, 2015." in page.text
    page = visitor.open("/shelf")
    assert 'placeholder="1 quart"' in page.html
    assert '<datalist id="usual' not in page.html
