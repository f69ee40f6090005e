"""Two telephones at once, and one that was away: one truth, nothing lost, nothing twice."""

import re
import sys
from concurrent.futures import ThreadPoolExecutor
from datetime import datetime, timedelta
from http.client import HTTPConnection, HTTPException
from random import Random
from threading import Barrier, Event, Thread
from urllib.parse import urlencode, urlsplit

import pytest
from page.shared import SharedPage, sharing

from formulate.answers.record import record
from formulate.answers.wanted import wanted_of
from formulate.rearing.flock_file import load_flock
from formulate.rearing.log import log_path, read_log


@pytest.fixture
def folder(tmp_path):
    folder = tmp_path / "kitchen"
    folder.mkdir()
    born = datetime.now() - timedelta(days=12)
    weighed = datetime.now() - timedelta(days=1)
    lambs = "\n".join(
        f'[animals.{name}]\nborn = {born:%Y-%m-%d}\nbirth_weight = "4.4 kg"\n'
        f'weights = [{{ on = {weighed:%Y-%m-%d}, weight = "6.0 kg" }}]'
        for name in ("Pip", "Wren")
    )
    (folder / "flock.toml").write_text(
        'mix = "2 quarts whole-milk + 3/4 cup heavy-cream + 1/2 cup nonfat-dry-milk"\n'
        'feeding_times = ["06:00", "10:00", "14:00", "18:00", "22:00"]\n'
        f'kitchen = "metric"\n{lambs}\n'
    )
    return folder


@pytest.fixture
def page(folder, tmp_path):
    return SharedPage(folder, tmp_path / "telephones.json")


def entries(folder):
    log = log_path(folder / "flock.toml")
    return read_log(log).written if log.exists() else []


def test_two_telephones_one_lamb_one_second_one_entry_one_question(page, folder):
    telephones = [page.telephone("Ann", "192.168.1.31"), page.telephone("Bob", "192.168.1.32")]
    together = Barrier(2)

    def feed(telephone):
        together.wait()
        return telephone.send("/fed", name="Pip", amount="250 mL", what="milk", once=telephone.at)

    with ThreadPoolExecutor(2) as pool:
        replies = list(pool.map(feed, telephones))
    assert sorted(reply.status_code for reply in replies) == [303, 422]
    (entry,) = entries(folder)
    asked = next(reply for reply in replies if reply.status_code == 422)
    assert re.search(rf"Pip was fed [\w ]+ ago by {entry.by}: 250", asked.text.replace("\xa0", " "))
    first = next(t for t, reply in zip(telephones, replies, strict=True) if reply is not asked)
    assert entry.by == {"192.168.1.31": "Ann", "192.168.1.32": "Bob"}[first.at]
    # Sent again, as a telephone does whose answer was lost, it is still one entry.
    again = {"name": "Pip", "amount": "250 mL", "what": "milk", "once": first.at}
    assert first.send("/fed", **again).status_code == 303
    assert len(entries(folder)) == 1


def test_a_feed_that_waited_stands_at_the_moment_when_it_was_tapped(page, folder):
    ann = page.telephone("Ann")
    minute, waited = timedelta(minutes=1), timedelta(minutes=25)
    earliest = datetime.now() - waited - minute
    fields = {"name": "Pip", "amount": "200 mL", "what": "milk", "ago": "1500", "unseen": "1520"}
    assert ann.send("/fed", once="x", **fields).status_code == 303
    (entry,) = entries(folder)
    assert earliest <= entry.when <= datetime.now() - waited + minute
    assert entry.by == "Ann"


def test_a_feed_that_waited_is_by_whoever_tapped_it(page, folder):
    bob = page.telephone("Bob")
    fields = {"name": "Pip", "amount": "200 mL", "what": "milk", "ago": "1500", "unseen": "1520"}
    reply = bob.send("/fed", once="x", kept_by="Ann", **fields)
    assert reply.status_code == 303
    assert "Set-Cookie" not in reply.headers  # the next feed is Bob's again
    bob.send("/fed", name="Wren", amount="200 mL", what="milk", once="y", kept_by=" ")
    assert [(one.animal, one.by) for one in entries(folder)] == [("Pip", "Ann"), ("Wren", "Bob")]


@pytest.mark.parametrize("odd", ["a\rb", "a\nSet-Cookie: x=y", "\x1b[31m", "ё", "x" * 65, "%0d"])
def test_a_token_or_name_of_any_letters_fails_nothing(page, folder, odd):
    fields = {"name": "Pip", "amount": "60 mL", "what": "milk", "once": odd, "by": f"Bob {odd}"}
    reply = page.telephone("Ann").send("/fed", **fields)
    assert reply.status_code == 303
    (entry,) = entries(folder)
    assert entry.by.startswith("Bob")
    assert entry.by.isprintable()
    assert reply.headers["Location"].startswith("/?done=")
    assert reply.headers["Location"].isascii()
    assert [one.partition("=")[0] for one in reply.headers.getlist("Set-Cookie")] == ["by"]


def test_a_feed_that_waited_is_written_once_whatever_happens_to_the_program(page, folder, tmp_path):
    ann = page.telephone("Ann")
    fields = {"name": "Pip", "amount": "60 mL", "what": "milk", "once": "x", "unseen": "1520"}
    assert ann.send("/fed", ago="1500", **fields).status_code == 303
    # Another run does not know the form's token; its minute may round to the next.
    other_run = SharedPage(folder, tmp_path / "telephones.json")
    bob = other_run.telephone("Ann")
    for ago in ("1500", "1440"):
        reply = bob.send("/fed", ago=ago, **fields | {"once": f"y{ago}"})
        assert reply.status_code in (303, 422)
        assert len(entries(folder)) == 1


@pytest.mark.parametrize(
    ("ago", "status"),
    [("0", 303), ("604800", 303), ("604801", 422), ("-1", 422), ("1e3", 422), ("x", 422),
     ("٣", 422), ("9" * 400, 422)],
)  # fmt: skip
def test_odd_waits_are_refused(page, folder, ago, status):
    fields = {"name": "Pip", "amount": "60 mL", "what": "milk", "once": "x", "ago": ago}
    reply = page.telephone("Ann").send("/fed", **fields)
    assert reply.status_code == status
    assert len(entries(folder)) == (status == 303)


def test_a_telephone_that_was_away_sees_the_truth_on_its_first_request(page, folder):
    ann = page.telephone("Ann")
    before = ann.ask("/")
    assert "by Bob" not in before.text
    assert record(folder / "flock.toml", [wanted_of("Pip", "milk", "60 mL", by="Bob")]).added
    # Whatever a browser sends along to spare itself an answer, it gets a whole one.
    spared = {"If-None-Match": before.headers.get("ETag", '"x"'),
              "If-Modified-Since": "Fri, 01 Jan 2100 00:00:00 GMT"}  # fmt: skip
    after = ann.ask("/", headers=spared)
    assert after.status_code == 200
    assert "by Bob" in after.text
    for path in ("/", "/mix", "/animals", "/shop", "/shelf", "/version", "/animal?name=Pip"):
        assert ann.ask(path).headers["Cache-Control"] == "no-store", path
    # A tap on the page of an hour ago is asked about, however little was drunk meanwhile.
    fields = {"name": "Pip", "amount": "60 mL", "what": "milk", "once": "x", "unseen": "3600"}
    reply = ann.send("/fed", **fields)
    assert reply.status_code == 422
    assert "by Bob while this was waiting" in reply.text.replace("\xa0", " ")
    assert len(entries(folder)) == 1


class Window:
    """A telephone that talks to a process."""

    def __init__(self, code: str, owner: str) -> None:
        self.host, self.path = urlsplit(code).netloc, urlsplit(code).path
        self.cookie = ""
        reply, _ = self.ask(self.path, {"owner": owner})
        self.cookie = reply.getheader("Set-Cookie").partition(";")[0]
        self.token = self.new_token()

    def ask(self, path, fields=None):
        connection = HTTPConnection(self.host, timeout=300)
        kind = {"Content-Type": "application/x-www-form-urlencoded"} if fields else {}
        body = urlencode(fields) if fields else None
        connection.request("POST" if fields else "GET", path, body, kind | {"Cookie": self.cookie})
        reply = connection.getresponse()
        text = reply.read().decode()
        connection.close()
        return reply, text

    def new_token(self) -> str:
        return re.search(r'name="token" value="([^"]+)"', self.ask("/")[1])[1]


@pytest.mark.skipif(sys.platform != "linux", reason="needs a second loopback address")
@pytest.mark.parametrize("kills", [1, pytest.param(20, marks=pytest.mark.long)])
def test_a_program_that_is_killed_while_both_write_loses_nothing(folder, tmp_path, kills):
    random = Random(kills)
    done: list[tuple[str, str]] = []
    number = 0
    for _ in range(kills):
        with sharing(folder, tmp_path / "state") as shared:
            windows = [Window(shared.code, "Ann")]
            home = shared.home.partition("/here/")[0]
            other = Window.__new__(Window)
            other.host, other.cookie = urlsplit(home).netloc, ""
            reply, _ = other.ask(urlsplit(shared.home).path)
            other.cookie = reply.getheader("Set-Cookie").partition(";")[0]
            other.token = other.new_token()
            windows.append(other)
            number += 1000
            enough, after = Event(), len(done) + random.randint(2, 12)

            def write(window, who, first, enough, after):
                for k in range(1000):
                    amount = f"{first + k} mL"
                    fields = {"token": window.token, "once": f"{who}{first + k}", "what": "milk",
                              "name": who, "amount": amount, "by": "Ann", "sure": "1"}  # fmt: skip
                    try:
                        reply, _ = window.ask("/fed", fields)
                    except (OSError, HTTPException):
                        return
                    if reply.status == 303:
                        done.append((who, amount))
                        if {"Pip", "Wren"} <= {one for one, _ in done[after:]}:
                            enough.set()

            threads = [
                Thread(target=write, args=(window, who, number, enough, after))
                for window, who in zip(windows, ("Pip", "Wren"), strict=True)
            ]
            for thread in threads:
                thread.start()
            assert enough.wait(300)
            shared.process.kill()
            for thread in threads:
                thread.join()
    assert len({who for who, _ in done}) == 2
    log = read_log(log_path(folder / "flock.toml"))
    assert log.faults == ()
    written = [(one.animal, f"{one.amount:.0f} mL") for one in log.written]
    assert set(done) <= set(written)
    assert len(written) == len(set(written))  # none twice
    assert len(written) <= len(done) + 2 * kills  # at most what was being answered
    assert load_flock(folder / "flock.toml").log_faults == ()
    assert [one.owner for one in _telephones(folder, tmp_path)] == ["Ann"] * kills


def _telephones(folder, tmp_path):
    from formulate.page.sharing.telephones import Telephones

    return Telephones(tmp_path / "state" / "formulate" / "telephones.json", folder).all()
