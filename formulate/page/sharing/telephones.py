"""The paired telephones, in a file that only its owner can read.

A telephone holds a key, the file only its digest. Every request looks at the file as it is now,
so that a telephone that was forgotten, in this program or another one, is out at once.

A key that turns up at another address is let in and told: a router may give a telephone another
address at any time, and a person with a hungry lamb must not be locked out for it. A key that goes
back and forth between two addresses within the hour is in two places: it is stopped, and the
telephone has to be paired again.
"""

from __future__ import annotations

import hashlib
import hmac
import json
import secrets
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from formulate.base.errors import InputError
from formulate.base.files import private_folder, read_text, replace_file
from formulate.base.locks import held
from formulate.base.messages import say

__all__ = ["SEASON", "Sighting", "Telephone", "Telephones", "owner_name", "telephones_file"]

#: How long a pairing lasts: a season of bottles, from the first lamb to the last weaning
#: (judgement).
SEASON = timedelta(days=180)
#: Within this time a key cannot honestly go to another address and back (judgement).
BACK_AND_FORTH = timedelta(hours=1)
#: Telephones of one folder, addresses kept of one telephone, letters of a name.
MOST_TELEPHONES, MOST_ADDRESSES, LONGEST_NAME = 20, 10, 60
#: Random bytes of a key: 256 bits.
KEY_BYTES = 32


@dataclass(frozen=True, slots=True)
class Sighting:
    """An address that a telephone's key came from, since when."""

    address: str
    since: datetime


@dataclass(frozen=True, slots=True)
class Telephone:
    """A paired telephone.

    Parameters
    ----------
    id : str
    owner : str
        Whose it is: who fed.
    folder : str
        Of the page that it was paired with.
    digest : str
        Of its key; empty if it was stopped.
    paired, until : datetime
    addresses : tuple of Sighting
        Oldest first; the first is where it was paired.
    """

    id: str
    owner: str
    folder: str
    digest: str
    paired: datetime
    until: datetime
    addresses: tuple[Sighting, ...]

    @property
    def stopped(self) -> bool:
        """Whether its key was in two places at once."""
        return not self.digest

    @property
    def moved(self) -> bool:
        """Whether its key came from an address other than the one it was paired at."""
        return len(self.addresses) > 1


def telephones_file() -> Path:
    """Where the paired telephones of this user are kept."""
    from platformdirs import user_state_path

    return user_state_path("formulate", appauthor=False) / "telephones.json"


def owner_name(text: str) -> str:
    """A name as it is kept: one line.

    Raises
    ------
    InputError
        If it is empty or too long.
    """
    name = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    if not 0 < len(name) <= LONGEST_NAME:
        raise InputError(say("share.name"), say("share.name-remedy", letters=LONGEST_NAME))
    return name


class Telephones:
    """The telephones that were paired with the page of a folder.

    Parameters
    ----------
    file : Path
        It need not be there yet.
    folder : Path
        Of the page.
    now : callable, optional
        Returns the time, with its zone.
    """

    def __init__(
        self,
        file: Path,
        folder: Path,
        now: Callable[[], datetime] = lambda: datetime.now(UTC),
    ) -> None:
        self.file, self.folder, self._now = file, str(folder.resolve()), now
        self._lock = threading.Lock()
        self._read: tuple[object, tuple[Telephone, ...]] = (None, ())

    def all(self) -> tuple[Telephone, ...]:
        """Those of this folder whose season is not over, in the order of pairing.

        Raises
        ------
        InputError
            If the file cannot be read.
        """
        now = self._now()
        return tuple(t for t in self._now_in_file() if t.folder == self.folder and now < t.until)

    def pair(self, owner: str, address: str) -> tuple[Telephone, str]:
        """Add a telephone; its key is returned this once.

        Raises
        ------
        InputError
            If there are too many, or the file cannot be written.
        """
        key, now = secrets.token_urlsafe(KEY_BYTES), self._now()
        new = Telephone(
            secrets.token_hex(8), owner_name(owner), self.folder, _digest(key), now, now + SEASON,
            (Sighting(address, now),),
        )  # fmt: skip

        def added(known: Sequence[Telephone]) -> list[Telephone]:
            here = [one for one in known if one.folder == self.folder]
            if len(here) >= MOST_TELEPHONES:
                raise InputError(
                    say("share.too-many", count=MOST_TELEPHONES), say("share.forget-one")
                )
            return [*known, new]

        self._change(added)
        return new, key

    def holder(self, key: str, address: str) -> Telephone | None:
        """Whose key this is; None if it is nobody's, or not any more.

        Parameters
        ----------
        key : str
        address : str
            Where it came from; another one than before is written down.
        """
        if not key:
            return None
        digest = _digest(key)
        found = [t for t in self.all() if t.digest and hmac.compare_digest(t.digest, digest)]
        if not found:
            return None
        one = found[0]
        if one.addresses[-1].address == address:
            return one
        return self._seen_elsewhere(one, address)

    def accept(self, telephone_id: str) -> None:
        """Accept a telephone's newest address as its own: it is the same telephone."""

        def accepted(one: Telephone) -> Telephone:
            mine = one.folder == self.folder and one.id == telephone_id and not one.stopped
            return replace(one, addresses=one.addresses[-1:]) if mine else one

        self._change(lambda known: [accepted(one) for one in known])

    def forget(self, telephone_id: str) -> bool:
        """End a telephone; whether there was one."""
        return self._without(lambda one: one.folder == self.folder and one.id == telephone_id) > 0

    def forget_all(self) -> int:
        """End every telephone of every folder; how many there were.

        A file that cannot be read is replaced too.
        """
        try:
            return self._without(lambda one: True)
        except InputError:
            with held(self.file, say("share.the-list")):
                replace_file(self.file, _text([]), private=True)
            return 0

    # --- the file --------------------------------------------------------------------------

    def _seen_elsewhere(self, one: Telephone, address: str) -> Telephone | None:
        """Write down that a key came from another address; stop one that is in two places."""
        now = self._now()

        def changed(known: Sequence[Telephone]) -> list[Telephone]:
            return [_seen(other, address, now) if other.id == one.id else other for other in known]

        self._change(changed)
        found = [other for other in self.all() if other.id == one.id and not other.stopped]
        return found[0] if found else None

    def _without(self, gone: Callable[[Telephone], bool]) -> int:
        before = len(self._now_in_file())
        if not before:
            return 0
        self._change(lambda known: [one for one in known if not gone(one)])
        return before - len(self._now_in_file())

    def _change(self, change: Callable[[Sequence[Telephone]], list[Telephone]]) -> None:
        """Read, change and replace the file while it is locked; what is over goes."""
        private_folder(self.file.parent)
        with held(self.file, say("share.the-list")):
            now = self._now()
            known = [one for one in self._now_in_file() if now < one.until]
            replace_file(self.file, _text(change(known)), private=True)

    def _now_in_file(self) -> tuple[Telephone, ...]:
        try:
            found = self.file.stat()
        except FileNotFoundError:
            return ()
        except OSError as error:
            raise InputError(say("share.list-unreadable"), "", str(self.file)) from error
        mark = (found.st_ino, found.st_mtime_ns, found.st_size)
        with self._lock:
            if self._read[0] == mark:
                return self._read[1]
        telephones = _parsed(read_text(self.file), str(self.file))
        with self._lock:
            self._read = mark, telephones
        return telephones


def _seen(one: Telephone, address: str, now: datetime) -> Telephone:
    if one.stopped or one.addresses[-1].address == address:
        return one  # another request was quicker
    addresses = (*one.addresses, Sighting(address, now))
    back = any(
        left.address == address and now - after.since < BACK_AND_FORTH
        for left, after in zip(one.addresses, one.addresses[1:], strict=False)
    )
    # The first stays: it is where the telephone was paired.
    kept = (addresses[0], *addresses[1:][-(MOST_ADDRESSES - 1) :])
    return replace(one, addresses=kept, digest="" if back else one.digest)


def _digest(key: str) -> str:
    return hashlib.sha256(key.encode("utf-8", "replace")).hexdigest()


def _text(telephones: Sequence[Telephone]) -> str:
    rows = [
        {
            "id": one.id,
            "owner": one.owner,
            "folder": one.folder,
            "digest": one.digest,
            "paired": one.paired.isoformat(),
            "until": one.until.isoformat(),
            "addresses": [[seen.address, seen.since.isoformat()] for seen in one.addresses],
        }
        for one in telephones
    ]
    return json.dumps({"telephones": rows}, indent=1, ensure_ascii=False) + "\n"


def _parsed(text: str, where: str) -> tuple[Telephone, ...]:
    try:
        return tuple(_telephone(row) for row in json.loads(text)["telephones"])
    except (ValueError, KeyError, TypeError, RecursionError) as error:
        raise InputError(
            say("share.list-damaged"), say("share.list-damaged-remedy"), where
        ) from error


def _telephone(row: dict[str, Any]) -> Telephone:
    telephone_id, owner, folder, digest = (row[k] for k in ("id", "owner", "folder", "digest"))
    if not all(isinstance(text, str) for text in (telephone_id, owner, folder, digest)):
        raise TypeError
    addresses = tuple(Sighting(str(a), _moment(since)) for a, since in row["addresses"])
    if not addresses:
        raise ValueError
    paired, until = _moment(row["paired"]), _moment(row["until"])
    return Telephone(telephone_id, owner, folder, digest, paired, until, addresses)


def _moment(text: str) -> datetime:
    moment = datetime.fromisoformat(text)
    if moment.tzinfo is None:
        raise ValueError("a moment without its zone")
    return moment
