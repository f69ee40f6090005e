"""Help on the command line: whole sentences, one option for one idea, lines that fit."""

import itertools
import re

import click
import pytest

from formulate.base.messages import message_ids
from formulate.cli import COMMANDS
from formulate.cli.main import cli

CONTEXT = click.Context(cli)
#: The words for one idea that have gone out of use.
GONE = {
    "--against": "--for",
    "--time-limit": "--seconds",
    "--what": "--whose",
    "--mix": "--milk",
}


def options(name):
    return [p for p in cli.get_command(CONTEXT, name).params if isinstance(p, click.Option)]


def help_at(name, width):
    context = cli.get_command(CONTEXT, name).make_context(
        name, [], resilient_parsing=True, terminal_width=width, max_content_width=width
    )
    return context.get_help()


@pytest.mark.parametrize("name", COMMANDS)
def test_every_option_is_told_in_whole_sentences(name):
    for option in options(name):
        assert option.help, option.opts
        assert re.fullmatch(r"[A-Z].*[.?]", option.help, re.DOTALL), option.help


@pytest.mark.parametrize("name", COMMANDS)
def test_every_command_says_what_it_does(name):
    assert re.fullmatch(r"[A-Z].*\.", cli.get_command(CONTEXT, name).help, re.DOTALL)


@pytest.mark.parametrize("name", COMMANDS)
def test_an_idea_has_one_option(name):
    known = {word for option in options(name) for word in option.opts}
    assert not known & set(GONE)
    assert "--sure" not in known or name == "mix"


@pytest.mark.parametrize("width", [40, 64, 80])
@pytest.mark.parametrize("name", COMMANDS)
def test_help_fits_and_parts_neither_names_nor_units(name, width):
    lines = help_at(name, width).splitlines()
    # A table keeps its lines, and a list of values its word.
    kept = re.compile(r"  \S+ {2,}\S.*|  (\S+ )?\S*\|\S*")
    assert [line for line in lines if len(line) > width and not kept.fullmatch(line)] == []
    assert [line for line in lines if re.search(r"\w-$", line)] == []
    pairs = itertools.pairwise(lines)
    parted = [a for a, b in pairs if re.search(r"\d$", a) and re.match(r"\s+[%°a-zA-Z]", b)]
    assert parted == []


def test_the_catalogue_holds_no_help_for_what_is_not_there():
    known = {"help.program", "help.usage", "help.every.help", "help.every.version"}
    known |= {"help.heading.commands", "help.heading.options"}
    for name in COMMANDS:
        known |= {f"help.{name}.{key}" for key in ("line", "about")}
        for option in options(name):
            known |= {f"help.{where}.{option.opts[-1][2:]}" for where in (name, "every")}
    assert [key for key in message_ids() if key.startswith("help.") and key not in known] == []
