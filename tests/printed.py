"""What is on printed sheets, read back: words with their places and sizes, and hard cases."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import pypdfium2
import pypdfium2.raw as pdfium

from formulate.pantry.pantry import Pantry, parse_pantry
from formulate.pantry.recipe import Recipe, parse_recipe

POINT = 25.4 / 72

#: Foods whose names are as long as people write them.
LONG_OWN = (
    "whole-milk-from-the-neighbours-brown-cows-in-the-blue-crate",
    "skimmed-milk-of-the-dairy-beyond-the-old-mill-in-bottles",
    "double-cream-from-the-farm-gate-stall-on-saturday-mornings",
    "donaudampfschifffahrtsgesellschaftsvollmilchpulverdose",
)
TABLE_FOODS = (
    "whole-milk",
    "evaporated-milk",
    "lowfat-buttermilk",
    "heavy-cream",
    "nonfat-dry-milk-with-vitamins",
    "instant-nonfat-dry-milk-no-vitamins",
    "reduced-fat-milk-no-vitamins",
    "dry-whole-milk-no-vitamin-d",
)


def own(name: str) -> str:
    kind, weighs, values = {
        "whole": ("milk", "1 cup = 244 g", (88.0, 3.3, 3.4, 0.7)),
        "skimmed": ("milk", "1 cup = 245 g", (90.8, 3.4, 0.2, 0.75)),
        "double": ("cream", "1 cup = 238 g", (57.7, 2.1, 36.0, 0.45)),
        "donau": ("dry-milk", "1 cup = 128 g", (2.5, 26.0, 27.0, 6.0)),
    }[next(k for k in ("whole", "skimmed", "double", "donau") if name.startswith(k))]
    parts = dict(zip(("water", "protein", "fat", "ash"), values, strict=True))
    parts |= {"sodium": 45, "potassium": 150, "copper": 0.02, "calcium": 120, "phosphorus": 90}
    body = "\n".join(f"{key} = {value}" for key, value in parts.items())
    return (
        f'[foods.{name}]\nprice = 2.5\npackage = "2 lb"\n[own.{name}]\nname = "{name}"\n'
        f'kind = "{kind}"\nweighs = "{weighs}"\n[own.{name}.per_100_g]\n{body}\n'
    )


def long_pantry(kitchen: str = "us") -> Pantry:
    """Twelve foods with long names, all of them in one recipe."""
    foods = "".join(f'[foods.{f}]\nprice = 3.0\npackage = "1 lb"\n' for f in TABLE_FOODS)
    owns = "".join(own(name) for name in LONG_OWN)
    head = (
        'name = "Our kitchen at the far end of the long lane behind the chapel (invented)"\n'
        f'currency = "USD"\nprices_on = 2026-11-02\nkitchen = "{kitchen}"\n'
    )
    return parse_pantry(f"{head}{foods}{owns}", "long.toml")


def long_recipe(pantry: Pantry) -> Recipe:
    """All twelve in one recipe, which lies in the practical range for lambs."""
    amounts = ("1 cup", "1 can", "1 cup", "1/4 cup", "2 tbsp", "2 tbsp", "1 cup", "2 tbsp")
    own_amounts = ("3 cups", "1 cup", "3/4 cup", "1/2 cup")
    parts = zip((*amounts, *own_amounts), (*TABLE_FOODS, *LONG_OWN), strict=True)
    return parse_recipe(" + ".join(map(" ".join, parts)), pantry.table)


@dataclass(frozen=True)
class Piece:
    """A run of letters on a page: its box [mm] from the top left, and its size [pt]."""

    page: int
    left: float
    top: float
    right: float
    bottom: float
    text: str

    def meets(self, other: Piece, touch: float = 0.2) -> bool:
        return (
            self.page == other.page
            and self.left < other.right - touch
            and other.left < self.right - touch
            and self.top < other.bottom - touch
            and other.top < self.bottom - touch
        )


@dataclass(frozen=True)
class Sheet:
    """A PDF read back."""

    sizes: tuple[tuple[float, float], ...]
    pieces: tuple[Piece, ...]
    letters: tuple[float, ...]
    text: str


def read_back(path: Path) -> Sheet:
    """Read a PDF's text boxes, letter sizes and words with a PDF reader."""
    pieces, letters, words, sizes = [], [], [], []
    with pypdfium2.PdfDocument(path) as document:
        for number, page in enumerate(document):
            width, height = page.get_size()
            sizes.append((width * POINT, height * POINT))
            found = page.get_textpage()
            for i in range(found.count_rects()):
                left, bottom, right, top = found.get_rect(i)
                box = (left, height - top, right, height - bottom)
                text = found.get_text_bounded(left, bottom, right, top)
                pieces.append(Piece(number, *(v * POINT for v in box), text))
            for i in range(found.count_chars()):
                if chr(pdfium.FPDFText_GetUnicode(found, i)).strip():
                    letters.append(pdfium.FPDFText_GetFontSize(found, i))
            words.append(found.get_text_range())
    text = " ".join(" ".join(words).replace("\u00a0", " ").split())
    return Sheet(tuple(sizes), tuple(pieces), tuple(letters), text)
