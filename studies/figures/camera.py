"""Where the eye is, and what of space comes to lie where in a picture."""

import math
from dataclasses import dataclass

import numpy as np

from fea.mesh import Floats

_LENS_SIZES = 4.5
"""How many times the subject's size the eye is away: as through a long lens."""
_NEAR = 6.0
"""With parallel sight, where the eye is in half depths before the middle: shade loses its precision
far from it."""
_AIMING_ROUNDS = 6


@dataclass(frozen=True)
class Camera:
    """The eye, the point in the picture's middle, and how much is seen from there.

    ``angle_deg`` is the picture's height as an angle; zero means parallel sight, without
    perspective, and then ``half_height_mm`` is half the height seen.
    """

    eye_mm: tuple[float, float, float]
    middle_mm: tuple[float, float, float]
    angle_deg: float
    half_height_mm: float
    pixels: tuple[int, int]

    def axes(self) -> tuple[Floats, Floats, Floats]:
        """Unit vectors (3,) to the right, up, and from the eye into the picture."""
        return _axes(np.array(self.middle_mm) - np.array(self.eye_mm))

    def on_picture(self, points_mm: Floats) -> Floats:
        """Pixels (n, 2) from the left and from the top at which points (n, 3) lie."""
        right, up, into = self.axes()
        away = points_mm - np.array(self.eye_mm)
        across = np.column_stack([away @ right, away @ up])
        if self.angle_deg:
            across = across / (away @ into)[:, None]
        wide, tall = self.pixels
        scale = tall / 2.0 / self._half()
        return np.column_stack([wide / 2 + scale * across[:, 0], tall / 2 - scale * across[:, 1]])

    def floor_mm(self, columns: Floats, rows: Floats, z_mm: float) -> Floats:
        """Points (r, c, 2) of a level plane seen at pixels; NaN where there is none."""
        right, up, into = self.axes()
        wide, tall = self.pixels
        scale = self._half() / (tall / 2.0)
        x = (columns - wide / 2.0)[None, :, None] * scale
        y = (tall / 2.0 - rows)[:, None, None] * scale
        eye, ray = np.array(self.eye_mm), into + x * right + y * up
        if not self.angle_deg:
            eye, ray = eye + x * right + y * up, np.broadcast_to(into, ray.shape)
        with np.errstate(divide="ignore", invalid="ignore"):
            steps = (z_mm - eye[..., 2]) / ray[..., 2]
        steps = np.where(steps > 0.0, steps, np.nan)
        found: Floats = (eye + steps[..., None] * ray)[..., :2]
        return found

    def _half(self) -> float:
        return math.tan(math.radians(self.angle_deg) / 2) if self.angle_deg else self.half_height_mm


def _axes(into: Floats) -> tuple[Floats, Floats, Floats]:
    into = into / np.linalg.norm(into)
    right = np.cross(into, (0.0, 0.0, 1.0))
    right /= np.linalg.norm(right)
    return right, np.cross(right, into), into


def parallel(
    points_mm: Floats, viewpoint: tuple[float, float, float], width: int, margin: float
) -> Camera:
    """Parallel sight that holds all points, ``margin`` of the picture's width free on each side."""
    right, up, into = _axes(-np.array(viewpoint))
    across = np.column_stack([points_mm @ right, points_mm @ up])
    low, high = across.min(axis=0), across.max(axis=0)
    free = margin / (1.0 - 2.0 * margin) * (high[0] - low[0])
    wide, tall = (high - low) + 2.0 * free
    depth = points_mm @ into
    halfway, half_depth = (depth.min() + depth.max()) / 2.0, np.ptp(depth) / 2.0
    middle = right * (low[0] + high[0]) / 2 + up * (low[1] + high[1]) / 2 + into * halfway
    return Camera(
        _point(middle - _NEAR * half_depth * into),
        _point(middle),
        0.0,
        float(tall) / 2.0,
        (width, max(1, round(width * float(tall / wide)))),
    )


def long_lens(
    points_mm: Floats, viewpoint: tuple[float, float, float], width: int, margin: float
) -> Camera:
    """Mild perspective that holds all points, with margins as for ``parallel``."""
    middle = (points_mm.min(axis=0) + points_mm.max(axis=0)) / 2.0
    size = float(np.linalg.norm(np.ptp(points_mm, axis=0)))
    eye = middle + _LENS_SIZES * size * np.array(viewpoint) / np.linalg.norm(viewpoint)
    into = middle - eye
    wide = tall = 1.0
    for _ in range(_AIMING_ROUNDS):
        right, up, into = _axes(into)
        away = points_mm - eye
        across = np.column_stack([away @ right, away @ up]) / (away @ into)[:, None]
        low, high = across.min(axis=0), across.max(axis=0)
        free = margin / (1.0 - 2.0 * margin) * (high[0] - low[0])
        wide, tall = (high - low) + 2.0 * free
        into = into + right * (low[0] + high[0]) / 2.0 + up * (low[1] + high[1]) / 2.0
    return Camera(
        _point(eye),
        _point(eye + _LENS_SIZES * size * into / np.linalg.norm(into)),
        2.0 * math.degrees(math.atan(tall / 2.0)),
        0.0,
        (width, max(1, round(width * float(tall / wide)))),
    )


def _point(values: Floats) -> tuple[float, float, float]:
    x, y, z = (float(value) for value in values)
    return x, y, z
