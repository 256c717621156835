"""Press curves, predictions and press tests made up for tests, with numbers chosen by hand."""

from dataclasses import replace

import numpy as np
from shapes import brick

from fea.curve import Crushed, Effort, Mark, PressCurve, SkinState
from fea.mesh import TaggedMesh
from studies.pressing.gauge import ACCURACIES, Gauge, Press
from studies.pressing.prediction import Prediction, Threshold
from studies.records.press_test import Marks, PressTest, Reading

STIFFNESS_N_PER_MM = 2.0e6
YIELD_N = 500e3
HEIGHT_MM = 60.0

GAUGE = Gauge("bar", 600.0, 10.0, 0.0, ACCURACIES["class 1.6"], 1500.0)
PRESS = Press(900e3, GAUGE)


def spring_n(travel_mm: float, strength: float = 1.0) -> float:
    """A spring that gives way in two steps, at ``strength`` times 500 and 700 kN."""
    k, first, second = STIFFNESS_N_PER_MM, strength * YIELD_N, strength * 1.4 * YIELD_N
    bend_mm = first / k
    if travel_mm <= bend_mm:
        return k * travel_mm
    return min(first + 0.2 * k * (travel_mm - bend_mm), second + 1e-3 * k * travel_mm)


def prediction(curve: bool = True, block: str = "abc") -> Prediction:
    """The spring as a block's prediction; ``curve`` False leaves the elastic loads only."""
    travel_mm = np.linspace(0.0, 2.0, 2001)
    thresholds = (
        Threshold("starts", 500e3, 0.25, "tube, left wall, near the top"),
        Threshold("faint", 580e3, 0.45, ""),
        Threshold("permanent_set", 650e3, 0.62, ""),
        Threshold("crush", 704e3, 2.0, ""),
    )
    elastic = (
        Threshold("starts", 500e3, 0.25, "tube, left wall, near the top"),
        Threshold("shows", 560e3, 0.28, "tube, left wall, near the top"),
    )
    return Prediction(
        layout="No gussets",
        block_key=block,
        basis="elastic-plastic" if curve else "elastic",
        setting="quick",
        height_mm=HEIGHT_MM,
        stiffness_n_per_mm=STIFFNESS_N_PER_MM,
        thresholds=thresholds if curve else elastic,
        travel_mm=tuple(travel_mm) if curve else (),
        force_n=tuple(spring_n(value) for value in travel_mm) if curve else (),
        valid_to_mm=1.5 if curve else 0.0,
        limit_reason="strains grow past what is computed" if curve else "",
        still_rising=False,
        steel_words="tube S355, 355 MPa",
        mill_times=1.25,
        mill_words="made up",
    )


def press_curve() -> PressCurve:
    """The same spring as the engine would hand it over."""
    travel_mm = tuple(float(value) for value in np.linspace(0.0, 2.0, 41))
    return PressCurve(
        height_mm=HEIGHT_MM,
        force_n=tuple(spring_n(value) for value in travel_mm),
        travel_mm=travel_mm,
        largest_strain=tuple(0.02 * value for value in travel_mm),
        seen_mm2=tuple(100.0 * value for value in travel_mm),
        stiffness_n_per_mm=STIFFNESS_N_PER_MM,
        patch_mm2=100.0,
        starts=Mark(500e3, 0.25, "tube", (60.0, 0.0, 40.0)),
        through=Mark(620e3, 0.55, "tube", (60.0, 0.0, 40.0)),
        faint=Mark(580e3, 0.45, "tube", (60.0, 0.0, 40.0)),
        plain=None,
        permanent_set=Mark(650e3, 0.62),
        crush=Mark(704e3, 2.0),
        still_rising=False,
        valid_to_mm=1.5,
        limit_reason="strains grow past what is computed",
        hardening=("made up",),
        effort=Effort(41, 0, 120, 2000, 10.0),
    )


def crushed_box() -> tuple[TaggedMesh, Crushed]:
    """The spring's curve with a box whose front yields as it is pressed, up to 2 %."""
    mesh, curve = brick((3, 3, 3), (90.0, 60.0, 50.0)), press_curve()
    front = mesh.facet_normals[:, 0] > 0.9
    states = tuple(
        SkinState(force_n, travel_mm, np.where(front, 0.01 * travel_mm, 0.0), np.zeros((1, 3)))
        for force_n, travel_mm in zip(curve.force_n, curve.travel_mm, strict=True)
    )
    return mesh, Crushed(curve, states)


def press_test(
    travels_mm: tuple[float, ...] = (),
    strength: float = 1.0,
    slack_mm: float = 0.0,
    predicted: Prediction | None = None,
    marks: Marks | None = None,
    off_n: tuple[float, ...] = (),
) -> PressTest:
    """The spring, ``strength`` times as strong, read at travels past ``slack_mm`` of play."""
    off = off_n or (0.0,) * len(travels_mm)
    readings = tuple(
        Reading(GAUGE.reading(spring_n(travel, strength) + more), travel + slack_mm, "")
        for travel, more in zip(travels_mm, off, strict=True)
    )
    return PressTest(
        tested_on="2026-03-31",
        tested_by="J. Fitter",
        study="Risers",
        layout="No gussets",
        pattern="plain",
        block_key="abc",
        rated_load_n=30e3,
        gauge=GAUGE,
        readings=readings,
        marks=marks or Marks(),
        note="",
        photos=(),
        prediction=predicted,
        predicted_before=predicted is not None,
    )


def marked(test: PressTest, **marks: float) -> PressTest:
    """The test with these loads, in newtons, noted as gauge readings."""
    return replace(test, marks=Marks(**{key: GAUGE.reading(n) for key, n in marks.items()}))
