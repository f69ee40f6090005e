"""One scours, on the page: signs and veterinarian first, the drink is the library's."""

import re
from importlib.resources import files

import pytest
from page.visitor import ADDRESSES, HOST, Visitor
from werkzeug.datastructures import MultiDict

from formulate.answers.household import load_household
from formulate.answers.rehydrate import rehydrate, seen
from formulate.answers.today import today
from formulate.pantry.recipe import parse_recipe
from formulate.rearing.flock_file import load_flock
from formulate.report.rehydrate import rehydrate_lines

ONLY_IF = "Only if your veterinarian agrees"


@pytest.fixture
def folder(tmp_path):
    for name in ("pantry", "flock"):
        data = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        (tmp_path / f"{name}.toml").write_bytes(data)
    return tmp_path


@pytest.fixture
def visitor(folder):
    return Visitor(folder)


def ask(visitor, name="Pip", **typed):
    visitor.open(f"/scour?name={name}")
    return visitor.press("What to do", form="scour", typed=typed)


def part_of(page):
    """What stands on the place, its forms left out."""
    start = page.html.index("<h1>")
    return page.html[start : page.html.index("<form", start)]


def words_of(html):
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def of_the_library(folder, animal, **more):
    home = load_household(folder / "flock.toml")
    return rehydrate(home.pantry, seen({}, **more), read=home.read, animal=animal)


def test_the_drink_under_an_animal_is_the_librarys(visitor, folder):
    answer = of_the_library(folder, "Pip")
    told = words_of(part_of(ask(visitor)))
    for measure in answer.drink.measures:
        assert f"{measure.words} {measure.food.replace('-', ' ')}" in told
    (animal,) = answer.animals
    for _, amount in animal.amounts:
        assert f"{amount.times} x {amount.millilitres:.0f} mL" in told
    # Every bullet of the command stands here too, or is asked by the form.
    shown = told.replace("&#39;", "'")
    asked = {sign.ask for sign in answer.check.missing}
    for paragraph in " ".join(rehydrate_lines(answer)).split("  - ")[1:]:
        sentence = " ".join(paragraph.split())
        if not any(sentence.startswith(ask) for ask in asked):
            assert sentence.partition(". ")[0][:60] in shown, sentence


def test_the_veterinarian_and_the_signs_stand_before_the_recipe(visitor):
    asked = part_of(visitor.open("/scour?name=Pip"))
    assert "Call your veterinarian first" in asked
    assert "it cannot stand, does not suck" in asked
    told = words_of(part_of(ask(visitor, eyes="sunken")))
    order = ("Call your veterinarian first", "clearly dried out", ONLY_IF, "baking soda, level",
             "day if it is clearly dried out", "If you make a mistake")  # fmt: skip
    places = [told.index(words) for words in order]
    assert places == sorted(places)
    assert "Never stir it into milk." in told


def test_a_veterinarians_word_stands_in_its_place(visitor, folder):
    text = of_the_library(folder, "Pip").drink.text
    word = (
        f'\n[[veterinarian]]\nrecipe = "{text}"\nname = "Dr Berg"\non = 2026-11-13\n'
        'allows = "for two days"\n'
    )
    path = folder / "flock.toml"
    path.write_text(path.read_text() + word)
    assert load_flock(path).flock.permissions
    told = words_of(part_of(ask(visitor)))
    assert "Dr Berg" in told
    assert "for two days" in told
    assert ONLY_IF not in told


@pytest.mark.parametrize(
    ("typed", "why"),
    [({"stands": "no"}, "It cannot stand."), ({"sucks": "no"}, "It does not suck"),
     ({"mouth": "cold"}, "Its mouth is cold"), ({"temperature": "95 F"}, "below 37"),
     ({"belly": "1"}, "belly")],
)  # fmt: skip
def test_no_recipe_for_one_that_a_drink_would_harm(visitor, typed, why):
    page = ask(visitor, **typed)
    told = words_of(part_of(page))
    assert why in told
    assert "Call the veterinarian now" in told
    assert 'class="recipe"' not in part_of(page)
    assert "tsp" not in told


def test_a_badly_dried_animal_gets_no_amounts(visitor):
    told = words_of(part_of(ask(visitor, gums="dry")))
    assert "Its gums are dry or white" in told
    assert "mL (" not in told


def test_one_under_two_days_gets_none(visitor):
    page = ask(visitor, "Dot")
    assert "under two days old" in words_of(part_of(page))
    assert 'class="recipe"' not in part_of(page)


def test_without_clean_water_beside_it_there_is_none(visitor):
    page = ask(visitor, water="no")
    assert "no clean water within reach" in part_of(page)
    assert 'class="recipe"' not in part_of(page)


def test_a_scale_and_spoons_are_compared(visitor):
    spoons = words_of(part_of(ask(visitor, measure="spoons")))
    scale = words_of(part_of(ask(visitor, measure="scale")))
    assert "Weighing is safer" in spoons
    assert "g dextrose" in scale
    assert "tsp" not in scale.partition("If you make a mistake")[0]


def test_what_was_looked_at_stays_in_its_form(visitor):
    page = ask(visitor, "Bramble", eyes="sunken", gums="wet", blood="1", temperature="39.0")
    assert page.values("scour", "name") == ["Bramble"]
    assert page.values("scour", "eyes") == ["sunken"]
    assert page.values("scour", "gums") == ["wet"]
    assert page.values("scour", "blood") == ["1"]
    assert page.values("scour", "temperature") == ["39.0"]
    assert not visitor.open("/scour?name=Pip").values("scour", "blood")


def test_the_card_of_the_drink_is_there_to_take_away(visitor):
    page = ask(visitor)
    reply = visitor.client.post("/drink-card", data=MultiDict(page.fields["drink-card"]),
                                headers={"Host": HOST})  # fmt: skip
    assert reply.mimetype == "application/pdf"
    assert reply.data.startswith(b"%PDF")


@pytest.mark.parametrize("typed", [{"temperature": "hot"}, {"eyes": "round"}, {"name": "Nobody"}])
def test_what_cannot_be_read_is_reported(visitor, folder, typed):
    visitor.open("/scour?name=Pip")
    page = visitor.press("What to do", form="scour", typed=typed)
    assert page.status == 422
    assert 'role="alert"' in page.html
    assert str(folder) not in page.text.replace(f"Its files are in {folder}.", "")


def test_asking_writes_nothing(visitor, folder):
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    ask(visitor, eyes="sunken")
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_a_drink_is_written_down_and_is_not_milk(visitor, folder):
    before = visitor.open("/animal?name=Pip").text
    typed = {"amount": "90 mL", "what": "drink", "by": "Ann"}
    page = visitor.press("Write it down", form="fed", typed=typed)
    assert page.status == 200
    animal = load_flock(folder / "flock.toml").flock.animal("Pip")
    assert [drink.millilitres for drink in animal.drinks] == [90]
    home = load_household(folder / "flock.toml")
    pip = next(one for one in today(home.read, home.pantry).animals if one.name == "Pip")
    assert all(feed.logged is None for feed in pip.feeds)
    last = re.search(r"Last fed: [^.]*?(?= |$)", before)[0]
    assert last in page.text


def test_its_temperature_in_the_log_counts(visitor):
    typed = {"what": "temperature", "amount": "95 F"}
    visitor.at("/animal?name=Pip").press("Write it down", form="note", typed=typed)
    assert "below 37" in words_of(part_of(ask(visitor)))


def test_one_that_was_sold_is_not_asked_about(visitor):
    visitor.open("/animal?name=Wren")
    visitor.press("Write it down", form="note", typed={"what": "sold"})
    page = visitor.open("/scour")
    assert "Wren" not in page.text
    assert "Bramble" in page.text


def test_without_glucose_or_honey_it_says_what_is_wanted(visitor, folder):
    path = folder / "pantry.toml"
    text = path.read_text()
    for food in ("dextrose", "honey"):
        text = re.sub(rf"(?m)^\[foods\.{food}\][^\n]*\n(?:[^\[\n][^\n]*\n)*", "", text)
    path.write_text(text)
    page = ask(visitor)
    told = words_of(part_of(page))
    assert "No drink can be made from what is here" in told
    assert "It would need" in told


def test_no_two_things_on_the_page_have_one_name(visitor):
    pages = [visitor.open(address) for address in ADDRESSES]
    for page in (*pages, ask(visitor), ask(visitor, "Bramble", stands="no")):
        ids = re.findall(r'\bid="([^"]+)"', page.html)
        assert len(ids) == len(set(ids))
        for name in re.findall(r'<label for="([^"]+)"', page.html):
            assert name in ids


def test_the_recipe_on_the_page_reads_as_the_page_says(visitor, folder):
    """Read off the page, typed again and checked, the drink is inside every range."""
    page = ask(visitor)
    lines = re.findall(r"<li><strong>(.*?)</strong>", part_of(page))
    text = " + ".join(line.removesuffix(", level") for line in lines)
    home = load_household(folder / "flock.toml")
    parse_recipe(text, home.pantry.table, home.pantry.kitchen)
    assert rehydrate(home.pantry, recipe=text).good
