"""What is under and behind a render: a soft shadow, and a white ground or none."""

from typing import Literal

import numpy as np
from PIL import Image
from scipy.ndimage import gaussian_filter, map_coordinates
from shapely import Polygon, contains_xy

from fea.mesh import Floats
from studies.figures.camera import Camera

Ground = Literal["white", "transparent"]

_DARKEST, _BLUR_SHARE, _GRID = 0.42, 0.07, 160
_STEP_PIXELS = 6
_INK = (24, 28, 32)


def shadowed(
    image: Image.Image, camera: Camera, footprint: Polygon, floor_mm: float
) -> Image.Image:
    """The render over a soft shadow of what covers ``footprint``, on a floor at a height."""
    wide, tall = image.size
    columns = np.arange(0.0, wide + _STEP_PIXELS, _STEP_PIXELS)
    rows = np.arange(0.0, tall + _STEP_PIXELS, _STEP_PIXELS)
    dark = _darkness(camera.floor_mm(columns, rows, floor_mm), footprint)
    fine = Image.fromarray((255.0 * dark).round().astype(np.uint8)).resize(
        (len(columns) * _STEP_PIXELS, len(rows) * _STEP_PIXELS), Image.Resampling.BICUBIC
    )
    under = Image.new("RGBA", image.size, (*_INK, 0))
    under.putalpha(fine.crop((0, 0, wide, tall)))
    return Image.alpha_composite(under, image)


def _darkness(floor_mm: Floats, footprint: Polygon) -> Floats:
    """How dark the floor is (r, c), 0 to 1, at points (r, c, 2)."""
    x0, y0, x1, y1 = footprint.bounds
    blur = _BLUR_SHARE * max(x1 - x0, y1 - y0)
    xs = np.linspace(x0 - 3.5 * blur, x1 + 3.5 * blur, _GRID)
    ys = np.linspace(y0 - 3.5 * blur, y1 + 3.5 * blur, _GRID)
    covered = contains_xy(footprint, *np.meshgrid(xs, ys)).astype(float)
    soft = gaussian_filter(covered, (blur / (ys[1] - ys[0]), blur / (xs[1] - xs[0])))
    at = [
        (floor_mm[..., 1] - ys[0]) / (ys[1] - ys[0]),
        (floor_mm[..., 0] - xs[0]) / (xs[1] - xs[0]),
    ]
    return np.asarray(_DARKEST * np.nan_to_num(map_coordinates(soft, at, order=1, cval=0.0)))


def grounded(image: Image.Image, ground: Ground) -> Image.Image:
    """The picture as it is to be kept: on white, or with its see-through ground."""
    if ground == "transparent":
        return image
    white = Image.new("RGBA", image.size, "white")
    return Image.alpha_composite(white, image).convert("RGB")
