"""Everything a vehicle's page shows, gathered."""

from dataclasses import dataclass

from garage.outcomes.filters import flags_of_vehicle
from garage.outcomes.selectors import lives_of_vehicle
from garage.pages.cautions import DEFER, Caution, cautions_for
from garage.pages.charts.chart import Chart
from garage.pages.charts.filter_lives import filter_lives_chart
from garage.pages.flags import FlagTold, flag_told
from garage.pages.history_rows import JobTold, ReadingTold, job_told, reading_told
from garage.pages.next_steps import BASIS, NextSteps, next_steps
from garage.pages.part_story import PartStory, last_good_reading, part_story
from garage.pages.reports import Reading
from garage.records.models import Vehicle
from garage.records.selectors import VehicleHistory


@dataclass(frozen=True)
class FlagAndSteps:
    flag: FlagTold
    steps: NextSteps


@dataclass(frozen=True)
class VehicleSheet:
    """`story` and `chart` are None where the records tell nothing of the part kind."""

    vehicle: Vehicle
    history: VehicleHistory
    mark: str
    last_reading: ReadingTold | None
    story: PartStory | None
    chart: Chart | None
    flags: tuple[FlagAndSteps, ...]
    jobs: tuple[JobTold, ...]
    other_readings: tuple[ReadingTold, ...]
    in_doubt: int
    cautions: tuple[Caution, ...]
    steps_basis: str = BASIS
    cautions_defer: str = DEFER

    @property
    def marks_tell_more(self) -> bool:
        """Whether the marks say anything that the heading, the current mark, does not."""
        marks = self.history.marks
        return len(marks) != 1 or marks[0].from_on is not None or marks[0].until_on is not None


def vehicle_sheet(*, history: VehicleHistory, reading: Reading) -> VehicleSheet:
    report, kind = reading.report, reading.part_kind
    vehicle = history.vehicle
    story = None
    flags: list[FlagAndSteps] = []
    if report is not None:
        lives = lives_of_vehicle(vehicle=vehicle, part_kind=kind, as_of=reading.as_of)
        story = part_story(history, lives, report, kind.name)
        for flag in flags_of_vehicle(report, vehicle_id=vehicle.pk):
            told = flag_told(flag, vehicle)
            flags.append(FlagAndSteps(told, next_steps(told.leader, kind.system)))
    last = last_good_reading(history)
    others = [each for each in history.readings if each.job_id is None]
    current = [each for each in history.marks if each.until_on is None] or history.marks
    return VehicleSheet(
        vehicle=vehicle,
        history=history,
        mark=current[-1].mark if current else "",
        last_reading=None if last is None else reading_told(last),
        story=story,
        chart=None if story is None else filter_lives_chart(story.bars, part_name=kind.name),
        flags=tuple(flags),
        jobs=tuple(job_told(entry) for entry in history.jobs),
        other_readings=tuple(reading_told(each) for each in reversed(others)),
        in_doubt=sum(bool(each.doubt) for each in history.readings),
        cautions=cautions_for(kind.system),
    )
