"""The addresses of the API, version 1."""

from django.urls import path, re_path
from drf_spectacular.views import SpectacularAPIView

from api.views.codes import CodeLineView, JobCodesView, OnBoardView
from api.views.docs import DocsView
from api.views.drives import DriveLogView, JobDrivesView
from api.views.evidence import FindingListView, JobEvidenceView, JobFindingsView
from api.views.gauges import SensorCheckView, UnitInferenceView
from api.views.imports import ImportCancelView, ImportListView, ImportView
from api.views.open import NothingHereView, ProblemKindView
from api.views.outcomes import (
    ComebacksView,
    EarlyFailuresView,
    EngineFamilyListView,
    FamilyComebacksView,
    FamilyPartLifeView,
    PartLifeView,
)
from api.views.readings import JobReadingsView, QuantityListView
from api.views.resistance import AshBudgetView, FamilyReferenceView, JobResistanceView
from api.views.token import TokenView
from api.views.vehicles import VehicleHistoryView, VehicleListView, VehicleView

app_name = "api"

urlpatterns = [
    path("token/", TokenView.as_view(), name="token"),
    path("vehicles/", VehicleListView.as_view(), name="vehicles"),
    path("vehicles/<int:vehicle_id>/", VehicleView.as_view(), name="vehicle"),
    path("vehicles/<int:vehicle_id>/history/", VehicleHistoryView.as_view(), name="history"),
    path("engine-families/", EngineFamilyListView.as_view(), name="families"),
    path(
        "engine-families/<int:family_id>/part-life/",
        FamilyPartLifeView.as_view(),
        name="family_part_life",
    ),
    path(
        "engine-families/<int:family_id>/comebacks/",
        FamilyComebacksView.as_view(),
        name="family_comebacks",
    ),
    path(
        "engine-families/<int:family_id>/reference/",
        FamilyReferenceView.as_view(),
        name="family_reference",
    ),
    path("part-life/", PartLifeView.as_view(), name="part_life"),
    path("comebacks/", ComebacksView.as_view(), name="comebacks"),
    path("early-failures/", EarlyFailuresView.as_view(), name="early_failures"),
    path("jobs/<int:job_id>/resistance/", JobResistanceView.as_view(), name="job_resistance"),
    path("ash-budget/", AshBudgetView.as_view(), name="ash_budget"),
    path("jobs/<int:job_id>/readings/", JobReadingsView.as_view(), name="job_readings"),
    path("jobs/<int:job_id>/evidence/", JobEvidenceView.as_view(), name="job_evidence"),
    path("jobs/<int:job_id>/findings/", JobFindingsView.as_view(), name="job_findings"),
    path("findings/", FindingListView.as_view(), name="findings"),
    path("jobs/<int:job_id>/drives/", JobDrivesView.as_view(), name="job_drives"),
    path("drive-logs/", DriveLogView.as_view(), name="drive_logs"),
    path("jobs/<int:job_id>/codes/", JobCodesView.as_view(), name="job_codes"),
    path("code-lines/", CodeLineView.as_view(), name="code_lines"),
    path("on-board-values/", OnBoardView.as_view(), name="on_board_values"),
    path("quantities/", QuantityListView.as_view(), name="quantities"),
    path("imports/", ImportListView.as_view(), name="imports"),
    path("imports/<int:run_id>/", ImportView.as_view(), name="import"),
    path("imports/<int:run_id>/cancel/", ImportCancelView.as_view(), name="import_cancel"),
    path("unit-inference/", UnitInferenceView.as_view(), name="unit_inference"),
    path("sensor-checks/", SensorCheckView.as_view(), name="sensor_checks"),
    path("problems/<slug:code>/", ProblemKindView.as_view(), name="problem"),
    path("openapi/", SpectacularAPIView.as_view(), name="schema"),
    path("docs/", DocsView.as_view(), name="docs"),
    re_path("", NothingHereView.as_view(), name="nothing"),
]
