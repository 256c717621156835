"""The page in a browser: what a visitor sees, types and gets, without a network."""

import os
import signal
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from browser import PHONE, complaints, pixels, waited
from page_browser import (
    QUIET,
    WALL,
    barriers,
    box,
    commanded,
    dimensions,
    fits,
    on_a_screen,
    pressed,
    room,
    says,
    served,
    typed,
    visited,
)
from selenium.webdriver import Chrome
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from tiny_study import tiny_study

from studies.study import read_study


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
        assert len(browser.find_elements(By.CSS_SELECTOR, ".load table tbody tr")) == 18
        _bars_end_in_their_bands(browser)
        _the_press_curve_is_read(browser)
        assert barriers(browser) == []
        on_a_screen(browser, PHONE)
        assert fits(browser)
        assert complaints(browser) == []
    assert list(tmp_path.iterdir()) == []


def _bars_end_in_their_bands(browser: Chrome) -> None:
    """Each bar's bracket stands about its end, where 555 kN ± 4 % and the like put it."""
    found = browser.execute_script(
        "return [...document.querySelectorAll('.load .track')].map((one) => "
        "['.bar', '.band'].map((part) => one.querySelector(part).getBoundingClientRect().toJSON()))"
    )
    assert len(found) == 18
    for bar, band in found:
        assert 0.005 < (bar["right"] - band["left"]) / bar["width"] < 0.2
        assert band["right"] - bar["right"] == pytest.approx(bar["right"] - band["left"], abs=1.5)


def _the_press_curve_is_read(browser: Chrome) -> None:
    """By keys, pointer and finger: force, band and gauge; dashed past where it holds."""
    said = "return document.querySelector('#press .readout').innerText.replaceAll('\\n', ' ')"
    waited(browser, "return document.querySelector('#press .curve .whisker')")
    curve = browser.find_element(By.CSS_SELECTOR, "#press .curve")
    assert "Never past 580 bar, 900 kN" in browser.find_element(By.ID, "press").text
    marks, numbers = (
        len(curve.find_elements(By.CSS_SELECTOR, one)) for one in (".whisker", ".number")
    )
    assert marks == numbers == 6
    dashes = "return getComputedStyle(document.querySelector('#press .curve-line.past'))"
    assert browser.execute_script(f"{dashes}.strokeDasharray") != "none"
    start = browser.execute_script(said)
    assert "gauge 380 bar" in start
    curve.send_keys(Keys.ARROW_RIGHT, Keys.ARROW_RIGHT)
    assert browser.execute_script(said) != start
    curve.send_keys(Keys.END)
    assert "out of this press's reach" in browser.execute_script(said)
    told = curve.get_attribute("aria-valuetext")
    assert told is not None
    assert "past what this way of computing holds for" in told
    ActionChains(browser).move_to_element(curve).perform()
    under_pointer = browser.execute_script(said)
    assert "at this travel it may be" in under_pointer
    assert under_pointer not in ("", start)
    x, y = browser.execute_script(
        "const box = document.querySelector('#press .curve').getBoundingClientRect();"
        "return [box.left + 0.2 * box.width, box.top + box.height / 2];"
    )
    for kind, points in (("touchStart", [{"x": x, "y": y}]), ("touchEnd", [])):
        touch: dict[str, Any] = {"type": kind, "touchPoints": points}
        browser.execute_cdp_cmd("Input.dispatchTouchEvent", touch)
    assert browser.execute_script(said) != under_pointer
    seen = pixels(browser, "#press .curve svg")
    red = (seen[..., 0] > 140) & (seen[..., 1] < 60)
    teal = (seen[..., 2] > 90) & (seen[..., 0] < 60) & (seen[..., 1] > 70)
    assert red.sum() > 500, "where the press ends"
    assert teal.sum() > 1000, "the curve itself"


def test_a_phone_is_wide_enough(browser: Chrome, tmp_path: Path) -> None:
    tiny_study(tmp_path)
    with served(tmp_path) as address:
        visited(browser, address, PHONE)
        for name in ("block", "layouts", "loads", "shop", "run", "answer", "guide"):
            room(browser, name)
            waited(browser, QUIET)
            assert fits(browser), name
            assert barriers(browser) == [], name


def test_values_are_typed_checked_kept_and_saved(browser: Chrome, tmp_path: Path) -> None:
    with served(tmp_path) as address:
        visited(browser, address)
        before = pixels(browser, "#preview .g3d-stage")
        typed(browser, WALL, "1/4 inch")
        height = "//label[starts-with(., 'Height')]/following::input[1]"
        typed(browser, height, "3-1/4 in")
        says(browser, "#marks text", "82.5 mm")
        assert (pixels(browser, "#preview .g3d-stage") != before).any(axis=2).mean() > 0.05
        typed(browser, WALL, "70 mm")
        told = "document.querySelector('.field .problem:not([hidden])')"
        waited(browser, f"return {told}?.textContent.includes('leaves no bore')")
        waited(browser, QUIET)
        assert browser.find_elements(By.CSS_SELECTOR, "[aria-invalid=true]")
        assert browser.find_element(By.ID, "compute").get_attribute("aria-disabled") == "true"
        browser.refresh()
        waited(browser, "return document.querySelector('[aria-invalid=true]')")
        assert box(browser, WALL).get_attribute("value") == "70 mm"
        typed(browser, WALL, "8 mm")
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
        typed(browser, WALL, "5 mm")
        browser.find_element(By.ID, "save").click()
        waited(browser, "return document.getElementById('saved').textContent == 'saved'")
        browser.close()
        browser.switch_to.window(first)
        typed(browser, WALL, "4 mm")
        browser.find_element(By.ID, "save").click()
        told = waited(browser, "return document.getElementById('name-problem').textContent")
        assert "changed meanwhile" in told
        assert box(browser, WALL).get_attribute("value") == "4 mm"
    assert 'wall = "5 mm"' in (tmp_path / "tiny.toml").read_text()


@pytest.mark.skipif(sys.platform != "linux", reason="finds the server's process as Linux tells it")
def test_a_crash_of_the_server_is_survived(browser: Chrome, tmp_path: Path) -> None:
    tiny_study(tmp_path)
    height = "//label[starts-with(., 'Height')]/following::input[1]"
    with commanded(tmp_path) as (address, server):
        visited(browser, address)
        os.kill(server, signal.SIGSEGV)
        typed(browser, height, "25 mm")
        says(browser, "#marks text", "25 mm")
        browser.find_element(By.ID, "save").click()
        waited(browser, "return document.getElementById('saved').textContent == 'saved'")
    assert read_study(tmp_path / "tiny.toml").layouts[0].block.tube.height_mm == 25.0


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
        waited(browser, QUIET)
        ActionChains(browser).key_up(Keys.SPACE).perform()
        waited(browser, "return gussetry.state.layout == 1")
        waited(browser, "return document.querySelector('.card strong').textContent == 'Bare'")
        heading = browser.find_element(By.CSS_SELECTOR, ".entry summary").text
        assert (heading[:4], heading[-8:]) == ("Bare", "baseline")
        waited(browser, QUIET)
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
        typed(browser, WALL, "5 mm")
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
        says(browser, "#files a", "papers.pdf")
        papers = tmp_path / "out" / "tiny" / "papers" / "01-no-gussets"
        assert (papers / "papers.pdf").read_bytes().startswith(b"%PDF")
        assert (papers / "block.step").is_file()
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
