"""Folders of pantry files made by number, as an adviser has them of many clients."""

from __future__ import annotations

import random
from pathlib import Path

__all__ = ["BROKEN", "made_folder", "pantry_text", "price_list_text"]

#: Foods with their package and about what it costs.
FOODS = {
    "whole-milk": ("1 gallon", 3.80),
    "evaporated-milk": ("12 fl oz", 1.70),
    "heavy-cream": ("1 pint", 4.20),
    "nonfat-dry-milk": ("25 oz", 9.90),
    "lowfat-buttermilk": ("1 quart", 2.60),
    "half-and-half": ("1 quart", 3.90),
    "skim-milk": ("1 gallon", 3.40),
    "greek-yogurt": ("32 oz weight", 5.50),
    "goat-milk": ("1 quart", 5.20),
    "unsalted-butter": ("1 lb", 5.00),
}
#: Three files that cannot be read, each with a word of its error.
BROKEN = {
    "not TOML": 'currency = "USD"\n[foods.whole-milk\n',
    "whole-mlk": 'currency = "USD"\nprices_on = 2026-11-02\n[foods.whole-mlk]\n'
    'price = 3.8\npackage = "1 gallon"\n',
    "package": 'currency = "USD"\nprices_on = 2026-11-02\n[foods.whole-milk]\nprice = 3.8\n',
}


def pantry_text(seed: int, most: int = 7) -> str:
    """A pantry of some foods at some prices; most can make a milk in range, some cannot."""
    chance = random.Random(seed)
    foods = chance.sample(sorted(FOODS), chance.randint(2, most))
    if chance.random() < 0.9:
        foods = list(dict.fromkeys(["whole-milk", "evaporated-milk", "heavy-cream", *foods]))
    lines = [f'name = "Client {seed}"', 'currency = "USD"', "prices_on = 2026-11-02"]
    for food in foods:
        package, price = FOODS[food]
        lines += [
            f"[foods.{food}]",
            f"price = {price * chance.uniform(0.6, 1.6):.2f}",
            f'package = "{package}"',
        ]
        if chance.random() < 0.1:
            lines.append('on_hand = "1 lb"')
        if chance.random() < 0.1:
            lines.append('largest_share = "30 %"')
    return "\n".join(lines) + "\n"


def price_list_text(seed: int) -> str:
    """A price list of every food."""
    chance = random.Random(seed)
    lines = ["food,price,package,currency,date"]
    for food, (package, price) in FOODS.items():
        lines.append(f"{food},{price * chance.uniform(0.6, 1.6):.2f},{package},USD,2026-11-09")
    return "\n".join(lines) + "\n"


def made_folder(folder: Path, count: int, broken: bool = False) -> Path:
    """So many pantry files, three of them broken where that is asked."""
    folder.mkdir(parents=True, exist_ok=True)
    bad = list(BROKEN.values()) if broken else []
    for number in range(count):
        text = (
            bad[number // 10] if bad and number % 10 == 5 and number < 30 else pantry_text(number)
        )
        (folder / f"client_{number:05}.toml").write_text(text, encoding="utf-8")
    return folder
