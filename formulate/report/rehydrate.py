"""What to do when an animal scours, in words and as JSON: signs and veterinarian come first."""

from __future__ import annotations

from typing import Any

from formulate.answers.drink_judged import figure
from formulate.answers.rehydrate import AnimalDrink, DrinkTold, Rehydration
from formulate.answers.verdict import Verdict
from formulate.base.messages import listed, number, say
from formulate.base.units import Kitchen
from formulate.foods.bands import Read, Role, Standing
from formulate.foods.tables import read_toml
from formulate.kitchen.drink import NoSpoons
from formulate.kitchen.drink_slips import DrinkSlipKind, SlipRead
from formulate.rearing.bottle import bottle_words
from formulate.rearing.drinking import DrinkAmount
from formulate.rearing.figures import value
from formulate.rearing.scour import Dryness, Sign, scour_note, signs_of_scour
from formulate.report import words
from formulate.report.milk import How, no_how
from formulate.report.shapes import amounts_shape, caution_shape, read_shape
from formulate.report.verdict_words import verdict_shape

__all__ = [
    "agreement_words",
    "amount_words",
    "day_sentences",
    "drink_reads",
    "harm_words",
    "measure_words_of",
    "none_sentences",
    "none_words",
    "now_list",
    "read_words_of",
    "rehydrate_lines",
    "rehydrate_shape",
    "rules",
    "sign_words",
    "slip_words",
    "verdict_lines_of",
    "weigh_words",
    "when_lines",
    "when_sentences",
]

Shape = dict[str, Any]


# --- words --------------------------------------------------------------------------------------


def rehydrate_lines(answer: Rehydration, how: How = no_how) -> list[str]:
    """The whole answer as lines of text.

    Parameters
    ----------
    answer : Rehydration
    how : callable
        What the door adds: "signs", "agree", "scale", "flock-weight", "write-drink".
    """
    lines = [say("rehydrate.title"), words.paragraph(say("rehydrate.vet-first"))]
    drink = answer.drink
    typed = drink is not None and drink.designed is None
    if typed and drink is not None:
        lines += ["", *_checked_lines(drink), "", *_read_lines(drink), *_slip_lines(answer, how)]
    lines += ["", *sign_lines(answer, how)]
    if not answer.check.may_drink:
        return [*lines, "", words.paragraph(say("rehydrate.stopped"))]
    if drink is None:
        return [*lines, "", *_none_lines(answer)]
    if not typed and drink.judgement.verdict is Verdict.NEVER:
        return [*lines, "", *verdict_lines_of(drink)]
    if not typed or answer.good:
        lines += ["", agreement_words(answer)]
        if not answer.agreed:
            lines.append(words.paragraph(f"{say('rehydrate.agree')} {how('agree')}".rstrip()))
    if not typed:
        lines += ["", *_recipe_lines(answer, drink)]
        lines += ["", *_read_lines(drink), *_slip_lines(answer, how)]
    if not typed or answer.good:
        lines += ["", *when_lines(answer, how)]
    lines += ["", say("mix.care")]
    lines += [words.bullet(caution.text) for caution in drink.judgement.cautions]
    return lines


def sign_lines(answer: Rehydration, how: How = no_how) -> list[str]:
    """What was seen or what to look at, and what means the veterinarian now."""
    lines = []
    check = answer.check
    if check.alarms:
        lines += [say("rehydrate.now"), *(words.bullet(alarm.text) for alarm in check.alarms), ""]
    if check.band is not None:
        seen = say("rehydrate.seen", band=check.band.text, percent=check.band.percent)
        if check.missing:
            names = listed([sign.id for sign in check.missing])
            seen += f" {say('rehydrate.seen-part', signs=names)}"
        lines.append(words.paragraph(seen))
        lines.append(words.paragraph(scour_note()[0]))
    if check.missing:
        if lines:
            lines.append("")
        lines.append(say("rehydrate.look"))
        lines += [words.bullet(sign_words(sign)) for sign in check.missing]
        if told := how("signs"):
            lines.append(words.paragraph(told))
    lines += ["", say("rehydrate.now-list"), *map(words.bullet, now_list())]
    lines.append(words.paragraph(say("rehydrate.telephone")))
    return lines


def now_list() -> list[str]:
    """What means the veterinarian now, whatever was seen."""
    limits = {"cold": number_plain(value("cold-danger")), "fever": number_plain(value("fever"))}
    return [
        say(f"rehydrate.now-list-{name}", **limits)
        for name in ("signs", "dry", "cold", "age", "rest")
    ]


def number_plain(figure: float) -> str:
    """A whole figure without decimals."""
    return f"{figure:g}"


def sign_words(sign: Sign) -> str:
    """A sign as it is asked, with its answers."""
    choices = [
        say("rehydrate.choice-now", choice=choice.text) if choice.now else choice.text
        for choice in sign.choices
    ]
    return say("rehydrate.sign", ask=sign.ask, choices="; ".join(choices))


def agreement_words(answer: Rehydration) -> str:
    """The veterinarian's word, or that it is wanted."""
    word = answer.permission
    if word is None:
        return say("rehydrate.only-if")
    return say("rehydrate.allowed", name=word.name, day=f"{word.on}", allows=word.allows)


def measure_words_of(drink: DrinkTold, *, level: bool = True) -> list[tuple[str, str]]:
    """What hands take, and its weight: ("1/2 tsp low-sodium salt, level", "2.9 g").

    Parameters
    ----------
    drink : DrinkTold
    level : bool
        Say so of each spoon.
    """
    spoons = drink.designed is None or not drink.designed.by_scale
    told = []
    for measure in drink.measures:
        name = measure.food.replace("-", " ")
        if measure.food == "water":
            told.append((say("rehydrate.line-water", words=measure.words), ""))
            continue
        spooned = spoons and measure.words.rsplit(" ", 1)[-1] in ("tsp", "tbsp")
        line = say(
            "rehydrate.line-spoons" if spooned and level else "rehydrate.line-plain",
            words=measure.words,
            food=name,
        )
        weight = say("rehydrate.grams", grams=f"{measure.grams:.1f}") if spooned else ""
        told.append((line, weight))
    return told


def _recipe_lines(answer: Rehydration, drink: DrinkTold) -> list[str]:
    lines = [say("rehydrate.recipe")]
    lines += words.table(measure_words_of(drink), right=(1,), indent="    ")
    lines.append(words.paragraph(say("rehydrate.mix-it")))
    lines.append(words.paragraph(say("rehydrate.as-recipe", text=drink.text)))
    if not answer.good:
        lines += verdict_lines_of(drink)
    return lines


def verdict_lines_of(drink: DrinkTold) -> list[str]:
    """The verdict on a drink and its reasons."""
    lines = [say(f"rehydrate.verdict.{drink.judgement.verdict.value}")]
    return lines + [words.bullet(reason.text) for reason in drink.judgement.reasons]


def _checked_lines(drink: DrinkTold) -> list[str]:
    lines = verdict_lines_of(drink)
    lines.append(words.paragraph(say("rehydrate.verdict.checked", text=drink.text)))
    return lines


def _read_lines(drink: DrinkTold) -> list[str]:
    rows = [_read_row(read) for read in drink_reads(drink)]
    return [
        say("rehydrate.reads"),
        *words.table(rows, right=(1,)),
        words.paragraph(say("rehydrate.schools")),
    ]


def drink_reads(drink: DrinkTold) -> list[Read]:
    """The values that a drink must keep, and glucose over sodium; none that are only for milk."""
    held = drink.mix.bands.bands
    return [read for read in drink.mix.reads if read.band in held]


def read_words_of(read: Read) -> tuple[str, str, str]:
    """A read as label, value with its unit, and range: ("sodium", "102 mmol", "70 to 120")."""
    name, told, unit, wanted, *_ = _read_row(read)
    return name, f"{told} {unit}".strip(), wanted


def _read_row(read: Read) -> tuple[str, ...]:
    unit = "to 1" if read.band.over else read.band.unit.partition("/")[0]
    return (
        read.band.label,
        "?" if read.value is None else figure(read.value),
        unit,
        words.range_words(read.band),
        words.track(read),
        _standing(read),
    )


def _standing(read: Read) -> str:
    if read.standing is Standing.UNKNOWN:
        return words.standing_words(read)
    return say(f"rehydrate.standing.{read.standing}")


def slip_words(slip: SlipRead) -> str:
    """The slip: "baking soda twice"."""
    return say(f"rehydrate.slip.{slip.kind.value}", food=slip.food.replace("-", " "))


def harm_words(slip: SlipRead) -> str:
    """What the slip makes of the drink; empty if it is still a drink."""
    never = read_toml("drink.toml")["never"]
    salty = slip.sodium is not None and slip.sodium > never["sodium"]["over"]
    strong = slip.osmolality is not None and slip.osmolality > never["strong"]["over"]
    name = "both" if salty and strong else "salty" if salty else "strong" if strong else "none"
    if name == "none" and slip.kind is DrinkSlipKind.FORGOTTEN:
        if slip.difference is not None and slip.difference < 30:
            name = "no-alkali"
        elif slip.glucose is not None and slip.glucose < 30:
            name = "no-glucose"
    return say(f"rehydrate.harm.{name}")


def _slip_lines(answer: Rehydration, how: How) -> list[str]:
    drink = answer.drink
    if drink is None or not drink.slips:
        return []
    rows = [("", say("rehydrate.slip-head-sodium"), say("rehydrate.slip-head-osmolality"), "")]
    right = {read.band.measure: read.value for read in drink.mix.reads}
    rows.append(
        (
            say("rehydrate.slip-right"),
            _whole(right.get("sodium-ions")),
            _whole(right.get("dissolved")),
            "",
        )
    )
    rows += [
        (slip_words(slip), _whole(slip.sodium), _whole(slip.osmolality), harm_words(slip))
        for slip in drink.slips
    ]
    lines = ["", say("rehydrate.slips"), *words.table(rows, right=(1, 2))]
    if drink.designed is not None:
        best = "by-best" if drink.designed.complete else "by-best-gap"
        lines.append(words.paragraph(say(f"rehydrate.{best}")))
    if (line := weigh_words(answer)) is not None:
        lines.append(words.paragraph(f"{line} {how('scale')}".rstrip()))
    return lines


def weigh_words(answer: Rehydration) -> str | None:
    """How much safer weighing is; None if nothing was compared."""
    if answer.weighed is None or answer.drink is None or answer.drink.designed is None:
        return None
    spoons, scale = answer.weighed.spoons_sodium, answer.weighed.scale_sodium
    name = "scale" if answer.drink.designed.by_scale else "spoons"
    if abs(spoons - scale) < 0.02 * spoons:
        name = "same"
    return say(f"rehydrate.weigh.{name}", spoons=_whole(spoons), scale=_whole(scale))


def _whole(figure: float | None) -> str:
    return "?" if figure is None else f"{figure:.0f}"


# --- how much and when --------------------------------------------------------------------------


def when_lines(answer: Rehydration, how: How = no_how) -> list[str]:
    """Amounts and times."""
    table = _flock_lines(answer) if len(answer.animals) > 1 else []
    bullets = [words.bullet(text) for text in when_sentences(answer, how)]
    return [say("rehydrate.when.title"), *table, *bullets]


def when_sentences(answer: Rehydration, how: How = no_how) -> list[str]:
    """Amounts and times, of one animal or of any; a flock's amounts are a table."""
    told = []
    if len(answer.animals) == 1:
        told += animal_sentences(answer.animals[0], answer)
    elif not answer.animals:
        ask = f"{say('rehydrate.when.weigh-it')} {how('flock-weight')}".rstrip()
        told += [_per_kilogram(), ask]
    *held, write = rules()
    name = next((one.name for one in answer.animals if one.name and one.amounts), "NAME")
    return [*told, *held, f"{write} {how('write-drink', animal=name)}".rstrip()]


def _flock_lines(answer: Rehydration) -> list[str]:
    """Every animal in a line, and why some have none."""
    bands = next((animal.amounts for animal in answer.animals if animal.amounts), ())
    rows = [("", "", *(say("rehydrate.when.if-band", band=band.text) for band, _ in bands))]
    told = []
    for animal in answer.animals:
        weight = say("rehydrate.when.kilograms", kilograms=number(animal.kilograms))
        if animal.stopped:
            told.append(none_words(animal))
            continue
        amounts = (amount_words(amount, answer.kitchen) for _, amount in animal.amounts)
        rows.append((animal.name, weight, *amounts))
    return [*words.table(rows), *map(words.bullet, told)]


def none_words(animal: AnimalDrink) -> str:
    """That an animal gets none, and why."""
    name = "stopped" if animal.name else "stopped-plain"
    return say(f"rehydrate.when.{name}", name=animal.name, why=animal.stopped)


def amount_words(amount: DrinkAmount, kitchen: Kitchen) -> str:
    """A day's drinks: "2 x 89 mL (3 fl oz)"."""
    each = bottle_words(amount.millilitres, kitchen)
    return say("rehydrate.when.amount", each=each, times=amount.times)


def rules() -> list[str]:
    """What holds for every animal."""
    figures = {
        "hours": number_plain(value("drink-milk-gap")),
        "most": number_plain(value("drink-most-per-day")),
        "again": number_plain(value("drink-look-again")),
        "longest": number_plain(value("drink-longest")),
    }
    gap = say("rehydrate.when.gap", **(figures | {"hours": int(value("drink-milk-gap"))}))
    again, more = say("rehydrate.when.again", **figures), say("rehydrate.when.more", **figures)
    return [gap, again, more, say("rehydrate.when.log")]


def _per_kilogram() -> str:
    little, clear = Dryness.LITTLE, Dryness.CLEAR
    return say(
        "rehydrate.when.per-kilogram",
        little=number_plain(value("drink-day-little")),
        clear=number_plain(value("drink-day-clear")),
        little_band=little.text,
        clear_band=clear.text,
        little_times=number_plain(value("drink-times-little")),
        clear_times=number_plain(value("drink-times-clear")),
        most=number_plain(value("cap-per-feed")),
    )


def animal_sentences(animal: AnimalDrink, answer: Rehydration) -> list[str]:
    """How much one animal is given, and its day."""
    if animal.stopped:
        return [none_words(animal)]
    told = [
        say(
            f"rehydrate.when.{'one' if animal.name else 'one-plain'}",
            name=animal.name,
            kilograms=number(animal.kilograms),
            amount=amount_words(amount, answer.kitchen),
            band=band.text,
        )
        for band, amount in animal.amounts
    ]
    return told + (day_sentences(animal) if len(answer.animals) == 1 else [])


def day_sentences(animal: AnimalDrink) -> list[str]:
    """An animal's day of milk and drinks; empty if it is not known."""
    if not animal.sittings:
        return []
    sittings = [
        say(f"rehydrate.when.{'drink' if sitting.drink else 'milk'}", at=f"{sitting.at:%H:%M}")
        for sitting in animal.sittings
    ]
    told = [say("rehydrate.when.day", name=animal.name, sittings=", ".join(sittings))]
    fits = sum(sitting.drink for sitting in animal.sittings)
    if fits < animal.amounts[-1][1].times:
        told.append(say("rehydrate.when.fewer", fits=fits))
    return told


# --- none ---------------------------------------------------------------------------------------


def _none_lines(answer: Rehydration) -> list[str]:
    first, *more = none_sentences(answer)
    if isinstance(answer.none, NoSpoons):
        return [words.paragraph(first)]
    return [first, *map(words.bullet, more)]


def none_sentences(answer: Rehydration) -> list[str]:
    """Why no drink can be made, and what would make one possible."""
    if isinstance(answer.none, NoSpoons):
        nearest = answer.none.nearest
        water = answer.water
        if nearest is None:
            return [say("rehydrate.none.spoons-scale", water=water)]
        name = "scale" if answer.by_scale else "spoons"
        return [say(f"rehydrate.none.{name}", water=water, other=nearest.measures[0].words)]
    told = [say("rehydrate.none.title")]
    if not answer.missing:
        return [*told, say("rehydrate.none.nothing")]
    sets = [listed([name.replace("-", " ") for name in foods]) for foods in answer.missing]
    first, *more = sets
    told.append(say("rehydrate.none.needs", foods=first))
    return told + [say("rehydrate.none.needs-or", foods=foods) for foods in more]


# --- JSON ---------------------------------------------------------------------------------------


def rehydrate_shape(answer: Rehydration) -> Shape:
    """The answer as JSON."""
    check, drink = answer.check, answer.drink
    status = "none"
    if drink is not None:
        status = "checked" if drink.designed is None else "designed"
    elif not check.may_drink:
        status = "veterinarian"
    shape: Shape = {
        "status": status,
        "verdict": None,
        "verdict_why": [],
        "agreed": answer.agreed,
        "may_drink": check.may_drink,
        "signs": {
            "band": None if check.band is None else check.band.value,
            "percent": None if check.band is None else check.band.percent,
            "veterinarian_now": [
                {"id": a.id, "text": a.text, "source": a.source, "stops": a.stops}
                for a in check.alarms
            ],
            "not_looked_at": [sign.id for sign in check.missing],
            "asks": [
                {
                    "id": sign.id,
                    "ask": sign.ask,
                    "choices": [choice.word for choice in sign.choices],
                    "source": sign.source,
                }
                for sign in signs_of_scour().values()
            ],
        },
        "kitchen": answer.kitchen.value,
        "drink": None if drink is None else _drink_shape(drink),
        "weighing": None,
        "animals": [_animal_shape(animal) for animal in answer.animals],
        "would_need": [list(foods) for foods in answer.missing],
        "cautions": [],
    }
    if drink is not None:
        judged = verdict_shape(drink.judgement)
        shape |= {"verdict": judged["verdict"], "verdict_why": judged["verdict_why"]}
        shape["cautions"] = [caution_shape(caution) for caution in drink.judgement.cautions]
    if answer.weighed is not None:
        shape["weighing"] = {
            "spoons": {
                "sodium": answer.weighed.spoons_sodium,
                "osmolality": answer.weighed.spoons_osmolality,
            },
            "scale": {
                "sodium": answer.weighed.scale_sodium,
                "osmolality": answer.weighed.scale_osmolality,
            },
        }
    return shape


def _drink_shape(drink: DrinkTold) -> Shape:
    reads = [read_shape(r) for r in drink_reads(drink) if r.band.role is not Role.SHOWN]
    shape: Shape = {
        "recipe": drink.text,
        "measures": [{"food": m.food, "words": m.words, "grams": m.grams} for m in drink.measures],
        "amounts": amounts_shape(drink.mix),
        "reads": reads,
        "slips": [
            {
                "slip": slip.kind.value,
                "food": slip.food or None,
                "sodium": slip.sodium,
                "potassium": slip.potassium,
                "strong_ion_difference": slip.difference,
                "glucose": slip.glucose,
                "osmolality": slip.osmolality,
                "harm": harm_words(slip) or None,
            }
            for slip in drink.slips
        ],
        "certificate": None,
    }
    made = drink.designed
    if made is not None:
        proof = made.exact.certificate
        assert proof is not None
        shape |= {
            "by_scale": made.by_scale,
            "strong": made.strong,
            "certificate": {"primal": proof.primal, "dual": proof.dual, "gap": proof.gap},
            "exact": {
                food: float(grams)
                for food, grams in zip(made.exact.shelf.ids, made.exact.grams, strict=True)
                if grams > 0
            },
            "search": {"complete": made.complete},
            "worst_slip": {"sodium": made.worst_sodium, "osmolality": made.worst_osmolality},
        }
    return shape


def _animal_shape(animal: AnimalDrink) -> Shape:
    return {
        "animal": animal.name or None,
        "kilograms": animal.kilograms,
        "stopped": animal.stopped or None,
        "amounts": [
            {
                "band": band.value,
                "millilitres": amount.millilitres,
                "times": amount.times,
                "millilitres_a_day": amount.a_day,
            }
            for band, amount in animal.amounts
        ],
        "day": [
            {"at": f"{sitting.at:%H:%M}", "what": "drink" if sitting.drink else "milk"}
            for sitting in animal.sittings
        ],
    }
