"""The exceptions Gussetry raises, each saying what went wrong and what to do about it.

::

    GussetryError            everything below; the command line catches this one
    ├── InputError           a study file, a key or a value the user can mend (exit code 2)
    ├── BlockError           a block that cannot be built or cut
    ├── MeshError            the mesher failed, or made a mesh that fails our checks
    ├── SolveError           the solver failed, or its answer fails our checks
    └── PictureError         a picture could not be drawn; numbers are not affected
"""


def _on_one_line(text: str) -> str:
    """Messages quote what a user wrote; line ends and terminal codes in it must not get out."""
    return "".join(letter if letter.isprintable() else "?" for letter in text)


class GussetryError(Exception):
    """Base of all our exceptions: ``problem`` in one line, ``remedy`` in one line.

    >>> str(GussetryError("the wall is too thick", "make it thinner"))
    'the wall is too thick; make it thinner'
    """

    def __init__(self, problem: str, remedy: str) -> None:
        self.problem = _on_one_line(problem)
        self.remedy = _on_one_line(remedy)
        super().__init__(self.problem, self.remedy)

    def __str__(self) -> str:
        return f"{self.problem}; {self.remedy}"


class InputError(GussetryError):
    """Something the user wrote is missing, unknown or out of range."""


class BlockError(GussetryError):
    """The block described cannot exist.

    ``key`` is the dotted name of the quantity to change, for example ``tube.wall``.
    """

    def __init__(self, key: str, problem: str, remedy: str) -> None:
        super().__init__(problem, remedy)
        self.args = (key, self.problem, self.remedy)
        self.key = key


class MeshError(GussetryError):
    """No usable mesh came out."""


class SolveError(GussetryError):
    """No trustworthy solution came out."""


class PictureError(GussetryError):
    """A picture could not be drawn."""
