"""Other names of photos, copies, bursts and watched folders: ``copies_0005.sql``."""

from photolog.records.migrations.statements import run_script_beside

__all__: list[str] = []

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the tables; those there are left as they are."""
    run_script_beside(__file__)
