"""Answers and their views, behind imports that take seconds: the page is open before they end."""

from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from studies.study import Study

if TYPE_CHECKING:
    from studies.page.views import Views


class Answers:
    """What has been computed, as the page shows it; see ``answers.py`` and ``views.py``."""

    def ready(self) -> None:
        """Bring in all that answering needs."""
        from studies.page.answers import packed

        packed()
        _views()

    def shown(self, study: Study, folder: Path) -> dict[str, Any] | None:
        """What ``folder`` holds of ``study``, as text; None when that is nothing."""
        from studies.page.answers import answer, shown

        found = answer(study, folder)
        return shown(found) if found else None

    def views(self, study: Study, folder: Path) -> str:
        """The pack of the viewer as JSON; ``null`` when there is nothing to draw from."""
        from studies.page.answers import answer

        found = answer(study, folder)
        return _views().of(found, folder) if found else "null"


@cache
def _views() -> "Views":
    from studies.page.views import Views

    return Views()
