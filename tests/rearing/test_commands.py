"""feed, weigh and growth on the command line, on the sample flock."""

import json

import pytest

from formulate.cli.main import run
from formulate.pantry.start import write_sample


@pytest.fixture
def flock(tmp_path):
    write_sample(tmp_path)
    return str(tmp_path / "flock.toml")


def told(capsys, *arguments):
    status = run([str(a) for a in arguments])
    out, err = capsys.readouterr()
    assert "Traceback" not in out + err
    return status, out, err


def test_the_sample_flock_is_planned(capsys, flock):
    status, out, err = told(capsys, "feed", flock)
    assert (status, err) == (0, "")
    for words in (
        "(invented)",
        "Dot is in its first day: only colostrum until 02:15 on Sunday, no mix.",
        "Bottles today",
        "06:00  Pip 8 fl oz, Wren 6 fl oz, Bramble 6 fl oz: 591 mL in all",
        "Pip to weaning",
        "2 parts new  to 2 parts old",
        "the teat should drip slowly",
        "rule for colostrum",
        "Ask a veterinarian",
    ):
        assert words in out
    assert max(map(len, out.splitlines())) <= 88


def test_every_number_of_a_plan_can_be_asked_for_its_source(capsys, flock):
    _, out, _ = told(capsys, "feed", flock, "--sources")
    for words in ("[danso-2016] Danso, Morel", "[judgement]", "from memory", "[sheep-handbook]"):
        assert words in out
    _, out, _ = told(capsys, "feed", flock, "--json")
    shape = json.loads(out)
    names = {figure["name"] for figure in shape["figures"]}
    assert {"cap-per-feed", "maintenance-danso", "colostrum-per-feed", "wean-age-lamb"} <= names
    assert all(figure["document"] for figure in shape["figures"])
    keys = [k for a in shape["animals"] for d in a["days"] for k in d["sources"].values()]
    assert all(keys)


def test_json_is_one_object_that_adds_up(capsys, flock):
    status, out, _ = told(capsys, "feed", flock, "--json")
    shape = json.loads(out)
    assert (status, shape["answer"], shape["invented"]) == (0, "plan", True)
    assert [a["name"] for a in shape["animals"]] == ["Pip", "Wren", "Bramble", "Dot"]
    for d, day in enumerate(shape["days"]):
        rows = [a["days"][d] for a in shape["animals"]]
        assert {row["date"] for row in rows} == {day["date"]}
        assert day["litres"] == pytest.approx(sum(row["litres"] for row in rows))
        for row in rows:
            assert row["litres"] == pytest.approx(row["feeds"] * row["ml_per_feed"] / 1e3)
            assert len(row["times"]) == row["feeds"]
    dot = shape["animals"][-1]
    assert dot["colostrum"]["mix"] == "refused"
    assert dot["days"][0]["feeds"] == 0


def test_a_milk_too_weak_answers_no(capsys, flock):
    status, out, _ = told(capsys, "feed", flock, "--milk", "1 gallon whole-milk + 1 pint water")
    assert status == 1
    assert "too weak for Wren" in out
    assert "Do not make the feeds bigger" in " ".join(out.split())


def test_a_dangerous_mix_answers_no_and_plans_nothing(capsys, flock):
    mix = "350 g dry-whole-milk + 150 g nonfat-dry-milk + 1 L water"
    status, out, _ = told(capsys, "feed", flock, "--milk", mix)
    assert status == 1
    assert "No plan is made" in out
    assert "Bottles" not in out
    assert "Milk to make" not in out
    status, out, _ = told(capsys, "feed", flock, "--milk", mix, "--json")
    assert (status, json.loads(out)["answer"]) == (1, "do not feed this mix")


def test_weighing_logs_once_and_asks_about_slips(capsys, flock):
    status, out, _ = told(capsys, "weigh", flock, "pip", "5.9kg")
    assert status == 0
    assert "Logged: Pip, 5.90 kg (13.0 lb) on 2026-11-14" in out
    assert "Already in the log" in told(capsys, "weigh", flock, "Pip", "5.9 kg")[1]
    status, _, err = told(capsys, "weigh", flock, "Dot", "60kg")
    assert status == 2
    assert "60 kg (132 lb) cannot be right" in err
    status, _, err = told(capsys, "weigh", flock, "Wrn", "4kg")
    assert status == 2
    assert "Did you mean Wren?" in err
    assert told(capsys, "weigh", flock, "Pip", "6.1kg")[0] == 2
    assert told(capsys, "weigh", flock, "Pip", "6.1kg", "--confirm")[0] == 0
    assert "Pip, lamb: 6.10 kg" in told(capsys, "growth", flock)[1]


def test_feeds_are_logged_and_a_newborn_gets_no_mix(capsys, flock):
    at = ("--at", "2026-11-14 06:10")
    status, out, _ = told(capsys, "feed", flock, "--fed", "Pip", "8 fl oz", *at)
    assert status == 0
    assert "Logged: Pip, 237 mL (8 fl oz) of milk, 2026-11-14 06:10" in out
    assert "Already" in told(capsys, "feed", flock, "--fed", "Pip", "8 fl oz", *at)[1]
    status, _, err = told(capsys, "feed", flock, "--fed", "Dot", "100 mL")
    assert status == 2
    assert "No mix replaces it" in err
    assert told(capsys, "feed", flock, "--colostrum", "Dot", "140 mL", "--whose", "ewe")[0] == 0
    assert "It has had 290 mL (about 9 3/4 fl oz)" in told(capsys, "feed", flock)[1]
    status, _, err = told(capsys, "feed", flock, "--fed", "Wren", "400 mL")
    assert status == 2
    assert "is more than Wren can hold at 3.7 kg" in err
    shape = json.loads(told(capsys, "feed", flock, "--creep", "Pip", "30 g", "--json")[1])
    assert shape["entries"][0]["added"] is True


def test_growth_tells_what_to_look_at(capsys, flock):
    status, out, _ = told(capsys, "growth", flock)
    assert status == 1  # the sample's smaller twin hardly grows
    assert "It hardly grows: 20 g a day over 5 days." in out
    assert "Call a veterinarian, today, for any of these" in out
    shape = json.loads(told(capsys, "growth", flock, "--json")[1])
    assert shape["answer"] == "look"
    by_name = {a["name"]: a for a in shape["animals"]}
    assert [a["id"] for a in by_name["Wren"]["alarms"]] == ["stall"]
    assert not by_name["Pip"]["alarms"]


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_growth_is_drawn_the_same_each_time(capsys, flock, tmp_path, kind):
    first, second = tmp_path / f"a.{kind}", tmp_path / f"b.{kind}"
    for path in (first, second):
        assert "Wrote" in told(capsys, "growth", flock, "--picture", path)[1]
    assert first.read_bytes() == second.read_bytes()
    assert first.stat().st_size > 5000


def test_faults_of_the_log_are_reported_and_the_plan_is_made(capsys, flock, tmp_path):
    log = tmp_path / "flock.log.csv"
    log.write_text("when,animal,what,amount,unit,note\n2026-11-14,Pip,wei")
    status, out, err = told(capsys, "feed", flock)
    assert status == 0
    assert "line 2" in err
    assert "Bottles today" in out
    assert json.loads(told(capsys, "feed", flock, "--json")[1])["log_faults"]


@pytest.mark.parametrize("on", ["some day", "2026-13-01"])
def test_a_day_that_is_none(capsys, flock, on):
    status, _, err = told(capsys, "feed", flock, "--on", on)
    assert status == 2
    assert "is not a date" in err


def test_another_day_gives_another_plan(capsys, flock):
    status, out, _ = told(capsys, "feed", flock, "--on", "2026-11-20 06:30")
    assert status == 0
    assert "Friday 2026-11-20, 06:30" in out
    assert "first day" not in out
    assert told(capsys, "feed", flock, "--on", "2026-11-01")[0] == 2  # before they were born


NEWBORN = """
feeding_times = ["05:30", "08:30", "11:30", "14:30", "17:30", "21:00"]
mix = "plain-milk"
kitchen = "metric"
[animals.Cold]
born = 2026-11-14T00:10:00
birth_weight = "4 kg"
temperature = 35.8
"""


def test_a_cold_newborn_is_warmed_before_it_is_fed(capsys, tmp_path):
    path = tmp_path / "flock.toml"
    path.write_text(NEWBORN)
    status, out, _ = told(capsys, "feed", path, "--on", "2026-11-14 08:00")
    assert status == 1
    assert "built-in sample" in out
    steps = [
        "If it has had no colostrum, call a veterinarian now",
        "Do not feed it, by bottle or by tube",
        "may need sugar first",
        "warm it in warm air",
        "Feed it again when a new reading is 37 °C or more",
    ]
    places = [" ".join(out.split()).index(step) for step in steps]
    assert places == sorted(places)
    assert "fl oz" not in out  # a metric bottle


def test_nothing_is_written_by_a_plan(capsys, flock, tmp_path):
    before = {p.name: p.read_bytes() for p in tmp_path.iterdir()}
    for arguments in (("feed",), ("feed", "--every-day"), ("growth",), ("feed", "--json")):
        told(capsys, arguments[0], flock, *arguments[1:])
    assert {p.name: p.read_bytes() for p in tmp_path.iterdir()} == before


def test_without_a_file_the_sample_is_used_and_nothing_can_be_logged(capsys):
    status, out, _ = told(capsys, "feed")
    assert status == 0
    assert "No flock file was named, so this is the built-in sample." in out
    assert "Pip to weaning" in out
    status, _, err = told(capsys, "feed", "--fed", "Pip", "100 mL")
    assert status == 2
    assert "there is no flock file here" in err
    assert "Wren" in told(capsys, "growth")[1]
