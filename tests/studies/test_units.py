"""Quantities as a shop writes them."""

import time
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fea.errors import InputError
from studies.units import Kind, OutputUnits, parsed, rounded

LBF_N = 4.4482216152605
"""Exact: 0.45359237 kg × 9.80665 m/s² (NIST SP 811)."""

PSI_MPA = LBF_N / 645.16


@pytest.mark.parametrize(
    ("text", "kind", "value"),
    [
        ("60 mm", "length", 60.0),
        ("60mm", "length", 60.0),
        ("2.25 in", "length", 57.15),
        ("4-1/2 in", "length", 114.3),
        ("4 1/2 in", "length", 114.3),
        ("1/4 in", "length", 6.35),
        ('2-3/8"', "length", 60.325),
        ("-3 mm", "length", -3.0),
        ("-1-1/2 in", "length", -38.1),
        ("1.5 ft", "length", 457.2),
        ("12 kN", "force", 12_000.0),
        ("3000 lbf", "force", 3000 * LBF_N),
        ("5 US ton", "force", 10_000 * LBF_N),
        ("5 us tons", "force", 10_000 * LBF_N),
        ("2-3/8 in.", "length", 60.325),
        ("2-3/8”", "length", 60.325),
        ("450 N.m", "moment", 450_000.0),
        ("30°", "angle", 30.0),
        ("2 metric tons", "force", 2000 * 9.80665),
        ("46 ksi", "stress", 46_000 * PSI_MPA),
        ("355 MPa", "stress", 355.0),
        ("800 lbf ft", "moment", 800 * LBF_N * 304.8),
        ("800 lbf·ft", "moment", 800 * LBF_N * 304.8),
        ("450 N m", "moment", 450_000.0),
        ("7850 kg/m3", "density", 7850.0),
    ],
)
def test_read(text: str, kind: Kind, value: float) -> None:
    """Conversions by NIST SP 811 (1 in = 25.4 mm, 1 lbf as above, US ton = 2000 lbf)."""
    assert parsed(text, kind) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "kind", "said"),
    [
        (60, "length", "60 has no unit"),
        (2.5, "length", "has no unit"),
        (True, "length", "has no unit"),
        (None, "length", "has no unit"),
        ("60", "length", "has no unit"),
        ("", "length", "is not a length"),
        ("mm", "length", "is not a length"),
        ("12 kN", "length", "no unit of length"),
        ("12 mm", "force", "no unit of force"),
        ("5 ton", "force", "two kinds of ton"),
        ("5 t", "force", "two kinds of ton"),
        ("1/0 in", "length", "divides by zero"),
        ("nan mm", "length", "is not a length"),
        ("inf mm", "length", "is not a length"),
        ("1e999 mm", "length", "is too large"),
        ("9**9**9 mm", "length", "no unit of length"),
        ("__import__('os') mm", "length", "is not a length"),
        ("٣ mm", "length", "is not a length"),
        ("1,5 mm", "length", "no unit of length"),
        ("9" * 5000 + " mm", "length", "too long"),
        ("60 mm\n# x", "length", "is not a length"),
        (["60 mm"], "length", "is not one length"),
        ("1e400 kN", "force", "is too large"),
        ("-1/0 in", "length", "divides by zero"),
        ("1/" + "9" * 5000 + " in", "length", "too long"),
    ],
)
def test_refused(text: object, kind: Kind, said: str) -> None:
    with pytest.raises(InputError, match=said) as caught:
        parsed(text, kind)
    assert "\n" not in str(caught.value)
    assert caught.value.remedy


@pytest.mark.parametrize(
    ("text", "kind", "remedy"),
    [
        ("3000 lb", "force", "did you mean 3000 lbf?"),
        ("12 tonnes", "force", "did you mean 12 metric tons?"),
        ("30 kNs", "force", "did you mean 30 kN?"),
        ("650 ft lbs", "moment", "did you mean 650 lbf ft?"),
        ("3,000 lbf", "force", "no commas"),
        ("1 ft 2 in", "length", "one number and one unit"),
        ("250 thou", "length", "use one of: mm, cm, m, in"),
    ],
)
def test_the_remedy_says_what_to_write(text: str, kind: Kind, remedy: str) -> None:
    with pytest.raises(InputError) as caught:
        parsed(text, kind)
    assert remedy in caught.value.remedy


@pytest.mark.parametrize(
    "text", ["9**9**9 mm", "9" * 10**6 + " mm", "1/" * 10**5, " " * 10**6, "1e999999999 mm"]
)
def test_hostile_text_is_refused_at_once(text: str) -> None:
    began = time.perf_counter()
    with pytest.raises(InputError):
        parsed(text, "length")
    assert time.perf_counter() - began < 0.2


@given(st.integers(0, 400), st.integers(1, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_fractions_come_back_exactly(whole: int, part: int, of: int) -> None:
    exact = float((whole + Fraction(part, of)) * Fraction(254, 10))
    for text in (f"{whole}-{part}/{of} in", f"{whole} {part}/{of} in"):
        assert parsed(text, "length") == pytest.approx(exact, rel=1e-12)


@given(st.text(max_size=80), st.sampled_from(["length", "force", "stress", "moment", "angle"]))
def test_any_text_is_a_number_or_refused(text: str, kind: Kind) -> None:
    try:
        value = parsed(text, kind)
    except InputError:
        return
    assert value == value
    assert abs(value) < float("inf")


@given(st.floats(1e-3, 1e9))
def test_output_is_input(load_n: float) -> None:
    for unit in ("N", "kN", "lbf", "US ton"):
        shown = OutputUnits(force=unit).force_in(load_n)
        assert parsed(f"{shown:.15e}".replace("e+", "e") + f" {unit}", "force") == pytest.approx(
            load_n, rel=1e-9
        )


def test_three_figures() -> None:
    assert [rounded(x) for x in (0.0, 9.996, 12.345, 123.45, 98765.0, -0.01234)] == [
        "0", "10.00", "12.3", "123", "98765", "-0.0123",
    ]  # fmt: skip
