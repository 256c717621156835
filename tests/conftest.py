"""Fixtures that several tests share."""

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from blocks import bare_block

from geometry.block import Block

if TYPE_CHECKING:
    from selenium.webdriver import Chrome


@pytest.fixture(scope="session")
def bare_tube_block() -> Block:
    """A plain tube between its plates with nothing else: no pin, no hole, no fillets."""
    return replace(bare_block(0.0), pin=None, hole=None)


@pytest.fixture(scope="session")
def browser() -> "Iterator[Chrome]":
    """One headless browser for all tests that look at our pages; see ``helpers/browser.py``."""
    from browser import started

    driver = started()
    yield driver
    driver.quit()
