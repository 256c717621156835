"""A headless browser for looking at our pages, cut off from every network."""

import base64
import io
import json
import os
import shutil
import time
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image
from selenium.webdriver import Chrome, ChromeOptions
from selenium.webdriver.chrome.service import Service

FLAGS = (
    *("--headless", "--no-sandbox", "--disable-quic", "--no-first-run", "--hide-scrollbars"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
    *("--disable-dev-shm-usage", "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1"),
    *("--disable-renderer-backgrounding", "--disable-backgrounding-occluded-windows"),
    *("--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"),
)
MISSING = "tests of our pages need a browser: install the packages chromium and chromium-driver"
DESK, PHONE = (1280, 900), (390, 844)
_PATIENCE_SECONDS = 240.0

Pixels = NDArray[np.int64]


def started() -> Chrome:
    """A browser of our own; fails with what to install where there is none."""
    chromium, driver = shutil.which("chromium"), shutil.which("chromedriver")
    assert chromium, MISSING
    assert driver, MISSING
    os.environ["SE_AVOID_STATS"] = "true"
    options = ChromeOptions()
    options.binary_location = chromium
    for flag in FLAGS:
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
    browser = Chrome(options=options, service=Service(driver))
    # On a crowded machine one frame drawn without a graphics card can take longer than its default.
    browser.set_script_timeout(_PATIENCE_SECONDS)
    return browser


def opened(browser: Chrome, page: Path, size: tuple[int, int] = DESK) -> None:
    """Open a file in a window of ``size``, offline, with what was logged before forgotten."""
    browser.execute_cdp_cmd("Network.enable", {})
    browser.execute_cdp_cmd(
        "Network.emulateNetworkConditions",
        {"offline": True, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1},
    )
    screen = {"width": size[0], "height": size[1], "deviceScaleFactor": 1, "mobile": size == PHONE}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", screen)
    for kind in ("browser", "performance"):
        browser.get_log(kind)
    browser.get(page.as_uri())


def requests(browser: Chrome) -> list[str]:
    """Every address asked for since the page was opened, its own too; not what it holds itself."""
    messages = [json.loads(entry["message"])["message"] for entry in browser.get_log("performance")]
    asked = [
        message["params"]["request"]["url"]
        for message in messages
        if message["method"] == "Network.requestWillBeSent"
    ]
    return [address for address in asked if not address.startswith("data:")]


def complaints(browser: Chrome) -> list[str]:
    """Errors and warnings on the browser's console since the page was opened.

    What the browser says of its own way of drawing without a graphics card is left out.
    """
    said = [entry["message"] for entry in browser.get_log("browser")]
    return [one for one in said if "GPU stall" not in one and "swiftshader" not in one.lower()]


def waited(browser: Chrome, script: str) -> Any:
    """What ``script`` returns once that is true; fails when it never is."""
    until = time.monotonic() + _PATIENCE_SECONDS
    while time.monotonic() < until:
        if found := browser.execute_script(script):
            return found
        time.sleep(0.05)
    raise AssertionError(f"never came true: {script}")


def settled(browser: Chrome) -> None:
    """Wait until what was asked for is drawn."""
    browser.execute_async_script(
        "const done = arguments[0];"
        "requestAnimationFrame(() => requestAnimationFrame(() => requestAnimationFrame(done)));"
    )


def pixels(browser: Chrome, selector: str) -> Pixels:
    """(h, w, 3) what the first element that fits shows, wherever it is on the page."""
    settled(browser)
    box = browser.execute_script(
        "const box = document.querySelector(arguments[0]).getBoundingClientRect();"
        "return [box.left + scrollX, box.top + scrollY, box.width, box.height];",
        selector,
    )
    clip = dict(zip(("x", "y", "width", "height"), box, strict=True), scale=1)
    shot = browser.execute_cdp_cmd(
        "Page.captureScreenshot", {"clip": clip, "captureBeyondViewport": True}
    )
    with Image.open(io.BytesIO(base64.b64decode(shot["data"]))) as picture:
        return np.asarray(picture.convert("RGB"), dtype=np.int64)


def dragged(browser: Chrome, selector: str, right: int, down: int) -> None:
    """Drag from the middle of the first element that fits."""
    x, y = browser.execute_script(
        """
        const stage = document.querySelector(arguments[0]);
        stage.scrollIntoView({block: "center"});
        const box = stage.getBoundingClientRect();
        return [box.left + box.width / 2, box.top + box.height / 2];
        """,
        selector,
    )
    _mouse(browser, "mousePressed", x, y)
    for step in (0.5, 1.0):
        _mouse(browser, "mouseMoved", x + step * right, y + step * down)
    _mouse(browser, "mouseReleased", x + right, y + down)


def clicked_at(browser: Chrome, x: float, y: float) -> None:
    """Click at a place of the window."""
    _mouse(browser, "mousePressed", x, y)
    _mouse(browser, "mouseReleased", x, y)


def _mouse(browser: Chrome, kind: str, x: float, y: float) -> None:
    button: dict[str, Any] = {"button": "left", "buttons": 1, "clickCount": 1}
    browser.execute_cdp_cmd("Input.dispatchMouseEvent", {"type": kind, "x": x, "y": y, **button})
