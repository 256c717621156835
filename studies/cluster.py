"""A Dask cluster to compute on: reached, checked and left again."""

import logging
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from fea.errors import InputError
from studies.runner import Elsewhere
from studies.store import numerics

_SECONDS_TO_ANSWER = 10
_IN_FLIGHT_EACH = 2
"""A worker has the next layout at hand while it computes one."""


@contextmanager
def on_cluster(address: str) -> Iterator[Elsewhere]:
    """Connect to the scheduler at ``address`` for as long as the context lasts.

    Layouts of a worker that is lost are computed by another. Raises InputError when the extra is
    not installed, no scheduler answers, no worker has joined, or one has other versions.
    """
    try:
        import distributed
    except ImportError as error:
        raise InputError(
            "--dask: the extra for clusters is not installed",
            "run: pip install 'gussetry[dask]'",
        ) from error
    logging.getLogger("distributed").setLevel(logging.CRITICAL)
    with _client(distributed, address) as client:
        workers = _checked_workers(client, address)
        executor = client.get_executor(pure=False)
        lost = (distributed.KilledWorker,)
        yield Elsewhere(executor, _IN_FLIGHT_EACH * workers, lost)


def _client(distributed: Any, address: str) -> Any:
    with warnings.catch_warnings():
        # Other versions are refused below, in words of our own.
        warnings.simplefilter("ignore")
        try:
            return distributed.Client(address, timeout=_SECONDS_TO_ANSWER, set_as_default=False)
        except (OSError, ValueError, TypeError, RuntimeError) as error:
            raise InputError(
                f"--dask {address!r:.80}: no scheduler of our version answers there",
                "give its address as tcp://HOST:8786, and start it with: dask scheduler",
            ) from error


def _checked_workers(client: Any, address: str) -> int:
    """How many workers there are, all with our own versions of everything that numbers rest on."""
    found: dict[str, Any] = client.run(numerics, on_error="return")
    if not found:
        raise InputError(
            f"--dask {address!r:.80}: no worker has joined the cluster",
            f"start one with: dask worker {address:.80}",
        )
    for worker, theirs in found.items():
        if theirs != numerics():
            raise InputError(
                f"--dask: the worker {worker} has other versions of gussetry or its packages",
                "install the same versions on every machine and start its worker again",
            )
    return len(found)
