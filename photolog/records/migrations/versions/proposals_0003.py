"""Entries that word cards propose, and the words keep and another year: ``proposals_0003.sql``."""

from photolog.records.migrations.statements import run_script_beside

__all__: list[str] = []

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Rebuild the day book's table, since SQLite can't change a CHECK, and add the proposals.

    The rows are put aside and the table made anew under its own name: renaming the old one would
    turn the links of its entries' plants to it.
    """
    run_script_beside(__file__)
