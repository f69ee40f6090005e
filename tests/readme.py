"""The README's console blocks: read them, run them, write them again.

``python tests/readme.py`` puts what the commands print today into the README.
"""

from __future__ import annotations

import contextlib
import io
import re
import shlex
from pathlib import Path

README = Path(__file__).parent.parent / "README.md"
BLOCK = re.compile(r"```console\n\$ (?P<command>formulate [^\n]*)\n(?P<output>.*?)```", re.DOTALL)


def printed_by(command: str) -> str:
    """What a command prints; it may end in "| head -N", "| tail -N" or "| grep -AN WORDS"."""
    from formulate.cli.main import run

    command, _, cut = command.partition(" | ")
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        run(shlex.split(command)[1:])
    lines = out.getvalue().splitlines(keepends=True)
    if cut:
        which, count, *words = shlex.split(cut.replace(" -A", " ").replace(" -", " "))
        first = next((i for i, line in enumerate(lines) if words and words[0] in line), 0)
        size = int(count)
        lines = {
            "head": lines[:size],
            "tail": lines[-size:],
            "grep": lines[first : first + size + 1],
        }[which]
    return "".join(lines)


def rewritten(text: str) -> str:
    """The README with every block as it would print now."""

    def block(found: re.Match[str]) -> str:
        command = found["command"]
        return f"```console\n$ {command}\n{printed_by(command)}```"

    return BLOCK.sub(block, text)


if __name__ == "__main__":
    README.write_text(rewritten(README.read_text(encoding="utf-8")), encoding="utf-8")
