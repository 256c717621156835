"""Flake maps: where the mill scale would crack, from four sides and from above.

Mill scale is brittle: it cracks and flakes where the steel under it yields, so the pictures can be
laid beside the block. Drawn flat, without OpenGL, from the skin of the mesh.
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import PolyCollection
from matplotlib.figure import Figure
from matplotlib.patches import Patch

from fea.mesh import Floats
from studies.lettering import DPI, INK, quiet, saved, wrapped
from studies.pressing.flakes import Flakes

FAINT_STRAIN, PLAIN_STRAIN = 0.0005, 0.002
"""Plastic strain at which the scale is taken to crack, and to flake off for all to see."""

_WHOLE, _FAINT, _PLAIN = (0.72, 0.75, 0.78), (0.95, 0.70, 0.25), (0.78, 0.10, 0.36)
_VIEWS: tuple[tuple[str, tuple[float, float, float], tuple[float, float, float]], ...] = (
    # name, from the block to the eye, which way is to the right in the picture
    ("front", (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)),
    ("rear", (-1.0, 0.0, 0.0), (0.0, -1.0, 0.0)),
    ("left", (0.0, 1.0, 0.0), (-1.0, 0.0, 0.0)),
    ("right", (0.0, -1.0, 0.0), (1.0, 0.0, 0.0)),
    ("top, front to the right", (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)),
)
_FACING = 1e-3
_SIDE_INCHES = 2.7
_WORDS_INCHES = 0.42


@dataclass(frozen=True)
class Stop:
    """A stop: its force, and what it is in words."""

    force_n: float
    words: str


def draw_flake_map(flakes: Flakes, stops: tuple[Stop, ...], title: str, path: Path) -> None:
    """A row of five views for each stop; what faces the eye and is not hidden is drawn."""
    low, high = flakes.points_mm.min(axis=0), flakes.points_mm.max(axis=0)
    size = high - low
    tall = max(float(size[2]), 0.35 * float(max(size[:2])))
    widths = [float(abs(np.array(right) @ size)) for _, _, right in _VIEWS]
    heights = [float(abs(_up(eye, right) @ size)) for _, eye, right in _VIEWS]
    scale = _SIDE_INCHES / max(*widths, tall)
    row = scale * max(heights) + _WORDS_INCHES
    wide = scale * sum(widths) + 0.3 * (len(_VIEWS) + 1)
    high_inches = 0.75 + 0.3 + row * len(stops) + 0.55
    figure = Figure(figsize=(wide, high_inches), dpi=DPI)
    FigureCanvasAgg(figure)
    for number, stop in enumerate(stops):
        left, strain = 0.3, flakes.at(stop.force_n)
        top = high_inches - 1.05 - row * number
        with quiet():
            (line, *_) = wrapped(stop.words, (wide - 0.6) * DPI, 13.0, True, 1)
            figure.text(
                0.3 / wide, top / high_inches, line, fontsize=13, weight="bold", color=INK,
                va="top", parse_math=False,
            )  # fmt: skip
        for (name, eye, right), view_width, view_height in zip(
            _VIEWS, widths, heights, strict=True
        ):
            bottom = top - _WORDS_INCHES + 0.1 - scale * view_height
            axes = figure.add_axes(
                (
                    left / wide,
                    bottom / high_inches,
                    scale * view_width / wide,
                    scale * view_height / high_inches,
                )
            )
            _draw_view(axes, flakes, strain, np.array(eye), np.array(right))
            if number == 0:
                figure.text(
                    (left + 0.5 * scale * view_width) / wide,
                    1.0 - 0.78 / high_inches,
                    name,
                    fontsize=13,
                    color=INK,
                    ha="center",
                    va="center",
                )
            left += scale * view_width + 0.3
    (line, *_) = wrapped(title, (wide - 0.6) * DPI, 18.0, True, 1)
    with quiet():
        figure.text(
            0.3 / wide, 1.0 - 0.12 / high_inches, line, fontsize=18, weight="bold", color=INK,
            va="top", parse_math=False,
        )  # fmt: skip
    figure.legend(
        handles=[
            Patch(facecolor=_WHOLE, label="scale whole"),
            Patch(facecolor=_FAINT, label="fine cracks (0.05 % stays)"),
            Patch(facecolor=_PLAIN, label="flaking (0.2 % stays)"),
        ],
        loc="lower center",
        ncols=3,
        fontsize=13,
        frameon=False,
    )
    saved(figure, path)


def _up(eye: tuple[float, float, float], right: tuple[float, float, float]) -> Floats:
    up: Floats = np.cross(np.array(eye), np.array(right))
    return up


def _draw_view(axes: Axes, flakes: Flakes, strain: Floats, eye: Floats, right: Floats) -> None:
    """Facets that face the eye, the nearest drawn last."""
    up = np.cross(eye, right)
    normals = flakes.normals
    facing = np.flatnonzero(normals @ eye > _FACING)
    corners = flakes.points_mm[flakes.facets[facing]]
    order = np.argsort((corners @ eye).mean(axis=1), kind="stable")
    facing, corners = facing[order], corners[order]
    flat = np.stack([corners @ right, corners @ up], axis=-1)
    colours = np.where(
        (strain[facing] >= PLAIN_STRAIN)[:, None],
        _PLAIN,
        np.where((strain[facing] >= FAINT_STRAIN)[:, None], _FAINT, _WHOLE),
    )
    # Lighter where it faces the eye squarely, darker where it leans away or lies deeper.
    depth = (corners @ eye).mean(axis=1)
    near = (depth - depth.min()) / max(float(np.ptp(depth)), 1e-9)
    light = (0.55 + 0.45 * (normals[facing] @ eye)) * (0.8 + 0.2 * near)
    shaded = np.clip(colours * light[:, None], 0.0, 1.0)
    axes.add_collection(
        PolyCollection(list(flat), facecolors=list(shaded), edgecolors=list(shaded), linewidths=0.4)
    )
    every = flakes.points_mm
    axes.set_xlim(float((every @ right).min()), float((every @ right).max()))
    axes.set_ylim(float((every @ up).min()), float((every @ up).max()))
    axes.set_aspect("equal")
    axes.axis("off")
