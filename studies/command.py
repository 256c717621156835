"""The ``gussetry`` command: its subcommands, and errors in one line with their exit code."""

import sys

from fea.errors import GussetryError, InputError
from studies.commands import (
    compare,
    figures,
    new,
    page,
    papers,
    press,
    record,
    shelf,
    sweep,
    verify,
)
from studies.plain_letters import write_plainly
from studies.usage import Command, chosen

COMMANDS: tuple[Command, ...] = (
    new.COMMAND,
    page.COMMAND,
    compare.COMMAND,
    sweep.COMMAND,
    papers.COMMAND,
    figures.COMMAND,
    press.COMMAND,
    record.COMMAND,
    shelf.COMMAND,
    verify.COMMAND,
)
"""A new subcommand is a file in ``studies/commands/`` and its name in this list."""


def main(arguments: list[str] | None = None) -> int:
    """Run the command; 0 when all went well, 1 when part of it failed, 2 for wrong input."""
    write_plainly()
    try:
        command, options = chosen(COMMANDS, arguments)
        return command.run(options)
    except InputError as error:
        print(f"gussetry: {error}", file=sys.stderr)
        return 2
    except GussetryError as error:
        print(f"gussetry: {error}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        print("gussetry: stopped; finished layouts are kept, run again to go on", file=sys.stderr)
        return 130


if __name__ == "__main__":
    sys.exit(main())
