"""Who is let in, what is sent along, and that nothing is loaded from elsewhere."""

import re
from pathlib import Path

import pytest
from page.visitor import HOST, PORT, TOKEN, Visitor

import formulate.page
from formulate.page.app import create_app
from formulate.page.guard import LARGEST_BODY, LARGEST_FIELD

PAGE = Path(formulate.page.__file__).parent
URLENCODED = "application/x-www-form-urlencoded"
FORM = {"token": TOKEN, "whom": "lamb-replacer"}
ROUTES = ("mix", "answer", "draft", "check", "save", "keep", "forget", "carton", "shelve", "food",
          "kitchen", "animal", "weigh", "fed", "who", "note", "change", "drink", "allow", "scour",
          "shop", "season", "card", "labels", "calendar", "drink-card", "compare", "prices",
          "shelf")  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("guarded")


@pytest.fixture(scope="module")
def client(folder):
    return create_app(folder, PORT, TOKEN).test_client()


@pytest.mark.parametrize(
    "host",
    ["evil.example", f"evil.example:{PORT}", "127.0.0.1", "127.0.0.1:1", "localhost:80", "",
     f"127.0.0.1.evil.example:{PORT}", f"[::1]:{PORT}", f"0.0.0.0:{PORT}"],
)  # fmt: skip
def test_another_host_is_turned_away(client, host):
    reply = client.get("/", headers={"Host": host})
    assert reply.status_code == 403
    assert "whole milk" not in reply.text
    assert client.get("/static/page.css", headers={"Host": host}).status_code == 403


@pytest.mark.parametrize("host", [f"127.0.0.1:{PORT}", f"localhost:{PORT}", f"LocalHost:{PORT}"])
def test_this_computer_is_let_in(client, host):
    assert client.get("/", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize("route", ROUTES)
@pytest.mark.parametrize(
    ("token", "headers"),
    [
        ("", {}),
        ("wrong", {}),
        (TOKEN + "x", {}),
        ("ё", {}),
        (TOKEN, {"Origin": "http://evil.example"}),
        (TOKEN, {"Origin": "null"}),
        (TOKEN, {"Origin": f"https://127.0.0.1:{PORT}"}),
        (TOKEN, {"Origin": "http://127.0.0.1:1"}),
        (TOKEN, {"Sec-Fetch-Site": "cross-site"}),
        (TOKEN, {"Sec-Fetch-Site": "same-site"}),
    ],
)
def test_nothing_is_done_without_the_token_or_from_another_site(
    client, folder, route, token, headers
):
    reply = client.post(
        f"/{route}", data=FORM | {"token": token}, headers={"Host": HOST, **headers}
    )
    assert reply.status_code == 403
    assert list(folder.iterdir()) == []


def test_the_pages_own_forms_are_taken(client):
    for headers in ({"Origin": f"http://{HOST}", "Sec-Fetch-Site": "same-origin"}, {}):
        assert client.post("/mix", data=FORM, headers={"Host": HOST, **headers}).status_code == 200


def test_each_run_has_its_own_token(tmp_path):
    def token() -> str:
        page = create_app(tmp_path, PORT).test_client().get("/", headers={"Host": HOST}).text
        return re.search(r'name="token" value="([^"]+)"', page)[1]

    tokens = {token() for _ in range(3)}
    assert len(tokens) == 3
    assert min(map(len, tokens)) >= 32


@pytest.mark.parametrize(
    ("data", "kind", "status"),
    [
        ("x" * (LARGEST_BODY + 1), URLENCODED, 413),
        (
            f"token={TOKEN}&make={'x' * (LARGEST_FIELD + 1)}",
            URLENCODED,
            413,
        ),
        (f"token={TOKEN}&" + "a=1&" * 1200, URLENCODED, 413),
        ('{"token": "x"}', "application/json", 415),
        ("<x/>", "text/xml", 415),
        ("", "", 415),
    ],
)
def test_what_is_too_much_or_no_form_is_turned_away(client, data, kind, status):
    reply = client.post("/mix", data=data, content_type=kind, headers={"Host": HOST})
    assert reply.status_code == status
    assert "<h1>" in reply.text


def test_a_long_address_is_turned_away(client):
    assert client.get("/?" + "a" * 3000, headers={"Host": HOST}).status_code == 414


@pytest.mark.parametrize("method", ["put", "delete", "patch"])
def test_other_methods_do_nothing(client, method):
    headers = {"Host": HOST, "Origin": f"http://{HOST}"}
    assert getattr(client, method)("/save", data=FORM, headers=headers).status_code == 405
    assert client.get("/save", headers={"Host": HOST}).status_code == 405


@pytest.mark.parametrize(
    "path",
    ["/nowhere", "/static/../app.py", "/static/%2e%2e/app.py", "/static/..%2f..%2fpantry.py",
     "//etc/passwd", "/static//etc/passwd", "/static/", "/pantry.toml", "/flock.toml", "/.git"],
)  # fmt: skip
def test_no_file_but_our_own_is_served(client, path):
    reply = client.get(path, headers={"Host": HOST})
    assert reply.status_code in (403, 404)
    assert "import" not in reply.text


@pytest.mark.parametrize("path", ["/", "/nowhere", "/static/page.js"])
def test_every_answer_carries_a_strict_policy(client, path):
    with client.get(path, headers={"Host": HOST}) as reply:
        headers = reply.headers
    policy = dict(part.split(" ", 1) for part in headers["Content-Security-Policy"].split("; "))
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == policy["form-action"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == "'none'"
    assert "unsafe" not in headers["Content-Security-Policy"]
    assert headers["X-Content-Type-Options"] == "nosniff"
    assert headers["Referrer-Policy"] == "same-origin"
    assert "Access-Control-Allow-Origin" not in headers


def test_nothing_is_written_into_the_page_that_its_policy_would_stop():
    for path in (PAGE / "templates").iterdir():
        text = path.read_text(encoding="utf-8")
        assert not re.search(r"\sstyle\s*=|\son\w+\s*=|javascript:", text), path.name
        assert not re.search(r"<script(?! src=\"/static/)|<style", text), path.name
    for path in [*(PAGE / "templates").iterdir(), *(PAGE / "static").iterdir()]:
        text = path.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert not re.search(r"https?:|//[a-z]+\.|@import|url\((?!#)", text), path.name
        assert "|safe" not in text


def test_what_was_typed_comes_back_as_words_and_not_as_markup(tmp_path):
    visitor = Visitor(tmp_path)
    nasty = '"><script>alert(1)</script><b x="'
    forms = {
        "/mix": ("kitchen", ("Show the mix",), ("make", "container", "most", "keep_as",
                 "price.heavy-cream", "package.heavy-cream")),
        "/check": ("check", ("Check it",), ("recipe", "brix", "weigh")),
        "/carton": ("carton", ("Read the label",), ("c.name", "c.serving", "c.fat")),
        "/animals": ("add-animal", ("Put it on",), ("animal", "born", "hour", "birth_weight")),
        "/compare": ("compare", ("Compare",), ("more",)),
        "/prices": ("prices", ("Show the steps",), ("low.1", "high.1")),
        "/print": ("print", ("The card",), ("make", "container")),
        "/kitchen": ("kitchen-form", ("Save this",), ("currency",)),
        "/food?id=whole-milk": ("food", ("Save this",), ("on_hand", "step", "size.0")),
    }  # fmt: skip
    for address, (form, buttons, fields) in forms.items():
        for button in buttons:
            for field in fields:
                page = visitor.at(address).press(button, form, typed={field: nasty})
                assert "<script>alert" not in page.html
    visitor.client.delete_cookie("draft", domain="127.0.0.1")
    page = visitor.at("/mix").press("Keep it", typed={"keep_as": nasty})
    assert "<script>alert" not in page.html
