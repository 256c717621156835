"""Answers and their views, behind imports that take seconds: the page is open before they end."""

import threading
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from studies.page.example import packed_shown
from studies.study import Study

if TYPE_CHECKING:
    from studies.page.views import Views


_REST_SECONDS = 2.0


class Answers:
    """What has been computed, as the page shows it; see ``answers.py`` and ``views.py``."""

    def __init__(self) -> None:
        self._woken = threading.Event()

    def wake(self) -> None:
        """Bring in all that answering needs, once, when the first answers have gone out."""
        if not self._woken.is_set():
            self._woken.set()
            later = threading.Timer(_REST_SECONDS, _views)
            later.daemon = True
            later.start()

    def shown(self, study: Study, folder: Path) -> dict[str, Any] | None:
        """What ``folder`` holds of ``study``, as text; None when that is nothing."""
        if not (folder / "store").is_dir() and (ready := packed_shown(study)):
            return ready
        from studies.page.answers import answer, shown

        found = answer(study, folder)
        return shown(found) if found else None

    def press(self, study: Study, out: Path) -> dict[str, Any] | None:
        """Press curves that lie below ``out``; None when there are none."""
        from studies.page.curves import press_curves

        return press_curves(study, out)

    def views(self, study: Study, folder: Path) -> str:
        """The pack of the viewer as JSON; ``null`` when there is nothing to draw from."""
        from studies.page.answers import answer

        found = answer(study, folder)
        return _views().of(found, folder) if found else "null"


@cache
def _views() -> "Views":
    from studies.page.views import Views

    return Views()
