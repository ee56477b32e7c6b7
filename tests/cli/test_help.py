"""Every command says what it does, shows an example, and stands in the docs."""

import re
import subprocess
import sys
from pathlib import Path

import pytest
from typer.main import get_command
from typer.testing import CliRunner

from photolog.cli.app import app

COMMANDS = sorted(get_command(app).commands)
DOCS = (Path(__file__).parents[2] / "docs" / "commands.md").read_text()


@pytest.mark.parametrize("name", COMMANDS)
def test_command_has_help_with_an_example_and_is_documented(name):
    shown = CliRunner().invoke(app, [name, "--help"])
    assert shown.exit_code == 0
    assert f"Example: photolog {name}" in re.sub(r"\s+", " ", shown.stdout)
    assert f"`photolog {name}" in DOCS


def test_help_loads_nothing_that_measures_or_reads_the_book() -> None:
    # Every command starts so: with these it took a second longer.
    asked = (
        "import sys, photolog.cli.app; "
        "print([name for name in ('numpy', 'cv2', 'scipy', 'sqlalchemy') if name in sys.modules])"
    )
    told = subprocess.run([sys.executable, "-c", asked], capture_output=True, text=True, check=True)
    assert told.stdout.strip() == "[]"
