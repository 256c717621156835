"""Flake maps: each side of a box shows its own yielded skin and no other's."""

from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from shapes import brick

from fea.mesh import Floats
from studies.pressing.flake_map import FAINT_STRAIN, PLAIN_STRAIN, Stop, draw_flake_map
from studies.pressing.flakes import Flakes

SIDES = {
    "front": (1.0, 0.0, 0.0),
    "rear": (-1.0, 0.0, 0.0),
    "left": (0.0, 1.0, 0.0),
    "right": (0.0, -1.0, 0.0),
    "top": (0.0, 0.0, 1.0),
}
BOX = brick((3, 3, 3), (90.0, 60.0, 50.0))


def _like(picture: Floats, red: bool) -> Floats:
    """(h, w) pixels of the colour for flaking, or of that for fine cracks, legend left out."""
    r, g, b = (picture[: -picture.shape[0] // 6, :, i].astype(int) for i in range(3))
    return (r > 150) & (g < 60) & (b > 50) if red else (r > 190) & (g > 120) & (b < 100)


def _drawn(strain: Floats, path: Path) -> Floats:
    """The map at the second of two steps, the first being without strain."""
    states = np.array([0.0 * strain, strain])
    flakes = Flakes(BOX.points_mm, BOX.skin_facets, np.array([0.0, 300e3]), states)
    draw_flake_map(flakes, (Stop(300e3, "at 300 bar"),), "Flake map", path)
    with Image.open(path) as picture:
        return np.asarray(picture.convert("RGB"))


@pytest.mark.parametrize("side", SIDES)
def test_each_side_shows_its_own(side: str, tmp_path: Path) -> None:
    on_it = BOX.facet_normals @ np.array(SIDES[side]) > 0.9
    picture = _drawn(np.where(on_it, 1.5 * PLAIN_STRAIN, 0.0), tmp_path / "map.png")
    columns = np.flatnonzero(_like(picture, red=True).any(axis=0))
    assert len(columns) > 0.1 * picture.shape[1]
    assert np.diff(columns).max() == 1, "one view only"
    # Views stand in the order front, rear, left, right, top.
    middle = columns.mean() / picture.shape[1]
    order = list(SIDES).index(side)
    others = [0.09, 0.26, 0.45, 0.66, 0.88]
    assert int(np.argmin([abs(middle - place) for place in others])) == order


def test_fine_cracks_and_flaking_are_told_apart(tmp_path: Path) -> None:
    front = BOX.facet_normals @ np.array(SIDES["front"]) > 0.9
    for strain, faint, plain in (
        (0.9 * FAINT_STRAIN, False, False),
        (1.1 * FAINT_STRAIN, True, False),
        (1.1 * PLAIN_STRAIN, False, True),
    ):
        picture = _drawn(np.where(front, strain, 0.0), tmp_path / "map.png")
        assert bool(_like(picture, red=False).any()) is faint
        assert bool(_like(picture, red=True).any()) is plain
