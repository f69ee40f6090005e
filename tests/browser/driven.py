"""A real browser, driven: found on this computer, never downloaded.

``FORMULATE_BROWSER`` says what to do: unset, tests that need one are skipped where there is none;
``required``, a missing browser is a failure; ``none``, it is not looked for.
``FORMULATE_AXE`` names axe-core's ``axe.min.js``.

As a script it makes the README's picture: ``python tests/browser/driven.py page.png``.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

if TYPE_CHECKING:
    from selenium.webdriver import Chrome

__all__ = [
    "axe_faults",
    "axe_script",
    "browser",
    "browser_missing",
    "page_screenshot",
    "resized",
    "served",
    "wait",
    "whole_page_picture",
]

T = TypeVar("T")

#: Time for a page on a busy computer [s]; costs nothing where the page is quick.
PATIENCE = 120.0
#: What chromedriver says, under several names, while one page goes and the next one comes.
_COMING = (
    "does not belong to the document",
    "no node",
    "could not find node",
    "no such execution context",
    "execution context was destroyed",
    "cannot find context",
    "cannot find execution context",
    "cannot find default execution context",
    "inspected target navigated",
    "stale element",
    "frame was detached",
    "no such frame",
    "aborted by navigation",
)
_BROWSERS = ("chromium", "chromium-browser", "google-chrome", "chrome")
REQUIRED, NONE = "required", "none"


def browser_missing() -> str:
    """Why no browser can be driven here, in plain words; empty where one can.

    Raises
    ------
    RuntimeError
        If there is none and the environment requires one.
    """
    wanted = os.environ.get("FORMULATE_BROWSER", "")
    if wanted == NONE:
        return "no browser is wanted here"
    why = ""
    try:
        import selenium  # noqa: F401
    except ImportError:
        why = "selenium is not installed"
    if not why and not _found(_BROWSERS):
        why = "no Chromium is installed"
    if not why and not _found(("chromedriver",)):
        why = "no chromedriver is installed"
    if why and wanted == REQUIRED:
        raise RuntimeError(f"a browser is required here, but {why}")
    return why


def _found(names: tuple[str, ...]) -> str:
    return next((path for name in names if (path := shutil.which(name))), "")


@contextmanager
def browser(width: int, height: int = 900, *, scripts: bool = True) -> Iterator[Chrome]:
    """A headless Chromium with a window [px], with or without scripts."""
    from selenium.webdriver import Chrome, ChromeOptions
    from selenium.webdriver.chrome.service import Service

    options = ChromeOptions()
    options.binary_location = _found(_BROWSERS)
    for argument in ("--headless=new", "--disable-gpu", "--disable-dev-shm-usage",
                     "--hide-scrollbars", f"--window-size={max(width, 500)},{height}"):  # fmt: skip
        options.add_argument(argument)
    if hasattr(os, "geteuid") and os.geteuid() == 0:
        options.add_argument("--no-sandbox")  # Chromium refuses its sandbox to root
    if not scripts:
        options.add_experimental_option(
            "prefs", {"profile.managed_default_content_settings.javascript": 2}
        )
    # The order of day, month and year in a date field is that of the browser's language.
    english = os.environ | {"LANG": "en_US.UTF-8", "LANGUAGE": "en_US"}
    driver = Chrome(options=options, service=Service(_found(("chromedriver",)), env=english))
    try:
        driver.set_script_timeout(PATIENCE)
        metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
        driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
        yield driver
    finally:
        driver.quit()


@contextmanager
def served(folder: Path) -> Iterator[tuple[str, subprocess.Popen[str]]]:
    """``formulate page`` on a folder, as a process of its own; its address."""
    command = [sys.executable, "-m", "formulate", "page", str(folder), "--no-browser"]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True, bufsize=1)
    try:
        assert process.stdout is not None
        line = process.stdout.readline()
        found = re.search(r"http://127\.0\.0\.1:\d+/", line)
        assert found, f"no address in {line!r}"
        yield found[0], process
    finally:
        process.terminate()
        process.wait()
        if process.stdout is not None:
            process.stdout.close()


def wait(driver: Chrome, what: Callable[[], T]) -> T:
    """Ask again until the answer is yes; a page that is still coming in is no answer yet.

    ``what`` may be asked any number of times, so it looks and does nothing.
    """
    from selenium.common.exceptions import WebDriverException
    from selenium.webdriver.support.ui import WebDriverWait

    def asked(_: Chrome) -> T | bool:
        try:
            return what()
        except WebDriverException as error:
            if still_coming(error):
                return False
            raise

    return WebDriverWait(driver, PATIENCE, poll_frequency=0.05).until(asked)


def still_coming(error: Exception) -> bool:
    """Whether an error says only that the page, or a part of it, is not there yet or no more."""
    from selenium.common import exceptions

    passing = (exceptions.NoSuchElementException, exceptions.StaleElementReferenceException)
    return isinstance(error, passing) or any(one in str(error).lower() for one in _COMING)


def resized(driver: Chrome, width: int, height: int, *, dark: bool = False) -> None:
    """Give the window another size [px], in light or dark colours."""
    metrics = {"width": width, "height": height, "deviceScaleFactor": 1, "mobile": False}
    driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", metrics)
    wish = {"name": "prefers-color-scheme", "value": "dark" if dark else "light"}
    driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "", "features": [wish]})


def axe_script() -> str:
    """The text of axe-core; empty where it is not named.

    Raises
    ------
    RuntimeError
        If it is not named, and the environment requires a browser.
    """
    path = os.environ.get("FORMULATE_AXE", "")
    if not path and os.environ.get("FORMULATE_BROWSER") == REQUIRED:
        raise RuntimeError("axe-core is required here: name its axe.min.js in FORMULATE_AXE")
    return Path(path).read_text(encoding="utf-8") if path else ""


def axe_faults(driver: Chrome) -> list[str]:
    """What axe-core finds serious or critical on the page as it is now."""
    driver.execute_cdp_cmd("Runtime.evaluate", {"expression": axe_script()})
    found = driver.execute_async_script(
        "const done = arguments[arguments.length - 1];"
        "axe.run(document).then(r => done(r.violations.map(v => [v.impact, v.id, v.help,"
        "v.nodes.map(n => n.html).slice(0, 3).join(' | ')])));"
    )
    return [
        f"{impact}: {name}: {words}: {nodes}"
        for impact, name, words, nodes in found
        if impact in ("serious", "critical")
    ]


def whole_page_picture(driver: Chrome, path: Path, width: int) -> None:
    """A picture of the whole page, however long."""
    height = driver.execute_script("return document.documentElement.scrollHeight")
    whole = {"x": 0, "y": 0, "width": width, "height": height, "scale": 1}
    _picture(driver, path, clip=whole, captureBeyondViewport=True)


def page_screenshot(path: Path | str, width: int = 900, height: int = 1500) -> None:
    """Make the README's picture: the sample shelf's mix on the page, from the mix on."""
    with (
        tempfile.TemporaryDirectory() as folder,
        served(Path(folder)) as (address, _),
        browser(width, height) as driver,
    ):
        driver.get(address + "mix#answer")
        how_sure = "return document.getElementById('answer').innerText.includes('Of all batches')"
        wait(driver, lambda: driver.execute_script(how_sure))
        _picture(driver, Path(path))


def _picture(driver: Chrome, path: Path, **how: object) -> None:
    import base64

    # Two frames on, what was changed last is drawn.
    driver.execute_async_script(
        "const done = arguments[0]; requestAnimationFrame(() => requestAnimationFrame(done))"
    )
    shot = driver.execute_cdp_cmd("Page.captureScreenshot", {"format": "png", **how})
    path.write_bytes(base64.b64decode(shot["data"]))


if __name__ == "__main__":
    page_screenshot(sys.argv[1])
