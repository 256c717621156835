"""What a block weighs and which steel each part of its mesh is made of."""

from fea.mesh import TaggedMesh
from fea.steel import Steel
from geometry.block import Block

_MM3_PER_M3 = 1e9


def steels_of(block: Block, mesh: TaggedMesh) -> tuple[Steel, ...]:
    """The steel of each part of ``mesh``, in order."""
    by_name = {
        "bottom plate": block.bottom.steel,
        "top plate": block.top.steel,
        "tube": block.tube.steel,
        **{rib.name: block.rib_steel for rib in block.ribs},
    }
    if block.pin:
        by_name["pin"] = block.pin.steel
    weld = weld_steel(block)
    return tuple(by_name.get(part.name, weld) for part in mesh.parts)


def weld_steel(block: Block) -> Steel:
    """The steel of the welds: their own, else the weakest of the steels they join."""
    joined = [block.bottom.steel, block.top.steel, block.tube.steel]
    joined += [block.rib_steel] * bool(block.ribs)
    return block.welds.steel or min(joined, key=lambda steel: steel.yield_mpa)


def mass_kg(mesh: TaggedMesh, steels: tuple[Steel, ...]) -> float:
    """Mass of all the steel, welds included, from the exact solids."""
    return sum(
        part.volume_mm3 / _MM3_PER_M3 * steel.density_kg_m3
        for part, steel in zip(mesh.parts, steels, strict=True)
    )
