"""Levels, weaning and a cold shed on the page: written to the file, and told as `feed` tells it."""

import pytest
from page.visitor import Visitor

from formulate.answers.household import load_household
from formulate.answers.levels import levels_of
from formulate.answers.today import today
from formulate.cli.main import run
from formulate.rearing.flock import Level, MilkEnd

FLOCK = """\
day = 2026-11-14
mix = "cream-and-powder"  # as they like it
feeding_times = ["06:00", "12:00", "18:00", "22:00"]

[animals.Pip]
born = 2026-11-04
birth_weight = "4.2 kg"
weights = [{ on = 2026-11-13, weight = "5.6 kg" }]

[animals.Wren]
born = 2026-11-02
birth_weight = "4 kg"
weights = [{ on = 2026-11-13, weight = "5.5 kg" }]
"""


@pytest.fixture
def visitor(tmp_path):
    (tmp_path / "flock.toml").write_text(FLOCK)
    return Visitor(tmp_path)


def flock(visitor):
    return load_household(visitor.folder / "flock.toml").read.flock


def test_the_flocks_level_weaning_and_shed_are_written(visitor):
    page = visitor.at("/milk").press(
        "Set this", "rear", {"level": "hearty", "weaning": "abrupt", "cold": "1"}
    )
    assert "Level: hearty. Weaning: abrupt. Housed in the cold." in page.text
    found = flock(visitor)
    assert (found.level, found.weaning, found.cold) == (Level.HEARTY, MilkEnd.ABRUPT, True)
    assert page.values("rear", "level") == ["hearty"]
    assert page.values("rear", "weaning") == ["abrupt"]
    assert page.values("rear", "cold") == ["1"]
    assert "# as they like it" in (visitor.folder / "flock.toml").read_text()


def test_what_is_as_usual_is_not_written(visitor):
    visitor.at("/milk").press("Set this", "rear")
    assert (visitor.folder / "flock.toml").read_text() == FLOCK


def test_a_cold_shed_can_be_taken_back(visitor):
    visitor.at("/milk").press("Set this", "rear", {"cold": "1"})
    assert flock(visitor).cold
    page = visitor.send(
        "/rear",
        [(name, value) for name, value in visitor.page.fields["rear"] if name != "cold"],
    )
    assert "Not housed in the cold." in page.text
    assert not flock(visitor).cold


def test_an_animal_has_a_level_and_weaning_of_its_own_until_they_are_taken_away(visitor):
    visitor.at("/animal?name=Pip").press(
        "Change it", "change", {"level": "usual", "weaning": "abrupt"}
    )
    assert flock(visitor).animal("Pip").level is Level.USUAL
    assert flock(visitor).animal("Pip").weaning is MilkEnd.ABRUPT
    assert flock(visitor).animal("Wren").level is None
    page = visitor.at("/animal?name=Pip").page
    assert page.values("change", "level") == ["usual"]
    visitor.press("Change it", "change", {"level": "", "weaning": ""})
    assert flock(visitor).animal("Pip").level is None
    assert flock(visitor).animal("Pip").weaning is None


@pytest.mark.parametrize(
    ("place", "form", "button", "typed", "told"),
    [
        ("/milk", "rear", "Set this", {"level": "heavy"}, "Write gentle, usual or hearty."),
        ("/milk", "rear", "Set this", {"weaning": "sudden"}, "stepped"),
        ("/animal?name=Pip", "change", "Change it", {"level": "hearti"}, "hearty"),
        ("/animal?name=Pip", "change", "Change it", {"weaning": "sudden"}, "stepped"),
    ],
)
def test_an_unknown_word_is_reported_and_not_written(visitor, place, form, button, typed, told):
    page = visitor.at(place).press(button, form, typed)
    assert page.status == 422
    assert told in page.text
    assert (visitor.folder / "flock.toml").read_text() == FLOCK


def test_the_plan_shows_what_each_level_costs_as_the_command_does(visitor, capsys):
    capsys.readouterr()
    run(["feed", str(visitor.folder / "flock.toml")])
    printed = " ".join(capsys.readouterr().out.split())
    shown = visitor.open("/plan").text
    home = load_household(visitor.folder / "flock.toml")
    levels = levels_of(home.read, today(home.read, home.pantry))
    assert len(levels) == 6
    for one in levels:
        assert f"{one.cost:,.2f}" in shown
        assert f"{one.cost:,.2f}" in printed
    assert "Gentle is the default" in shown


@pytest.mark.parametrize(("at", "told"), [("12:00", "just now"), ("11:59", "1 minute ago")])
def test_a_feed_of_this_minute_was_just_now(visitor, at, told):
    typed = {"amount": "60 mL", "what": "milk", "by": "Ann"}  # the day's hour is noon
    typed["at"] = f"2026-11-14 {at}"
    visitor.at("/animal?name=Pip").press("Write it down", "fed", typed)
    page = visitor.open("/animal?name=Pip")
    assert f"Last fed: {told}: 60 mL, by Ann" in page.text
    assert f"last fed: {told}: 60 mL, by Ann" in visitor.open().text


def test_a_log_line_with_a_time_zone_says_that_it_has_one(visitor):
    (visitor.folder / "flock.log.csv").write_text(
        "when,animal,what,amount,unit,note\n2026-11-14T06:00+01:00,Pip,milk,60,mL,\n"
    )
    shown = visitor.open("/animals").text
    assert "2026-11-14T06:00+01:00 has a time zone" in shown
    assert "Write the time your clock shows, without a time zone." in shown
    assert "This line was left out." in shown
