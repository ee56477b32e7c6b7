"""Varieties, and the names that each went under from date to date."""

from __future__ import annotations

from datetime import date

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column, relationship

from photolog.records.base import Base, Key, one_of, strict
from photolog.terms import VarietyKind

__all__ = ["VarietyNameRow", "VarietyRow"]


class VarietyRow(Base):
    """A named variety, or a seedling under its raiser's number.

    ``name`` is what it is called now (a seedling's number until it is named); ``name_key`` is the
    same without accents, capitals and doubled blanks, so that no two varieties differ in these
    alone and each is found however it is typed.
    """

    __tablename__ = "variety"
    __table_args__ = strict(
        one_of("kind", VarietyKind),
        CheckConstraint("kind = 'named' OR raiser_number IS NOT NULL", name="seedling_has_number"),
        CheckConstraint("name <> ''", name="name_given"),
    )

    id: Mapped[Key]
    name: Mapped[str]
    name_key: Mapped[str] = mapped_column(unique=True)
    kind: Mapped[VarietyKind]
    raiser_number: Mapped[str | None]
    form: Mapped[str | None]
    note: Mapped[str] = mapped_column(default="")

    names: Mapped[list[VarietyNameRow]] = relationship(
        back_populates="variety",
        cascade="all, delete-orphan",
        passive_deletes=True,
        order_by="VarietyNameRow.id",
    )


class VarietyNameRow(Base):
    """One name of a variety; ``from_date`` NULL: from the beginning. Former names are findable."""

    __tablename__ = "variety_name"
    __table_args__ = strict(
        Index("ix_variety_name_variety_id", "variety_id"),
        Index("ix_variety_name_name_key", "name_key"),
    )

    id: Mapped[Key]
    variety_id: Mapped[int] = mapped_column(ForeignKey("variety.id", ondelete="CASCADE"))
    name: Mapped[str]
    name_key: Mapped[str]
    from_date: Mapped[date | None]

    variety: Mapped[VarietyRow] = relationship(back_populates="names")
