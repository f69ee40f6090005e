"""Odd requests, ten thousand of them when asked: never a fault of ours, nothing written without the
token, nothing read or written outside the folder. Everything that is opened is looked at."""

from __future__ import annotations

import mimetypes
import os
import re
import site
import sys
import sysconfig
import zoneinfo
from pathlib import Path
from urllib.parse import quote

import hypothesis.strategies as st
import matplotlib as mpl
import pytest
from hypothesis import HealthCheck, Phase, given, settings
from page.visitor import HOST, PORT, TOKEN

import formulate
import nutrient_tables
from formulate.page.app import create_app

A_BATCH = 40
SECRET = "the-secret-outside-the-folder"

WRITING = (
    "mix", "answer", "draft", "check", "save", "keep", "forget", "carton", "shelve", "food",
    "kitchen",
    "animal", "weigh", "fed", "who", "note", "change", "drink", "allow", "scour", "compare",
    "prices", "labels", "shelf", "rear", "keep-checked",
)  # fmt: skip
#: They take long: a search, or a sheet laid out.
SLOW = ("shop", "season", "card", "calendar", "drink-card", "taken", "shop-picture",
        "season-picture", "check-picture", "prices.csv?food.1=whole-milk&low.1=2&high.1=4",
        "growth.svg?on=x", "compare.png?more=x")  # fmt: skip
ROUTES = (
    *WRITING, *SLOW, "", "today", "animals", "animal?name=Pip", "food?id=whole-milk", "foods",
    "foods?show=x", "bands?name=x", "growth", "plan?on=x", "bottle?weight=4+kg&age=x",
    "milk", "version", "static/page.css",
    "static/", "pantry.toml", "flock.toml", "nowhere", "../secret.toml",
    "static/..%2f..%2fapp.py", "%00", "mix/", "//",
)  # fmt: skip
FIELDS = ("token", "seen", "row", "on", "price.whole-milk", "package.whole-milk", "whom", "make",
          "container", "most", "sure", "try", "add", "put", "recipe", "named", "keep_as", "kept",
          "c.name", "c.sold_as", "c.serving", "c.fat", "c.protein", "c.carbohydrate", "c.energy",
          "name", "weight", "amount", "what", "animal", "species", "born", "hour", "birth_weight",
          "mix", "once", "by", "somebody", "at", "back", "id", "on_hand", "use_by", "size.0",
          "size_price.0", "step", "largest_share", "country", "kitchen", "currency", "veterinarian",
          "allows", "food.1", "low.1", "high.1", "per", "more", "brix", "weigh", "keeps", "mix_at",
          "also", "paper", "eyes", "gums", "temperature", "water", "measure", "scours",
          "longer", "worst", "seconds", "numbers", "level", "weaning", "milk", "file",
          "points")  # fmt: skip
TELLING = ("", "0", "-1", "nan", "1e308", "2 quarts", "1 cup", "1/0 cup",
           "1 gallon jug of whole-milk", "whole-milk", "heavy-cream", "cod-liver-oil", "water",
           "1 cup whole-milk + 1 egg",
           "lamb-replacer", "doe-milk", "with:whole-milk,water", "most:1", "sure", "room", "lamb",
           "2026-11-14", "9999-12-31", "0001-01-01", "04:30", "5.6 kg", "Pip", "plain-milk",
           "../secret.toml", "../secret.json", "/etc/passwd", "\x00", "a\r\nb: c", "'''\n[own.x]",
           '"]\n[foods.water]', "☃" * 50, "½ cup", "12" * 300, "{{ 7 * 7 }}", "<script>",
           )  # fmt: skip

words = st.one_of(st.sampled_from(TELLING), st.text(max_size=30))
SHELF = [
    ("row", "whole-milk"), ("on", "whole-milk"), ("price.whole-milk", "3.89"),
    ("package.whole-milk", "1 gallon"), ("row", "heavy-cream"), ("on", "heavy-cream"),
    ("price.heavy-cream", "6.49"), ("package.heavy-cream", "1 quart"), ("row", "nonfat-dry-milk"),
    ("on", "nonfat-dry-milk"), ("price.nonfat-dry-milk", "11.99"),
    ("package.nonfat-dry-milk", "2 lb"),
]  # fmt: skip
field = st.tuples(st.one_of(st.sampled_from(FIELDS), st.text(max_size=8)), words)
odd_form = st.lists(field, max_size=12)
#: A form as the page sends it, some of it replaced or doubled.
near_form = st.lists(field, max_size=4).map(
    lambda odd: [pair for pair in SHELF if pair[0] not in {n for n, _ in odd[:2]}] + odd
)
headers = st.lists(
    st.sampled_from(
        [("Origin", f"http://{HOST}"), ("Origin", "null"), ("Host", "evil.example"),
         ("Host", f"localhost:{PORT}"), ("Cookie", "draft=e30="),
         ("Cookie", "draft=eyJmb29kcyI6eyJ3YXRlciI6WzEsMl19fQ==; by=Ann"), ("Content-Length", "-5"),
         ("Content-Type", "multipart/form-data; boundary=x"), ("Content-Type", "text/plain"),
         ("Content-Type", "application/x-www-form-urlencoded; charset=utf-99"),
         ("Transfer-Encoding", "chunked"), ("Cookie", "=;" * 40), ("Range", "bytes=9-1"),
         ("If-Modified-Since", "yesterday"), ("Accept", "\x7f"), ("Expect", "the worst")]
    ),
    max_size=3,
)  # fmt: skip
request = st.fixed_dictionaries(
    {
        "path": st.one_of(
            st.sampled_from(ROUTES),
            st.sampled_from(WRITING),
            st.sampled_from(WRITING),
            st.text(max_size=12).map(quote),
        ),
        "method": st.sampled_from(
            ["POST", "POST", "POST", "GET", "HEAD", "PUT", "OPTIONS", "BREW"]
        ),
        "form": st.one_of(odd_form, near_form),
        "body": st.one_of(st.none(), st.none(), st.none(), st.binary(max_size=60)),
        "headers": st.one_of(st.just([]), st.just([]), headers),
        "trusted": st.booleans(),
    }
)


class Watch:
    """What is opened while it watches: an audit hook cannot be taken away, only told to rest."""

    def __init__(self) -> None:
        self.on = False
        self.read: set[str] = set()
        self.written: set[str] = set()
        sys.addaudithook(self.hook)

    def hook(self, event: str, args: tuple) -> None:
        if not self.on:
            return
        if event == "open" and isinstance(args[0], str | bytes | os.PathLike):
            flags = args[2] or 0
            wrote = flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT)
            (self.written if wrote else self.read).add(os.fsdecode(args[0]))
        elif event in ("os.remove", "os.rename", "os.mkdir", "os.link", "os.symlink", "os.rmdir"):
            self.written.update(os.fsdecode(a) for a in args if isinstance(a, str | bytes | Path))
        elif event in ("subprocess.Popen", "os.system", "socket.connect"):
            self.written.add(event)


def snapshot(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


@pytest.fixture(scope="module")
def place(tmp_path_factory):
    outside = tmp_path_factory.mktemp("outside")
    (outside / "secret.toml").write_text(f'# {SECRET}\nname = "{SECRET}"\n')
    (outside / "secret.json").write_text(f'{{"amounts": "{SECRET}"}}')
    folder = outside / "folder"
    folder.mkdir()
    (folder / "secret.toml").symlink_to(outside / "secret.toml")
    return folder


def allowed() -> tuple[str, ...]:
    """Where a program reads itself from."""
    own = [Path(module.__file__).parent for module in (formulate, nutrient_tables)]
    python = [sys.prefix, sys.base_prefix, sysconfig.get_path("stdlib"), *site.getsitepackages()]
    return tuple(str(path) for path in [*own, *python])


@pytest.mark.parametrize("batches", [20, pytest.param(250, marks=pytest.mark.long)])
def test_odd_requests(place, batches):
    mpl.get_configdir()  # the letters of sheets come with it; it makes its own folder at home, once
    app = create_app(place, PORT, TOKEN)
    client = app.test_client(use_cookies=False)  # one with a jar takes away the header Cookie
    watch = Watch()
    count = {"asked": 0, "done": 0}
    samples = Path(nutrient_tables.__file__).parent
    (place / "flock.toml").write_bytes((samples / "sample_flock.toml").read_bytes())
    (place / "pantry.toml").write_bytes((samples / "sample_pantry.toml").read_bytes())

    @settings(
        max_examples=batches, deadline=None, derandomize=True, database=None,
        phases=(Phase.explicit, Phase.generate),
        suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    @given(st.lists(request, min_size=A_BATCH, max_size=A_BATCH))
    def ask(requests):
        before = snapshot(place)
        for one in requests:
            count["asked"] += 1
            fields = [pair for pair in one["form"] if pair[0] != "token"]
            if one["trusted"]:
                fields.append(("token", TOKEN))
            body = one["body"]
            if body is None:
                body = "&".join(f"{quote(n)}={quote(v)}" for n, v in fields).encode()
            sent = {"Host": HOST, "Content-Type": "application/x-www-form-urlencoded"}
            sent |= dict(one["headers"])
            watch.on = True
            try:
                # "//name" would be read by the client as another host, not sent as a path.
                path = re.sub(r"^/", "%2F", one["path"])
                reply = client.open(
                    f"/{path}", method=one["method"], data=body, headers=sent, buffered=True
                )
            finally:
                watch.on = False
            text = reply.data.decode("utf-8", "replace")  # a sheet to print is not text
            assert reply.status_code < 500, (one, text)
            assert SECRET not in text
            assert "Traceback" not in text
            if (
                one["trusted"]
                and reply.status_code in (200, 303, 409, 422)
                and one["method"] == "POST"
            ):
                count["done"] += 1
            else:
                assert one["trusted"] or one["method"] != "POST" or reply.status_code >= 400
                if not one["trusted"]:
                    now = snapshot(place)
                    assert now == before
            if one["trusted"]:
                before = snapshot(place)

    ask()
    assert count["asked"] >= batches * A_BATCH
    assert count["done"] > 0.03 * count["asked"]  # not everything was turned away at the door
    inside = str(place)
    outside = [p for p in watch.written if not p.startswith((inside, "/dev/null"))]
    assert not outside
    known = (inside, *allowed(), *mimetypes.knownfiles, *zoneinfo.TZPATH, "/dev/", "/proc/")
    strange = [p for p in watch.read if not p.startswith(known)]
    assert not strange
    assert str(place / "secret.toml") not in watch.read
