"""Every page in a browser: drawn, quiet, accessible, within its width, asking nobody else.

Accessibility by the rules of axe-core, which axe-playwright-python carries.
"""

import io
from datetime import UTC, datetime

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from garage.evidence.services.demo import demo_job_fill
from garage.evidence.services.display_units import UnitSaid, unit_confirm
from garage.records.models import Call, CallList, LineToReview, Recheck
from garage.records.services.advice_given import advice_add
from garage.records.services.claims import claims_open
from garage.records.services.import_runs import import_run_do, table_run_queue
from garage.records.services.job_lines import LineMeaning, line_answer, lines_queue
from garage.records.services.jobs import JobFacts, NewJob, job_open
from garage.records.services.table_uploads import NewTable, table_upload
from tests.api.scene import Scene
from tests.browser.conftest import WIDTHS, VisitOf
from tests.records.job_lines.lines import unread
from tests.records.stories import fitted_and_failed
from tests.records.tables_sent import MESSY

pytestmark = pytest.mark.browser
AT = datetime(2026, 1, 2, 9, 30, tzinfo=UTC)
PAGES = {
    "start": "/",
    "found": "/?q=van",
    "vehicle": "/vehicles/{van}/",
    "family": "/engine-families/{family}/",
    "early failures": "/early-failures/",
    "jobs": "/jobs/?state=all",
    "open a job": "/vehicles/{van}/jobs/new/",
    "open job": "/jobs/{open_job}/",
    "closed job": "/jobs/{job}/",
    "evidence": "/jobs/{open_job}/evidence/",
    "gauges": "/jobs/{open_job}/gauges/",
    "resistance": "/jobs/{open_job}/resistance/",
    "drives": "/jobs/{open_job}/drives/",
    "codes": "/jobs/{open_job}/codes/",
    "limits": "/limits/",
    "instruments": "/instruments/",
    "words of codes": "/code-words/",
    "operation": "/operations/{operation}/",
    "causes": "/causes/",
    "add a vehicle": "/vehicles/new/",
    "vehicle facts": "/vehicles/{van}/facts/",
    "odometer": "/vehicles/{van}/odometer/?on=2020-01-01",
    "readings to decide on": "/odometers/",
    "changes": "/organisations/{alder}/changes/",
    "rechecks": "/rechecks/",
    "recheck": "/rechecks/{recheck}/",
    "claims": "/claims/",
    "claim": "/claims/{claim}/",
    "looks": "/looks/",
    "call lists": "/call-lists/",
    "call list": "/call-lists/{call_list}/",
    "call": "/calls/{call}/",
    "imports": "/imports/",
    "import": "/imports/{import_run}/",
    "tables": "/tables/",
    "table": "/tables/{table}/",
    "written twice": "/duplicates/",
    "pair": "/duplicates/job/{job}/{other_job}/",
    "catalogue": "/part-kinds/",
    "export": "/export/",
    "erase": "/vehicles/{van}/erasure/",
    "erased": "/organisations/{alder}/erasures/",
    "job lines": "/job-lines/",
    "job line": "/job-lines/{job_line}/",
    "line answers": "/job-lines/answers/",
    "missing": "/no-such-page/",
}
CHARTS = {"vehicle": 1, "family": 3, "gauges": 1, "resistance": 1, "drives": 2}


def address(page: str, scene: Scene) -> str:
    return PAGES[page].format(van=scene.van.pk, family=scene.family.pk, **_work(scene))


def _work(scene: Scene) -> dict[str, int]:
    """What a workshop has under way: a claim, a recheck, a call, two jobs that may be one."""
    failed, (fitting, failing) = fitted_and_failed(organisation=scene.cast.alder)
    (claim,) = claims_open(vehicle_ids=[failed.pk], at=AT)
    recheck = Recheck.objects.create(job=failing.job, due_on=AT.date())
    drawn = CallList.objects.create(
        organisation=scene.cast.alder,
        drawn_on=AT.date(),
        silent_since_days=365,
        part_kind=failing.part_kind,
        population=1,
        seed=1,
    )
    call = Call.objects.create(call_list=drawn, vehicle=failed, order=1)
    facts = JobFacts("exhaust_aftertreatment", planned=False, complaint="lamp on")
    again = job_open(vehicle=failed, new=NewJob(failing.job.opened_on, facts), at=AT)
    advice_add(job=again, text="renew the hoses", at=AT)
    demo_job_fill(again, now=AT)
    display = again.gauge_pairs.order_by("pk")[0].instrument
    unit_confirm(instrument=display, said=UnitSaid("kPa"), at=AT)
    content = io.BytesIO(MESSY.encode())
    new = NewTable("till", "out.csv", content, len(MESSY))
    table = table_upload(organisation=scene.cast.alder, new=new, as_of=AT.date(), at=AT)
    lines = [unread(text) for text in ("DPF cleaned", "regen done", "zorb wuzzled, advise turbo")]
    lines_queue(organisation=scene.cast.alder, lines=lines, at=AT)
    line, answered, *_ = LineToReview.objects.order_by("pk")
    line_answer(line=answered, meanings=[LineMeaning("done", "inspect")], at=AT)
    run = table_run_queue(table=table, dry_run=True, at=AT)
    import_run_do(run_id=run.pk, clock=lambda: AT)
    return {
        "import_run": run.pk,
        "job_line": line.pk,
        "alder": scene.cast.alder.pk,
        "claim": claim.pk,
        "recheck": recheck.pk,
        "call_list": drawn.pk,
        "call": call.pk,
        "job": fitting.job_id,
        "open_job": again.pk,
        "operation": failing.pk,
        "table": table.pk,
        "other_job": failing.job_id,
    }


def faults_by_axe(page: Page) -> list[str]:
    page.evaluate("document.querySelectorAll('details').forEach(each => each.open = true)")
    return [
        f"{fault['id']}: {fault['help']}; {fault['nodes'][0]['html'][:160]}"
        for fault in Axe().run(page).response["violations"]
    ]


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_whole(scene: Scene, visit_of: VisitOf, name: str, width: int) -> None:
    visit = visit_of(width=width)
    page = visit.go(address(name, scene))
    drawn = [place.get_attribute("data-drawn") for place in page.locator("[data-chart]").all()]
    assert drawn == ["yes"] * CHARTS.get(name, 0)
    assert page.evaluate("document.documentElement.scrollWidth") == width
    missing = [each for each in visit.complaints if "404" in each]
    assert visit.complaints == (missing if name == "missing" else [])
    assert visit.outside == []
    assert faults_by_axe(page) == []


@pytest.mark.parametrize("name", ["start", "vehicle", "family", "early failures"])
def test_a_dark_page_is_accessible_too(scene: Scene, visit_of: VisitOf, name: str) -> None:
    visit = visit_of(color_scheme="dark")
    page = visit.go(address(name, scene))
    ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
    assert ground == "rgb(21, 25, 26)"
    assert faults_by_axe(page) == []


def test_an_accessibility_fault_would_be_found(scene: Scene, visit_of: VisitOf) -> None:
    page = visit_of().go("/")
    page.evaluate("document.querySelector('label[for=q]').remove()")
    assert any(fault.startswith("label") for fault in faults_by_axe(page))


def test_the_sign_in_page_is_accessible_and_signs_in(scene: Scene, visit_of: VisitOf) -> None:
    scene.cast.owner.set_password("warm-oil-42")
    scene.cast.owner.save()
    visit = visit_of(width=390)
    visit.page.context.clear_cookies()
    page = visit.go("/early-failures/")
    assert faults_by_axe(page) == []
    page.get_by_label("User name").fill(scene.cast.owner.username)
    page.get_by_label("Password").fill("warm-oil-42")
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/early-failures/")
    assert visit.complaints == []


def test_the_chart_of_lives_draws_each_bar_and_each_failure(
    scene: Scene, visit_of: VisitOf
) -> None:
    page = visit_of().go(address("vehicle", scene))
    chart = page.locator("[data-chart=chart-lives]")
    told = chart.get_attribute("aria-label")
    assert told is not None
    assert "number 2, new, aftermarket: failed after 9\u00a0000\u00a0km" in told
    crosses = chart.locator("svg .mark-symbol path")
    assert crosses.count() == 3
    labels = chart.locator("svg .role-axis-label text").all_text_contents()
    assert [label for label in labels if "aftermarket" in label] == [
        "2  new, aftermarket",
        "3  new, aftermarket",
        "4  new, aftermarket",
    ]


def test_a_chart_follows_the_colours_of_the_page(scene: Scene, visit_of: VisitOf) -> None:
    page = visit_of().go(address("vehicle", scene))
    cross = page.locator("[data-chart=chart-lives] svg .mark-symbol path").first
    light = cross.evaluate("each => getComputedStyle(each).stroke")
    page.emulate_media(color_scheme="dark")
    assert light == "rgb(156, 52, 16)"
    assert cross.evaluate("each => getComputedStyle(each).stroke") == "rgb(242, 145, 106)"


def test_without_script_the_numbers_are_there(scene: Scene, visit_of: VisitOf) -> None:
    visit = visit_of(java_script_enabled=False)
    visit.page.goto(f"{visit.base}{address('vehicle', scene)}")
    visit.page.get_by_text("The numbers").click()
    row = visit.page.get_by_role("row", name="2 new, aftermarket")
    assert row.is_visible()
    assert "9\u00a0000\u00a0km" in row.inner_text()


def test_a_vehicle_is_found_from_the_keyboard_alone(scene: Scene, visit_of: VisitOf) -> None:
    page = visit_of().go("/")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "Skip to the content"
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.id") == "q"
    page.keyboard.type("qz 77 kl")
    page.keyboard.press("Enter")
    page.wait_for_url(f"**/vehicles/{scene.van.pk}/")


def test_on_paper_the_customer_reads_the_history_and_no_controls(
    scene: Scene, visit_of: VisitOf
) -> None:
    page = visit_of(color_scheme="dark").go(address("vehicle", scene))
    page.emulate_media(media="print", color_scheme="light")
    assert not page.get_by_role("button", name="Sign out").is_visible()
    assert not page.get_by_role("link", name="Early failures").is_visible()
    assert page.get_by_text("History of this vehicle as").is_visible()
    assert page.get_by_role("heading", name="Jobs, newest first").is_visible()
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert page.pdf(format="A4").startswith(b"%PDF")
