"""One factory for each table: a row that every constraint accepts, unless a field is given.

A factory is handed the session and adds what its row points at, so a test says only what it is
about. Numbers and hashes count up, so that two rows never clash by accident.
"""

from __future__ import annotations

from datetime import UTC, date, datetime
from itertools import count
from typing import Any

from sqlalchemy.orm import Session

from photolog.records import (
    BatchChangeRow,
    BatchRow,
    BoxRow,
    BurstRow,
    CameraRow,
    CandidateRow,
    ClockCorrectionRow,
    ClockProposalRow,
    CopyRow,
    DayToldRow,
    DecidedPhotoRow,
    DecisionRow,
    EventRow,
    EventSubjectRow,
    HowGrownRow,
    MeasurementRow,
    PhotoBoxRow,
    PhotoFileRow,
    PhotoRow,
    PhotoSubjectRow,
    PlantRow,
    PrintingRow,
    ProposalRow,
    SettingRow,
    SizeRow,
    SketchRow,
    TagHoldingRow,
    TagRow,
    VarietyNameRow,
    VarietyRow,
    WatchedFileRow,
)

_next = count(1)
DAY = date(2025, 11, 8)
NOW = datetime(2026, 5, 16, 9, 30, tzinfo=UTC)


def _kept(session: Session, row: Any) -> Any:
    session.add(row)
    session.flush()
    return row


def variety(session: Session, **given: Any) -> VarietyRow:
    name = f"Variety {next(_next)}"
    fields = {"name": name, "name_key": name.casefold(), "kind": "named"}
    return _kept(session, VarietyRow(**{**fields, **given}))


def variety_name(session: Session, **given: Any) -> VarietyNameRow:
    name = f"Former name {next(_next)}"
    fields = {"name": name, "name_key": name.casefold()}
    if "variety_id" not in given:
        fields["variety_id"] = variety(session).id
    return _kept(session, VarietyNameRow(**{**fields, **given}))


def plant(session: Session, **given: Any) -> PlantRow:
    fields: dict[str, Any] = {"since": DAY, "came_from": "bought"}
    if "variety_id" not in given:
        fields["variety_id"] = variety(session).id
    return _kept(session, PlantRow(**{**fields, **given}))


def batch(session: Session, **given: Any) -> BatchRow:
    fields: dict[str, Any] = {
        "kind": "pot tubers",
        "count": 40,
        "since": DAY,
        "came_from": "pot tuber",
    }
    if "variety_id" not in given:
        fields["variety_id"] = variety(session).id
    return _kept(session, BatchRow(**{**fields, **given}))


def batch_change(session: Session, **given: Any) -> BatchChangeRow:
    fields: dict[str, Any] = {"on_date": DAY, "fewer": 1}
    if "batch_id" not in given:
        fields["batch_id"] = batch(session).id
    if not {"event_id", "plant_id", "into_batch_id"} & given.keys():
        fields["event_id"] = event(session).id
    return _kept(session, BatchChangeRow(**{**fields, **given}))


def tag(session: Session, **given: Any) -> TagRow:
    return _kept(session, TagRow(**{"number": 100 + next(_next), **given}))


def tag_holding(session: Session, **given: Any) -> TagHoldingRow:
    fields: dict[str, Any] = {"from_date": DAY}
    if "tag_id" not in given:
        fields["tag_id"] = tag(session).id
    if not {"plant_id", "batch_id"} & given.keys():
        fields["plant_id"] = plant(session).id
    return _kept(session, TagHoldingRow(**{**fields, **given}))


def event(session: Session, **given: Any) -> EventRow:
    fields = {"kind": "lifted", "on_date": DAY, "entered_at": NOW}
    return _kept(session, EventRow(**{**fields, **given}))


def event_subject(session: Session, **given: Any) -> EventSubjectRow:
    fields: dict[str, Any] = {}
    if "event_id" not in given:
        fields["event_id"] = event(session).id
    if not {"plant_id", "batch_id", "variety_id"} & given.keys():
        fields["plant_id"] = plant(session).id
    return _kept(session, EventSubjectRow(**{**fields, **given}))


def camera(session: Session, **given: Any) -> CameraRow:
    fields = {"make": "Larkfield", "model": "Field 35", "serial": f"{next(_next):06d}"}
    return _kept(session, CameraRow(**{**fields, **given}))


def clock_correction(session: Session, **given: Any) -> ClockCorrectionRow:
    fields: dict[str, Any] = {"from_moment": datetime(2026, 1, 1), "add_seconds": -3600}
    if "camera_id" not in given:
        fields["camera_id"] = camera(session).id
    return _kept(session, ClockCorrectionRow(**{**fields, **given}))


def clock_proposal(session: Session, **given: Any) -> ClockProposalRow:
    fields: dict[str, Any] = {
        "kind": "other camera",
        "from_moment": datetime(2026, 1, 1),
        "add_seconds": -3600,
        "because": "Another camera says so.",
    }
    if "camera_id" not in given:
        fields["camera_id"] = camera(session).id
    return _kept(session, ClockProposalRow(**{**fields, **given}))


def day_told(session: Session, **given: Any) -> DayToldRow:
    fields: dict[str, Any] = {"place": 0, "told_at": NOW}
    if "photo_id" not in given:
        fields["photo_id"] = photo(session, taken_at=None).id
    return _kept(session, DayToldRow(**{**fields, **given}))


def photo(session: Session, **given: Any) -> PhotoRow:
    number = next(_next)
    fields = {
        "sha256": f"{number:064x}",
        "content_sha256": f"{number:064x}",
        "original_name": f"LF{number:06d}.JPG",
        "file_kind": "jpeg",
        "n_bytes": 3_000_000,
        "width_px": 4000,
        "height_px": 3000,
        "taken_at": datetime(2026, 5, 16, 14, 5, 9),
        "taken_in_at": NOW,
    }
    return _kept(session, PhotoRow(**{**fields, **given}))


def photo_subject(session: Session, **given: Any) -> PhotoSubjectRow:
    fields: dict[str, Any] = {"reason": "tag", "probability": 0.99, "matched_at": NOW}
    if "photo_id" not in given:
        fields["photo_id"] = photo(session).id
    if not {"plant_id", "batch_id"} & given.keys():
        fields["plant_id"] = plant(session).id
    return _kept(session, PhotoSubjectRow(**{**fields, **given}))


def candidate(session: Session, **given: Any) -> CandidateRow:
    fields: dict[str, Any] = {"reason": "run", "probability": 0.4}
    if "photo_id" not in given:
        fields["photo_id"] = photo(session).id
    if not {"plant_id", "batch_id"} & given.keys():
        fields["plant_id"] = plant(session).id
    return _kept(session, CandidateRow(**{**fields, **given}))


def proposal(session: Session, **given: Any) -> ProposalRow:
    fields: dict[str, Any] = {"mark": 207, "meant": 207, "on_date": DAY}
    if "photo_id" not in given:
        fields["photo_id"] = photo(session).id
    return _kept(session, ProposalRow(**{**fields, **given}))


def measurement(session: Session, **given: Any) -> MeasurementRow:
    fields: dict[str, Any] = {
        "measured_of": "clump",
        "status": "measured",
        "made_by": "measure 0.1.0",
        "made_at": NOW,
        "card_design": "bench-1",
        "settings": {"lift_mm": None},
        "flags": [],
        "outline": [[10.0, 10.0], [90.0, 10.0], [50.0, 80.0]],
        "outline_confidence": 0.9,
        "mm_per_px": 0.2,
    }
    if "photo_id" not in given:
        fields["photo_id"] = photo(session).id
    return _kept(session, MeasurementRow(**{**fields, **given}))


def size(session: Session, **given: Any) -> SizeRow:
    fields: dict[str, Any] = {
        "name": "spread_mm",
        "value": 312.0,
        "u": 4.0,
        "low": 304.2,
        "high": 319.8,
        "components": {"lift": 3.1, "edge": 2.5},
    }
    if "measurement_id" not in given:
        fields["measurement_id"] = measurement(session).id
    return _kept(session, SizeRow(**{**fields, **given}))


def printing(session: Session, **given: Any) -> PrintingRow:
    fields = {
        "design": "bench-1",
        "read_on": DAY,
        "in_use_since": DAY,
        "across_mm": 99.5,
        "along_mm": 100.0,
        "entered_at": NOW,
    }
    return _kept(session, PrintingRow(**{**fields, **given}))


def how_grown(session: Session, **given: Any) -> HowGrownRow:
    fields: dict[str, Any] = {"season": 2025}
    if not {"plant_id", "batch_id"} & given.keys():
        fields["plant_id"] = plant(session).id
    return _kept(session, HowGrownRow(**{**fields, **given}))


def setting(session: Session, **given: Any) -> SettingRow:
    fields = {"name": f"setting {next(_next)}", "value": 0.9}
    return _kept(session, SettingRow(**{**fields, **given}))


def photo_file(session: Session, **given: Any) -> PhotoFileRow:
    fields: dict[str, Any] = {
        "sha256": f"{next(_next):064x}",
        "name": "LF1 (1).JPG",
        "file_kind": "jpeg",
        "seen_at": NOW,
    }
    if "photo_id" not in given:
        fields["photo_id"] = photo(session).id
    return _kept(session, PhotoFileRow(**{**fields, **given}))


def sketch(session: Session, **given: Any) -> SketchRow:
    fields: dict[str, Any] = {"pixels": b"\x80" * 768}
    if "photo_id" not in given:
        fields["photo_id"] = photo(session).id
    return _kept(session, SketchRow(**{**fields, **given}))


def copy(session: Session, **given: Any) -> CopyRow:
    fields: dict[str, Any] = {"because": "The same picture, smaller."}
    for column in ("photo_id", "of_photo_id"):
        if column not in given:
            fields[column] = photo(session).id
    return _kept(session, CopyRow(**{**fields, **given}))


def burst(session: Session, **given: Any) -> BurstRow:
    fields: dict[str, Any] = {"said_at": NOW}
    for column in ("photo_id", "first_photo_id"):
        if column not in given:
            fields[column] = photo(session).id
    return _kept(session, BurstRow(**{**fields, **given}))


def watched_file(session: Session, **given: Any) -> WatchedFileRow:
    fields: dict[str, Any] = {
        "path": f"/home/imke/phone/LF{next(_next)}.JPG",
        "n_bytes": 3_000_000,
        "modified_ns": 1_779_000_000_000_000_000,
        "refused": "The file is empty.",
        "seen_at": NOW,
    }
    return _kept(session, WatchedFileRow(**{**fields, **given}))


def box(session: Session, **given: Any) -> BoxRow:
    return _kept(session, BoxRow(**{"number": next(_next) % 399 + 1, "since": DAY, **given}))


def photo_box(session: Session, **given: Any) -> PhotoBoxRow:
    fields: dict[str, Any] = {"reason": "tag", "probability": 0.97, "matched_at": NOW}
    for column, make in (("photo_id", photo), ("box_id", box)):
        if column not in given:
            fields[column] = make(session).id
    return _kept(session, PhotoBoxRow(**{**fields, **given}))


def decision(session: Session, **given: Any) -> DecisionRow:
    return _kept(session, DecisionRow(**{"decided_at": NOW, "said": "tag 0012", **given}))


def decided_photo(session: Session, **given: Any) -> DecidedPhotoRow:
    fields: dict[str, Any] = {}
    for column, make in (("decision_id", decision), ("photo_id", photo)):
        if column not in given:
            fields[column] = make(session).id
    return _kept(session, DecidedPhotoRow(**{**fields, **given}))


FACTORIES = {
    made.__name__: made
    for made in (
        variety,
        variety_name,
        plant,
        batch,
        batch_change,
        tag,
        tag_holding,
        event,
        event_subject,
        camera,
        clock_correction,
        clock_proposal,
        photo,
        day_told,
        photo_file,
        sketch,
        copy,
        burst,
        watched_file,
        box,
        photo_box,
        decision,
        decided_photo,
        photo_subject,
        candidate,
        proposal,
        measurement,
        size,
        printing,
        how_grown,
        setting,
    )
}
