"""The tables of the stock book, one file per noun; importing this knows all of them."""

from photolog.records.base import Base
from photolog.records.batches import BatchChangeRow, BatchRow
from photolog.records.boxes import BoxRow, PhotoBoxRow
from photolog.records.cameras import CameraRow, ClockCorrectionRow, ClockProposalRow
from photolog.records.copies import BurstRow, CopyRow, PhotoFileRow, SketchRow
from photolog.records.dates import DayToldRow
from photolog.records.daybook import EventRow, EventSubjectRow
from photolog.records.decisions import DecidedPhotoRow, DecisionRow
from photolog.records.growing import HowGrownRow
from photolog.records.measurements import MeasurementRow, SizeRow
from photolog.records.photos import CandidateRow, PhotoRow, PhotoSubjectRow
from photolog.records.plants import PlantRow
from photolog.records.printings import PrintingRow
from photolog.records.proposals import ProposalRow
from photolog.records.settings import SettingRow
from photolog.records.tags import TagHoldingRow, TagRow
from photolog.records.varieties import VarietyNameRow, VarietyRow
from photolog.records.watching import WatchedFileRow

__all__ = [
    "Base",
    "BatchChangeRow",
    "BatchRow",
    "BoxRow",
    "BurstRow",
    "CameraRow",
    "CandidateRow",
    "ClockCorrectionRow",
    "ClockProposalRow",
    "CopyRow",
    "DayToldRow",
    "DecidedPhotoRow",
    "DecisionRow",
    "EventRow",
    "EventSubjectRow",
    "HowGrownRow",
    "MeasurementRow",
    "PhotoBoxRow",
    "PhotoFileRow",
    "PhotoRow",
    "PhotoSubjectRow",
    "PlantRow",
    "PrintingRow",
    "ProposalRow",
    "SettingRow",
    "SizeRow",
    "SketchRow",
    "TagHoldingRow",
    "TagRow",
    "VarietyNameRow",
    "VarietyRow",
    "WatchedFileRow",
]
