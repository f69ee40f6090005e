"""Nothing that is typed ends as a bug in the program; one mistake gives one message."""

from __future__ import annotations

import os
import subprocess
import sys
from datetime import date, datetime, timedelta

import pytest

from formulate.cli.main import run

FOODS = ["--food=whole-milk", "--food=evaporated-milk"]
DIGITS = "9" * 5000
PANTRY = """
currency = "USD"
prices_on = 2026-11-02
[foods.whole-milk]
price = 3.89
package = "1 gallon"
[foods.evaporated-milk]
price = 1.79
package = "1 can"
"""
FLOCK = """
day = 2026-11-16
feeding_times = ["06:00", "10:00", "14:00", "18:00", "22:00"]
mix = "3 quarts whole-milk + 1 can evaporated-milk"
[animals.Pip]
species = "kid"
born = 2026-11-02
birth_weight = "4.2 kg"
"""


@pytest.fixture
def call(capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    def call(*arguments):
        status = run(list(arguments))
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return status, out, err

    return call


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["mix", "--make", "1e-9 L"], "far too little"),
        (["mix", "--make", "1e400 L"], "far too large"),
        (["mix", "--make", f"1/{DIGITS} L"], "more than 40"),
        (["mix", "--make", "0 L"], "0 L"),
        (["mix", "--closest", "lamb-replacer", "--within-cost", "inf"], "not a number"),
        (["mix", "--closest", "lamb-replacer", "--within-cost", "nan"], "not a number"),
        (["mix", "--sure", "inf"], "not a number"),
        (["mix", "--worst-case", "nan"], "not a number"),
        (["mix", "--keep-to", ""], "the recipe is empty"),
        (["mix", "--at-most", "9" * 400], "is not a whole number"),
        (["label", "--out", "label.pdf", "--per-sheet", "9" * 400], "is not a whole number"),
        (["shop", "--keeps", "9" * 400], "is not a whole number"),
        (["mix", "--seconds", "nan"], "nan"),
        (["mix", "--in", ""], ""),
        (["mix", ""], ""),
        (["check", ""], "the recipe is empty"),
        (["check", "1,234 g whole-milk"], "1.234 or 1234"),
        (["check", f"{DIGITS}/2 cups whole-milk"], "more than 40"),
        (["feed", "--on", "9999-12-31"], "between 1900 and 2999"),
        (["feed", "--on", "0001-01-01"], "between 1900 and 2999"),
        (["growth", "--on", "9999-12-31 23:59"], "between 1900 and 2999"),
        (["shop", "--on", "9999-12-31"], "between 1900 and 2999"),
        (["season", "--on", "0001-01-01"], "between 1900 and 2999"),
        (["card", "--on", "9999-12-31", "--out", "card.pdf"], "between 1900 and 2999"),
        (["weigh", "Pip", "5 kg", "--on", "9999-12-31"], "between 1900 and 2999"),
        (["note", "Pip", "weak", "--at", "9999-12-31 23:59"], "between 1900 and 2999"),
        (["note", "Pip", "weak", "--at", "2026-11-14T06:00:00+11:00"], "has a time zone"),
        (["note", "Pip", "weak", "--at", "06:00Z"], "has a time zone"),
        (["today", "--lamb", "4.2", "--age", "3d", "--milk", "1 L whole-milk"], "unit"),
        (["today", "--lamb", "4.2kg", "--age", "3", "--milk", "1 L whole-milk"], "3d"),
        (["today", "--lamb", "42kg", "--age", "3d", "--milk", "1 L whole-milk"], "42 kg"),
        (["today", "--lamb", "42g", "--age", "3d", "--milk", "1 L whole-milk"], "0.042 kg"),
        (["prices", "--vary", "whole-milk=2..inf"], "inf"),
        (["prices", "--vary", "whole-milk=6..2"], "6"),
        (["rehydrate", "--weight", "1e400 kg"], "1e400"),
    ],
)
def test_it_is_refused_and_why(call, tmp_path, arguments, words):
    (tmp_path / "flock.toml").write_text(FLOCK)
    status, out, err = call(*arguments)
    assert (status, out) == (2, "")
    assert words in err
    assert len(err) < 1000


@pytest.mark.parametrize(
    "arguments",
    [
        ["note", "Pip", "weak", "--by", "Jos\udce9"],
        ["check", "1 cup cr\udce8me"],
        ["mix", "cr\udce8me.toml"],
        ["carton", "--name=cr\udce8me", "--sold-as=whole milk", "--fat=8"],
        ["start", "farm", *FOODS, f"--animal=Jos\udce9, lamb, 4 kg, {date.today()}"],
    ],
)
def test_what_is_typed_in_another_encoding_is_refused(call, tmp_path, arguments):
    (tmp_path / "flock.toml").write_text(FLOCK)
    status, out, err = call(*arguments)
    assert (status, out) == (2, "")
    assert "\\udce" in err
    assert [path.name for path in tmp_path.iterdir()] == ["flock.toml"]


def test_a_file_may_be_named_in_another_encoding(call, tmp_path):
    status, out, err = call("mix", "--exact", "--write", "m\udce9lange.lp")
    assert (status, err) == (0, "")
    assert "Wrote m\\udce9lange.lp" in out
    assert (tmp_path / "m\udce9lange.lp").exists()


def test_ten_thousand_weights_are_refused_in_few_words(call, tmp_path):
    weights = ", ".join('{ on = 2026-11-08, weight = "4.9 kg" }' for _ in range(10_000))
    (tmp_path / "flock.toml").write_text(f"{FLOCK}weights = [{weights}]\n")
    status, _, err = call("growth")
    assert status == 2
    assert "out of order" in err
    assert len(err.splitlines()) <= 21


def test_ten_thousand_weights_in_the_log_are_read(call, tmp_path):
    (tmp_path / "flock.toml").write_text(FLOCK)
    lines = "".join(
        f"2026-11-{3 + n % 13:02},Pip,weight,{4.3 + n % 13 * 0.2:.1f},kg,,\n" for n in range(10_000)
    )
    (tmp_path / "flock.log.csv").write_text(f"when,animal,what,amount,unit,note,by\n{lines}")
    status, out, err = call("growth")
    assert (status, err) == (0, "")
    assert "Pip, kid: 6.70 kg on 2026-11-15" in out


@pytest.mark.parametrize("place", ["/proc"])
def test_no_temporary_folder_is_needed(tmp_path, place):
    surroundings = {**os.environ, "TMPDIR": place, "HOME": place, "MPLCONFIGDIR": place}
    done = subprocess.run(
        [sys.executable, "-m", "formulate", "mix", "--exact", "--picture", "mix.svg"],
        cwd=tmp_path, env=surroundings, capture_output=True, text=True, timeout=300, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    assert (tmp_path / "mix.svg").exists()


@pytest.mark.parametrize(
    ("kitchen", "millilitres"),
    [("us", 14.787), ("metric", 15), ("uk", 15), ("imperial", 15), ("au", 20)],
)
def test_a_tablespoon_is_the_one_in_the_drawer(call, kitchen, millilitres):
    """Measures in use: 15 mL, and 20 mL in Australia (National Measurement Institute)."""
    import json

    def grams(recipe):
        return json.loads(call("check", recipe, "--kitchen", kitchen, "--json")[1])["amounts"][0][
            "grams"
        ]

    spoon, litre = grams("1 tbsp whole-milk"), grams("1 L whole-milk")
    assert spoon / litre * 1000 == pytest.approx(millilitres, rel=1e-4)
    assert grams("1 tsp whole-milk") / litre * 1000 == pytest.approx(
        4.929 if kitchen == "us" else 5, rel=1e-4
    )


class TestOneMistakeOneMessage:
    @pytest.mark.parametrize(
        ("own", "words"),
        [
            ("{ water = 80, protein = 20, fat = 20, ash = 1 }", "121.0 g"),
            ("{ water = 87, fat = 3, ash = 0.7, carbohydrate = 5, lactose = 8 }", "8 g of lactose"),
            ("{ water = 87, protein = 3, fat = 3, ash = 0.7, calcium = 90000 }", "90,000 mg"),
        ],
    )
    def test_of_a_food_of_ones_own(self, call, tmp_path, own, words):
        (tmp_path / "pantry.toml").write_text(
            f"{PANTRY}[foods.odd]\nprice = 1\npackage = '1 kg'\n"
            f"[own.odd]\nkind = 'milk'\nper_100_g = {own}\n[recipes]\njug = '1 cup odd'\n"
        )
        status, _, err = call("mix")
        assert status == 2
        assert words in err
        assert len(err.splitlines()) == 1

    def test_of_a_price(self, call, tmp_path):
        sizes = 'sizes = [{ price = 400, package = "1/2 gallon" }]\n[foods.evap'
        (tmp_path / "pantry.toml").write_text(PANTRY.replace("[foods.evap", sizes))
        _, _, err = call("mix", "--exact")
        assert "Is 400.00 USD for 1/2 gallon of whole-milk right?" in err
        assert len(err.splitlines()) == 1


class TestFilesOfOnesOwn:
    def test_a_table_never_takes_the_place_of_a_pantry(self, call, tmp_path):
        (tmp_path / "pantry.toml").write_text(PANTRY)
        status, out, err = call(
            "prices", "pantry.toml", "--vary", "whole-milk=2..6", "--csv", "pantry.toml"
        )
        assert (status, out) == (2, "")
        assert "a table cannot end in" in err
        assert (tmp_path / "pantry.toml").read_text() == PANTRY

    def test_a_table_is_never_taken_for_the_log_of_a_flock(self, call, tmp_path):
        status, out, err = call("prices", "--vary", "whole-milk=2..6", "--csv", "flock.LOG.csv")
        assert (status, out) == (2, "")
        assert "this is the name of a flock's log" in err
        assert not list(tmp_path.iterdir())

    def test_two_flocks_in_a_folder_are_asked_about(self, call, tmp_path):
        for name in ("ewes.toml", "does.toml"):
            (tmp_path / name).write_text(FLOCK)
        status, _, err = call("today")
        assert status == 2
        assert "does.toml and ewes.toml" in err
        assert call("today", "does.toml")[0] == 0

    def test_a_broken_flock_is_said_and_not_replaced_by_the_sample(self, call, tmp_path):
        (tmp_path / "flock.toml").write_text("animals = ")
        status, out, err = call("today")
        assert (status, out) == (2, "")
        assert "flock.toml" in err


@pytest.mark.parametrize(
    ("how", "apart"),
    [
        (["note", "Pip", "weak"], timedelta(minutes=10)),
        (["feed", "--fed", "Pip", "4 fl oz"], timedelta(minutes=10)),
        (["weigh", "Pip", "5 kg", "--confirm"], timedelta(days=1, minutes=10)),
    ],
)
def test_a_day_left_in_the_file_stamps_no_entry_of_now(call, tmp_path, how, apart):
    before = datetime.now() - timedelta(days=3)
    text = FLOCK.replace("2026-11-16", f"{before:%Y-%m-%d}")
    text = text.replace("2026-11-02", f"{before - timedelta(days=14):%Y-%m-%d}")
    (tmp_path / "flock.toml").write_text(text)
    assert call(*how)[0] in (0, 1)
    when = (tmp_path / "flock.log.csv").read_text().splitlines()[-1].split(",")[0]
    assert abs(datetime.now() - datetime.fromisoformat(when)) < apart


def test_a_table_of_many_may_name_a_file_in_another_encoding(call, tmp_path):
    (tmp_path / "m\udce9lange.toml").write_text(PANTRY)
    assert call("many", "m\udce9lange.toml", "--csv", "many.csv")[0] == 0
    assert "\nm\\udce9lange.toml," in (tmp_path / "many.csv").read_text(encoding="utf-8")


def test_interrupted_while_it_loads_it_ends_as_when_it_runs(monkeypatch):
    from formulate.__main__ import main

    def interrupted():
        raise KeyboardInterrupt

    monkeypatch.setattr("formulate.cli.main.main", interrupted)
    with pytest.raises(SystemExit) as caught:
        main()
    assert caught.value.code == 130
