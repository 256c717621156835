"""What the page calls things: labels, help for each key, the guide and its terms."""

import tomllib
from functools import cache
from importlib.resources import files
from typing import Any

from studies.template import study_notes


@cache
def _words() -> dict[str, Any]:
    return tomllib.loads((files("studies.page") / "words.toml").read_text(encoding="utf-8"))


def label_of(dotted: str) -> str:
    """What a key is called beside its box: its own name in words, unless that says too little."""
    own = _words()["labels"].get(dotted)
    return str(own) if own else dotted.split(".")[-1].replace("_", " ").capitalize()


def help_of(dotted: str) -> str:
    """One sentence on a key: the note in the commented study file, or our own; "" for none."""
    own = _words()["help"].get(dotted) or study_notes().get(dotted, "")
    return own[:1].upper() + own[1:]


def guide() -> list[dict[str, str]]:
    """The guide's steps, each with a title and a text."""
    return list(_words()["guide"])


def terms() -> dict[str, str]:
    """What the words on the page mean."""
    return dict(_words()["terms"])
