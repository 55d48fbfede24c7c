"""The facts: who, which vehicle, what was read, done and fitted."""

from garage.records.models.engine_family import EngineFamily, EngineFamilyAlias
from garage.records.models.fitment import Fitment
from garage.records.models.job import Job, Operation
from garage.records.models.odometer import ClusterReplacement, OdometerReading
from garage.records.models.organisation import Membership, Organisation
from garage.records.models.part_kind import OwnNormalLife, PartKind
from garage.records.models.vehicle import RegistrationMark, Vehicle

__all__ = [
    "ClusterReplacement",
    "EngineFamily",
    "EngineFamilyAlias",
    "Fitment",
    "Job",
    "Membership",
    "OdometerReading",
    "Operation",
    "Organisation",
    "OwnNormalLife",
    "PartKind",
    "RegistrationMark",
    "Vehicle",
]
