"""What is predicted for one block in the press, and for what strength of its steel."""

import hashlib
import json
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np
from pydantic import TypeAdapter, ValidationError

from fea.mesh import Floats
from geometry.block import Block
from studies.whole_files import sealed, unsealed, write_whole

ThresholdKey = Literal["starts", "shows", "through", "faint", "plain", "permanent_set", "crush"]

MESH_SHARE = 0.05
"""How far a finer mesh may move a load where nothing was computed on a second one."""

SET_SHARE = 0.002
"""The permanent set looked for, as a share of the block's height."""


RATED_TIMES = 10.0
"""A block passes when it carries ten times its rated load without permanent set (common practice,
no source)."""


@dataclass(frozen=True)
class Threshold:
    """A load at which something first happens to the block, where, and after how much travel.

    ``starts`` first local yield, ``shows`` the elastic estimate of when it shows, ``through`` yield
    through a whole thickness, ``faint`` and ``plain`` 0.05 % and 0.2 % of plastic strain over a
    patch of skin one can see, ``permanent_set`` the block stays shorter by 0.2 % of its height,
    ``crush`` the most it carries. mesh_share is how far finer meshes may still move the load.
    """

    key: ThresholdKey
    force_n: float
    travel_mm: float | None
    place: str
    mesh_share: float = MESH_SHARE


@dataclass(frozen=True)
class Prediction:
    """The block's loads in order, and its press curve when one was computed.

    Loads and travels are for steel ``yield_times`` as strong as the standard's minimum (or the
    user's figures); ``yield_words`` says why. travel_mm and force_n (k,) are the curve, empty when
    basis is "elastic"; small strains and stocky walls hold up to valid_to_mm. mill_times is the
    usual strength from the mill over the minimum, mill_words its source. wedge_deg is the angle of
    the wedge through which a tapered block is pressed.
    """

    layout: str
    block_key: str
    basis: Literal["elastic", "elastic-plastic"]
    setting: str
    height_mm: float
    stiffness_n_per_mm: float
    thresholds: tuple[Threshold, ...]
    travel_mm: tuple[float, ...]
    force_n: tuple[float, ...]
    valid_to_mm: float
    limit_reason: str
    still_rising: bool
    steel_words: str
    mill_times: float
    mill_words: str
    yield_times: float = 1.0
    yield_words: str = "minimum by the standard, or as given"
    wedge_deg: float = 0.0

    def threshold(self, key: ThresholdKey) -> Threshold | None:
        """The threshold of a kind, if it was reached."""
        return next((one for one in self.thresholds if one.key == key), None)

    @property
    def stronger_times(self) -> float:
        """How much stronger the steel may be; fitted to a test, it has no mill scatter left."""
        return self.mill_times if self.yield_times == 1.0 else 1.0

    def band_n(self, one: Threshold) -> tuple[float, float]:
        """From a mesh too coarse and steel at its weakest to the other end of both."""
        low_n, high_n = one.force_n, one.force_n * self.stronger_times
        return low_n * (1.0 - one.mesh_share), high_n * (1.0 + one.mesh_share)

    def mesh_shares(self, travel_mm: Floats) -> Floats:
        """(n,) how far finer meshes may move the force at travels (n,), between the thresholds."""
        known = [(one.travel_mm, one.mesh_share) for one in self.thresholds if one.travel_mm]
        if not known:
            starts = self.threshold("starts")
            return np.full(len(travel_mm), starts.mesh_share if starts else MESH_SHARE)
        travels, shares = np.array(sorted(known)).T
        found: Floats = np.interp(travel_mm, travels, shares)
        return found

    def force_at_n(self, travel_mm: Floats) -> Floats:
        """The curve's forces (n,) at travels (n,); NaN past its end, and without a curve."""
        if not self.travel_mm:
            return np.full(len(travel_mm), np.nan)
        found: Floats = np.interp(travel_mm, self.travel_mm, self.force_n, left=0.0, right=np.nan)
        return found


def scaled(prediction: Prediction, yield_times: float, words: str) -> Prediction:
    """The prediction for steel ``yield_times`` as strong as the minimum.

    Elastic loads grow with the yield. So do loads and travels of the whole curve, exactly, as long
    as every yield stress and its hardening with strain grow alike: strains are then larger in the
    same measure everywhere.
    """
    more = yield_times / prediction.yield_times
    return replace(
        prediction,
        thresholds=tuple(
            replace(
                one,
                force_n=more * one.force_n,
                travel_mm=None if one.travel_mm is None else more * one.travel_mm,
            )
            for one in prediction.thresholds
        ),
        travel_mm=tuple(more * value for value in prediction.travel_mm),
        force_n=tuple(more * value for value in prediction.force_n),
        yield_times=yield_times,
        yield_words=words,
    )


def line_of(prediction: Prediction) -> tuple[Floats, Floats]:
    """Travels and forces (k,) of the curve, or without one of the elastic line to first yield."""
    if prediction.travel_mm:
        return np.array(prediction.travel_mm), np.array(prediction.force_n)
    starts = prediction.threshold("starts")
    force_n = starts.force_n if starts else 0.0
    return np.array([0.0, force_n / prediction.stiffness_n_per_mm]), np.array([0.0, force_n])


def band_along(prediction: Prediction, travel_mm: Floats) -> tuple[Floats, Floats]:
    """Forces (n,) at travels (n,), mesh and steel at their weakest and both at their strongest."""
    strong = scaled(prediction, prediction.yield_times * prediction.stronger_times, "")
    (weak_mm, weak_n), (strong_mm, strong_n) = line_of(prediction), line_of(strong)
    low_n = (1.0 - prediction.mesh_shares(travel_mm)) * np.interp(travel_mm, weak_mm, weak_n)
    high_n = (1.0 + strong.mesh_shares(travel_mm)) * np.interp(travel_mm, strong_mm, strong_n)
    return low_n, high_n


def block_key(block: Block) -> str:
    """The same for the same block, whatever its layout is called."""
    sizes = asdict(block)
    if not block.taper_deg:
        # Keys of level blocks in books of older tests know of no taper.
        del sizes["taper_deg"]
    said = json.dumps(sizes, sort_keys=True)
    return hashlib.sha256(said.encode()).hexdigest()[:16]


_PREDICTION = TypeAdapter(Prediction)


def prediction_json(prediction: Prediction) -> str:
    """The prediction as text, for keeping."""
    return _PREDICTION.dump_json(prediction).decode()


def prediction_from(text: str | bytes) -> Prediction | None:
    """The prediction back from its text; None when it is not one."""
    try:
        return _PREDICTION.validate_json(text)
    except ValidationError:
        return None


def keep_prediction(path: Path, prediction: Prediction) -> None:
    """Keep a prediction in a file that appears whole or not at all."""
    path.parent.mkdir(parents=True, exist_ok=True)
    write_whole(path, sealed(prediction_json(prediction).encode()))


def kept_prediction(path: Path, block: Block) -> Prediction | None:
    """The prediction kept for just this block, or None."""
    try:
        found = prediction_from(unsealed(path.read_bytes()) or b"")
    except OSError:
        return None
    return found if found is not None and found.block_key == block_key(block) else None
