"""Steel as the solver sees it, and published grades with their thickness steps."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Steel:
    """An isotropic steel.

    ``yield_mpa`` and ``ultimate_mpa`` are the standard's minimum values at the part's thickness,
    or the user's own figures; ``source`` says which.
    """

    name: str
    yield_mpa: float
    ultimate_mpa: float
    e_mpa: float = 210_000.0
    nu: float = 0.3
    density_kg_m3: float = 7850.0
    source: str = "given by the user"

    @property
    def lame_mpa(self) -> tuple[float, float]:
        """Lamé's constants (λ, μ) in MPa."""
        mu = self.e_mpa / (2.0 * (1.0 + self.nu))
        return 2.0 * mu * self.nu / (1.0 - 2.0 * self.nu), mu
