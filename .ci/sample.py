"""A user's own script, for checkers of types to go through."""

from __future__ import annotations

import formulate

pantry: formulate.Pantry = formulate.sample_pantry()
lamb: formulate.BandSet = formulate.band_set("lamb-replacer")
answer: formulate.MixAnswer = formulate.mix(pantry, lamb)
verdict: formulate.Verdict | None = answer.verdict
checked: formulate.CheckAnswer = formulate.check("1 gallon whole-milk", lamb)
read: formulate.Read = checked["fat"]
value: float | None = read.value
table = formulate.many(pantry, ["lamb-replacer", "ewe-milk"])
print(verdict, value, len(table))
