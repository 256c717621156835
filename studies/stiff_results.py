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
class StiffBands:
    """Half widths of error bands from the mesh, as shares, of what a run between stiff seats found.

    above and below are those of the seats' highest pressures.
    """

    starts: float
    shows: float
    above: float
    below: float


@dataclass(frozen=True)
class StiffRun:
    """One load between stiff seats on which steel sticks or slides.

    Of a load on the clamped block, starts and shows are on top of the clamp, and touches those of
    clamp and demanded load together, divided by the demand.
    lifted says that the seat above no longer touches over the tube's far wall, seen from the load.
    imbalance is the largest error of a force or moment resultant as a share of the load;
    touch_file holds pressures by facet, for the picture; it is empty where none was asked for.
    bands is None where contact was found on one mesh only.
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
    bands: StiffBands | None = None

    @property
    def peak_mpa(self) -> float:
        """The higher of the two seats' highest pressures."""
        return max(self.above.peak_mpa, self.below.peak_mpa)

    @property
    def peak_band(self) -> float | None:
        """The error band of ``peak_mpa``."""
        if self.bands is None:
            return None
        higher_above = self.above.peak_mpa >= self.below.peak_mpa
        return self.bands.above if higher_above else self.bands.below


@dataclass(frozen=True)
class StiffSeats:
    """The runs of one load case between stiff seats, and in ``trouble`` why one is missing.

    ``trouble`` also says why a run is that of the coarser mesh, or has no bands.
    """

    runs: tuple[StiffRun, ...]
    trouble: str

    @property
    def governing(self) -> StiffRun | None:
        """The run that yields first, if any came out."""
        return min(self.runs, key=lambda run: run.starts.load_n, default=None)
