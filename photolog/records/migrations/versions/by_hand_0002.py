"""Measurements made by hand, and a bloom's colours, as in ``by_hand_0002.sql``."""

from photolog.records.migrations.statements import run_script_beside

__all__: list[str] = []

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Rebuild the table of measurements, since SQLite can't change a CHECK; keep all its rows.

    The rows are put aside and the table made anew under its own name: renaming the old one would
    turn the links of its sizes to it.
    """
    run_script_beside(__file__)
