"""Blocks that cannot be built are refused before meshing, each with its key and a remedy."""

import math
from dataclasses import replace

import pytest
from blocks import S355, bare_block, patterned
from hypothesis import given, settings
from hypothesis import strategies as st

from fea.errors import BlockError
from geometry.block import Block, Hole, Pin, Plate, Rib, Tube, Welds
from geometry.checks import check_block
from geometry.patterns import PATTERNS, RibChoice, gusseted


def _tube(block: Block, **change: float) -> Block:
    return replace(block, tube=replace(block.tube, **change))


def _with_rib(**change: object) -> Block:
    rib = Rib("nose rib", (60.0, 0.0), (1.0, 0.0), 12.0, 6.0)
    return replace(bare_block(3.0), ribs=(replace(rib, **change),))  # type: ignore[arg-type]


REFUSED = {
    "wall thicker than half the tube": (_tube(bare_block(), wall_mm=41.0), "tube.wall"),
    "corner radius beyond the tube": (
        _tube(bare_block(), corner_radius_mm=50.0),
        "tube.corner_radius",
    ),
    "ten metres": (_tube(bare_block(), height_mm=10_000.0), "tube.height"),
    "a hundredth of a millimetre": (_tube(bare_block(), wall_mm=0.01), "tube.wall"),
    "negative": (_tube(bare_block(), height_mm=-44.0), "tube.height"),
    "not a number": (_tube(bare_block(), length_mm=float("nan")), "tube.size"),
    "a column": (_tube(bare_block(), height_mm=900.0), "tube.height"),
    "plate smaller than the tube": (
        replace(bare_block(), top=Plate(100.0, 110.0, 8.0, S355)),
        "top_plate.size",
    ),
    "plate off the tube": (
        replace(bare_block(), bottom=Plate(150.0, 110.0, 8.0, S355, (40.0, 0.0))),
        "bottom_plate.size",
    ),
    "plate thicker than wide": (
        replace(bare_block(), top=Plate(150.0, 110.0, 120.0, S355)),
        "top_plate.thickness",
    ),
    "pin larger than the plate": (
        replace(bare_block(), pin=Pin(112.0, 10.0, S355)),
        "pin.diameter",
    ),
    "pin off the plate": (
        replace(bare_block(), pin=Pin(16.0, 10.0, S355, (80.0, 0.0))),
        "pin.diameter",
    ),
    "hole as wide as the tube": (replace(bare_block(), hole=Hole(80.0)), "hole.diameter"),
    "hole through the wall": (replace(bare_block(), hole=Hole(18.0, (50.0, 0.0))), "hole.diameter"),
    "rib past the plate's edge": (_with_rib(length_mm=40.0), "layouts.rib_length"),
    "rib's weld past the plate's edge": (
        _with_rib(start_mm=(-50.0, 40.0), direction=(0.0, 1.0), length_mm=14.5, thickness_mm=45.0),
        "layouts.rib_length",
    ),
    "rib in the air": (_with_rib(start_mm=(66.0, 0.0), length_mm=6.0), "layouts.ribs.start"),
    "rib half past the tube's side": (
        _with_rib(start_mm=(60.0, 27.0), thickness_mm=28.0, length_mm=14.5),
        "layouts.ribs.start",
    ),
    "rib along the wall": (
        replace(
            bare_block(0.0),
            ribs=(Rib("skew", (60.0, 0.0), (math.sin(0.05), math.cos(0.05)), 10.0, 6.0),),
        ),
        "layouts.ribs.start",
    ),
    "rib inside out": (_with_rib(direction=(-1.0, 0.0)), "layouts.ribs.direction"),
    "rib of no length": (_with_rib(length_mm=0.2), "layouts.rib_length"),
    "two ribs in one place": (
        replace(
            bare_block(3.0),
            ribs=(
                Rib("one", (60.0, 0.0), (1.0, 0.0), 12.0, 6.0),
                Rib("two", (60.0, 3.0), (1.0, 0.0), 12.0, 6.0),
            ),
        ),
        "layouts.ribs.start",
    ),
    "two ribs of one name": (
        replace(
            bare_block(3.0),
            ribs=(
                Rib("one", (60.0, 0.0), (1.0, 0.0), 12.0, 6.0),
                Rib("one", (-60.0, 0.0), (-1.0, 0.0), 12.0, 6.0),
            ),
        ),
        "layouts.ribs.name",
    ),
    "weld wider than the set-back": (
        replace(bare_block(), top=Plate(128.0, 110.0, 8.0, S355)),
        "welds.tube_top",
    ),
    "weld larger than the wall takes": (
        replace(bare_block(), welds=Welds(9.0, 5.0, 5.0, 5.0)),
        "welds.tube_bottom",
    ),
    "weld larger than the rib takes": (
        replace(patterned("mid-wall"), welds=Welds(5.0, 5.0, 5.0, 8.0)),
        "welds.rib_tube",
    ),
    "weld no torch can lay": (
        replace(bare_block(), welds=Welds(5.0, 0.2, 5.0, 5.0)),
        "welds.tube_top",
    ),
    "ribs buried in the fillets round the tube": (
        _with_rib(length_mm=2.9, thickness_mm=4.0),
        "layouts.rib_length",
    ),
    "bore corner too sharp": (_tube(bare_block(), corner_radius_mm=6.1), "tube.corner_radius"),
    "rib inside the tube too thick": (
        replace(
            bare_block(),
            ribs=(Rib("bar", (-54.0, 0.0), (1.0, 0.0), 108.0, 70.0, inside=True),),
        ),
        "layouts.rib_thickness",
    ),
    "triangle rib in a low tube": (
        _tube(_with_rib(shape="triangle"), height_mm=20.0),
        "tube.height",
    ),
    "no height for the welds": (_tube(bare_block(), height_mm=10.0), "tube.height"),
    "no room for a rib": (
        gusseted(
            replace(bare_block(), top=Plate(130.0, 90.0, 8.0, S355)),
            PATTERNS["mid-wall"],
            RibChoice(6.0),
        ),
        "layouts.rib_length",
    ),
}


REMEDY = {
    "tube.size": "use at least 0.5 mm",
    "tube.wall": "use ",
    "tube.height": "use ",
    "tube.corner_radius": "use ",
    "top_plate.size": "use at least ",
    "bottom_plate.size": "use at least ",
    "top_plate.thickness": "use at most 110 mm",
    "pin.diameter": "put its centre on the plate",
    "hole.diameter": "inside the tube's bore, 68 mm wide",
    "welds.tube_bottom": "use 1.5 mm to 7.5 mm",
    "welds.tube_top": "use ",
    "welds.rib_tube": "use 1.5 mm to 7.5 mm",
    "layouts.rib_thickness": "use less than ",
    "layouts.rib_length": " mm",
    "layouts.ribs.start": "start it on the tube's outside",
    "rib half past the tube's side": "move it off the tube's edge",
    "rib along the wall": "turn it squarer to the wall",
    "two ribs in one place": "move one of them by at least 6 mm",
    "layouts.ribs.direction": "points outwards",
    "layouts.ribs.name": "give each its own",
}
"""Words the remedy must hold, by key, or by case where one key has two remedies."""


@pytest.mark.parametrize("name", REFUSED)
def test_refused(name: str) -> None:
    block, key = REFUSED[name]
    with pytest.raises(BlockError) as caught:
        check_block(block)
    assert caught.value.key == key
    assert "\n" not in str(caught.value)
    assert REMEDY.get(name, REMEDY[key]) in caught.value.remedy


def test_good_blocks_pass() -> None:
    for pattern in PATTERNS:
        for leg_mm in (0.0, 3.0, 5.0):
            check_block(patterned(pattern, leg_mm) if pattern != "free" else bare_block(leg_mm))


def _refusal(block: Block) -> BlockError | None:
    try:
        check_block(block)
    except BlockError as error:
        return error
    return None


_LENGTH = st.floats(-20.0, 300.0)


@settings(max_examples=150, deadline=None)
@given(
    size=st.tuples(_LENGTH, _LENGTH, st.floats(0.1, 40.0), st.floats(0.0, 40.0), _LENGTH),
    plate=st.tuples(_LENGTH, _LENGTH, st.floats(-1.0, 40.0), st.floats(-30.0, 30.0)),
    leg=st.floats(0.0, 15.0),
    rib=st.tuples(st.floats(0.1, 30.0), st.none() | _LENGTH),
    pattern=st.sampled_from([name for name in PATTERNS if name != "free"]),
    bore=st.floats(0.1, 100.0),
)
def test_any_block_passes_or_is_refused_in_our_words(
    size: tuple[float, ...],
    plate: tuple[float, ...],
    leg: float,
    rib: tuple[float, float | None],
    pattern: str,
    bore: float,
) -> None:
    length, width, wall, radius, height = size
    bare = Block(
        Tube(length, width, wall, radius, height, S355),
        Plate(plate[0], plate[1], plate[2], S355, (plate[3], 0.0)),
        Plate(plate[0], plate[1], plate[2], S355),
        (),
        S355,
        Welds(leg, leg, leg, leg),
        Pin(bore, 10.0, S355),
        Hole(bore),
    )
    error = _refusal(bare)
    if error is None:
        error = _refusal(gusseted(bare, PATTERNS[pattern], RibChoice(*rib)))
    if error is not None:
        assert error.key
        assert error.problem
        assert error.remedy
        assert "\n" not in str(error)


@settings(max_examples=150, deadline=None)
@given(
    where=st.floats(-40.0, 40.0),
    turned=st.floats(-90.0, 90.0),
    size=st.tuples(st.floats(3.0, 60.0), st.floats(1.0, 30.0)),
    leg=st.sampled_from([0.0, 3.0, 5.0]),
)
def test_any_free_rib_passes_or_is_refused_in_our_words(
    where: float, turned: float, size: tuple[float, float], leg: float
) -> None:
    angle = math.radians(turned)
    rib = Rib("skew rib", (60.0, where), (math.cos(angle), math.sin(angle)), *size)
    error = _refusal(replace(bare_block(leg), ribs=(rib,)))
    if error is not None:
        assert error.key.startswith(("layouts.", "welds."))
        assert error.remedy
        assert "\n" not in str(error)
