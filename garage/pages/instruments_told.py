"""An instrument as the list of instruments tells it."""

from dataclasses import dataclass

from garage.evidence.quantities.catalogue import quantities
from garage.pages.forms.instruments import InstrumentForm
from garage.records.models import Instrument, UnitConfirmed


@dataclass(frozen=True)
class UnitTold:
    confirmed: UnitConfirmed
    quantity: str


@dataclass(frozen=True)
class InstrumentTold:
    """An instrument with the units confirmed of it, and the form that changes it."""

    instrument: Instrument
    step: str
    error: str
    units: tuple[UnitTold, ...]
    form: InstrumentForm
    writable: bool


def instrument_told(
    instrument: Instrument, *, form: InstrumentForm | None, writable: bool
) -> InstrumentTold:
    """An instrument (of `instruments_listed`); `form` is one that was refused."""
    step, share = instrument.resolution, instrument.accuracy_share
    known = quantities()
    return InstrumentTold(
        instrument=instrument,
        step="" if step is None else f"{step.normalize():f}",
        error="" if share is None else f"{100 * share:g}",
        units=tuple(
            UnitTold(each, known[each.quantity].title if each.quantity in known else each.quantity)
            for each in instrument.units.all()
        ),
        form=form or InstrumentForm.of(instrument),
        writable=writable,
    )
