"""The report page: what must be on it, and what a name must not do to it."""

import base64
import html
import re
from html.parser import HTMLParser
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from pretend import CRUSH, WRAP, case_result, comparison, layout

from studies import report
from studies.cautions import CAUTIONS
from studies.pictures import Figure, chart_figure
from studies.report import write_report
from studies.results import Comparison, LayoutFailure
from studies.viewer.scenes import viewer_script

BAD = 'Ribs "W" & <script>alert(1)</script> $5 🔧'
FAILED = LayoutFailure("Walls <b>carried</b>", False, "the mesher gave up; make the welds smaller")


class _Page(HTMLParser):
    """Tags, their attributes, the text and the scripts of a page."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.words: list[str] = []
        self.scripts: list[str] = []
        self._inside = ""
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        self._inside = tag

    def handle_endtag(self, tag: str) -> None:
        if tag == self._inside:
            self._inside = ""

    def handle_data(self, data: str) -> None:
        if self._inside == "script":
            self.scripts.append(data)
        elif self._inside != "style":
            self.words.append(data)

    @property
    def text(self) -> str:
        return " ".join(" ".join(self.words).split())


@pytest.fixture
def mixed() -> Comparison:
    return comparison(
        layout(BAD, case_result(CRUSH, 400e3), case_result(WRAP, 80e3), baseline=True),
        FAILED,
        layout("Ribbed", case_result(CRUSH, 500e3), case_result(WRAP, 100e3)),
        loads=(CRUSH, WRAP),
        title="Risers <i>&</i> more",
    )


def _page(of: Comparison, folder: Path, missing: str | None = None) -> tuple[str, _Page]:
    figures = (chart_figure(of, folder),) if of.results else ()
    text = write_report(of, figures, missing, folder).read_text(encoding="utf-8")
    return text, _Page(text)


def test_nothing_is_fetched(mixed: Comparison, tmp_path: Path) -> None:
    text, page = _page(mixed, tmp_path)
    assert "http" not in text
    assert "@import" not in text
    assert "url(" not in text
    assert not {tag for tag, _ in page.tags} & {"link", "iframe", "object", "a"}
    assert not re.search(r"fetch|XMLHttp|WebSocket|import\(|sendBeacon", "".join(page.scripts))
    for _, attributes in page.tags:
        assert attributes.get("src", "data:").startswith("data:image/webp;base64,") or (
            "src" not in attributes
        )


def test_cautions_come_before_any_number_and_no_promise_is_made(
    mixed: Comparison, tmp_path: Path
) -> None:
    text, page = _page(mixed, tmp_path)
    for caution in CAUTIONS:
        assert caution in page.text
        assert page.text.index(caution) < page.text.index("The layouts in numbers")
    assert not re.search(r"\bsafe", page.text, re.IGNORECASE)
    assert not re.search(r"\bsafe", " ".join(CAUTIONS), re.IGNORECASE)
    assert "qualified welder" in text


def test_names_are_shown_as_written_and_do_nothing(mixed: Comparison, tmp_path: Path) -> None:
    text, page = _page(mixed, tmp_path)
    assert len(page.scripts) == 1  # our own
    assert "alert" not in page.scripts[0]
    assert "<script>alert" not in text
    assert "<b>" not in text
    assert html.escape(mixed.title) in text
    assert BAD in page.text
    assert FAILED.name in page.text
    alts = [attributes["alt"] or "" for tag, attributes in page.tags if tag == "img"]
    assert len(alts) == 1
    assert BAD in alts[0]


def test_every_layout_and_load_has_its_numbers(mixed: Comparison, tmp_path: Path) -> None:
    _, page = _page(mixed, tmp_path)
    for said in (
        "400 kN",
        "1.33 ×",
        "0.89 × demand below",
        "0.89 × below",
        "+25 %",
        "tube, left wall, near the top",
    ):
        assert said in page.text
    assert "3 gusset layouts" in page.text
    assert "35.0 mm to the front off the middle" in page.text
    assert "starts to lift when the load is 25.4 mm" in page.text
    heads = [attributes for tag, attributes in page.tags if tag == "th"]
    assert all(attributes.get("scope") in ("col", "row") for attributes in heads)


def test_failures_and_missing_pictures_say_why(mixed: Comparison, tmp_path: Path) -> None:
    _, page = _page(mixed, tmp_path, "the pictures were left out; install something")
    assert f"{FAILED.name} could not be computed: {FAILED.reason}." in page.text
    assert "the pictures were left out; install something" in page.text


def test_a_report_without_any_result_still_comes(tmp_path: Path) -> None:
    _, page = _page(comparison(FAILED), tmp_path)
    assert "No layout could be computed." in page.text
    assert FAILED.reason in page.text
    assert "table" not in {tag for tag, _ in page.tags}
    assert "1 gusset layout computed" in page.text


def test_pictures_are_carried_whole(mixed: Comparison, tmp_path: Path) -> None:
    Image.new("RGB", (120, 80), "#2a6f7f").save(tmp_path / "one.png")
    figure = Figure("one.png", "A caption.", "An alternative.")
    text = write_report(mixed, (figure,), None, tmp_path).read_text(encoding="utf-8")
    found = re.search(r'src="data:image/webp;base64,([^"]+)" alt="An alternative."', text)
    assert found
    (tmp_path / "back.webp").write_bytes(base64.b64decode(found[1]))
    with Image.open(tmp_path / "back.webp") as picture:
        assert picture.size == (120, 80)
        pixel = picture.convert("RGB").getpixel((60, 40))
    assert isinstance(pixel, tuple)
    assert all(abs(a - b) <= 4 for a, b in zip(pixel, (0x2A, 0x6F, 0x7F), strict=True))
    assert not list(tmp_path.glob("*.part"))


def test_pictures_get_smaller_where_a_page_would_get_too_long(
    mixed: Comparison, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    noise = np.random.default_rng(1).integers(0, 256, (300, 400, 3), dtype=np.uint8)
    Image.fromarray(noise).save(tmp_path / "one.png")
    figure = Figure("one.png", "A caption.", "An alternative.")
    whole = write_report(mixed, (figure,), None, tmp_path).stat().st_size
    rest = write_report(mixed, (), None, tmp_path).stat().st_size
    room = (whole - rest) // 2
    most = report._OTHER_BYTES + len(viewer_script()) + room
    monkeypatch.setattr(report, "_MOST_BYTES", most)
    text = write_report(mixed, (figure,), None, tmp_path).read_text(encoding="utf-8")
    assert rest < len(text.encode()) <= rest + room + 500
    found = re.search(r'src="data:image/webp;base64,([^"]+)"', text)
    assert found
    (tmp_path / "back.webp").write_bytes(base64.b64decode(found[1]))
    with Image.open(tmp_path / "back.webp") as picture:
        assert 150 < picture.width < 400
        assert picture.width / picture.height == pytest.approx(4 / 3, abs=0.02)
