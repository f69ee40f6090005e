"""The manual: its topics, and what a terminal and the page show of them."""

import re
from html.parser import HTMLParser

import pytest

from formulate.base.errors import UnknownName
from formulate.cli._terminal import fitted
from formulate.cli.main import run
from formulate.report import manual
from formulate.report.manual import topic_files as kept

NAMES = [one.name for one in manual.topics()]


@pytest.fixture
def written(tmp_path, monkeypatch):
    """A manual of one's own: a function that writes a topic."""

    def write(name, markdown, language="en"):
        (tmp_path / language).mkdir(exist_ok=True)
        (tmp_path / language / f"{name}.md").write_text(markdown, encoding="utf-8")
        monkeypatch.setattr(kept, "_LANGUAGES", tmp_path)
        kept._topics.cache_clear()
        return next(one for one in kept._topics("xx") if one.name == name)

    yield write
    kept._topics.cache_clear()


def test_the_manual_lists_its_topics(capsys):
    assert run(["manual"]) == 0
    out = capsys.readouterr().out
    assert len(NAMES) >= 20
    for one in manual.topics():
        assert re.search(rf"^  {one.name} +\w", out, re.MULTILINE)


@pytest.mark.parametrize("name", NAMES)
def test_a_topic_fits_the_terminal(name, capsys):
    assert run(["manual", name]) == 0
    out = capsys.readouterr().out
    assert out.startswith(manual.topic(name).title.upper() + "\n\n")
    prose = [line for line in out.splitlines() if not line.startswith("  ")]
    assert [line for line in prose if len(line) > 88] == []
    assert not re.search(r"\n\n\n|`|\]\(|\*\*|<!--", out)


@pytest.mark.parametrize("width", [40, 60])
@pytest.mark.parametrize("name", NAMES)
def test_a_topic_fits_a_narrow_terminal(name, width):
    shown = fitted("\n".join(manual.topic_lines(manual.topic(name))), width)
    too_long = [line for line in shown.splitlines() if len(line) > width and " " in line.strip()]
    assert too_long == []


def test_a_misspelt_topic_is_answered_with_the_nearest(capsys):
    assert run(["manual", "shoppin"]) == 2
    assert 'no topic called "shoppin". Did you mean shopping?' in capsys.readouterr().err
    with pytest.raises(UnknownName):
        manual.topic("../../secrets")


def test_markdown_as_plain_text(written):
    one = written(
        "milk",
        "# Milk\n\nSay what milk is.\n\n## How much\n\nAbout `5 mL` of **it**, with `--exact` or "
        "`--sure 95`.\n\n"
        "1. Warm it.\n2. Stir:\n   - well\n   - twice\n\n"
        "| jar | holds |\n|---|---|\n| `a jar` | 1 L |\n\n```\nformulate mix\n```\n\n"
        "See [Mix](mix.md) and [a file](other.txt).\n",
    )
    assert "\n".join(manual.topic_lines(one)) == (
        "MILK\n\nSay what milk is.\n\nHow much\n--------\n\n"
        'About "5 mL" of it, with --exact or --sure 95.\n\n'
        "  1. Warm it.\n  2. Stir:\n     - well\n     - twice\n\n"
        "  jar    holds\n  a jar  1 L\n\n  formulate mix\n\n"
        "See Mix (formulate manual mix) and a file."
    )


TAGS = {"h1", "h2", "h3", "p", "ul", "ol", "li", "a", "em", "strong", "code", "pre"}
TAGS |= {"table", "thead", "tbody", "tr", "th", "td"}


class Tags(HTMLParser):
    def __init__(self, text):
        super().__init__()
        self.tags, self.open, self.links = set(), [], []
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        self.tags.add(tag)
        self.links += [value for key, value in attributes if key == "href"]
        if tag not in ("br", "hr", "img"):
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert self.open.pop() == tag


@pytest.mark.parametrize("name", NAMES)
def test_a_topic_as_html_is_whole_and_links_within_the_page(name):
    html = Tags(manual.topic_html(manual.topic(name), "/help"))
    assert html.open == []
    assert html.tags <= TAGS
    assert {link.removeprefix("/help/") for link in html.links} <= set(NAMES)


def test_html_in_a_topic_is_shown_and_not_obeyed(written):
    one = written("bad", "# Bad\n\nA line.\n\n<script>alert(1)</script> [x](javascript:alert(1))\n")
    html = manual.topic_html(one, "/help")
    assert "<script" not in html
    assert "href" not in html


def test_another_language_is_a_folder(written):
    written("milk", "# Milk\n\nSay what milk is.\n")
    written("cream", "# Cream\n\nSay what cream is.\n")
    written("milk", "# Milch\n\nWas Milch ist.\n", language="xx")
    assert [one.title for one in kept._topics("xx")] == ["Cream", "Milch"]


def test_a_topic_without_a_title_is_a_fault(written):
    with pytest.raises(ValueError, match=r"milk\.md does not begin with a title"):
        written("milk", "Milk is white.\n")
