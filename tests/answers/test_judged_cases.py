"""Every case through every door: all agree, nothing dangerous passes, nothing harmless is refused.

A door takes a case and the file of its pantry, and tells what it showed (`Shown`). A new door is
one more function in `DOORS`.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from datetime import time
from functools import cache, partial
from pathlib import Path

import pytest
from judged_cases import CASES, GOOD, PANTRY, Case

from formulate.answers.check import check
from formulate.answers.compare import compare
from formulate.answers.season import season
from formulate.answers.sheet import sheet
from formulate.answers.shop import ShopRequest, shop
from formulate.answers.today import today
from formulate.answers.verdict import Verdict, judge
from formulate.base.errors import NotForLambs
from formulate.blend.protect.confidence import confidence_of
from formulate.cli.main import run
from formulate.foods.tables import band_set
from formulate.page.aim import Aim
from formulate.page.answer import checked
from formulate.pantry import reading
from formulate.pantry.pantry import Pantry, load_pantry, parse_pantry, recipe_named
from formulate.rearing.flock_file import FlockRead, parse_flock
from formulate.report.calendar import events_of
from formulate.report.compared import compare_shape
from formulate.report.printed.card import card_pages
from formulate.report.printed.label import label_page
from formulate.report.printed.paper import Paper
from formulate.report.printed.sheet_shape import sheet_shape
from formulate.report.printed.typeset import Word
from formulate.report.season_text import season_text
from formulate.report.shopping_shapes import season_shape, shopping_shape
from formulate.report.shopping_text import shopping_text
from formulate.report.verdict_words import headline


@dataclass(frozen=True)
class Shown:
    """What a door showed of a case.

    Parameters
    ----------
    verdict : str
    reasons : tuple of str
        Ids, in order.
    status : int or None
        Exit status; None where the door has none.
    feeds : bool or None
        Whether it plans bottles, or buys or mixes milk; None where the door never does.
    text : str
        What a person reads; empty where it is not text.
    """

    verdict: str
    reasons: tuple[str, ...] = ()
    status: int | None = None
    text: str = ""
    feeds: bool | None = None


@cache
def shelf(path: Path) -> Pantry:
    """The cases' pantry, read once."""
    return load_pantry(path)


def by_judge(case: Case, path, capsys) -> Shown:
    pantry = shelf(path)
    try:
        recipe = recipe_named(case.recipe, pantry, pantry.kitchen)
    except NotForLambs as error:
        pytest.skip(f"{error.name} has no composition to judge")
    found = judge(reading.check(recipe, band_set(case.against), pantry))
    return Shown(found.verdict, tuple(reason.id for reason in found.reasons))


def by_check(case: Case, path, capsys) -> Shown:
    found = check(case.recipe, shelf(path), case.against).judgement
    return Shown(found.verdict, tuple(reason.id for reason in found.reasons))


def by_command(case: Case, path, capsys) -> Shown:
    status = run(["check", case.recipe, "--pantry", str(path), "--for", case.against])
    out, err = capsys.readouterr()
    assert not err
    return Shown(_read_out(out), (), status, out)


def by_json(case: Case, path, capsys) -> Shown:
    arguments = ["check", case.recipe, "--pantry", str(path), "--for", case.against]
    status = run([*arguments, "--json"])
    out, _ = capsys.readouterr()
    told = json.loads(out)
    return Shown(told["verdict"], tuple(why["id"] for why in told["verdict_why"]), status)


def by_compare(case: Case, path, capsys) -> Shown:
    """Compared by cost, with a price for each of its foods."""
    pantry = shelf(path)
    try:
        foods = {food.id for food in recipe_named(case.recipe, pantry, pantry.kitchen).foods}
    except NotForLambs as error:
        pytest.skip(f"{error.name} has no composition to compare")
    foods -= {item.food.id for item in pantry.items} | {"water"}
    prices = "".join(f'[foods.{name}]\nprice = 1\npackage = "1 kg"\n' for name in sorted(foods))
    found = compare([case.recipe], parse_pantry(PANTRY + prices), case.against)
    (row,) = compare_shape(found)["recipes"]
    reasons = tuple(why["id"] for why in row["verdict_why"])
    return Shown(row["verdict"], reasons, 0 if found.yes else 1)


def by_page(case: Case, path, capsys) -> Shown:
    """A recipe of a person's own on the page."""
    found = checked(case.recipe, Aim(case.against), shelf(path))
    if case.thin is not None:
        assert any(f"add {case.thin:g} cups of water" in told for told in found.following)
        return Shown(case.verdict)
    return Shown(_read_out(found.headline))


FLOCK = """
day = 2026-11-14
feeding_times = ["00:00", "04:00", "08:00", "12:00", "16:00", "20:00"]
[animals.Pip]
species = "{species}"
born = 2026-11-04
birth_weight = "4 kg"
weights = [{{ on = 2026-11-13, weight = "5 kg" }}]
"""


def flock_for(case: Case) -> FlockRead:
    """One animal of ten days, of the species that the case's ranges are for."""
    if case.against not in ("lamb-replacer", "kid-replacer"):
        pytest.skip("animals' milks are held to a practical milk of their species")
    return parse_flock(FLOCK.format(species=case.against.removesuffix("-replacer")))


def by_today(case: Case, path, capsys) -> Shown:
    """An animal's bottles."""
    try:
        found = today(flock_for(case), shelf(path), named=case.recipe)
    except NotForLambs as error:
        return Shown(case.verdict, (error.unfit_id, case.why), error.exit_status, feeds=False)
    reasons = tuple(reason.id for reason in found.milks[0].judgement.reasons)
    fed = bool(found.plans[0]) or bool(found.pours) or any(a.feeds for a in found.animals)
    return Shown(found.verdict, reasons, feeds=fed)


def priced(case: Case, path: Path) -> Pantry:
    """The pantry with a price for each food of the case, and grams where a food has no cup."""
    pantry = shelf(path)
    foods = {food.id for food in recipe_named(case.recipe, pantry, pantry.kitchen).foods}
    foods -= {item.food.id for item in pantry.items} | {"water"}
    prices = "".join(f'[foods.{name}]\nprice = 1\npackage = "1 kg"\n' for name in sorted(foods))
    return parse_pantry('measures = "scale"\n' + PANTRY + prices)


def planning(door):
    """A door that needs animals, and says itself why a typed name is not for lambs."""

    def by(case: Case, path, capsys) -> Shown:
        read = flock_for(case)
        try:
            pantry = priced(case, path)
        except NotForLambs as error:
            return Shown(case.verdict, (error.unfit_id, case.why), error.exit_status, feeds=False)
        if case.recipe.endswith(" water") and "+" not in case.recipe:
            pytest.skip("water has no energy to plan with")
        often = tuple(time(hour) for hour in range(0, 24, 2))
        some = replace(read.flock, mix=case.recipe, shopping_days=tuple(range(7)),
                       feeding_times=often)  # fmt: skip
        return door(replace(read, flock=some), pantry)

    return by


@planning
def by_shop(read: FlockRead, pantry: Pantry) -> Shown:
    """What is bought for it, and the calendar made of that."""
    found = shop(read, pantry, ShopRequest(seconds=1.0))
    shape, text = shopping_shape(found), shopping_text(found)
    (milk,) = shape["milks"]
    reasons = tuple(why["id"] for why in milk["verdict_why"])
    assert bool(shape.get("trips")) is bool(events_of(found)) is (found.plan is not None)
    assert _read_out(text) == shape["verdict"]
    return Shown(shape["verdict"], reasons, 0 if found.yes else 1, text, found.plan is not None)


@planning
def by_season(read: FlockRead, pantry: Pantry) -> Shown:
    """What it costs from birth to weaning."""
    found = season(read, pantry, ShopRequest(seconds=1.0))
    shape, text = season_shape(found), season_text(found)
    (milk,) = shape["milks"]
    reasons = tuple(why["id"] for why in milk["verdict_why"])
    assert bool(shape["compared"]) is bool(shape["animals"]) is (found.own is not None)
    assert _read_out(text) == shape["verdict"]
    return Shown(shape["verdict"], reasons, 0 if found.yes else 1, text, found.own is not None)


@planning
def by_card(read: FlockRead, pantry: Pantry) -> Shown:
    """What is printed for the door and the jars."""
    found = sheet(pantry, None, read)
    shape = sheet_shape(found, None)
    if found.milks:
        pages = card_pages(found, None, Paper.A4)
        marks = [mark for page in pages for mark in page.marks if isinstance(mark, Word)]
        words = " ".join(mark.text for mark in marks).replace("\u00a0", " ")
        assert headline(found.verdict) in words
        label = label_page(found.milks[0], None, Paper.A4)[0]
        assert "NOT FOR PEOPLE" in {mark.text for mark in label.marks if isinstance(mark, Word)}
        (milk,) = shape["milks"][0]["fed"]
    else:
        (milk,) = shape["refused"]
    reasons = tuple(why["id"] for why in milk["verdict_why"])
    return Shown(shape["verdict"], reasons, 0 if found.yes else 1, "", bool(found.milks))


DOORS = {
    "judge": by_judge,
    "check": by_check,
    "check in words": by_command,
    "check as JSON": by_json,
    "compare as JSON": by_compare,
    "check on the page": by_page,
    "today": by_today,
    "shop": by_shop,
    "season": by_season,
    "card and label": by_card,
}

#: How a person's first line begins, by verdict.
FIRST_WORDS = {
    "Do not feed this unless": "vet",
    "Do not feed this yet": "unknown",
    "Do not feed this": "never",
    "Not right yet": "outside",
    "In range": "inside",
}


def _read_out(text: str) -> str:
    """The verdict that the first line of a text tells."""
    first = text.splitlines()[0]
    found = next(verdict for words, verdict in FIRST_WORDS.items() if first.startswith(words))
    if "as it is" in first:  # said of a milk that water alone mends, which may be never or vet
        assert "add" in text.splitlines()[1]
    return found


@pytest.fixture(autouse=True)
def quick(monkeypatch):
    """How sure a mix is takes longest, and no verdict hangs on it; the pantry is read once."""
    monkeypatch.setattr("formulate.pantry.pantry.load_pantry", lambda path, *_: shelf(path))
    monkeypatch.setattr("formulate.answers.judged.confidence_of", partial(confidence_of, draws=500))


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    made = tmp_path_factory.mktemp("cases") / "pantry.toml"
    made.write_text(PANTRY, encoding="utf-8")
    return made


def test_the_table_is_large_and_has_every_verdict():
    assert len({(case.recipe, case.against) for case in CASES}) == len(CASES) >= 60
    assert {case.verdict for case in CASES} == set(Verdict)


@pytest.mark.parametrize("door", DOORS)
@pytest.mark.parametrize("case", CASES, ids=str)
def test_every_door_gives_a_case_its_verdict(case, door, path, capsys):
    shown = DOORS[door](case, path, capsys)
    assert shown.verdict == case.verdict
    if shown.reasons:
        assert case.why in shown.reasons
    if shown.status is not None:
        assert shown.status == (0 if case.verdict == "inside" else 1)
    if shown.feeds is not None:
        assert shown.feeds == (case.verdict in ("inside", "outside"))
    if shown.text:
        assert "each holds" not in shown.text


@pytest.mark.parametrize("case", [c for c in CASES if c.verdict == "never"], ids=str)
def test_danger_comes_in_the_first_line_before_any_table(case, path, capsys):
    out = by_command(case, path, capsys).text
    assert out.startswith("Do not feed this")
    assert "How it compares" not in "\n".join(out.splitlines()[:5])


@pytest.mark.parametrize("case", CASES, ids=str)
def test_water_is_advised_only_where_it_alone_mends_the_milk(case, path):
    judgement = check(case.recipe, shelf(path), case.against).judgement
    thinning = judgement.thinning
    assert (None if thinning is None else thinning.water) == case.thin
    told = " ".join(reason.text for reason in judgement.reasons)
    assert "thin it" not in told


@pytest.mark.parametrize("case", [c for c in CASES if c.thin], ids=str)
def test_the_thinned_milk_is_inside_and_more_or_less_water_is_no_secret(case, path):
    """The advice made true by hand: so much water by volume, judged again."""
    pantry = shelf(path)
    recipe = recipe_named(case.recipe, pantry, pantry.kitchen)
    mix = reading.check(recipe, band_set(case.against), pantry)
    parts = [f"{g} g {food.id}" for food, g in zip(recipe.foods, recipe.grams, strict=True)
             if food.id != "water"]  # fmt: skip
    own = recipe.by_food().get("water", 0.0)
    thinned = " + ".join([*parts, f"{own + case.thin * mix.volume * 0.998:.3f} g water"])
    assert check(thinned, pantry, case.against).judgement.verdict is Verdict.INSIDE


def test_what_can_be_left_out_is_reported(path, capsys):
    out = by_command(
        Case("1 quart whole-milk + 1 can sweetened-condensed-milk", "never"), path, capsys
    ).text
    assert "Leave out the sweetened-condensed-milk: the rest can be fed" in out
    spoilt = check(f"{GOOD} + 1/4 cup cod-liver-oil", shelf(path))
    assert [(w.food, w.verdict) for w in spoilt.without] == [("cod-liver-oil", Verdict.INSIDE)]


@pytest.mark.parametrize("name", ["chocolate milk", "human-milk", "Breast Milk", "eggnog"])
def test_a_typed_name_answers_with_its_reason(name, capsys):
    assert run(["check", name]) == 1
    assert capsys.readouterr().out.startswith("Do not feed this.")
    assert run(["foods", "--show", name]) == 1
    told = capsys.readouterr().err
    assert f'do not feed "{name}" to lambs or kids' in told
    assert "unknown" not in told


def test_foods_tell_what_is_not_for_lambs(capsys):
    assert run(["foods", "chocolate", "milk"]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "chocolate-milk: do not feed it. It has sugar in it" in told
    assert "No food has" not in told
    assert run(["foods", "oat", "milk", "--json"]) == 0
    shape = json.loads(capsys.readouterr().out)
    assert [one["verdict"] for one in shape["not_for_lambs"] if one["id"] == "oat-milk"] == ["vet"]
