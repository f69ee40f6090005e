"""Pictures as hand-written SVG: a value on its range, and weights over age.

Grey, hatching and shape carry the meaning, never colour alone. Every picture has its words in
a title, for those who cannot see it. No styles inside: the style sheet dresses the classes.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from markupsafe import Markup, escape

from formulate.base.messages import say
from formulate.foods.bands import Read, Standing
from formulate.report import words

__all__ = ["growth_picture", "read_picture"]

#: The rule of a read runs from 0 to 300; its range, where closed, is the middle third.
_END, _THIRD = 300.0, 100.0
_EDGE = 9.0
_DROP = "M0-17C5-8 9-4 9 2A9 9 0 1 1-9 2C-9-4-5-8 0-17Z"


def read_picture(read: Read, likely: tuple[float, float] | None = None) -> Markup:
    """A read as a drop on a rule; the white gap is its range.

    Parameters
    ----------
    read : Read
    likely : tuple of float, optional
        What 19 of 20 batches read, drawn as a bar below.
    """
    band = read.band
    start = 0.0 if math.isinf(band.low) else _THIRD
    end = _END if math.isinf(band.high) else 2 * _THIRD
    parts = [
        f'<rect class="ground" x="0" y="22" width="{_END:g}" height="14" fill="url(#hatch)"/>',
        f'<rect class="gap" x="{start:g}" y="22" width="{end - start:g}" height="14"/>',
    ]
    for x, bound in ((start, band.low), (end, band.high)):
        if math.isfinite(bound):
            parts.append(f'<path class="post" d="M{x:g} 14V42"/>')
            parts.append(
                f'<text class="bound" x="{x:g}" y="58" text-anchor="middle">'
                f"{escape(words.bound(bound))}</text>"
            )
    if likely is not None:
        low, high = (_inside(_place(read, value)) for value in likely)
        parts.append(f'<path class="spread" d="M{low:.1f} 40H{max(high, low + 1):.1f}"/>')
    if read.value is not None:
        x = _inside(_place(read, read.value))
        look = "drop" if read.standing is Standing.INSIDE else "drop drop-out"
        parts.append(f'<path class="{look}" d="{_DROP}" transform="translate({x:.1f} 26)"/>')
    return _svg(f"-8 4 {_END + 16:g} 58", "read", _read_words(read), parts)


def _place(read: Read, value: float) -> float:
    """Where a value lies on the rule."""
    band = read.band
    if math.isinf(band.low):
        return 2 * _THIRD * value / band.high if band.high > 0 else _THIRD
    if math.isinf(band.high):
        return _THIRD * value / band.low if band.low > 0 else 2 * _THIRD
    return _THIRD + _THIRD * (value - band.low) / ((band.high - band.low) or band.width)


def _inside(x: float) -> float:
    return min(max(x, _EDGE), _END - _EDGE)


def _read_words(read: Read) -> str:
    band = read.band
    label = band.label
    if read.value is None:
        return say("pictures.drop.unknown", label=label)
    if read.standing is Standing.BELOW:
        return say("pictures.drop.low", label=label)
    if read.standing is Standing.ABOVE:
        return say("pictures.drop.high", label=label)
    if math.isinf(band.high):
        return say("pictures.drop.inside", label=label)
    low = 0.0 if math.isinf(band.low) else band.low
    part = (read.value - low) / ((band.high - low) or 1.0)
    where = "near-low" if part < 0.15 else "near-high" if part > 0.85 else "well-in"
    return say(f"pictures.drop.{where}", label=label)


def growth_picture(
    name: str,
    weights: Sequence[tuple[int, float]],
    forecast: Sequence[tuple[int, float, float, float]],
    words: str,
) -> Markup:
    """Weights over age: dots by the scale, a grey band where its milk should bring it.

    Parameters
    ----------
    name : str
        Of the animal.
    weights : sequence of (int, float)
        Age [d] and weight [kg].
    forecast : sequence of (int, float, float, float)
        Age [d]; low, expected and high weight [kg].
    words : str
        The same as a sentence.
    """
    days = [age for age, _ in weights] + [row[0] for row in forecast]
    heavy = [kg for _, kg in weights] + [row[3] for row in forecast]
    last, top = max([*days, 7]), max([*heavy, 5.0]) * 1.08
    left, right, base, head = 44.0, 332.0, 176.0, 12.0

    def x(day: float) -> float:
        return left + (right - left) * day / last

    def y(kilograms: float) -> float:
        return base - (base - head) * kilograms / top

    parts = [f'<path class="axis" d="M{left:g} {head:g}V{base:g}H{right:g}"/>']
    step = next(s for s in (1, 2, 5, 10, 20, 50) if top / s <= 6)
    for mark in range(0, int(top) + 1, step):
        parts.append(
            f'<text class="bound" x="{left - 6:g}" y="{y(mark) + 5:.1f}" '
            f'text-anchor="end">{mark}</text>'
        )
    weeks = next(s for s in (7, 14, 28, 56) if last / s <= 7)
    for mark in range(0, last + 1, weeks):
        parts.append(
            f'<text class="bound" x="{x(mark):.1f}" y="{base + 18:g}" '
            f'text-anchor="middle">{mark}</text>'
        )
    parts.append(
        f'<text class="bound" x="{left + 8:g}" y="{head + 4:g}">{say("pictures.growth.kg")}</text>'
    )
    parts.append(
        f'<text class="bound" x="{right:g}" y="{base + 34:g}" text-anchor="end">'
        f"{say('pictures.growth.days-old')}</text>"
    )
    if forecast:
        upper = [f"{x(a):.1f} {y(high):.1f}" for a, _, _, high in forecast]
        lower = [f"{x(a):.1f} {y(low):.1f}" for a, low, _, _ in reversed(forecast)]
        middle = [f"{x(a):.1f} {y(mid):.1f}" for a, _, mid, _ in forecast]
        parts.append(f'<path class="hope" d="M{"L".join(upper + lower)}Z"/>')
        parts.append(f'<path class="middle" d="M{"L".join(middle)}"/>')
    if len(weights) > 1:
        line = "L".join(f"{x(a):.1f} {y(kg):.1f}" for a, kg in weights)
        parts.append(f'<path class="axis" d="M{line}"/>')
    parts += [f'<circle class="dot" cx="{x(a):.1f}" cy="{y(kg):.1f}" r="6"/>' for a, kg in weights]
    return _svg("0 0 340 214", "growth", f"{name}. {words}", parts)


def _svg(box: str, kind: str, words: str, parts: Sequence[str]) -> Markup:
    return Markup(
        f'<svg class="{kind}" viewBox="{box}" role="img" aria-label="{escape(words)}">'
        f"<title>{escape(words)}</title>{''.join(parts)}</svg>"
    )
