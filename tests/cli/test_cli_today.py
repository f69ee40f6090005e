"""today and note on the command line, and what lies in the folder."""

import json
from importlib.resources import files

import pytest

from formulate.cli.main import run
from formulate.pantry.start import write_sample


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """An empty folder, and in it."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("FORMULATE_BY", raising=False)
    return tmp_path


@pytest.fixture
def told(capsys):
    def tell(*arguments):
        status = run([str(a) for a in arguments])
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return status, out, err

    return tell


def test_today_on_the_sample_is_one_screen_with_the_newborns_colostrum_first(told, folder):
    for arguments in (("today",), ("today", "flock.toml")):
        status, out, err = told(*arguments)
        assert (status, err) == (0, "")
        lines = out.splitlines()
        assert len(lines) <= 24
        assert max(map(len, lines)) <= 88
        assert out.index("of colostrum now") < out.index("Pip      ")
        assert "In range, and within every safety limit." in lines[2] + lines[1]
        for words in ("hardly grows", "Still to pour today", "kid-jug", "nothing written down"):
            assert words in out
        write_sample(folder) if arguments == ("today",) else None


@pytest.mark.parametrize("columns", [60, 64, 72, 80, 87, 88, 100])
def test_today_on_the_sample_is_one_screen_of_any_usual_width(told, folder, monkeypatch, columns):
    for where in ((), ("flock.toml",)):
        if where:
            write_sample(folder)
        lines = screen_at(told, monkeypatch, columns, *where)
        assert len(lines) <= 24
        assert max(map(len, lines)) <= columns
        text = " ".join(" ".join(lines).split())
        for words in ("colostrum now", "hardly grows", "Still to pour today", "Changing over",
                      "148 mL (5 fl oz) of colostrum", "9 hours ago: 150 mL"):  # fmt: skip
            assert words in text


def test_on_the_narrowest_screen_nothing_is_lost_that_harms(told, folder, monkeypatch):
    lines = screen_at(told, monkeypatch, 40)
    assert len(lines) <= 33  # more than a screen, and fewer than the 47 of the whole
    assert max(map(len, lines)) <= 40
    text = " ".join(" ".join(lines).split())
    assert "never more than 180 mL" in text
    assert "- Pip: at 13:00, 237 mL (8 fl oz)" in text
    assert "- Dot: now, 148 mL (5 fl oz) of colostrum, last fed 9 hours ago: 150 mL" in text


def screen_at(told, monkeypatch, columns, *arguments):
    """Lines of `today` on a terminal of so many columns."""
    with monkeypatch.context() as patched:
        patched.setattr("formulate.cli._terminal._width_of", lambda stream: columns)
        return told("today", *arguments)[1].splitlines()


def test_today_tells_when_each_was_last_fed_and_by_whom(told, folder):
    write_sample(folder)
    told("note", "Wren", "milk", "6 fl oz", "--by", "Ann", "--at", "11:20")
    _, out, _ = told("today")
    assert "40 minutes ago: 6 fl oz, by Ann" in out
    shape = json.loads(told("today", "--json")[1])
    wren = next(a for a in shape["animals"] if a["name"] == "Wren")
    assert (wren["last_fed"]["by"], wren["last_fed"]["ml"]) == ("Ann", 177.4)
    assert (shape["answer"], shape["verdict"]) == ("yes", "inside")


@pytest.mark.parametrize(
    ("mix", "verdict"),
    [("1 quart heavy-cream", "vet"), ("1 quart whole-milk + 1/2 cup cod-liver-oil", "never")],
)
def test_a_milk_that_must_not_be_fed_gets_no_bottle(told, folder, mix, verdict):
    write_sample(folder)
    for command in ("feed", "today"):
        status, out, _ = told(command, "flock.toml", "--milk", mix)
        assert status == 1
        assert "Do not feed this" in "".join(out.splitlines()[:5])
        assert "No plan is made" in out
        assert "Bottles" not in out
        assert "Still to pour" not in out
        shape = json.loads(told(command, "flock.toml", "--milk", mix, "--json")[1])
        assert shape["verdict"] == verdict
        assert shape["litres_today"] == 0
        assert not shape["sittings"]
        assert all(not a.get("days") for a in shape["animals"])


def test_a_milk_made_for_lambs_warns_for_a_kid(told, folder):
    write_sample(folder)
    status, out, _ = told("feed", "flock.toml", "--milk", "cream-and-powder")
    assert status == 1
    assert "Too high in solids: 16.7 %" in out
    assert "cream-and-powder is a milk for lambs, not for kids." in out


NEWBORN = """
day = 2026-11-14
mix = "2 quarts whole-milk + 3/4 cup heavy-cream + 1/2 cup nonfat-dry-milk"
feeding_times = ["05:30", "08:30", "11:30", "14:30", "17:30", "21:00"]
[animals.Oak]
born = 2026-11-13T15:00:00
birth_weight = "4 kg"
colostrum = [{ at = 2026-11-13T18:00:00, amount = "100 mL" }]
"""


def test_a_late_newborn_is_not_fed_every_half_hour(told, folder):
    (folder / "flock.toml").write_text(NEWBORN)
    _, out, _ = told("today")
    text = " ".join(out.split())
    assert "500 mL (about 16 3/4 fl oz) of its 800 mL (about 27 fl oz) no longer fit" in text
    assert "Ask a veterinarian today" in text
    assert "Feed 200 mL (about 6 3/4 fl oz) of colostrum now" in text
    oak = json.loads(told("today", "--json")[1])["animals"][0]
    assert oak["colostrum"]["times"] == ["2026-11-14T12:00"]
    assert oak["colostrum"]["lost_ml"] == pytest.approx(500)


def test_a_lamb_of_two_days_at_35_degrees_gets_no_bottle(told, folder):
    text = NEWBORN.replace("2026-11-13T15:00:00", "2026-11-12T11:00:00")
    text = text.replace("2026-11-13T18", "2026-11-12T18")
    (folder / "flock.toml").write_text(
        text + 'weights = [{ on = 2026-11-13, weight = "4.1 kg" }]\n'
        "temperatures = [{ at = 2026-11-14T11:00:00, celsius = 35.0 }]\n"
    )
    for command in ("today", "feed"):
        status, out, _ = told(command)
        said = " ".join(out.split())
        assert status == 1
        for words in ("35.0 °C", "Do not feed it", "sugar first", "warm it", "veterinarian"):
            assert words in said
        assert "Still to pour" not in out
    oak = json.loads(told("today", "--json")[1])["animals"][0]
    assert oak["next"] is None
    assert [why["id"] for why in oak["why_not"]] == ["cold"]
    assert oak["temperature"]["state"] == "cold"
    # Nor does any amount stand further down, in the day's bottles or the weeks to weaning.
    plan = told("feed", "flock.toml")[1]
    assert "not now: see above" in plan.partition("Bottles today")[2]
    assert " x " not in plan
    assert "to weaning" not in plan


# --- what lies in the folder -------------------------------------------------------------------


def test_a_flock_and_pantry_in_the_folder_are_used_and_said(told, folder):
    write_sample(folder)
    text = (folder / "flock.toml").read_text().replace('pantry = "pantry.toml"', "")
    (folder / "flock.toml").unlink()
    (folder / "our-lambs.toml").write_text(text)
    for command in ("today", "feed", "growth"):
        _, out, _ = told(command)
        assert out.startswith(
            "Animals: our-lambs.toml in this folder.\n"
            "Recipes and foods: pantry.toml in the same folder.\n"
        )
    assert told("note", "Pip", "milk", "6 fl oz")[0] == 0
    assert (folder / "our-lambs.log.csv").exists()


def test_two_flocks_are_asked_about(told, folder):
    write_sample(folder)
    (folder / "goats.toml").write_bytes((folder / "flock.toml").read_bytes())
    for arguments in (("today",), ("feed",), ("note", "Pip", "sold"), ("weigh", "Pip", "6 kg")):
        status, _, err = told(*arguments)
        assert status == 2
        assert "there are 2 flock files in this folder: flock.toml and goats.toml" in err
    assert told("today", "goats.toml")[0] == 0


@pytest.mark.parametrize("broken", ["flock.toml", "pantry.toml"])
def test_a_broken_file_in_the_folder_is_said_and_not_replaced(told, folder, broken):
    write_sample(folder)
    flock = folder / "flock.toml"
    flock.write_text(flock.read_text().replace('pantry = "pantry.toml"', ""))
    (folder / broken).write_text("[foods\n")
    status, out, err = told("today")
    assert (status, out) == (2, "")
    assert broken in err


def test_one_animal_needs_no_file(told, folder):
    milk = "2 quarts whole-milk + 3/4 cup heavy-cream + 1/2 cup nonfat-dry-milk"
    status, out, _ = told(
        "today", "--lamb", "4.2kg", "--age", "3d", "--milk", milk, "--on", "2026-11-14 05:50"
    )
    assert status == 0
    assert "Your lamb  now        163 mL (5 1/2 fl oz)" in out
    assert len(out.splitlines()) <= 12
    status, out, _ = told("today", "--kid", "3.5kg", "--age", "1w", "--milk", milk)
    assert status == 1
    assert "is a milk for lambs, not for kids" in " ".join(out.split())


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--lamb", "4.2kg"), "how old it is"),
        (("--lamb", "4.2kg", "--age", "3d"), "what it drinks"),
        (("--lamb", "4.2kg", "--age", "3", "--milk", "x"), "an age without a unit"),
        (("--lamb", "60kg", "--age", "3d", "--milk", "plain-milk"), "cannot be right"),
        (("--age", "3d"), "use --age with --lamb or --kid"),
        (("flock.toml", "--lamb", "4kg", "--age", "3d"), "name one flock"),
        (("--lamb", "4kg", "--age", "3d", "--milk", "plain-mlik"), "Did you mean plain-milk?"),
    ],
)
def test_one_animal_that_is_not_told_of_enough(told, folder, arguments, said):
    status, out, err = told("today", *arguments)
    assert (status, out) == (2, "")
    assert said in err


# --- note --------------------------------------------------------------------------------------


def test_note_writes_anything_down_and_takes_it_back(told, folder, monkeypatch):
    write_sample(folder)
    monkeypatch.setenv("FORMULATE_BY", "Ann")
    for arguments, said in [
        (("Pip", "temperature", "102.6 F"), "Logged: Pip, 39.2 °C, 2026-11-14 12:00, by Ann"),
        (("Pip", "creep", "50 g"), "Logged: Pip, 50 g of creep on 2026-11-14, by Ann"),
        (("Bramble", "sold"), "Logged: Bramble, was sold on 2026-11-14, by Ann"),
        (("Bramble", "strike"), "Taken back: Bramble, was sold on 2026-11-14"),
        (("Pip", "weight", "6.1kg"), "Logged: Pip, 6.10 kg (13.4 lb) on 2026-11-14, by Ann"),
    ]:
        assert told("note", *arguments)[:2] == (0, f"{said}\n")
    assert told("note", "flock.toml", "Pip", "weight", "6.1kg")[1].startswith("Already")


def test_a_question_tells_how_to_answer_it_and_writes_nothing(told, folder):
    write_sample(folder)
    status, out, err = told("note", "Wren", "milk", "600 mL")
    assert (status, out) == (2, "")
    assert "more than Wren can hold at 3.7 kg" in err
    assert "Nothing was written down. If it is right, repeat it with --confirm." in err
    assert not (folder / "flock.log.csv").exists()
    status, out, _ = told("note", "Wren", "milk", "600 mL", "--json")
    shape = json.loads(out)
    assert (status, shape["answer"], shape["questions"][0]["id"]) == (2, "asks", "amount")
    assert told("note", "Wren", "milk", "600 mL", "--confirm")[0] == 0


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("note", "Pip"), "say which animal and what"),
        (("note", "Pip", "milk", "8 fl oz", "--at", "soon"), "is not a time"),
        (("note", "Pip", "mlik", "8 fl oz"), "Did you mean milk?"),
        (("note", "nowhere.toml", "Pip", "milk", "8 fl oz"), "there is no such file"),
        (("weigh", "Pip"), "say which animal and its weight"),
        (("today", "--on", "2026-11-14T06:00+01:00"), "has a time zone"),
    ],
)
def test_what_cannot_be_noted(told, folder, arguments, said):
    write_sample(folder)
    before = {p.name for p in folder.iterdir()}
    status, out, err = told(*arguments)
    assert (status, out) == (2, "")
    assert said in err
    assert {p.name for p in folder.iterdir()} == before


def test_without_a_flock_nothing_can_be_noted(told, folder):
    status, _, err = told("note", "Pip", "milk", "8 fl oz")
    assert status == 2
    assert "there is no flock file here" in err


def test_a_birth_a_hundred_years_ago_is_questioned_at_once(told, folder):
    text = files("nutrient_tables").joinpath("sample_flock.toml").read_text(encoding="utf-8")
    (folder / "flock.toml").write_text(text.replace("born = 2026-11-06", "born = 1926-11-06"))
    status, out, err = told("feed")
    assert (status, out) == (2, "")
    assert "Bramble would be 100 years old" in err
