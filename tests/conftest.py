"""Blocks and models that many tests share."""

from dataclasses import replace

import pytest

from fea.model import Model, modelled
from fea.steel import Steel
from geometry.amounts import steels_of
from geometry.block import Block, Hole, Pin, Plate, Tube, Welds
from geometry.mesher import SETTINGS, meshed
from geometry.patterns import PATTERNS, RibChoice, gusseted

S355 = Steel("S355", 355.0, 490.0)


def bare_block(leg_mm: float = 5.0) -> Block:
    """A plain block: 150 × 110 × 8 plates on a 120 × 80 × 6 tube 44 mm high."""
    return Block(
        tube=Tube(120.0, 80.0, 6.0, 12.0, 44.0, S355),
        bottom=Plate(150.0, 110.0, 8.0, S355),
        top=Plate(150.0, 110.0, 8.0, S355),
        ribs=(),
        rib_steel=S355,
        welds=Welds(leg_mm, leg_mm, leg_mm, leg_mm),
        pin=Pin(16.0, 12.0, S355),
        hole=Hole(18.0),
    )


def patterned(name: str, leg_mm: float = 5.0) -> Block:
    """The plain block with the ribs of a pattern, 6 mm thick."""
    return gusseted(bare_block(leg_mm), PATTERNS[name], RibChoice(6.0))


@pytest.fixture(scope="session")
def diagonal_block() -> Block:
    return patterned("corner-diagonal")


@pytest.fixture(scope="session")
def diagonal_model(diagonal_block: Block) -> Model:
    mesh = meshed(diagonal_block, SETTINGS["quick"])
    return modelled(mesh, steels_of(diagonal_block, mesh))


@pytest.fixture(scope="session")
def bare_tube_block() -> Block:
    """A plain tube between its plates with nothing else: no pin, no hole, no fillets."""
    return replace(bare_block(0.0), pin=None, hole=None)
