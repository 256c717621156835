"""The cautions that go with every load this program prints."""

CAUTIONS = (
    "Loads here are computed estimates for comparing layouts, not a rating of any part.",
    "Welds decide: have them made by a qualified welder and inspected before any load.",
    "In a press test, shield the press, stay clear of it, and never go past what it is rated for: "
    "steel and welds can fly.",
    "Local vehicle rules and a licensed engineer decide whether a block may go on the road.",
)

CLAMP_CAUTION = (
    "A wrong torque can break a U-bolt or let it work loose: go by the vehicle's service data, not "
    "by the torques here, tighten again after the first miles, and let a licensed engineer decide."
)
"""Goes with every torque and clamp force."""


def cautions_for(clamped: bool) -> tuple[str, ...]:
    """The cautions, with that about torques where a clamp is shown."""
    return (*CAUTIONS, CLAMP_CAUTION) if clamped else CAUTIONS
