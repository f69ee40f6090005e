"""Every message as people read it: whole, with right plurals, in plain words."""

import itertools
import re
import warnings
from datetime import datetime
from pathlib import Path

import pytest

import formulate
from formulate.base import messages
from formulate.base.messages import message_ids, say
from formulate.page.spoken import template_sentences
from formulate.report import manual
from formulate.report.words import paragraph

with warnings.catch_warnings():  # it still asks for what setuptools is about to drop
    warnings.simplefilter("ignore")
    import textstat

ROOT = Path(formulate.__file__).parent.parent
PAGE_FOLDER = ROOT / "formulate" / "page"
TEXTS = {message_id: messages._message(message_id) for message_id in message_ids()}
#: What the page and the card say; the rest is for the command line.
PAGE = ("card", "jug", "mix", "moments", "page", "record", "rehydrate", "sure", "today", "verdict")
#: Words of the trade. Each that a message uses is explained in the manual's glossary.
TERMS = (
    *(
        "alkali",
        "as fed",
        "basis",
        "bloat",
        "Brix",
        "coccidia",
        "colostrum",
        "creep",
        "doe",
        "dry matter",
    ),
    *(
        "ewe",
        "freezing point",
        "gap",
        "headspace",
        "kid",
        "lactometer",
        "lactose",
        "mEq",
        "megajoule",
    ),
    *("metabolisable", "milk replacer", "mmol", "mOsm", "osmolality", "pint", "refractometer"),
    *("safety limit", "scour", "shadow price", "solids", "strong ion difference", "usable energy"),
    *("weaning", "weaned", "whole measures"),
)


def sample(place):
    """A value for a place, by what its format says of it; several where a plural hangs on it."""
    if place["many"] is not None:
        return [1, 2]
    if place["spec"] and "%" in place["spec"]:
        return [datetime(2026, 11, 14, 6, 30)]
    return [3.5] if place["spec"] else ["Pip"]


def rendered(message_id):
    """A message with every combination of its sample values."""
    values = {place["name"]: sample(place) for place in messages._PLACE.finditer(TEXTS[message_id])}
    for chosen in itertools.product(*values.values()):
        yield say(message_id, **dict(zip(values, chosen, strict=True)))


def wrong_in(text):
    """What is wrong with how a rendered message is put together; nothing where nothing is."""
    prose = text
    if "\x08" in text or "____" in text:  # the lines of a table, and those to write on
        prose = re.sub(r"(?m)^.* {2,}.*$", "", text)
    rules = {
        "two spaces": "  ",
        "a place": r"\{[a-z_]+[}|:]|#",
        "a space before a sign": r"\w [,.;:?!](\s|$)",
        "two signs": r"(?<!\.)\.\.$|[?!,]\.|,,",
        "1 of many": r"(?<![\d.,/-])1 (?!is\b|as\b|has\b|means\b)[a-z]+s\b",
    }
    return [what for what, rule in rules.items() if re.search(rule, prose)]


def test_every_message_renders_whole():
    found = [(name, wrong_in(text), text) for name in TEXTS for text in rendered(name)]
    assert [one for one in found if one[1] or one[2] != one[2].strip()] == []


@pytest.mark.parametrize(
    ("text", "wrong"),
    [
        ("Pip  drinks.", "two spaces"),
        ("Pip drinks {amount}.", "a place"),
        ("Pip drinks .", "a space before a sign"),
        ("Did Pip drink?.", "two signs"),
        ("Use 1 foods.", "1 of many"),
    ],
)
def test_what_is_wrong_with_a_message_is_found(text, wrong):
    assert wrong_in(text) == [wrong]


def parted_in(text):
    """Lines that end in a number whose unit begins the next line."""
    return [
        a
        for a, b in itertools.pairwise(text.splitlines())
        if re.search(r"\d$", a) and re.match(r"\s*[%°a-z]", b)
    ]


def test_no_line_parts_a_number_from_its_unit():
    assert parted_in("It drank 5\nmL.")
    parted = []
    for name in (name for name, text in TEXTS.items() if "\n" not in text):
        text = next(rendered(name)).replace("Pip", "3.5 kg")
        for shift in range(0, 80, 5):
            parted += parted_in(paragraph("x" * shift + " " + text))
    assert parted == []


def passages(topics):
    """The sentences of some topics, in passages of at least 100 words."""
    sentences = [
        text
        for message_id in TEXTS
        if message_id.partition(".")[0] in topics
        for text in itertools.islice(rendered(message_id), 1)
        if re.search(r"[.?!]$", text) and len(text.split()) >= 4 and "\x08" not in text
    ]
    return in_passages(sentences)


def in_passages(sentences):
    passage = []
    for sentence in sentences:
        passage.append(sentence)
        if sum(len(one.split()) for one in passage) >= 100:
            yield " ".join(passage)
            passage = []


OTHERS = sorted({message_id.partition(".")[0] for message_id in TEXTS} - set(PAGE))


@pytest.mark.parametrize(
    ("topics", "most"), [(PAGE, 8.0), (OTHERS, 10.0)], ids=["page", "terminal"]
)
def test_sentences_are_easy_to_read(topics, most):
    found = list(passages(topics))
    assert len(found) >= 10
    hard = [(textstat.flesch_kincaid_grade(text), text) for text in found]
    assert [pair for pair in hard if pair[0] > most] == []


def test_the_sentences_of_the_page_s_templates_are_easy_to_read():
    sentences = []
    for path in sorted((PAGE_FOLDER / "templates").glob("*.html")):
        for one in template_sentences(path.read_text(encoding="utf-8")):
            text = re.sub(r"<[^>]*>", "", re.sub(r"\{\{.*?\}\}", "Pip", one))
            if re.search(r"[.?!]$", text) and len(text.split()) >= 4:
                assert wrong_in(text) == [], one
                sentences.append(text)
    found = list(in_passages(sentences))
    assert len(found) >= 8
    hard = [(textstat.flesch_kincaid_grade(text), text) for text in found]
    assert [pair for pair in hard if pair[0] > 8.0] == []


@pytest.mark.parametrize("name", [one.name for one in manual.topics()])
def test_the_manual_is_easy_to_read(name):
    text = re.sub(
        r"```.*?```|^\|.*$|^#.*$", "", manual.topic(name).markdown, flags=re.DOTALL | re.M
    )
    text = re.sub(r"`([^`]*)`|\[([^\]]*)\]\([^)]*\)|\*\*", r"\1\2", text)
    paragraphs = [" ".join(part.split()) for part in re.split(r"\n\n|\n- ", text) if part.strip()]
    for passage in in_passages(paragraphs):
        assert textstat.flesch_kincaid_grade(passage) <= 10.0, passage


@pytest.mark.parametrize("term", TERMS)
def test_a_word_of_the_trade_is_in_the_glossary(term):
    glossary = manual.topic("glossary").markdown.lower()
    used = any(re.search(rf"\b{term}s?\b", text) for text in TEXTS.values())
    explained = re.findall(r"\*\*([^*]+)\*\*", glossary)
    assert not used or any(term.lower() in words for words in explained)


#: What nobody would say, and what has been said better since.
FORBIDDEN = (
    *("hold growth against", "tell what rearing", "how sure, since", "cartons differ"),
    *("one carton of each food is meant", "several even each other out", "it grows as its milk"),
    *("why so much", "keeps it alive", "no number of foods", "not of your doing"),
    *(
        "of all shopping for",
        "refuse numbers that are none",
        "handed on when first",
        "ring your vet",
    ),
    *(
        "is meant; several",
        "a fault of the program",
        "has been proven",
        "cannot be told apart from",
    ),
)


def test_no_forbidden_phrase_is_left():
    kinds = ("*.py", "*.md", "*.toml", "*.html", "*.js", "*.ipynb", "*.csv")
    rooms = ("formulate", "nutrient_tables", "notebooks", "tests")
    files = [path for room in rooms for kind in kinds for path in (ROOT / room).rglob(kind)]
    files += [ROOT / name for name in ("README.md", "DEVELOPERS.md", "CHANGELOG.md")]
    left = []
    for path in files:
        if path == Path(__file__) or not path.is_file():
            continue
        text = " ".join(path.read_text(encoding="utf-8", errors="replace").lower().split())
        left += [f"{path.name}: {phrase}" for phrase in FORBIDDEN if phrase in text]
    assert left == []
