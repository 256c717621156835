"""The page in a browser: a server for it, and the gestures of whoever sits before it."""

import os
import re
import socket
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import uvicorn
from axe_core_python.selenium import Axe
from browser import DESK, PHONE, settled, waited
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.webelement import WebElement

from studies.page.server import page_app

_SKIN_RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"]
WALL = "//label[starts-with(., 'Wall')]/following::input[1]"
_DRAWN = "return document.querySelector('#preview canvas') && " + (
    "document.querySelectorAll('#marks text').length"
)


QUIET = "return document.querySelector('#view[aria-busy=false]')"
"""The server has answered what was typed last, and the picture shows it."""


@contextmanager
def served(folder: Path) -> Iterator[str]:
    """A page's server for ``folder`` on a free port; its address."""
    listener = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(page_app(folder), log_level="error", ws="none"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
    thread.start()
    try:
        yield f"http://127.0.0.1:{listener.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join()


@contextmanager
def commanded(folder: Path) -> Iterator[tuple[str, int]]:
    """``gussetry page`` itself for ``folder``: its address, and the process that answers there."""
    begun = subprocess.Popen(
        [sys.executable, "-m", "studies.command", "page", str(folder), "--no-browser"],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[2])},
    )
    assert begun.stdout is not None
    try:
        found = re.search(r"http://\S+", begun.stdout.readline())
        assert found is not None
        below = Path(f"/proc/{begun.pid}/task/{begun.pid}/children").read_text().split()
        (server,) = (one for one in below if b"spawn_main" in _command_line(one))
        yield found[0], int(server)
    finally:
        begun.terminate()
        assert begun.wait(30) == 0
        begun.stdout.close()


def _command_line(process: str) -> bytes:
    return Path(f"/proc/{process}/cmdline").read_bytes()


def visited(browser: Chrome, address: str, size: tuple[int, int] = DESK) -> None:
    """Open the page in a window of ``size``, as one who has never been here."""
    on_a_screen(browser, size)
    browser.execute_cdp_cmd("Network.enable", {})
    still = {"offline": False, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
    browser.execute_cdp_cmd("Network.emulateNetworkConditions", still)
    browser.get_log("browser")
    browser.get(address)
    waited(browser, _DRAWN)


def on_a_screen(browser: Chrome, size: tuple[int, int]) -> None:
    screen = {"width": size[0], "height": size[1], "deviceScaleFactor": 1, "mobile": size == PHONE}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", screen)


def box(browser: Chrome, path: str) -> WebElement:
    return browser.find_element(By.XPATH, path)


def typed(browser: Chrome, path: str, text: str) -> None:
    """Put ``text`` in place of what a box holds, by keyboard."""
    at = box(browser, path)
    at.send_keys(Keys.CONTROL, "a")
    at.send_keys(text)


def pressed(browser: Chrome, selector: str) -> None:
    """Click what fits in one step: parts of the page are drawn anew as runs go on."""
    browser.execute_script("document.querySelector(arguments[0]).click()", selector)


def room(browser: Chrome, name: str) -> None:
    browser.find_element(By.CSS_SELECTOR, f'[data-room="{name}"]').click()
    waited(browser, f"return document.body.dataset.room == '{name}'")


def dimensions(browser: Chrome) -> list[str]:
    said: list[str] = browser.execute_script(
        "return [...document.querySelectorAll('#marks text')].map((one) => one.textContent)"
    )
    return said


def says(browser: Chrome, selector: str, text: str) -> None:
    """Wait until an element that fits says just ``text``."""
    every = f"[...document.querySelectorAll('{selector}')]"
    waited(browser, f"return {every}.some((one) => one.textContent == '{text}')")


def barriers(browser: Chrome) -> list[str]:
    """What axe-core finds wrong with the page as it stands."""
    rules: dict[str, Any] = {"runOnly": {"type": "tag", "values": _SKIN_RULES}}
    found = Axe().run(browser, options=rules)["violations"]
    return [f"{one['id']}: {one['nodes'][0]['html'][:120]}" for one in found]


def fits(browser: Chrome) -> bool:
    """Whether nothing on the page is wider than the window."""
    settled(browser)
    wide = "return document.documentElement.scrollWidth <= window.innerWidth"
    return bool(browser.execute_script(wide))
