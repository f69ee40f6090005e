"""What the page shows of the animals and what the command says as JSON are the same facts."""

import json
from contextlib import suppress
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as budget
from hypothesis import strategies as st
from page.visitor import Visitor
from rearing_flocks import NOW, TODAY

from formulate.answers.record import record
from formulate.answers.wanted import wanted_of
from formulate.base.errors import InputError
from formulate.base.units import Kitchen
from formulate.cli.main import run
from formulate.rearing.bottle import bottle_words

MIXES = (
    "cream-and-powder", "kid-jug", "plain-milk", "1 quart heavy-cream",
    "1 quart whole-milk + 1/2 cup cod-liver-oil", "1 gallon whole-milk + 1 pint water",
)  # fmt: skip
HAPPENED = (
    ("milk", "150 mL"), ("milk", "60 mL"), ("temperature", "36 C"), ("temperature", "39.4 C"),
    ("weak", ""), ("veterinarian", ""), ("weaned", ""), ("sold", ""), ("strike", ""),
)  # fmt: skip


@st.composite
def barns(draw):
    """A flock file, and what happened on the day."""
    lines = [
        f"day = {TODAY}",
        f'mix = "{draw(st.sampled_from(MIXES))}"',
        f'kitchen = "{draw(st.sampled_from(["us", "metric"]))}"',
        'feeding_times = ["02:00", "06:00", "10:00", "14:00", "18:00", "22:00"]',
        f'refrigerator = "{draw(st.sampled_from(["1 L", "20 L"]))}"',
    ]
    names = ["Pip", "Wren"][: draw(st.integers(1, 2))]
    for name in names:
        age = draw(st.sampled_from([0, 1, 3, 12, 40, 90]))
        born = TODAY - timedelta(days=age)
        weighed = TODAY - timedelta(days=draw(st.sampled_from([0, 1, 16, 30])))
        lines += [
            f"[animals.{name}]",
            f'species = "{draw(st.sampled_from(["lamb", "kid"]))}"',
            f"born = {born}T04:00:00",
            f'birth_weight = "{draw(st.sampled_from([2.9, 4.2]))} kg"',
        ]
        if weighed > born:
            kilograms = 4.2 + 0.15 * (weighed - born).days
            lines.append(f'weights = [{{ on = {weighed}, weight = "{kilograms:.2f} kg" }}]')
    told = st.tuples(st.sampled_from(names), st.sampled_from(HAPPENED), st.integers(0, 400))
    return "\n".join(lines) + "\n", draw(st.lists(told, max_size=4))


@budget(
    max_examples=15,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.function_scoped_fixture],
)
@given(barns())
def test_the_page_and_the_command_tell_the_same(tmp_path_factory, capsys, barn):
    text, happened = barn
    folder = tmp_path_factory.mktemp("barn")
    path = folder / "flock.toml"
    path.write_text(text)
    for name, (what, amount), minutes in happened:
        at = None if what in ("strike", "sold", "weaned") else NOW - timedelta(minutes=minutes)
        with suppress(InputError):  # before it was born, or nothing to take back
            record(path, [wanted_of(name, what, amount, at=at, by="Ann")], sure=True)
    visitor = Visitor(folder)
    screen = visitor.open("/")
    shown = " ".join(screen.text.split())
    capsys.readouterr()
    status = run(["today", str(path), "--json"])
    out, err = capsys.readouterr()
    if status == 2:
        assert err.split(": ", 2)[-1].split(".")[0] in shown
        return
    shape = json.loads(out)
    kitchen = Kitchen("us" if '"us"' in text else "metric")
    herd = visitor.open("/animals")
    worst = [f'data-verdict="{milk["verdict"]}"' in herd.html for milk in shape["milks"]]
    assert all(worst)
    milk_place = " ".join(visitor.open("/milk").text.split())
    for why in shape["verdict_why"]:
        assert why["text"] in milk_place
    for said in (*shape["warnings"], *shape["notes"]):
        assert said in shown
    for animal in shape["animals"]:
        told = " ".join(visitor.open(f"/animal?name={animal['name']}").text.split())
        if animal["next"] is not None:
            assert bottle_words(animal["next"]["ml"], kitchen) in told
        due = animal["next"] is not None and animal["next"]["state"] == "due"
        assert (f"{animal['name']} drank this" in told) is due
        assert (f"{animal['name']} drank this" in shown) is due
        for bar in animal["why_not"]:
            if not (bar["id"] == "cold" and animal["colostrum"]):
                assert bar["text"] in told
        for said in (*animal["notes"], *(alarm["text"] for alarm in animal["alarms"])):
            assert said in told
        steps = animal["temperature"]["steps"]
        assert all(step in told for step in steps)
        if animal["last_fed"] is not None:
            assert "by Ann" in told
    gone = [name for name in ("Pip", "Wren") if f"[animals.{name}]" in text]
    gone = [name for name in gone if name not in [a["name"] for a in shape["animals"]]]
    for name in gone:
        assert f'data-animal="{name}"' not in herd.html


@pytest.mark.parametrize("kitchen", ["us", "metric"])
def test_volumes_are_in_the_persons_units(tmp_path, kitchen):
    text = f"""
day = 2026-11-14
mix = "plain-milk"
kitchen = "{kitchen}"
feeding_times = ["02:00", "06:00", "10:00", "14:00", "18:00", "22:00"]
[animals.Dot]
born = 2026-11-14T02:00:00
birth_weight = "4 kg"
"""
    (tmp_path / "flock.toml").write_text(text)
    told = Visitor(tmp_path).page.text
    card = told.split("Dot is in its first day")[1].split("To pour and to mix")[0]
    assert ("fl oz" in card) is (kitchen == "us")
