"""The report in a real browser: sorted, switched, turned, printed; offline, on desk and phone."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from browser import DESK, PHONE, complaints, opened, pixels, requests, waited
from PIL import Image
from pretend_press import prediction
from selenium.webdriver import Chrome
from selenium.webdriver.common.by import By
from selenium.webdriver.support.ui import Select
from turned import turned

from studies.cautions import CAUTIONS
from studies.fields import Fields
from studies.pictures import Figure, chart_figure
from studies.pressing.curves_figure import press_figure
from studies.report import write_report
from studies.viewer.scenes import page_pack

BAD = 'Z "W" & </script><script>document.title = "broken"</script>'
NAMES = ("No ribs", BAD, "Ribbed")
TOPS = (0.8, 0.5, 1.25)
READY = "return document.body.classList.contains('turning')"
STILL = "figure.still"


@pytest.fixture(scope="module")
def report(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three layouts: 375, 600 and 240 kN under crush, where 300 kN are demanded."""
    folder = tmp_path_factory.mktemp("report")
    found = turned(folder / "fields", NAMES, TOPS)
    Image.new("RGB", (600, 300), "#2a6f7f").save(folder / "blocks.png")
    still = Figure("blocks.png", "The blocks.", "Blocks side by side.")
    curves = (prediction(),)
    press = press_figure(curves, found.units, folder)
    assert press is not None
    figures = (chart_figure(found, folder), still, press)
    views = page_pack(found, Fields(folder / "fields"))
    assert views
    return write_report(found, figures, None, folder, views, curves)


@pytest.fixture
def shown(browser: Chrome, report: Path) -> Chrome:
    opened(browser, report)
    waited(browser, READY)
    return browser


def _names(browser: Chrome) -> list[str]:
    return [
        cell.text.removesuffix(" (baseline)")
        for cell in browser.find_elements(By.CSS_SELECTOR, "#glance tbody th")
    ]


def _seen(browser: Chrome, selector: str) -> bool:
    return any(one.is_displayed() for one in browser.find_elements(By.CSS_SELECTOR, selector))


def test_it_asks_nothing_of_any_network_and_names_do_nothing(shown: Chrome, report: Path) -> None:
    view = pixels(shown, ".g3d-stage")
    assert (view != 255).any(axis=2).mean() > 0.15
    assert requests(shown) == [report.as_uri()]
    assert complaints(shown) == []
    assert shown.title == "Risers"
    assert BAD in shown.find_element(By.CSS_SELECTOR, ".g3d-cell:nth-of-type(2)").text
    assert report.stat().st_size < 8_000_000


def test_the_top_says_who_reaches_the_loads(shown: Chrome) -> None:
    top = shown.find_element(By.CSS_SELECTOR, "section").text
    assert top.startswith(
        f"1 of 3 layouts reaches every load you demand before yielding starts: {BAD}."
    )
    first = shown.find_element(By.CSS_SELECTOR, ".card").text
    for said in ("Crush", "you demand 300 kN", f"Strongest: {BAD}", "600 kN ± 3 %", "2.00 ×"):
        assert said in first
    assert "Below the load you demand: Ribbed" in first


def test_headings_sort(shown: Chrome) -> None:
    assert _names(shown) == list(NAMES)
    heading = shown.find_element(By.CSS_SELECTOR, "#glance th:nth-child(2)")
    heading.find_element(By.TAG_NAME, "button").click()
    assert heading.get_attribute("aria-sort") == "descending"  # the strongest first
    assert _names(shown) == [BAD, "No ribs", "Ribbed"]
    heading.find_element(By.TAG_NAME, "button").click()
    assert heading.get_attribute("aria-sort") == "ascending"
    assert _names(shown) == ["Ribbed", "No ribs", BAD]
    shown.find_element(By.CSS_SELECTOR, "#glance th:first-child button").click()
    assert _names(shown) == list(NAMES)
    assert heading.get_attribute("aria-sort") is None


def test_another_baseline_changes_every_comparison(shown: Chrome) -> None:
    def said(kind: str) -> list[str]:
        found = shown.find_elements(By.CSS_SELECTOR, f"[data-change='{kind}']")
        return [one.text for one in found]

    # 375, 600 and 240 kN; twice, at a glance and in numbers.
    assert said("load-1") == 2 * ["–", "+60 %", "-36 %"]
    Select(shown.find_element(By.ID, "baseline")).select_by_visible_text("Ribbed")
    assert said("load-1") == 2 * ["+56 %", "+150 %", "–"]
    assert said("load-2") == 2 * ["+56 %", "+150 %", "–"]
    marks = shown.find_elements(By.CSS_SELECTOR, ".is-baseline")
    assert [one.is_displayed() for one in marks] == 3 * [False, False, True]


def test_bars_show_loads_bands_and_the_demand_to_scale(shown: Chrome) -> None:
    bars = shown.execute_script(
        "return [...document.querySelectorAll('#glance tr[data-layout] td:nth-child(2) svg')].map("
        "(bar) => [bar.querySelector('rect'), bar.querySelector('.band'),"
        " bar.querySelector('.demand')].map((part) => part.getBoundingClientRect().toJSON()))"
    )
    for (bar, band, demand), load in zip(bars, (375, 600, 240), strict=True):
        kilonewton = bar["width"] / load
        left = bar["left"]
        assert demand["left"] - left == pytest.approx(300 * kilonewton, abs=3)
        assert band["left"] - left == pytest.approx(0.97 * load * kilonewton, abs=3)
        assert band["right"] - left == pytest.approx(1.03 * load * kilonewton, abs=3)


def test_stills_give_way_to_views_and_come_back_on_request_and_in_print(shown: Chrome) -> None:
    assert not _seen(shown, STILL)
    assert _seen(shown, "figure:not(.still):not(.g3d-cell) img")
    button = shown.find_element(By.ID, "stills")
    button.click()
    assert _seen(shown, STILL)
    button.click()
    assert not _seen(shown, STILL)
    shown.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    try:
        assert _seen(shown, STILL)
        for hidden in ("#turn", "#stills", ".switch"):
            assert not _seen(shown, hidden)
    finally:
        shown.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})


def test_it_prints_in_order(shown: Chrome) -> None:
    tops = [one.location["y"] for one in shown.find_elements(By.TAG_NAME, "h2")]
    assert tops == sorted(tops)
    printed = shown.execute_cdp_cmd("Page.printToPDF", {"preferCSSPageSize": True})
    assert len(printed["data"]) > 100_000
    cautions = shown.find_element(By.CSS_SELECTOR, "aside.cautions")
    assert cautions.location["y"] < tops[0]
    assert all(caution in cautions.text for caution in CAUTIONS)


@pytest.fixture
def without(browser: Chrome) -> Iterator[Chrome]:
    """The browser, whatever was taken from it given back afterwards."""
    yield browser
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


def test_without_webgl_stills_stand_in(browser: Chrome, report: Path) -> None:
    added = browser.execute_cdp_cmd(
        "Page.addScriptToEvaluateOnNewDocument",
        {"source": "HTMLCanvasElement.prototype.getContext = () => null;"},
    )
    try:
        opened(browser, report)
        waited(browser, "return !document.getElementById('turn-fallback').hidden")
        assert _seen(browser, STILL)
        assert not _seen(browser, "#turn, #stills")
        browser.find_element(By.CSS_SELECTOR, "#glance th:nth-child(2) button").click()
        assert _names(browser)[0] == BAD
    finally:
        browser.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", added)


def test_without_scripts_nothing_is_missing_and_nothing_is_dead(
    without: Chrome, report: Path
) -> None:
    without.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    opened(without, report)
    assert _seen(without, STILL)
    assert not _seen(without, "button, select, #turn")
    assert _names(without) == list(NAMES)
    text = without.find_element(By.TAG_NAME, "main").text
    for said in ("600 kN ± 3 %", "+60 %", "-36 %", "In the shop press", "704 kN", *CAUTIONS):
        assert said in text


@pytest.mark.parametrize("size", [DESK, PHONE])
def test_it_fits_the_screen_and_can_be_read(
    size: tuple[int, int], browser: Chrome, report: Path
) -> None:
    opened(browser, report, size)
    waited(browser, READY)
    assert browser.execute_script("return document.documentElement.scrollWidth") <= size[0]
    # Every text at least 4.5 times as light or dark as its ground (WCAG 2.2, 1.4.3).
    dim = browser.execute_script(
        """
        const light = (colour) => colour.match(/[\\d.]+/g).slice(0, 3).map((c) => c / 255)
          .map((c) => (c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4))
          .reduce((sum, c, i) => sum + c * [0.2126, 0.7152, 0.0722][i], 0);
        const ground = (one) => {
          for (let at = one; at; at = at.parentElement) {
            const colour = getComputedStyle(at).backgroundColor;
            if (colour !== "rgba(0, 0, 0, 0)") return colour;
          }
          return "rgb(255, 255, 255)";
        };
        const found = [];
        for (const one of document.querySelectorAll("main *")) {
          if (!one.offsetParent || one.closest("script, style, svg")) continue;
          if (![...one.childNodes].some((n) => n.nodeType === 3 && n.data.trim())) continue;
          const [a, b] = [light(getComputedStyle(one).color), light(ground(one))];
          const contrast = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
          if (contrast < 4.5 && !one.closest(":disabled")) found.push([one.textContent, contrast]);
        }
        return found;
        """
    )
    assert dim == []
