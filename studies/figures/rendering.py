"""Renders of painted bodies, drawn off screen in processes of their own."""

from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from studies.figures.body import Body, Lines
from studies.figures.camera import Camera
from studies.figures.paint import Rgb
from studies.offscreen import draw_jobs

_CHILD = "studies.figures.render_child"
_SECONDS_A_SHOT = 300.0
_ROUGHNESS = 0.38
"""Of the paint: a little shine."""


@dataclass(frozen=True, eq=False)
class Shot:
    """One picture to be taken. ``size_mm`` is the block's, by which shade reaches into corners."""

    name: str
    body: Body
    colour: Rgb
    camera: Camera
    size_mm: float
    lines: Lines | None = None
    line_colour: Rgb = (0, 0, 0)
    line_px: float = 0.0


def taken(shots: list[Shot], scratch: Path, window: str) -> dict[str, Image.Image]:
    """Every shot by its name, RGBA on a see-through ground; raises PictureError."""
    jobs = [_job(shot, scratch) for shot in shots]
    draw_jobs(jobs, scratch, window, _CHILD, _SECONDS_A_SHOT * len(shots))
    made = {}
    for shot, job in zip(shots, jobs, strict=True):
        with Image.open(job["picture"]) as image:
            made[shot.name] = image.convert("RGBA")
    return made


def _job(shot: Shot, scratch: Path) -> dict[str, Any]:
    kept = scratch / f"{shot.name}.npz"
    body = shot.body
    np.savez(kept, points=body.points_mm, normals=body.normals, triangles=body.triangles)
    bodies: list[dict[str, Any]] = [
        {"file": str(kept), "colour": shot.colour, "roughness": _ROUGHNESS, "line_px": 0.0}
    ]
    if shot.lines:
        kept = scratch / f"{shot.name}-lines.npz"
        _keep_lines(kept, shot.lines)
        bodies.append(
            {"file": str(kept), "colour": shot.line_colour, "roughness": 1.0,
             "line_px": shot.line_px}
        )  # fmt: skip
    camera = asdict(shot.camera)
    return {
        "picture": str(scratch / f"{shot.name}.png"),
        "pixels": camera.pop("pixels"),
        "camera": camera,
        "bodies": bodies,
        "size_mm": shot.size_mm,
    }


def _keep_lines(path: Path, lines: Lines) -> None:
    """Polylines as VTK takes them: how many points, then their numbers, line after line."""
    cells, count = [], 0
    for line in lines.polylines_mm:
        cells.append(np.concatenate([[len(line)], count + np.arange(len(line))]))
        count += len(line)
    np.savez(path, points=np.concatenate(lines.polylines_mm), lines=np.concatenate(cells))
