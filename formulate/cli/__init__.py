"""One module for each command, imported only when that command runs."""

from __future__ import annotations

#: Command names, in the order of use. What each does is said by the messages "help.NAME.line".
COMMANDS = (
    *("mix", "page", "check", "compare", "carton", "prices", "foods", "bands"),
    *("card", "label", "start", "today", "feed", "note", "weigh", "growth"),
    *("rehydrate", "shop", "season", "many", "manual"),
)
