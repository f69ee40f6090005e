"""Compare words that people spell in several ways."""

from __future__ import annotations

import unicodedata

__all__ = ["plain_letters"]


def plain_letters(text: str) -> str:
    """A text without case, accents and ligatures, its apostrophes straight.

    Examples
    --------
    >>> plain_letters("Blanc d’Œuf, demi-écrémé")
    "blanc d'oeuf, demi-ecreme"
    """
    plain = text.casefold()
    if plain.isascii():
        return plain.replace("`", "'")
    plain = plain.replace("œ", "oe").replace("æ", "ae")
    for sign in "’ʼ`":
        plain = plain.replace(sign, "'")
    letters = unicodedata.normalize("NFKD", plain)
    return "".join(letter for letter in letters if not unicodedata.combining(letter))
