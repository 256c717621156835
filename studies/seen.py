"""Loads at which yielding can be seen, as computed on yielding steel."""

from dataclasses import dataclass

from fea.curve import Effort


@dataclass(frozen=True)
class Seen:
    """A load at which yielding can be seen, and where."""

    load_n: float
    place: str


@dataclass(frozen=True)
class PastYield:
    """What following a load past first yield found.

    begins and plain are where plastic strain of 0.05 % and of 0.2 % first covers a patch of skin
    that can be looked at; None where the block gave way, or the run ended, before.
    """

    begins: Seen | None
    plain: Seen | None
    effort: Effort
