"""A clamped block between stiff bearings that only push: where it first yields.

Contact without a gap at rest is homogeneous of degree one: twice the force moves all twice as far
and touches alike. A clamp N through the middle and λ times a load P beside it are one force N + λ P
at the share s = λ P / (N + λ P) of the load's offset. So a state solved at that share, times the
force, is the state; no path has to be followed. (Steel that sticks does so as if clamp and load
grew together.)

With h(s) the force at which yielding starts when it acts at the share s, first yield is where
h(s) (1 − s) = N.
"""

from collections.abc import Mapping

from scipy.optimize import brentq


def share_at(multiple: float, clamp_n: float, load_n: float) -> float:
    """The load's share in all that presses, at ``multiple`` times the load."""
    return multiple * load_n / (clamp_n + multiple * load_n)


def multiple_at(share: float, clamp_n: float, load_n: float) -> float:
    """The multiple of the load at which its share in all that presses is ``share`` < 1."""
    return clamp_n / load_n * share / (1.0 - share)


def yield_share(carried_n: Mapping[float, float], clamp_n: float) -> float:
    """The share at which yielding starts, by what is known of h: ``carried_n`` at two or more.

    Straight lines between what is known, and on from the last two; zero where the clamp alone, at
    the share 0, makes the block yield.
    """
    shares = sorted(carried_n)
    past = [share for share in shares if carried_n[share] * (1.0 - share) <= clamp_n]
    if past and past[0] == shares[0]:
        return 0.0
    index = shares.index(past[0]) if past else len(shares) - 1
    first, second = shares[index - 1], shares[index]
    rise = (carried_n[second] - carried_n[first]) / (second - first)

    def spare_n(share: float) -> float:
        return (carried_n[first] + rise * (share - first)) * (1.0 - share) - clamp_n

    low, high = (first, second) if past else (second, 1.0)
    return float(brentq(spare_n, low, high, xtol=1e-12))
