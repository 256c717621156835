"""Wrong command lines: one line that names the option, the value and what to do; exit code 2."""

import pytest

from studies.command import COMMANDS, main

WRONG = {
    "no command": ([], ["COMMAND is missing", "gussetry --help"]),
    "unknown command": (["compar"], ["'compar' is no command", "did you mean compare?"]),
    "no study": (
        ["compare"],
        ["gussetry: compare: STUDY.toml is missing", "see: gussetry compare --help"],
    ),
    "unknown choice": (
        ["compare", "x.toml", "--mesh", "finer"],
        ["'finer' is no choice for --mesh", "did you mean fine? use one of: quick, normal, fine"],
    ),
    "no value": (["compare", "x.toml", "--out"], ["--out needs a value"]),
    "misspelt option": (
        ["compare", "x.toml", "--no-picture"],
        ["unknown option --no-picture", "did you mean --no-pictures?"],
    ),
    "shortened option": (["compare", "x.toml", "--fre"], ["unknown option --fre"]),
    "far-off option": (["new", "x.toml", "--qqq=3"], ["unknown option --qqq", "new --help"]),
    "value for a switch": (["compare", "x.toml", "--fresh=yes"], ["--fresh takes no value"]),
    "two studies": (["compare", "x.toml", "y.toml"], ["'y.toml' is one argument too many"]),
    "line end": (["compare", "x.toml", "--mesh", "a\nb"], ["is no choice for --mesh"]),
}


@pytest.mark.parametrize(("arguments", "said"), WRONG.values(), ids=WRONG)
def test_a_wrong_command_line_is_one_line(
    arguments: list[str], said: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(arguments) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.startswith("gussetry: ")
    assert err.count("\n") == 1
    for words in said:
        assert words in err


def test_every_command_explains_itself(capsys: pytest.CaptureFixture[str]) -> None:
    for command in COMMANDS:
        with pytest.raises(SystemExit) as left:
            main([command.name, "--help"])
        assert left.value.code == 0
        assert "--help" in capsys.readouterr().out
