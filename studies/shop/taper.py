"""What the shop must know of a tapered block: saw angle, sides, jig, wedge."""

from geometry.block import Block
from geometry.pieces import Piece, Slant
from geometry.plan import on_top_face, plate_plan
from studies.paper import Dimension, Drawing, Label, Line, Shape
from studies.shop.sizes import both, show_size
from studies.units import OutputUnits


def angle_words(angle_deg: float) -> str:
    """An angle as it is set on a saw.

    >>> angle_words(-2.5)
    '2.5°'
    """
    return f"{abs(angle_deg):.4g}°"


def high_end(block: Block) -> str:
    """The end at which the top plate stands higher."""
    return "front" if block.taper_deg > 0.0 else "rear"


def taper_sentences(block: Block, units: OutputUnits) -> tuple[str, ...]:
    """A tapered block in plain words; nothing for a level one."""
    if not block.taper_deg:
        return ()
    half = block.top.length_mm / 2
    x, y = block.top.centre_mm
    over = [block.top_at_mm(on_top_face(block, (x + way * half, y))[0]) for way in (1.0, -1.0)]
    x0, _, x1, _ = plate_plan(block, "top").bounds
    under = [block.head_at_mm(float(at)) - block.tube_foot_mm for at in (x1, x0)]
    angle = angle_words(block.taper_deg)
    return (
        f"Tapered by {angle}, higher at the {high_end(block)}. Heights hold "
        f"{where_heights_hold(block)}; the upper side is {both(over[0], units)} high at its front "
        f"edge, {both(over[1], units)} at its rear edge. Sizes of the "
        "top plate are measured along it, its hole is square to it.",
        f"To tack the top plate: between the plates there are {both(under[0], units)} at its front "
        f"edge, {both(under[1], units)} at its rear edge.",
        f"To press the block, put a solid wedge of {angle} on it, thick end to the "
        f"{'rear' if block.taper_deg > 0.0 else 'front'}, that covers the top plate.",
    )


def where_heights_hold(block: Block) -> str:
    """Where a tapered block is as high as given."""
    if block.hole:
        return "at the hole"
    return "over the pin" if block.pin else "at mid-tube"


def slant_size(slant: Slant, units: OutputUnits) -> str:
    """Both sides of a stub with a slanting end."""
    return (
        f"{show_size((slant.long_mm,), units)} long side, "
        f"{show_size((slant.short_mm,), units)} short side"
    )


def slant_cut(slant: Slant) -> str:
    """How a stub with a slanting end is sawn."""
    return (
        f"saw one end square, the other {angle_words(slant.saw_deg)} off square; "
        f"long side is the {slant.long_side} wall"
    )


def stub_drawing(piece: Piece, block: Block, units: OutputUnits) -> Drawing | None:
    """A stub with a slanting end from its left side; None for one sawn square."""
    if piece.slant is None:
        return None
    half = block.tube.length_mm / 2
    # From the left the front is to the left.
    rear, front = block.tube_sides_mm
    corners = ((-half, 0.0), (half, 0.0), (half, rear), (-half, front))
    shapes: tuple[Shape, ...] = (
        Line(corners, fill="steel", closed=True),
        Dimension((-half, 0.0), (half, 0.0), both(2 * half, units), -8.0),
        Dimension((-half, 0.0), (-half, front), both(front, units), 8.0),
        Dimension((half, 0.0), (half, rear), both(rear, units), -8.0),
        Line(((-half, min(rear, front)), (half, min(rear, front))), "thin"),
        Label((0.0, min(rear, front) / 2), f"← FRONT; saw at {angle_words(piece.slant.saw_deg)}"),
    )
    caption = (
        f"tube stub from the left: {slant_size(piece.slant, units)}, measured on the outside. "
        "Turn every second stub end for end on the bar and two share one slanting cut."
    )
    return Drawing(shapes, caption, "Side view of the tube stub with its slanting end", 50.0)
