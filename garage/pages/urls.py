"""Addresses of the pages."""

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import URLPattern, URLResolver, path

from garage.pages.views.call_lists import call, call_list, call_lists
from garage.pages.views.catalogue import catalogue
from garage.pages.views.changes import changes
from garage.pages.views.claims import claim, claim_move, claim_print, claims, warranty
from garage.pages.views.code_words import code_words, code_words_remove
from garage.pages.views.codes import job_codes, job_codes_write, job_values_read
from garage.pages.views.documents import claim_document, document
from garage.pages.views.drives import job_drives, job_drives_write
from garage.pages.views.duplicates import duplicate, duplicates, merge_part
from garage.pages.views.early_failures import early_failures
from garage.pages.views.erasure import erasure, erasures
from garage.pages.views.evidence import job_evidence, job_evidence_write
from garage.pages.views.export import export, export_take
from garage.pages.views.family import family
from garage.pages.views.find import start
from garage.pages.views.gauges import job_gauges, job_gauges_write
from garage.pages.views.imports import import_cancel, import_rejected, import_run, imports
from garage.pages.views.instruments import instrument, instruments, unit_taken_back
from garage.pages.views.job_lines import job_line, job_lines, line_answer_back, line_answers
from garage.pages.views.job_writes import (
    advice_decide,
    comeback_decide,
    job_look,
    job_write,
    operation,
)
from garage.pages.views.jobs import causes, job, job_new, job_print, jobs
from garage.pages.views.limits import limit_remove, limits
from garage.pages.views.looks import looks
from garage.pages.views.odometer import odometer, odometer_adds, odometers, reading_decide
from garage.pages.views.organisation import organisation_in_view
from garage.pages.views.rechecks import recheck, rechecks
from garage.pages.views.resistance import job_resistance
from garage.pages.views.tables import table, table_discard, table_import, table_rule, tables
from garage.pages.views.vehicle import vehicle
from garage.pages.views.vehicle_writes import vehicle_facts, vehicle_new, vehicle_write

urlpatterns: list[URLPattern | URLResolver] = [
    path("", start, name="start"),
    path(
        "sign-in/",
        LoginView.as_view(template_name="pages/sign_in.html", redirect_authenticated_user=True),
        name="sign-in",
    ),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
    path("organisation-in-view/", organisation_in_view, name="organisation-in-view"),
    path("vehicles/new/", vehicle_new, name="vehicle-new"),
    path("vehicles/<int:vehicle_id>/", vehicle, name="vehicle"),
    path("vehicles/<int:vehicle_id>/erasure/", erasure, name="erasure"),
    path("vehicles/<int:vehicle_id>/facts/", vehicle_facts, name="vehicle-facts"),
    path("vehicles/<int:vehicle_id>/facts/<slug:what>/", vehicle_write, name="vehicle-write"),
    path("vehicles/<int:vehicle_id>/jobs/new/", job_new, name="job-new"),
    path("vehicles/<int:vehicle_id>/odometer/", odometer, name="odometer"),
    path("vehicles/<int:vehicle_id>/odometer/<slug:what>/", odometer_adds, name="odometer-adds"),
    path("odometers/", odometers, name="odometers"),
    path("organisations/<int:organisation_id>/changes/", changes, name="changes"),
    path("organisations/<int:organisation_id>/erasures/", erasures, name="erasures"),
    path("odometer-readings/<int:reading_id>/", reading_decide, name="reading-decide"),
    path("engine-families/<int:family_id>/", family, name="family"),
    path("early-failures/", early_failures, name="early-failures"),
    path("claims/", claims, name="claims"),
    path("claims/<int:claim_id>/", claim, name="claim"),
    path("claims/<int:claim_id>/sheet.pdf", claim_print, name="claim-print"),
    path("claims/<int:claim_id>/documents/", claim_document, name="claim-document"),
    path("claims/<int:claim_id>/<slug:state>/", claim_move, name="claim-move"),
    path("operations/<int:operation_id>/warranty/", warranty, name="warranty"),
    path("documents/<int:document_id>/", document, name="document"),
    path("jobs/", jobs, name="jobs"),
    path("jobs/<int:job_id>/", job, name="job"),
    path("jobs/<int:job_id>/sheet.pdf", job_print, name="job-print"),
    path("jobs/<int:job_id>/evidence/", job_evidence, name="job-evidence"),
    path("jobs/<int:job_id>/evidence/<slug:what>/", job_evidence_write, name="job-evidence-write"),
    path("jobs/<int:job_id>/gauges/", job_gauges, name="job-gauges"),
    path("jobs/<int:job_id>/gauges/<slug:what>/", job_gauges_write, name="job-gauges-write"),
    path("jobs/<int:job_id>/codes/", job_codes, name="job-codes"),
    path("jobs/<int:job_id>/codes/values/", job_values_read, name="job-values-read"),
    path("jobs/<int:job_id>/codes/<slug:what>/", job_codes_write, name="job-codes-write"),
    path("jobs/<int:job_id>/resistance/", job_resistance, name="job-resistance"),
    path("jobs/<int:job_id>/drives/", job_drives, name="job-drives"),
    path("jobs/<int:job_id>/drives/<slug:what>/", job_drives_write, name="job-drives-write"),
    path("jobs/<int:job_id>/look/", job_look, name="job-look"),
    path("jobs/<int:job_id>/<slug:what>/", job_write, name="job-write"),
    path("operations/<int:operation_id>/", operation, name="operation"),
    path("comebacks/<int:review_id>/", comeback_decide, name="comeback-decide"),
    path("advice/<int:advice_id>/", advice_decide, name="advice-decide"),
    path("causes/", causes, name="causes"),
    path("part-kinds/", catalogue, name="catalogue"),
    path("limits/", limits, name="limits"),
    path("limits/<int:own_id>/remove/", limit_remove, name="limit-remove"),
    path("code-words/", code_words, name="code-words"),
    path("code-words/<int:wording_id>/remove/", code_words_remove, name="code-words-remove"),
    path("instruments/", instruments, name="instruments"),
    path("instruments/<int:instrument_id>/", instrument, name="instrument"),
    path("instruments/units/<int:confirmed_id>/back/", unit_taken_back, name="unit-taken-back"),
    path("export/", export, name="export"),
    path("export/<int:organisation_id>/", export_take, name="export-take"),
    path("imports/", imports, name="imports"),
    path("imports/<int:run_id>/", import_run, name="import-run"),
    path("imports/<int:run_id>/cancel/", import_cancel, name="import-cancel"),
    path("imports/<int:run_id>/rejected/<slug:kind>/", import_rejected, name="import-rejected"),
    path("tables/", tables, name="tables"),
    path("tables/<int:upload_id>/", table, name="table"),
    path("tables/<int:upload_id>/rule/", table_rule, name="table-rule"),
    path("tables/<int:upload_id>/import/", table_import, name="table-import"),
    path("tables/<int:upload_id>/discard/", table_discard, name="table-discard"),
    path("job-lines/", job_lines, name="job-lines"),
    path("job-lines/<int:line_id>/", job_line, name="job-line"),
    path("job-lines/answers/", line_answers, name="line-answers"),
    path("job-lines/answers/<int:answer_id>/back/", line_answer_back, name="line-answer-back"),
    path("duplicates/", duplicates, name="duplicates"),
    path("duplicates/<slug:thing>/<int:one_id>/<int:other_id>/", duplicate, name="duplicate"),
    path("merges/<int:merge_id>/undo/", merge_part, name="merge-part"),
    path("rechecks/", rechecks, name="rechecks"),
    path("rechecks/<int:recheck_id>/", recheck, name="recheck"),
    path("looks/", looks, name="looks"),
    path("call-lists/", call_lists, name="call-lists"),
    path("call-lists/<int:call_list_id>/", call_list, name="call-list"),
    path("calls/<int:call_id>/", call, name="call"),
]
