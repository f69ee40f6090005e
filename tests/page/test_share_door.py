"""Who is let in while the page is shared, as a table over every route."""

import base64
import hashlib
import re
from importlib.resources import files

import pytest
from page.shared import HOME, NETWORK, PORT, TOKEN, SharedPage, every_path

from formulate.page.app import create_app

#: What answers without a cookie, and where.
PAIRING, COMPUTERS_WAY_IN = "/pair/x", "/here/x"


@pytest.fixture
def folder(tmp_path):
    folder = tmp_path / "kitchen"
    folder.mkdir()
    for name in ("pantry", "flock"):
        data = files("nutrient_tables").joinpath(f"sample_{name}.toml").read_bytes()
        (folder / f"{name}.toml").write_bytes(data)
    return folder


@pytest.fixture
def page(folder, tmp_path):
    return SharedPage(folder, tmp_path / "telephones.json")


def test_without_a_cookie_every_route_is_closed(page):
    paths = every_path(page.app)
    assert len(paths) > 40
    for path, method in paths:
        for caller, open_path in (
            (page.stranger(), PAIRING), (page.other_user(), COMPUTERS_WAY_IN),
        ):  # fmt: skip
            reply = caller.ask(path, method)
            if path != open_path:
                assert reply.status_code == 401, (path, method)
                assert "Set-Cookie" not in reply.headers
            elif method in ("GET", "POST"):
                assert reply.status_code in (403, 415), (path, method)


def test_a_cookie_of_the_other_way_in_does_not_count(page):
    computer, telephone = page.computer(), page.telephone("Ann")
    for path, method in every_path(page.app):
        if path in (PAIRING, COMPUTERS_WAY_IN):
            continue
        for caller, visitor in ((computer, page.stranger()), (telephone, page.other_user())):
            reply = visitor.ask(path, method, headers={"Cookie": _cookie(caller)})
            assert reply.status_code == 401, (path, method)


def _cookie(caller) -> str:
    cookies = caller.client._cookies.values()
    return "; ".join(f"{c.key}={c.value}" for c in cookies)


def test_a_refused_visitor_learns_what_to_do(page):
    assert "show a code" in page.stranger().ask("/").text
    assert "the address that the program printed" in page.other_user().ask("/").text


def test_pages_without_a_cookie_run_no_script_and_load_nothing(page):
    replies = [page.stranger().ask("/"), page.stranger().ask("/pair/x"),
               page.stranger().ask(f"/pair/{page.share.codes.new()}"),
               page.other_user().ask(page.share.home_path)]  # fmt: skip
    assert replies[-1].headers["Referrer-Policy"] == "no-referrer"
    for reply in replies:
        policy = dict(
            part.split(" ", 1) for part in reply.headers["Content-Security-Policy"].split("; ")
        )
        assert policy["default-src"] == "'none'"
        assert "script-src" not in policy
        (style,) = re.findall("<style>(.*?)</style>", reply.text, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
        assert policy["style-src"] == f"'sha256-{digest}'"
        assert not re.search("<script|<img|<link|src=", reply.text)


def test_the_paired_and_the_computer_are_let_in(page):
    for caller in (page.computer(), page.telephone("Ann")):
        assert caller.ask("/").status_code == 200
        assert caller.ask("/static/page.css").status_code == 200
        assert caller.ask("/nowhere").status_code == 404
        assert caller.ask("/", "POST").status_code in (405, 415)
    assert page.telephone("Bob").ask("/here/x").status_code == 404
    assert page.computer().ask("/pair/x").status_code == 404


def test_cookies_are_kept_from_scripts_and_other_sites(page):
    code = page.share.codes.new()
    replies = [
        page.other_user().ask(page.share.home_path),
        page.stranger().ask(f"/pair/{code}", "POST", data={"owner": "Ann"}),
    ]
    for reply in replies:
        cookie = reply.headers.getlist("Set-Cookie")[0]
        assert "HttpOnly" in cookie
        assert "SameSite=Strict" in cookie
        assert "Domain" not in cookie


def test_the_computers_secret_lasts_one_run_and_guesses_are_refused(page, folder, tmp_path):
    another = SharedPage(folder, tmp_path / "telephones.json")
    assert another.share.secret != page.share.secret
    assert len(page.share.secret) >= 43
    for guess in ("x", page.share.secret[:-1], another.share.secret, "ё", "%00"):
        reply = page.other_user().ask(f"/here/{guess}")
        assert reply.status_code == 403
        assert "Set-Cookie" not in reply.headers


@pytest.mark.parametrize(
    ("came_to", "host"),
    [
        (NETWORK, HOME), (NETWORK, f"localhost:{PORT}"), (NETWORK, "192.168.1.20"),
        (NETWORK, "192.168.1.20:1"), (NETWORK, f"192.168.1.21:{PORT}"),
        (NETWORK, "evil.example"), (NETWORK, f"{NETWORK}.evil.example"), (NETWORK, ""),
        (NETWORK, f"192.168.1.20.:{PORT}"), (NETWORK, f"192.168.1.20:0{PORT}"),
        (NETWORK, f"[::ffff:192.168.1.20]:{PORT}"), (NETWORK, f"3232235796:{PORT}"),
        (NETWORK, f"{NETWORK},{NETWORK}"), (NETWORK, f"{NETWORK}, evil.example"),
        (HOME, NETWORK), (HOME, "evil.example"), (HOME, ""),
    ],
)  # fmt: skip
def test_a_foreign_host_is_turned_away(page, came_to, host):
    caller = page.telephone("Ann") if came_to == NETWORK else page.computer()
    code = page.share.codes.new()
    for path in ("/", "/static/page.css", f"/pair/{code}", page.share.home_path):
        assert caller.ask(path, headers={"Host": host}).status_code == 403
    assert page.share.codes.tries == 0


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"}, {"Origin": "null"}, {"Origin": f"http://{HOME}"},
        {"Origin": f"https://{NETWORK}"}, {"Origin": "http://192.168.1.20"}, {"Origin": ""},
        {"Origin": f"http://{NETWORK}/"}, {"Origin": f"http://{NETWORK}.evil.example"},
        {"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"},
    ],
)  # fmt: skip
def test_a_foreign_origin_is_turned_away(page, folder, headers):
    telephone = page.telephone("Ann")
    before = _everything(folder)
    for path, method in every_path(page.app):
        if method == "POST" and path != PAIRING:
            reply = telephone.ask(path, "POST", data={"token": TOKEN}, headers=headers)
            assert reply.status_code == 403, path
    code = page.share.codes.new()
    reply = page.stranger().ask(f"/pair/{code}", "POST", data={"owner": "Eve"}, headers=headers)
    assert reply.status_code == 403
    assert page.share.codes.code == code
    assert _everything(folder) == before


def test_a_paired_telephone_needs_the_forms_token_too(page, folder):
    telephone = page.telephone("Ann")
    before = _everything(folder)
    for path, method in every_path(page.app):
        if method == "POST" and path != PAIRING:
            for token in ("", "wrong"):
                assert telephone.ask(path, "POST", data={"token": token}).status_code == 403
    assert _everything(folder) == before


def test_a_link_that_is_looked_up_beforehand_does_not_use_the_code(page):
    """As programs do that show a preview of an address before anybody opens it."""
    code = page.share.codes.new()
    for method in ("GET", "HEAD", "OPTIONS") * 4:
        reply = page.stranger("192.168.1.77").ask(f"/pair/{code}", method)
        assert reply.status_code == 200
        assert "Set-Cookie" not in reply.headers
    assert page.share.codes.tries == 0
    assert page.stranger().ask(f"/pair/{code}", "POST", data={"owner": "Ann"}).status_code == 303


def test_a_code_that_is_too_old_is_gone(page, monkeypatch):
    code = page.share.codes.new()
    monkeypatch.setattr(page.share.codes, "_age", lambda: 300.0)
    for method in ("GET", "POST"):
        reply = page.stranger().ask(f"/pair/{code}", method, data={"owner": "Ann"})
        assert reply.status_code == 410
    assert page.share.telephones.all() == ()


def test_two_programs_that_share_one_folder_know_the_same_telephones(page, folder, tmp_path):
    other = SharedPage(folder, tmp_path / "telephones.json")
    ann = page.telephone("Ann")
    key = {"Cookie": _cookie(ann)}
    assert other.stranger("192.168.1.31").ask("/", headers=key).status_code == 200
    assert (
        other.computer().ask("/", headers={"Cookie": _cookie(page.computer())}).status_code == 401
    )
    (one,) = other.share.telephones.all()
    assert other.computer().send("/telephones", forget=one.id).status_code == 303
    assert ann.ask("/").status_code == 401


def test_a_code_pairs_one_telephone(page):
    code = page.share.codes.new()
    one, other = page.stranger("192.168.1.31"), page.stranger("192.168.1.32")
    assert "Whose telephone is it?" in one.ask(f"/pair/{code}").text
    assert one.ask(f"/pair/{code}", "POST", data={"owner": "Ann"}).status_code == 303
    assert one.ask("/").status_code == 200
    for method in ("GET", "POST"):
        reply = other.ask(f"/pair/{code}", method, data={"owner": "Eve"})
        assert reply.status_code == 410
        assert "used up or too old" in reply.text
    assert other.ask("/").status_code == 401
    assert [one.owner for one in page.share.telephones.all()] == ["Ann"]


@pytest.mark.parametrize("method", ["GET", "POST"])
def test_guessed_codes_are_refused_and_the_sixth_try_closes_pairing(page, method):
    code = page.share.codes.new()
    for k in range(5):
        reply = page.stranger().ask(f"/pair/guess-{k}", method, data={"owner": "Eve"})
        assert reply.status_code == 403
        assert "Set-Cookie" not in reply.headers
    reply = page.stranger().ask(f"/pair/{code}", method, data={"owner": "Ann"})
    assert reply.status_code == 410
    assert "too many wrong codes" in page.computer().ask("/telephones").text
    assert page.share.telephones.all() == ()


def test_a_name_that_cannot_be_kept_does_not_use_up_the_code(page):
    caller, code = page.stranger(), page.share.codes.new()
    reply = caller.ask(f"/pair/{code}", "POST", data={"owner": " "})
    assert reply.status_code == 422
    assert "needs its owner" in reply.text
    assert caller.ask(f"/pair/{code}", "POST", data={"owner": "Ann"}).status_code == 303


def test_a_forgotten_telephone_is_out_at_once(page):
    ann, bob, computer = page.telephone("Ann"), page.telephone("Bob"), page.computer()
    listed = computer.ask("/telephones").text
    (ann_id,) = re.findall(r'name="forget" value="(\w+)">Forget Ann', listed)
    assert computer.send("/telephones", forget=ann_id).status_code == 303
    assert ann.ask("/").status_code == ann.ask("/static/page.js").status_code == 401
    assert bob.ask("/").status_code == 200
    listed = computer.ask("/telephones").text
    assert "Forget Ann" not in listed
    assert "Forget Bob" in listed
    assert computer.send("/telephones", all="yes").status_code == 303
    assert bob.ask("/").status_code == 401


def test_only_the_computer_sees_and_changes_the_list(page):
    ann = page.telephone("Ann")
    assert ann.ask("/telephones").status_code == 403
    (one,) = page.share.telephones.all()
    for fields in ({"code": "new"}, {"all": "yes"}, {"forget": one.id}):
        assert ann.send("/telephones", **fields).status_code == 403
    assert page.share.telephones.all() == (one,)
    assert page.share.codes.code == ""


def test_a_copied_cookie_is_reported_and_then_stopped(page):
    ann, computer = page.telephone("Ann", at="192.168.1.31"), page.computer()
    assert "comes from" not in computer.ask("/telephones").text
    ann.at = "192.168.1.99"
    assert ann.ask("/").status_code == 200
    listed = computer.ask("/telephones").text
    assert "it comes from 192.168.1.99, before from 192.168.1.31" in listed
    assert "something has changed" in computer.ask("/").text
    assert "something has changed" not in ann.ask("/").text
    ann.at = "192.168.1.31"
    assert ann.ask("/").status_code == 401
    ann.at = "192.168.1.99"
    assert ann.ask("/").status_code == 401
    listed = computer.ask("/telephones").text
    assert "went back and forth between 192.168.1.99 and 192.168.1.31" in listed


def test_a_person_says_that_it_is_the_same_telephone(page):
    computer = page.computer()
    assert "Sharing is on: pair a telephone" in computer.ask("/").text
    ann = page.telephone("Ann", at="192.168.1.31")
    assert "Shared with 1 telephone" in computer.ask("/").text
    ann.at = "192.168.1.99"
    assert ann.ask("/").status_code == 200
    (one,) = page.share.telephones.all()
    assert computer.send("/telephones", same=one.id).status_code == 303
    assert "Shared with 1 telephone" in computer.ask("/").text
    assert "comes from" not in computer.ask("/telephones").text
    assert ann.ask("/").status_code == 200


def test_a_telephone_feeds_under_the_name_of_its_owner_of_now(page):
    ann = page.telephone("Ann")
    assert "paired as Ann’s" in ann.ask("/").text
    ann.client.set_cookie("by", "Bob", domain="192.168.1.20")
    code = page.share.codes.new()
    reply = ann.ask(f"/pair/{code}", "POST", data={"owner": "Cem"})
    assert any(one.startswith("by=;") for one in reply.headers.getlist("Set-Cookie"))
    assert "paired as Cem’s" in ann.ask("/").text


def test_the_code_and_its_picture_stand_on_the_computers_page(page):
    computer = page.computer()
    assert "<svg" not in computer.ask("/telephones").text
    assert computer.send("/telephones", code="new").status_code == 303
    reply = computer.ask("/telephones")
    code = page.share.codes.code
    assert f"http://{NETWORK}/pair/{code}" in reply.text
    assert "<svg" in reply.text
    assert "within 5 minutes" in reply.text
    assert reply.headers["Cache-Control"] == "no-store"


def test_a_computer_that_lost_its_address_says_so(page):
    computer = page.computer()
    page.telephone("Ann")
    assert "another address" not in computer.ask("/telephones").text
    assert "something has changed" not in computer.ask("/").text
    page.ours = False
    assert "gave this computer another address" in computer.ask("/telephones").text
    assert "something has changed" in computer.ask("/").text


def test_pages_of_two_folders_have_each_their_own_key(page, folder, tmp_path):
    ann = page.telephone("Ann")
    (tmp_path / "goats").mkdir()
    goats = SharedPage(tmp_path / "goats", tmp_path / "telephones.json")
    code = goats.share.codes.new()
    reply = goats.stranger().ask(f"/pair/{code}", "POST", data={"owner": "Ann"})
    assert reply.status_code == 303
    name = reply.headers.getlist("Set-Cookie")[0].partition("=")[0]
    assert name == goats.share.telephone_cookie != page.share.telephone_cookie
    assert ann.ask("/").status_code == 200


def test_a_damaged_list_lets_no_telephone_in_and_is_reported_on_the_computer(page):
    ann, computer = page.telephone("Ann"), page.computer()
    page.share.telephones.file.write_text("{")
    assert ann.ask("/").status_code == 401
    assert computer.ask("/").status_code == 200
    reply = computer.ask("/telephones")
    assert reply.status_code == 400
    assert "damaged" in reply.text


def test_without_sharing_nothing_changes(folder):
    app = create_app(folder, PORT, TOKEN)
    client = app.test_client()
    reply = client.get("/", headers={"Host": HOME})
    assert reply.status_code == 200
    assert "Set-Cookie" not in reply.headers
    assert client.get("/", headers={"Host": NETWORK}).status_code == 403
    shared = {"pair", "paired", "here", "telephones", "telephones_change"}
    assert not shared & set(app.view_functions)
    for path in ("/pair/x", "/here/x", "/telephones"):
        assert client.get(path, headers={"Host": HOME}).status_code == 404


def _everything(folder) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}
