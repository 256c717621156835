"""Bolts as their standards list them, and the textbook's torque."""

from collections.abc import Callable

from geometry.bolts import BOLT_GRADES, bolt_grade, thread
from studies.clamping.u_bolts import UBolts, tension_n, torque_n_mm
from studies.published.check import PublishedCheck, within
from studies.units import size_of

_ISO_AREAS = "ISO 898-1, nominal stress areas of coarse threads; from memory"
_SAE_AREAS = "SAE J429 and ASME B1.1, stress areas; from memory"
_ISO_PROOF = "ISO 898-1, proof strengths (8.8 and 10.9 second-hand, else from memory)"
_SAE_PROOF = "SAE J429, proof strengths (grades 5 and 8 second-hand, else from memory)"
_TORQUE = "T = K F d by hand: 1/2-13 of grade 5 at 75 % of proof, K = 0.2"

_AREAS_MM2 = {
    "M6": 20.1, "M8": 36.6, "M10": 58.0, "M12": 84.3, "M14": 115.0, "M16": 157.0,
    "M18": 192.0, "M20": 245.0, "M22": 303.0, "M24": 353.0, "M27": 459.0, "M30": 561.0,
}  # fmt: skip
_AREAS_IN2 = {
    "3/8-16": 0.0775, "7/16-14": 0.1063, "1/2-13": 0.1419, "9/16-12": 0.182, "5/8-11": 0.226,
    "3/4-10": 0.334, "7/8-9": 0.462, "1-8": 0.606, "3/8-24": 0.0878, "7/16-20": 0.1187,
    "1/2-20": 0.1599, "9/16-18": 0.203, "5/8-18": 0.256, "3/4-16": 0.373, "7/8-14": 0.509,
}  # fmt: skip
_PROOFS_MPA = {
    ("M12", "4.6"): 225.0, ("M12", "5.8"): 380.0, ("M16", "8.8"): 580.0, ("M18", "8.8"): 600.0,
    ("M16", "10.9"): 830.0, ("M20", "12.9"): 970.0,
}  # fmt: skip
_PROOFS_KSI = {
    ("1/2-13", "grade 2"): 55.0, ("7/8-9", "grade 2"): 33.0, ("1/2-13", "grade 5"): 85.0,
    ("1-8", "grade 5"): 85.0, ("1-1/8-7", "grade 5"): 74.0, ("5/8-18", "grade 8"): 120.0,
}  # fmt: skip


def _area(name: str, per: float) -> Callable[[], float]:
    return lambda: thread(name).stress_area_mm2 / per


def _proof(name: str, grade: str, unit: str) -> Callable[[], float]:
    return lambda: bolt_grade(grade, thread(name)).proof_mpa(thread(name)) / size_of(unit, "stress")


def _half_inch_pull_n() -> float:
    half = thread("1/2-13")
    return 0.75 * BOLT_GRADES["grade 5"].proof_mpa(half) * half.stress_area_mm2


def _half_inch_torque() -> float:
    half = thread("1/2-13")
    return torque_n_mm(_half_inch_pull_n(), 0.2, half.diameter_mm) / size_of("lbf ft", "moment")


def _leg_back_kip() -> float:
    """The pull in a leg from the published torque."""
    bolts = UBolts("1/2-13", "grade 5", 2, 0.2, 75.4 * size_of("lbf ft", "moment"))
    return tension_n(bolts.torque_n_mm, 0.2, bolts.thread.diameter_mm) / size_of("kip", "force")


CHECKS: tuple[PublishedCheck, ...] = (
    *(
        # Published to three figures.
        PublishedCheck(f"Stress area of {name}", _ISO_AREAS, area, "mm²", within(0.005), ours)
        for name, area in _AREAS_MM2.items()
        for ours in (_area(name, 1.0),)
    ),
    *(
        PublishedCheck(f"Stress area of {name}", _SAE_AREAS, area, "in²", within(0.003), ours)
        for name, area in _AREAS_IN2.items()
        for ours in (_area(name, 25.4**2),)
    ),
    *(
        PublishedCheck(f"Proof of {grade}, {name}", _ISO_PROOF, proof, "MPa", within(1e-9), ours)
        for (name, grade), proof in _PROOFS_MPA.items()
        for ours in (_proof(name, grade, "MPa"),)
    ),
    *(
        PublishedCheck(f"Proof of {grade}, {name}", _SAE_PROOF, proof, "ksi", within(1e-9), ours)
        for (name, grade), proof in _PROOFS_KSI.items()
        for ours in (_proof(name, grade, "ksi"),)
    ),
    PublishedCheck(
        "Pull in a 1/2-13 leg at 75 % of proof",
        _TORQUE,
        9.05,
        "kip",
        within(0.001),
        lambda: _half_inch_pull_n() / size_of("kip", "force"),
    ),
    PublishedCheck(
        "Torque for a 1/2-13 leg", _TORQUE, 75.4, "lbf·ft", within(0.001), _half_inch_torque
    ),
    PublishedCheck("Pull from that torque", _TORQUE, 9.05, "kip", within(0.001), _leg_back_kip),
)
