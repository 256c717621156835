"""Which layout is meant, on which press, and where its prediction is kept."""

import difflib
from pathlib import Path

from fea.errors import InputError
from geometry.block import Layout
from studies.pressing.gauge import Press
from studies.study import Study, slug


def chosen_layout(study: Study, path: Path, name: str | None) -> Layout:
    """The layout called ``name``, or the baseline; raises InputError when there is none."""
    if name is None:
        return next(layout for layout in study.layouts if layout.baseline)
    names = [layout.name for layout in study.layouts]
    for layout in study.layouts:
        if layout.name.casefold() == " ".join(name.split()).casefold():
            return layout
    lower = {known.casefold(): known for known in names}
    near = [
        lower[one] for one in difflib.get_close_matches(name.casefold(), lower, n=1, cutoff=0.5)
    ]
    raise InputError(
        f"{path.name}: no layout is called {name!r:.60}",
        (f"did you mean {near[0]!r}? " if near else "") + f"known: {', '.join(names)}",
    )


def press_of(study: Study, path: Path) -> Press:
    """The press of the study; raises InputError when it describes none."""
    if study.press is None:
        raise InputError(
            f"{path.name}: press: is missing",
            "add a part [press] with capacity, bore and gauge_range, as in: gussetry new",
        )
    return study.press


def press_folder(out: Path, study: Study, layout: Layout) -> Path:
    """Where what belongs to one layout in the press is kept."""
    return out / study.slug / "press" / slug(layout.name)


def prediction_file(out: Path, study: Study, layout: Layout) -> Path:
    """Where a layout's prediction is kept."""
    return press_folder(out, study, layout) / "prediction.json"
