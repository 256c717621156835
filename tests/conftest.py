"""Fixtures that several tests share."""

import os
from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numba
import pytest
from blocks import bare_block

from geometry.block import Block

if TYPE_CHECKING:
    from selenium.webdriver import Chrome


@pytest.fixture(scope="session", autouse=True)
def _a_core_each() -> None:
    """Processes that test side by side take one core each, as those of a comparison do."""
    workers = int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1"))
    numba.set_num_threads(max(1, numba.config.NUMBA_NUM_THREADS // workers))


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
