"""What a told day and a clock's correction stood in place of: ``stood_before_0007.sql``."""

from photolog.records.migrations.statements import run_script_beside

__all__: list[str] = []

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the two columns; what was said before this version stood in place of nothing known."""
    run_script_beside(__file__)
