"""The animals on the page: a list, weights, bottles, newborns, and what must not be fed."""

import re
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from importlib.resources import files
from threading import Barrier

import pytest
from page.visitor import HOST, Visitor

from formulate.pantry.pantry import load_pantry
from formulate.rearing.flock_file import load_flock


@pytest.fixture
def folder(tmp_path):
    for name in ("pantry", "flock"):
        data = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        # The visitor comes at noon, when they are all fed here.
        (tmp_path / f"{name}.toml").write_bytes(data.replace(b'"13:00"', b'"12:00"'))
    return tmp_path


@pytest.fixture
def visitor(folder):
    return Visitor(folder)


def test_each_animals_bottles_are_the_librarys(visitor, folder):
    visitor.open("/animals")
    from formulate.answers.household import load_household
    from formulate.answers.today import today
    from formulate.rearing.bottle import bottle_words

    home = load_household(folder / "flock.toml")
    found = today(home.read, home.pantry)
    for one in found.animals:
        assert one.name in visitor.page.text
        if one.day.feeds:
            words = bottle_words(one.day.millilitres, found.flock.kitchen)
            assert f"{one.day.feeds} bottles of {words}" in visitor.page.text
    assert "Colostrum only" in visitor.page.text
    assert f"{found.litres_today:.1f} L today" in visitor.open().text


def test_a_change_of_milk_says_how_to_blend_today(visitor):
    text = "Changing over: stir 2 parts cream-and-powder with 2 parts cream-and-cans."
    assert text in visitor.page.text


def test_a_newborn_and_one_that_hardly_grows_stand_out(visitor):
    assert "Dot is in its first day" in visitor.page.text
    assert "Wren: It hardly grows" in visitor.page.text
    assert "call a veterinarian" in visitor.open("/animal?name=Wren").text
    assert "--" not in re.sub(r"--:--", "", visitor.page.text)


def test_growth_is_drawn_with_its_words(visitor):
    visitor.open("/growth")
    pictures = re.findall(r'<svg class="growth"[^>]*aria-label="([^"]+)"', visitor.page.html)
    assert len(pictures) == 4
    assert "By the scale: 5.6 kg at 11 days" in pictures[0]
    assert visitor.page.html.count('<circle class="dot"') == 3 + 3 + 2 + 1


def test_a_weight_is_written_down_once(visitor, folder):
    visitor.open("/animals")
    typed = {"name": "Pip", "weight": "5.9 kg", "on": "2026-11-14"}
    page = visitor.press("Write it down", form="weigh", typed=typed)
    assert "Written down: Pip, 5.90 kg" in page.text
    page = visitor.press("Write it down", form="weigh", typed=typed)
    assert "already" in page.text
    assert (folder / "flock.log.csv").read_text().count("5.9") == 1
    assert load_flock(folder / "flock.toml").flock.animal("Pip").last_weight.kilograms == 5.9


def test_an_unlikely_weight_is_asked_about_first(visitor, folder):
    visitor.open("/animals")
    typed = {"name": "Pip", "weight": "13 kg", "on": "2026-11-14"}
    page = visitor.press("Write it down", form="weigh", typed=typed)
    assert page.status == 422
    assert "cannot be right" in page.text
    assert "--sure" not in page.text
    assert not (folder / "flock.log.csv").exists()
    assert page.values("weigh", "weight") == ["13 kg"]  # what was typed is still there
    page = visitor.press("Yes, write it down", form="asked")
    assert "Written down: Pip, 13.00 kg" in page.text


def visitor_text(folder):
    return Visitor(folder).open("/animals").text


def log_of(folder):
    path = folder / "flock.log.csv"
    return path.read_text() if path.exists() else ""


def test_600_mL_for_a_small_lamb_is_asked_about_first(visitor, folder):
    typed = {"amount": "600 mL", "by": "Ann"}
    page = visitor.at("/animal?name=Wren").press("Write it down", form="fed", typed=typed)
    assert page.status == 422
    assert "more than Wren can hold at 3.7 kg" in page.text
    assert page.values("fed", "amount") == ["600 mL"]
    assert not log_of(folder)


def test_a_second_feed_needs_a_second_tap(visitor, folder):
    typed = {"amount": "6 fl oz", "by": "Ann"}
    page = visitor.at("/animal?name=Wren").press("Write it down", form="fed", typed=typed)
    assert page.status == 200
    page = visitor.press("Write it down", form="fed", typed=typed | {"by": "Bob"})
    assert page.status == 422
    assert "Wren was fed less than a minute ago by Ann" in page.text
    assert log_of(folder).count("milk") == 1
    page = visitor.press("Yes, write it down", form="asked")
    assert page.status == 200
    assert log_of(folder).count("milk") == 2
    assert "by Bob" in page.text


def feed_of(visitor, name):
    """The form of an animal that is due."""
    forms = visitor.page.fields.items()
    return next(form for form, told in forms if form.startswith("feed-") and ("name", name) in told)


def test_what_is_due_is_written_down_by_two_taps_then_by_one(visitor, folder):
    form = feed_of(visitor, "Pip")
    amount = float(visitor.page.values(form, "amount")[0].removesuffix(" mL"))
    page = visitor.press("Pip drank this", form=form)
    assert page.status == 422
    assert "Who fed Pip?" in page.text
    assert not log_of(folder)
    page = visitor.press("Write it down", form="asked", typed={"somebody": "Ann"})
    assert page.status == 200
    assert f"Written down: Pip, {amount:.0f} mL (" in page.text
    assert f",milk,{amount:.10g},mL,,Ann" in log_of(folder)
    assert "fed at 12:00 by Ann" in page.text
    page = visitor.press("Dot drank this", form=feed_of(visitor, "Dot"))
    assert "Written down: Dot" in page.text
    assert log_of(folder).count(",Ann") == 2


def test_each_form_of_a_page_is_a_thing_of_its_own(visitor):
    """With one token for all, the second of two lambs fed from one page was not written down."""
    for address in ("/", "/animals", "/animal?name=Pip"):
        fields = visitor.open(address).fields
        tokens = [value for told in fields.values() for key, value in told if key == "once"]
        assert len(set(tokens)) == len(tokens) > 1


def test_one_form_sent_twice_is_written_down_once(visitor, folder):
    fields = [*visitor.page.fields[feed_of(visitor, "Pip")], ("by", "Ann")]
    for _ in range(2):
        visitor.send("/fed", fields)
    assert log_of(folder).count(",Ann") == 1


def test_the_names_of_those_who_fed_before_are_one_tap(visitor, folder):
    (folder / "flock.log.csv").write_text(
        "when,animal,what,amount,unit,note,by\n2026-11-13T18:00,Pip,milk,240,mL,,Bob\n"
    )
    visitor.open()
    visitor.press("Pip drank this", form=feed_of(visitor, "Pip"))
    page = visitor.press("Bob", form="asked")
    assert page.status == 200
    assert log_of(folder).count(",Bob") == 2
    assert "Bob feeds." in page.text


def test_a_form_that_is_sent_twice_is_done_once(visitor, folder):
    form = feed_of(visitor, "Pip")
    fields = [*visitor.page.fields[form], ("by", "Ann")]
    first, second = (visitor.send("/fed", fields) for _ in range(2))
    assert (first.status, second.status) == (200, 200)
    assert "Written down: Pip" in second.text
    assert log_of(folder).count("milk") == 1


def test_two_windows_feeding_one_lamb_at_once_write_one_and_ask_the_other(folder):
    one, other = Visitor(folder), Visitor(folder)
    barrier, pages = Barrier(2), []

    def tap(visitor, by):
        fields = [*visitor.page.fields[feed_of(visitor, "Pip")], ("by", by)]
        barrier.wait()
        pages.append(visitor.send("/fed", fields))

    with ThreadPoolExecutor(2) as pool:
        list(pool.map(tap, (one, other), ("Ann", "Bob")))
    assert sorted(page.status for page in pages) == [200, 422]
    asked = next(page for page in pages if page.status == 422)
    assert "Pip was fed less than a minute ago by" in asked.text
    assert log_of(folder).count("milk") == 1


def test_what_was_written_can_be_taken_back_at_once_and_later(visitor, folder):
    typed = {"amount": "6 fl oz", "by": "Ann"}
    visitor.at("/animal?name=Wren").press("Write it down", form="fed", typed=typed)
    page = visitor.press("Take it back", form="undo")
    assert "Taken back: Wren" in page.text
    visitor.at("/animal?name=Wren").press("Write it down", form="fed", typed=typed)
    page = visitor.at("/animal?name=Wren").press("Take it back", form="strike-1")
    assert "Taken back: Wren" in page.text
    flock = load_flock(folder / "flock.toml").flock
    assert not flock.animal("Wren").milk
    assert log_of(folder).count("strike milk") == 2


def test_an_open_page_can_ask_whether_anything_was_written(visitor):
    before = visitor.client.get("/version", headers={"Host": HOST}).text
    assert f'data-version="{before}"' in visitor.page.html
    visitor.at("/animals").press(
        "Write it down", "weigh", typed={"name": "Pip", "weight": "5.9 kg"}
    )
    assert visitor.client.get("/version", headers={"Host": HOST}).text != before


def test_an_animal_is_corrected(visitor, folder):
    typed = {"born": "2026-11-01", "hour": "04:30", "birth_weight": "4.3 kg"}
    page = visitor.at("/animal?name=Pip").press("Change it", "change", typed=typed)
    assert "Pip is changed." in page.text
    pip = load_flock(folder / "flock.toml").flock.animal("Pip")
    assert (f"{pip.born}", f"{pip.hour:%H:%M}", pip.birth_weight) == ("2026-11-01", "04:30", 4.3)
    before = (folder / "flock.toml").read_text()
    page = visitor.press("Change it", "change", typed={"birth_weight": "400 kg"})
    assert page.status == 422
    assert page.values("change", "birth_weight") == ["400 kg"]
    assert (folder / "flock.toml").read_text() == before


def test_a_veterinarians_word_lets_a_milk_be_fed(visitor, folder):
    path = folder / "flock.toml"
    milk = "1 quart whole-milk + 1 tbsp table-sugar"
    path.write_text(re.sub(r"(?m)^mix = .*", f'mix = "{milk}"', path.read_text(), count=1))
    page = visitor.open("/milk")
    assert 'data-verdict="vet"' in page.html or 'data-verdict="unknown"' in page.html
    typed = {"veterinarian": "Dr Berg", "on": "2026-11-13", "allows": "for a week"}
    page = visitor.press("Write it down", "allow", typed=typed | {"recipe": milk})
    assert "the word of Dr Berg" in page.text
    assert [word.name for word in load_flock(path).flock.permissions] == ["Dr Berg"]
    page = visitor.press("Write it down", "allow", typed=typed | {"recipe": milk, "allows": ""})
    assert page.status == 422
    assert page.values("allow", "veterinarian") == ["Dr Berg"]


def test_a_small_refrigerator_warns_and_the_animals_are_fed_all_the_same(folder):
    path = folder / "flock.toml"
    path.write_text(path.read_text().replace('refrigerator = "26 L"', 'refrigerator = "1 L"'))
    page = Visitor(folder).page
    assert "The refrigerator has room for 1 L, but a day's milk is up to" in page.text
    assert "Pip drank this" in page.text
    assert "Dot is in its first day" in page.text
    assert "Call a veterinarian, today, for any of these" in page.text


def test_a_cold_animal_gets_no_bottle_until_it_is_warm(visitor, folder):
    typed = {"what": "temperature", "amount": "95 F"}
    page = visitor.at("/animal?name=Pip").press("Write it down", form="note", typed=typed)
    assert "Pip is below 37 °C" in page.text
    assert "Pip drank this" not in page.html
    assert "Pip drank this" not in visitor.open().html
    typed["amount"] = "38.2"
    page = visitor.at("/animal?name=Pip").press("Write it down", form="note", typed=typed)
    assert "Pip drank this" in page.html


def test_an_animal_leaves_and_comes_back(visitor, folder):
    visitor.open("/animal?name=Wren")
    page = visitor.press("Write it down", form="note", typed={"what": "sold"})
    assert "Wren, was sold" in page.text
    assert "hardly grows" not in visitor.open().text
    assert load_flock(folder / "flock.toml").flock.names == ["Pip", "Bramble", "Dot"]
    visitor.at("/animal?name=Wren").press("Take it back", form="strike-1")
    assert "Wren" in load_flock(folder / "flock.toml").flock.names


def test_a_milk_made_for_lambs_warns_for_a_kid(folder):
    path = folder / "flock.toml"
    text = path.read_text()
    path.write_text(text.replace('mix = "kid-jug"', 'mix = "cream-and-powder"'))
    page = Visitor(folder).page
    assert "cream-and-powder is a milk for lambs, not for kids." in page.text
    assert 'data-verdict="outside"' in page.html


@pytest.mark.parametrize(
    ("form", "typed"),
    [
        ("weigh", {"weight": "5.9"}),
        ("weigh", {"weight": ""}),
        ("weigh", {"weight": "5.9 kg", "on": "2027-01-01"}),
        ("weigh", {"weight": "5.9 kg", "on": "soon"}),
        ("fed", {"amount": "a lot", "by": "Ann"}),
        ("fed", {"amount": "8 fl oz", "at": "26:00", "by": "Ann"}),
        ("note", {"what": "temperature", "amount": "warm"}),
    ],
)
def test_what_cannot_be_written_down_is_reported(visitor, folder, form, typed):
    page = visitor.at("/animal?name=Pip").press("Write it down", form=form, typed=typed)
    assert page.status == 422
    assert 'role="alert"' in page.html
    for name, text in typed.items():
        if name != "by":
            assert page.values(form, name) == [text]  # nothing that was typed is lost
    assert str(folder) not in page.text.replace(f"Its files are in {folder}.", "")
    assert not (folder / "flock.log.csv").exists()


def test_milk_for_a_newborn_is_asked_about(visitor, folder):
    typed = {"amount": "100 mL", "by": "Ann", "what": "milk"}
    page = visitor.at("/animal?name=Dot").press("Write it down", form="fed", typed=typed)
    assert page.status == 422
    assert 'role="alert"' in page.html
    assert not log_of(folder)


def test_bottles_and_colostrum_are_written_down(visitor, folder):
    typed = {"amount": "8 fl oz", "by": "Ann"}
    page = visitor.at("/animal?name=Pip").press("Write it down", form="fed", typed=typed)
    assert "Written down: Pip, 237 mL (8 fl oz) of milk" in page.text
    typed = {"amount": "140 mL", "what": "colostrum", "by": "Ann"}
    page = visitor.at("/animal?name=Dot").press("Write it down", form="fed", typed=typed)
    assert "It has had 290 mL" in page.text
    assert "236.6" in log_of(folder)


def test_they_drink_another_milk_and_the_old_change_over_goes(visitor, folder):
    page = visitor.at("/milk").press(
        "Set this", form="drink", typed={"mix": "bag", "gradually": None}
    )
    assert "They drink bag." in page.text
    flock = load_flock(folder / "flock.toml").flock
    assert (flock.mix, flock.change) == ("bag", None)


def test_a_milk_changes_gradually_from_the_one_before(visitor, folder):
    page = visitor.at("/milk").press("Set this", form="drink", typed={"mix": "plain-milk"})
    assert "For 4 days, cream-and-powder is stirred in, less each day." in page.text
    flock = load_flock(folder / "flock.toml").flock
    assert flock.mix == "plain-milk"
    assert (flock.change.from_mix, flock.change.first_day) == (
        "cream-and-powder", date(2026, 11, 14),
    )  # fmt: skip
    assert flock.names == ["Pip", "Wren", "Bramble", "Dot"]


@pytest.mark.parametrize(
    ("mix", "told"),
    [("plain-mlik", "Did you mean plain-milk?"), ("1 quart wole-milk", "Did you mean whole-milk"),
     ("1 can sweetened-condensed-milk + 1 cup water", "No plan is made with this milk")],
)  # fmt: skip
def test_a_milk_that_cannot_be_is_not_set(visitor, folder, mix, told):
    before = (folder / "flock.toml").read_bytes()
    page = visitor.at("/milk").press("Set this", form="drink", typed={"mix": mix})
    assert page.status == 422
    assert told in page.text
    assert (folder / "flock.toml").read_bytes() == before


def test_other_feeding_times_are_set_and_too_few_are_reported(visitor, folder):
    times = "05:30 09:00 12:30 16:00 19:30 23:00"
    page = visitor.at("/milk").press("Set this", form="drink", typed={"times": times})
    assert "05:30" in visitor.open().text
    assert [f"{t:%H:%M}" for t in load_flock(folder / "flock.toml").flock.feeding_times] == (
        times.split()
    )
    page = visitor.at("/milk").press("Set this", form="drink", typed={"times": "06:00 12:00"})
    assert "Add feeding times" in page.text
    assert "bottles of" not in visitor.open("/animals").text
    page = visitor.at("/milk").press("Set this", form="drink", typed={"times": times})
    assert "bottles of" in visitor.open("/animals").text


def test_a_first_animal_begins_the_list(tmp_path):
    visitor = Visitor(tmp_path).at("/animals")
    typed = {"animal": "Oak", "born": str(date.today()), "birth_weight": "4.1 kg",
             "mix": ""}  # fmt: skip
    page = visitor.press("Put it on the list", form="add-animal", typed=typed)
    assert page.status == 422
    assert "no milk is named" in page.text
    typed["mix"] = "plain-milk"
    page = visitor.press("Put it on the list", form="add-animal", typed=typed)
    assert page.status == 200
    assert "Oak is on the list" in page.text
    assert "Oak is in its first day" in page.text
    flock = load_flock(tmp_path / "flock.toml").flock
    assert flock.names == ["Oak"]
    assert not (tmp_path / "pantry.toml").exists()
    page = visitor.press("Put it on the list", form="add-animal", typed=typed)
    assert "on the list already" in page.text
    visitor.at("/shelf").press("Save my shelf")
    visitor.at("/animals").press(
        "Put it on the list", form="add-animal", typed=typed | {"animal": "Ash"}
    )
    flock = load_flock(tmp_path / "flock.toml").flock
    assert (flock.names, flock.pantry) == (["Oak", "Ash"], "pantry.toml")


def test_the_first_animal_drinks_the_mix_on_the_page(tmp_path):
    visitor = Visitor(tmp_path).at("/animals")
    kept = visitor.open("/mix").values("kitchen", "kept")[0]
    visitor.open("/animals")
    typed = {"animal": "Oak", "born": str(date.today()), "birth_weight": "4.1 kg"}
    page = visitor.press("Put it on the list", form="add-animal", typed=typed)
    assert page.status == 200
    assert load_flock(tmp_path / "flock.toml").flock.mix == kept


def test_a_kid_is_put_on_the_list_with_a_milk_of_its_own(visitor, folder):
    typed = {"animal": "Ivy", "species": "kid", "born": "2026-11-10", "birth_weight": "3.4 kg",
             "mix": "kid-jug"}  # fmt: skip
    visitor.open("/animals")
    page = visitor.press("Put it on the list", form="add-animal", typed=typed)
    assert page.status == 200
    assert load_flock(folder / "flock.toml").flock.animal("Ivy").mix == "kid-jug"


@pytest.mark.parametrize(
    "typed",
    [{"animal": ""}, {"born": ""}, {"born": "monday"}, {"birth_weight": ""}, {"hour": "25:00"},
     {"birth_weight": "400 kg"}, {"animal": "a\x01b"}],
)  # fmt: skip
def test_an_animal_that_cannot_be_listed_is_reported(visitor, folder, typed):
    before = (folder / "flock.toml").read_text()
    whole = {"animal": "Oak", "born": "2026-11-10", "birth_weight": "4.1 kg"}
    visitor.open("/animals")
    page = visitor.press("Put it on the list", form="add-animal", typed=whole | typed)
    assert page.status == 422
    for name, text in (whole | typed).items():
        assert page.values("add-animal", name) == [text]
    assert (folder / "flock.toml").read_text() == before


def test_no_bottle_is_planned_of_a_milk_that_must_not_be_fed(folder):
    path = folder / "flock.toml"
    milk = "1 can sweetened-condensed-milk + 1 cup water"
    path.write_text(path.read_text().replace("cream-and-powder", milk).replace("kid-jug", milk))
    page = Visitor(folder).page
    assert "Do not feed this." in page.text
    assert "bottles of" not in visitor_text(folder)
    assert "drank this" not in page.text.replace("Dot drank this", "")
    assert "Dot is in its first day" in page.text  # colostrum is no mix


def test_a_list_with_many_mistakes_tells_some_of_them_a_line_each(folder):
    path = folder / "flock.toml"
    path.write_text(path.read_text().replace("born = ", "bron = "))
    page = Visitor(folder).page
    assert page.html.count("<p>flock.toml: ") == 3
    assert "more mistakes like these." in page.text


def test_a_broken_list_is_reported_and_left_alone(folder):
    (folder / "flock.toml").write_text("[animals.Pip]\nborn = 1\n")
    visitor = Visitor(folder)
    assert visitor.page.status == 200
    assert "born" in visitor.page.text
    assert "born" in visitor.open("/animals").text
    assert "The cheapest mix" in visitor.open("/mix").text


@pytest.mark.parametrize("line", ['pantry = "../secret.toml"', 'mix = "../secret.json"'])
def test_a_list_that_names_a_file_elsewhere_is_refused(folder, line):
    inside = folder / "inside"
    inside.mkdir()
    (folder / "secret.toml").write_bytes((folder / "pantry.toml").read_bytes())
    (folder / "secret.json").write_text('{"amounts": [{"food": "whole-milk", "grams": 10}]}')
    key = line.split(" = ")[0]
    text = (folder / "flock.toml").read_text()
    (inside / "flock.toml").write_text(re.sub(rf'(?m)^{key} = "[^"]*"', line, text))
    (inside / "pantry.toml").write_bytes((folder / "pantry.toml").read_bytes())
    page = Visitor(inside).page
    assert "not in the folder" in page.text
    assert "bottles of" not in page.text


def test_the_shopping_list_is_the_librarys(visitor, folder, monkeypatch):
    """Where both have the time to search to the end."""
    from formulate.answers.shop import ShopRequest, shop
    from formulate.report.shopping_text import waste_texts

    ample = 3600.0
    monkeypatch.setattr("formulate.page.shopping.PATIENCE", ample)
    read = load_flock(folder / "flock.toml")
    pantry = load_pantry(folder / "pantry.toml")
    answer = shop(read, pantry, ShopRequest(seconds=ample))
    found = answer.plan
    page = visitor.at("/shop").press("Make my shopping list", form="shop")
    assert f"{found.cost:.2f} USD in {len(found.trips)} trips" in page.text
    for trip in found.trips:
        day = f"{trip.day:%A} {trip.day.day} {trip.day:%B}"
        assert f"{day} {trip.cost:.2f} USD" in page.text
    for text in waste_texts(found, lambda food: food.replace("-", " ")):
        assert text in page.text
    for price in answer.prices:
        assert f"<td>{price.package}</td><td>{price.price:.2f} USD</td>" in page.html
    assert "In range, and within every safety limit. cream-and-powder" in page.text


def test_shopping_without_animals_says_what_to_do_first(tmp_path):
    page = Visitor(tmp_path).at("/shop").press("Make my shopping list", form="shop")
    assert page.status == 422
    assert "no list of animals yet" in page.text


def test_what_is_poured_now_is_the_sum_of_what_is_due(visitor, folder):
    from formulate.answers.household import load_household
    from formulate.answers.today import today

    home = load_household(folder / "flock.toml")
    found = today(home.read, home.pantry)
    due = [one.next for one in found.animals if one.next and one.next.state == "due"]
    milk = sum(feed.millilitres for feed in due if feed.what == "milk")
    assert sum(pour.millilitres for pour in found.pours_now) == pytest.approx(milk)
    (kids,) = [one.next.millilitres for one in found.animals if one.name == "Bramble"]
    half = f"{(milk - kids) / 2:,.0f} mL of"  # of each milk, for the lambs that change over
    pour = f"{half} cream-and-powder, {half} cream-and-cans and {kids:,.0f} mL of kid-jug"
    assert f"Pour now: {pour}." in visitor.page.text


def test_a_name_of_any_letters_is_remembered(visitor, folder):
    visitor.press("Pip drank this", form=feed_of(visitor, "Pip"))
    visitor.press("Write it down", form="asked", typed={"somebody": "Åsa; = Łucja"})
    assert ",Åsa; = Łucja" in log_of(folder)
    page = visitor.press("Dot drank this", form=feed_of(visitor, "Dot"))
    assert page.status == 200
    assert log_of(folder).count("Åsa; = Łucja") == 2
