"""What the page says is plain: reading age, words, and no fault of the words themselves."""

import re
from html.parser import HTMLParser
from importlib.resources import files

import pytest
from page.visitor import Visitor

from formulate.foods.bands import Band, Basis, Read, Role, Standing
from formulate.page.words import counted
from formulate.report.confidence_words import tenths_words
from formulate.report.pictures.drawn import growth_picture, read_picture
from formulate.report.words import sign

#: Flesch-Kincaid grade of a reader of twelve.
GRADE = 7.0
#: Words of the laboratory, each allowed only where the page explains it.
JARGON = {"osmolality", "megajoule", "MJ", "dry matter", "as fed"}
NEVER = ("infeasible", "optimal", "solver", "linear program", "constraint", "parameter", "null",
         "NaN", "Atwater", "toml file", "traceback")  # fmt: skip


class Sentences(HTMLParser):
    """Sentences of paragraphs, items and headings; not of fields, numbers and sources."""

    BLOCKS = ("p", "li", "h1", "h2", "h3", "dd", "dt", "summary", "legend", "label", "option",
              "button", "div", "span")  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.text, self.mute = "", 0

    def handle_starttag(self, tag, attributes):
        if tag in ("p", "li", "h1", "h2", "h3", "dd", "dt", "summary", "button", "div"):
            self.flush()
        if tag in ("svg", "option", "select", "title"):
            self.mute += 1

    def handle_endtag(self, tag):
        if tag in ("svg", "option", "select", "title"):
            self.mute -= 1
        if tag in ("p", "li", "h1", "h2", "h3", "dd", "dt", "summary", "button", "div"):
            self.flush()

    def handle_data(self, data):
        if not self.mute:
            self.text += data

    def flush(self):
        text = " ".join(self.text.split())
        self.text = ""
        for sentence in re.split(r"(?<=[.!?:])\s+", text):
            words = re.findall(r"[A-Za-z']+", sentence)
            if len(words) >= 4:
                self.found.append(sentence)


def syllables(word: str) -> int:
    word = re.sub(r"[^a-z]", "", word.lower())
    groups = len(re.findall(r"[aeiouy]+", word))
    if word.endswith("e") and not word.endswith(("le", "ee")) and groups > 1:
        groups -= 1
    return max(groups, 1)


def grade(sentences: list[str]) -> float:
    words = [re.findall(r"[A-Za-z']+", sentence) for sentence in sentences]
    count = sum(map(len, words))
    beats = sum(syllables(word) for sentence in words for word in sentence)
    return 0.39 * count / len(sentences) + 11.8 * beats / count - 15.59


@pytest.fixture(scope="module")
def pages(tmp_path_factory):
    """The page in its states, as a person meets them."""
    folder = tmp_path_factory.mktemp("words")
    visitor = Visitor(folder)
    found = [visitor.page, visitor.press("Show the mix", typed={"whom": "ewe-milk"})]
    visitor.open("/check")
    found.append(visitor.press("Check it", "check", typed={"recipe": "1 gallon whole milk"}))
    for name in ("pantry", "flock"):
        data = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        (folder / f"{name}.toml").write_bytes(data)
    found += [visitor.open(address) for address in ("/", "/animals", "/animal?name=Wren", "/milk")]
    found.append(visitor.at("/shop").press("Make my shopping list", form="shop"))
    for eyes in ("sunken", "deep"):
        visitor.open("/scour?name=Pip")
        found.append(visitor.press("What to do", form="scour", typed={"eyes": eyes}))
    return found


def sentences_of(html: str) -> list[str]:
    reader = Sentences()
    # Sources are titles of documents, told word for word.
    sources = r'<span class="small">\[.*?\]</span>|<p>Where the ranges come from.*?</ul>'
    reader.feed(re.sub(sources, "", html, flags=re.S))
    return reader.found


def test_a_reader_of_twelve_can_read_it(pages):
    for page in pages:
        found = sentences_of(page.html)
        assert len(found) > 10
        assert grade(found) <= GRADE


def test_the_measure_of_reading_tells_plain_from_hard():
    assert grade(["Warm each bottle.", "Tick what may go into the mix."]) < 3
    hard = ["The optimisation establishes the feasibility of heterogeneous compositional demands."]
    assert grade(hard) > 15


def test_no_word_of_the_workshop_is_used(pages):
    for page in pages:
        for word in NEVER:
            assert word.lower() not in page.text.lower(), word


def test_words_of_the_laboratory_are_explained_on_the_spot(pages):
    terms = re.search(r'<dl class="terms">.*?</dl>', pages[0].html, re.S)[0]
    for word in JARGON:
        if word in pages[0].text:
            assert word in terms, word


def test_no_sentence_is_left_unfilled(pages):
    for page in pages:
        assert "None" not in page.text
        assert "{" not in page.text
        assert not re.search(r"\b1 (foods|days|trips|bottles)\b", page.text)


@pytest.mark.parametrize(
    ("chance", "words"),
    [(0.999, "nearly all"), (0.51, "about 5 in 10"), (0.06, "about 1 in 10"), (0, "hardly any")],
)
def test_a_chance_is_said_as_people_say_it(chance, words):
    assert words in tenths_words(chance)


def test_what_is_not_known_is_not_said_to_be_sure():
    assert "cannot be calculated" in tenths_words(None)


def band(low=16.0, high=19.0, role=Role.DEMANDED):
    return Band("solids", Basis.AS_FED, "g/100 g", low, high, role)


@pytest.mark.parametrize(
    ("value", "verdict", "words", "mark", "place"),
    [
        (17.5, Standing.INSIDE, "well in", "✓", 150.0),
        (16.1, Standing.INSIDE, "near its low end", "✓", 103.3),
        (18.9, Standing.INSIDE, "near its high end", "✓", 196.7),
        (13.0, Standing.BELOW, "left of the gap, too low", "▼", 9.0),
        (40.0, Standing.ABOVE, "right of the gap, too high", "▲", 291.0),
    ],
)
def test_a_drop_lies_where_its_words_say(value, verdict, words, mark, place):
    read = Read(band(), value, verdict)
    picture = read_picture(read)
    assert words in picture
    assert f"translate({place:.1f} " in picture
    assert ("drop-out" in picture) == (verdict is not Standing.INSIDE)
    assert sign(read) == mark


def test_open_ranges_begin_or_end_at_the_edge():
    up_to = read_picture(Read(band(low=float("-inf"), high=40.0), 20.0, Standing.INSIDE))
    assert '<rect class="gap" x="0"' in up_to
    assert "translate(100.0 " in up_to
    at_least = read_picture(Read(band(low=10.0, high=float("inf")), 20.0, Standing.INSIDE))
    assert '<rect class="gap" x="100" y="22" width="200"' in at_least


def test_an_unknown_read_has_no_drop():
    picture = read_picture(Read(band(), None, Standing.UNKNOWN, ("x",)))
    assert "not known" in picture
    assert 'class="drop' not in picture


def test_the_bar_below_is_where_batches_lie():
    assert '<path class="spread" d="M100.0 40H200.0"/>' in read_picture(
        Read(band(), 17.0, Standing.INSIDE), (16.0, 19.0)
    )


def test_growth_is_drawn_to_scale():
    picture = growth_picture("Pip", [(0, 4.0), (10, 6.0)], [(10, 6.0, 6.0, 6.0)], "Words <b>.")
    heights = [float(y) for y in re.findall(r'cy="([\d.]+)"', picture)]
    assert (176 - heights[1]) / (176 - heights[0]) == pytest.approx(1.5, abs=0.01)
    assert "Words &lt;b&gt;." in picture


def test_things_are_counted():
    assert (counted(1, "food"), counted(2, "food")) == ("1 food", "2 foods")
