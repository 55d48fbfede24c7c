"""Write pressures that a known gauge applied, each with what a display showed for it."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from fractions import Fraction

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from garage.evidence.gauges.gauge_error import gauge_uncertainty_pa
from garage.evidence.gauges.typed import DO, RULE, Typed, number_typed
from garage.evidence.gauges.units import pa_per_unit
from garage.records.choices import AuditVerb
from garage.records.errors import RuleBroken, refuse_all
from garage.records.models import GaugePair, Instrument, Job
from garage.records.services.audit import Change, audit_record
from garage.records.typed import fields_broken

#: Beyond this the figure or its unit was typed wrongly: no exhaust holds 10 bar. Judgement, no
#: source.
APPLIED_MOST_PA = 1_000_000


@dataclass(frozen=True)
class NewPair:
    """A pressure applied and what the display showed, as typed: the digits count.

    `largest_error` is the gauge's, in `applied_unit`; where it is empty it comes from what is known
    of `gauge`. `falling` says that the pressure was let down to it.
    """

    display: Instrument
    applied: str
    applied_unit: str
    shown: str
    largest_error: str = ""
    gauge: Instrument | None = None
    falling: bool = False


@dataclass(frozen=True)
class _Read:
    """A new pair, its texts read."""

    applied: Typed
    shown: Typed
    pa_per_applied: Fraction
    largest_error: Typed | None

    @property
    def applied_pa(self) -> float:
        return float(Fraction(self.applied.value) * self.pa_per_applied)


def gauge_pair_add(
    *, job: Job, new: NewPair, at: datetime, by: AbstractBaseUser | None = None
) -> GaugePair:
    """Keep a pair, with the standard uncertainty of its gauge and the last step of its display."""
    _own_instruments(job, new)
    read = _read(new)
    pair = GaugePair(
        job=job,
        instrument=new.display,
        applied_pa=read.applied_pa,
        applied_typed=f"{new.applied.strip()} {new.applied_unit.strip()}",
        applied_error_pa=gauge_uncertainty_pa(_error_pa(new, read), _step_pa(new, read)),
        shown=read.shown.value,
        shown_resolution=max(read.shown.step, new.display.resolution or Decimal(0)),
        falling=new.falling,
        taken_at=at,
        taken_by_id=None if by is None else by.pk,
    )
    refuse_all(fields_broken(pair, ("applied_typed", "shown", "shown_resolution")))
    with transaction.atomic():
        pair.save()
        _audit(job, Change(AuditVerb.ADD, pair, {"instrument_id": [None, new.display.pk]}), at, by)
    return pair


def gauge_pair_remove(*, pair: GaugePair, at: datetime, by: AbstractBaseUser | None = None) -> None:
    """Take a pair out that was typed wrongly."""
    said = f"{pair.applied_typed}: {pair.shown.normalize():f}"
    change = Change(AuditVerb.REMOVE, GaugePair(pk=pair.pk), {"pair": [said, None]})
    with transaction.atomic():
        GaugePair.objects.filter(pk=pair.pk).delete()
        _audit(pair.job, change, at, by)


def _own_instruments(job: Job, new: NewPair) -> None:
    for column, each in (("display", new.display), ("gauge", new.gauge)):
        if each is not None and each.organisation_id != job.organisation_id:
            raise RuleBroken(
                "an instrument is one of the workshop that did the job",
                got="one of another",
                do="Choose from the list.",
                column=column,
            )
    if new.gauge is not None and new.gauge.pk == new.display.pk:
        raise RuleBroken(
            "a known gauge is another instrument than the display",
            got=new.gauge.name,
            do="Choose the gauge that was read beside the display.",
            column="gauge",
        )


def _read(new: NewPair) -> _Read:
    """What is typed, read; every fault is refused at once."""
    broken: list[RuleBroken] = []
    applied = _number("applied", new.applied, broken)
    shown = _number("shown", new.shown, broken)
    error = _number("largest_error", new.largest_error, broken) if new.largest_error else None
    factor = pa_per_unit(new.applied_unit)
    if factor is None:
        broken.append(
            RuleBroken(
                "the pressure applied has a unit of pressure",
                got=new.applied_unit or "none",
                do="Name the unit on the gauge, such as mbar.",
                column="applied_unit",
            )
        )
    if error is None and not new.largest_error and not _has_error(new.gauge):
        broken.append(
            RuleBroken(
                "how far the gauge may be off is known",
                got="not said",
                do="Type its largest error, or choose a gauge of which it is kept.",
                column="largest_error",
            )
        )
    refuse_all(broken)
    assert applied is not None  # refused above, as the others
    assert shown is not None
    assert factor is not None
    read = _Read(applied, shown, factor, error)
    refuse_all(_out_of_bounds(read))
    return read


def _number(column: str, text: str, broken: list[RuleBroken]) -> Typed | None:
    try:
        return number_typed(text)
    except ValueError:
        broken.append(RuleBroken(RULE, got=text, do=DO, column=column))
        return None


def _out_of_bounds(read: _Read) -> Iterator[RuleBroken]:
    if abs(read.applied_pa) > APPLIED_MOST_PA:
        yield RuleBroken(
            f"the pressure applied is at most {APPLIED_MOST_PA // 100_000} bar either way",
            got=f"{read.applied_pa / 100_000:g} bar",
            do="Look at the gauge's unit.",
            column="applied",
        )
    if read.largest_error is None:
        return
    if read.largest_error.value < 0:
        yield RuleBroken(
            "the gauge's largest error is 0 or more",
            got=read.largest_error.value,
            do="Type it without a sign.",
            column="largest_error",
        )
    elif Fraction(read.largest_error.value) * read.pa_per_applied > APPLIED_MOST_PA:
        yield RuleBroken(
            f"the gauge's largest error is at most {APPLIED_MOST_PA // 100_000} bar",
            got=read.largest_error.value,
            do="Look at the gauge's unit.",
            column="largest_error",
        )


def _has_error(gauge: Instrument | None) -> bool:
    return gauge is not None and gauge.accuracy_share is not None


def _error_pa(new: NewPair, read: _Read) -> float:
    """The gauge's largest error: as typed, else from what is kept of the gauge."""
    if read.largest_error is not None:
        return float(Fraction(read.largest_error.value) * read.pa_per_applied)
    assert new.gauge is not None  # refused before
    assert new.gauge.accuracy_share is not None
    return new.gauge.accuracy_share * abs(read.applied_pa)


def _step_pa(new: NewPair, read: _Read) -> float:
    """The gauge's last step: what is kept of the gauge, else the last digit typed."""
    gauge = new.gauge
    factor = None if gauge is None or not gauge.unit else pa_per_unit(gauge.unit)
    if gauge is not None and gauge.resolution is not None and factor is not None:
        return float(Fraction(gauge.resolution) * factor)
    return float(Fraction(read.applied.step) * read.pa_per_applied)


def _audit(job: Job, change: Change, at: datetime, by: AbstractBaseUser | None) -> None:
    audit_record(organisation=job.organisation, change=change, by=by, at=at)
