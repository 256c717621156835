"""A study file's text into data, steels by name, and refusals that say where they come from."""

import re
import tomllib
from pathlib import Path
from typing import Any, NoReturn

from fea.errors import BlockError, InputError
from fea.grades import steel_of_grade
from fea.steel import Steel
from geometry.block import Block
from geometry.checks import check_block
from studies.refusals import unreadable_line
from studies.schema import OwnSteel, SteelChoice, Steels
from studies.units import OutputUnits

_LARGEST_BYTES = 1_000_000


class RefusedKeyError(InputError):
    """A refusal that knows the ``key`` at fault, such as ``layouts['Mid-wall ribs'].pattern``."""

    def __init__(self, file_name: str, key: str, problem: str, remedy: str) -> None:
        super().__init__(f"{file_name}: {key}: {problem}", remedy)
        self.args = (file_name, key, problem, remedy)
        self.key, self.alone = key, problem


class Reader:
    """Turns tables into dimensions and names file, key and value in every refusal."""

    def __init__(self, path: Path, inches: bool) -> None:
        self.path, self.inches = path, inches

    def refuse(self, key: str, problem: str, remedy: str) -> NoReturn:
        """Raise RefusedKeyError; sizes in a study with results in inches are told in both units."""
        if self.inches:
            problem, remedy = _with_inches(problem), _with_inches(remedy)
        raise RefusedKeyError(self.path.name, key, problem, remedy)

    def checked(self, block: Block, key: str = "layouts") -> Block:
        """The block, if it can be built; ``key`` is the layout's own."""
        try:
            check_block(block)
        except BlockError as error:
            self.refuse(error.key.replace("layouts", key, 1), error.problem, error.remedy)
        return block

    def part_steel(self, steels: Steels, part: str, thickness_mm: float) -> Steel:
        """The steel of a part: its own, or the one that holds for all."""
        own: SteelChoice | None = getattr(steels, part)
        if own is not None:
            return self.steel(f"steel.{part}", own, thickness_mm)
        return self.steel(f"steel.all (for {part})", steels.all, thickness_mm)

    def steel(self, key: str, choice: SteelChoice, thickness_mm: float) -> Steel:
        """A steel by its grade, which depends on the thickness, or by its own figures."""
        if isinstance(choice, OwnSteel):
            return Steel(
                choice.name, choice.yield_, choice.ultimate, choice.e, choice.nu, choice.density
            )
        try:
            return steel_of_grade(choice, thickness_mm)
        except InputError as error:
            self.refuse(key, error.problem, error.remedy)


def toml_data(path: Path) -> dict[str, Any]:
    """The file as it stands; raises InputError when it is no TOML text, naming the line."""
    try:
        if path.exists() and not path.is_file():
            raise InputError(f"{path}: is not a file", "give a study file, made by: gussetry new")
        if path.stat().st_size > _LARGEST_BYTES:
            raise InputError(f"{path.name}: is larger than a megabyte", "give a study file")
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        reason = (error.strerror or "cannot be read").lower()
        raise InputError(f"{path}: {reason}", "check the path, or run: gussetry new") from error
    except UnicodeDecodeError as error:
        raise InputError(f"{path.name}: is not a text file", "save it as UTF-8 text") from error
    except ValueError as error:
        raise InputError(f"{path}: {error}", "check the path") from error
    return data_of(text, path.name)


def data_of(text: str, name: str) -> dict[str, Any]:
    """The data of a study file's text; raises InputError as ``toml_data`` does."""
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as error:
        raise unreadable_line(name, text, error) from error
    if not data:
        raise InputError(f"{name}: has nothing in it", "start from the file of: gussetry new")
    return data


def _with_inches(text: str) -> str:
    """Sizes in a message, which are in mm, with the inches behind them."""
    inches = OutputUnits(length="in")
    return re.sub(
        r"(?<![\w.])(-?\d+(?:\.\d+)?) mm\b",
        lambda found: f"{found[0]} ({inches.show_length(float(found[1]))})",
        text,
    )
