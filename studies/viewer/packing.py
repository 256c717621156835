"""Blocks made small enough to travel inside a page, as ``viewer.js`` unpacks them.

A pack is JSON: what all layouts share, and for each layout its names and one string ``data`` that
holds all its numbers: whole numbers between bounds told beside them, each written as the difference
from the one before, low bytes before high bytes, then gzip, then base64.
"""

import base64
import gzip
import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from fea.mesh import Floats
from studies.units import OutputUnits
from studies.viewer.surfaces import Surface

VERSION = 1
_PLACE_STEPS = 16383
_SHARE_STEPS = 1023
_MOVE_STEPS = 511
_COLOURS = 256
_GZIP_LEVEL = 6
_GLASS = "top plate"
_PART_COLOURS = (
    ("weld", "#c9a227"),
    ("rib", "#4f8a8b"),
    ("tube", "#8a94a0"),
    ("plate", "#b9c3cc"),
    ("pin", "#6b5b73"),
)
_OTHER_COLOUR = "#b9c3cc"


@dataclass(frozen=True, eq=False)
class Loaded:
    """What one load does to a layout's surface of n points, at the load demanded.

    share (n,) stress as a share of the yield there, moved_mm (n, 3), marker_mm where yielding
    starts, if it is to be marked; note is one line for people.
    """

    share: Floats
    moved_mm: Floats
    marker_mm: tuple[float, float, float] | None
    note: str


@dataclass(frozen=True, eq=False)
class Shape:
    """One layout to be shown: its surface, names of parts, and what each load does to it.

    yield_mpa (n,) is the yield that shares are of; without loads it is not used.
    """

    name: str
    note: str
    surface: Surface
    part_names: tuple[str, ...]
    loaded: tuple[Loaded, ...] = ()
    yield_mpa: Floats | None = None


@dataclass(frozen=True)
class LoadView:
    """How all layouts are shown under one load.

    The colour scale ends at ``top_share`` of yield, ``peak_share`` is the highest anywhere, and
    movement is drawn ``exaggeration`` times larger to begin with. demanded is the load in words.
    """

    name: str
    demanded: str
    top_share: float
    peak_share: float
    exaggeration: float


def packed(
    shapes: Sequence[Shape], loads: Sequence[LoadView] = (), units: OutputUnits | None = None
) -> dict[str, Any]:
    """All layouts as one pack; without ``loads`` they are shown in the colours of their parts."""
    units = units or OutputUnits()
    low = np.min([shape.surface.points_mm.min(axis=0) for shape in shapes], axis=0)
    high = np.max([shape.surface.points_mm.max(axis=0) for shape in shapes], axis=0)
    step = max(float((high - low).max()), 1e-9) / _PLACE_STEPS
    return {
        "version": VERSION,
        "low": low.tolist(),
        "high": high.tolist(),
        "step": step,
        "colours": _colours() if loads else bytes(3 * _COLOURS).hex(),
        "stress": {"unit": units.stress, "per_mpa": units.stress_in(1.0)},
        "length": {"unit": units.length, "per_mm": units.length_in(1.0)},
        "loads": [
            {
                "name": load.name,
                "demanded": load.demanded,
                "top": load.top_share,
                "peak": load.peak_share,
                "exaggeration": load.exaggeration,
            }
            for load in loads
        ],
        "layouts": [_layout(shape, low, step) for shape in shapes],
    }


def _colours() -> str:
    # Imported here: blocks that bear no load need no colours, and are to be drawn at once.
    from matplotlib import colormaps

    shades = 255.0 * colormaps["viridis"](np.arange(_COLOURS))[:, :3]
    return shades.round().astype(np.uint8).tobytes().hex()


def script_json(pack: dict[str, Any]) -> str:
    """A pack as text that may stand in a script of a page, whatever names are in it."""
    said = json.dumps(pack, ensure_ascii=True, separators=(",", ":"), allow_nan=False)
    return said.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")


def part_colour(name: str) -> str:
    """The colour of a part by its name."""
    return next((colour for word, colour in _PART_COLOURS if word in name), _OTHER_COLOUR)


def _layout(shape: Shape, low: Floats, step: float) -> dict[str, Any]:
    body = shape.surface
    places = np.round((body.points_mm - low) / step)
    streams = [_stream(places, 2), _stream(body.triangles, 4), _stream(body.lines, 4)]
    yields: list[float] = []
    if shape.yield_mpa is not None:
        values, kind = np.unique(np.round(shape.yield_mpa, 1), return_inverse=True)
        yields = values.tolist()
        streams.append(_stream(kind, 2))
    cases = []
    for load in shape.loaded:
        share_step = max(float(load.share.max()), 1e-9) / _SHARE_STEPS
        move_step = max(float(np.abs(load.moved_mm).max()), 1e-12) / _MOVE_STEPS
        streams.append(_stream(np.round(load.share / share_step), 2))
        streams.append(_stream(np.round(load.moved_mm / move_step), 2))
        cases.append(
            {
                "share_step": share_step,
                "move_step": move_step,
                "marker": load.marker_mm,
                "note": load.note,
            }
        )
    data = gzip.compress(b"".join(streams), _GZIP_LEVEL, mtime=0)
    return {
        "name": shape.name,
        "note": shape.note,
        "points": len(body.points_mm),
        "triangles": len(body.triangles),
        "lines": len(body.lines),
        "parts": _parts(shape),
        "yields": yields,
        "loads": cases,
        "data": base64.b64encode(data).decode("ascii"),
    }


def _parts(shape: Shape) -> list[dict[str, Any]]:
    """Runs of triangles of one part, in their order."""
    part = shape.surface.part
    numbers, first, count = np.unique(part, return_index=True, return_counts=True)
    return [
        {
            "name": shape.part_names[number],
            "colour": part_colour(shape.part_names[number]),
            "glass": shape.part_names[number] == _GLASS,
            "first": int(start),
            "count": int(many),
        }
        for number, start, many in zip(numbers, first, count, strict=True)
    ]


def _stream(values: NDArray[Any], width: int) -> bytes:
    """Whole numbers (k,) or (k, c) as bytes: column after column, differences, planes of bytes."""
    columns = np.asarray(values, dtype=np.int64)
    columns = columns.reshape(len(columns), -1)
    steps = np.diff(columns, axis=0, prepend=0).T
    # Small differences of either sign become small numbers, so that high bytes are mostly zero.
    folded = (steps << 1) ^ (steps >> 63)
    little = np.ascontiguousarray(folded, dtype=f"<u{width}").view(np.uint8).reshape(-1, width)
    return np.ascontiguousarray(little.T).tobytes()
