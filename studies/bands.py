"""How far finer meshes may still move a figure, told from its values on two meshes.

A band is SPREAD times what the figure changed between the two, but never narrower than its floor:
local averages scatter a little from mesh to mesh, so two meshes may agree by chance. A run's two
meshes lie further apart than others (``refining.COARSER``): once what they differ by is enough.
"""

import re
from dataclasses import dataclass

from fea.errors import InputError

SPREAD = 1.5
STARTS_SPREAD = 1.0
STARTS_FLOOR = 0.04
"""Chosen on the trailer risers' demo alone. ``tests/benchmarks/bands.py`` gives the table, and
tries it on the other demo and on bodies whose stress is known: of 147 loads 140 lay inside."""

SHOWS_FLOOR = 0.15
"""The load at which yielding shows is an estimate. Loads computed past yield differed from it by
10 % at most (``published/visible_yield.json``), and a finer mesh has moved it by as much."""

GUESS_FLOOR = 0.22
"""Of loads on top of a clamp the elastic stress alone tells it: of others, loads computed past
yield differed from that by as much."""

STIFFNESS_SPREAD = 2.1
STIFFNESS_FLOOR = 0.01
"""Stiffness falls with every refinement, by an error that goes with element size to the power 1.09
beside sharp inner corners of 90° (Williams, *J. Appl. Mech.* 19, 1952): from elements 0.7 times as
large, which those of the finer mesh are, to none, by 2.1 times what it last changed."""

BUCKLING_FLOOR, BUCKLING_SPREAD = STIFFNESS_FLOOR, STIFFNESS_SPREAD
"""A buckling load is a ratio of energies, as stiffness is, and errs by the same law."""

STIFF_FLOOR = 0.05
"""Of first yield and of the highest mean pressure between stiff seats. Chosen on the trailer risers
alone, at mesh quick; ``tests/benchmarks/bands.py --figures stiff`` tries it on the other demo."""

LEVEL_SHARE = STARTS_FLOOR
"""Loads of two designs closer than a band at its narrowest are not told apart."""

CLOSEST, LOOSEST = 0.01, 0.2
"""Accuracies that may be asked for."""


@dataclass(frozen=True)
class Bands:
    """Half widths of a load case's error bands from the mesh, as shares of its figures.

    unknowns of the coarser and of the finer of the two meshes they come from; met is whether
    first yield is known as closely as was asked, None when nothing was asked.
    """

    starts: float
    shows: float
    stiffness: float
    unknowns: tuple[int, int]
    met: bool | None = None


def band(coarse: float, fine: float, floor: float, spread: float = SPREAD) -> float:
    """Half width of a figure's band, as a share of ``fine``, from its values on two meshes."""
    return max(floor, spread * abs(coarse / fine - 1.0))


def accuracy_share(value: object) -> float:
    """An accuracy as its user writes it, "3 %" or "3%", as a share; raises InputError."""
    found = re.fullmatch(r"\s*(\d+(?:[.,]\d+)?)\s*%\s*", str(value))
    share = float(found[1].replace(",", ".")) / 100.0 if found else 0.0
    if not CLOSEST <= share <= LOOSEST:
        raise InputError(
            f"{str(value)!r} is no accuracy we can aim for",
            f'give {CLOSEST:.0%} to {LOOSEST:.0%}, such as "3 %"',
        )
    return share
