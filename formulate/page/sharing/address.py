"""Choose the address that telephones use: one private address, never all of them.

Private are the ranges of RFC 1918 (10/8, 172.16/12, 192.168/16) and of RFC 4193 (fc00::/7). A
link-local address (169.254/16, fe80::/10) is refused: a computer has only that where no router
gave it one, and browsers cannot open fe80 addresses. So are shared carrier addresses (100.64/10,
RFC 6598), which belong to a provider's network and not to a home's.
"""

from __future__ import annotations

import errno
import socket
from collections.abc import Sequence
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, ip_address, ip_network

from formulate.base.errors import InputError
from formulate.base.messages import listed, say

__all__ = [
    "Address",
    "OwnAddress",
    "chosen_address",
    "is_ours",
    "is_private",
    "own_addresses",
    "web_host",
]

Address = IPv4Address | IPv6Address

_PRIVATE = tuple(
    ip_network(network) for network in ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "fc00::/7")
)


@dataclass(frozen=True, slots=True)
class OwnAddress:
    """An address of this computer.

    Parameters
    ----------
    address : IPv4Address or IPv6Address
    adapter : str
        What the system calls the connection, as "wlan0" or "Wi-Fi".
    """

    address: Address
    adapter: str


def is_private(address: Address) -> bool:
    """Whether an address belongs to a home network and cannot be reached from the internet."""
    return any(address.version == network.version and address in network for network in _PRIVATE)


def own_addresses() -> tuple[OwnAddress, ...]:
    """Every address of this computer, as the system lists them."""
    import ifaddr

    found = []
    for adapter in ifaddr.get_adapters():
        for one in adapter.ips:
            text = one.ip if isinstance(one.ip, str) else one.ip[0]
            found.append(OwnAddress(ip_address(text.partition("%")[0]), adapter.nice_name))
    return tuple(found)


def is_ours(address: Address) -> bool:
    """Whether this computer has an address now."""
    family = socket.AF_INET6 if address.version == 6 else socket.AF_INET
    try:
        with socket.socket(family, socket.SOCK_DGRAM) as trial:
            trial.bind((f"{address}", 0))
    except OSError as error:
        return error.errno != errno.EADDRNOTAVAIL
    return True


def chosen_address(wanted: str | None, own: Sequence[OwnAddress]) -> Address:
    """The one address to listen at, beside this computer's own.

    Parameters
    ----------
    wanted : str or None
        What the person named; None for the only private address there is. An address of the
        older kind (IPv4) goes before one of the newer, because it is the shorter to type.
    own : sequence of OwnAddress
        Those of this computer.

    Raises
    ------
    InputError
        If the address is not private or not of this computer, or if there is none to choose, or
        more than one.
    """
    private = [one for one in own if is_private(one.address)]
    if wanted is not None:
        return _named(wanted.strip(), private)
    older = [one for one in private if one.address.version == 4]
    candidates = older or private
    if not candidates:
        raise InputError(say("share.no-address"), say("share.no-address-remedy"))
    if len(candidates) > 1:
        raise InputError(
            say("share.several", addresses=_told(candidates)),
            say("share.choose", address=f"{candidates[0].address}"),
        )
    return candidates[0].address


def web_host(address: Address, port: int) -> str:
    """Address and port as they stand in a web address and in the Host header."""
    place = f"[{address}]" if address.version == 6 else f"{address}"
    return place if port == 80 else f"{place}:{port}"


def _named(wanted: str, private: Sequence[OwnAddress]) -> Address:
    try:
        address = ip_address(wanted)
    except ValueError:
        raise InputError(say("share.not-an-address", text=wanted[:60]), _there(private)) from None
    if not is_private(address):
        raise InputError(say("share.not-private", address=address), say("share.private-only"))
    if address not in [one.address for one in private]:
        raise InputError(say("share.not-ours", address=address), _there(private))
    return address


def _there(private: Sequence[OwnAddress]) -> str:
    if not private:
        return say("share.no-address-remedy")
    return say("share.there-is", addresses=_told(private))


def _told(own: Sequence[OwnAddress]) -> str:
    return listed([f"{one.address} ({one.adapter})" for one in own])
