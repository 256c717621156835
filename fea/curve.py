"""What a press would read while it crushes a block: force against travel, and the marks on it.

The curve is computed by ``fea.stepping.crushed``; it knows neither presses nor gauges. A gauge
reading, a hold point or a sheet is made from a ``PressCurve`` alone; the pictures of yielded skin
from the ``SkinState`` kept beside it.
"""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from fea.errors import SolveError
from fea.mesh import Floats


@dataclass(frozen=True)
class Mark:
    """A point of the curve at which something first holds.

    part and point_mm say where on the steel; both are empty where the mark is of the whole block
    (permanent set, crush).
    """

    force_n: float
    travel_mm: float
    part: str = ""
    point_mm: tuple[float, ...] = ()


@dataclass(frozen=True)
class Effort:
    """What the curve took: load steps kept and cut back, Newton and conjugate-gradient rounds."""

    steps: int
    cutbacks: int
    newton: int
    linear: int
    seconds: float


@dataclass(frozen=True)
class PressCurve:
    """Force against ram travel of one block, by elastic–plastic steps under rigid platens.

    All loads are of the whole block, compression positive, with nothing added for friction in the
    press. Travel is the movement of the ram from first touch; the press's own give is not in it.

    height_mm        what 0.2 % and 3 % are of: the distance between the platens before loading
    force_n          (k,) from zero, one value a step kept
    travel_mm        (k,) rising from zero; the last is at least 3 % of the height
    largest_strain   (k,) largest plastic strain on the skin at each step, over ``patch_mm2``
    seen_mm2         (k,) largest connected patch of visible skin with 0.2 % plastic strain
    stiffness_n_per_mm of the first, elastic step
    patch_mm2        the area of skin that counts as a patch one can see

    starts           first local yield: the yield surface reached over a disc of half the local
                     thickness on one smooth face of the skin
    through          first yield through the whole thickness of a part, over the same area
    faint, plain     plastic strain of 0.05 % and of 0.2 % first covers ``patch_mm2`` of visible
                     skin; None when that never happened
    permanent_set   unloaded from here the block stays 0.2 % of the height shorter, by unloading
                     it in the computation; None when that was not reached
    crush            the highest force, or the last where it still rises (``still_rising``)
    valid_to_mm      travel up to which small strains and stocky walls hold: dash the curve past it
    limit_reason     why the curve stops being valid there, in plain words; empty if it never does

    hardening        the law of each steel in words, with its source
    """

    height_mm: float
    force_n: tuple[float, ...]
    travel_mm: tuple[float, ...]
    largest_strain: tuple[float, ...]
    seen_mm2: tuple[float, ...]
    stiffness_n_per_mm: float
    patch_mm2: float
    starts: Mark
    through: Mark | None
    faint: Mark | None
    plain: Mark | None
    permanent_set: Mark | None
    crush: Mark
    still_rising: bool
    valid_to_mm: float
    limit_reason: str
    hardening: tuple[str, ...]
    effort: Effort

    def force_at_n(self, travel_mm: float) -> float:
        """Force at a travel, between the steps by straight lines.

        Raises SolveError past the curve's end.
        """
        if not 0.0 <= travel_mm <= self.travel_mm[-1]:
            raise SolveError(
                f"the press curve ends at {self.travel_mm[-1]:.3g} mm of travel",
                "ask for a travel on the curve",
            )
        return float(np.interp(travel_mm, self.travel_mm, self.force_n))

    def travel_at_mm(self, force_n: float) -> float | None:
        """Travel at which the force is first reached; None when it never is."""
        steps = zip(pairwise(self.force_n), pairwise(self.travel_mm), strict=True)
        for (low_n, high_n), (from_mm, to_mm) in steps:
            if low_n <= force_n <= high_n:
                share = (force_n - low_n) / (high_n - low_n) if high_n > low_n else 0.0
                return from_mm + share * (to_mm - from_mm)
        return None


@dataclass(frozen=True, eq=False)
class SkinState:
    """The steel at one step of the curve, for pictures.

    strain          (f,) equivalent plastic strain at the middle of each skin facet
    displacement_mm (N, 3) of the model's nodes
    """

    force_n: float
    travel_mm: float
    strain: Floats
    displacement_mm: Floats


@dataclass(frozen=True, eq=False)
class Crushed:
    """A curve with the steel's state at every step of it, one a ``force_n``."""

    curve: PressCurve
    states: tuple[SkinState, ...]

    def state_near(self, force_n: float) -> SkinState:
        """The state of the first step that carries at least ``force_n``, else the last."""
        for state in self.states:
            if state.force_n >= force_n:
                return state
        return self.states[-1]
