"""Compare words that people spell in several ways, and keep what they type as one line."""

from __future__ import annotations

import unicodedata

__all__ = ["one_line", "plain_letters"]

#: Letters that turn the direction of what follows them, on a terminal as on a page.
_TURNS = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
#: Letters of a name or a note.
LONGEST = 60


def one_line(text: str) -> str:
    r"""What was typed, as one line of at most 60 letters that moves no cursor and turns no text.

    Examples
    --------
    >>> one_line("  Ann\r\n of the \x1b[31mbarn ")
    'Ann of the [31mbarn'
    """
    kept = "".join(" " if _unfit(letter) else letter for letter in text)
    return " ".join(kept.split())[:LONGEST].rstrip()


def _unfit(letter: str) -> bool:
    return letter in _TURNS or unicodedata.category(letter) in ("Cc", "Zl", "Zp")


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
