"""A whole station is entered by keyboard alone: by hand, and from a spreadsheet."""

import re

from playwright.sync_api import expect

from records.services.importing import imports
from tests.browser.hands import choose, press, reach, write
from tests.browser.looking import look
from tests.records.client import leave

TABLE = (
    "Station;Tag;Type;Speed;Rated flow m3/h;Lift\r\n"
    "{code};P-2;end suction;1450;45,5;32,0\r\n"
    "{code};P-3;rotating;1450;45,5;32,0\r\n"
)


def file(code):
    """The table as a file, for the station of this code."""
    return {"name": "pumps.csv", "mimeType": "text/csv", "buffer": TABLE.format(code=code).encode()}


def told(page):
    """What a form says that came back."""
    return page.get_by_role("alert").all_inner_texts()


def station(page, code):
    """A station with the little that it cannot be without."""
    page.goto("/register/sites/new")
    choose(page, "Client", "Tresk")
    write(page, re.compile("^Code$"), code)
    write(page, re.compile("^Name$"), "By hand")
    choose(page, re.compile("^Kind$"), "booster")
    write(page, re.compile("^Time zone$"), "UTC")
    choose(page, re.compile("^Electrical practice$"), "IEC")
    write(page, re.compile("^Supply frequency$"), "50")
    choose(page, re.compile("^Supply phases$"), "3")
    choose(page, re.compile("^Liquid kind$"), "potable")
    choose(page, re.compile("^Suction kind$"), "pressurised")
    press(page, "Register the station")


def pump(page):
    """One with a curve, and a slip in it that is put right."""
    press(page, "Register a pump", role="link")
    write(page, re.compile("^Tag$"), "P-1")
    choose(page, re.compile("^Type$"), "end suction")
    write(page, re.compile("^Rated speed$"), "1450")
    write(page, re.compile("^Rated flow$"), "45,5")
    write(page, re.compile("^Rated head$"), "high")
    for number, (flow, head) in enumerate((("0", "40"), ("45,5", "32"), ("60", "24"))):
        reach(page, page.locator(f'[name="curve_points.{number}.flow"]'))
        page.keyboard.type(flow)
        reach(page, page.locator(f'[name="curve_points.{number}.head"]'))
        page.keyboard.type(head)
    press(page, "Register the pump")
    assert "Rated head: expected a number" in told(page)[0]
    look(page)
    write(page, re.compile("^Rated head$"), "32")
    press(page, "Register the pump")


def motor(page):
    """An ordinary one."""
    press(page, "Register a motor", role="link")
    write(page, re.compile("^Tag$"), "M-1")
    choose(page, re.compile("^Kind$"), "induction")
    choose(page, re.compile("^Phases$"), "3")
    for name, text in (("voltage", "400"), ("frequency", "50"), ("power", "7,5"),
                       ("current", "14,2"), ("speed", "1455")):  # fmt: skip
        reach(page, page.locator(f'[name="ratings.0.{name}"]'))
        page.keyboard.type(text)
    write(page, re.compile("^Rating in use$"), "1")
    choose(page, re.compile("^Immersed$"), "no")
    press(page, "Register the motor")


def joined(page):
    """Its drive, its sensor, and all of them as a pump set."""
    press(page, "Register a drive", role="link")
    write(page, re.compile("^Tag$"), "D-1")
    choose(page, re.compile("^Input phases$"), "3")
    write(page, re.compile("^Input voltage, lowest$"), "380")
    write(page, re.compile("^Input voltage, highest$"), "480")
    write(page, re.compile("^Rated current normal duty$"), "16")
    press(page, "Register the drive")
    press(page, "Register a sensor", role="link")
    write(page, re.compile("^Tag$"), "PT-1")
    choose(page, re.compile("^Quantity$"), "pressure")
    choose(page, re.compile("^Reference$"), "gauge")
    for end, value in (("Lower", "0"), ("Upper", "10")):
        write(page, re.compile(f"^{end} range value$"), value)
        choose(page, f"Unit of {end} range value", "bar")
    choose(page, re.compile("^Output$"), "4-20")
    write(page, re.compile("^Tolerance, of span$"), "0,5")
    choose(page, re.compile("^Location$"), "discharge")
    press(page, "Register the sensor")
    press(page, "Join a pump set", role="link")
    write(page, re.compile("^Tag$"), "PS-1")
    for label, tag in (("Pump", "P-1"), ("Motor", "M-1"), ("Drive", "D-1"),
                       ("Regulating sensor", "PT-1")):  # fmt: skip
        choose(page, re.compile(f"^{label}$"), tag)
    reach(page, page.get_by_label("In service from"))
    page.keyboard.type("03142026")
    press(page, "Register the pump set")


def test_a_station_is_registered_with_all_that_stands_at_it(enter, stage, world):
    page = enter(stage.cast().orla, "/register")
    station(page, "K-1")
    pump(page)
    motor(page)
    joined(page)
    assert told(page) == []
    expect(page.get_by_role("heading", level=1)).to_contain_text("1 pump set joined")
    press(page, "K-1 By hand", role="link")
    expect(page.get_by_text("P-1, M-1, drive D-1")).to_be_visible()


def background(stage):
    """What the worker does meanwhile."""
    with stage.blocker.unblock():
        leave()
        for (identity, _), _ in imports.missing():
            imports.go_on(identity)
        leave()


def sent_in(page, code):
    """The table is chosen and sent, and its columns are told, but no unit of the head."""
    # Listened for before the page is opened: the browser is told of a listener in its own time.
    page.on("filechooser", lambda chooser: chooser.set_files(file(code)))
    page.goto("/import")
    workbook = page.get_by_label(re.compile("^Workbook"))
    reach(page, workbook)
    page.keyboard.press("Enter")
    expect(workbook).to_have_value(re.compile(r"pumps\.csv$"))
    press(page, re.compile("^Send it"))
    meanings(page)


def meanings(page):
    """What the columns are that no head of a template names."""
    choose(page, "Column D of Table means", "Rated speed")
    choose(page, "Column F of Table means", "Rated head")


def test_a_spreadsheet_is_brought_in(enter, stage, world):
    page = enter(stage.cast().orla, "/import")
    station(page, "K-2")
    sent_in(page, "K-2")
    press(page, "Check every row")
    assert "column F: choose its unit" in told(page)[0]
    look(page)
    choose(page, "Unit of column F of Table", "m")
    press(page, "Check every row")
    background(stage)  # the page looks again by itself: whoever loads it now may be overtaken
    expect(page.get_by_role("heading", level=1)).to_contain_text("1 refused, 1 to be added")
    look(page)
    reach(page, page.get_by_role("checkbox", name=re.compile("^Leave the 1 refused row out")))
    page.keyboard.press("Space")
    press(page, re.compile("^Write 1 row"))
    look(page)
    background(stage)
    expect(page.get_by_role("heading", level=1)).to_contain_text("1 added")
    look(page)


def columns_said(enter, stage, code):
    """A page on which nothing is left but to have every row checked."""
    page = enter(stage.cast().orla, "/import")
    sent_in(page, code)
    unit(page)
    return page


def unit(page):
    """That of the head, which no file before may have told."""
    if not page.get_by_label("Unit of column F of Table").count():
        press(page, "Check every row")
    choose(page, "Unit of column F of Table", "m")


def test_what_is_under_way_is_stopped(enter, stage, world):
    page = columns_said(enter, stage, "K-3")
    press(page, "Check every row")
    stop = page.get_by_role("button", name="Stop it")
    reach(page, stop)
    with page.expect_response(lambda answer: answer.request.resource_type == "fetch"):
        pass  # it looks how far it is, and leaves the focus where it was
    expect(stop).to_be_focused()
    look(page)
    press(page, "Stop it")
    expect(page.get_by_role("alert")).to_contain_text("Orla stopped it. Nothing was written.")


def test_who_asked_for_it_twice_is_led_to_what_came_of_it(enter, stage, world):
    page = columns_said(enter, stage, "K-5")
    address = page.url.removesuffix("/columns")
    other = page.context.new_page()
    other.goto(address)
    meanings(other)
    unit(other)
    press(page, "Check every row")
    press(other, "Check every row")
    expect(other).to_have_url(address)  # the same asked again is one check
    background(stage)
    expect(other.get_by_role("heading", level=1)).to_contain_text("refused")
    assert other.url == address


def test_a_piece_is_changed_replaced_and_taken_out_of_service(enter, stage, world):
    page = enter(stage.cast().orla, "/register")
    station(page, "K-4")
    pump(page)
    press(page, "Change pump P-1", role="link")
    write(page, re.compile("^Serial number$"), "A-1")
    press(page, "Save the changes")
    expect(page.get_by_role("row", name=re.compile("Pump P-1"))).to_contain_text("A-1")
    press(page, "Replace pump P-1", role="link")
    reach(page, page.get_by_label("Day of the replacement"))
    page.keyboard.type("03142026")
    choose(page, re.compile("^Type$"), "end suction")
    for name, text in (("Rated speed", "1450"), ("Rated flow", "45,5"), ("Rated head", "32"),
                       ("Serial number", "A-2")):  # fmt: skip
        write(page, re.compile(f"^{name}$"), text)
    press(page, "Replace it")
    expect(page.get_by_role("row", name=re.compile("Pump P-1"))).to_contain_text("A-2")
    press(page, "Take out of service: pump P-1", role="link")
    press(page, "Take it out of service")
    expect(page.get_by_text("Nothing has been entered yet")).to_be_visible()
