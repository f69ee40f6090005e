"""``formulate mix``: design a mix from a pantry."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from formulate.base.messages import say
from formulate.cli._common import (
    NO,
    WHOLE_NUMBER,
    DecimalNumber,
    all_cautions_option,
    by_option,
    country_option,
    how,
    json_option,
    kitchen_option,
    output_option,
    path_of,
    print_json,
    shelf_asked,
    tell,
    wrote_lines,
)
from formulate.cli._help import HelpedCommand

if TYPE_CHECKING:
    from formulate.answers.mix_answer import MixRequest
    from formulate.pantry.pantry import Pantry

#: Fields of a request, as this command's options name them.
OPTIONS = {
    "reference": "--for",
    "make": "--make",
    "container": "--in",
    "keep_to": "--keep-to",
    "most_foods": "--at-most",
    "use_up": "--use-up",
    "by_gram": "--exact",
    "sure": "--sure",
    "worst_case": "--worst-case",
    "closest": "--closest",
    "within_cost": "--within-cost",
    "explain": "--why",
    "opinion": "--second-opinion",
    "time_limit": "--seconds",
}


@click.command("mix", cls=HelpedCommand)
@click.argument("what", nargs=-1, metavar="[PANTRY | FOOD...]")
@click.option("--for", "whom", default="lamb-replacer", metavar="NAME")
@click.option("--make", metavar="VOLUME")
@click.option("--in", "container", metavar="CONTAINER")
@click.option("--exact", is_flag=True)
@click.option("--sure", type=DecimalNumber(), metavar="PERCENT")
@click.option("--worst-case", type=DecimalNumber(), metavar="K")
@click.option("--protection", is_flag=True)
@click.option("--at-most", type=WHOLE_NUMBER, metavar="K")
@click.option("--use-up", is_flag=True)
@click.option("--keep-to", metavar="RECIPE")
@click.option("--closest", metavar="NAME")
@click.option("--within-cost", type=DecimalNumber(), metavar="MONEY")
@click.option("--why", is_flag=True)
@click.option("--numbers", is_flag=True)
@click.option("--on-request", is_flag=True)
@output_option("--write", output="program", multiple=True)
@click.option("--second-opinion", is_flag=True)
@output_option("--picture", output="picture")
@click.option("--seconds", type=DecimalNumber(), default=20.0, show_default=True, metavar="SECONDS")
@kitchen_option
@country_option
@all_cautions_option
@json_option
@click.pass_context
def command(
    ctx: click.Context,
    /,
    what: tuple[str, ...],
    kitchen: str | None,
    country: str | None,
    as_json: bool,
    **options: Any,
) -> None:
    """Design a mix from FOODs that you name, or from those in file PANTRY."""
    shelf = shelf_asked(what, kitchen, country)
    reference = options["closest"] or options["whom"]
    request = _request(options)
    if options["protection"]:
        _protection(ctx, shelf, options, as_json, named=bool(what))
    from formulate.answers.mix import mix
    from formulate.report.mix import mix_heading, mix_lines, mix_shape, write_files

    with by_option(OPTIONS):
        answer = mix(shelf, reference, request)
    problems = [Path(name) for name in options["write"]]
    written = write_files(answer, problems, path_of(options["picture"]))
    if as_json:
        print_json(mix_shape(answer) | ({"written": written} if written else {}))
    else:
        lines = mix_heading(answer.bands, shelf, named=bool(what))
        lines += mix_lines(
            answer,
            how=how,
            all_cautions=options["all_cautions"],
            all_clashes=options["why"],
            numbers=options["numbers"],
        )
        tell("\n".join([*lines, *wrote_lines(written)]))
    ctx.exit(0 if answer.yes else NO)


def _request(options: dict[str, Any]) -> MixRequest:
    """The options as what a person asks of a mix."""
    from formulate.answers.mix_answer import MixRequest

    return MixRequest(
        make=options["make"],
        container=options["container"],
        keep_to=options["keep_to"],
        most_foods=options["at_most"],
        use_up=options["use_up"],
        by_gram=options["exact"],
        sure=options["sure"],
        worst_case=options["worst_case"],
        closest=options["closest"] is not None,
        within_cost=options["within_cost"],
        on_request=options["on_request"],
        explain=options["why"] or options["numbers"],
        opinion=options["second_opinion"],
        time_limit=options["seconds"],
    )


def _protection(
    ctx: click.Context, pantry: Pantry, options: dict[str, Any], as_json: bool, *, named: bool
) -> None:
    """Show what being sure costs, and leave."""
    from formulate.answers.protection import protection
    from formulate.report.mix import mix_heading
    from formulate.report.protection import protection_lines, protection_shape, write_picture

    for name in ("in", "keep-to", "at-most", "use-up", "exact", "sure", "worst-case", "closest"):
        if options["container" if name == "in" else name.replace("-", "_")]:
            raise click.UsageError(say("how.protection-alone", option=f"--{name}"))
    with by_option(OPTIONS):
        answer = protection(pantry, options["whom"], options["make"])
    written = write_picture(answer, path_of(options["picture"]))
    if as_json:
        print_json(protection_shape(answer) | ({"written": written} if written else {}))
    else:
        lines = [*mix_heading(answer.bands, pantry, named=named), *protection_lines(answer)]
        tell("\n".join([*lines, *wrote_lines(written)]))
    ctx.exit(0 if answer.yes else NO)
