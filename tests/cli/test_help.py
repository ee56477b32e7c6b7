"""Every command says what it does, shows an example, and stands in the docs."""

import re
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
