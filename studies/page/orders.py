"""What can be asked for on the page, as the ``gussetry`` command that does it."""

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from fea.errors import InputError
from studies.page.folder import OUT
from studies.page.guess import guess
from studies.study import Study

Kind = Literal["compare", "sweep", "press", "papers", "figures", "shelf"]

_WORDS: dict[Kind, str] = {
    "compare": "Compare all layouts",
    "sweep": "Vary sizes",
    "press": "Press test of",
    "papers": "Shop papers of",
    "figures": "Product pictures of",
    "shelf": "What the shelf yields",
}


@dataclass(frozen=True)
class Order:
    """A command's arguments, words for people, the layouts whose progress is told.

    ``expected_s`` is what it will likely take on this machine; 0 when nothing is known of it.
    """

    arguments: list[str]
    words: str
    layouts: tuple[str, ...] = ()
    expected_s: float = 0.0


def order(kind: Kind, study: Study, path: Path, layout: str | None, curve: bool) -> Order:
    """How to do what is asked.

    Raises InputError when the study has no such layout, or is too large to compute.
    """
    names = tuple(one.name for one in study.layouts)
    if layout is not None and layout not in names:
        raise InputError(f"no layout is called {layout!r:.60}", "choose one of the study's")
    if kind in ("compare", "sweep", "press", "figures"):
        _not_too_large(study)
    words, arguments = _WORDS[kind], [kind, path.name, "--out", OUT]
    if kind == "compare":
        workers = min(os.cpu_count() or 1, len(names))
        return Order(arguments, words, names, guess(study).seconds / workers)
    if kind in ("sweep", "shelf"):
        return Order(arguments, words)
    chosen = layout or next(one.name for one in study.layouts if one.baseline)
    words, arguments = f"{words} {chosen}", [*arguments, f"--layout={chosen}"]
    if kind == "press" and curve:
        words, arguments = f"{words}, past yielding", [*arguments, "--curve"]
    return Order(arguments, words, () if kind == "papers" else (chosen,))


def is_ours(kind: str, study: str, arguments: list[str]) -> bool:
    """Whether ``order`` could have given these arguments for a study file of this name.

    A request is read from a folder that may have come from anybody.
    """
    rest = arguments[4:]
    return (
        kind in _WORDS
        and arguments[:4] == [kind, study, "--out", OUT]
        and not study.startswith("-")
        and Path(study).name == study
        and all(one == "--curve" or one.startswith("--layout=") for one in rest)
    )


def _not_too_large(study: Study) -> None:
    too_large = guess(study).too_large
    if too_large:
        raise InputError(
            f"{', '.join(too_large)} would take more memory than most computers have",
            "take a coarser setting under “How finely to compute”, or thicker parts",
        )
