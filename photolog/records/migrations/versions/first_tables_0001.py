"""The first tables: varieties to measurements, as in ``first_tables_0001.sql``."""

from photolog.records.migrations.statements import run_script_beside

__all__: list[str] = []

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make every table, index and trigger of the first version."""
    run_script_beside(__file__)
