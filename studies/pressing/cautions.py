"""The cautions that stand on every sheet taken to the press."""

from studies.cautions import CAUTIONS

AT_THE_PRESS = (
    "Guard the press: steel plate or heavy mesh on every open side, fixed, before any load.",
    "Parts and welds can fly without warning, while the load rises, is held or comes off. Stand "
    "clear and to one side, behind the guard; wear a face shield; nobody else in the bay.",
    "The block flat and in the middle, on a full platen, under what the sheet names. Stop if it "
    "tilts, if something cracks or bangs, or if the needle falls.",
    "Take the load off before anybody reaches in, looks close or measures.",
    "One person works the pump and decides; anybody may call stop, and then it stops. Agree "
    "beforehand at which stop the test ends.",
    "A block pressed to first yield or further is scrap: mark it and never fit it.",
)
"""What holds for any press; the press's own limit is said beside them."""


def press_cautions(limit: str, wedge_deg: float = 0.0) -> tuple[str, ...]:
    """All of them, for a press that must not be taken past ``limit``.

    ``wedge_deg`` is the angle of the wedge that a tapered block takes.
    """
    wedge = (
        f"Pressed through a wedge of {wedge_deg:.4g}° that covers the top plate: load drives it "
        "out towards its thick end. Pin it in the block's hole, fix a stop behind its thick end, "
        "and stay clear of both ends.",
    )
    return (
        f"Never past {limit}, whatever the block does.",
        *AT_THE_PRESS,
        *(wedge if wedge_deg else ()),
        *CAUTIONS[:2],
        CAUTIONS[3],
    )
