"""Load the demo's evidence: readings at its filter jobs, what they proved to be, and one job with
all there is to look at."""

from datetime import datetime
from decimal import Decimal

from django.db import transaction

from fixtures.demo import ValueShown, burn_log, visit_measured
from garage.evidence.services.drives import NewDrive, drive_add
from garage.evidence.services.findings import FindingSaid, finding_record, outcome_confirm
from garage.evidence.services.gauges import NewPair, gauge_pair_add
from garage.evidence.services.instruments import InstrumentFacts, instrument_add
from garage.evidence.services.readings import NewReading, reading_add
from garage.evidence.services.trouble_codes import LineTyped, codes_record
from garage.records.choices import OperationKind, System
from garage.records.errors import RuleBroken
from garage.records.models import Job

#: The newest jobs that get readings: of the open job's family so many that it has a range of its
#: own, of the others a few, which are held against common practice.
_OF_FAMILY, _OF_OTHERS = 24, 8
#: What the filter was in, by the strongest thing done to it.
_STATE = {
    OperationKind.REPLACE: "ash_limited",
    OperationKind.CLEAN_OFF_VEHICLE: "ash_limited",
    OperationKind.REGENERATE_STATIONARY: "soot_loaded",
    OperationKind.REGENERATE_DRIVING: "soot_loaded",
}
_SYSTEM = System.EXHAUST_AFTERTREATMENT
#: Of so many jobs one has its outcome confirmed, as in a busy workshop.
_CONFIRMED_EVERY = 4


def demo_evidence_load(*, now: datetime) -> None:
    """Add readings to the newest filter jobs of the demo, all or nothing."""
    with transaction.atomic():
        open_job = _open_job()
        for number, job in enumerate(_filter_jobs(open_job)):
            _measure(job, confirmed=number % _CONFIRMED_EVERY == 0, now=now)
        demo_job_fill(open_job, now=now)


def _filter_jobs(open_job: Job) -> list[Job]:
    """The newest closed filter jobs, in an order that every run repeats."""
    family_id = open_job.vehicle.engine_family_id
    done = (
        Job.objects.filter(
            system=_SYSTEM, closed_on__isnull=False, operations__kind__in=list(_STATE)
        )
        .distinct()
        .select_related("organisation", "vehicle__engine_family")
        .order_by("-opened_on", "organisation__code", "vehicle__ref", "pk")
    )
    of_family = done.filter(vehicle__engine_family=family_id)
    others = done.exclude(vehicle__engine_family=family_id)
    return [*of_family[:_OF_FAMILY], *others[:_OF_OTHERS]]


def _measure(job: Job, *, confirmed: bool, now: datetime) -> None:
    kinds = set(job.operations.values_list("kind", flat=True))
    state = next(state for kind, state in _STATE.items() if kind in kinds)
    family = job.vehicle.engine_family
    said = visit_measured(
        (job.opened_on.toordinal(), *job.vehicle.ref.encode()),
        "" if family is None else family.name,
        state,
        helped=True,
    )
    for each in said.readings:
        reading_add(job=job, new=_new(each), at=now)
    if confirmed:
        for of, proved in (("sensing", "in_order"), ("filter", state)):
            outcome_confirm(job=job, of=of, state=proved, at=now)


def _new(shown: ValueShown) -> NewReading:
    return NewReading(
        quantity=shown.quantity,
        value=Decimal(shown.value),
        phase=shown.phase,
        unit=shown.unit,
        condition=shown.condition,
        speed_rpm=shown.speed_rpm,
        layout=shown.layout,
    )


def demo_job_fill(job: Job, *, now: datetime) -> None:
    """One job with all there is: a bare display, codes, a logged drive, a contradiction."""
    display = instrument_add(
        organisation=job.organisation, facts=InstrumentFacts("dash display"), at=now
    )
    gauge = instrument_add(
        organisation=job.organisation,
        facts=InstrumentFacts("hand gauge", unit="mbar", accuracy_share=0.01),
        at=now,
    )
    for applied, shown in (("0", "0.1"), ("100", "10.2"), ("250", "25.3")):
        pair = NewPair(display, applied, "mbar", shown, largest_error="1", gauge=gauge)
        gauge_pair_add(job=job, new=pair, at=now)
    for condition, shown, rpm in (
        ("engine_off", "0.1", None),
        ("idle", "0.3", None),
        ("raised", "0.9", 2_800),
    ):
        new = NewReading(
            "pressure_across_filter",
            Decimal(shown),
            "arrival",
            condition=condition,
            speed_rpm=rpm,
            layout="two_hose",
            instrument=display,
        )
        reading_add(job=job, new=new, at=now)
    for quantity, value, unit in (
        ("soot_mass", "19", "g"),
        ("filter_volume", "3.0", "L"),
        ("distance_since_clear", "180", "km"),
        ("distance_since_burn", "60", "km"),
    ):
        plain = NewReading(quantity, Decimal(value), "arrival", unit=unit)
        reading_add(job=job, new=plain, at=now)
    for condition, rpm, flow, celsius in (
        ("idle", None, "42", "150"),
        ("raised", 2_800, "172", "250"),
    ):
        for quantity, value, unit in (
            ("exhaust_flow", flow, "kg/h"),
            ("exhaust_temperature_before", celsius, "°C"),
        ):
            beside = NewReading(quantity, Decimal(value), "arrival", unit, condition, speed_rpm=rpm)
            reading_add(job=job, new=beside, at=now)
    codes_record(job=job, said=LineTyped("P2463 confirmed, P0401 pending"), at=now)
    finding_record(job=job, said=FindingSaid("oil_level", "within"), at=now)
    log = NewDrive("drive before the visit", "arrival", burn_log((1,), 120_000.0))
    drive_add(job=job, new=log, at=now)


def _open_job() -> Job:
    """The newest filter job that is open still."""
    found = (
        Job.objects.filter(system=_SYSTEM, closed_on__isnull=True)
        .select_related("organisation", "vehicle__engine_family")
        .order_by("-opened_on", "organisation__code", "vehicle__ref")
        .first()
    )
    if found is None:
        raise RuleBroken(
            "the demo has an open filter job",
            got="none",
            do="The demo and its evidence disagree: mend one of them.",
        )
    return found
