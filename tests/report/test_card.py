"""The card: read back from its PDF, it holds everything, within its edges, large enough."""

from __future__ import annotations

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
from printed import POINT, Sheet, long_pantry, long_recipe, read_back

from formulate.answers.day_and_jar import DayAndJar, day_and_jar
from formulate.base.errors import InputError
from formulate.base.units import Kitchen
from formulate.foods.tables import band_set
from formulate.kitchen.jug import parse_container
from formulate.pantry.country import bare_pantry
from formulate.pantry.pantry import Pantry, sample_pantry
from formulate.rearing.feeding import shortfall
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


def herd(*animals: str, head: str = "", kitchen: str = "us") -> FlockRead:
    text = (
        'name = "orphans (invented)"\nmix = "cream-and-powder"\n'
        f'kitchen = "{kitchen}"\nfeeding_times = ["06:00", "09:30", "13:00", "16:30", "20:00", '
        f'"23:30"]\n{head}\n' + "".join(animals)
    )
    return parse_flock(text, "flock.toml", NOW)


def made(pantry: Pantry | None = None, bands: str = "lamb-replacer", **more) -> DayAndJar:
    found = day_and_jar(pantry or sample_pantry(), band_set(bands), **more)
    assert isinstance(found, DayAndJar)
    return found


def twelve() -> tuple[DayAndJar, Pantry]:
    pantry = long_pantry()
    found = made(pantry, volume=2330.0, favourite=long_recipe(pantry))
    assert len(found.day_plan.steps) == 12
    return found, pantry


def crowd(count: int = 12) -> FlockRead:
    return herd(*(animal(f"Bartholomew of the upper meadow, ear tag {n}") for n in range(count)))


def card(tmp_path: Path, found: DayAndJar, pantry: Pantry, paper: Paper = Paper.A4) -> Sheet:
    path = tmp_path / "card.pdf"
    pages = save_card(found, pantry, DAY, paper, path)
    sheet = read_back(path)
    assert len(sheet.sizes) == pages
    return sheet


CASES = {
    "sample": lambda: (made(), sample_pantry()),
    "jug": lambda: (made(container=jug()), sample_pantry()),
    "flock": lambda: (made(flock=herd(animal("Pip"), animal("Wren", weight=3.7))), sample_pantry()),
    "newborn": lambda: (
        made(flock=herd(animal("Dot", born="2026-11-14"), animal("Pip"))),
        sample_pantry(),
    ),
    "twelve": twelve,
    "crowd": lambda: (made(flock=crowd()), sample_pantry()),
}


def jug():
    pantry = sample_pantry()
    return parse_container("1 gallon jug of whole-milk", pantry.kitchen, pantry.table)


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("case", CASES)
def test_nothing_runs_over_an_edge_or_into_another(case: str, paper: Paper, tmp_path: Path):
    sheet = card(tmp_path, *CASES[case](), paper)
    for width, height in sheet.sizes:
        assert (width, height) == pytest.approx((paper.width, paper.height), abs=0.05)
    assert len(sheet.pieces) > 30
    for piece in sheet.pieces:
        assert piece.left >= MARGIN - 0.5, piece
        assert piece.right <= paper.width - MARGIN + 0.5, piece
        assert piece.top >= MARGIN - 0.5, piece
        assert piece.bottom <= paper.height - MARGIN + 0.5, piece
    overlaps = [
        (a.text, b.text) for i, a in enumerate(sheet.pieces) for b in sheet.pieces[:i] if a.meets(b)
    ]
    assert not overlaps


@pytest.mark.parametrize("case", CASES)
def test_letters_read_at_an_arms_length(case: str, tmp_path: Path):
    sheet = card(tmp_path, *CASES[case]())
    assert min(sheet.letters) >= SMALLEST - 0.01
    # Capitals of a two-hundredth of 60 cm.
    assert 0.729 * SMALLEST * POINT >= 600 / 200


def test_the_overlap_check_can_fail(tmp_path: Path):
    sheet = card(tmp_path, *CASES["sample"]())
    first = sheet.pieces[0]
    assert first.meets(replace(first, left=first.left + 1))


def test_it_says_everything(tmp_path: Path):
    sheet = card(tmp_path, *CASES["sample"]())
    for words in (
        "Milk for lambs",
        "(invented)",
        "Mixed on: Sat 14 Nov 2026",
        "Use by: Sun 15 Nov 2026",
        "It keeps 24 hours",
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
        assert words in sheet.text, words


def test_the_order_is_the_order_of_mixing(tmp_path: Path):
    found, pantry = CASES["sample"]()
    text = card(tmp_path, found, pantry).text
    names = [step.food.replace("-", " ") for step in found.day_plan.steps if step.food]
    places = [text.index(f"{n} {name}") for n, name in enumerate(names, 1)]
    assert places == sorted(places)
    assert len(places) == 3


def test_every_one_of_twelve_foods_is_there(tmp_path: Path):
    found, pantry = twelve()
    text = card(tmp_path, found, pantry).text.replace(" ", "")
    for step in found.day_plan.steps:
        assert step.food is not None
        assert step.food.replace("-", "") in text
        assert step.words.replace(" ", "") in text


def test_a_jar_that_no_measures_fill(tmp_path: Path):
    found, pantry = twelve()
    assert found.jar is None
    text = card(tmp_path, found, pantry).text
    assert "No whole measures fill a 1 quart jar: mix the day's batch, and pour it into 3" in text


def test_a_full_jug_says_what_to_pour_off_and_how_long_it_keeps(tmp_path: Path):
    text = card(tmp_path, *CASES["jug"]()).text
    assert "pour off 1 3/4 cups" in text
    assert "From the 1 gallon jug: pour off into a clean covered jar" in text
    assert "Whole milk poured off: covered and chilled, use within 3 days" in text


def test_feeds_are_the_plans(tmp_path: Path):
    found, pantry = CASES["flock"]()
    text = card(tmp_path, found, pantry).text
    plan = found.feeds
    assert plan is not None
    for i, one in enumerate(plan.flock.animals):
        assert one.name in text
        for d in range(7):
            ounces = plan.millilitres[i, d] / 29.5735295625
            size = f"{ounces:.1f}".replace(".0", "").replace(".5", "½")
            assert f"{plan.feeds[i, d]} × {size}" in text
    assert "today at 06:00" in text


def test_metric_bottles_are_in_millilitres(tmp_path: Path):
    found = made(flock=herd(animal("Pip"), kitchen="metric"))
    text = card(tmp_path, found, sample_pantry()).text
    plan = found.feeds
    assert plan is not None
    assert f"{plan.feeds[0, 0]} × {plan.millilitres[0, 0]:.0f} mL" in text
    assert "fl oz" not in text


def test_the_days_batch_is_what_the_animals_drink():
    found = CASES["flock"]()[0]
    assert found.feeds is not None
    need = 1e3 * found.feeds.litres_by_day()[0]
    assert need <= found.mix.volume <= 1.06 * need


def test_a_newborn_gets_colostrum_first(tmp_path: Path):
    text = card(tmp_path, *CASES["newborn"]()).text
    assert "colostrum only until 04:30 on Sun 15 Nov" in text


def test_a_change_of_milk_says_how_many_parts(tmp_path: Path):
    change = '[change]\nbefore = "plain-milk"\nfirst_day = 2026-11-13\ndays = 3'
    found = made(flock=herd(animal("Pip"), head=change))
    text = card(tmp_path, found, sample_pantry()).text
    assert "this milk 2 of 4 3 of 4 4 of 4" in text
    assert "Changing over from plain-milk" in text


def test_a_milk_that_is_too_weak_is_told(tmp_path: Path):
    small_feeds = animal("Pip").replace("born", 'veterinarians_cap = "25 mL/kg"\nborn', 1)
    found = made(flock=herd(small_feeds))
    assert found.feeds is not None
    assert shortfall(found.feeds, 0) is not None
    text = card(tmp_path, found, sample_pantry()).text
    assert "This milk is too weak for Pip" in text


def test_a_card_for_goats_never_says_kid_alone_in_its_title(tmp_path: Path):
    text = card(tmp_path, made(bands="kid-replacer"), sample_pantry()).text
    assert text.startswith("Milk for goat kids")


def test_no_card_is_made_of_what_must_not_be_fed():
    flock = herd(animal("Pip"))
    sweet = replace(flock.flock, mix="1 can sweetened-condensed-milk + 1 cup whole-milk")
    with pytest.raises(InputError, match="No card is made of it"):
        made(flock=replace(flock, flock=sweet))


def test_the_same_card_is_the_same_file(tmp_path: Path):
    code = (
        "import sys; from pathlib import Path; from datetime import date\n"
        "from formulate.answers.day_and_jar import day_and_jar\n"
        "from formulate.pantry.pantry import sample_pantry\n"
        "from formulate.foods.tables import band_set\n"
        "from formulate.report.printed.card import save_card\n"
        "from formulate.report.printed.paper import Paper\n"
        "made = day_and_jar(sample_pantry(), band_set('lamb-replacer'))\n"
        "for name in sys.argv[1:]:\n"
        "    save_card(made, sample_pantry(), date(2026, 11, 14), Paper.A4, Path(name))"
    )
    files = []
    for seed in ("1", "2"):
        names = [str(tmp_path / f"{seed}.{kind}") for kind in ("pdf", "png")]
        subprocess.run(
            [sys.executable, "-c", code, *names],
            check=True,
            env={"PYTHONHASHSEED": seed, "TZ": "UTC" if seed == "1" else "Asia/Tokyo"},
        )
        files.append([Path(name).read_bytes() for name in names])
    assert files[0] == files[1]
    assert files[0][0].startswith(b"%PDF")
    assert files[0][1].startswith(b"\x89PNG")


def test_a_picture_is_the_same_page_in_grey(tmp_path: Path):
    save_card(made(), sample_pantry(), DAY, Paper.A4, tmp_path / "card.png")
    with Image.open(tmp_path / "card.png") as image:
        pixels = np.asarray(image.convert("RGB")).astype(int)
    assert (np.ptp(pixels, axis=2) == 0).all()
    assert pixels.shape[1] / pixels.shape[0] == pytest.approx(210 / 297, abs=0.002)
    assert 0.02 < (pixels < 128).mean() < 0.2
    assert (tmp_path / "card.png").stat().st_size < 120_000


def test_dates_may_be_left_open(tmp_path: Path):
    save_card(made(), sample_pantry(), None, Paper.A4, tmp_path / "card.pdf")
    text = read_back(tmp_path / "card.pdf").text
    assert "Mixed on: ___" in text
    assert "2026" not in text


def test_letters_that_the_font_lacks_do_no_harm(tmp_path: Path):
    pantry = replace(sample_pantry(), name="小さな農場 \U0001f411 of \u200b many\ttabs")
    sheet = card(tmp_path, made(), pantry)
    assert "many tabs" in sheet.text


@pytest.mark.parametrize("name", ["card.jpg", "card", "card.pdf.txt", "card.svg"])
def test_other_endings_are_refused(name: str, tmp_path: Path):
    with pytest.raises(InputError, match=r"\.pdf to print, or \.png"):
        save_card(made(), sample_pantry(), DAY, Paper.A4, tmp_path / name)
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_not_there(tmp_path: Path):
    with pytest.raises(InputError, match="cannot be written"):
        save_card(made(), sample_pantry(), DAY, Paper.A4, tmp_path / "nowhere" / "card.pdf")


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
