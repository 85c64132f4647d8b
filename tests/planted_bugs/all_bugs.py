"""Every bug that is planted."""

from tests.planted_bugs.board_bugs import BOARD_BUGS
from tests.planted_bugs.bugs import BUGS
from tests.planted_bugs.document_bugs import DOCUMENT_BUGS
from tests.planted_bugs.fault_bugs import FAULT_BUGS
from tests.planted_bugs.field_bugs import FIELD_BUGS
from tests.planted_bugs.judging_bugs import JUDGING_BUGS
from tests.planted_bugs.kept_bugs import KEPT_BUGS
from tests.planted_bugs.reach_bugs import REACH_BUGS
from tests.planted_bugs.register_bugs import REGISTER_BUGS
from tests.planted_bugs.report_bugs import REPORT_BUGS
from tests.planted_bugs.sent_bugs import SENT_BUGS
from tests.planted_bugs.verifier_bugs import VERIFIER_BUGS

ALL = (
    *BUGS,
    *SENT_BUGS,
    *KEPT_BUGS,
    *JUDGING_BUGS,
    *REACH_BUGS,
    *REGISTER_BUGS,
    *BOARD_BUGS,
    *FIELD_BUGS,
    *REPORT_BUGS,
    *VERIFIER_BUGS,
    *DOCUMENT_BUGS,
    *FAULT_BUGS,
)
