"""The assembly as a STEP file, each part a solid of its own."""

import tempfile
from pathlib import Path

from geometry.block import Block
from geometry.cad import gmsh_session, silenced
from geometry.solids import bodies


def step_bytes(block: Block) -> bytes:
    """The block as STEP (ISO 10303-21) in millimetres; raises MeshError when gmsh fails."""
    with tempfile.TemporaryDirectory() as folder, gmsh_session("block") as gmsh:
        bodies(gmsh.model.occ, block)
        gmsh.model.occ.synchronize()
        path = Path(folder) / "block.step"
        with silenced():
            gmsh.write(str(path))
        return path.read_bytes()
