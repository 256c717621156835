"""U-bolts: how hard they clamp, from their size, grade and torque."""

from dataclasses import dataclass

from geometry.bolts import BOLT_GRADES, THREADS, BoltGrade, Thread

NUT_FACTORS = {"dry": 0.20, "oiled": 0.15}
"""K in T = K F d for plain steel threads and nut faces: common practice, no source."""

SCATTER = 0.25
"""Share by which K differs from bolt to bolt, so that 0.20 means 0.15 to 0.25: common practice."""

USUAL_PROOF_SHARE = 0.75
"""Of proof load, what a joint that is opened again is commonly tightened to (common practice)."""

_LEGS = 2


def tension_n(torque_n_mm: float, nut_factor: float, diameter_mm: float) -> float:
    """Pull in a bolt tightened to a torque, F = T / (K d).

    >>> round(tension_n(200_000.0, 0.2, 16.0))
    62500
    """
    return torque_n_mm / (nut_factor * diameter_mm)


def torque_n_mm(pull_n: float, nut_factor: float, diameter_mm: float) -> float:
    """Torque that gives a bolt a pull, T = K F d."""
    return nut_factor * pull_n * diameter_mm


@dataclass(frozen=True)
class UBolts:
    """Some equal U-bolts, each nut tightened to ``torque_n_mm``; both legs of each pull.

    ``thread_name`` and ``grade_name`` are keys of geometry.bolts.
    """

    thread_name: str
    grade_name: str
    count: int
    nut_factor: float
    torque_n_mm: float

    @property
    def thread(self) -> Thread:
        """The thread."""
        return THREADS[self.thread_name]

    @property
    def grade(self) -> BoltGrade:
        """The grade."""
        return BOLT_GRADES[self.grade_name]

    @property
    def proof_n(self) -> float:
        """Pull that one leg must bear without staying longer: proof strength × stress area."""
        return self.grade.proof_mpa(self.thread) * self.thread.stress_area_mm2

    @property
    def leg_n(self) -> float:
        """Pull in one leg."""
        return tension_n(self.torque_n_mm, self.nut_factor, self.thread.diameter_mm)

    @property
    def proof_share(self) -> float:
        """Pull in a leg over its proof load."""
        return self.leg_n / self.proof_n

    @property
    def clamp_n(self) -> float:
        """What all legs together press with."""
        return _LEGS * self.count * self.leg_n

    @property
    def spread(self) -> tuple[float, float]:
        """Lowest and highest share of the computed pull that the same torque may give."""
        return 1.0 / (1.0 + SCATTER), 1.0 / (1.0 - SCATTER)


@dataclass(frozen=True)
class ClampFinding:
    """What clamping does to one layout under the U-bolts alone or a load on top of them.

    clamp_n is the clamp force and ``clamp_stress_mpa`` the averaged stress under it alone, which is
    ``clamp_share`` of yield there. ``opens_at_n`` is the load at which an edge of a seat opens as
    the load grows, ``opening_moment_n_mm`` the axle torque that opens it while the load stays as it
    is, ``falls_at_n`` the load at which it falls off a seat, where growing it ends; None: never.
    ``open_at_yield`` says that a seat has opened before first yield, and ``further_solves`` how
    many solutions that took.
    """

    clamp_n: float
    clamp_stress_mpa: float
    clamp_share: float
    opens_at_n: float | None
    opening_moment_n_mm: float | None
    falls_at_n: float | None
    open_at_yield: bool
    further_solves: int
