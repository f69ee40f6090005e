"""Growth, compared with the feed, as plain text."""

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

#: Columns of the weighings.
_COLUMNS = ("from", "to", "gain", "expected", "milk")


def growth_text(today: Today) -> str:
    """Gains compared with what the feed should support, alarms, and what to look at first."""
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
    lines = [
        message(
            "growth.weighed",
            animal=animal.name,
            species=animal.species,
            kilograms=last.kilograms,
            day=last.day,
        )
    ]
    rows: list[tuple[str, ...]] = [(*(message(f"growth.column.{name}") for name in _COLUMNS), "")]
    rows += [_stretch_row(stretch) for stretch in check.stretches]
    if check.stretches:
        lines += say.table(rows, right=(2,))
    for alarm in check.alarms:
        lines += _alarm_lines(alarm)
    if not check.stretches and not check.alarms:
        lines.append(say.bullet(message("growth.one-weight"), "  "))
    if check.stretches and not check.alarms:
        lines.append(say.bullet(compared_words("growth.as-expected", animal.species), "  "))
    return lines


def _stretch_row(stretch: Stretch) -> tuple[str, ...]:
    low, _, high = stretch.expected
    how = message("growth.logged" if stretch.logged else "growth.planned")
    if stretch.creep > 0:
        how = message("growth.creep", how=how, creep=stretch.creep)
    return (
        f"{stretch.start.day}",
        f"{stretch.end.day}",
        f"{stretch.gain * 1e3:,.0f} g/d".replace("-", "−"),
        message("growth.gain-range", low=low * 1e3, high=high * 1e3).replace("-", "−"),
        f"{stretch.litres:.2f} L/d",
        how,
    )


def _alarm_lines(alarm: Alarm) -> list[str]:
    lines = [say.bullet(alarm.text, "  ! ")]
    lines += [say.bullet(text, f"    {n}. ") for n, text in enumerate(alarm.look, 1)]
    if alarm.veterinarian:
        lines.append(say.bullet(message("growth.veterinarian"), "    "))
    return lines


def _growth_notes(checks: Sequence[GrowthCheck]) -> list[str]:
    error = value("scale-error")
    texts = [
        message("growth.scale", grams=error * 1e3),
        message("growth.interval"),
    ]
    kinds = sorted({check.animal.species for check in checks}, reverse=True)
    texts += [compared_words(f"growth.compared-{kind}", kind) for kind in kinds]
    texts.append(message("growth.level"))
    return [say.bullet(text, "  ") for text in texts]
