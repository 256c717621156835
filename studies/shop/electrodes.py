"""The filler metal that matches the steels of a block."""

from geometry.block import Block

_ISO = (("35", 355.0, 440.0), ("38", 380.0, 470.0), ("42", 420.0, 500.0), ("46", 460.0, 530.0),
        ("50", 500.0, 560.0))  # fmt: skip
"""Strength symbol of EN ISO 2560-A with its yield and tensile strength in MPa (from memory)."""

_KSI_MPA = 6.894757
_AWS = tuple(
    (f"E{tensile}", yields * _KSI_MPA, tensile * _KSI_MPA)
    for tensile, yields in ((60, 48.0), (70, 58.0), (80, 67.0), (90, 77.0))
)
"""AWS A5.1 and A5.5 classes: tensile and yield in ksi (from memory)."""


def electrode(block: Block, inches: bool) -> str:
    """The weakest class no weaker than the strongest steel joined (EN 1993-1-8, 4.2).

    AWS classes for a shop in inches, else strength symbols of EN ISO 2560-A.
    """
    steels = [block.tube.steel, block.bottom.steel, block.top.steel]
    steels += [block.rib_steel] * bool(block.ribs)
    yield_mpa = max(steel.yield_mpa for steel in steels)
    tensile_mpa = max(steel.ultimate_mpa for steel in steels)
    for name, low, high in _AWS if inches else _ISO:
        # Standards round ksi and MPa each their own way.
        if low >= 0.995 * yield_mpa and high >= 0.995 * tensile_mpa:
            return name if inches else f"E {name}"
    return "ask: stronger than usual"
