"""The facts: who, which vehicle, what was read, done and fitted."""

from garage.records.models.advice_given import AdviceGiven
from garage.records.models.audit import AuditEntry
from garage.records.models.call_list import Call, CallList
from garage.records.models.comeback import ComebackReview
from garage.records.models.document import Document
from garage.records.models.drive import DriveLogged
from garage.records.models.engine_family import EngineFamily, EngineFamilyAlias
from garage.records.models.erasure import Erasure
from garage.records.models.finding import (
    CautionConfirmed,
    FindingSeen,
    OutcomeConfirmed,
)
from garage.records.models.fitment import Fitment
from garage.records.models.import_run import ImportRun
from garage.records.models.import_source import ImportSource
from garage.records.models.instrument import GaugePair, Instrument, UnitConfirmed
from garage.records.models.job import Job, Operation
from garage.records.models.job_line import LineAnswer, LineToReview
from garage.records.models.keeper import Keeper
from garage.records.models.look import LookMissed
from garage.records.models.merge import Merge, NotDuplicate
from garage.records.models.odometer import (
    ClusterReplacement,
    OdometerReading,
    ReadingResolution,
)
from garage.records.models.organisation import Membership, Organisation
from garage.records.models.own_threshold import OwnThreshold
from garage.records.models.part_kind import OwnNormalLife, PartKind
from garage.records.models.reading import Baseline, Reading
from garage.records.models.recheck import Recheck
from garage.records.models.table_upload import TableUpload
from garage.records.models.trouble_code import OwnCodeWording, TroubleCodeRead
from garage.records.models.vehicle import RegistrationMark, Vehicle
from garage.records.models.warranty import Claim, Warranty

__all__ = [
    "AdviceGiven",
    "AuditEntry",
    "Baseline",
    "Call",
    "CallList",
    "CautionConfirmed",
    "Claim",
    "ClusterReplacement",
    "ComebackReview",
    "Document",
    "DriveLogged",
    "EngineFamily",
    "EngineFamilyAlias",
    "Erasure",
    "FindingSeen",
    "Fitment",
    "GaugePair",
    "ImportRun",
    "ImportSource",
    "Instrument",
    "Job",
    "Keeper",
    "LineAnswer",
    "LineToReview",
    "LookMissed",
    "Membership",
    "Merge",
    "NotDuplicate",
    "OdometerReading",
    "Operation",
    "Organisation",
    "OutcomeConfirmed",
    "OwnCodeWording",
    "OwnNormalLife",
    "OwnThreshold",
    "PartKind",
    "Reading",
    "ReadingResolution",
    "Recheck",
    "RegistrationMark",
    "TableUpload",
    "TroubleCodeRead",
    "UnitConfirmed",
    "Vehicle",
    "Warranty",
]
