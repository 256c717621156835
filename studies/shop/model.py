"""The shop a study file describes: its cuts and rates, its axle and U-bolts, its shelf. In mm."""

from dataclasses import dataclass
from typing import Literal

from studies.paper import PaperSize
from studies.shop.rates import Price

ASSUMED_KERF_MM = 2.5
"""Kerf taken when the study file names none: between a cold saw and a plasma torch (judgement, no
source)."""


@dataclass(frozen=True)
class Rates:
    """Money and time; None where the user gave no rate. Money is in ``currency``."""

    currency: str
    tube: Price | None
    bar: Price | None
    plate: Price | None
    saw_min_per_cut: float | None
    cut_min_per_mm: float | None
    weld_min_per_mm: float | None
    labour_per_min: float | None


@dataclass(frozen=True)
class Axle:
    """What stands below and above the block; ``round`` tells a tube from a beam."""

    round: bool
    width_mm: float
    height_mm: float
    spring_seat_mm: float
    spring_width_mm: float
    spring_height_mm: float
    old_block_height_mm: float | None


@dataclass(frozen=True)
class Ubolt:
    """A U-bolt's rod and what its legs pass besides axle, block and spring."""

    rod_mm: float
    plates_mm: tuple[float, ...]
    washer_mm: float
    nut_mm: float
    thread_past_nut_mm: float
    round_bend: bool
    bend_radius_mm: float


@dataclass(frozen=True)
class Stock:
    """One line of the shelf: ``quantity`` pieces alike.

    ``section_mm`` is a tube's two outside sizes and wall, a plate's thickness, a bar's diameter;
    ``size_mm`` a plate's length and width, else (length, 0). ``steel`` None means right as it is.
    """

    name: str
    kind: Literal["tube", "plate", "round bar"]
    section_mm: tuple[float, ...]
    size_mm: tuple[float, float]
    quantity: int
    steel: str | None


@dataclass(frozen=True)
class Shop:
    """Everything of the study file that the papers and the shelf go by.

    ``wall_mm`` is the tube's wall as bought, before any reduction for design; ``kerf_given`` says
    whether the user gave the kerf.
    """

    kerf_mm: float
    kerf_given: bool
    end_trim_mm: float
    paper: PaperSize
    rates: Rates
    wall_mm: float
    axle: Axle | None
    ubolt: Ubolt | None
    shelf: tuple[Stock, ...]
