"""The order in which a screen shows what a record on paper holds: what was found comes first."""

from records.documents.contents import (
    cautions,
    closing,
    duty_points,
    judged,
    nameplates,
    settings,
    site_tests,
    verifications,
)
from records.documents.contents.figures import over_time

JUDGED = (judged.findings, judged.not_judged, judged.limits_changed)
ON_SITE = (
    site_tests.visit,
    settings.settings,
    site_tests.electrical,
    site_tests.mechanical,
    duty_points.duty_points,
    verifications.verifications,
    site_tests.protections,
    site_tests.levels,
    over_time,
    closing.not_possible,
    closing.remarks,
    closing.attachments,
    closing.others,
)
AFTERWARDS = (cautions.cautions, judged.derived, judged.limits, nameplates.nameplates)
