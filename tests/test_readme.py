"""What the README and the docs promise is there and runs as written."""

import re
import shlex
from pathlib import Path

from typer.testing import CliRunner

from photolog.cli.app import app
from tests.sample_truth import SAMPLES

ROOT = Path(__file__).parent.parent
LINK = re.compile(r"\]\(([^)#:]+)\)")


def test_ci_runs_the_readme_test_command():
    [command] = [line for line in (ROOT / "README.md").read_text().splitlines() if "pytest" in line]
    assert command in (ROOT / ".ci" / "run").read_text().splitlines()


def test_links_between_documents_lead_somewhere():
    pages = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").glob("*.md")]
    missing = [
        f"{page.name}: {link}"
        for page in pages
        for link in LINK.findall(page.read_text())
        if not (page.parent / link).exists()
    ]
    assert not missing


def commands_of_the_readme():
    text = (ROOT / "README.md").read_text()
    own_garden = text[text.index("## Your own garden") : text.index("## What is where")]
    return re.findall(r"^ *(photolog .+|cd .+)$", own_garden, re.MULTILINE)


def test_a_grower_can_type_the_readme_from_top_to_bottom(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("PHOTOLOG_BOOK", raising=False)
    commands = commands_of_the_readme()
    assert len(commands) >= 12
    for command in commands:
        name, *words = shlex.split(command)
        if name == "cd":
            monkeypatch.chdir(words[0])
            continue
        photo = str(SAMPLES / "autumn-2026" / "LF350391.JPG")
        words = [photo if word.startswith("/path/to") else word for word in words]
        done = CliRunner().invoke(app, words)
        if words[0] == "seasons":
            # One photo of one autumn, and its outline is in doubt: there is nothing to compare yet,
            # and it says so.
            nothing_yet = (
                "Error: Two seasons are needed.",
                "Error: No photo of a clump can be used",
            )
            assert done.stderr.startswith(nothing_yet), done.stderr
        else:
            assert done.exit_code == 0, f"{command}: {done.stderr}"
