"""What the documents take from the program: the README's console blocks, the map's modules.

``python tests/readme.py`` puts what the commands print today into the README, and the modules of
each room into DEVELOPERS.md.
"""

from __future__ import annotations

import contextlib
import io
import re
import shlex
import textwrap
from pathlib import Path

ROOT = Path(__file__).parent.parent
README = ROOT / "README.md"
DEVELOPERS = ROOT / "DEVELOPERS.md"
MODULES = re.compile(r"(?<=<!-- modules -->\n).*?(?=<!-- end of modules -->)", re.DOTALL)
#: The rooms, doors first, those inside another after it.
ROOMS = (
    *("cli", "page", "report", "report/pictures", "report/printed", "answers", "shopping"),
    *("rearing", "kitchen", "instruments", "pantry", "pantry/labels", "blend", "blend/whole"),
    *("blend/prices", "blend/protect", "foods", "base"),
)
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


def rooms() -> str:
    """Every room of the package with its modules, as DEVELOPERS.md lists them."""
    lines = []
    for room in ROOMS:
        found = sorted(path.stem for path in (ROOT / "formulate" / room).glob("*.py"))
        names = ", ".join(f"`{name}`" for name in found if name != "__init__")
        lines += textwrap.wrap(
            f"- **{room}/** {names}", 100, subsequent_indent="  ", break_on_hyphens=False
        )
    return "\n".join([*lines, ""])


if __name__ == "__main__":
    DEVELOPERS.write_text(
        MODULES.sub(lambda _: rooms(), DEVELOPERS.read_text(encoding="utf-8")), encoding="utf-8"
    )
    README.write_text(rewritten(README.read_text(encoding="utf-8")), encoding="utf-8")
