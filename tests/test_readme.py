"""What the README and the docs promise is there and runs as written."""

import re
from pathlib import Path

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
