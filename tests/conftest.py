"""Fixtures that several tests share."""

from dataclasses import replace

import pytest
from blocks import bare_block

from geometry.block import Block


@pytest.fixture(scope="session")
def bare_tube_block() -> Block:
    """A plain tube between its plates with nothing else: no pin, no hole, no fillets."""
    return replace(bare_block(0.0), pin=None, hole=None)
