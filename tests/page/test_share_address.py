"""The one address that is shared: private, of this computer, and chosen by a person if in doubt."""

from ipaddress import ip_address

import pytest

from formulate.base.errors import InputError
from formulate.page.sharing.address import (
    OwnAddress,
    chosen_address,
    is_ours,
    is_private,
    own_addresses,
    web_host,
)

LOOPBACK = OwnAddress(ip_address("127.0.0.1"), "lo")
WIFI = OwnAddress(ip_address("192.168.1.20"), "wlan0")
CABLE = OwnAddress(ip_address("10.0.0.7"), "eth0")
NEWER = OwnAddress(ip_address("fd12:3456::20"), "wlan0")
LINK = OwnAddress(ip_address("fe80::1"), "wlan0")
PUBLIC = OwnAddress(ip_address("203.0.113.5"), "eth1")


@pytest.mark.parametrize(
    ("address", "private"),
    [
        # RFC 1918 and RFC 4193: the first and last address of each range, and their neighbours.
        ("10.0.0.0", True), ("10.255.255.255", True), ("9.255.255.255", False),
        ("11.0.0.0", False), ("172.16.0.0", True), ("172.31.255.255", True),
        ("172.15.255.255", False), ("172.32.0.0", False), ("192.168.0.0", True),
        ("192.168.255.255", True), ("192.167.255.255", False), ("192.169.0.0", False),
        ("fc00::", True), ("fdff:ffff::1", True), ("fbff:ffff::1", False), ("fe00::1", False),
        # Link-local (RFC 3927, RFC 4291), loopback, any, shared (RFC 6598), mapped, public.
        ("169.254.1.1", False), ("fe80::1", False), ("127.0.0.1", False), ("127.0.0.2", False),
        ("::1", False), ("0.0.0.0", False), ("::", False), ("100.64.0.1", False),
        ("::ffff:192.168.1.20", False), ("8.8.8.8", False), ("2001:db8::1", False),
        ("224.0.0.1", False), ("255.255.255.255", False),
    ],
)  # fmt: skip
def test_private_is_what_the_rfcs_call_so(address, private):
    assert is_private(ip_address(address)) is private


def test_the_only_private_address_is_taken():
    assert chosen_address(None, [LOOPBACK, PUBLIC, WIFI, LINK]) == WIFI.address
    assert chosen_address(None, [LOOPBACK, NEWER, LINK]) == NEWER.address


def test_the_older_kind_goes_before_the_newer():
    assert chosen_address(None, [NEWER, WIFI]) == WIFI.address


def test_of_several_networks_a_person_names_one():
    with pytest.raises(InputError, match="several private networks") as told:
        chosen_address(None, [CABLE, WIFI])
    assert "10.0.0.7 (eth0) and 192.168.1.20 (wlan0)" in str(told.value)
    assert chosen_address(" 192.168.1.20 ", [CABLE, WIFI]) == WIFI.address
    assert chosen_address("fd12:3456:0::20", [NEWER, WIFI]) == NEWER.address


@pytest.mark.parametrize("own", [[], [LOOPBACK], [LOOPBACK, LINK, PUBLIC]])
def test_without_a_home_network_nothing_is_shared(own):
    with pytest.raises(InputError, match="no address on a home network"):
        chosen_address(None, own)


@pytest.mark.parametrize(
    ("wanted", "told"),
    [
        ("203.0.113.5", "is not a private address"),
        ("8.8.8.8", "is not a private address"),
        ("0.0.0.0", "is not a private address"),
        ("::", "is not a private address"),
        ("127.0.0.1", "is not a private address"),
        ("fe80::1", "is not a private address"),
        ("192.168.1.21", "does not have the address 192.168.1.21"),
        ("kitchen", '"kitchen" is not an address'),
        ("192.168.1.20:8377", "is not an address"),
        ("192.168.1", "is not an address"),
        ("", "is not an address"),
    ],
)
def test_any_other_address_is_refused(wanted, told):
    with pytest.raises(InputError, match=told):
        chosen_address(wanted, [LOOPBACK, WIFI, LINK, PUBLIC])


def test_an_address_is_ours_or_not():
    assert is_ours(ip_address("127.0.0.1"))
    assert not is_ours(ip_address("192.0.2.77"))  # for documentation only (RFC 5737)
    assert not is_ours(ip_address("2001:db8::77"))  # RFC 3849


def test_the_system_tells_its_addresses():
    assert ip_address("127.0.0.1") in [one.address for one in own_addresses()]


@pytest.mark.parametrize(
    ("address", "port", "host"),
    [
        ("192.168.1.20", 8377, "192.168.1.20:8377"),
        ("192.168.1.20", 80, "192.168.1.20"),
        ("fd12::20", 8377, "[fd12::20]:8377"),
    ],
)
def test_an_address_as_browsers_write_it(address, port, host):
    assert web_host(ip_address(address), port) == host
