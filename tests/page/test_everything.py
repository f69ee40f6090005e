"""Each option of each command, and each key of both files, has a place on the page or a reason."""

import re
import tomllib
from importlib.resources import files

import click
import pytest
from page.visitor import Visitor

from formulate.cli.main import cli
from formulate.page.places import COMMAND_PLACES, DESK_COMMANDS
from formulate.pantry.start import every_key

#: Why an option is of the terminal alone.
MACHINE = "JSON is for other programs"
FOLDER = "the page works on the files of its folder"
KITCHEN = "whose cups, foods and money is said once, at /kitchen"
MACHINES = "one household's answer needs no other computers"
STARTED = "it is said when the page is started"
OUT = "the browser asks where to save"
NOW = "what is written down is dated by its own fields"

#: A card and labels are asked for by one form.
PRINTED = {
    "reference": "/print whom",
    "make": "/print make",
    "container": "/print container",
    "keep_to": "/print keep_to",
    "mix": "/print milk",
    "on": "/print on",
    "by_hand": "/print by-hand",
    "paper": "/print paper",
    "out": OUT,
}

#: Common to all commands.
EVERYWHERE = {
    "as_json": MACHINE,
    "pantry": FOLDER,
    "flock": FOLDER,
    "country": KITCHEN,
    "kitchen": KITCHEN,
}

#: Where it stands, as "address field" or "address > where it leads"; or why nowhere.
OPTIONS = {
    "mix": {
        "what": "/mix on",
        "whom": "/mix whom",
        "make": "/mix make",
        "container": "/mix container",
        "exact": "/mix by_gram",
        "sure": "/mix sure",
        "worst_case": "/mix worst",
        "protection": "/mix > /certainty",
        "at_most": "/mix most",
        "use_up": "/mix use_up",
        "keep_to": "/mix keep_to",
        "closest": "/mix closest",
        "within_cost": "/mix within",
        "why": "/mix why",
        "numbers": "/mix numbers",
        "on_request": "/mix on_request",
        "write": "/mix file",
        "second_opinion": "/mix opinion",
        "picture": "/mix file",
        "seconds": "/mix seconds",
        "all_cautions": "it stands under every mix",
    },
    "page": {
        "folder": STARTED,
        "port": STARTED,
        "no_browser": STARTED,
        "share": STARTED,
        "address": STARTED,
        "forget_all": "a shared page has it at /telephones",
    },
    "check": {
        "recipe": "/check recipe",
        "whom": "/check whom",
        "brix": "/check brix",
        "lactometer": "/check lactometer",
        "temperature": "/check at",
        "lactometer_marked": "/check marked",
        "freezing_point": "/check freezing_point",
        "weigh": "/check weigh",
        "picture": "/check > /check-picture",
        "all_cautions": "it stands under every recipe",
    },
    "compare": {
        "recipes": "/compare recipe",
        "per": "/compare per",
        "whom": "/compare whom",
        "picture": "/compare > /compare.png",
    },
    "carton": {
        "name": "/carton c.name",
        "sold_as": "/carton c.sold_as",
        "kind": "/carton c.kind",
        "like": "/carton c.like",
        "serving": "/carton c.serving",
        "per": "/carton c.serving",
        "rounding": "/carton c.rounding",
        "energy": "/carton c.energy",
        "fat": "/carton c.fat",
        "saturated_fat": "/carton c.saturated-fat",
        "sodium": "/carton c.sodium",
        "salt": "/carton c.salt",
        "carbohydrate": "/carton c.carbohydrate",
        "fibre": "/carton c.fibre",
        "sugars": "/carton c.sugars",
        "added_sugars": "/carton c.added-sugars",
        "protein": "/carton c.protein",
        "calcium": "/carton c.calcium",
        "potassium": "/carton c.potassium",
        "at_least": "/carton c.at_least",
        "at_most": "/carton c.at_most",
        "add_to": "/carton > /shelve",
    },
    "prices": {
        "varied": "/prices food.1",
        "whom": "/prices whom",
        "picture": "/prices > /prices.png",
        "table": "/prices > /prices.csv",
        "points": "/prices points",
        "workers": MACHINES,
        "cluster": MACHINES,
    },
    "foods": {
        "words": "/foods words",
        "show": "/foods > /foods?show=",
        "table_name": "/foods table",
    },
    "bands": {"name": "/bands > /bands?name="},
    "card": PRINTED,
    "label": {
        **PRINTED,
        "per_sheet": "/print per_sheet",
    },
    "start": {
        "folder": STARTED,
        "foods": "/shelf add",
        "animals": "/animals animal",
        "sample": "it is shown until something is saved",
        "keys": "/kitchen > /keys",
    },
    "today": {
        "milk": "/plan milk",
        "level": "/plan level",
        "on": "/plan on",
        "lamb": "/bottle weight",
        "kid": "/bottle species",
        "age": "/bottle age",
        "cold_wet": "/plan cold_wet",
    },
    "feed": {
        "milk": "/plan milk",
        "level": "/plan level",
        "weaning": "/plan weaning",
        "on": "/plan on",
        "every_day": "/plan every-day",
        "cold_wet": "/plan cold_wet",
        "fed": "/animal?name=Pip amount",
        "colostrum": "/animal?name=Pip what",
        "creep": "/animal?name=Pip what",
        "whose": "/animal?name=Pip note",
        "at": "/animal?name=Pip at",
        "by": "/animal?name=Pip by",
        "confirm": "the page asks first, and writes it down on a second tap",
        "tell_sources": "/plan sources",
    },
    "note": {
        "words": "/animal?name=Pip what",
        "at": "/animal?name=Pip at",
        "by": "/animal?name=Pip by",
        "whose": "/animal?name=Pip note",
        "confirm": "the page asks first, and writes it down on a second tap",
    },
    "weigh": {
        "words": "/animals weight",
        "on": "/animals on",
        "by": "/animals by",
        "confirm": "the page asks first, and writes it down on a second tap",
    },
    "growth": {
        "milk": "/growth milk",
        "on": "/growth on",
        "picture": "/growth > /growth.png",
        "tell_sources": "/growth sources",
    },
    "rehydrate": {
        "on": NOW,
        "animal": "/scour name",
        "weight": "/scour weight",
        "age": "/scour age",
        "stands": "/scour stands",
        "sucks": "/scour sucks",
        "mouth": "/scour mouth",
        "skin": "/scour skin",
        "eyes": "/scour eyes",
        "gums": "/scour gums",
        "temperature": "/scour temperature",
        "blood": "/scour blood",
        "swollen_belly": "/scour belly",
        "day": "/scour longer",
        "others": "/scour others",
        "water": "/scour water",
        "recipe": "/scour drink",
        "make": "/scour make",
        "scale": "/scour measure",
        "card": "/scour > /drink-card",
        "paper": "/scour paper",
    },
    "shop": {
        "milk": "/shop milk",
        "also": "/shop also",
        "keeps": "/shop keeps",
        "mix_at": "/shop mix_at",
        "trip_cost": "/shop trip_cost",
        "seconds": "/shop seconds",
        "every_day": "/shop every-day",
        "calendar": "/shop > /calendar",
        "picture": "/shop > /shop-picture",
        "on": "/shop on",
        "tell_sources": "/shop sources",
    },
    "season": {
        "milk": "/season milk",
        "seconds": "/season seconds",
        "picture": "/season > /season-picture",
        "on": "/season on",
        "tell_sources": "/season sources",
    },
    "manual": {"topic": "/help > /help/"},
}

LOG = "the page writes it into the log: "
BANDS = "the page shows and uses ranges of one's own; they are written in the file"
#: By key of a file, with * for a name: where its field is, or why it has none.
KEYS = {
    "pantry": {
        "name": "/kitchen name",
        "country": "/kitchen country",
        "table": "/kitchen table",
        "kitchen": "/kitchen kitchen",
        "measures": "/kitchen measures",
        "currency": "/kitchen currency",
        "prices_on": "/kitchen prices_on",
        "foods.*.price": "/shelf price.whole-milk",
        "foods.*.package": "/shelf package.whole-milk",
        "foods.*.priced_on": "/food?id=whole-milk priced_on",
        "foods.*.sizes.price": "/food?id=whole-milk size_price.0",
        "foods.*.sizes.package": "/food?id=whole-milk size.0",
        "foods.*.keeps_closed": "/food?id=whole-milk keeps_closed",
        "foods.*.keeps_open": "/food?id=whole-milk keeps_open",
        "foods.*.on_hand": "/food?id=whole-milk on_hand",
        "foods.*.use_by": "/food?id=whole-milk use_by",
        "foods.*.largest_share": "/food?id=whole-milk largest_share",
        "foods.*.smallest": "/food?id=whole-milk smallest",
        "foods.*.step": "/food?id=whole-milk step",
        "foods.*.in_mix": "/shelf on",
        "own.*.name": "/carton c.name",
        "own.*.kind": "/carton c.kind",
        "own.*.sold_as": "/carton c.sold_as",
        "own.*.like": "/carton c.like",
        "own.*.weighs": "/carton c.weighs",
        "own.*.largest_share": "/carton c.largest_share",
        "own.*.ingredients": "/carton c.ingredients",
        "own.*.source": "/carton c.source",
        "own.*.per_100_g.*": "/carton c.per_100_g",
        "own.*.panel.*": "/carton c.serving",
        "own.*.at_least.*": "/carton c.at_least",
        "own.*.at_most.*": "/carton c.at_most",
        "bands.*.title": BANDS,
        "bands.*.like": BANDS,
        "bands.*.demand.measure": BANDS,
        "bands.*.demand.basis": BANDS,
        "bands.*.demand.unit": BANDS,
        "bands.*.demand.low": BANDS,
        "bands.*.demand.high": BANDS,
        "bands.*.demand.over": BANDS,
        "bands.*.demand.source": BANDS,
        "bands.*.demand.why": BANDS,
        "recipes.*": "/check keep_as",
    },
    "flock": {
        "name": "/milk name",
        "sample": "only the invented sample says so",
        "day": "the page plans from now; from another day at /plan",
        "species": "each animal says its own at /animals",
        "pantry": "the page keeps to pantry.toml",
        "mix": "/milk mix",
        "kitchen": "/milk kitchen",
        "feeding_times": "/milk times",
        "level": "/milk level",
        "cold": "/milk cold",
        "weaning": "/milk weaning",
        "bottle_marks": "/milk bottle_marks",
        "jar": "/milk jar",
        "jars": "/milk jars",
        "refrigerator": "/milk refrigerator",
        "shopping_days": "/milk shopping_days",
        "change.before": "/milk gradually",
        "change.first_day": "/milk gradually",
        "change.days": "/milk gradually",
        "veterinarian.recipe": "/milk recipe",
        "veterinarian.name": "/milk veterinarian",
        "veterinarian.on": "/milk on",
        "veterinarian.allows": "/milk allows",
        "animals.*.species": "/animals species",
        "animals.*.mix": "/animals mix",
        "animals.*.weaning": "/animal?name=Pip weaning",
        "animals.*.level": "/animal?name=Pip level",
        "animals.*.born": "/animals born",
        "animals.*.birth_weight": "/animals birth_weight",
        "animals.*.weights.on": f"{LOG}/animals on",
        "animals.*.weights.weight": f"{LOG}/animals weight",
        "animals.*.weights.sure": f"{LOG}/animals weight",
        "animals.*.colostrum.at": f"{LOG}/animal?name=Pip at",
        "animals.*.colostrum.amount": f"{LOG}/animal?name=Pip amount",
        "animals.*.colostrum.what": f"{LOG}/animal?name=Pip note",
        "animals.*.creep.on": f"{LOG}/animal?name=Pip at",
        "animals.*.creep.amount": f"{LOG}/animal?name=Pip amount",
        "animals.*.temperature": f"{LOG}/animal?name=Pip amount",
        "animals.*.temperatures.at": f"{LOG}/animal?name=Pip at",
        "animals.*.temperatures.celsius": f"{LOG}/animal?name=Pip amount",
        "animals.*.veterinarians_cap": "/animal?name=Pip cap",
        "animals.*.notes": "/animal?name=Pip notes",
    },
}
#: Tables whose keys are names.
NAMED = {"foods", "own", "bands", "recipes", "animals", "per_100_g", "panel", "at_least", "at_most"}
#: What to press where something stands under an answer alone: button, form, what is typed.
ASKED = {
    "/compare": ("Compare them", "compare", {}),
    "/prices": ("Show the steps", "prices", {"low.1": "2", "high.1": "4"}),
    "/check": ("Check it", "check", {"recipe": "1 gallon whole-milk"}),
    "/scour": ("What to do", "scour", {}),
}


@pytest.fixture(scope="module")
def looked(tmp_path_factory):
    """What a place shows, and what it shows when asked."""
    folder = tmp_path_factory.mktemp("everything")
    for name in ("pantry", "flock"):
        data = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        (folder / f"{name}.toml").write_bytes(data)
    visitor, seen = Visitor(folder), {}

    def look(address):
        if address not in seen:
            seen[address] = visitor.open(address).html
            if address in ASKED:
                button, form, typed = ASKED[address]
                seen[address] += visitor.press(button, form, typed=typed).html
        return seen[address]

    return look


def check(place, looked):
    """A field, or a link of the place, is on the page; a reason has words."""
    place = place.removeprefix(LOG)
    if not place.startswith("/"):
        assert len(place.split()) >= 4, place
        return
    address, *to, what = place.split()
    html = looked(address)
    if to:
        assert re.search(rf'(?:href|src|action|formaction)="{re.escape(what)}', html), place
    else:
        assert re.search(rf' name="{re.escape(what)}"', html), place


def options():
    """Each option and argument of each command."""
    context = click.Context(cli)
    for name in cli.list_commands(context):
        command = cli.get_command(context, name)
        assert command is not None
        for option in command.params:
            yield name, option.name


def test_every_option_of_every_command_has_its_place(looked):
    found = set()
    for command, option in options():
        if command in DESK_COMMANDS:
            continue
        own = OPTIONS[command]
        place = own.get(option) or EVERYWHERE.get(option)
        assert place, f"{command}: {option} has no place on the page, and no reason"
        check(place, looked)
        found.add((command, option))
    named = {(command, option) for command, own in OPTIONS.items() for option in own}
    assert named <= found  # nothing is listed that is not there any more
    assert set(OPTIONS) == set(COMMAND_PLACES)


def keys(table, path=()):
    """Every key of a file with a value, as a path; a name becomes *."""
    if isinstance(table, list) and table and isinstance(table[0], dict):
        for one in table:
            yield from keys(one, path)
    elif isinstance(table, dict):
        named = bool(path) and path[-1] in NAMED
        for key, value in table.items():
            yield from keys(value, (*path, "*" if named else key))
    else:
        yield ".".join(path)


@pytest.mark.parametrize("which", ["pantry", "flock"])
def test_every_key_of_a_file_has_its_field(which, looked):
    found = set(keys(tomllib.loads(every_key(which))))
    assert found == set(KEYS[which])
    for place in KEYS[which].values():
        check(place, looked)


def test_few_keys_and_options_are_of_the_terminal_alone():
    reasons = [place for own in KEYS.values() for place in own.values()
               if not place.removeprefix(LOG).startswith("/")]  # fmt: skip
    assert len(reasons) <= 14
    reasons = [place for own in OPTIONS.values() for place in own.values()
               if not place.startswith("/")]  # fmt: skip
    assert len(reasons) <= 20


def test_everything_that_can_be_noted_can_be_chosen(looked):
    from formulate.answers.wanted import WORDS

    html = looked("/animal?name=Pip")
    # A weight has a form of its own, and what is taken back stands beside each entry.
    for word in set(WORDS) - {"weight", "strike"}:
        assert re.search(rf'value="{word}"', html), word
