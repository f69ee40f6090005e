"""``formulate mix``: design the cheapest mix from a pantry."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from formulate.cli._common import (
    NO,
    all_cautions_option,
    json_option,
    pantry_from,
    print_json,
)

if TYPE_CHECKING:
    from formulate.blend.mix import Mix, NoMix
    from formulate.blend.protect.chance import NotSure
    from formulate.foods.bands import BandSet
    from formulate.kitchen.batch import Wishes
    from formulate.pantry.pantry import Pantry


@click.command("mix")
@click.argument("pantry", required=False)
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
    type=float,
    metavar="PERCENT",
    help="Each range holds with this chance, although cartons differ.",
)
@click.option(
    "--worst-case",
    type=float,
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
    "--within-cost", type=float, metavar="MONEY", help="With --closest: the most a litre may cost."
)
@click.option(
    "--why", is_flag=True, help="What each demand costs, and where prices would change the recipe."
)
@click.option("--numbers", is_flag=True, help="With --why: the numbers behind the sentences.")
@click.option("--on-request", is_flag=True, help="Let eggs, oils, sugar and soy be proposed too.")
@click.option(
    "--write", metavar="FILE", help="Write the problem as .lp or .mps for another solver."
)
@click.option("--second-opinion", is_flag=True, help="Solve with CBC too, and print both.")
@click.option(
    "--picture", metavar="FILE", help="Draw the reads against their ranges (.svg, .png, .pdf)."
)
@click.option(
    "--time-limit",
    type=float,
    default=20.0,
    show_default=True,
    metavar="SECONDS",
    help="Longest search for whole measures.",
)
@all_cautions_option
@json_option
@click.pass_context
def command(ctx: click.Context, /, pantry: str | None, as_json: bool, **options: Any) -> None:
    """Design the cheapest mix from the foods in file PANTRY.

    Without a file the built-in sample is used, an invented smallholding. Exit status 1 says
    that these foods cannot meet the ranges; then the clash, what would help and the nearest
    mix are told.
    """
    from formulate.foods.tables import band_set

    shelf = pantry_from(pantry)
    _check_together(options)
    bands = band_set(options["closest"] or options["whom"], shelf.own_bands)
    door = _Door(shelf, bands, options, as_json)
    if options["closest"] is not None:
        done = door.closest()
    elif options["protection"]:
        done = door.protection()
    elif options["worst_case"] is not None:
        done = door.worst_case()
    elif options["exact"]:
        done = door.exact()
    else:
        done = door.in_measures()
    if not as_json:
        done["text"] = "\n".join([*door.heading(pantry is None), "", done["text"]])
    door.show(done)
    ctx.exit(0 if done["yes"] else NO)


def _check_together(options: dict[str, Any]) -> None:
    """Refuse options that contradict each other."""
    if options["within_cost"] is not None and options["closest"] is None:
        raise click.UsageError("--within-cost goes with --closest.")
    by_gram = [name for name in ("exact", "worst_case", "protection") if options[name]]
    for name in ("container", "at_most", "use_up", "keep_to"):
        if by_gram and options[name]:
            flag = "--in" if name == "container" else "--" + name.replace("_", "-")
            gram = "--" + by_gram[0].replace("_", "-")
            raise click.UsageError(f"{flag} needs whole measures: leave {gram} out.")
    if options["sure"] is not None and (options["worst_case"] is not None or options["closest"]):
        raise click.UsageError("--sure stands alone: leave --worst-case and --closest out.")


class _Door:
    """One call of the command: what was asked, and how to print what the library answers."""

    def __init__(
        self, pantry: Pantry, bands: BandSet, options: dict[str, Any], as_json: bool
    ) -> None:
        from formulate.base.units import parse_volume
        from formulate.kitchen.batch import default_volume

        self.pantry, self.bands, self.options, self.as_json = pantry, bands, options, as_json
        self.kitchen = pantry.kitchen
        text = options["make"] or default_volume(self.kitchen)
        self.volume = parse_volume(text, self.kitchen)

    def heading(self, sample: bool) -> list[str]:
        """What it is for, whose shelf, whose cups."""
        from formulate.report import text

        lines = text.heading(self.bands, self.kitchen, self.pantry)
        if sample:
            lines.append("No pantry file was named, so this is the built-in sample.")
        return lines

    def in_measures(self) -> dict[str, Any]:
        """The batch in cups, spoons and cans."""
        from formulate.blend.mix import NoMix
        from formulate.blend.protect.chance import NotSure
        from formulate.kitchen.batch import Batch, make_batch
        from formulate.report import kitchen_text

        found = make_batch(self.pantry, self.bands, self.volume, self._wishes())
        if isinstance(found, NoMix):
            return self._no(found)
        if isinstance(found, NotSure):
            return self._not_sure(found)
        cautions = self.options["all_cautions"]
        if isinstance(found, Batch):
            mix = found.kitchen_mix.mix
            done = {
                "yes": True,
                "shape": kitchen_text.batch_shape(found, self.pantry),
                "text": kitchen_text.batch_text(found, self.kitchen, all_cautions=cautions),
            }
            return self._more(done, mix, found.kitchen_mix.exact)
        return {
            "yes": False,
            "shape": kitchen_text.no_batch_shape(found, self.pantry),
            "text": kitchen_text.no_batch_text(found, self.kitchen, all_cautions=cautions),
        }

    def _wishes(self) -> Wishes:
        from formulate.kitchen.batch import Wishes
        from formulate.kitchen.jug import parse_container
        from formulate.pantry.pantry import recipe_named

        keep_to, container = self.options["keep_to"], self.options["container"]
        if container and self.options["make"]:
            raise click.UsageError("--in fills the container: leave --make out.")
        return Wishes(
            most_foods=self.options["at_most"],
            use_up=self.options["use_up"],
            favourite=keep_to and recipe_named(keep_to, self.pantry, self.kitchen),
            container=container and parse_container(container, self.kitchen, self.pantry.table),
            time_limit=self.options["time_limit"],
            sure=self.options["sure"],
        )

    def exact(self) -> dict[str, Any]:
        """The mix by the gram, as sure as was asked."""
        from formulate.blend.design import design
        from formulate.blend.mix import NoMix
        from formulate.cli._protected import by_the_gram, sure_answer

        if self.options["sure"] is not None:
            found = sure_answer(self.pantry, self.bands, self.volume, self.options["sure"])
            if isinstance(found, NoMix):
                return self._no(found)
            return found if isinstance(found, dict) else self._not_sure(found)
        mix = design(self.pantry.shelf(), self.bands, self.volume)
        if isinstance(mix, NoMix):
            return self._no(mix)
        done = by_the_gram(mix, self.pantry, all_cautions=self.options["all_cautions"])
        return self._more(done, mix, mix)

    def worst_case(self) -> dict[str, Any]:
        """The mix that holds with some foods at their worst."""
        from formulate.blend.mix import NoMix
        from formulate.cli._protected import worst_case_answer

        found = worst_case_answer(self.pantry, self.bands, self.volume, self.options["worst_case"])
        return self._no(found) if isinstance(found, NoMix) else found

    def protection(self) -> dict[str, Any]:
        """What being sure costs."""
        from formulate.cli._protected import protection_answer

        return protection_answer(self.pantry, self.bands, self.volume, self.options["picture"])

    def _not_sure(self, found: NotSure) -> dict[str, Any]:
        from formulate.cli._protected import not_sure_answer

        return not_sure_answer(found, self.pantry)

    def closest(self) -> dict[str, Any]:
        """The mix nearest the middle of a reference, within a cost."""
        from formulate.cli._closest import closest_answer

        return closest_answer(
            self.pantry, self.bands, self.volume, self.options["within_cost"],
            self.options["picture"], self.options["all_cautions"],
        )  # fmt: skip

    def _no(self, found: NoMix) -> dict[str, Any]:
        """Why not, and what would help."""
        from formulate.kitchen.batch import would_help
        from formulate.report import shapes, text
        from formulate.report.reasons import helpers, why_not

        additions = would_help(found, self.pantry, on_request=self.options["on_request"])
        help_ = helpers(additions, self.pantry.currency)
        shape = shapes.no_mix_shape(found, self.kitchen.value, self.pantry)
        shape |= {"why": list(why_not(found).sentences), "would_help": list(help_.rows)}
        return {
            "yes": False,
            "shape": shape,
            "text": text.no_mix_text(
                found,
                self.kitchen,
                self.pantry,
                helping=help_.sentences,
                all_clashes=self.options["why"],
                all_cautions=self.options["all_cautions"],
            ),
        }

    def _more(self, done: dict[str, Any], mix: Mix, exact: Mix) -> dict[str, Any]:
        """Reasons, files and a second opinion, where they are asked for."""
        from formulate.blend.problem import build

        asked = self.options
        if not any(
            asked[name] for name in ("why", "numbers", "write", "second_opinion", "picture")
        ):
            return done
        problem = build(exact.shelf, self.bands, exact.volume)
        if asked["why"] or asked["numbers"]:
            from formulate.report.why import why_answer

            rows, lines = why_answer(problem, exact, self.pantry, numbers=asked["numbers"])
            done["shape"]["why"] = rows
            done["text"] += "\n\n" + "\n".join(lines)
        if asked["second_opinion"]:
            from formulate.report.why import second_opinion_answer

            shape, line = second_opinion_answer(problem, exact)
            done["shape"]["second_opinion"] = shape
            done["text"] += "\n\n" + line
        written = []
        if asked["write"]:
            from formulate.blend.portable import write

            written += [str(path) for path in write(problem, Path(asked["write"]))]
        if asked["picture"]:
            from formulate.report.pictures.look import save_picture
            from formulate.report.pictures.mix import reads_picture

            save_picture(reads_picture(mix), Path(asked["picture"]))
            written.append(asked["picture"])
        if written:
            done["shape"]["written"] = written
            done["text"] += "\n\n" + "\n".join(f"Wrote {path}" for path in written)
        return done

    def show(self, done: dict[str, Any]) -> None:
        """Print the answer one way or the other."""
        if self.as_json:
            print_json(done["shape"])
        else:
            click.echo(done["text"])
