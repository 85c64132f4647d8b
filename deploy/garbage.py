"""How often the interpreter looks for garbage that refers to itself."""

import gc


def look_seldom() -> None:
    """Look less often for garbage that refers to itself, and never among what is there by now.

    Judging makes many small objects that live as long as their request: looked through every 700,
    they took a tenth of the time of a POST.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(50_000, 20, 20)
