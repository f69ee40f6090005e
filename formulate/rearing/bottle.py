"""A feed as a person reads it on a bottle."""

from __future__ import annotations

from formulate.base.messages import say
from formulate.base.units import Kitchen, unit_size

__all__ = ["bottle_words", "mark_words"]

#: A feed on a mark misses it by the tenth of a millilitre that the log keeps [fl oz].
_CLOSE = 0.004
#: From here on in litres [mL].
_LITRE = 1000.0
_QUARTERS = ("", "1/4", "1/2", "3/4")


def bottle_words(millilitres: float, kitchen: Kitchen) -> str:
    """A feed in millilitres, and in fluid ounces where the household has them.

    "266 mL (9 fl oz)"; off the marks "142 mL (about 4 3/4 fl oz)", never more than it is.
    """
    if millilitres < _LITRE and (mark := mark_words(millilitres, kitchen)):
        return f"{millilitres:,.0f} mL ({mark})"
    if millilitres >= _LITRE:
        return f"{millilitres / 1e3:.2f} L"
    if kitchen.metric:
        return f"{millilitres:,.0f} mL"
    ounces = _quarters(millilitres / unit_size("fl oz", kitchen))
    if not ounces:
        return f"{millilitres:,.0f} mL"
    return say("today.about-ounces", millilitres=millilitres, ounces=ounces)


def mark_words(millilitres: float, kitchen: Kitchen) -> str:
    """A feed in fluid ounces where it lies on a mark of half of one; else nothing."""
    if kitchen.metric:
        return ""
    ounces = millilitres / unit_size("fl oz", kitchen)
    if abs(2 * ounces - round(2 * ounces)) > _CLOSE or round(2 * ounces) < 1:
        return ""
    return f"{_quarters(ounces + _CLOSE)} fl oz"


def _quarters(ounces: float) -> str:
    """Down to the quarter, as "4 3/4"; empty below one."""
    whole, quarters = divmod(int(4 * ounces), 4)
    return " ".join(part for part in (str(whole) if whole else "", _QUARTERS[quarters]) if part)
