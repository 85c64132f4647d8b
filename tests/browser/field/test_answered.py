"""What the office answered of a draft, on a device that goes on with it without signal."""

from playwright.sync_api import expect

from tests.browser.field.test_drafts import in_the_book, opened
from tests.calculations.building import booster
from tests.calculations.building_plates import q
from tests.records import visits
from tests.records.client import Api

BEFORE_THE_ANSWER = """async (id) => {
  const { change } = await import("/static/field/store.js");
  const judged = (row) => ({ ...row, verdict: { ...row.verdict, answered: [] } });
  await change("visits", id, judged);
}"""


def test_what_was_answered_in_the_book_stays_told_by_itself_once_it_is_changed_here(
    away, cast, station
):
    """Told once for all points here, the seal would ask for an answer that was given already."""
    rule, office = "load.current-expected", Api(cast.orla)
    draft = visits.post(Api(cast.teo), station, duty_points=points(0.5, 1, 1))
    answered = visits.found(draft, rule)
    assert visits.answer(office, draft, answered).status in (200, 201)
    path = f"/events/{draft['id']}"
    changed = {"duty_points": points(0.5, 0.5, 0.5)}
    assert office.patch(path, changed, office.get(path).etag).status == 200
    each = [found["subject"] for found in in_the_book(cast, draft)["findings"]
            if found["rule"] == rule]  # fmt: skip
    assert len(each) == 3
    away.offline(False)
    opened(away, station, draft)
    away.offline()
    away.section("as_left")
    away.enter("Set point", "91", "psi")
    verdict = away.page.locator(".verdict")
    expect(verdict).to_contain_text("(on this device)")
    [visit] = away.rows("visits")
    told = [found["subject"] for found in visit["verdict"]["findings"] if found["rule"] == rule]
    assert told == each
    assert at_once(away, verdict).endswith("(on this device)")
    away.page.evaluate(BEFORE_THE_ANSWER, draft["id"])  # the answer came while it was not open
    assert at_once(away, verdict).startswith("0 judged")
    expect(verdict).to_contain_text("(on this device)")


def at_once(away, verdict):
    """What the sheet says before the rules are loaded."""
    away.page.reload()
    away.page.wait_for_selector(".verdict p")
    return verdict.inner_text().partition(".")[0]


def points(*shares):
    """The booster's points with a share of their currents."""
    listed = booster()["event"]["duty_points"]
    for point, share in zip(listed, shares, strict=True):
        point["currents_drive_output"] = [
            q(f"{float(phase['value']) * share:.2f}", "A")
            for phase in point["currents_drive_output"]
        ]
    return listed
