"""``gussetry figures`` as its user meets it: what it draws and says, what it refuses."""

import html
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from tiny_study import tiny_study

from studies.cautions import CAUTIONS
from studies.command import main
from studies.figures import gallery
from studies.units import OutputUnits
from studies.whole_files import unsealed

MORE = """
[welds]
tube_bottom = "3 mm"
tube_top = "3 mm"
rib_plate = "3 mm"
rib_tube = "3 mm"
[hole]
diameter = "12 mm"
"""
RENDERS = {"hero.png", "exploded.png", "load-1-crush.png", "layouts.png"}
DRAWN = {f"{stem}.{end}" for stem in ("drawing", "strength") for end in ("png", "svg", "pdf")}
TEXTS = {"figures.json", "figures.md", "figures.html"}
WIDTH = 300


@pytest.fixture(scope="module")
def study(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small study, in a folder that holds its results once one test has computed them."""
    return tiny_study(tmp_path_factory.mktemp("figures"), MORE)


def _figures(study: Path, *words: str) -> int:
    out = str(study.parent / "out")
    return main(["figures", str(study), "--out", out, "--pixels", str(WIDTH), *words])


@pytest.fixture(scope="module")
def made(study: Path) -> Path:
    """The folder with all pictures of the ribbed layout, on no ground."""
    words = ("--layout", "mid-wall RIBS", "--colour", "red", "--ground", "transparent")
    assert _figures(study, *words) == 0
    return study.parent / "out" / "tiny" / "figures" / "02-mid-wall-ribs"


def _texts(folder: Path) -> dict[str, dict[str, Any]]:
    return {one["file"]: one for one in json.loads((folder / "figures.json").read_text("utf-8"))}


def test_every_picture_is_there_in_its_size(made: Path) -> None:
    assert {path.name for path in made.iterdir()} == RENDERS | DRAWN | TEXTS
    for name, said in _texts(made).items():
        with Image.open(made / name) as image:
            assert image.size == (said["width"], said["height"])
            assert abs(image.width - WIDTH) <= 1
            assert image.mode == "RGBA"
            assert image.height > WIDTH / 5


def test_a_render_is_cut_out_with_soft_edges_and_in_its_paint(made: Path) -> None:
    with Image.open(made / "hero.png") as image:
        pixels = np.asarray(image)
    cover = pixels[..., 3]
    assert cover[0].max() < 60
    assert cover[:, 0].max() < 60
    solid = cover == 255
    assert 0.3 < solid.mean() < 0.9
    # Edges are mixed of steel and nothing, in steps.
    assert len(np.unique(cover)) > 4
    red, green, blue = pixels[solid][:, :3].astype(float).mean(axis=0)
    assert red > 1.5 * max(green, blue)


def test_every_picture_has_words_for_those_who_cannot_see_it(made: Path) -> None:
    texts = _texts(made)
    assert set(texts) == RENDERS | {"drawing.png", "strength.png"}
    page, markdown = ((made / f"figures.{end}").read_text("utf-8") for end in ("html", "md"))
    for name, said in texts.items():
        assert "Mid-wall ribs" in said["alt"]
        assert f'src="{name}"' in page
        assert f'alt="{html.escape(said["alt"])}"' in page
        assert f"]({name})" in markdown
    assert texts["drawing.png"]["drawings"] == ["drawing.svg", "drawing.pdf"]
    assert "60 × 60 × 8 mm · 2.362 × 2.362 × 0.315 in" in texts["drawing.png"]["alt"]
    assert "40 × 40 × 6 mm" in texts["exploded.png"]["alt"]


def test_pictures_with_a_load_say_the_result_its_band_and_the_cautions(made: Path) -> None:
    kept = [unsealed(path.read_bytes()) for path in made.parents[1].glob("store/*.json")]
    store = [json.loads(text) for text in kept if text]
    row = next(one for one in store if one["pattern"] == "mid-wall")
    first = OutputUnits().show_force(row["cases"][0]["starts"]["load_n"])
    texts = _texts(made)
    for name in ("strength.png", "load-1-crush.png"):
        said = texts[name]
        assert f"{first} ± " in said["alt"]
        assert "computed" in said["alt"]
        assert all(caution in said["caption"] for caution in CAUTIONS)
    assert "times larger than it is" in texts["load-1-crush.png"]["caption"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("--layout", "Mid-wal rib"), "did you mean 'Mid-wall ribs'?"),
        (("--colour", "bleu"), "no paint is called 'bleu'; did you mean 'blue'?"),
        (("--ground", "glass"), "no choice for --ground"),
        (("--pixels", "20"), "give 300 to 6000 pixels"),
        (("--book", "none.sqlite"), "there is no book of press tests"),
    ],
)
def test_what_cannot_be_is_refused_in_one_line(
    words: tuple[str, ...], said: str, study: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert _figures(study, *words) == 2
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 1
    assert said in lines[0]


def test_a_folder_that_cannot_be_made_is_refused(
    study: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (study.parent / "file").write_text("")
    assert main(["figures", str(study), "--out", str(study.parent / "file")]) == 2
    assert "choose another folder with --out" in capsys.readouterr().err


def test_without_opengl_drawing_chart_and_texts_stay(
    study: Path,
    made: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(gallery, "window_system", lambda: None)
    for path in made.iterdir():
        if path.name in RENDERS:
            continue
        path.unlink()
    assert _figures(study, "--layout", "Mid-wall ribs") == 1
    assert "no OpenGL" in capsys.readouterr().err
    assert {path.name for path in made.iterdir()} - RENDERS == DRAWN | TEXTS
    assert set(_texts(made)) == {"drawing.png", "strength.png"}
