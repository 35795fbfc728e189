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


def asked() -> dict[str, str]:
    """Question -> command."""
    table = README.read_text(encoding="utf-8").split("### What flyers ask")[1].split("\n\n**")[0]
    rows = re.findall(r"^\| (.+?) \| `(sixdof [^`]+)`.*\|$", table, re.M)
    return dict(rows)


def test_there_are_twenty_nine_of_them() -> None:
    assert len(asked()) == 29
    names = {command.split()[1] for command in asked().values()}
    assert {"tune", "check", "diagnose", "remedies", "explore", "fly", "compare", "sheet"} == names


@pytest.mark.parametrize("question", asked())
def test_its_command_is_one(question: str) -> None:
    words = shlex.split(asked()[question])[1:]
    function, bound, _ = sixdof.cli.app.parse_args(words, exit_on_error=False, print_error=False)
    assert function.__name__ == words[0] and bound.arguments


@pytest.mark.study
def test_each_is_answered(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "blends.yaml").write_text(BLENDS, encoding="utf-8")
    for _ in range(2):
        assert sixdof_here(tmp_path, "tune", "corvane", "--no-pictures", "--airplanes", "40").code == 0
    for question, command in asked().items():
        words = shlex.split(command)[1:]
        more = (
            ["--no-pictures"]
            if words[0] in ("tune", "fly", "explore")
            else ["--no-picture"]
            if words[0] == "check"
            else []
        )
        done = sixdof_here(tmp_path, *words, *more)
        assert done.code == 0, (command, done.err)
        assert done.out and not too_wide(done.out) and not wrong_letters(done.out), command
        with capsys.disabled():
            print(f"{question}: {len(done.out.splitlines())} lines")
