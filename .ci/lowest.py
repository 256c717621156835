"""Print the lowest release that pyproject.toml allows of all that it needs, one a line for pip.

    python .ci/lowest.py dask test:pytest test:hypothesis

An extra is given whole, or one package of it. What these bring in themselves is the newest that
goes with them.
"""

import re
import sys
import tomllib
from pathlib import Path


def main() -> None:
    """All of the project's own needs, and of its extras what the arguments say."""
    project = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text())["project"]
    wanted = list(project["dependencies"])
    for asked in sys.argv[1:]:
        extra, _, package = asked.partition(":")
        found = [
            one
            for one in project["optional-dependencies"][extra]
            if package in ("", re.split("[^a-z0-9-]", one)[0])
        ]
        if not found:
            raise SystemExit(f"pyproject.toml has no {asked}")
        wanted += found
    for one in wanted:
        name, sign, version = one.partition(">=")
        if not sign:
            raise SystemExit(f"pyproject.toml: {one} has no lower bound")
        print(f"{name}=={version}")


main()
