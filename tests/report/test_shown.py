"""Answers as JSON, tables and HTML, in Python and in notebooks."""

from __future__ import annotations

import json
import re
from functools import cache
from html.parser import HTMLParser
from importlib.resources import files

import pandas as pd
import pytest

import formulate
from formulate.cli.main import run
from formulate.report.shown import RENDERINGS

RECIPE = "1 quart whole-milk + 1 can evaporated-milk"


@pytest.fixture(scope="module")
def pantry():
    return formulate.sample_pantry()


@pytest.fixture(scope="module")
def flock():
    return formulate.sample_flock()


ASKED = {
    "mix": lambda p, f: formulate.mix(p, make="2 quarts", explain=True),
    "mix --make": lambda p, f: formulate.mix(p, "ewe-milk"),
    "check": lambda p, f: formulate.check(RECIPE, pantry=p),
    "check never": lambda p, f: formulate.check("1 cup chocolate"),
    "compare": lambda p, f: formulate.compare(p, per="megajoule"),
    "prices": lambda p, f: formulate.prices(p, "whole-milk=2.5..6"),
    "today": lambda p, f: formulate.today(f),
    "shop": lambda p, f: formulate.shop(f),
    "season": lambda p, f: formulate.season(f),
    "rehydrate": lambda p, f: formulate.rehydrate(p, flock=f),
}


@pytest.fixture(scope="module")
def asked(pantry, flock):
    """Each answer, asked for once."""
    return cache(lambda name: ASKED[name](pantry, flock))


COMMANDS = {
    "mix": ["mix", "--make", "2 quarts", "--why"],
    "mix --make": ["mix", "--for", "ewe-milk"],
    "check": ["check", RECIPE, "--pantry", "PANTRY"],
    "check never": ["check", "1 cup chocolate"],
    "compare": ["compare", "--per", "megajoule"],
    "prices": ["prices", "--vary", "whole-milk=2.5..6"],
    "today": ["today"],
    "shop": ["shop"],
    "season": ["season"],
    "rehydrate": ["rehydrate"],
}


@pytest.mark.parametrize("name", ASKED)
def test_json_is_what_the_command_prints(name, asked, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)  # nothing lies here
    answer = asked(name)
    words = COMMANDS[name]
    if "PANTRY" in words:
        from formulate.pantry.pantry import sample_text

        (tmp_path / "elsewhere.toml").write_text(sample_text(), encoding="utf-8")
        answer = formulate.check(RECIPE, pantry=tmp_path / "elsewhere.toml")
        words = [str(tmp_path / "elsewhere.toml") if w == "PANTRY" else w for w in words]
    assert run([*words, "--json"]) in (0, 1)
    printed = json.loads(capsys.readouterr().out)
    printed.pop("written", None)  # files that the command wrote
    assert json.loads(answer.to_json()) == printed


@pytest.mark.parametrize("name", ASKED)
def test_every_answer_is_a_table(name, asked):
    frame = asked(name).to_frame()
    assert isinstance(frame, pd.DataFrame)
    assert len(frame)
    for column in frame:
        assert not any(isinstance(value, list | dict | tuple) for value in frame[column])


def test_any_list_of_the_json_is_a_table(pantry):
    answer = formulate.mix(pantry, container="1 gallon jug of whole-milk")
    reads = answer.to_frame("reads")
    assert list(reads["measure"][:2]) == [read.band.measure for read in answer.milk.mix.reads[:2]]
    assert len(answer.to_frame("container.steps")) == len(answer.milk.batch.plan.steps)
    with pytest.raises(
        formulate.UnknownName, match=r'"read".*Did you mean reads\?.*It has .*amounts'
    ):
        answer.to_frame("read")
    with pytest.raises(formulate.UnknownName):
        answer.to_frame(3)


def test_a_plan_is_a_table_of_days(asked):
    today = asked("today")
    days = today.to_frame("days")
    plan = next(plan for plan in today.plans if plan is not None)
    litres = days.pivot(index="date", columns="animal", values="litres")
    for i, animal in enumerate(plan.flock.animals):
        assert litres[animal.name].iloc[: len(plan.days)].tolist() == plan.litres[i].tolist()
    assert "weight_kg" not in days  # an object: its low, expected and high are columns
    assert days["weight_kg.expected"].notna().any()
    with pytest.raises(formulate.UnknownName, match="It has feeds, days, "):
        today.to_frame("plan")


def test_where_there_is_no_mix_the_table_is_of_what_comes_nearest(pantry):
    answer = formulate.mix(pantry, "ewe-milk")
    assert answer.milk is None
    nearest = answer.instead.mix
    used = [nearest.shelf.ids[j] for j in nearest.grams.nonzero()[0]]
    assert list(answer.to_frame()["food"]) == used


def test_ranges_foods_and_pantries_are_tables_too(pantry):
    assert set(formulate.band_set("ewe-milk").to_frame()["role"]) == {"demanded", "safety", "shown"}
    table = formulate.food_table()
    assert "whole-milk" in set(table.to_frame()["id"])
    assert set(table.to_frame("values")["food"]) <= set(table)
    assert list(pantry.to_frame()["food"]) == list(pantry.ids)
    wide = pantry.shelf().composition.to_frame().set_index("food")
    assert wide.loc["whole-milk", "fat [g/100 g]"] == pantry.table["whole-milk"].value("fat")


# --- one read by its measure ---


def test_a_read_is_found_by_its_measure(pantry):
    answer = formulate.mix(pantry)
    fat = answer["fat"]
    assert fat.band.measure == "fat"
    assert fat.band.role == "demanded"
    assert answer["fat", "as_fed"].band.basis == "as_fed"
    assert answer.milk["fat"] is answer.milk.mix["fat"] is fat
    assert formulate.check(RECIPE)["fat", "dry_matter"].value > 20
    with pytest.raises(formulate.UnknownName, match="Did you mean fat"):
        answer["fatt"]
    with pytest.raises(formulate.UnknownName, match="fat is read on these bases: as_fed and"):
        answer["fat", "per_kg_water"]
    for wrong in (0, None, ("fat", "as_fed", "x"), ("fat", 1)):
        with pytest.raises(formulate.WrongType, match='such as "fat"'):
            answer[wrong]


def test_an_answer_without_a_milk_has_no_reads_and_says_where_to_look(pantry):
    with pytest.raises(formulate.InputError, match=r"no such milk.*\.instead"):
        formulate.mix(pantry, "ewe-milk")["fat"]
    with pytest.raises(formulate.InputError, match="must not be fed"):
        formulate.check("1 quart whole-milk + 1 cup chocolate")["fat"]


# --- HTML ---


class Balanced(HTMLParser):
    """HTML whose tags close in order, and its text."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.open, self.text, self.tags = [], "", []
        self.feed(html)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag, attrs):
        self.open.append(tag)
        self.tags.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.text += data + "\n"


@pytest.mark.parametrize("name", ["mix", "check", "check never", "compare", "today", "shop"])
def test_a_notebook_shows_the_verdict_first(name, asked):
    from formulate.report.verdict_words import headline

    answer = asked(name)
    page = Balanced(answer._repr_html_())
    verdicts = {
        "compare": lambda: answer.rows[0].judgement,
        "today": lambda: answer.verdict,
        "shop": lambda: answer.verdict,
    }
    first = verdicts.get(name, lambda: answer.judgement)()
    told = page.text if name != "compare" else page.text.split("remark\n")[1]
    assert told.startswith(headline(first))
    assert "table" in page.tags or name == "check never"


def test_a_notebook_tells_what_comes_nearest_where_there_is_no_mix(pantry):
    page = Balanced(formulate.mix(pantry, "ewe-milk")._repr_html_())
    assert page.text.index("lactose") < page.text.index("whole-milk")
    assert page.tags.count("table") == 2


def test_what_a_person_named_is_escaped_in_a_notebook(tmp_path):
    from formulate.pantry.pantry import sample_text

    evil = "<img src=x onerror=alert(1)>"
    text = sample_text().replace("[recipes]", f"[recipes]\n'{evil}' = '1 quart whole-milk'", 1)
    path = tmp_path / "pantry.toml"
    path.write_text(text, encoding="utf-8")
    pantry = formulate.load_pantry(path)
    for answer in (formulate.compare(pantry), formulate.check(evil, pantry=pantry)):
        html = answer._repr_html_()
        assert "<img" not in html
        assert "&lt;img" in html


def test_a_notebook_shows_each_recipe_of_moving_prices_in_a_row(asked):
    answer = asked("prices")
    page = Balanced(answer._repr_html_())
    assert page.text.startswith("As whole-milk gets dearer")
    assert page.tags.count("tr") == 1 + len(answer.found.steps)
    assert re.search(r"\d+ g", page.text)


def test_a_notebook_shows_why_no_price_helps():
    none = formulate.prices(["whole-milk=3.80/gallon"], "whole-milk=2.5..6", reference="ewe-milk")
    page = Balanced(none._repr_html_())
    assert page.tags == ["div", "p"]


def test_a_notebook_shows_a_season_and_its_other_milks(asked):
    answer = asked("season")
    page = Balanced(answer._repr_html_())
    assert page.text.index("In range") < page.text.index("milk drunk")
    assert page.tags.count("table") == 2
    for other in answer.others:
        assert other.season.name in page.text


def test_a_notebook_shows_what_to_do_when_an_animal_scours(asked):
    answer = asked("rehydrate")
    page = Balanced(answer._repr_html_())
    assert "veterinarian" in page.text
    assert page.text.index("veterinarian agrees") < page.text.index("baking soda, level")
    ill = formulate.rehydrate(formulate.sample_pantry(), signs={"stands": "no"})
    page = Balanced(ill._repr_html_())
    assert ill.check.alarms[0].text in page.text
    assert "baking soda, level" not in page.text


def test_a_notebook_shows_what_was_written_down(tmp_path):
    path = tmp_path / "flock.toml"
    for name in ("flock", "pantry"):
        sample = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        (tmp_path / f"{name}.toml").write_bytes(sample)
    now = formulate.today(path).now
    told = formulate.record(path, "Pip", "milk", "100 mL", at=now)
    page = Balanced(told._repr_html_())
    assert page.tags.count("li") == 1 + len(told.notes)
    assert "Pip" in page.text
    asks = formulate.record(path, "Pip", "weight", "9.9 kg", at=now)
    assert asks.questions
    assert asks.questions[0].text in Balanced(asks._repr_html_()).text


def test_a_set_of_ranges_shows_its_repr():
    assert formulate.band_set("lamb-replacer")._repr_html_() is None


def test_every_kind_of_object_that_says_it_can_be_shown_is_rendered():
    from formulate.base.shown import Renderable

    def below(kind):
        return {kind} | {one for sub in kind.__subclasses__() for one in below(sub)}

    # By name: a class with slots is made twice.
    shown = {k.__name__ for k in below(Renderable) if k.__module__.startswith("formulate.")}
    assert shown - {"Renderable"} == {kind.__name__ for kind in RENDERINGS}
