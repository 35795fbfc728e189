"""The questions of the README: each names a command that is one, and that answers."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from commanding import sixdof_here
from reading import too_wide, wrong_letters

import sixdof.cli

README = Path(__file__).parent.parent / "README.md"
BLENDS = """
blends:
  - {source: rudder, target: elevator, left: "3 % up", right: "3 % up", counts_trim: true}
"""


def asked() -> dict[str, list[str]]:
    """Question -> commands."""
    table = README.read_text(encoding="utf-8").split("## Which question, which command")[1].split("\n## ")[0]
    rows = re.findall(r"^\| (.+?) \| (.+) \|$", table, re.M)
    return {question: re.findall(r"`(sixdof [^`]+)`", answer) for question, answer in rows[1:]}


COMMANDS = sorted({command for commands in asked().values() for command in commands})


def test_there_are_twenty_nine_of_them() -> None:
    assert len(asked()) == 29
    bare = {question for question, commands in asked().items() if not commands}
    assert not bare
    names = {command.split()[1] for command in COMMANDS}
    assert {"tune", "check", "diagnose", "remedies", "explore", "fly", "compare", "sheet", "learn"} == names


@pytest.mark.parametrize("command", COMMANDS)
def test_its_command_is_one(command: str) -> None:
    words = shlex.split(command)[1:]
    function, _, _ = sixdof.cli.app.parse_args(words, exit_on_error=False, print_error=False)
    assert function.__name__ == words[0]


def shown(first: str) -> list[str]:
    """A block of the README that begins with this line, as lines with their numbers left open."""
    blocks = re.findall(r"^```text\n(.*?)^```", README.read_text(encoding="utf-8"), re.M | re.S)
    return [open_numbers(line) for line in next(b for b in blocks if b.startswith(first)).splitlines()]


def open_numbers(line: str) -> str:
    return re.sub(r" +", " ", re.sub(r"\d+(\.\d+)?", "#", line)).strip()


def test_the_readme_shows_what_the_main_job_says(tmp_path: Path) -> None:
    done = sixdof_here(tmp_path, "tune", "--no-pictures")
    said = [open_numbers(line) for line in done.out.splitlines()]
    block = shown("corvane; invented: do not dial this in; rate normal, ratios")
    assert said[:-1] == block[:-1] and said[-1] in block[-1]


@pytest.mark.study
def test_each_is_answered(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "blends.yaml").write_text(BLENDS, encoding="utf-8")
    for _ in range(2):
        assert sixdof_here(tmp_path, "tune", "corvane", "--no-pictures", "--airplanes", "40").code == 0
    for command in COMMANDS:
        words = shlex.split(
            command.replace("RUN RUN", "tune-corvane tune-corvane-2").replace("RUN", "tune-corvane")
        )[1:]
        off = {
            "tune": "--no-pictures",
            "fly": "--no-pictures",
            "explore": "--no-pictures",
            "check": "--no-picture",
        }
        done = sixdof_here(tmp_path, *words, *([off[words[0]]] if words[0] in off else []))
        assert done.code == 0, (command, done.err)
        assert done.out and not too_wide(done.out) and not wrong_letters(done.out), command
        with capsys.disabled():
            print(f"{command}: {len(done.out.splitlines())} lines")
