"""The README's commands run as they stand there, in a copy of the scenarios."""

from __future__ import annotations

import re
import shlex
import shutil
import sys
from pathlib import Path

import pytest

from holdwater.cli import main
from tests.reference import reference

ROOT = Path(__file__).parents[1]
TEXT = (ROOT / "README.md").read_text("utf-8")
BLOCKS = re.findall(r"```sh\n(.*?)```", TEXT, flags=re.S)
COMMANDS = [line for block in BLOCKS for line in block.splitlines() if line.startswith("holdwater ")]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A working folder with the bundled scenarios and a record for the starter."""
    place = tmp_path_factory.mktemp("reader")
    shutil.copytree(ROOT / "scenarios", place / "scenarios")
    shutil.copy(ROOT / "scenarios" / "larkfield-weather.csv", place / "your-daily-rain.csv")
    return place


@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_of_the_readme(command: str, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(folder)
    monkeypatch.setattr(sys, "argv", shlex.split(command))
    if command.endswith("new holding.toml"):
        (folder / "holding.toml").unlink(missing_ok=True)
    elif "holding.toml" in command and not (folder / "holding.toml").exists():
        pytest.fail("the README writes holding.toml before it uses it")
    with pytest.raises(SystemExit) as ended:
        sys.exit(main())
    assert not ended.value.code


def test_the_readme_names_the_two_commands_of_a_fresh_machine() -> None:
    run, tests = (
        re.search(rf"<!-- {name} -->\n```sh\n(.*?)\n```", TEXT, flags=re.S) for name in ("run", "tests")
    )
    assert run is not None
    assert tests is not None
    assert "run scenarios/larkfield.toml" in run[1]
    assert tests[1].endswith("pytest")


def test_every_picture_of_the_readme_is_there() -> None:
    for picture in re.findall(r"!\[[^\]]+\]\(([^)]+)\)", TEXT):
        assert (ROOT / picture).is_file(), picture


def test_the_command_reference_is_what_the_program_says() -> None:
    """After a change of commands or options: put what `python -m tests.reference` prints into the README."""
    written = re.search(r"<!-- reference -->\n(.*?)<!-- end of reference -->", TEXT, flags=re.S)
    assert written is not None
    assert written[1] == reference()
