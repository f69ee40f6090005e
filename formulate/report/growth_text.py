"""Growth against the feed as plain text."""

from __future__ import annotations

from collections.abc import Sequence

from formulate.answers.today import Today
from formulate.base.messages import say as message
from formulate.rearing.figures import value
from formulate.rearing.growth import Alarm, GrowthCheck, Stretch
from formulate.report import words as say
from formulate.report.levels_text import compared_words
from formulate.report.today_text import title, verdict_lines

__all__ = ["growth_text"]


def growth_text(today: Today) -> str:
    """Gains against what the feed should give, alarms, and what to look at first."""
    lines = [title(today), *verdict_lines(today)]
    checks = [one.check for one in today.animals if one.check is not None]
    for one in today.animals:
        if one.check is not None:
            lines += ["", *_check_lines(one.check)]
        else:
            lines += ["", *(say.bullet(bar.text, "") for bar in one.bars[:1])]
    lines += ["", today.signs.text, *(say.bullet(sign) for sign in today.signs.look)]
    lines += ["", *_growth_notes(checks)]
    return "\n".join(lines)


def _check_lines(check: GrowthCheck) -> list[str]:
    animal = check.animal
    last = animal.last_weight
    lines = [f"{animal.name}, {animal.species}: {last.kilograms:.2f} kg on {last.day}"]
    rows: list[tuple[str, ...]] = [("from", "to", "gain", "its feed should give", "milk", "")]
    rows += [_stretch_row(stretch) for stretch in check.stretches]
    if check.stretches:
        lines += say.table(rows, right=(2,))
    for alarm in check.alarms:
        lines += _alarm_lines(alarm)
    if check.stretches and not check.alarms:
        lines.append(say.bullet(compared_words("growth.as-expected", animal.species), "  "))
    return lines


def _stretch_row(stretch: Stretch) -> tuple[str, ...]:
    low, _, high = stretch.expected
    how = "logged" if stretch.logged else "by plan"
    if stretch.creep > 0:
        how = message("growth.creep", how=how, creep=stretch.creep)
    return (
        f"{stretch.start.day}",
        f"{stretch.end.day}",
        f"{stretch.gain * 1e3:,.0f} g/d",
        f"{low * 1e3:,.0f} to {high * 1e3:,.0f} g/d".replace("-", "−"),
        f"{stretch.litres:.2f} L/d",
        how,
    )


def _alarm_lines(alarm: Alarm) -> list[str]:
    lines = [say.bullet(alarm.text, "  ! ")]
    lines += [say.bullet(text, f"    {n}. ") for n, text in enumerate(alarm.look, 1)]
    if alarm.veterinarian:
        lines.append("    If that does not explain it at once, call a veterinarian.")
    return lines


def _growth_notes(checks: Sequence[GrowthCheck]) -> list[str]:
    error = value("scale-error")
    texts = [
        f'A scale is taken to be right within {error * 1e3:,.0f} g. Milk "by plan" was not logged: '
        "it is what a plan would have given.",
        message("growth.interval"),
    ]
    kinds = sorted({check.animal.species for check in checks}, reverse=True)
    texts += [compared_words(f"growth.compared-{kind}", kind) for kind in kinds]
    texts.append(message("growth.level"))
    return [say.bullet(text, "  ") for text in texts]
