"""The words the records may use. Codes are those of the import files (docs/import.md)."""

from django.db import models

#: The kind of queued work by which the layer above makes its figures anew.
REFRESH = "outcomes.refresh"
#: The kind of work that does one import run.
IMPORT = "records.import"
#: The code of the part kind that is meant where none is named.
FILTER_PART_KIND = "particulate_filter"


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
    TENTHS = "tenths", "fits if the last figure is tenths, or if tenths were left out"
    WRONG_DATE = "wrong_date", "fits on another day"
    CLUSTER_REPLACED = "cluster_replaced", "fits if the instrument was replaced, with no document"
    ONE_OF_SEVERAL = "one_of_several", "this or another reading is wrong; which cannot be told"
    SET_ASIDE = "set_aside", "set aside by a person"


class Remark(models.TextChoices):
    """Worth a look at a reading that stands."""

    STANDSTILL = "standstill", "no distance for long, with jobs in between"


class ResolvedAs(models.TextChoices):
    """What a person decided of an odometer reading."""

    STANDS = "stands", "right as read"
    SET_ASIDE = "set_aside", "wrong, right value not known"
    MENDED = "mended", "wrong, right value given"


class Duty(models.TextChoices):
    TOWN = "town", "town"
    MIXED = "mixed", "mixed"
    MOTORWAY = "motorway", "motorway"
    DELIVERY = "delivery", "delivery"
    TAXI = "taxi", "taxi"
    HAULAGE = "haulage", "haulage"
    PLANT = "plant", "plant"
    OTHER = "other", "other"


class WearsBy(models.TextChoices):
    KM = "km", "distance"
    MONTHS = "months", "time"
    BOTH = "both", "distance and time"


class Cause(models.TextChoices):
    """Why a part failed, as found at the job. Upstream causes first."""

    INJECTION = "injection", "injector leaks or over-fuels"
    THERMOSTAT = "thermostat", "engine never reaches its temperature"
    RECIRCULATION = "recirculation", "gas-recirculation valve or cooler"
    TURBOCHARGER = "turbocharger", "turbocharger seal or breather oil"
    AIR_LEAK = "air_leak", "boost leak or air metering"
    EXHAUST_LEAK = "exhaust_leak", "exhaust leak before the filter"
    CATALYST = "catalyst", "oxidation catalyst weak or blocked"
    TEMPERATURE_SENSOR = "temperature_sensor", "exhaust temperature sensor"
    PRESSURE_SENSOR = "pressure_sensor", "pressure sensor or its hoses"
    ADDITIVE = "additive", "fuel additive empty or not reset"
    BURN_BLOCKED = "burn_blocked", "burns blocked by another condition"
    OIL = "oil", "wrong oil, or oil consumption"
    COOLANT = "coolant", "coolant in the exhaust"
    USE_PATTERN = "use_pattern", "how the vehicle is driven"
    NOT_RESET = "not_reset", "values not reset after an earlier replacement"
    PART_QUALITY = "part_quality", "poor replacement part"
    CLEANING_DAMAGE = "cleaning_damage", "damaged by cleaning"
    FITTING = "fitting", "fitted wrongly"
    WEAR = "wear", "ash or wear at normal life"
    OTHER = "other", "another cause"
    NOT_FOUND = "not_found", "looked for, not found"


class ComebackState(models.TextChoices):
    PROPOSED = "proposed", "proposed"
    CONFIRMED = "confirmed", "confirmed"
    REFUSED = "refused", "refused"


class RecheckState(models.TextChoices):
    DUE = "due", "due"
    DONE = "done", "done"
    WAIVED = "waived", "waived"


class CustomerAnswer(models.TextChoices):
    OPEN = "open", "not answered yet"
    CHOSEN = "chosen", "chosen"
    DECLINED = "declined", "declined"


class JobPhase(models.TextChoices):
    ARRIVAL = "arrival", "on arrival"
    AFTER_WORK = "after_work", "after the work"
    RECHECK = "recheck", "at the recheck"


class BaselineBecause(models.TextChoices):
    COMPLETED_BURN = "completed_burn", "first after a completed burn"
    NEW_PART = "new_part", "first with a new part"


class DocumentKind(models.TextChoices):
    PHOTO = "photo", "photo"
    INVOICE = "invoice", "invoice"
    REPORT = "report", "report"
    LETTER = "letter", "letter"
    OTHER = "other", "other"


class WarrantyGiver(models.TextChoices):
    SUPPLIER = "supplier", "supplier of the part"
    MAKER = "maker", "maker of the part"
    WORKSHOP = "workshop", "this workshop"
    OTHER = "other", "another"


class ClaimState(models.TextChoices):
    OPEN = "open", "open"
    SENT = "sent", "sent"
    SETTLED = "settled", "settled"
    REFUSED = "refused", "refused"
    DROPPED = "dropped", "not pursued"


class CallState(models.TextChoices):
    WAITING = "waiting", "to be called"
    NOT_REACHED = "not_reached", "not reached"
    ANSWERED = "answered", "answered"
    DECLINED = "declined", "would not say"


class CallOutcome(models.TextChoices):
    """What became of the vehicle, as its keeper says."""

    STILL_CUSTOMER = "still_customer", "still kept, means to come again"
    GOES_ELSEWHERE = "goes_elsewhere", "still kept, goes elsewhere"
    SOLD = "sold", "sold"
    SCRAPPED = "scrapped", "scrapped"


class ImportState(models.TextChoices):
    QUEUED = "queued", "waiting"
    RUNNING = "running", "running"
    DONE = "done", "done"
    CANCELLED = "cancelled", "cancelled"
    FAILED = "failed", "not done"


class LineStatus(models.TextChoices):
    """What a job line says of the work; only work that was done becomes an operation."""

    DONE = "done", "done"
    NEGATED = "negated", "said not to be needed, or not done"
    ADVISED = "advised", "advised"
    QUOTED = "quoted", "quoted"
    ORDERED = "ordered", "ordered"
    DECLINED = "declined", "declined"


class MergedThing(models.TextChoices):
    VEHICLE = "vehicle", "vehicle"
    JOB = "job", "job"


class ErasureBecause(models.TextChoices):
    REQUEST = "request", "asked for"
    SCHEDULE = "schedule", "its time had come"


class AuditVerb(models.TextChoices):
    ADD = "add", "added"
    CHANGE = "change", "changed"
    REMOVE = "remove", "removed"
    CLOSE = "close", "closed"
    REOPEN = "reopen", "opened again"
    RESOLVE = "resolve", "resolved"
    MERGE = "merge", "merged"
    UNMERGE = "unmerge", "parted again"
    IMPORT = "import", "imported"
    EXPORT = "export", "exported"
    ERASE = "erase", "erased"
    SIGN = "sign", "confirmed"


class ReadingKind(models.TextChoices):
    MEASURED = "measured", "measured"
    MODELLED = "modelled", "reckoned by the vehicle"
    COMMANDED = "commanded", "commanded by the vehicle"


class EngineCondition(models.TextChoices):
    """What the engine was doing when something was read."""

    ENGINE_OFF = "engine_off", "key on, engine off"
    IDLE = "idle", "idle, warm"
    RAISED = "raised", "raised speed, no load"
    LOAD = "load", "under load"


class SensorLayout(models.TextChoices):
    TWO_HOSE = "two_hose", "two hoses: across the filter"
    ONE_HOSE = "one_hose", "one hose: before the filter, against outside air"


class CodeScheme(models.TextChoices):
    FIVE_CHARACTERS = "five_characters", "five characters (ISO 15031-6)"
    SPN_FMI = "spn_fmi", "SPN and FMI (SAE J1939)"


class CodeState(models.TextChoices):
    CONFIRMED = "confirmed", "confirmed"
    PENDING = "pending", "pending"
    PERMANENT = "permanent", "permanent"
    NOT_SAID = "not_said", "state not said"


class EvidenceList(models.TextChoices):
    """The three lists of what may be wrong; they do not exclude each other."""

    SENSING = "sensing", "the sensing"
    FILTER = "filter", "the filter"
    UPSTREAM = "upstream", "upstream of the filter"
