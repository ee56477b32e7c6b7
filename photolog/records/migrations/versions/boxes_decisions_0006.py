"""Boxes with their photos, decisions, and word cards of boxes: ``boxes_decisions_0006.sql``."""

from photolog.records.migrations.statements import run_script_beside

__all__: list[str] = []

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the tables, and rebuild the proposals', since SQLite can't change a constraint.

    What was decided by hand before becomes a decision for each photo, so that it can be taken back.
    """
    run_script_beside(__file__)
