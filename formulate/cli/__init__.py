"""One module a command, imported when the command is asked for."""

from __future__ import annotations

from collections.abc import Mapping

#: Command names with what each does, in the order of use.
COMMANDS: Mapping[str, str] = {
    "mix": "Design the cheapest mix from a pantry.",
    "page": "Open the page for the kitchen in the browser.",
    "check": "Read a recipe against a reference.",
    "compare": "Rank recipes by cost.",
    "carton": "Read a nutrition panel or a bag's guarantee.",
    "prices": "Show which recipe is cheapest as prices move.",
    "foods": "List foods, or show one.",
    "bands": "List reference ranges, or show one set.",
    "card": "Print a card for the refrigerator door.",
    "label": "Print labels for jars: not for people.",
    "start": "Write a sample pantry and flock to edit.",
    "today": "Say on one screen what to feed now, to whom.",
    "feed": "Plan each animal's milk to weaning; log what it drank.",
    "note": "Write down anything: a feed, a temperature, an animal sold; take it back.",
    "weigh": "Log a weight.",
    "growth": "Compare each animal's growth with what its feed should support.",
    "rehydrate": "When one scours: signs, a drink, how much and when.",
    "shop": "List what to buy, trip by trip, to the end of weaning.",
    "season": "Tell what rearing costs, from birth to weaning.",
}
