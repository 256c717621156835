"""A block and loads for stiff seats, and results between them that nobody computed."""

from dataclasses import replace

from blocks import bare_block
from pretend import WRAP, case_result, comparison, layout

from studies.loads import CrushCase, WrapCase
from studies.results import CaseResult, Comparison
from studies.stiff_results import SeatTouch, StiffBands, StiffRun, StiffSeats
from studies.yield_point import YieldPoint

BLOCK = bare_block(0.0)
LOADS = (
    CrushCase("Crush", 30_000.0, 10.0, stiff_seats=True),
    WrapCase("Wrap", 30_000.0, 3.0, (35.0, 0.0), stiff_seats=True),
    WrapCase("Far", 30_000.0, 3.0, (0.0, 38.0), (0.0, 600.0), (120.0, 100.0), stiff_seats=True),
    WrapCase("Soft only", 30_000.0, 3.0, (35.0, 0.0)),
)


def run_of(seats: StiffSeats | None, sticking: bool) -> StiffRun:
    assert seats is not None
    return next(run for run in seats.runs if run.sticking == sticking)


def pretended(
    soft_n: float,
    slide_n: float,
    grip_n: float,
    touch_file: str = "",
    lifted: bool = False,
) -> CaseResult:
    touch = SeatTouch(0.4, 20.0, (60.0, 0.0, 60.0), 4.0, 0.01)
    point = YieldPoint(slide_n, "tube", "tube, front wall", (60.0, 0.0, 30.0), 3.0, 0.1, -0.1)
    run = StiffRun(
        False,
        point,
        point,
        touch,
        replace(touch, share=0.6),
        lifted,
        1e-9,
        1e-10,
        60,
        9,
        touch_file,
        StiffBands(0.041, 0.22, 0.101, 0.1),
    )
    stuck = replace(run, sticking=True, starts=replace(point, load_n=grip_n))
    return replace(case_result(WRAP, soft_n), stiff=StiffSeats((run, stuck), ""))


def compared(*cases: CaseResult) -> Comparison:
    rows = [layout(f"L{n}", case) for n, case in enumerate(cases)]
    return comparison(*rows, loads=(WRAP,))
