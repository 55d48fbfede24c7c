"""The words the records may use. Codes are those of the import files (docs/import.md)."""

from django.db import models


class OrganisationKind(models.TextChoices):
    WORKSHOP = "workshop", "workshop"
    FLEET = "fleet", "fleet"
    ADVISER = "adviser", "adviser"


class Role(models.TextChoices):
    OWNER = "owner", "owner"
    TECHNICIAN = "technician", "technician"
    VIEWER = "viewer", "viewer"


class System(models.TextChoices):
    EXHAUST_AFTERTREATMENT = "exhaust_aftertreatment", "exhaust aftertreatment"
    AIR = "air", "air"
    RECIRCULATION = "recirculation", "exhaust gas recirculation"
    FUEL = "fuel", "fuel"
    COOLING = "cooling", "cooling"
    IGNITION_AID = "ignition_aid", "ignition aid"
    ENGINE = "engine", "engine"
    ELECTRICAL = "electrical", "electrical"
    BRAKES = "brakes", "brakes"
    STEERING = "steering", "steering"
    SERVICE = "service", "service"
    OTHER = "other", "other"


class OperationKind(models.TextChoices):
    INSPECT = "inspect", "inspect"
    CLEAR_CODES = "clear_codes", "clear codes"
    REGENERATE_DRIVING = "regenerate_driving", "burn while driving"
    REGENERATE_STATIONARY = "regenerate_stationary", "burn at standstill"
    CLEAN_ON_VEHICLE = "clean_on_vehicle", "clean on the vehicle"
    CLEAN_OFF_VEHICLE = "clean_off_vehicle", "clean off the vehicle"
    REPLACE = "replace", "replace"
    REPAIR = "repair", "repair"
    ADJUST = "adjust", "adjust"
    SOFTWARE_UPDATE = "software_update", "software update"
    OTHER = "other", "other"


class Origin(models.TextChoices):
    FACTORY = "factory", "factory"
    NEW_ORIGINAL = "new_original", "new, original"
    NEW_AFTERMARKET = "new_aftermarket", "new, aftermarket"
    RECONDITIONED = "reconditioned", "reconditioned"
    CLEANED = "cleaned", "cleaned"
    USED = "used", "used"
    UNKNOWN = "unknown", "unknown"


class RemovedBecause(models.TextChoices):
    FAILED = "failed", "failed"
    SOUND = "sound", "removed sound"
    PLANNED = "planned", "planned"
    DAMAGED_BY_OTHER_FAULT = "damaged_by_other_fault", "damaged by another fault"
    UNKNOWN = "unknown", "not known"
    REPLACED_ELSEWHERE = "replaced_elsewhere", "replaced elsewhere"


class FoundInPlace(models.TextChoices):
    SAME = "same", "the part last recorded"
    ANOTHER = "another", "another part"


class FitmentStart(models.TextChoices):
    FITTED_HERE = "fitted_here", "fitted by this workshop"
    FACTORY = "factory", "in place since the factory"
    UNKNOWN = "unknown", "found in place, fitting not known"


class DistanceUnit(models.TextChoices):
    KM = "km", "km"
    MILES = "mi", "miles"


class EndedBecause(models.TextChoices):
    SOLD = "sold", "sold"
    SCRAPPED = "scrapped", "scrapped"
    LEFT = "left", "left"


class ReadingSource(models.TextChoices):
    JOB = "job", "job"
    INSPECTION = "inspection", "inspection"
    KEEPER = "keeper", "keeper"
    ONBOARD = "onboard", "on-board data"
    TELEMATICS = "telematics", "telematics"
    UNKNOWN = "unknown", "not known"


class Doubt(models.TextChoices):
    """Why an odometer reading is set aside; an empty value means plausible."""

    BACKWARDS = "backwards", "lower than readings before it"
    WRONG_UNIT = "wrong_unit", "fits if miles and kilometres were mixed up"
    WRONG_DIGIT = "wrong_digit", "fits if a digit was slipped, dropped or added"
    IMPOSSIBLE_PACE = "impossible_pace", "more distance than the days allow"
    BEFORE_FIRST_USE = "before_first_use", "dated before the vehicle's first use"


class Duty(models.TextChoices):
    TOWN = "town", "town"
    MIXED = "mixed", "mixed"
    MOTORWAY = "motorway", "motorway"
    DELIVERY = "delivery", "delivery"
    TAXI = "taxi", "taxi"
    HAULAGE = "haulage", "haulage"
    PLANT = "plant", "plant"
    OTHER = "other", "other"
