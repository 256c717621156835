"""Render painted bodies; run as a process of its own, for a crash here kills it.

    echo begin | python -m studies.figures.render_child JOBS.json

It makes ready while the jobs are still being written, and begins on a line of standard input.
A job is a ``rendering.Shot`` as JSON, its bodies in files of their own. The picture's ground is
see-through: colour and cover of each pixel are the mean over what falls into it.
"""

import importlib
import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

# pyvista declares a type for every option of every call; here it is simply driven.
pv: Any = importlib.import_module("pyvista")

_SAMPLES = 2
"""Rendered so many times larger each way, then averaged: clean edges."""
_GAMMA = 2.2
_KEY_LIGHT, _KEY_STRENGTH = (-0.25, -0.66, 0.71), 1.9
_FILL_LIGHT, _FILL_STRENGTH = (0.96, -0.11, 0.25), 0.35
"""Where the two lamps stand, seen from the block, and how bright they are."""
_SHADE_SHARE, _SHADE_RAYS = 0.11, 40
"""Reach of the shade in corners as a share of the block's size, and how often it is asked for."""


def main(arguments: list[str]) -> int:
    """Draw every picture in the file, once told to; 0 when all were drawn."""
    plotter = _studio()
    if not sys.stdin.readline():
        return 1
    for job in json.loads(Path(arguments[0]).read_text(encoding="utf-8")):
        _draw(plotter, job)
    plotter.close()
    return 0


def _studio() -> Any:
    """Lamps and surroundings, with nothing in them yet; what they need is worked out once."""
    plotter = pv.Plotter(off_screen=True, lighting="none")
    plotter.set_background("white")
    for place, strength in ((_KEY_LIGHT, _KEY_STRENGTH), (_FILL_LIGHT, _FILL_STRENGTH)):
        lamp = pv.Light(position=place, focal_point=(0, 0, 0), intensity=strength)
        lamp.set_scene_light()
        lamp.positional = False
        plotter.add_light(lamp)
    _surround(plotter)
    return plotter


def _draw(plotter: Any, job: dict[str, Any]) -> None:
    plotter.window_size = [_SAMPLES * side for side in job["pixels"]]
    actors = [_add_body(plotter, body) for body in job["bodies"]]
    _aim(plotter, job["camera"])
    plotter.enable_ssao(
        radius=_SHADE_SHARE * job["size_mm"], bias=0.003 * job["size_mm"],
        kernel_size=_SHADE_RAYS, blur=True,
    )  # fmt: skip
    plotter.show(auto_close=False)
    plotter.render()
    lit = np.asarray(plotter.screenshot(return_img=True))
    plotter.disable_ssao()
    for actor in actors:
        actor.prop.interpolation = "flat"
        actor.prop.lighting = False
        actor.prop.color = "black"
    plotter.render()
    cover = np.asarray(plotter.screenshot(return_img=True))[:, :, 0] < 128
    plotter.clear_actors()
    Image.fromarray(_averaged(lit, cover)).save(job["picture"], compress_level=1)


def _averaged(lit: Any, cover: Any) -> Any:
    """(H, W, 4) from colours (sH, sW, 3) and what the bodies cover (sH, sW)."""
    tall, wide = cover.shape[0] // _SAMPLES, cover.shape[1] // _SAMPLES
    blocks = (tall, _SAMPLES, wide, _SAMPLES)
    share = cover.reshape(blocks).mean(axis=(1, 3))
    light = (lit * cover[..., None]).astype(np.float32).reshape(*blocks, 3).mean(axis=(1, 3))
    colour = light / np.maximum(share, 1e-6)[..., None]
    return np.dstack([colour.round(), (255.0 * share).round()]).astype(np.uint8)


def _add_body(plotter: Any, body: dict[str, Any]) -> Any:
    """A painted body, or with a ``line_px`` its polylines."""
    with np.load(body["file"]) as kept:
        points = kept["points"]
        colour = (np.array(body["colour"]) / 255.0) ** _GAMMA
        if body["line_px"]:
            lines = pv.PolyData(points, lines=kept["lines"])
            return plotter.add_mesh(
                lines, color=np.array(body["colour"]) / 255.0, lighting=False,
                line_width=_SAMPLES * body["line_px"],
            )  # fmt: skip
        mesh = pv.PolyData.from_regular_faces(points, kept["triangles"])
        mesh.point_data.active_normals = kept["normals"].astype(np.float32)
    return plotter.add_mesh(
        mesh, color=colour, pbr=True, metallic=0.0, roughness=body["roughness"],
        smooth_shading=True, split_sharp_edges=False,
    )  # fmt: skip


def _aim(plotter: Any, camera: dict[str, Any]) -> None:
    plotter.camera_position = [camera["eye_mm"], camera["middle_mm"], (0.0, 0.0, 1.0)]
    plotter.camera.parallel_projection = not camera["angle_deg"]
    if camera["angle_deg"]:
        plotter.camera.view_angle = camera["angle_deg"]
    else:
        plotter.camera.parallel_scale = camera["half_height_mm"]
    plotter.renderer.ResetCameraClippingRange()


def _surround(plotter: Any) -> None:
    """Light from all round, as in a studio: bright above, a large soft lamp, a narrow one."""
    high = 128
    elevation = np.linspace(90.0, -90.0, high)[:, None]
    bearing = np.linspace(-180.0, 180.0, 2 * high)[None, :]
    light = 0.30 + 0.30 * np.clip(np.sin(np.radians(elevation)), -0.6, 1.0) + 0.0 * bearing
    for at, up, half_wide, half_tall, strength in (
        (-120.0, 48.0, 40.0, 20.0, 2.6),
        (10.0, 20.0, 12.0, 40.0, 1.2),
        (-60.0, 80.0, 60.0, 10.0, 0.7),
    ):
        aside = (bearing - at + 180.0) % 360.0 - 180.0
        across = 1.0 / (1.0 + np.exp((np.abs(aside) - half_wide) / 3.0))
        light = light + strength * across / (
            1.0 + np.exp((np.abs(elevation - up) - half_tall) / 3.0)
        )
    image = pv.ImageData(dimensions=(2 * high, high, 1))
    image.point_data["light"] = np.repeat(light[::-1].reshape(-1, 1), 3, axis=1).astype(np.float32)
    texture = pv.Texture(image)
    texture.mipmap, texture.interpolate = True, True
    texture.SetColorModeToDirectScalars()
    renderer = plotter.renderer
    renderer.UseImageBasedLightingOn()
    renderer.SetEnvironmentTexture(texture, False)
    renderer.SetEnvironmentUp(0, 0, 1)
    renderer.SetEnvironmentRight(1, 0, 0)
    # Paint is dull enough that fewer samples show no grain.
    renderer.GetEnvMapIrradiance().SetIrradianceStep(0.06)
    renderer.GetEnvMapPrefiltered().SetPrefilterMaxSamples(128)
    renderer.GetEnvMapPrefiltered().SetPrefilterLevels(4)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
