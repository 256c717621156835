"""Names as file names."""

import hashlib
import re

_LONGEST_SLUG = 48
_UNTOLD = re.compile(r"[^A-Za-z0-9 ,.:;_()/'\"-]|(?<![A-Za-z0-9])-")
"""What a file name leaves out though it may be all that two names differ in."""


def slug(text: str) -> str:
    """A short file name made of letters, digits and hyphens; never empty, never a path.

    What these cannot tell, such as a sign or another alphabet, is told by figures at its end.

    >>> slug("Wrap forward"), slug("Wrap +"), slug("Wrap -")
    ('wrap-forward', 'wrap-88eb78', 'wrap-6d0b29')
    """
    told = re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")
    if len(told) <= _LONGEST_SLUG and not _UNTOLD.search(text):
        return told or "study"
    figures = hashlib.sha256(text.encode("utf-8", "surrogatepass")).hexdigest()[:6]
    return f"{told[: _LONGEST_SLUG - 7]}-{figures}".lstrip("-")
