"""A block's prediction from its elastic loads, or from the press curve computed for it."""

from collections.abc import Iterable

import numpy as np

from fea.curve import Mark, PressCurve
from geometry.block import Block, Layout
from geometry.places import place_in_words
from studies.bands import STARTS_FLOOR, band
from studies.pressing.mill import strongest_at_the_mill
from studies.pressing.prediction import (
    MESH_SHARE,
    Prediction,
    Threshold,
    ThresholdKey,
    block_key,
)
from studies.results import CaseResult
from studies.units import OutputUnits

_MARKS: tuple[ThresholdKey, ...] = (
    "starts",
    "through",
    "faint",
    "plain",
    "permanent_set",
    "crush",
)

_UNMATCHED_SHARE = 0.1
"""For a mark that the coarser of two meshes does not reach (judgement, no source)."""


def from_elastic(layout: Layout, found: CaseResult, setting: str, units: OutputUnits) -> Prediction:
    """What plain crush says of the press: where yielding starts and shows; no curve."""
    thresholds = (
        Threshold("starts", found.starts.load_n, None, found.starts.place, found.bands.starts),
        Threshold("shows", found.shows.load_n, None, found.shows.place, found.bands.shows),
    )
    mill = strongest_at_the_mill(layout.block)
    return Prediction(
        layout=layout.name,
        block_key=block_key(layout.block),
        basis="elastic",
        setting=setting,
        height_mm=height_mm(layout.block),
        stiffness_n_per_mm=found.stiffness_n_per_mm,
        thresholds=_in_order(thresholds),
        travel_mm=(),
        force_n=(),
        valid_to_mm=0.0,
        limit_reason="",
        still_rising=False,
        steel_words=steel_words(layout.block, units),
        mill_times=mill.times,
        mill_words=mill.source,
        wedge_deg=abs(layout.block.taper_deg),
    )


def from_curve(
    layout: Layout,
    curve: PressCurve,
    coarse: PressCurve | None,
    setting: str,
    units: OutputUnits,
) -> Prediction:
    """What the computed press curve says, all its marks in the order of their loads.

    How sure each is of the mesh comes from the ``coarse`` curve of the same block.
    """
    found = [
        Threshold(
            key,
            mark.force_n,
            mark.travel_mm,
            _place(layout.block, mark),
            _mesh_share(key, mark, coarse),
        )
        for key in _MARKS
        if (mark := getattr(curve, key)) is not None
    ]
    mill = strongest_at_the_mill(layout.block)
    return Prediction(
        layout=layout.name,
        block_key=block_key(layout.block),
        basis="elastic-plastic",
        setting=setting,
        height_mm=curve.height_mm,
        stiffness_n_per_mm=curve.stiffness_n_per_mm,
        thresholds=_in_order(found),
        travel_mm=curve.travel_mm,
        force_n=curve.force_n,
        valid_to_mm=curve.valid_to_mm,
        limit_reason=curve.limit_reason,
        still_rising=curve.still_rising,
        steel_words=steel_words(layout.block, units),
        mill_times=mill.times,
        mill_words=mill.source,
        wedge_deg=abs(layout.block.taper_deg),
    )


def _mesh_share(key: ThresholdKey, mark: Mark, coarse: PressCurve | None) -> float:
    other: Mark | None = getattr(coarse, key) if coarse else None
    if other is None:
        return _UNMATCHED_SHARE if coarse else MESH_SHARE
    return band(other.force_n, mark.force_n, STARTS_FLOOR)


def height_mm(block: Block) -> float:
    """Between the platens, before any load; on a tapered block at the hole."""
    return block.height_mm


def steel_words(block: Block, units: OutputUnits) -> str:
    """For example ``tube S355, 355 MPa; plates S355, 355 MPa``."""
    plate = min((block.bottom.steel, block.top.steel), key=lambda steel: steel.yield_mpa)
    said = [("tube", block.tube.steel), ("plates", plate)]
    said += [("ribs", block.rib_steel)] if block.ribs else []
    return "; ".join(
        f"{part} {steel.name}, {units.show_stress(steel.yield_mpa)}" for part, steel in said
    )


def _place(block: Block, mark: Mark) -> str:
    if not mark.part or not mark.point_mm:
        return ""
    return place_in_words(block, mark.part, np.array(mark.point_mm))


def _in_order(found: Iterable[Threshold]) -> tuple[Threshold, ...]:
    return tuple(sorted(found, key=lambda one: one.force_n))
