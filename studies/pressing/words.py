"""The loads of the press curve in words: what each is called and what to look for at it."""

from studies.pressing.prediction import ThresholdKey

NAMES: dict[ThresholdKey, str] = {
    "starts": "first local yield",
    "shows": "yielding expected to show (estimate)",
    "through": "yield through a whole thickness",
    "faint": "yielding begins to show",
    "plain": "yielding plain to see",
    "permanent_set": "0.2 % of the height stays",
    "crush": "the most it carries",
}

STILL_RISING = "the computed curve ends, still rising"


def name_of(key: ThresholdKey, still_rising: bool) -> str:
    """What a load is called; a curve that still rises at its end has no highest load yet."""
    return STILL_RISING if key == "crush" and still_rising else NAMES[key]


LOOK: dict[ThresholdKey, str] = {
    "starts": "nothing to see yet",
    "shows": "fine cracks in the mill scale",
    "through": "cracks in the scale on both faces",
    "faint": "first fine cracks in the mill scale",
    "plain": "mill scale flakes off in bands",
    "permanent_set": "unload, it stays shorter",
    "crush": "needle stops rising, stop here",
}

WHERE_TO_LOOK: tuple[ThresholdKey, ...] = ("shows", "faint")
"""The loads at which the place is worth a look."""
