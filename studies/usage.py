"""What a subcommand is, and wrong options told in one line."""

import argparse
import difflib
import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NoReturn

from fea.errors import InputError


@dataclass(frozen=True)
class Command:
    """A subcommand: ``run`` takes what ``add_options`` asked for and returns the exit code."""

    name: str
    summary: str
    add_options: Callable[[argparse.ArgumentParser], None]
    run: Callable[[argparse.Namespace], int]


class _PlainParser(argparse.ArgumentParser):
    """Raises InputError where argparse would print how the whole command is used."""

    def error(self, message: str) -> NoReturn:
        raise _in_words(self.prog, message)


def chosen(
    commands: Sequence[Command], arguments: Sequence[str] | None
) -> tuple[Command, argparse.Namespace]:
    """The subcommand asked for and its options; raises InputError for a wrong command line."""
    parser = _PlainParser(
        prog="gussetry",
        description="Compare gusset layouts of a spacer block before steel is cut.",
        allow_abbrev=False,
    )
    subparsers = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    known: dict[str, set[str]] = {}
    for command in commands:
        sub = subparsers.add_parser(command.name, help=command.summary, allow_abbrev=False)
        command.add_options(sub)
        known[command.name] = set(re.findall(r"--[a-z][a-z-]*", sub.format_usage()))
    options, unknown = parser.parse_known_args(arguments)
    if unknown:
        raise _unknown(options.command, unknown[0], known[options.command])
    return next(one for one in commands if one.name == options.command), options


def _unknown(command: str, text: str, known: set[str]) -> InputError:
    see = f"see: gussetry {command} --help"
    if not text.startswith("-"):
        return InputError(f"{command}: {text!r:.60} is one argument too many", see)
    option = text.partition("=")[0]
    near = difflib.get_close_matches(option, known, n=1)
    return InputError(
        f"{command}: unknown option {option:.60}", f"did you mean {near[0]}?" if near else see
    )


def _in_words(prog: str, message: str) -> InputError:
    """What argparse found, with the option's name, the value given and what to write instead."""
    see = f"see: {prog} --help"
    where = prog.removeprefix("gussetry").strip()
    problem, remedy = _problem(message)
    return InputError(f"{where}: {problem}" if where else problem, remedy or see)


def _problem(message: str) -> tuple[str, str]:
    """Problem, and remedy where there is a better one than reading the help."""
    missing = re.fullmatch(r"the following arguments are required: (.*)", message)
    if missing:
        return f"{missing[1]} is missing", ""
    found = re.fullmatch(r"argument (\S+): (.*)", message, re.DOTALL)
    if found is None:
        return message, ""
    option, said = found[1].split("/")[-1], found[2]
    choice = re.fullmatch(r"invalid choice: (.*?) \(choose from (.*)\)", said, re.DOTALL)
    if choice:
        known = [name.strip("'") for name in choice[2].split(", ")]
        near = difflib.get_close_matches(choice[1].strip("'"), known, n=1)
        what = "command" if option == "COMMAND" else f"choice for {option}"
        hint = f"did you mean {near[0]}? " if near else ""
        return f"{choice[1]:.60} is no {what}", f"{hint}use one of: {', '.join(known)}"
    kind = re.fullmatch(r"invalid (.*?) value: (.*)", said, re.DOTALL)
    if kind:
        words = {"int": "a whole number", "float": "a number"}.get(kind[1], f"a {kind[1]}")
        return f"{option} {kind[2]:.60} is not {words}", f"give {option} {words}"
    if said.startswith("expected"):
        return f"{option} needs a value", f"write one behind {option}"
    if said.startswith("ignored explicit argument"):
        return f"{option} takes no value", f"write just {option}"
    own, _, remedy = said.partition("; ")
    return f"{option}: {own}", remedy
