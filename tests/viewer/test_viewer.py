"""The viewer in a real browser, from a file and with no network."""

import hashlib
import re
from pathlib import Path

import numpy as np
import pytest
from browser import (
    PHONE,
    Pixels,
    clicked_at,
    complaints,
    dragged,
    opened,
    pixels,
    requests,
    settled,
    waited,
)
from selenium.webdriver import Chrome, Keys
from selenium.webdriver.common.by import By
from shapes import brick
from turned import turned

from studies.fields import Fields
from studies.units import OutputUnits
from studies.viewer.packing import script_json
from studies.viewer.scenes import block_pack, comparison_pack, viewer_script, viewer_style

FIRST, SECOND = (f".g3d-cell:nth-of-type({number}) .g3d-stage" for number in (1, 2))
TOPS = (0.8, 0.4)
"""Share of yield at the top of each body under the first load; none at its foot."""

PAGE = """<!doctype html><html lang="en"><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Viewer</title><style>{style}</style><body><div id="here"><p>still picture</p></div>
<script type="application/json" id="pack">{pack}</script><script>{script}</script><script>
const pack = JSON.parse(document.getElementById("pack").textContent);
GussetryViewer.show(document.getElementById("here"), pack).then(
  (viewer) => {{ window.viewer = viewer; }}, (error) => {{ window.failed = String(error); }});
</script></body></html>"""


def _written(pack: dict[str, object], path: Path) -> Path:
    page = PAGE.format(style=viewer_style(), pack=script_json(pack), script=viewer_script())
    path.write_text(page, encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two bodies under two loads."""
    folder = tmp_path_factory.mktemp("viewer")
    pack = comparison_pack(turned(folder, ("Body 0", "Body 1"), TOPS), Fields(folder))
    assert pack is not None
    return _written(pack, folder / "page.html")


@pytest.fixture
def shown(browser: Chrome, page: Path) -> Chrome:
    opened(browser, page)
    waited(browser, "return Boolean(window.viewer)")
    return browser


def _views(browser: Chrome) -> tuple[Pixels, Pixels]:
    return pixels(browser, FIRST), pixels(browser, SECOND)


def _changed(before: Pixels, after: Pixels) -> float:
    """Share of the pixels that are not what they were."""
    return float((np.abs(after - before).max(axis=2) > 12).mean())


def test_nothing_is_asked_of_any_network_and_nothing_goes_wrong(shown: Chrome, page: Path) -> None:
    for view in _views(shown):
        steel = (view != 255).any(axis=2).mean()
        assert 0.15 < steel < 0.9
    assert requests(shown) == [page.as_uri()]
    assert complaints(shown) == []


def test_dragging_one_turns_all(shown: Chrome) -> None:
    before = _views(shown)
    dragged(shown, SECOND, 120, 30)
    for old, new in zip(before, _views(shown), strict=True):
        assert _changed(old, new) > 0.05
    shown.find_element(By.XPATH, "//button[.='Corner']").click()
    for old, new in zip(before, _views(shown), strict=True):
        assert _changed(old, new) < 0.001


def test_sliding_moves_the_steel(shown: Chrome) -> None:
    before = _views(shown)
    slider = shown.find_element(By.CSS_SELECTOR, ".g3d-move input")
    slider.send_keys(Keys.END)
    words = shown.find_element(By.CSS_SELECTOR, ".g3d-move output").text
    # A lean of 0.002 times 30 mm at ten times the load is 0.6 mm; a twentieth of 60 mm is five
    # times that, and the slider goes twice as far.
    assert words == "10 × larger"
    for old, new in zip(before, _views(shown), strict=True):
        assert _changed(old, new) > 0.005
    slider.send_keys(Keys.HOME)
    assert shown.find_element(By.CSS_SELECTOR, ".g3d-move output").text == "not drawn"


def test_choosing_a_load_changes_colours_and_words(shown: Chrome) -> None:
    before = _views(shown)
    shown.find_element(By.XPATH, "//option[.='Wrap forward']").click()
    for old, new in zip(before, _views(shown), strict=True):
        assert _changed(old, new) > 0.01
    assert "90.0 kN" in shown.find_element(By.CSS_SELECTOR, ".g3d-legend").text
    assert "0.83 × demand" in shown.find_element(By.CSS_SELECTOR, ".g3d-note").text
    shown.find_element(By.XPATH, "//option[starts-with(., 'no load')]").click()
    assert shown.find_elements(By.CSS_SELECTOR, ".g3d-legend") == []
    grey = _views(shown)[0]
    # A tube's grey: hardly any colour anywhere.
    assert np.ptp(grey, axis=2).max() < 60


def test_colours_are_those_of_the_legend(shown: Chrome) -> None:
    band = pixels(shown, ".g3d-band")
    middle = band[band.shape[0] // 2]
    shown.execute_script("document.querySelector(arguments[0]).scrollIntoView()", FIRST)
    top = shown.execute_script("return window.viewer.pack.loads[0].top")
    assert top == 0.8
    checked = 0
    for selector in (FIRST, SECOND):
        view = pixels(shown, selector)
        left, above = shown.execute_script(
            "const box = document.querySelector(arguments[0]).getBoundingClientRect();"
            "return [box.left, box.top];",
            selector,
        )
        tall, wide = view.shape[:2]
        places = [(x, y) for x in range(10, wide, 17) for y in range(10, tall, 13)]
        told = shown.execute_script(
            "return arguments[0].map(([x, y]) => window.viewer.read(x, y))",
            [(left + x + 0.5, above + y + 0.5) for x, y in places],
        )
        for (x, y), one in zip(places, told, strict=True):
            if one is None:
                continue
            colour = middle[2 + round((len(middle) - 5) * min(1.0, one["share"] / top))]
            near = view[y - 2 : y + 3, x - 2 : x + 3].reshape(-1, 3)
            if np.ptp(near, axis=0).max() > 40:
                continue  # an outline, a ring or the steel's edge
            seen = view[y, x]
            shade = float(seen @ colour / (colour @ colour))
            # Shading may darken the legend's colour, never change it.
            assert 0.75 < shade < 1.03, (one, seen, colour)
            assert np.abs(seen - shade * colour).max() < 9.0, (one, seen, colour)
            checked += 1
    assert checked > 100


def test_a_click_reads_part_share_and_stress(shown: Chrome) -> None:
    shown.execute_script("document.querySelector(arguments[0]).scrollIntoView()", SECOND)
    left, x, y = shown.execute_script(
        "const box = document.querySelector(arguments[0]).getBoundingClientRect();"
        "return [box.left, box.left + box.width / 2, box.top + box.height / 2];",
        SECOND,
    )
    shown.find_element(By.XPATH, "//button[.='Top']").click()
    clicked_at(shown, x, y)
    settled(shown)
    words = shown.find_element(By.CSS_SELECTOR, ".g3d-cell:nth-of-type(2) .g3d-told").text
    # The top stands at 40 % of a yield of 350 MPa, and leans by 0.002 × 30 mm × 10.
    assert words == "tube: 40 % of yield (140 MPa), moved 0.6 mm"
    told = shown.execute_script("return window.viewer.read(arguments[0], arguments[1])", x, y)
    assert told["layout"] == "Body 1"
    assert told["share"] == pytest.approx(0.4, abs=0.002)
    clicked_at(shown, left + 5, y)
    assert not shown.find_elements(By.CSS_SELECTOR, ".g3d-told:not([hidden])")


def test_keys_turn_and_zoom(shown: Chrome) -> None:
    before = _views(shown)[0]
    grid = shown.find_element(By.CSS_SELECTOR, ".g3d-grid")
    grid.send_keys(Keys.ARROW_LEFT, Keys.ARROW_UP)
    from_aside = _views(shown)[0]
    assert _changed(before, from_aside) > 0.02
    grid.send_keys("+", "+")
    closer = _views(shown)[0]
    assert (closer != 255).any(axis=2).mean() > 1.2 * (from_aside != 255).any(axis=2).mean()
    grid.send_keys(Keys.HOME)
    assert _changed(before, _views(shown)[0]) < 0.001


def test_a_phone_shows_them_side_by_side(browser: Chrome, page: Path) -> None:
    opened(browser, page, PHONE)
    waited(browser, "return Boolean(window.viewer)")
    assert browser.execute_script("return document.documentElement.scrollWidth") <= PHONE[0]
    for view in _views(browser):
        assert view.shape[1] > 150
        assert (view != 255).any(axis=2).mean() > 0.15


def test_without_webgl_the_page_keeps_what_it_had(browser: Chrome, page: Path) -> None:
    added = browser.execute_cdp_cmd(
        "Page.addScriptToEvaluateOnNewDocument",
        {"source": "HTMLCanvasElement.prototype.getContext = () => null;"},
    )
    try:
        opened(browser, page)
        assert "WebGL" in waited(browser, "return window.failed")
        assert browser.find_element(By.ID, "here").text == "still picture"
    finally:
        browser.execute_cdp_cmd("Page.removeScriptToEvaluateOnNewDocument", added)


def test_bare_blocks_take_each_others_place(browser: Chrome, tmp_path: Path) -> None:
    packs = [
        block_pack([(f"Block {n}", brick((2, 2, 2), (60.0, 40.0, 20.0 * n)))], OutputUnits())
        for n in (1, 2)
    ]
    opened(browser, _written(packs[0], tmp_path / "bare.html"))
    waited(browser, "return Boolean(window.viewer)")
    assert not browser.find_elements(By.CSS_SELECTOR, ".g3d-load, .g3d-move, .g3d-legend")
    before = pixels(browser, FIRST)
    browser.execute_async_script(
        "const done = arguments[1];"
        "window.viewer.eye.turn(0, 20); window.viewer.replace(arguments[0]).then(done);",
        packs[1],
    )
    assert "Block 2" in browser.find_element(By.CSS_SELECTOR, ".g3d-cell").text
    assert _changed(before, pixels(browser, FIRST)) > 0.05
    assert browser.execute_script("return window.viewer.eye.elevation") == 39
    assert len(browser.find_elements(By.CSS_SELECTOR, ".g3d-canvas")) == 1
    assert complaints(browser) == []


def test_the_bundle_was_built_from_the_sources_beside_it() -> None:
    folder = Path(__file__).parents[2] / "studies" / "viewer" / "source"
    sources = b"".join(path.read_bytes() for path in sorted(folder.glob("*.js")))
    told = re.match(r"/\* sources ([0-9a-f]{16})\. ", viewer_script())
    assert told
    assert told[1] == hashlib.sha256(sources).hexdigest()[:16]
