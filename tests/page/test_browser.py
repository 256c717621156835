"""The page in a browser: what a visitor sees, types and gets, without a network."""

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import uvicorn
from axe_core_python.selenium import Axe
from browser import DESK, PHONE, complaints, pixels, settled, waited
from selenium.webdriver import Chrome
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.webelement import WebElement
from tiny_study import tiny_study

from studies.page.server import page_app
from studies.study import read_study

_SKIN_RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"]
_WALL = "//label[starts-with(., 'Wall')]/following::input[1]"
_DRAWN = "return document.querySelector('#preview canvas') && " + (
    "document.querySelectorAll('#marks text').length"
)


_QUIET = "return document.querySelector('#view[aria-busy=false]')"
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


def visited(browser: Chrome, address: str, size: tuple[int, int] = DESK) -> None:
    """Open the page in a window of ``size``, as one who has never been here."""
    screen = {"width": size[0], "height": size[1], "deviceScaleFactor": 1, "mobile": size == PHONE}
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", screen)
    browser.execute_cdp_cmd("Network.enable", {})
    still = {"offline": False, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1}
    browser.execute_cdp_cmd("Network.emulateNetworkConditions", still)
    browser.get_log("browser")
    browser.get(address)
    waited(browser, _DRAWN)


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


def _says(browser: Chrome, selector: str, text: str) -> None:
    """Wait until an element that fits says just ``text``."""
    every = f"[...document.querySelectorAll('{selector}')]"
    waited(browser, f"return {every}.some((one) => one.textContent == '{text}')")


def barriers(browser: Chrome) -> list[str]:
    """What axe-core finds wrong with the page as it stands."""
    rules: dict[str, Any] = {"runOnly": {"type": "tag", "values": _SKIN_RULES}}
    found = Axe().run(browser, options=rules)["violations"]
    return [f"{one['id']}: {one['nodes'][0]['html'][:120]}" for one in found]


def test_a_first_visit_shows_a_block_and_its_answer(browser: Chrome, tmp_path: Path) -> None:
    with served(tmp_path) as address:
        visited(browser, address)
        figures = "document.querySelectorAll('#strip .figure:not(.soft)').length"
        waited(browser, f"return {figures} >= 18")
        assert dimensions(browser) == ["150 mm", "120 mm", "110 mm", "44 mm", "60 mm"]
        assert "computed beforehand" in browser.find_element(By.ID, "strip-note").text
        shown = pixels(browser, "#preview .g3d-stage")
        steel = (np.ptp(shown, axis=2) < 40) & (shown.max(axis=2) < 225)
        gold = (shown[..., 0] > 150) & (shown[..., 2] < 90) & (shown[..., 1] > 100)
        assert steel.mean() > 0.1
        assert gold.sum() > 300, "fillets are drawn in their own colour"
        assert barriers(browser) == []
        room(browser, "answer")
        waited(browser, "return document.querySelector('#views .g3d-band')")
        assert browser.find_elements(By.CSS_SELECTOR, "#answer .caution-box li")
        assert len(browser.find_elements(By.CSS_SELECTOR, "#answer table tbody tr")) == 18
        assert barriers(browser) == []
        assert complaints(browser) == []
    assert list(tmp_path.iterdir()) == []


def test_a_phone_is_wide_enough(browser: Chrome, tmp_path: Path) -> None:
    with served(tmp_path) as address:
        visited(browser, address, PHONE)
        for name in ("block", "layouts", "loads", "shop", "run", "answer", "guide"):
            room(browser, name)
            settled(browser)
            wide = "return document.documentElement.scrollWidth <= window.innerWidth"
            assert browser.execute_script(wide), name
            assert barriers(browser) == [], name


def test_values_are_typed_checked_kept_and_saved(browser: Chrome, tmp_path: Path) -> None:
    with served(tmp_path) as address:
        visited(browser, address)
        before = pixels(browser, "#preview .g3d-stage")
        typed(browser, _WALL, "1/4 inch")
        height = "//label[starts-with(., 'Height')]/following::input[1]"
        typed(browser, height, "3-1/4 in")
        _says(browser, "#marks text", "82.5 mm")
        assert (pixels(browser, "#preview .g3d-stage") != before).any(axis=2).mean() > 0.05
        typed(browser, _WALL, "70 mm")
        waited(browser, "return document.querySelector('[aria-invalid=true]')")
        told = browser.find_element(By.CSS_SELECTOR, ".field .problem:not([hidden])").text
        assert "leaves no bore" in told
        assert browser.find_element(By.ID, "compute").get_attribute("aria-disabled") == "true"
        browser.refresh()
        waited(browser, "return document.querySelector('[aria-invalid=true]')")
        assert box(browser, _WALL).get_attribute("value") == "70 mm"
        typed(browser, _WALL, "8 mm")
        waited(browser, "return !document.querySelector('[aria-invalid=true]')")
        browser.find_element(By.ID, "save").send_keys(Keys.ENTER)
        waited(browser, "return document.getElementById('saved').textContent == 'saved'")
        study = read_study(tmp_path / "trailer_risers.toml")
        assert study.layouts[0].block.tube.wall_mm == 8.0
        assert study.layouts[0].block.tube.height_mm == pytest.approx(82.55)


def test_two_windows_on_one_study_are_told_of_each_other(browser: Chrome, tmp_path: Path) -> None:
    tiny_study(tmp_path)
    with served(tmp_path) as address:
        visited(browser, address)
        first = browser.current_window_handle
        browser.switch_to.new_window("tab")
        visited(browser, address)
        typed(browser, _WALL, "5 mm")
        browser.find_element(By.ID, "save").click()
        waited(browser, "return document.getElementById('saved').textContent == 'saved'")
        browser.close()
        browser.switch_to.window(first)
        typed(browser, _WALL, "4 mm")
        browser.find_element(By.ID, "save").click()
        told = waited(browser, "return document.getElementById('name-problem').textContent")
        assert "changed meanwhile" in told
        assert box(browser, _WALL).get_attribute("value") == "4 mm"
    assert 'wall = "5 mm"' in (tmp_path / "tiny.toml").read_text()


def test_gussets_are_chosen_from_drawings_by_keyboard(browser: Chrome, tmp_path: Path) -> None:
    tiny_study(tmp_path)
    with served(tmp_path) as address:
        visited(browser, address)
        room(browser, "layouts")
        entry = browser.find_elements(By.CSS_SELECTOR, ".entry > summary")[1]
        entry.send_keys(Keys.ENTER)
        chosen = waited(
            browser, "return document.querySelector('.entry[open] .pattern input:checked')"
        )
        assert chosen.get_attribute("value") == "mid-wall"
        chosen.send_keys(Keys.ARROW_RIGHT)
        waited(browser, "return document.activeElement.value == 'overhang'")
        waited(browser, "return gussetry.state.data.layouts[1].pattern == 'overhang'")
        plan = "document.querySelectorAll('#strip .plan-ribs')[1].getAttribute('d')"
        waited(browser, f"return {plan}.split('M').length == 3")


def test_what_is_in_hand_stays_in_hand_when_the_page_draws_anew(
    browser: Chrome, tmp_path: Path
) -> None:
    tiny_study(tmp_path)
    with served(tmp_path) as address:
        visited(browser, address)
        room(browser, "layouts")
        # Faster than any event of the browser's own: opened and chosen in one breath. Ribs come.
        in_hand = browser.execute_script(
            """
            const entry = document.querySelectorAll(".entry")[1];
            entry.querySelector("summary").click();
            const free = entry.querySelector("input[value=free]");
            free.focus();
            free.click();
            return [document.activeElement.value, document.activeElement === free,
              document.querySelectorAll(".entry")[1].open];
            """
        )
        assert in_hand == ["free", False, True]
        # A card under the space bar while the server's answer draws all cards anew.
        browser.execute_script("document.querySelectorAll('.card')[1].focus()")
        ActionChains(browser).key_down(Keys.SPACE).perform()
        browser.execute_script(
            "const name = document.querySelector('.entry input');"
            "name.value = 'Bare'; name.dispatchEvent(new Event('input'));"
        )
        waited(browser, _QUIET)
        ActionChains(browser).key_up(Keys.SPACE).perform()
        waited(browser, "return gussetry.state.layout == 1")
        waited(browser, "return document.querySelector('.card strong').textContent == 'Bare'")
        waited(browser, _QUIET)
        assert browser.switch_to.active_element.get_attribute("data-keep") == "card1"


@pytest.mark.long
def test_a_run_is_begun_and_stopped_by_keyboard_alone(browser: Chrome, tmp_path: Path) -> None:
    study = tiny_study(tmp_path)
    study.write_text(study.read_text("utf-8").replace('"quick"', '"fine"'), "utf-8")
    with served(tmp_path) as address:
        visited(browser, address)
        waited(browser, "return document.getElementById('compute').ariaDisabled == 'false'")
        _entered(browser, "go")
        _patiently(browser, "return document.querySelector('.run[data-state=running]')")
        _entered(browser, "stop1")
        _patiently(browser, "return document.querySelector('[data-run=\"1\"][data-state=stopped]')")
        assert complaints(browser) == []


def _entered(browser: Chrome, kept_as: str) -> None:
    """Go on with the tab key to the button that is ``kept_as``, there to be; press enter."""
    for _ in range(400):
        ActionChains(browser).send_keys(Keys.TAB).perform()
        if browser.execute_script("return document.activeElement.dataset.keep") == kept_as:
            ActionChains(browser).send_keys(Keys.ENTER).perform()
            return
    raise AssertionError(f"no tab stop leads to {kept_as}")


@pytest.mark.long
def test_the_whole_path_from_sizes_to_papers(browser: Chrome, tmp_path: Path) -> None:
    tiny_study(tmp_path)
    with served(tmp_path) as address:
        visited(browser, address)
        typed(browser, _WALL, "5 mm")
        waited(browser, "return document.getElementById('compute').ariaDisabled == 'false'")
        pressed(browser, "#compute")
        waited(browser, "return document.querySelector('.run[data-state=running]')")
        browser.refresh()
        waited(browser, "return document.querySelector('.run[data-state=running] progress')")
        _patiently(browser, "return document.querySelector('[data-run=\"1\"][data-state=done]')")
        waited(browser, "return document.querySelectorAll('#strip .figure:not(.soft)').length == 4")
        room(browser, "answer")
        waited(browser, "return document.querySelectorAll('#answer table tbody tr').length == 2")
        waited(browser, "return document.querySelector('#views .g3d-band')")
        _colours_are_the_legends(browser)
        pressed(browser, '[data-order="papers"]')
        _patiently(browser, "return document.querySelector('[data-run=\"2\"][data-state=done]')")
        _says(browser, "#files a", "papers.pdf")
        pressed(browser, '[data-order="press"]')
        _patiently(browser, "return document.querySelector('[data-run=\"3\"][data-state=failed]')")
        assert "press: is missing" in browser.find_element(By.ID, "works").text
        assert complaints(browser) == []
    assert read_study(tmp_path / "tiny.toml").layouts[0].block.tube.wall_mm == 5.0


def _patiently(browser: Chrome, script: str) -> None:
    until = time.monotonic() + 300.0
    while not browser.execute_script(script):
        assert time.monotonic() < until, browser.find_element(By.ID, "works").text
        time.sleep(0.3)


def _colours_are_the_legends(browser: Chrome) -> None:
    """Steel in the picture has hues that the legend's band has, whatever the shading."""
    band = pixels(browser, "#views .g3d-band")[5, 3:-3].astype(float)
    seen = pixels(browser, "#views .g3d-stage").reshape(-1, 3).astype(float)
    steel = seen[(seen.max(axis=1) < 250) & (np.ptp(seen, axis=1) > 60)]
    assert len(steel) > 1000
    hues = band / np.linalg.norm(band, axis=1, keepdims=True)
    mine = steel[:: len(steel) // 500] / np.linalg.norm(
        steel[:: len(steel) // 500], axis=1, keepdims=True
    )
    nearest = (mine @ hues.T).max(axis=1)
    assert np.quantile(nearest, 0.2) > 0.99
