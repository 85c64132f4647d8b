"""Texts as people, devices and accidents write them, drawn in every script."""

from random import Random

SCRIPTS = {
    "Latin": "abcdefghijklmnoprstuvwyzABCDEÄÖÜäöüßéèñçłőşžæø",
    "Greek": "αβγδεζηθικλμνξοπρστυφχψωΩΔάέή",
    "Cyrillic": "абвгдежзиклмнопрстуфхцчшщыьэюяЖЩЮїєґ",
    "Hebrew": "אבגדהוזחטיכלמנסעפצקרשת",
    "Arabic": "ابتثجحخدذرزسشصضطظعغفقكلمنهوي",
    "Far East": "水泵站流量压力検査済電動機ポンプのかな김민준펌프",
    "Indic and Thai": "पम्पजलपरीक्षาปั๊มน้ำ",
    "emoji": "\N{GRINNING FACE}\N{WRENCH}\N{DROPLET}\N{VARIATION SELECTOR-16}\N{ZERO WIDTH JOINER}"
    "\N{WOMAN}\N{EMOJI MODIFIER FITZPATRICK TYPE-4}\N{REGIONAL INDICATOR SYMBOL LETTER C}",
    "marks": "aeo水אx\N{COMBINING ACUTE ACCENT}\N{COMBINING DOT BELOW}"
    "\N{COMBINING LONG SOLIDUS OVERLAY}\N{COMBINING ENCLOSING CIRCLE}",
    "controls": "a1\x01\x07\x08\x1b\x7f\x85\N{ZERO WIDTH SPACE}\N{RIGHT-TO-LEFT OVERRIDE}"
    "\N{LEFT-TO-RIGHT ISOLATE}\N{ZERO WIDTH NO-BREAK SPACE}\N{SOFT HYPHEN}\ue000\u0378\uffff",
    "signs": "#*_`$<>@\\\"'[]{}()~=/|%&^-–—…«»°µΩ²½×±≤≥∞√€№ﬁ",
    "figures": "0123456789.,-−/ ",
}
BETWEEN = (
    " ",
    " ",
    " ",
    " ",
    " ",
    ", ",
    ". ",
    "\n",
    "\n\n",
    "\t",
    "\r\n",
    "\u2028",
    "\u00a0",
    "  ",
)


def text(draw: Random, length: int) -> str:
    """A text of this many characters in one script, or in all of them."""
    scripts = list(SCRIPTS) if draw.random() < 0.3 else [draw.choice(list(SCRIPTS))]
    longest = 1000 if draw.random() < 0.1 else 12
    words, size = [], 0
    while size < length:
        letters = SCRIPTS[draw.choice(scripts)]
        words.append("".join(draw.choices(letters, k=draw.randint(1, longest))))
        words.append(draw.choice(BETWEEN))
        size += len(words[-2]) + len(words[-1])
    return "".join(words)[:length]


def remarks(draw: Random) -> str:
    """Remarks: none, a line, a page, or far too many."""
    return text(draw, draw.choice((0, 1, 60, 600, 2000, 6000, 20_000)))


def name(draw: Random) -> str:
    """What somebody or something is called, as short or as long as is taken."""
    return text(draw, draw.choice((1, 5, 15, 15, 40, 40, 120, 2000)))
