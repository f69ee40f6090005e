"""The main job in the kitchens of four countries, with names as people there write them."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pypdfium2
import pytest

from formulate.cli.main import run
from formulate.foods.country import countries
from formulate.pantry.pantry import load_pantry
from formulate.pantry.start import write_sample

UK = """
name = "Sheepwash End (invented)"
country = "uk"
prices_on = 2026-11-02
[foods."whole milk"]
price = 1.55
package = "2 L"
sizes = [{ price = 0.95, package = "1 L" }, { price = 0.80, package = "1 pint" }]
[foods."evaporated milk"]
price = 1.40
package = "1 tin"
[foods."skimmed milk powder"]
price = 2.60
package = "300 g"
[foods."double cream"]
price = 2.25
package = "600 mL"
[foods.buttermilk]
price = 0.95
package = "284 mL"
[recipes]
jug = "2 L whole milk + 100 mL double cream + 6 tbsp skimmed milk powder"
tin = "1 pint whole milk + 1 tin evaporated milk"
"""
IE = """
country = "ie"
prices_on = 2026-11-02
[foods."full-fat milk"]
price = 2.35
package = "2 L"
sizes = [{ price = 1.30, package = "1 L" }]
[foods."evaporated milk"]
price = 1.85
package = "1 tin"
[foods."dried skimmed milk"]
price = 3.20
package = "300 g"
[foods."double cream"]
price = 2.60
package = "500 mL"
[recipes]
jug = "2 L full-fat milk + 100 mL double cream + 6 tbsp dried skimmed milk"
tin = "2 L full-fat milk + 1 tin evaporated milk"
"""
FR = """
country = "fr"
prices_on = 2026-11-02
[foods."lait entier"]
price = 2.25
package = "2 litres"
sizes = [{ price = 1.15, package = "1 L" }]
[foods."lait concentré non sucré"]
price = 1.95
package = "1 boîte"
[foods."crème liquide entière"]
price = 1.60
package = "20 cl"
[foods."lait écrémé en poudre"]
price = 4.90
package = "300 g"
[foods."lait ribot"]
price = 1.60
package = "1 L"
[recipes]
seau = "1,5 L de lait entier + 10 cl de crème liquide entière + 9 c. à s. de lait écrémé en poudre"
boite = "2 L de lait entier + 1 boîte de lait concentré non sucré"
"""
NZ = """
country = "nz"
prices_on = 2026-11-02
[foods."full cream milk"]
price = 4.60
package = "2 L"
sizes = [{ price = 2.60, package = "1 L" }]
[foods."evaporated milk"]
price = 3.20
package = "1 can"
[foods.cream]
price = 6.50
package = "500 mL"
[foods."full cream milk powder"]
price = 12.90
package = "1 kg"
[foods."skim milk powder"]
price = 10.50
package = "1 kg"
[recipes]
jug = "2 L full cream milk + 200 mL cream + 9 tbsp skim milk powder"
can = "2 L blue top milk + 1 can evaporated milk"
"""
PANTRIES = {"uk": UK, "ie": IE, "fr": FR, "nz": NZ}
MILK = {"uk": "whole-milk", "ie": "whole-milk", "fr": "lait-entier", "nz": "full-cream-milk"}


@pytest.fixture(params=PANTRIES)
def place(request, tmp_path: Path) -> tuple[str, Path]:
    path = tmp_path / "pantry.toml"
    path.write_text(PANTRIES[request.param], encoding="utf-8")
    return request.param, path


def told(capsys, *words: object, status: int = 0) -> str:
    capsys.readouterr()
    assert run([str(word) for word in words]) == status
    return capsys.readouterr().out


def shape(capsys, *words: object, status: int = 0) -> dict:
    return json.loads(told(capsys, *words, "--json", status=status))


def test_the_mix_is_in_litres_and_spoons_of_the_place(place, capsys):
    country, pantry = place
    text = told(capsys, "mix", pantry)
    recipe = text[text.index("The cheapest mix") : text.index("Makes")]
    assert re.search(rf"1[.,]\d+ L +{MILK[country]} ", recipe)
    assert not re.search(r"\b(cups?|quarts?|gallons?|fl oz)\b", recipe)
    assert countries()[country].currency in recipe
    table = {"uk": "CoFID", "ie": "CoFID", "fr": "Ciqual", "nz": "SR28"}[country]
    assert f"Foods: {table}" in text
    assert ("are used" in text) == (country in ("ie", "nz"))


def test_numbers_are_written_as_in_the_place_and_read_back(place, capsys):
    country, pantry = place
    text = told(capsys, "mix", pantry)
    comma = countries()[country].decimal == ","
    assert bool(re.search(r"\d,\d\d EUR", text)) == comma
    assert ("1\u00a0955 g" in text) == comma
    lines = text[text.index("The cheapest mix") : text.index("\nMakes")].splitlines()[1:]
    rows = [re.split(r"\s{2,}", line.strip()) for line in lines if line.strip()]
    recipe = " + ".join(f"{amount} {food}" for amount, food, *_ in rows)
    made = shape(capsys, "mix", pantry)
    read = shape(capsys, "check", recipe, "--pantry", pantry)
    grams = {a["food"]: a["grams"] for a in made["amounts"]}
    assert {a["food"]: a["grams"] for a in read["amounts"]} == pytest.approx(grams)


def test_the_law_of_the_place_is_reported(place, capsys):
    country, pantry = place
    plain = " ".join(told(capsys, "mix", pantry).split())
    assert {"uk": "APHA", "ie": "veterinary office", "fr": "DDPP", "nz": "MPI"}[country] in plain
    assert "Some countries forbid" not in plain


def test_what_mix_prints_can_be_checked(place, capsys):
    _, pantry = place
    found = shape(capsys, "mix", pantry)
    recipe = " + ".join(f"{m['words']} {m['food']}" for m in found["measures"])
    checked = shape(capsys, "check", recipe, "--pantry", pantry)
    for made, read in zip(found["amounts"], checked["amounts"], strict=True):
        assert (made["food"], made["table"], made["record"]) == (
            read["food"], read["table"], read["record"]
        )  # fmt: skip
        assert made["grams"] == pytest.approx(read["grams"], rel=1e-9)
    assert checked["verdict"] == found["verdict"] == "inside"


def test_recipes_are_checked_and_compared(place, capsys):
    country, pantry = place
    held = load_pantry(pantry)
    name = next(iter(held.recipes))
    checked = shape(capsys, "check", name, "--pantry", pantry)
    assert checked["verdict"] == "inside"
    assert checked["kitchen"] == held.kitchen.value
    rows = shape(capsys, "compare", "--pantry", pantry)
    assert rows["currency"] == countries()[country].currency
    assert {row["name"] for row in rows["recipes"]} == set(held.recipes)


def test_a_tin_and_a_spoon_are_those_of_the_place(place):
    country, pantry = place
    held = load_pantry(pantry)
    tin = next(i for i in held.items if i.food.kind == "evaporated")
    grams = {"uk": 410.0, "ie": 410.0, "fr": 410.0, "nz": 375 * tin.food.density}[country]
    assert tin.package_grams == pytest.approx(grams, abs=1e-6)
    jug = next(iter(held.recipes.values()))
    powder, spoons = next(
        (food, amount.number)
        for food, amount in zip(jug.foods, jug.amounts, strict=True)
        if amount.unit == "tbsp"
    )
    assert jug.by_food()[powder.id] == pytest.approx(15.0 * spoons * powder.density)


def test_the_card_is_on_a4_in_the_words_of_the_place(place, capsys, tmp_path):
    country, pantry = place
    out = tmp_path / "card.pdf"
    said = shape(capsys, "card", pantry, "--make", "2 L", "--on", "2026-11-14", "--out", out)
    assert said["paper"] == "a4"
    sheet = pypdfium2.PdfDocument(out)
    width, height = sheet[0].get_size()
    assert (width, height) == pytest.approx((595.3, 841.9), abs=1.0)
    text = " ".join(" ".join(p.get_textpage().get_text_range() for p in sheet).split())
    words = {
        "uk": ("whole milk", "skimmed milk powder"),
        "ie": ("whole milk", "skimmed milk powder"),
        "fr": ("lait entier", "poudre de lait écrémé"),
        "nz": ("full cream milk",),
    }
    for word in words[country]:
        assert word in text
    assert "quart" not in text


def test_shopping_buys_packs_of_one_and_two_litres(place, capsys, tmp_path):
    country, pantry = place
    (tmp_path / "flock.toml").write_text(
        f"""
day = 2026-11-14
pantry = "pantry.toml"
mix = "{next(iter(load_pantry(pantry).recipes))}"
kitchen = "metric"
feeding_times = ["06:00", "12:00", "18:00", "23:00"]
jar = "1 L"
jars = 6
refrigerator = "26 L"
shopping_days = ["wednesday", "saturday"]
[animals.Pip]
species = "lamb"
born = 2026-11-02
birth_weight = "4.2 kg"
""",
        encoding="utf-8",
    )
    plan = shape(capsys, "shop", tmp_path / "flock.toml")
    assert plan["status"] != "impossible"
    bought = {
        purchase["package"]
        for trip in plan["trips"]
        for purchase in trip["purchases"]
        if purchase["food"] == MILK[country]
    }
    assert bought <= {"1 L", "2 L", "2 litres", "1 pint"}
    assert bought & {"2 L", "2 litres"}
    assert plan["gap"] < 0.02


# One shelf, several countries


def test_a_tin_in_a_british_kitchen_is_called_a_tin(tmp_path, capsys):
    path = tmp_path / "pantry.toml"
    path.write_text(
        'country = "uk"\nprices_on = 2026-11-02\n'
        '[foods.whole-milk]\nprice = 1.55\npackage = "2 L"\n'
        '[foods.evaporated-milk]\nprice = 0.40\npackage = "1 tin"\n',
        encoding="utf-8",
    )
    text = told(capsys, "mix", path, "--make", "3 L")
    assert re.search(r"\d+ tins? +evaporated-milk +(410|820|1,230) g", text)
    assert " can " not in text[text.index("The cheapest mix") : text.index("Makes")]


def test_explicit_keys_override_the_country(tmp_path, capsys):
    path = tmp_path / "pantry.toml"
    text = UK.replace('country = "uk"', 'country = "uk"\nkitchen = "us"\ncurrency = "USD"')
    text = text.replace("[foods.", "[foods.", 1).replace('"1 pint"', '"568 mL"')
    path.write_text(text, encoding="utf-8")
    pantry = load_pantry(path)
    assert (pantry.kitchen.value, pantry.currency) == ("us", "USD")
    assert pantry.table.find("whole milk").record == "12-596"
    path.write_text(UK.replace('country = "uk"', 'country = "uk"\ntable = "SR28"'), "utf-8")
    other = load_pantry(path)
    assert other.table.find("whole milk").record == "01077"
    assert other.table.find("double cream").record == "12-334"
    assert other.kitchen.value == "uk"
    found = shape(capsys, "mix", path)
    assert {a["table"] for a in found["amounts"]} <= {"usda-sr28", "cofid-2021"}


def test_the_option_stands_in_for_the_file(tmp_path, capsys):
    path = tmp_path / "pantry.toml"
    path.write_text(UK.replace('country = "uk"\n', 'currency = "EUR"\nkitchen = "uk"\n'), "utf-8")
    british = shape(capsys, "mix", path, "--country", "uk")
    irish = shape(capsys, "mix", path, "--country", "ie")
    assert (british["country"], irish["country"]) == ("uk", "ie")
    assert british["amounts"] == irish["amounts"]


def test_check_without_a_pantry_in_another_country(capsys):
    recipe = "2 L whole milk + 100 mL double cream + 6 tbsp skimmed milk powder"
    found = shape(capsys, "check", recipe, "--country", "uk")
    assert [a["record"] for a in found["amounts"]] == ["12-596", "12-334", "12-521"]
    powder = next(a for a in found["amounts"] if a["record"] == "12-521")
    assert powder["grams"] == pytest.approx(6 * 15 * 120 / 236.588, rel=1e-4)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('country = "uk"', 'country = "gb"', 'no country called "gb"'),
        ('country = "uk"', 'country = "uk"\ntable = "bls"', 'no table called "bls"'),
        ('[foods."whole milk"]', "[foods.cream]", '"cream" could be more than one food'),
        ('[foods."whole milk"]', '[foods."cofid 12-999"]', "CoFID has no row"),
        ('[foods."double cream"]', '[foods."cofid 12-596"]', "the same food, whole-milk"),
        ('package = "284 mL"', 'package = "1 stick"', "not measured by stick"),
    ],
)
def test_what_is_wrong_with_a_pantry_is_reported(tmp_path, capsys, old, new, says):
    path = tmp_path / "pantry.toml"
    path.write_text(UK.replace(old, new, 1), encoding="utf-8")
    assert run(["mix", str(path)]) == 2
    assert says in capsys.readouterr().err


def test_a_us_unit_in_a_metric_kitchen_is_refused_as_ever(tmp_path, capsys):
    path = tmp_path / "pantry.toml"
    path.write_text(FR.replace('package = "2 litres"', 'package = "1 quart"'), encoding="utf-8")
    assert run(["mix", str(path)]) == 2
    assert "a metric kitchen has no quart" in capsys.readouterr().err


# Sample files


@pytest.mark.parametrize("country", [key for key in countries() if key != "us"])
def test_start_writes_a_pantry_of_the_place(country, tmp_path, capsys):
    assert run(["start", str(tmp_path / "farm"), "--country", country]) == 0
    capsys.readouterr()
    pantry = load_pantry(tmp_path / "farm" / "pantry.toml")
    here = countries()[country]
    assert (pantry.stated, pantry.currency, pantry.kitchen) == (
        country, here.currency, here.kitchen
    )  # fmt: skip
    assert "(invented)" in pantry.name
    found = shape(capsys, "mix", tmp_path / "farm" / "pantry.toml")
    assert found["verdict"] == "inside"
    told(capsys, "feed", tmp_path / "farm" / "flock.toml")
    for food in ("cream-and-powder", "kid-jug", "plain-milk", "bag", "cream-and-cans"):
        assert food in pantry.recipes
    packages = {kind: set(words) for kind, words in here.packages.items()}
    milk = next(item for item in pantry.items if item.food.kind == "milk")
    assert {p.words for p in milk.packages} <= packages["milk"]


def test_start_as_before_where_no_country_is_said(tmp_path):
    write_sample(tmp_path / "a")
    write_sample(tmp_path / "b", "us")
    for name in ("pantry.toml", "flock.toml"):
        assert (tmp_path / "a" / name).read_bytes() == (tmp_path / "b" / name).read_bytes()


def test_start_in_a_country_that_is_not_there(tmp_path, capsys):
    assert run(["start", str(tmp_path), "--country", "atlantis"]) == 2
    assert "no country" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("country", "said", "mark"),
    [("uk", "", "mL"), ("fr", "", "mL"), ("us", "", "fl oz"), ("uk", 'kitchen = "us"', "fl oz")],
)
def test_bottles_have_the_marks_of_the_pantrys_country(country, said, mark, tmp_path, capsys):
    write_sample(tmp_path, country)
    flock = tmp_path / "flock.toml"
    text = re.sub(r"(?m)^kitchen = .*$", said, flock.read_text(encoding="utf-8"))
    if country == "us":
        pantry = tmp_path / "pantry.toml"
        stated = 'country = "us"\n' + pantry.read_text(encoding="utf-8")
        pantry.write_text(stated, encoding="utf-8")
    flock.write_text(text, encoding="utf-8")
    text = told(capsys, "feed", flock)
    assert re.search(rf"\d {mark}\b", text)


@pytest.mark.parametrize(
    ("country", "foods", "example"),
    [
        ("us", ["whole-milk", "evaporated-milk"], "whole-milk=3.80/gallon"),
        ("uk", ["whole-milk", "evaporated-milk", "skimmed-milk-powder"], "whole-milk=3.80/L"),
        ("ca", ["homogenized milk", "evaporated-milk"], "homogenized-milk=3.80/4 L"),
    ],
)
def test_prices_are_quoted_per_local_package(country, foods, example, capsys):
    assert run(["mix", "--country", country, *foods]) == 0
    assert f'as "{example}"' in capsys.readouterr().out
