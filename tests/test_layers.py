"""The project's own rules hold: layers, style and types."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent

CHECKS = {
    "layers": ["-c", "import sys; from importlinter.cli import lint_imports_command as c; c()"],
    "style": ["-m", "ruff", "check", "--no-cache", "."],
    "format": ["-m", "ruff", "format", "--no-cache", "--check", "."],
    "types": ["-m", "mypy"],
}


@pytest.mark.parametrize("name", CHECKS)
def test_check_passes(name):
    done = subprocess.run(
        [sys.executable, *CHECKS[name]], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
