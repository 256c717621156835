"""Each load followed past first yield, on yielding steel, until the yielding can be seen."""

import hashlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict, replace
from pathlib import Path

import numpy as np
from pydantic import TypeAdapter, ValidationError

from fea.crush import crushed
from fea.curve import Effort, Mark, PressCurve
from fea.errors import GussetryError
from fea.model import Model, modelled
from fea.pushed import pushed
from fea.skinmarks import SkinMarks
from geometry.amounts import steels_of
from geometry.block import Block, Layout
from geometry.mesher import MeshSizes, Setting, meshed
from geometry.places import place_in_words
from geometry.visible import visible_skin
from studies.loads import CrushCase, LoadCase, PadCase, WrapCase
from studies.pressing.crush import curve_sizes, platens_for
from studies.pressing.flakes import crush_key, kept_curve
from studies.results import LayoutResult
from studies.runner import Heard
from studies.seen import PastYield, Seen
from studies.states import Progress, problems_of
from studies.store import numerics
from studies.study import Study
from studies.whole_files import sealed, unsealed, write_whole

_KEPT = TypeAdapter(PastYield)


def can_follow(case: LoadCase) -> bool:
    """Whether a load grows from nothing: not on top of a clamp."""
    return isinstance(case, CrushCase | PadCase) or (
        isinstance(case, WrapCase) and not case.clamp_n
    )


def past_yield(
    block: Block, cases: Iterable[LoadCase], sizes: MeshSizes, say: Progress
) -> Iterator[tuple[LoadCase, PastYield]]:
    """Follow loads on one mesh, one by one; raises MeshError or SolveError when that fails."""
    say("meshing")
    mesh = meshed(block, sizes)
    model = modelled(mesh, steels_of(block, mesh))
    for case in cases:
        say(f"following {case.name} past yield")
        yield case, followed_on(model, block, case)


def followed_on(model: Model, block: Block, case: LoadCase) -> PastYield:
    """Follow one load on a model of the block; raises SolveError when that fails."""
    seen = visible_skin(block, model.mesh)
    if isinstance(case, CrushCase):
        curve = crushed(model, platens_for(block, case), seen, until_shown=True).curve
        return from_marks(block, curve, curve.effort)
    (problem,) = problems_of(model, block, case)
    run = pushed(model, problem, case.load_n, seen)
    return from_marks(block, run.marks, run.effort)


def from_marks(block: Block, marks: SkinMarks | PressCurve, effort: Effort) -> PastYield:
    """What a run's marks say of when yielding can be seen."""

    def seen(mark: Mark | None) -> Seen | None:
        if mark is None:
            return None
        return Seen(mark.force_n, place_in_words(block, mark.part, np.array(mark.point_mm)))

    return PastYield(seen(marks.faint), seen(marks.plain), effort)


def past_yield_key(block: Block, case: LoadCase, setting: Setting) -> str:
    """What it is kept under: all that determines it, our own code too."""
    plain = replace(case, name="", demand_multiple=1.0)
    said = {
        "block": asdict(block),
        "load": {"kind": type(case).__name__, **asdict(plain)},
        "setting": setting,
        "numerics": numerics("studies.past_yield"),
    }
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()[:32]


def kept_past_yield(
    store: Path, block: Block, case: LoadCase, setting: Setting
) -> PastYield | None:
    """What was found of this block and load before, or None."""
    path = store / f"{past_yield_key(block, case, setting)}-past.json"
    try:
        return _KEPT.validate_json(unsealed(path.read_bytes()) or b"")
    except (OSError, ValidationError):
        return None


def follow(study: Study, store: Path, heard: Heard, fresh: bool) -> None:
    """Follow every layout's loads that ``store`` does not hold yet, and keep what was found.

    A layout that fails is told of; its estimates stay.
    """
    for layout in study.layouts:
        wanted = [
            case
            for case in study.loads
            if can_follow(case)
            and (fresh or kept_past_yield(store, layout.block, case, study.setting) is None)
        ]
        if wanted:
            _follow_layout(layout, wanted, study.setting, store, heard)


def _follow_layout(
    layout: Layout, cases: list[LoadCase], setting: Setting, store: Path, heard: Heard
) -> None:
    def say(what: str) -> None:
        heard(layout.name, what)

    store.mkdir(parents=True, exist_ok=True)
    try:
        for case, found in past_yield(layout.block, cases, curve_sizes(setting), say):
            path = store / f"{past_yield_key(layout.block, case, setting)}-past.json"
            write_whole(path, sealed(_KEPT.dump_json(found, indent=1)))
    except GussetryError as error:
        say(f"not followed past yield: {error}")


def with_past_yield(row: LayoutResult, block: Block, setting: Setting, store: Path) -> LayoutResult:
    """The row with what ``store`` holds of its loads past first yield."""
    return replace(
        row,
        cases=tuple(replace(one, past=_kept(block, one.case, setting, store)) for one in row.cases),
    )


def _kept(block: Block, case: LoadCase, setting: Setting, store: Path) -> PastYield | None:
    """From a run that ended where yielding shows, or from a whole press curve."""
    if not can_follow(case):
        return None
    found = kept_past_yield(store, block, case, setting)
    if found is None and isinstance(case, CrushCase):
        curve = kept_curve(store, crush_key(block, case.friction, None, curve_sizes(setting)))
        return from_marks(block, curve, curve.effort) if curve else None
    return found
