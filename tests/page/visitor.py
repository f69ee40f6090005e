"""A person at the page without scripts: reads forms, fills them in, presses buttons."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path

from formulate.page.app import create_app

PORT, TOKEN = 8377, "token-of-the-tests"
HOST = f"127.0.0.1:{PORT}"
#: Every address that shows a place; an animal and a food are those of the samples.
ADDRESSES = (
    "/", "/today", "/mix", "/animals", "/shop", "/shelf", "/check", "/compare", "/prices", "/foods",
    "/foods?show=whole-milk", "/certainty", "/bands", "/bands?name=lamb-replacer", "/print",
    "/season", "/growth", "/bottle",
    "/plan", "/scour", "/scour?name=Pip", "/milk", "/animal?name=Pip", "/carton", "/kitchen",
    "/food?id=whole-milk", "/help", "/help/feeding",
)  # fmt: skip


@dataclass
class Button:
    """A button and where it sends its form."""

    text: str = ""
    name: str = ""
    value: str = ""
    action: str = ""
    form: str = ""


@dataclass
class Page:
    """What a page has: its words, its forms' fields, its buttons."""

    status: int
    html: str
    headers: dict[str, str]
    fields: dict[str, list[tuple[str, str]]] = field(default_factory=dict)
    buttons: list[Button] = field(default_factory=list)
    text: str = ""

    def values(self, form: str, name: str) -> list[str]:
        return [value for key, value in self.fields[form] if key == name]

    def button(self, text: str, form: str = "") -> Button:
        found = [b for b in self.buttons if text in b.text and (not form or b.form == form)]
        assert found, f"no button {text!r} among {[b.text for b in self.buttons]}"
        return found[0]


class _Reader(HTMLParser):
    def __init__(self, page: Page) -> None:
        super().__init__()
        self.page, self.form, self.action = page, "", ""
        self.button: Button | None = None
        self.select, self.options = "", []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        a = {key: value or "" for key, value in attributes}
        if tag == "form":
            self.action = a["action"]
            self.form = a.get("id", self.action.strip("/").partition("#")[0])
            self.page.fields.setdefault(self.form, [])
        elif tag == "input" and a.get("name"):
            if a.get("type") not in ("checkbox", "radio") or "checked" in a:
                self.page.fields.setdefault(self.form, []).append((a["name"], a.get("value", "")))
        elif tag == "select":
            self.select, self.options = a["name"], []
        elif tag == "option" and self.select:
            self.options.append([a.get("value"), "selected" in a, ""])
        elif tag == "textarea":
            self.page.fields.setdefault(self.form, []).append((a["name"], ""))
        elif tag == "button":
            self.button = Button(
                "", a.get("name", ""), a.get("value", ""), a.get("formaction", self.action),
                self.form,
            )  # fmt: skip

    def handle_data(self, data: str) -> None:
        self.words.append(data)
        if self.button is not None:
            self.button.text += data
        if self.options and self.select:
            self.options[-1][2] += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "button" and self.button is not None:
            self.page.buttons.append(self.button)
            self.button = None
        elif tag == "select":
            chosen = next((o for o in self.options if o[1]), self.options[0] if self.options else 0)
            if chosen:
                value = chosen[2].strip() if chosen[0] is None else chosen[0]
                self.page.fields.setdefault(self.form, []).append((self.select, value))
            self.select = ""


def read_page(status: int, html: str, headers: dict[str, str] | None = None) -> Page:
    """Read a page as a browser would."""
    page = Page(status, html, headers or {})
    reader = _Reader(page)
    reader.feed(html)
    page.text = " ".join("".join(reader.words).split())
    return page


class Visitor:
    """A person in front of the page of a folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.app = create_app(folder, PORT, TOKEN)
        self.client = self.app.test_client()
        self.page = self.open()

    def open(self, address: str = "/") -> Page:
        reply = self.client.get(address, headers={"Host": HOST})
        html = reply.text if reply.mimetype.startswith("text/") else ""
        self.page = read_page(reply.status_code, html, dict(reply.headers))
        return self.page

    def at(self, address: str) -> Visitor:
        """Go to a place."""
        self.open(address)
        return self

    def press(
        self,
        button: str,
        form: str = "kitchen",
        typed: dict[str, str] | None = None,
        tick: Iterable[str] = (),
        untick: Iterable[str] = (),
    ) -> Page:
        """Fill in fields, then press a button of the page as it is."""
        pressed = self.page.button(button, form)
        fields = list(self.page.fields[form])
        for name, value in (typed or {}).items():
            fields = [pair for pair in fields if pair[0] != name] + [(name, value)]
        fields = [(n, v) for n, v in fields if not (n == "on" and v in set(untick))]
        fields += [("on", food) for food in tick]
        if pressed.name:
            fields.append((pressed.name, pressed.value))
        return self.send(pressed.action, fields)

    def send(self, address: str, fields: list[tuple[str, str]], **headers: str) -> Page:
        from werkzeug.datastructures import MultiDict

        reply = self.client.post(
            address.partition("#")[0], data=MultiDict(fields), headers={"Host": HOST, **headers}
        )
        if reply.status_code == 303:  # written: a browser goes on to the place where it shows
            return self.open(reply.headers["Location"].partition("#")[0])
        page = read_page(reply.status_code, reply.text, dict(reply.headers))
        if address != "/answer":
            self.page = page
        return page
