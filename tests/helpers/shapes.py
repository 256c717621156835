"""The simple bodies of the published checks, under the name by which tests know them."""

from studies.published.bodies import (
    brick,
    held_where,
    near,
    problem,
    stress_at,
    tagged,
    traction_force,
)

__all__ = ["brick", "held_where", "near", "problem", "stress_at", "tagged", "traction_force"]
