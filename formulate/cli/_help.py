"""Help for commands and options: sentences from the catalogue, wrapped to fit the terminal."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

import click

from formulate.base.messages import find, say

__all__ = ["HelpedCommand", "HelpedContext", "ToldHelp", "in_a_line"]

#: Stand for a hyphen and a space at which no line may end: food names and options are copied.
_HYPHEN, _SPACE = "\ue000", "\u00a0"
_UNIT = re.compile(r"(?<=\d) (?=[%°A-Za-zµ])")
#: Columns below which an option's help goes under its name, and the room its name then gets.
_ROOMY, _NARROW_NAME = 70, 8


class _Formatter(click.HelpFormatter):
    """Help whose lines never end inside a name or between a number and its unit."""

    def write_text(self, text: str) -> None:
        super().write_text(_kept(text))

    def write_dl(
        self, rows: Iterable[tuple[str, str]], col_max: int = 30, col_spacing: int = 2
    ) -> None:
        room = col_max if self.width >= _ROOMY else _NARROW_NAME
        super().write_dl([(name, _kept(text)) for name, text in rows], room, col_spacing)

    def write_usage(self, prog: str, args: str = "", prefix: str | None = None) -> None:
        super().write_usage(prog, args, say("help.usage") + " " if prefix is None else prefix)

    def write_heading(self, heading: str) -> None:
        super().write_heading(find(f"help.heading.{heading.lower()}") or heading)

    def getvalue(self) -> str:
        return super().getvalue().replace(_HYPHEN, "-").replace(_SPACE, " ")


class HelpedContext(click.Context):
    """A context whose help is set by this module."""

    formatter_class = _Formatter


class ToldHelp(click.Command):
    """A command whose option ``--help`` is told in the catalogue's words."""

    def get_help_option(self, ctx: click.Context) -> click.Option | None:
        """The option, with its help."""
        option = super().get_help_option(ctx)
        if option is not None:
            option.help = say("help.every.help")
        return option


class HelpedCommand(ToldHelp):
    """A command whose help, and whose options' help, stand in the catalogue.

    The message ``help.COMMAND.about`` is the text; an option has ``help.COMMAND.OPTION``, or
    ``help.every.OPTION`` where several commands share it. Help given in the code is kept.
    """

    context_class = HelpedContext

    def __init__(self, name: str | None, **attributes: Any) -> None:
        super().__init__(name, **attributes)
        self.help = find(f"help.{name}.about") or self.help
        for option in self.params:
            if isinstance(option, click.Option) and option.help is None:
                key = option.opts[-1].lstrip("-")
                option.help = find(f"help.{name}.{key}") or find(f"help.every.{key}")


def in_a_line(command: str) -> str:
    """What a command does, in one line."""
    return say(f"help.{command}.line")


def _kept(text: str) -> str:
    return _UNIT.sub(_SPACE, re.sub(r"(?<=\w)-(?=\w)|-(?=-?\w)", _HYPHEN, text))
