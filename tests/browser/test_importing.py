"""The page of an import that is under way looks again by itself, whatever the network does."""

from playwright.sync_api import expect

from tests.records.pages.importing import whole

# What the page waits for its first look passes a hundred times as quickly; later ones have the time
# that they have, and so does what is asked before a form is sent.
SOONER = """
const limit = AbortSignal.timeout.bind(AbortSignal);
let isFirst = true;
AbortSignal.timeout = (ms) => {
  const isSooner = isFirst && document.querySelector("#how-far");
  isFirst &&= !isSooner;
  return limit(isSooner ? ms / 100 : ms);
};
"""


def check(page):
    """An import that no worker takes up: there is none here."""
    page.goto("/import")
    file = {"name": "stations.xlsx", "mimeType": "application/zip", "buffer": whole()}
    page.get_by_label("Workbook (.xlsx)").set_input_files(file)
    page.get_by_role("button", name="Send it").click()
    page.get_by_role("button", name="Check every row").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("is being checked")


def test_a_look_that_nobody_answers_is_given_up_and_the_next_one_is_taken(enter, stage):
    page = enter(stage.cast().orla, "/import")
    page.add_init_script(SOONER)
    looks = []

    def first_unanswered(route):
        if route.request.resource_type == "fetch":
            looks.append(route)
            if len(looks) == 1:
                return
        route.continue_()

    page.route("**/import/*", first_unanswered)
    with page.expect_response(
        lambda answer: answer.request.resource_type == "fetch" and "/import/" in answer.url,
        timeout=120_000,
    ):
        check(page)
    assert len(looks) > 1
