"""A block changed by less than the shop could measure, for edges that miss each other by a hair.

Where a rib's face meets a tube's wall a few hundredths of a millimetre into its rounded corner, or
a fillet's leg is a thousandth longer than the rib it lies on, the steel between has an edge no mesh
can follow: what comes out is flat tetrahedra, or none.
"""

from dataclasses import replace

from geometry.block import Block

_CORNER_SHARE = 0.97
"""A round corner is known to far less: EN 10219-2 lets the outer radius of walls up to 6 mm be 1.6
to 2.4 times the wall (from memory)."""

_BORE_SHARE = 0.94
_LEG_SHARE = 0.98
"""A tenth of a millimetre on a leg of 5: less than a fillet gauge tells. Strength falls with it, so
what is found leans to the careful side."""


def moved_apart(block: Block) -> Block:
    """``block`` with corners a little sharper and fillets a little smaller, all else as it is."""
    tube, welds = block.tube, block.welds
    return replace(
        block,
        tube=replace(
            tube,
            corner_radius_mm=_CORNER_SHARE * tube.corner_radius_mm,
            bore_radius_mm=_BORE_SHARE * tube.inner_radius_mm,
        ),
        welds=replace(
            welds,
            tube_bottom_mm=_LEG_SHARE * welds.tube_bottom_mm,
            tube_top_mm=_LEG_SHARE * welds.tube_top_mm,
            rib_plate_mm=_LEG_SHARE * welds.rib_plate_mm,
            rib_tube_mm=_LEG_SHARE * welds.rib_tube_mm,
        ),
    )
