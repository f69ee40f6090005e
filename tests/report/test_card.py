"""The card: read back from its PDF, it holds everything, within its edges, large enough."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from printed import POINT, long_pantry, long_recipe, read_back
from printed import Sheet as Printed

from formulate.answers.sheet import Sheet, SheetRequest, sheet
from formulate.base.errors import InputError
from formulate.base.units import Kitchen
from formulate.pantry.country import bare_pantry
from formulate.pantry.pantry import Pantry, parse_pantry, sample_pantry
from formulate.rearing.feed_plan import FeedPlan
from formulate.rearing.flock_file import FlockRead, parse_flock
from formulate.rearing.growth import veterinary_signs
from formulate.report.printed.card import save_card
from formulate.report.printed.paper import MARGIN, Paper, paper_named
from formulate.report.printed.typeset import (
    SMALLEST,
    Boxed,
    Gap,
    Paragraph,
    Stack,
    broken,
    fill,
    parted,
)

DAY = date(2026, 11, 14)
NOW = datetime(2026, 11, 14, 12)


def animal(name: str, species: str = "lamb", born: str = "2026-11-02", weight: float = 5.6) -> str:
    text = f'[animals."{name}"]\nspecies = "{species}"\nborn = {born}T04:30:00\n'
    text += 'birth_weight = "4 kg"\n'
    if born < "2026-11-13":
        text += f'weights = [{{ on = 2026-11-13, weight = "{weight} kg" }}]\n'
    return text


def herd(
    *animals: str, head: str = "", kitchen: str = "us", mix: str = "cream-and-powder"
) -> FlockRead:
    text = (
        f'name = "orphans (invented)"\nmix = "{mix}"\n'
        f'kitchen = "{kitchen}"\nfeeding_times = ["06:00", "09:30", "13:00", "16:30", "20:00", '
        f'"23:30"]\n{head}\n' + "".join(animals)
    )
    return parse_flock(text, "flock.toml", NOW)


def made(pantry: Pantry | None = None, read: FlockRead | None = None, **asked: str) -> Sheet:
    found = sheet(pantry or sample_pantry(), SheetRequest(**asked), read)
    assert found.milks
    return found


def twelve() -> Sheet:
    pantry = long_pantry()
    pantry = replace(pantry, recipes={"long": long_recipe(pantry)})
    found = made(pantry, make="2330 mL", keep_to="long")
    assert len(found.milks[0].day.plan.steps) == 12
    return found


def crowd(count: int = 12) -> FlockRead:
    return herd(*(animal(f"Bartholomew of the upper meadow, ear tag {n}") for n in range(count)))


def card(tmp_path: Path, found: Sheet, paper: Paper = Paper.A4) -> Printed:
    path = tmp_path / "card.pdf"
    pages = save_card(found, DAY, paper, path)
    printed = read_back(path)
    assert len(printed.sizes) == pages
    return printed


def plans(found: Sheet) -> list[FeedPlan]:
    return [plan for milk in found.milks for plan in milk.plans]


SWEETENED = "1 quart whole-milk + 2 tsp table-sugar"
WORD = f"""[[veterinarian]]
recipe = "{SWEETENED}"
name = "Dr A. Sorrel"
on = 2026-11-12
allows = "for Pip, until it is weighed again."
"""
KID = animal("Bramble", "kid").replace("born", 'mix = "kid-jug"\nborn', 1)


def jug() -> Sheet:
    return made(keep_to="cream-and-powder", container="1 gallon jug of whole-milk")


def bad_and_good() -> FlockRead:
    danger = animal("Nan").replace(
        "born", 'mix = "1 cup heavy-cream + 1 cup cod-liver-oil"\nborn', 1
    )
    return herd(animal("Pip"), danger)


CASES = {
    "sample": made,
    "jug": jug,
    "flock": lambda: made(read=herd(animal("Pip"), animal("Wren", weight=3.7))),
    "newborn": lambda: made(read=herd(animal("Dot", born="2026-11-14"), animal("Pip"))),
    "kid beside lambs": lambda: made(read=herd(animal("Pip"), KID)),
    "lambs and kids on one milk": lambda: made(read=herd(animal("Pip"), animal("Nan", "kid"))),
    "veterinarian's word": lambda: made(read=herd(WORD, animal("Pip"), mix=SWEETENED)),
    "one refused": lambda: made(read=bad_and_good()),
    "twelve": twelve,
    "crowd": lambda: made(read=crowd()),
}


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("case", CASES)
def test_nothing_runs_over_an_edge_or_into_another(case: str, paper: Paper, tmp_path: Path):
    printed = card(tmp_path, CASES[case](), paper)
    for width, height in printed.sizes:
        assert (width, height) == pytest.approx((paper.width, paper.height), abs=0.05)
    assert len(printed.pieces) > 30
    # Capitals of a two-hundredth of 60 cm: they read at an arm's length.
    assert min(printed.letters) >= SMALLEST - 0.01
    assert 0.729 * SMALLEST * POINT >= 600 / 200
    for piece in printed.pieces:
        assert piece.left >= MARGIN - 0.5, piece
        assert piece.right <= paper.width - MARGIN + 0.5, piece
        assert piece.top >= MARGIN - 0.5, piece
        assert piece.bottom <= paper.height - MARGIN + 0.5, piece
    overlaps = [
        (a.text, b.text)
        for i, a in enumerate(printed.pieces)
        for b in printed.pieces[:i]
        if a.meets(b)
    ]
    assert not overlaps


def test_the_overlap_check_can_fail(tmp_path: Path):
    first = card(tmp_path, CASES["sample"]()).pieces[0]
    assert first.meets(replace(first, left=first.left + 1))


def test_it_says_everything(tmp_path: Path):
    text = card(tmp_path, CASES["sample"]()).text
    for words in (
        "Milk for lambs",
        "(invented)",
        "Mixed on: Sat 14 Nov 2026",
        "Use by: Sun 15 Nov 2026",
        "It keeps 24 hours",
        "In range, and within every safety limit.",
        "Not for the first day",
        "No mix replaces it",
        "For a day: 8.1 cups (1.91 L)",
        "For the 1 quart jar",
        "1/2 cup + 1 tbsp",
        "below 45 °C (113 °F)",
        "39 °C (102 °F)",
        "Feeds a day",
        "Call a veterinarian, today",
        "US (cup 236.6 mL)",
        *veterinary_signs().look,
    ):
        assert words in text, words


def test_the_order_is_the_order_of_mixing(tmp_path: Path):
    found = made()
    text = card(tmp_path, found).text
    steps = found.milks[0].day.plan.steps
    names = [step.food.replace("-", " ") for step in steps if step.food]
    places = [text.index(f"{n} {name}") for n, name in enumerate(names, 1)]
    assert places == sorted(places)
    assert len(places) == 3


def test_every_one_of_twelve_foods_is_there(tmp_path: Path):
    found = twelve()
    text = card(tmp_path, found).text.replace(" ", "")
    for step in found.milks[0].day.plan.steps:
        assert step.food is not None
        assert step.food.replace("-", "") in text
        assert step.words.replace(" ", "") in text


@pytest.mark.parametrize("case", CASES)
def test_the_amounts_and_feeds_are_the_answers_own(case: str, tmp_path: Path):
    """The card renders numbers: every amount of both columns, every feed of the week."""
    found = CASES[case]()
    text = card(tmp_path, found).text.replace(" ", "")
    for milk in found.milks:
        for amount in filter(None, (milk.day, milk.jar)):
            for step in amount.plan.steps:
                assert step.words.replace(" ", "") in text
        for plan in milk.plans:
            for i in range(len(plan.flock.animals)):
                for d in range(7):
                    feeds, millilitres = plan.feeds[i, d], plan.millilitres[i, d]
                    if feeds:
                        ounces = round(2 * millilitres / 29.5735295625) / 2
                        size = f"{ounces:.1f}".replace(".0", "").replace(".5", "½")
                        off_the_marks = f"{feeds}×{millilitres:,.0f}mL"
                        assert f"{feeds}×{size}floz" in text or off_the_marks in text


def test_a_jar_that_no_measures_fill(tmp_path: Path):
    found = made(read=herd(animal("Pip")), container="30 mL bottle")
    assert found.milks[0].jar is None
    text = card(tmp_path, found).text
    assert "No whole measures that fill a 30 mL bottle make exactly this milk" in text
    assert f"pour it into {found.milks[0].jars} jars" in text


def test_a_full_jug_says_what_to_pour_off_and_how_long_it_keeps(tmp_path: Path):
    found = jug()
    text = card(tmp_path, found).text
    off = found.milks[0].jar.plan.steps[0]
    assert off.grams < 0
    assert f"pour off {off.words}" in text
    assert "From the 1 gallon jug: Pour off into a clean covered jar" in text
    assert "Whole milk poured off: keep covered and chilled, and use within 3 days" in text


def test_metric_bottles_are_in_millilitres(tmp_path: Path):
    found = made(read=herd(animal("Pip"), kitchen="metric"))
    text = card(tmp_path, found).text
    (plan,) = plans(found)
    assert f"{plan.feeds[0, 0]} × {plan.millilitres[0, 0]:.0f} mL" in text
    assert "fl oz" not in text


def test_a_newborn_gets_colostrum_first(tmp_path: Path):
    text = card(tmp_path, CASES["newborn"]()).text
    assert "only colostrum until 04:30 on Sun 15 Nov, then from Sun 15 Nov at" in text


def test_a_change_of_milk_says_how_many_parts(tmp_path: Path):
    change = '[change]\nbefore = "plain-milk"\nfirst_day = 2026-11-13\ndays = 3'
    text = card(tmp_path, made(read=herd(animal("Pip"), head=change))).text
    assert "this milk 2 of 4 3 of 4 4 of 4" in text
    assert "Changing over from plain-milk" in text


def test_a_milk_that_is_too_weak_is_reported(tmp_path: Path):
    small_feeds = animal("Pip").replace("born", 'veterinarians_cap = "25 mL/kg"\nborn', 1)
    found = made(read=herd(small_feeds))
    assert found.too_weak_for == ("Pip",)
    assert not found.yes
    assert "This milk is too weak for Pip" in card(tmp_path, found).text


def test_a_card_for_goats_never_says_kid_alone_in_its_title(tmp_path: Path):
    text = card(tmp_path, made(reference="kid-replacer")).text
    assert text.startswith("Milk for goat kids")


def test_a_kids_milk_stands_beside_the_lambs(tmp_path: Path):
    text = card(tmp_path, CASES["kid beside lambs"]()).text
    assert text.startswith("Milk for lambs and goat kids")
    lambs, kids = text.index("cream-and-powder, for Pip"), text.index("kid-jug, for Bramble")
    assert lambs < text.index("How much for Pip") < kids < text.index("How much for Bramble")


def test_one_milk_for_lambs_and_kids_is_judged_for_each(tmp_path: Path):
    text = card(tmp_path, CASES["lambs and kids on one milk"]()).text
    assert "For lambs: In range" in text
    assert "For goat kids: Not right yet" in text


def test_the_veterinarians_word_stands_above_the_recipe(tmp_path: Path):
    found = CASES["veterinarian's word"]()
    assert not found.yes
    text = card(tmp_path, found).text
    verdict = text.index("Do not feed this unless your veterinarian says so.")
    word = text.index(
        "Dr A. Sorrel allowed it on Thu 12 Nov 2026: for Pip, until it is weighed again."
    )
    assert verdict < word < text.index("Mix in this order")


def test_a_milk_that_may_not_be_fed_is_refused_at_the_top(tmp_path: Path):
    found = CASES["one refused"]()
    text = card(tmp_path, found).text
    assert text.index("Nothing here for Nan.") < text.index("Mix in this order")
    assert "Do not feed this." in text
    assert "How much each animal gets" in text
    assert "cod liver oil" not in text  # never among what is mixed


def test_a_reason_is_not_told_twice(tmp_path: Path):
    found = CASES["veterinarian's word"]()
    text = card(tmp_path, found).text
    for reason in found.milks[0].fed[0].judgement.reasons:
        assert text.count(reason.text[:40]) == 1


def test_the_law_of_the_country_stands_for_the_general_word(tmp_path: Path):
    pantry = replace(parse_pantry('country = "uk"\n' + SHELF), recipes={})
    text = card(tmp_path, made(pantry)).text
    assert "pet lambs and kids count" in text
    assert "Ask APHA" in text
    assert "Some countries forbid" not in text
    unsaid = card(tmp_path, made()).text
    assert "Some countries forbid" in unsaid
    assert "APHA" not in unsaid


def test_how_long_a_bottle_may_stand(tmp_path: Path):
    for case in ("sample", "flock"):
        assert (
            "Pour away what is left in a bottle an hour after" in card(tmp_path, CASES[case]()).text
        )


SHELF = """
currency = "GBP"
prices_on = 2026-11-02
[foods.whole-milk]
price = 1.2
package = "1 L"
[foods.double-cream]
price = 2.5
package = "300 mL"
[foods.skimmed-milk-powder]
price = 4.0
package = "500 g"
"""


def test_the_same_card_is_the_same_file(tmp_path: Path):
    code = (
        "import sys; from pathlib import Path; from datetime import date\n"
        "from formulate.answers.sheet import sheet\n"
        "from formulate.pantry.pantry import sample_pantry\n"
        "from formulate.report.printed.card import save_card\n"
        "from formulate.report.printed.paper import Paper\n"
        "found = sheet(sample_pantry())\n"
        "for name in sys.argv[1:]:\n"
        "    save_card(found, date(2026, 11, 14), Paper.A4, Path(name))"
    )
    files = []
    for seed in ("1", "2"):
        names = [str(tmp_path / f"{seed}.{kind}") for kind in ("pdf", "png")]
        subprocess.run(
            [sys.executable, "-c", code, *names],
            check=True,
            env={
                **os.environ,
                "PYTHONHASHSEED": seed,
                "TZ": "UTC" if seed == "1" else "Asia/Tokyo",
            },
        )
        files.append([Path(name).read_bytes() for name in names])
    assert files[0] == files[1]
    assert files[0][0].startswith(b"%PDF")
    assert files[0][1].startswith(b"\x89PNG")


def test_a_picture_is_the_same_page_in_grey(tmp_path: Path):
    pages = save_card(made(), DAY, Paper.A4, tmp_path / "card.png")
    with Image.open(tmp_path / "card.png") as image:
        pixels = np.asarray(image.convert("RGB")).astype(int)
    assert (np.ptp(pixels, axis=2) == 0).all()
    assert pixels.shape[1] / pixels.shape[0] * pages == pytest.approx(210 / 297, abs=0.003)
    assert 0.02 < (pixels < 128).mean() < 0.2
    assert (tmp_path / "card.png").stat().st_size < 120_000 * pages


def test_dates_may_be_left_open(tmp_path: Path):
    save_card(made(), None, Paper.A4, tmp_path / "card.pdf")
    text = read_back(tmp_path / "card.pdf").text
    assert "Mixed on: ___" in text
    assert "2026" not in text


def test_letters_that_the_font_lacks_do_no_harm(tmp_path: Path):
    pantry = replace(sample_pantry(), name="小さな農場 \U0001f411 of \u200b many\ttabs")
    assert "many tabs" in card(tmp_path, made(pantry)).text


@pytest.mark.parametrize("name", ["card.jpg", "card", "card.pdf.txt", "card.svg"])
def test_other_endings_are_refused(name: str, tmp_path: Path):
    with pytest.raises(InputError, match=r"Write card\.pdf or card\.png"):
        save_card(made(), DAY, Paper.A4, tmp_path / name)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there(tmp_path: Path):
    with pytest.raises(InputError, match="cannot be written"):
        save_card(made(), DAY, Paper.A4, tmp_path / "nowhere" / "card.pdf")


@pytest.mark.parametrize(
    ("country", "kitchen", "paper"),
    [
        (None, Kitchen.US, Paper.LETTER),
        (None, Kitchen.METRIC, Paper.A4),
        ("us", Kitchen.METRIC, Paper.LETTER),
        ("uk", Kitchen.UK, Paper.A4),
        ("ie", Kitchen.UK, Paper.A4),
        ("fr", Kitchen.METRIC, Paper.A4),
        ("ca", Kitchen.METRIC, Paper.LETTER),
    ],
)
def test_the_paper_is_that_of_the_country_else_by_the_cups(country, kitchen, paper):
    assert paper_named(None, replace(bare_pantry(country), kitchen=kitchen)) is paper


def test_papers_by_name():
    assert paper_named(" Letter ", bare_pantry("uk")) is Paper.LETTER
    with pytest.raises(InputError, match="letter"):
        paper_named("leter", bare_pantry())


# --- setting text ------------------------------------------------------------------------------


def flat(text: str, size: float = 12, bold: bool = False) -> float:
    """A font whose letters are all as wide."""
    return 0.6 * size * POINT * len(text)


words = st.text(st.sampled_from("abc 12½\n\t°CmL%"), max_size=120)


@given(words, st.floats(1.0, 80.0))
def test_lines_fit_and_nothing_is_lost(text: str, width: float):
    lines = broken(text, width, flat)
    assert all(flat(line) <= width or len(line) == 1 for line in lines)
    assert "".join("".join(lines).split()) == "".join(text.split())


@given(st.text("abcdef", min_size=1, max_size=60), st.floats(1.0, 80.0))
def test_a_long_word_is_parted_into_what_fits(word: str, width: float):
    pieces = parted(word, width, flat)
    assert "".join(pieces) == word
    assert all(pieces)


def test_a_number_stays_with_its_unit():
    assert broken("warm to 39 °C now", flat("warm to 39"), flat)[0] == "warm to"


@given(st.lists(st.lists(st.integers(1, 120), min_size=1, max_size=5), min_size=1, max_size=4))
def test_pages_hold_every_piece_within_their_edges(lengths: list[list[int]]):
    sections = [
        [Stack((Gap(1), Boxed(Paragraph("word " * n)))) for n in section] for section in lengths
    ]
    pages = fill(sections, 100.0, 150.0, 10.0, flat)
    texts = [mark for page in pages for mark in page.marks if hasattr(mark, "text")]
    assert sum(len(t.text.split()) for t in texts) == sum(map(sum, lengths))
    for page in pages:
        assert 1.0 <= page.scale <= 1.6
        for mark in page.marks:
            assert mark.y <= 140.0 + 1e-6
            if hasattr(mark, "text"):
                assert mark.x + flat(mark.text, mark.size) <= 90.0 + 1e-6


def test_a_piece_that_is_higher_than_the_paper_is_refused():
    with pytest.raises(InputError, match="higher than the paper"):
        fill([[Paragraph("word " * 5000)]], 100.0, 150.0, 10.0, flat)
