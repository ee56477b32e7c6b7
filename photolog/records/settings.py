"""What the grower set once for the whole stock book."""

from __future__ import annotations

from sqlalchemy.orm import Mapped, mapped_column

from photolog.records.base import Base, Json, strict

__all__ = ["SettingRow"]


class SettingRow(Base):
    """One setting by its name; the value as JSON."""

    __tablename__ = "setting"
    __table_args__ = strict()

    name: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[Json]
