"""The command line. Each command calls the library and prints the answer; it decides nothing.

Exit status: 0 done; 1 the answer is no (no mix, or a recipe outside its range); 2 wrong input;
3 an internal fault; 130 interrupted.
"""

from __future__ import annotations

import io
import os
import sys

import click

from formulate.base.messages import find, say
from formulate.base.version import VERSION
from formulate.cli import COMMANDS
from formulate.cli._help import HelpedContext, ToldHelp, in_a_line
from formulate.cli._terminal import held_streams, help_width

__all__ = ["cli", "main"]

EXIT_FAULT, EXIT_INTERRUPTED = 3, 130

# Mixes are small: starting threads for their matrices takes longer than the matrices.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")


class LazyGroup(ToldHelp, click.Group):
    """Commands by name, each imported when it is asked for."""

    context_class = HelpedContext

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names, in the order of use."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import one command's module."""
        from importlib import import_module

        if cmd_name not in COMMANDS:
            return None
        command: click.Command = import_module(f"formulate.cli.{cmd_name}").command
        return command

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """Suggest the nearest names for an unknown command."""
        name = args[0]
        if name not in COMMANDS and not name.startswith("-"):
            from formulate.base.errors import UnknownName

            hint = say("errors.known.commands", names=", ".join(COMMANDS))
            raise click.UsageError(str(UnknownName("command", name, COMMANDS, hint)))
        return super().resolve_command(ctx, args)

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """List the commands from the table, without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, in_a_line(name)) for name in COMMANDS])


@click.group(
    cls=LazyGroup,
    help=find("help.program"),
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 88},
)
@click.version_option(VERSION, message="formulate %(version)s", help=find("help.every.version"))
def cli() -> None:
    """The program; its commands do the work."""


def main() -> None:
    """Run the command line and turn every outcome into an exit status."""
    if not sys.warnoptions:  # what libraries warn of is for developers
        import logging
        import warnings

        warnings.simplefilter("ignore")
        logging.getLogger().addHandler(logging.NullHandler())
    sys.exit(run(sys.argv[1:]))


def run(arguments: list[str]) -> int:
    """Run with these arguments; return the exit status, never a traceback."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")
    try:
        with held_streams():
            return _status_of(arguments)
    except OSError as error:
        return _told(error)


def _status_of(arguments: list[str]) -> int:
    try:
        status = cli.main(
            arguments, prog_name="formulate", standalone_mode=False, terminal_width=help_width()
        )
    except click.ClickException as error:
        from formulate.base.errors import shortened

        told = io.StringIO()
        error.show(told)
        click.echo("\n".join(map(shortened, told.getvalue().split("\n"))), nl=False, err=True)
        return 2
    except (click.Abort, KeyboardInterrupt):
        click.echo("interrupted", err=True)
        return EXIT_INTERRUPTED
    except Exception as error:
        return _told(error)
    return status if isinstance(status, int) else 0


def _told(error: Exception) -> int:
    """Say what went wrong in a line or two; return its exit status."""
    from formulate.base.errors import FormulateError, InputError
    from formulate.base.messages import say

    if isinstance(error, FormulateError):
        click.echo(f"formulate: {error}", err=True)
        return error.exit_status
    if isinstance(error, OSError):  # a full disk, say: nothing that the program could mend
        reason = (error.strerror or str(error)).lower()
        what = f"{error.filename}" if error.filename else say("errors.output")
        told = InputError(say("errors.system", what=what, reason=reason))
        click.echo(f"formulate: {told}", err=True)
        return told.exit_status
    bug = say("errors.bug", kind=type(error).__name__, detail=f"{error}")
    click.echo(f"formulate: {bug}", err=True)
    return EXIT_FAULT


if __name__ == "__main__":
    main()
