"""Draw one or many pictures of a block; run as a process of its own, for a crash here kills it.

    echo begin | python -m studies.render_child JOBS.json

It makes ready while the jobs are still being written, and begins on a line of standard input.
VTK ends the whole process where OpenGL is missing, so the parent first tries ``probe_child``, and
chooses the window system through VTK_DEFAULT_OPENGL_WINDOW before this module imports pyvista.
"""

import importlib
import json
import sys
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

# pyvista declares a type for every option of every call; here it is simply driven.
pv: Any = importlib.import_module("pyvista")

_BACKGROUND = "white"
_EDGE_COLOUR = "#1c2126"
_PART_COLOURS = (
    ("weld", "#c9a227"),
    ("rib", "#4f8a8b"),
    ("tube", "#8a94a0"),
    ("top plate", "#b9c3cc"),
    ("bottom plate", "#b9c3cc"),
    ("pin", "#6b5b73"),
)
_ORIGIN = "origin"
_SHARP_ANGLE = 35.0
_LINE_PIXELS = 2.0
_LARGER = 1.5
"""Drawn so much larger and then made smaller: smoother edges, and where a processor has to draw
them half the work, of the several samples a pixel that are usual."""


def main(arguments: list[str]) -> int:
    """Draw every picture in the file, once told to; 0 when all were drawn."""
    if not sys.stdin.readline():
        return 1
    for job in json.loads(Path(arguments[0]).read_text(encoding="utf-8")):
        _draw(job)
    return 0


def _draw(job: dict[str, Any]) -> None:
    """Draw one picture and keep it with where its marker came to lie, if it has one."""
    grid = _field(job["field"])
    moved = grid.points + job["exaggeration"] * grid["displacement_mm"]
    marker = _moved_marker(grid, job)
    window = [round(_LARGER * side) for side in job["pixels"]]
    plotter = pv.Plotter(off_screen=True, window_size=window)
    plotter.disable_anti_aliasing()
    plotter.set_background(_BACKGROUND)
    if job["parts"]:
        _add_plain(plotter, grid, job["parts"])
    else:
        skin, of_skin, outline, of_outline = _skin(job["body"])
        skin.points, outline.points = moved[of_skin], moved[of_outline]
        skin["share_of_yield"] = grid["share_of_yield"][of_skin]
        # Weak shading: the colours must stay those of the legend.
        plotter.add_mesh(
            skin,
            scalars="share_of_yield",
            cmap="viridis",
            clim=[0.0, job["top_share"]],
            show_scalar_bar=False,
            ambient=0.75,
            diffuse=0.3,
            specular=0.0,
        )
        _add_outline(plotter, outline)
    middle = np.array(job["middle_mm"])
    # Far enough off that nothing lies behind the eye; without perspective it changes no size.
    eye = middle + 20.0 * job["half_height_mm"] * np.array(job["viewpoint"])
    plotter.camera_position = [eye, middle, (0.0, 0.0, 1.0)]
    plotter.camera.parallel_projection = True
    plotter.camera.parallel_scale = job["half_height_mm"]
    plotter.renderer.ResetCameraClippingRange()
    plotter.show(auto_close=False)
    drawn = Image.fromarray(np.asarray(plotter.screenshot(return_img=True)))
    image = np.asarray(drawn.resize(job["pixels"], Image.Resampling.LANCZOS))
    place: list[float] = []
    if marker is not None:
        x, y, facing = _on_picture(plotter, marker, *window)
        place = [x / _LARGER, y / _LARGER, facing]
    plotter.close()
    # The parent takes up a picture as soon as it stands under its name: it must be whole then.
    half_done = Path(job["picture"]).with_suffix(".part.npz")
    np.savez(half_done, picture=image, marker=np.array(place))
    half_done.replace(job["picture"])


@cache
def _field(path: str) -> Any:
    """A field, read when first asked for."""
    return pv.read(path)


@cache
def _skin(path: str) -> tuple[Any, Any, Any, Any]:
    """Skin and outline of the mesh of a field, each with which of its points theirs are."""
    skin = _surface(_field(path))
    return skin, np.asarray(skin[_ORIGIN]), *_outline(skin)


def _surface(grid: Any) -> Any:
    """The skin of a mesh; each of its points knows which one of the mesh it is."""
    skin = grid.extract_surface(algorithm="dataset_surface")
    skin.rename_array("vtkOriginalPointIds", _ORIGIN, preference="point")
    return skin


def _add_plain(plotter: Any, grid: Any, parts: list[str]) -> None:
    """Every part in its own colour, the top plate like glass, that what it covers can be seen."""
    colours = np.array([_part_colour(name) for name in parts])
    over = np.array([name == "top plate" for name in parts])[grid["part"]]
    for cells, opacity in ((~over, 1.0), (over, 0.3)):
        if not cells.any():
            continue
        skin = _surface(grid.extract_cells(np.flatnonzero(cells)))
        skin["colour"] = colours[skin["part"]]
        plotter.add_mesh(
            skin, scalars="colour", rgb=True, ambient=0.45, diffuse=0.6, opacity=opacity
        )
        _add_outline(plotter, _outline(skin)[0])


def _outline(skin: Any) -> tuple[Any, Any]:
    """Sharp edges of the skin and lines where parts meet; which of the mesh each point is."""
    triangles = skin.faces.reshape(-1, 4)[:, 1:]
    # Points of different parts are told apart, so that parts meet at open edges.
    parts = int(skin["part"].max()) + 1
    keys = triangles * parts + np.asarray(skin["part"])[:, None]
    used, own = np.unique(keys, return_inverse=True)
    shell = pv.PolyData.from_regular_faces(skin.points[used // parts], own.reshape(-1, 3))
    shell[_ORIGIN] = skin[_ORIGIN][used // parts]
    lines = shell.extract_feature_edges(
        feature_angle=_SHARP_ANGLE, boundary_edges=True, non_manifold_edges=False
    )
    origin = np.asarray(lines[_ORIGIN]) if lines.n_points else np.empty(0, int)
    # Plain line colour, for the edges carry a number that tells their kind.
    lines.clear_data()
    return lines, origin


def _add_outline(plotter: Any, outline: Any) -> None:
    if outline.n_points:
        plotter.add_mesh(
            outline, color=_EDGE_COLOUR, line_width=_LARGER * _LINE_PIXELS, lighting=False
        )


def _moved_marker(grid: Any, job: dict[str, Any]) -> Any:
    if job["marker_mm"] is None:
        return None
    point = np.array(job["marker_mm"])
    nearest = int(np.argmin(np.linalg.norm(grid.points - point, axis=1)))
    return point + job["exaggeration"] * grid["displacement_mm"][nearest]


def _part_colour(name: str) -> list[int]:
    colour = next((shade for word, shade in _PART_COLOURS if word in name), "#b9c3cc")
    return [int(colour[i : i + 2], 16) for i in (1, 3, 5)]


def _on_picture(plotter: Any, point: Any, width: int, height: int) -> list[float]:
    """Pixel (from the left, from the top) of a point, and 1 where it faces us, 0 where hidden."""
    renderer = plotter.renderer
    renderer.SetWorldPoint(*point, 1.0)
    renderer.WorldToDisplay()
    x, y, depth = renderer.GetDisplayPoint()
    column, row = round(x), round(y)
    reach = max(2, width // 200)
    seen = [
        renderer.GetZ(min(max(column + dx, 0), width - 1), min(max(row + dy, 0), height - 1))
        for dx in (-reach, 0, reach)
        for dy in (-reach, 0, reach)
    ]
    return [x, height - y, float(max(seen) >= depth - 0.004)]


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
