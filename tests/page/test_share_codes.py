"""One-time codes: how long they are good for, and what a wrong one costs."""

import re
from concurrent.futures import ThreadPoolExecutor

import pytest

from formulate.page.sharing.codes import CODE_BYTES, CodeState, PairingCodes
from formulate.page.sharing.qr import qr_svg, qr_terminal


class Time:
    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def time():
    return Time()


@pytest.fixture
def codes(time):
    return PairingCodes(time)


def test_a_code_has_at_least_128_bits(codes):
    assert CODE_BYTES * 8 >= 128
    made = {codes.new() for _ in range(200)}
    assert len(made) == 200
    assert {len(code) for code in made} == {27}  # 160 bits, six a letter
    assert all(re.fullmatch(r"[\w-]+", code) for code in made)


def test_without_a_code_nothing_pairs(codes):
    assert codes.take("") is CodeState.WRONG
    assert codes.code == ""
    assert codes.left == 0


def test_a_code_pairs_once(codes):
    code = codes.new()
    assert codes.look(code) is CodeState.OPEN  # looking does not use it
    assert codes.take(code) is CodeState.OPEN
    assert codes.take(code) is codes.look(code) is CodeState.GONE


@pytest.mark.parametrize(("after", "state"), [(299.9, CodeState.OPEN), (300.0, CodeState.GONE)])
def test_a_code_is_good_for_five_minutes(codes, time, after, state):
    code = codes.new()
    time.now += after
    assert codes.left == pytest.approx(300 - after)
    assert codes.take(code) is state


@pytest.mark.parametrize(
    ("awake", "wall", "state"),
    [(299.0, 299.0, CodeState.OPEN), (10.0, 300.0, CodeState.GONE),  # the computer slept
     (300.0, -3600.0, CodeState.GONE), (10.0, -3600.0, CodeState.OPEN)],  # its clock was set back
)  # fmt: skip
def test_neither_sleep_nor_a_clock_set_back_makes_a_code_last(awake, wall, state):
    monotonic, clock = Time(), Time()
    codes = PairingCodes(monotonic, clock)
    code = codes.new()
    monotonic.now += awake
    clock.now += wall
    assert codes.take(code) is state


def test_a_new_code_ends_the_one_before(codes):
    old, new = codes.new(), codes.new()
    assert codes.look(old) is CodeState.GONE
    assert codes.look(new) is CodeState.OPEN


@pytest.mark.parametrize(("wrong", "state"), [(5, CodeState.OPEN), (6, CodeState.GONE)])
def test_five_wrong_tries_are_outlasted_and_the_sixth_closes_pairing(codes, wrong, state):
    code = codes.new()
    for k in range(wrong):
        assert codes.look(f"guess-{k}") is CodeState.WRONG
    assert codes.tries == wrong
    assert codes.closed is (wrong == 6)
    if wrong == 6:
        assert codes.take(code) is state


def test_the_sixth_try_closes_pairing_even_with_the_right_code(codes):
    code = codes.new()
    for k in range(5):
        codes.take(f"guess-{k}")
    assert codes.take(code) is CodeState.GONE
    assert codes.closed
    assert codes.take(codes.new()) is CodeState.OPEN  # a new code opens it again
    assert not codes.closed


@pytest.mark.parametrize("odd", ["ё", "\x00", "x" * 10_000, "\ud800", " "])
def test_odd_codes_are_wrong(codes, odd):
    codes.new()
    assert codes.look(odd) is CodeState.WRONG


def test_of_many_at_once_one_pairs(codes):
    code = codes.new()
    with ThreadPoolExecutor(8) as pool:
        states = list(pool.map(lambda _: codes.take(code), range(64)))
    assert states.count(CodeState.OPEN) == 1
    assert states.count(CodeState.GONE) == 63


def test_the_picture_is_dark_on_light_with_nothing_that_the_pages_policy_stops():
    picture = qr_svg("http://192.168.1.20:8377/pair/abc")
    assert 'fill="#fff"' in picture
    assert 'stroke="#000"' in picture
    assert "style" not in picture


def test_both_pictures_are_read_by_another_library_as_the_address():
    import numpy as np
    import zxingcpp

    text = "http://192.168.1.20:8377/pair/31Yfha9VkVraCQjkE0s1VxYJWnk"
    light = {"█": (1, 1), "▀": (1, 0), "▄": (0, 1), " ": (0, 0)}
    rows = [
        [light[letter][half] for letter in line]
        for line in qr_terminal(text, colours=False).split("\n")
        for half in (0, 1)
    ]
    seen = np.kron(np.array(rows, dtype=np.uint8) * 255, np.ones((8, 8), dtype=np.uint8))
    (found,) = zxingcpp.read_barcodes(seen)
    assert found.text == text
    (found,) = zxingcpp.read_barcodes(_drawn(qr_svg(text)))
    assert found.text == text


def _drawn(svg: str):
    """The picture's horizontal lines, as dots."""
    import numpy as np

    ((size, scale),) = re.findall(r'<svg width="(\d+)".*?scale\((\d+)\)', svg)
    (path,) = re.findall(r'class="qrline"[^>]* d="([^"]*)"', svg)
    modules = int(size) // int(scale)
    dots = np.full((modules, modules), 255, dtype=np.uint8)
    x = y = 0.0
    for letter, numbers in re.findall("([A-Za-z])([^A-Za-z]*)", path):
        values = [float(one) for one in re.findall(r"-?[\d.]+", numbers)]
        if letter == "M":
            x, y = values
        elif letter == "m":
            x, y = x + values[0], y + values[1]
        elif letter == "h":
            dots[int(y), int(x) : int(x + values[0])] = 0
            x += values[0]
    return np.kron(dots, np.ones((8, 8), dtype=np.uint8))


def test_the_terminals_picture_is_read_back_module_by_module():
    import segno

    text = "http://192.168.1.20:8377/pair/31Yfha9VkVraCQjkE0s1VxYJWnk"
    light = {"█": (1, 1), "▀": (1, 0), "▄": (0, 1), " ": (0, 0)}
    rows: list[list[int]] = []
    for line in qr_terminal(text, colours=False).split("\n"):
        pairs = [light[letter] for letter in line]
        rows += [[top for top, _ in pairs], [bottom for _, bottom in pairs]]
    wanted = [
        [1 - module for module in row]
        for row in segno.make(text, error="m", micro=False).matrix_iter(border=2)
    ]
    assert rows[: len(wanted)] == wanted
    coloured = qr_terminal(text, colours=True).split("\n")
    assert all(line.startswith("\x1b[97;40m") and line.endswith("\x1b[0m") for line in coloured)
