"""What hands do at a keyboard: Tab, Enter, the space bar, and letters."""

MOST_STEPS = 400


def reach(page, place):
    """Go on by Tab until the place has the focus, and see that it is shown to have it."""
    place.first.wait_for()
    for _ in range(MOST_STEPS):
        if place.first.evaluate("each => each === document.activeElement"):
            assert place.first.evaluate("each => each.matches(':focus-visible')")
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"no Tab leads to {place}")


def press(page, name, role="button"):
    """Press what has this name, and wait for where it leads."""
    reach(page, page.get_by_role(role, name=name))
    with page.expect_navigation():
        page.keyboard.press("Enter")


def write(page, label, text):
    """Write into the field of this label."""
    reach(page, page.get_by_label(label))
    page.keyboard.press("Control+a")
    page.keyboard.type(text)


def choose(page, label, words):
    """Choose of a list what begins with these words."""
    box = page.get_by_label(label)
    reach(page, box)
    for _ in range(5):  # a list forgets what was typed a second ago: slower, it is typed again
        page.keyboard.type(words)
        chosen = box.first.evaluate("each => each.selectedOptions[0].text")
        if chosen.startswith(words):
            return
        page.wait_for_timeout(1_500)
    raise AssertionError(f"{chosen}, and not {words}")
