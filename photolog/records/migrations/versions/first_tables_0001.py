"""The first tables: varieties to measurements, as in ``first_tables_0001.sql``."""

from pathlib import Path

from alembic import op

__all__: list[str] = []

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make every table, index and trigger of the first version."""
    script = Path(__file__).with_suffix(".sql").read_text(encoding="utf-8")
    # A blank line ends a statement here; a semicolon alone does not, since triggers hold some.
    for statement in script.split(";\n\n"):
        op.get_bind().exec_driver_sql(statement)
