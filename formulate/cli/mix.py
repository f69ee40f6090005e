"""``formulate mix``: design a mix from a pantry."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from formulate.cli._common import (
    NO,
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
    "time_limit": "--time-limit",
}


@click.command("mix")
@click.argument("what", nargs=-1, metavar="[PANTRY | FOOD...]")
@click.option("--for", "whom", default="lamb-replacer", metavar="NAME", help="What to design to.")
@click.option("--make", metavar="VOLUME", help='How much, as "2 quarts" or "3 L".')
@click.option(
    "--in",
    "container",
    metavar="CONTAINER",
    help='Fill it: "1 gallon jug of whole-milk", "half-gallon jar", "2 L bottle".',
)
@click.option("--exact", is_flag=True, help="By the gram, not in cups and spoons.")
@click.option(
    "--sure",
    type=DecimalNumber(),
    metavar="PERCENT",
    help="Each range holds with this chance, although cartons differ.",
)
@click.option(
    "--worst-case",
    type=DecimalNumber(),
    metavar="K",
    help="By the gram: every range holds with any K foods at their worst at once.",
)
@click.option(
    "--protection",
    is_flag=True,
    help="What being sure costs, from 50 to 99 % (a table, a picture).",
)
@click.option("--at-most", type=int, metavar="K", help="No more than K foods.")
@click.option(
    "--use-up", is_flag=True, help="Use what is on hand, what spoils first before the rest."
)
@click.option(
    "--keep-to",
    metavar="RECIPE",
    help="Keep every food of this recipe; change it as little as can be.",
)
@click.option(
    "--closest", metavar="NAME", help="As close to the middle of this reference as can be."
)
@click.option(
    "--within-cost",
    type=DecimalNumber(),
    metavar="MONEY",
    help="With --closest: the most a litre may cost.",
)
@click.option(
    "--why", is_flag=True, help="What each demand costs, and where prices would change the recipe."
)
@click.option("--numbers", is_flag=True, help="With --why: the numbers behind the sentences.")
@click.option("--on-request", is_flag=True, help="Let eggs, oils, sugar and soy be proposed too.")
@output_option(
    "--write",
    output="program",
    multiple=True,
    help="Write the problem as .lp or .mps for another solver; may be given more than once.",
)
@click.option("--second-opinion", is_flag=True, help="Solve with CBC too, and print both.")
@output_option(
    "--picture", output="picture", help="Draw the reads against their ranges (.svg, .png, .pdf)."
)
@click.option(
    "--time-limit",
    type=DecimalNumber(),
    default=20.0,
    show_default=True,
    metavar="SECONDS",
    help="Longest search for whole measures.",
)
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
    """Design a mix from FOODs that you name, or from those in file PANTRY.

    FOOD is a name, as whole-milk, or a name with its price, as whole-milk=3.80/gallon. With
    prices the mix is the cheapest; without, it has the fewest foods that stay in range, and
    comes nearest to its middle. PANTRY ends in .toml.

    Where neither is named, pantry.toml of this folder is used, else the built-in sample, an
    invented smallholding. Exit status 1 says that these foods cannot make a milk inside its
    ranges; then the clash, what would help and the nearest mix are told.
    """
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
        time_limit=options["time_limit"],
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
            raise click.UsageError(f"--protection stands alone: leave --{name} out.")
    with by_option(OPTIONS):
        answer = protection(pantry, options["whom"], options["make"])
    written = write_picture(answer, path_of(options["picture"]))
    if as_json:
        print_json(protection_shape(answer) | ({"written": written} if written else {}))
    else:
        lines = [*mix_heading(answer.bands, pantry, named=named), *protection_lines(answer)]
        tell("\n".join([*lines, *wrote_lines(written)]))
    ctx.exit(0 if answer.yes else NO)
