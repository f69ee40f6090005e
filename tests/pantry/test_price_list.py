"""Price lists and tables of foods: what is read, what is refused, and which price counts."""

from datetime import date

import pandas as pd
import pytest

from formulate.base.errors import InputError, ManyFaults, UnknownName
from formulate.pantry.pantry import parse_pantry, sample_pantry
from formulate.pantry.pantry_rows import pantries_of_rows, pantry_of_rows
from formulate.pantry.price_list import load_price_list
from formulate.pantry.pricing import Pricing, repriced

HEAD = "food,price,package,currency,date\n"
PANTRY = """
currency = "USD"
prices_on = 2026-11-02
[foods.whole-milk]
price = 3.90
package = "1 gallon"
[foods.evaporated-milk]
price = 1.80
package = "12 fl oz"
"""


def read(tmp_path, text, name="shop.csv"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return load_price_list(path)


def test_a_price_list_takes_the_place_of_the_pantrys_prices(tmp_path):
    listed = read(tmp_path, f"{HEAD}Whole milk,2.00,1 quart,USD,2026-11-09\n")
    pantry = repriced(parse_pantry(PANTRY), listed)
    milk, evaporated = pantry.items
    assert (milk.price, milk.package, milk.priced_on) == (2.0, "1 quart", date(2026, 11, 9))
    assert milk.price_per_gram == pytest.approx(2.0 / 976.0)
    assert (evaporated.price, evaporated.priced_on) == (1.8, date(2026, 11, 2))


def test_of_several_packages_the_cheapest_by_weight_counts(tmp_path):
    lines = "whole-milk,2.00,1 quart,USD,2026-11-09\nwhole-milk,4.00,1 gallon,USD,2026-11-09\n"
    pantry = repriced(parse_pantry(PANTRY), read(tmp_path, HEAD + lines))
    assert pantry.items[0].package == "1 gallon"


def test_columns_stand_in_any_order_and_a_spreadsheets_semicolons_do(tmp_path):
    text = "Date;package;Price;food\n2026-11-09;1 gallon;3,50;whole-milk\n;;;\n"
    listed = read(tmp_path, text)
    assert listed.entries[0].price == 3.5
    assert listed.currency == ""
    assert len(listed.entries) == 1
    assert repriced(parse_pantry(PANTRY), listed).currency == "USD"


def test_a_food_that_the_pantry_does_not_have_is_not_used_there(tmp_path):
    lines = "chocolate milk,2.00,1 quart,USD,2026-11-09\nskim-milk,1.00,1 quart,USD,2026-11-09\n"
    assert repriced(parse_pantry(PANTRY), read(tmp_path, HEAD + lines)) == parse_pantry(PANTRY)


def test_a_misspelt_food_of_the_pantry_is_reported(tmp_path):
    listed = read(tmp_path, f"{HEAD}\nwhole-mlk,2.00,1 quart,USD,2026-11-09\n")
    with pytest.raises(UnknownName, match=r"shop.csv: line 3: .*whole-mlk"):
        repriced(parse_pantry(PANTRY), listed)


def test_lists_of_one_layout_are_each_named_in_their_errors(tmp_path):
    pricing = Pricing(parse_pantry(PANTRY))
    wrong = f"{HEAD}whole-milk,2.00,1 banana,USD,2026-11-09\n"
    for name, line in (("one.csv", 2), ("other.csv", 3)):
        text = wrong if line == 2 else wrong.replace(HEAD, f"{HEAD}\n")
        with pytest.raises(InputError, match=rf"{name}: line {line}: .*banana"):
            pricing.prices(read(tmp_path, text, name))


def test_lists_of_one_layout_keep_their_own_prices(tmp_path):
    pricing = Pricing(parse_pantry(PANTRY))
    lines = "whole-milk,{},1 quart,USD,2026-11-09\nwhole-milk,{},1 gallon,USD,2026-11-10\n"
    for prices, cheapest in (((2, 4), "1 gallon"), ((1, 9), "1 quart"), ((2, 8), "1 quart")):
        listed = read(tmp_path, HEAD + lines.format(*prices))
        line, grams = pricing.prices(listed)["whole-milk"]
        assert (line.package, line.price) == (cheapest, prices[cheapest == "1 gallon"])
        assert grams == pytest.approx(976.0 if cheapest == "1 quart" else 3904.0)


def test_two_currencies_do_not_mix(tmp_path):
    some = read(tmp_path, f"{HEAD}whole-milk,2.00,1 quart,EUR,2026-11-09\n")
    with pytest.raises(InputError, match=r"EUR, but evaporated-milk would keep .* USD"):
        repriced(parse_pantry(PANTRY), some)
    both = f"{HEAD}whole-milk,2,1 quart,EUR,2026-11-09\nevaporated-milk,1,12 fl oz,EUR,2026-11-09\n"
    assert repriced(parse_pantry(PANTRY), read(tmp_path, both)).currency == "EUR"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "there is no price in it"),
        ("food,price\nwhole-milk,2\n", "the columns package and date are missing"),
        (f"{HEAD}whole-milk,two,1 quart,USD,2026-11-09\n", "line 2"),
        (f"{HEAD}whole-milk,2,quart,USD,2026-11-09\n", "line 2"),
        (f"{HEAD}whole-milk,2,1 quart,USD,yesterday\n", '"yesterday" is not a date'),
        (f"{HEAD}whole-milk,,1 quart,USD,2026-11-09\n", "the price is missing"),
        (f"{HEAD}whole-milk,2,1 quart,$,2026-11-09\n", "is not a currency"),
        (
            f"{HEAD}whole-milk,2,1 quart,USD,2026-11-09\nskim-milk,2,1 quart,EUR,2026-11-09\n",
            "more than one currency",
        ),
    ],
)
def test_what_is_wrong_with_a_list_is_reported_with_its_place(tmp_path, text, said):
    with pytest.raises(InputError, match=r"shop\.csv") as told:
        read(tmp_path, text)
    assert said in str(told.value)


def test_every_line_that_cannot_be_read_is_reported(tmp_path):
    lines = "whole-milk,x,1 quart,USD,2026-11-09\nskim-milk,1,1 quart,USD,x\n"
    with pytest.raises(ManyFaults) as told:
        read(tmp_path, HEAD + lines)
    assert [fault.where for fault in told.value.faults] == [
        f"{tmp_path / 'shop.csv'}: line {line}" for line in (2, 3)
    ]


def foods_frame():
    pantry = sample_pantry()
    return pd.DataFrame(
        [
            {
                "food": item.food.id,
                "price": item.price,
                "package": item.package,
                "currency": pantry.currency,
                "date": pd.Timestamp(item.priced_on),
                "in_mix": item.in_mix,
                "use_by": item.use_by,
            }
            for item in pantry.items
            if not item.food.own
        ]
    )


def test_a_pantry_comes_from_a_frame_as_from_its_file():
    frame = foods_frame()
    rows = pantries_of_rows(frame.to_dict("records"), "mine")
    pantry = pantry_of_rows(rows["mine"], "mine")
    want = {item.food.id: item.price_per_gram for item in sample_pantry().items}
    assert {item.food.id: item.price_per_gram for item in pantry.items}.items() <= want.items()
    assert [item.in_mix for item in pantry.items] == list(frame["in_mix"])


def test_a_frame_may_hold_several_pantries_and_lack_prices():
    frame = pd.DataFrame({"pantry": ["b", "a", "b"], "food": ["whole-milk", "water", "water"]})
    rows = pantries_of_rows(frame.to_dict("records"), "mine")
    assert list(rows) == ["b", "a"]
    assert pantry_of_rows(rows["b"], "b").ids == ("whole-milk", "water")
    assert not pantry_of_rows(rows["b"], "b").has_prices


@pytest.mark.parametrize(
    ("columns", "said"),
    [
        ({"food": ["whole-milk"], "cost": [3.0]}, 'no column called "cost"'),
        ({"price": [3.0]}, "the column food is missing"),
        ({"food": []}, "no food in it"),
    ],
)
def test_a_frame_with_other_columns_is_rejected(columns, said):
    with pytest.raises(InputError, match=said):
        pantries_of_rows(pd.DataFrame(columns).to_dict("records"), "mine")


@pytest.mark.parametrize(
    ("columns", "said"),
    [
        ({"food": ["whole-milk", "whole-milk"]}, "named twice"),
        ({"food": ["whole-mlk"]}, "whole-milk"),
        ({"food": ["whole-milk", "water"], "currency": ["USD", "EUR"]}, "differs"),
        ({"food": ["whole-milk"], "price": [3.0]}, "package"),
    ],
)
def test_a_pantry_of_a_frame_is_checked_as_a_file_is(columns, said):
    rows = pantries_of_rows(pd.DataFrame(columns).to_dict("records"), "mine")["mine"]
    with pytest.raises(InputError, match=said):
        pantry_of_rows(rows, "mine")
