"""What a person sees and does in a browser, whatever the speed of the computer.

A page may be replaced between any two commands to the browser. So what is read is read in one go
and only from a page that has come in whole; a button is found, then tapped where it lies, and
nothing asks for it afterwards; and whoever goes to another page says so (:func:`next_page`), for
the old page may show the same words.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from browser.driven import still_coming, wait
from selenium.common.exceptions import TimeoutException, WebDriverException
from selenium.webdriver import ActionChains, Chrome

__all__ = [
    "focused",
    "has",
    "keys",
    "next_answer",
    "next_page",
    "pressed",
    "read",
    "said",
    "shown",
    "tapped",
    "ticked",
    "typed",
    "value_of",
]

#: From each script: whether an element can be seen.
_SEEN = """
const seen = e => e.checkVisibility({visibilityProperty: true}) && e.getClientRects().length > 0;
"""

#: Where an element lies once it is in view; nothing while it is absent, moves or is covered.
_PLACE = (
    _SEEN
    + """
if (document.readyState !== "complete") return null;
const [selector, words] = arguments;
const found = [...document.querySelectorAll(selector)]
  .find(e => seen(e) && !e.disabled && e.innerText.includes(words));
if (!found) return null;
found.scrollIntoView({block: "center", behavior: "instant"});
const line = found.getClientRects()[0];
const [x, y] = [line.left + line.width / 2, line.top + line.height / 2];
const top = document.elementFromPoint(x, y);
return top && (found.contains(top) || top.contains(found)) ? [x, y] : null;
"""
)


def read(driver: Chrome, script: str, *given: object) -> Any:
    """What a script gives of a page that has come in whole, as soon as it gives anything."""
    whole = f"if (document.readyState !== 'complete') return null; {script}"

    def found() -> list[Any]:
        given_back = driver.execute_script(whole, *given)
        return [] if given_back is None else [given_back]

    return wait(driver, found)[0]


def said(driver: Chrome, where: str = "#main") -> str:
    """The words that can be seen in a place, by its CSS selector."""
    return read(driver, "return document.querySelector(arguments[0])?.innerText ?? null", where)


def shown(driver: Chrome, words: str, where: str = "#main") -> None:
    """Wait until a place says some words."""
    try:
        wait(driver, lambda: words in said(driver, where))
    except TimeoutException:
        raise AssertionError(
            f"{words!r} is not said at {driver.current_url}, but {said(driver, where)!r}"
        ) from None


def has(driver: Chrome, selector: str) -> bool:
    """Whether there is such an element that can be seen, on a page that has come in whole."""
    return read(driver, _SEEN + "return [...document.querySelectorAll(arguments[0])].some(seen)",
                selector)  # fmt: skip


def value_of(driver: Chrome, name: str) -> str:
    """What stands in a field, by its id."""
    return read(driver, "return document.getElementById(arguments[0])?.value ?? null", name)


def focused(driver: Chrome) -> str:
    """The id of what has the focus."""
    return read(driver, "return document.activeElement?.id ?? ''")


def tapped(driver: Chrome, selector: str, words: str = "") -> None:
    """Tap what can be seen, once it is there and lies still."""

    def lies() -> list[float] | None:
        first = driver.execute_script(_PLACE, selector, words)
        return first if first == driver.execute_script(_PLACE, selector, words) else None

    try:
        x, y = wait(driver, lies)
    except TimeoutException:
        raise AssertionError(
            f"no {selector} {words!r} to tap at {driver.current_url}, but {said(driver, 'body')!r}"
        ) from None
    point = {"x": x, "y": y, "button": "left", "clickCount": 1}
    for kind in ("mousePressed", "mouseReleased"):
        try:
            driver.execute_cdp_cmd("Input.dispatchMouseEvent", {"type": kind, **point})
        except WebDriverException as error:  # what was tapped has led to another page
            if not still_coming(error):
                raise


def pressed(driver: Chrome, words: str, inside: str = "body") -> None:
    """Tap a button that has these words."""
    tapped(driver, f"{inside} button", words)


def ticked(driver: Chrome, food: str) -> None:
    """Tap the tick of a food."""
    tapped(driver, f'input[name="on"][value="{food}"]')


def typed(driver: Chrome, name: str, text: str) -> None:
    """Put text into a field, by its id, in place of what stands there, as one stroke."""
    tapped(driver, f"[id='{name}']")
    wait(driver, lambda: focused(driver) == name)
    driver.execute_script("document.activeElement.select()")
    driver.execute_cdp_cmd("Input.insertText", {"text": text})
    wait(driver, lambda: value_of(driver, name) == text)


def keys(driver: Chrome, *wanted: str) -> None:
    """Press keys, wherever the focus is."""
    ActionChains(driver).send_keys(*wanted).perform()


@contextmanager
def next_page(driver: Chrome) -> Iterator[None]:
    """Within, something is done that leads to another page, at the same address or not.

    Afterwards that page has come in whole.
    """
    driver.execute_script("window.pageBefore = true")
    yield
    wait(
        driver,
        lambda: driver.execute_script(
            "return !window.pageBefore && document.readyState === 'complete'"
        ),
    )


@contextmanager
def next_answer(driver: Chrome) -> Iterator[None]:
    """Within, one thing is changed that the script asks an answer for; afterwards it is there.

    The next answer may say the same as the one before.
    """
    answer = "const answer = document.getElementById('answer');"
    driver.execute_script(answer + "for (const one of answer.children) one.answeredBefore = true")
    yield
    replaced = "!answer.ariaBusy && answer.children.length && !answer.children[0].answeredBefore"
    wait(driver, lambda: driver.execute_script(f"{answer} return Boolean({replaced})"))
