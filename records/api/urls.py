"""The paths of the API, version 1."""

from django.urls import URLPattern, path
from drf_spectacular.views import SpectacularJSONAPIView, SpectacularSwaggerSplitView

from records.api.views import (
    attachments,
    audit,
    bundles,
    due,
    enrolments,
    events,
    judging,
    people,
    record_files,
    record_tables,
    records,
    register,
    rule_settings,
    tag_labels,
    traces,
    trends,
    uploads,
    visits,
)
from records.api.views.nowhere import Nowhere


def _register() -> list[URLPattern]:
    paths = []
    for name, (listed, detail) in register.VIEWS.items():
        paths += [path(name, listed.as_view()), path(f"{name}/<str:id>", detail.as_view())]
    return paths


urlpatterns = [
    path("organizations", register.OrganizationList.as_view()),
    path("organizations/<str:id>", register.OrganizationDetail.as_view()),
    *_register(),
    path("sites/<str:id>/visit-pack", visits.VisitPack.as_view()),
    path("sites/<str:id>/labels.pdf", tag_labels.TagLabels.as_view()),
    path("pump-sets/<str:id>/visit-sheet.pdf", visits.VisitSheet.as_view()),
    path("pump-sets/<str:id>/trends", trends.PumpSetTrends.as_view()),
    path("sensors/<str:id>/trends", trends.SensorTrends.as_view()),
    path("events", events.EventList.as_view()),
    path("events/batch", events.EventBatch.as_view()),
    path("events/<str:id>", events.EventDetail.as_view()),
    path("events/<str:id>/findings", events.FindingList.as_view()),
    path("events/<str:id>/findings/<str:finding>/answer", events.FindingAnswer.as_view()),
    path("events/<str:id>/signatures", events.SignatureList.as_view()),
    path("events/<str:id>/signatures/<str:signature>", events.SignatureDetail.as_view()),
    path("events/<str:id>/withdrawal", events.EventWithdrawal.as_view()),
    path("events/<str:id>/attachments", attachments.AttachmentList.as_view()),
    path("events/<str:id>/attachments/<str:attachment>", attachments.AttachmentDetail.as_view()),
    path("events/<str:id>/traces", traces.TraceList.as_view()),
    path("events/<str:id>/traces/<str:trace>", traces.TraceDetail.as_view()),
    path("events/<str:id>/uploads", uploads.UploadList.as_view()),
    path("events/<str:id>/uploads/<str:upload>", uploads.UploadDetail.as_view()),
    path("events/<str:id>/seal", events.EventSeal.as_view()),
    path("records", records.RecordList.as_view()),
    path("records/bundle", bundles.RecordBundle.as_view()),
    path("records/readings.csv", record_tables.ManyReadings.as_view()),
    path("records/<str:id>", records.RecordDetail.as_view()),
    path("records/<str:id>/data.json", records.RecordData.as_view()),
    path("records/<str:id>/files/<str:file>", record_files.RecordFile.as_view()),
    path("records/<str:id>/document.pdf", records.RecordPdf.as_view()),
    path("records/<str:id>/workbook.xlsx", record_tables.RecordWorkbook.as_view()),
    path("records/<str:id>/readings.csv", record_tables.RecordReadings.as_view()),
    path("record-schema.json", record_tables.RecordSchema.as_view()),
    path("operations/<str:id>", records.OperationDetail.as_view()),
    path("keys", records.KeyList.as_view()),
    path("evaluations", judging.Evaluations.as_view()),
    path("rules", judging.RuleList.as_view()),
    path("rules/<str:id>", judging.RuleDetail.as_view()),
    path("rule-settings", rule_settings.RuleSettingList.as_view()),
    path("rule-settings/<str:id>", rule_settings.RuleSettingDetail.as_view()),
    path("verification-tasks", due.VerificationTaskList.as_view()),
    path("due-items", due.DueItemList.as_view()),
    path("due-items/counts", due.DueCounts.as_view()),
    path("performed-tasks/<str:id>", due.PerformedTaskDetail.as_view()),
    path("interval-settings", due.IntervalSettingList.as_view()),
    path("interval-settings/<str:id>", due.IntervalSettingDetail.as_view()),
    path("interval-proposals", due.IntervalProposalList.as_view()),
    path("interval-proposals/<str:id>/acceptance", due.ProposalAcceptance.as_view()),
    path("units", judging.UnitList.as_view()),
    path("me", people.Me.as_view()),
    path("members", people.MemberList.as_view()),
    path("members/<str:id>", people.MemberDetail.as_view()),
    path("members/<str:id>/role", people.MemberRole.as_view()),
    path("tokens", people.TokenList.as_view()),
    path("tokens/<str:id>", people.TokenDetail.as_view()),
    path("enrolments", enrolments.EnrolmentList.as_view()),
    path("audit", audit.AuditList.as_view()),
    path("schema", SpectacularJSONAPIView.as_view(), name="schema"),
    path(
        "docs",
        SpectacularSwaggerSplitView.as_view(url_name="schema", template_name="api/docs.html"),
    ),
    path("<path:rest>", Nowhere.as_view()),
]
