"""Paints by name, or by their own red, green and blue."""

import difflib
import re

from fea.errors import InputError

Rgb = tuple[int, int, int]

PAINTS: dict[str, Rgb] = {
    "black": (0x24, 0x26, 0x29),
    "dark grey": (0x4B, 0x50, 0x55),
    "grey": (0x7C, 0x83, 0x89),
    "light grey": (0xB4, 0xB9, 0xBC),
    "white": (0xE4, 0xE4, 0xDF),
    "blue": (0x1F, 0x4E, 0x79),
    "green": (0x2E, 0x5E, 0x3E),
    "red": (0xA0, 0x22, 0x28),
    "orange": (0xC8, 0x5A, 0x18),
    "yellow": (0xD9, 0xA4, 0x13),
    "red oxide": (0x7A, 0x3A, 0x2E),
}
"""Shop paints; our own choice of shades."""


def paint(text: str) -> Rgb:
    """A paint by its name or as ``#1f4e79``; raises InputError for anything else.

    >>> paint("Dark Grey"), paint("#1f4e79")
    ((75, 80, 85), (31, 78, 121))
    """
    name = " ".join(text.casefold().replace("gray", "grey").replace("-", " ").split())
    if name in PAINTS:
        return PAINTS[name]
    digits = re.fullmatch(r"#?([0-9a-f]{6})", name)
    if digits:
        red, green, blue = bytes.fromhex(digits[1])
        return red, green, blue
    near = difflib.get_close_matches(name, PAINTS, n=1)
    raise InputError(
        f"--colour: no paint is called {text!r:.40}",
        (f"did you mean {near[0]!r}? " if near else "")
        + f"use one of: {', '.join(PAINTS)}; or red, green and blue as in '#1f4e79'",
    )
