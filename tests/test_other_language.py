"""Another language is files and no change of code: a made-up one is spoken through every door.

Its letters are none of English's, so a run of plain words is a sentence that the program says in
English whatever the language. Names of foods, documents that are cited, and what people wrote in
their files stay as they are.
"""

import csv
import json
import os
import re
import shutil
import subprocess
import sys
from importlib.resources import files
from pathlib import Path

import pytest
from made_up_language import made_up, plain_runs, write_catalogue, write_tables, write_templates
from page.visitor import ADDRESSES

import formulate
from formulate.foods.tables import food_table, sources
from formulate.page.spoken import script_in, script_sentences, template_in, template_sentences

PACKAGE = Path(formulate.__file__).parent
TABLES = Path(str(files("nutrient_tables")))
TESTS = Path(__file__).parent
#: What people wrote stays as they wrote it.
FILES = ("pantry", "flock")
COMMANDS = [
    ["mix"], ["mix", "--why"], ["mix", "--protection"], ["mix", "water"], ["mix", "--exact"],
    ["mix", "whole-milk", "nonfat-dry-milk", "heavy-cream", "--make", "2 L"],
    ["mix", "--make", "2 furlongs"], ["mix", "--keep-to", "nothing"], ["mix", "nowhere.toml"],
    ["check", "1 quart whole-milk + 1 cup heavy-cream"], ["check", "1 cup oat-milk"], ["check"],
    ["compare"], ["today"], ["feed"], ["growth"], ["season"], ["shop"], ["bands"],
    ["prices", "--vary", "heavy-cream=3..9"],
    ["card", "--out", "card.pdf"], ["card", "--flock", "flock.toml", "--out", "flock.pdf"],
    ["label", "--out", "label.pdf"], ["label", "--out", "label.docx"],
    ["rehydrate", "Pip"], ["note", "Pip", "milk", "900mL"], ["note", "Pip", "nothing"],
    ["weigh", "Pip", "90kg"], ["carton", "--help"], ["mix", "--help"], ["--help"],
]  # fmt: skip
#: Plain words on purpose: Click's own, which it takes from gettext; units as they are typed; the
#: name of the sample flock; a container to be typed; and its help, which is a manual of its own.
PLAIN = """
Try 'formulate check --help' for help. Error: Missing argument 'RECIPE'.
fl oz, Wren fl oz, Bramble Nettlebed Hollow orphans gallon jug of whole-milk
kg, mg, lb, oz weight, oz, m; tsp, tbsp, fl oz, cup, pint, quart, gallon, can, egg, yolk, white,
stick, scoop
tsp baking soda tbsp nonfat dry milk cup heavy cream low sodium salt low-sodium salt
"""


def bare(text):
    """A text as words alone."""
    return " ".join(re.findall(r"[^\W\d_]+", text.lower()))


@pytest.fixture(scope="module")
def known():
    """What stays as it is: names of foods, and the documents that numbers come from."""
    texts = [PLAIN]
    for food in food_table().values():
        texts += [food.id, food.name, food.kind, ", ".join(food.aliases), *food.aliases]
    for path in TABLES.rglob("*.csv"):
        if path.name in ("sources.csv", "storage.csv", "schedules.csv", "standards.csv"):
            with path.open(encoding="utf-8") as file:
                texts += [" ".join(row) for row in csv.reader(file)]
    texts += map(str, sources().values())
    texts += [(TABLES / f"sample_{one}.toml").read_text(encoding="utf-8") for one in FILES]
    texts.append((TABLES / "tables.toml").read_text(encoding="utf-8"))
    return f" {' | '.join(map(bare, texts))} "


@pytest.fixture(scope="module")
def told(tmp_path_factory):
    """What the program says in the made-up language, by door."""
    folder = tmp_path_factory.mktemp("said")
    languages, kitchen = folder / "languages", folder / "kitchen"
    english, other = PACKAGE / "base" / "en", languages / "xx"
    shutil.copytree(english, languages / "en")
    write_catalogue(english, other)
    write_tables(TABLES, other / "tables")
    write_templates(PACKAGE / "page", other)
    kitchen.mkdir()
    for name in FILES:
        shutil.copy(TABLES / f"sample_{name}.toml", kitchen / f"{name}.toml")
    places = [one for one in ADDRESSES if not one.startswith(("/help", "/foods", "/bands?"))]
    asked = {"terminal": COMMANDS, "page": places, "sheets": ["card.pdf", "flock.pdf", "label.pdf"]}
    paths = os.pathsep.join((str(PACKAGE.parent), str(TESTS)))
    answer = subprocess.run(
        [sys.executable, str(TESTS / "made_up_language.py"), str(languages)],
        input=json.dumps(asked),
        capture_output=True,
        text=True,
        encoding="utf-8",
        cwd=kitchen,
        check=False,
        env={**os.environ, "FORMULATE_LANGUAGE": "xx", "PYTHONPATH": paths},
    )
    assert answer.returncode == 0, answer.stderr
    return json.loads(answer.stdout)


@pytest.mark.parametrize("door", ["terminal", "page", "sheets"])
def test_no_sentence_is_said_in_english_whatever_the_language(told, known, door):
    left = {}
    for what, text in told[door].items():
        runs = [run for run in plain_runs(text) if bare(run) not in known]
        if runs:
            left[what] = runs
    assert left == {}


def test_the_made_up_language_is_heard_through_every_door(told):
    for what in ("mix", "check 1 quart whole-milk + 1 cup heavy-cream", "today", "feed", "shop"):
        assert told["terminal"][what].count("⟦") > 5, what
    for address in ("/", "/mix", "/animals", "/shop", "/shelf", "/static/page.js"):
        assert told["page"][address].count("⟦") > 3, address
    assert len(re.findall("[ŕéáńť]", told["sheets"]["flock.pdf"])) > 100


def test_a_sentence_in_the_made_up_language_keeps_its_places():
    assert (
        made_up("{count|# feed|# feeds} of {share:.0f} %")
        == "⟦{count|# ƒééď|# ƒééďś} óƒ {share:.0f} %⟧"
    )
    assert plain_runs(made_up("Too thin by far.")) == []
    assert plain_runs("⟦Ťóó⟧ too thin by far.") == ["too thin by far"]


# --- sentences of templates and scripts -----------------------------------------------------------


@pytest.mark.parametrize(
    ("template", "sentences"),
    [
        ("<p>Keep it <strong>cold</strong>.</p>", ["Keep it <strong>cold</strong>."]),
        ("<p>{{ n }} of {{ all }} days</p>", ["{{ n }} of {{ all }} days"]),
        ("<p>{{ only.a.value }}</p>", []),
        ('<p><a href="/x{% if y %}?y{% endif %}">Look</a></p>', ["Look"]),
        ("<li>One</li>\n<li>Two of\n  them</li>", ["One", "Two of them"]),
        ('<p><a href="/a">A thing</a> of <a href="/b">another</a>, now</p>',
         ['<a href="/a">A thing</a> of <a href="/b">another</a>, now']),
        ('<input placeholder="8 fl oz" name="how much">', ["8 fl oz"]),
        ('{% for w in ("milk", "the mix") %}{{ w }}{% endfor %}', ["the mix"]),
        ('{{ at.strftime("%H:%M on %d") }}', []),
        ("{# not said #}<p>Said{% if x %} and more{% endif %}</p>", ["Said", "and more"]),
        ('{% include "of one.html" %}', []),
    ],
)  # fmt: skip
def test_the_sentences_of_a_template(template, sentences):
    assert template_sentences(template) == sentences


def test_a_template_keeps_all_but_its_sentences():
    said = template_in("<p>\n Keep <b>cold</b>\n</p>{{ x }} <i>{{ y }}</i>", lambda text: "Kühl")
    assert said == "<p>\n Kühl\n</p>{{ x }} <i>{{ y }}</i>"


def test_english_templates_are_as_they_were():
    for path in sorted((PACKAGE / "page" / "templates").glob("*.html")):
        source = path.read_text(encoding="utf-8")
        assert template_in(source, lambda text: text).split() == source.split(), path.name


def test_the_sentences_of_a_script():
    script = 'say("The list has changed."); get("/now", "last-fed");'
    assert script_sentences(script) == ["The list has changed."]
    assert script_in(script, lambda text: 'a "b"') == 'say("a \\"b\\""); get("/now", "last-fed");'
