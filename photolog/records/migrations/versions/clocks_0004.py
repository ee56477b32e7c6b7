"""Clock corrections of some photos only, clock proposals and told days: ``clocks_0004.sql``."""

from photolog.records.migrations.statements import run_script_beside

__all__: list[str] = []

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Rebuild cameras and their corrections, since SQLite can't change a constraint.

    The rows are put aside and the tables made anew under their own names: renaming the old ones
    would turn the links of the photos to them.
    """
    run_script_beside(__file__)
