"""What the documents take from the program: console blocks, and the map's modules.

``python tests/readme.py`` puts what the commands print today into the README and the manual, and
the modules of each room into DEVELOPERS.md.
"""

from __future__ import annotations

import contextlib
import functools
import io
import re
import shlex
import textwrap
from pathlib import Path

ROOT = Path(__file__).parent.parent
README = ROOT / "README.md"
DEVELOPERS = ROOT / "DEVELOPERS.md"
MANUAL = sorted((ROOT / "formulate" / "report" / "manual" / "en").glob("*.md"))
MODULES = re.compile(r"(?<=<!-- modules -->\n).*?(?=<!-- end of modules -->)", re.DOTALL)
TOPICS = re.compile(r"(?<=<!-- topics -->\n).*?(?=<!-- end of topics -->)", re.DOTALL)
#: The rooms, doors first, those inside another after it.
ROOMS = (
    *(
        "cli",
        "page",
        "page/sharing",
        "library",
        "report",
        "report/manual",
        "report/pictures",
        "report/printed",
        "answers",
    ),
    *(
        "shopping",
        "rearing",
        "kitchen",
        "instruments",
        "pantry",
        "pantry/labels",
        "blend",
        "blend/whole",
    ),
    *("blend/prices", "blend/protect", "foods", "base"),
)
#: Commands that stop searching after some time, and would print what they have by then.
SEARCHES = ("shop", "season")
BLOCK = re.compile(r"```console\n\$ (?P<command>formulate [^\n]*)\n(?P<output>.*?)```", re.DOTALL)


@functools.cache
def printed_whole(command: str) -> str:
    """All that a command prints, on either stream."""
    from formulate.cli.main import run

    arguments = shlex.split(command)[1:]
    if arguments[0] in SEARCHES:  # what is printed does not depend on how busy the computer is
        arguments += ["--seconds", "3600"]
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
        run(arguments)
    return out.getvalue()


def printed_by(command: str) -> str:
    """What a command prints; it may end in "| head -N", "| tail -N" or "| grep -AN WORDS"."""
    command, _, cut = command.partition(" | ")
    lines = printed_whole(command).splitlines(keepends=True)
    if not cut:
        return "".join(lines)
    which, count, *words = shlex.split(cut.replace(" -A", " ").replace(" -", " "))
    size = int(count)
    if which == "grep":
        found = [number for number, line in enumerate(lines) if words[0] in line]
        if not found:
            raise LookupError(f'"{command}" prints no line with "{words[0]}"')
        return "".join(lines[found[0] : found[0] + size + 1])
    return "".join(lines[:size] if which == "head" else lines[-size:])


def rewritten(text: str) -> str:
    """A document with every block as it would print now."""

    def block(found: re.Match[str]) -> str:
        command = found["command"]
        return f"```console\n$ {command}\n{printed_by(command)}```"

    return TOPICS.sub(lambda _: topic_list(), BLOCK.sub(block, text))


def topic_list() -> str:
    """Every topic of the manual, as the README lists them."""
    from formulate.report.manual import topics

    folder = "formulate/report/manual/en"
    return (
        "\n"
        + "".join(f"- [{one.title}]({folder}/{one.name}.md). {one.line}\n" for one in topics())
        + "\n"
    )


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
    for document in (README, *MANUAL):
        document.write_text(rewritten(document.read_text(encoding="utf-8")), encoding="utf-8")
