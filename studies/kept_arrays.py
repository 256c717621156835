"""Arrays kept in a file, read back as they were or not at all."""

import io
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from studies.whole_files import sealed, unsealed

Arrays = dict[str, NDArray[Any]]


def packed_arrays(arrays: Mapping[str, NDArray[Any]]) -> bytes:
    """Arrays by name as the content of a file, sealed."""
    packed = io.BytesIO()
    np.savez_compressed(packed, **arrays)  # type: ignore[arg-type]  # its names are its own
    return sealed(packed.getvalue())


def kept_arrays(path: Path) -> Arrays | None:
    """The arrays of a file; None where it is not there or is not as it was written."""
    try:
        content = unsealed(path.read_bytes())
    except OSError:
        return None
    if content is None:
        return None
    with np.load(io.BytesIO(content), allow_pickle=False) as found:
        return {name: found[name] for name in found.files}
