"""From the study file's ``[clamp]`` to a load case."""

from fea.errors import InputError
from geometry.block import Plate
from geometry.bolts import bolt_grade, thread
from studies.clamping.table import ClampTable
from studies.clamping.u_bolts import NUT_FACTORS, UBolts, torque_n_mm
from studies.loads import ClampCase
from studies.reader import Reader
from studies.schema import WrapTable
from studies.units import OutputUnits

CLAMP_NAME = "U-bolt clamp"
_SLACK = 1.001


def clamp_case(reader: Reader, table: ClampTable, top: Plate) -> ClampCase:
    """The clamp as a load case; refuses what no such bolt can hold."""
    bolts = _u_bolts(reader, table)
    plate = (top.length_mm, top.width_mm)
    if table.seat and any(a > b * _SLACK for a, b in zip(table.seat, plate, strict=True)):
        reader.refuse(
            "clamp.seat",
            f"{table.seat[0]:.4g} mm × {table.seat[1]:.4g} mm is larger than the top plate",
            f"use at most {plate[0]:.4g} mm × {plate[1]:.4g} mm, or leave seat out",
        )
    return ClampCase(CLAMP_NAME, bolts.clamp_n, 1.0, bolts, table.seat)


def clamped_seat(
    reader: Reader, key: str, load: WrapTable, clamp: ClampCase | None
) -> tuple[tuple[float, float] | None, float]:
    """The seat a wrap presses through and the clamp force on it; clamp and wrap share one seat."""
    if not load.clamped:
        return load.seat, 0.0
    if clamp is None:
        reader.refuse(
            f"{key}.clamped", "says true, but no U-bolts are described", "add a part [clamp]"
        )
    if load.seat and load.seat != clamp.seat_size_mm:
        reader.refuse(
            f"{key}.seat",
            "differs from the one under the U-bolts",
            "give seat in [clamp] only: clamp and load press through the same one",
        )
    return clamp.seat_size_mm, clamp.load_n


def _u_bolts(reader: Reader, table: ClampTable) -> UBolts:
    try:
        size = thread(table.bolt)
    except InputError as error:
        reader.refuse("clamp.bolt", error.problem, error.remedy)
    try:
        grade = bolt_grade(table.grade, size)
    except InputError as error:
        reader.refuse("clamp.grade", error.problem, error.remedy)
    if (table.torque is None) == (table.proof_share is None):
        reader.refuse(
            "clamp.torque",
            "is missing, and so is proof_share"
            if table.torque is None
            else "stands with a proof_share",
            'give just one: torque = "180 N m", or proof_share = 0.75',
        )
    if table.threads and table.nut_factor:
        reader.refuse(
            "clamp.nut_factor", "stands with threads", 'give just one, such as threads = "oiled"'
        )
    factor = table.nut_factor or NUT_FACTORS[table.threads or "dry"]
    proof_n = grade.proof_mpa(size) * size.stress_area_mm2
    share = table.proof_share or 0.0
    torque = table.torque or torque_n_mm(share * proof_n, factor, size.diameter_mm)
    bolts = UBolts(size.name, grade.name, table.u_bolts, factor, torque)
    stress_mpa, tensile_mpa = bolts.leg_n / size.stress_area_mm2, grade.tensile_mpa(size)
    if stress_mpa > tensile_mpa:
        most = torque_n_mm(proof_n, factor, size.diameter_mm)
        show = OutputUnits(length="in" if reader.inches else "mm").show_moment
        reader.refuse(
            "clamp.torque",
            f"{show(torque)} breaks {size.name} of {grade.name}: it pulls with {stress_mpa:.0f} "
            f"MPa, and {tensile_mpa:.0f} MPa is all the steel has",
            f"use at most {show(most)}, its proof load, or a larger or stronger bolt",
        )
    return bolts
