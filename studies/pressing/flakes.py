"""Plastic strain on the skin at every step of a press curve, kept for its flake maps."""

import hashlib
import json
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import numpy as np
from pydantic import TypeAdapter, ValidationError

from fea.curve import Crushed, PressCurve
from fea.mesh import Floats, Ints, TaggedMesh
from geometry.block import Block
from geometry.mesher import MeshSizes
from studies.kept_arrays import Arrays, kept_arrays, packed_arrays
from studies.pressing.gauge import NoseSize
from studies.store import numerics
from studies.whole_files import sealed, unsealed, write_whole

_CURVE = TypeAdapter(PressCurve)


@dataclass(frozen=True, eq=False)
class Flakes:
    """The skin, points_mm (n, 3) and facets (f, 3), and its plastic strain (k, f) at force_n (k,).

    Facets are wound so that their normals point out of the steel.
    """

    points_mm: Floats
    facets: Ints
    force_n: Floats
    strain: Floats

    @property
    def normals(self) -> Floats:
        """(f, 3) outward unit normals."""
        a, b, c = (self.points_mm[self.facets[:, i]] for i in range(3))
        cross = np.cross(b - a, c - a)
        found: Floats = cross / np.linalg.norm(cross, axis=1, keepdims=True)
        return found

    def scaled(self, times: float) -> "Flakes":
        """The same for steel ``times`` as strong; see ``prediction.scaled``."""
        return replace(self, force_n=times * self.force_n, strain=times * self.strain)

    def at(self, force_n: float) -> Floats:
        """(f,) strain at a force, between the steps by straight lines; at the last step past it."""
        reached = np.maximum.accumulate(self.force_n)
        after = min(int(np.searchsorted(reached, force_n)), len(reached) - 1)
        if after == 0:
            first: Floats = self.strain[0]
            return first
        low, high = self.force_n[after - 1], self.force_n[after]
        share = min(max((force_n - low) / (high - low), 0.0), 1.0) if high > low else 1.0
        found: Floats = (1.0 - share) * self.strain[after - 1] + share * self.strain[after]
        return found


def flakes_of(mesh: TaggedMesh, crushed: Crushed) -> Flakes:
    """What flake maps need of a crush."""
    return Flakes(
        mesh.points_mm,
        mesh.skin_facets,
        np.array([state.force_n for state in crushed.states]),
        np.array([state.strain for state in crushed.states]),
    )


def crush_key(block: Block, sticking: bool, nose_mm: NoseSize, sizes: MeshSizes) -> str:
    """What a crush is kept under: all that determines it, our own code too."""
    said = {
        "block": asdict(block),
        "sticking": sticking,
        "nose": nose_mm,
        "mesh": asdict(sizes),
        "numerics": numerics("studies.pressing.crush"),
    }
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()[:32]


def keep_crush(folder: Path, key: str, curve: PressCurve, flakes: Flakes) -> None:
    """Keep a finished crush under ``key``; each file appears whole or not at all."""
    folder.mkdir(parents=True, exist_ok=True)
    arrays: Arrays = {
        "points_mm": flakes.points_mm,
        "facets": flakes.facets,
        "force_n": flakes.force_n,
        "strain": flakes.strain.astype(np.float32),
    }
    write_whole(folder / f"{key}-press.npz", packed_arrays(arrays))
    write_whole(folder / f"{key}-press.json", sealed(_CURVE.dump_json(curve)))


def kept_curve(folder: Path, key: str) -> PressCurve | None:
    """The curve of a crush kept under ``key``, or None."""
    try:
        return _CURVE.validate_json(unsealed((folder / f"{key}-press.json").read_bytes()) or b"")
    except (OSError, ValidationError):
        return None


def kept_crush(folder: Path, key: str) -> tuple[PressCurve, Flakes] | None:
    """A crush kept under ``key``, or None."""
    curve, arrays = kept_curve(folder, key), kept_arrays(folder / f"{key}-press.npz")
    return None if curve is None or arrays is None else (curve, Flakes(**arrays))
