"""What the records say of ash and soot in a vehicle's filter: oil, distance, duty, volume."""

from dataclasses import dataclass
from fractions import Fraction

from garage.evidence.jobs.reading_number import reading_number
from garage.evidence.quantities.catalogue import quantities
from garage.evidence.resistance.soot import Duty
from garage.records.choices import FILTER_PART_KIND
from garage.records.choices import Duty as VehicleDuty
from garage.records.models import Fitment, Job, OdometerReading, Reading

_UNITS = {"filter_volume": "L", "oil_consumption": "L/1000 km", "burn_interval": "km"}
#: The soot figures are those of cars: what haulage and plant make of it is not known.
_DUTIES = {
    VehicleDuty.TOWN: Duty.COLD_URBAN,
    VehicleDuty.DELIVERY: Duty.COLD_URBAN,
    VehicleDuty.MIXED: Duty.MIXED,
    VehicleDuty.MOTORWAY: Duty.STEADY_MOTORWAY,
}


@dataclass(frozen=True, slots=True)
class DepositsKnown:
    """What is on record; None where it is not.

    `on_filter_km` is driven since the filter was new or cleaned, up to the job; `on_filter_words`
    says where it is from, or why it is not known.
    """

    volume_l: float | None
    oil_l_per_1000_km: float | None
    burn_interval_km: float | None
    duty: Duty | None
    on_filter_km: int | None
    on_filter_words: str


def deposits_known(*, job: Job) -> DepositsKnown:
    """What do the records of this vehicle, up to this job, say of what fills its filter?

    Sizes and consumption hold whenever they were read, the newest first; the distance between
    burns only from the job itself.
    """
    newest: dict[str, float] = {}
    rows = Reading.objects.filter(
        job__vehicle=job.vehicle_id,
        job__organisation=job.organisation_id,
        job__opened_on__lte=job.opened_on,
        quantity__in=list(_UNITS),
        standard_value__isnull=False,
    ).order_by("job__opened_on", "pk")
    for each in rows:
        if each.quantity == "burn_interval" and each.job_id != job.pk:
            continue
        value = reading_number(each, _UNITS[each.quantity])
        if value is not None and quantities()[each.quantity].allows(
            Fraction(each.standard_value or 0)
        ):
            newest[each.quantity] = value
    on_filter_km, words = _on_filter(job)
    duty = job.vehicle.duty
    return DepositsKnown(
        volume_l=newest.get("filter_volume"),
        oil_l_per_1000_km=newest.get("oil_consumption"),
        burn_interval_km=newest.get("burn_interval"),
        duty=_DUTIES[VehicleDuty(duty)] if duty in _DUTIES else None,
        on_filter_km=on_filter_km,
        on_filter_words=words,
    )


def _on_filter(job: Job) -> tuple[int | None, str]:
    found = list(
        Fitment.objects.filter(
            vehicle=job.vehicle_id,
            part_kind__code=FILTER_PART_KIND,
            removed_at__isnull=True,
        )[:2]
    )
    if not found:
        return None, "no filter in place is on record"
    if len(found) > 1:
        return None, "several filters are in place; say for which"
    here_km = OdometerReading.objects.filter(job=job, doubt="").values_list("km", flat=True).first()
    fitted_km = found[0].fitted_km
    if fitted_km is None:
        return None, "how far the vehicle had gone when the filter was fitted is not known"
    if here_km is None:
        return None, "no odometer reading of this job stands"
    if here_km < fitted_km:
        return None, "the filter in place now was fitted after this job"
    return here_km - fitted_km, "from the filter's fitting or cleaning to this job, by the odometer"
