"""What came of a load between stiff seats that only push."""

from dataclasses import dataclass

from studies.yield_point import YieldPoint


@dataclass(frozen=True)
class SeatTouch:
    """How one seat touches under the case's load.

    share is the area in touch over the seat's; peak_mpa the highest pressure, averaged over discs
    of radius averaging_mm, half the plate's thickness, round peak_mm; gap_mm the widest gap.
    """

    share: float
    peak_mpa: float
    peak_mm: tuple[float, float, float]
    averaging_mm: float
    gap_mm: float


@dataclass(frozen=True)
class StiffRun:
    """One load between stiff seats on which steel sticks or slides.

    Of a load on the clamped block, starts and shows are on top of the clamp, and touches those of
    clamp and demanded load together, divided by the demand.
    lifted says that the seat above no longer touches over the tube's far wall, seen from the load.
    imbalance is the largest error of a force or moment resultant as a share of the load;
    touch_file holds pressures by facet, for the picture; it is empty where none was asked for.
    """

    sticking: bool
    starts: YieldPoint
    shows: YieldPoint
    above: SeatTouch
    below: SeatTouch
    lifted: bool
    residual: float
    imbalance: float
    iterations: int
    rounds: int
    touch_file: str


@dataclass(frozen=True)
class StiffSeats:
    """The runs of one load case between stiff seats, and in ``trouble`` why one is missing."""

    runs: tuple[StiffRun, ...]
    trouble: str

    @property
    def governing(self) -> StiffRun | None:
        """The run that yields first, if any came out."""
        return min(self.runs, key=lambda run: run.starts.load_n, default=None)
