"""The rendered pictures of a layout: hero, parts apart, before and after load, all layouts."""

import tempfile
from pathlib import Path

from PIL import Image
from shapely import union_all

from geometry.block import Block, Layout
from geometry.plan import plate_outline
from geometry.tessellation import Shell
from studies.figures.board import keep
from studies.figures.body import body_of
from studies.figures.camera import long_lens
from studies.figures.explode import exploded_board, exploded_shot
from studies.figures.ground import shadowed
from studies.figures.load_pair import load_pairs, pair_boards
from studies.figures.look import VIEWPOINT, Look, size_mm, surface
from studies.figures.rendering import Shot, taken
from studies.figures.strip import strip_board, strip_shots
from studies.offscreen import no_opengl, window_system
from studies.pictures import Figure
from studies.results import LayoutResult
from studies.study import Study

_HERO_MARGIN = 0.06
_FLOAT_SHARE = 0.04
"""How far above its shadow a block without a pin is, as a share of its size."""


def rendered(
    study: Study, layout: Layout, row: LayoutResult | None, fields: Path, folder: Path, look: Look
) -> tuple[Figure, ...]:
    """Draw all renders into ``folder``; pairs before and after load only where there is a ``row``.

    Raises PictureError where nothing can be drawn, MeshError when a surface cannot be had.
    """
    window = window_system()
    if window is None:
        raise no_opengl()
    block, shells = layout.block, surface(layout.block)
    hero, apart = _hero_shot(block, shells, look), exploded_shot(block, shells, look)
    pairs = load_pairs(layout, row, shells, fields, look) if row else None
    shots = [hero, apart, *(pairs.shots if pairs else []), *strip_shots(study, look)]
    with tempfile.TemporaryDirectory() as scratch:
        images = taken(shots, Path(scratch), window)
    figures = [
        _hero(layout, images[hero.name], hero, folder, look),
        exploded_board(study, layout, shells, images[apart.name], apart.camera, folder, look),
    ]
    if pairs:
        figures += pair_boards(study, layout, pairs, images, folder, look)
    return (*figures, strip_board(study, layout, images, folder, look))


def _hero_shot(block: Block, shells: tuple[Shell, ...], look: Look) -> Shot:
    body = body_of(shells)
    camera = long_lens(body.points_mm, VIEWPOINT, look.pixels, _HERO_MARGIN)
    return Shot("hero", body, look.colour, camera, size_mm(block))


def _hero(layout: Layout, image: Image.Image, shot: Shot, folder: Path, look: Look) -> Figure:
    block = layout.block
    footprint = union_all([plate_outline(block.bottom), plate_outline(block.top)])
    floor_mm = -block.pin.length_mm if block.pin else -_FLOAT_SHARE * size_mm(block)
    keep(shadowed(image, shot.camera, footprint, floor_mm), folder / "hero.png", look.ground)
    return Figure(
        "hero.png",
        f"{layout.name}, painted {look.paint_name}. {layout.sentence}",
        f"Welded steel spacer block “{layout.name}”, painted {look.paint_name}, seen from the "
        f"front, the right and above. {layout.sentence}",
    )
