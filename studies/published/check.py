"""One published value and how we compute it ourselves."""

from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class PublishedCheck:
    """A value that somebody else published, beside our own computation of it.

    ``case`` says in plain words what is computed, ``source`` where the value stands ("from memory"
    where it was not read there again). ``allowed`` is the lowest and highest difference,
    ours / published - 1, that what is computed can honestly give. ``ours`` computes it afresh.
    """

    case: str
    source: str
    published: float
    unit: str
    allowed: tuple[float, float]
    ours: Callable[[], float]


@dataclass(frozen=True)
class Finding:
    """What came of a check: our value, its relative difference, and whether it is allowed."""

    check: PublishedCheck
    ours: float

    @property
    def difference(self) -> float:
        """Ours over the published value, less one."""
        return self.ours / self.check.published - 1.0

    @property
    def passed(self) -> bool:
        """Whether the difference is one that is allowed; NaN never is."""
        lowest, highest = self.check.allowed
        return lowest <= self.difference <= highest


def found(check: PublishedCheck) -> Finding:
    """Compute a check afresh."""
    return Finding(check, float(check.ours()))


def within(share: float) -> tuple[float, float]:
    """The allowed differences when ours may lie as far above as below."""
    return (-share, share)
