"""The parts of a record in the order of reading: what is new is added here, for every medium.

Paper begins with what was done, a screen with what was found; each puts its own beside.
"""

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
)
JUDGED = (judged.findings, judged.not_judged, judged.limits_changed)
CLOSING = (closing.not_possible, closing.remarks, closing.attachments, closing.others)
ANNEX = (cautions.cautions, judged.derived, judged.limits, nameplates.nameplates)
