"""The statements of a migration, from the script beside it."""

from __future__ import annotations

from pathlib import Path

from alembic import op

__all__ = ["run_script_beside"]


def run_script_beside(migration: str) -> None:
    """Run the statements of the ``.sql`` file named as the migration's own ``__file__`` is."""
    script = Path(migration).with_suffix(".sql").read_text(encoding="utf-8")
    # A blank line ends a statement here; a semicolon alone does not, since triggers hold some.
    for statement in script.split(";\n\n"):
        op.get_bind().exec_driver_sql(statement)
