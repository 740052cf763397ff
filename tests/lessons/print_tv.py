"""What of the paper TV is paper: strips, rail, cards, envelopes, purse, keeper's cards, in mm.

Each function gives the HTML of one kind of sheet; ``printing.py`` puts them in their place. Four
millimetres are one decibel everywhere.
"""

import signalshed as shed
from signalshed.simulate import paper_tv
from signalshed.simulate.truths import normal

MM_A_DB = 4
KEEPER_CARDS = range(1, 7)
KEEPER_ROWS = range(-6, 41)
KEEPER_SD_DB = 0.7
BACKS = {"3": "1/2 passes", "6": "1/4 passes", "10": "1/10 passes", "20": "1/100 passes"}


def _svg(width_mm, height_mm, inside):
    box = f'viewBox="0 0 {width_mm} {height_mm}" width="{width_mm}mm" height="{height_mm}mm"'
    return f'<svg class="mm" {box} xmlns="http://www.w3.org/2000/svg">{inside}</svg>'


def _text(x, y, words, size=4, more=""):
    return f'<text x="{x}" y="{y}" font-size="{size}" {more}>{words}</text>'


def _line(x1, y1, x2, y2, dashed=False):
    dash = ' stroke-dasharray="1.5 1.5"' if dashed else ""
    return f'<path d="M{x1} {y1}L{x2} {y2}" stroke="#000" stroke-width=".25" fill="none"{dash}/>'


def _box(x, y, width, height):
    where = f'x="{x}" y="{y}" width="{width}" height="{height}"'
    return f'<rect {where} fill="none" stroke="#000" stroke-width=".25"/>'


def _strip(x, y, name):
    """One strip, 10 mm high, its back above a fold: front and back are folded together."""
    long = MM_A_DB * paper_tv.STRIPS_DB[name]
    says = "2-way" if name == "splitter" else name
    plugs = "".join(_box(at, y + 14, 1.5, 4) for at in (x, x + long - 1.5))
    centre = f'text-anchor="middle" transform="rotate(180 {x + long / 2} {y + 5})"'
    back = BACKS.get(name, "1/2 passes, and a little is lost").split(" ")[0]
    return (
        _box(x, y, long, 22)
        + _line(x, y + 11, x + long, y + 11, dashed=True)
        + plugs
        + _text(x + long / 2, y + 18, says, 4 if len(says) < 3 else 3, 'text-anchor="middle"')
        + _text(x + long / 2, y + 6, back, 3, centre)
    )


def strips():
    """Two sets of strips, one to a reading; the back folds behind the front."""
    rows = (("20", "10", "6"), ("3", "splitter"))
    one = "".join(
        _strip(2 + sum(MM_A_DB * paper_tv.STRIPS_DB[n] + 4 for n in row[:i]), 6 + 26 * k, name)
        for k, row in enumerate(rows)
        for i, name in enumerate(row)
    )
    say = _text(60, 46, "One for each reading. Fold at the dashes, glue.", 3.5)
    return "".join(_svg(180, 58, one + say) for _ in range(4))


def _ruler(y, upward, backward=False):
    """A ruler of 40 dB from x = 8 mm; ``upward`` marks above the line, ``backward`` 0 at the right."""
    marks = []
    for db in range(41):
        x = 8 + MM_A_DB * (40 - db if backward else db)
        tall = 5 if db % 5 == 0 else 2.5
        marks.append(_line(x, y, x, y - tall if upward else y + tall))
        if db % 5 == 0:
            marks.append(_text(x, y - 6 if upward else y + 9, db, 3.5, 'text-anchor="middle"'))
    return _line(8, y, 168, y) + "".join(marks)


def rail():
    """The rail with five empty lines above it, and the zero slip; twice."""
    lines = "".join(_line(8, 10 * k, 168, 10 * k) for k in range(1, 6))
    names = _text(8, 70, "rail: dB of strips from here; pencil the reading at their joint end", 3.5)
    one = _svg(176, 73, lines + _ruler(62, True) + names)
    slip = _box(2, 1, 172, 18) + _ruler(2, False, backward=True)
    slip += _text(
        8,
        17.5,
        "zero slip: 0 between the last that held and the first that lost; to its left, spare dB",
        3.5,
    )
    return (one + _svg(176, 20, slip)) * 2


def tv_cards(first, last):
    """TV cards: the number outside, the truth below a fold, upside down."""
    return "".join(_tv_card(shed.simulate.tv_card(n)) for n in range(first, last + 1))


def _tv_card(card):
    stations = ", ".join(f"{name} {db:g}" for name, db in card.stations_db.items())
    shown = ", ".join(f"{db}: {card.meter.show(db)[0]:g}" for db in (0, 3, 6, 10, 15, 20, 25))
    truth = f"<b>{card.kind}</b><br>{card.says}<br>spare dB, no strips: {stations}"
    truth += f"<br>shows at spare dB: {shown}"
    return (
        f'<div class="folded"><div class="outside"><small>TV card</small><b>{card.number}</b></div>'
        f'<div class="inside">{truth}</div></div>'
    )


def envelopes():
    """Six pairs of envelopes: drawn outside, the gain inside, below a fold."""
    pairs = shed.facts.table("tv_pairs").to_dict("records")
    return "".join(_envelope(pair, name) for pair in pairs for name in "XY")


def _envelope(pair, name):
    inside = f"pair {pair['pair']}: {name} brings <b>{pair[name.lower() + '_db']:g} dB</b>"
    inside += f"<br>the evening: {pair['drift_db_per_h']:+g} dB an hour"
    outside = f"<small>pair {pair['pair']}</small><b>{name}</b>{_DRAWN[name]}"
    return (
        f'<div class="folded"><div class="outside">{outside}</div>'
        f'<div class="inside">{inside}</div></div>'
    )


_DRAWN = {
    "X": _svg(
        24, 14, '<path d="M12 13L4 7L12 1L20 7Z" fill="none" stroke="#000" stroke-width=".6"/>'
    ),
    "Y": _svg(
        24,
        14,
        '<path d="M2 1L11 7L2 13M22 1L13 7L22 13" fill="none" stroke="#000" stroke-width=".6"/>',
    ),
}


def purse():
    """Twenty-four slips of five minutes, for tables without the page."""
    return "".join('<div class="slip"><b>5</b> minutes</div>' for _ in range(24))


def keeper_text(number, taken_db, look):
    """What the keeper says at a row: the reading, "blocks" with it, or "black"; ``look`` 0 to 2."""
    card = shed.simulate.tv_card(number)
    spare = card.stations_db["A"] - taken_db
    seen = spare + KEEPER_SD_DB * normal(number, "keeper", str(taken_db), str(look))
    if seen < 0:
        return "black"
    shown = f"{card.meter.show(seen)[0]:g}"
    return f"{shown} blocks" if seen <= paper_tv.CLEAN_DB else shown


def _keeper(number):
    card = shed.simulate.tv_card(number)
    c_row = round(card.stations_db["A"] - card.stations_db["C"])
    top = 14
    cells = []
    for row in KEEPER_ROWS:
        y = top + MM_A_DB * (row - KEEPER_ROWS[0])
        mark = {0: "A, 0 here", c_row: "C, 0 here"}.get(row, "")
        cells.append(_line(22, y, 82, y) + _text(2, y + 1.2, mark, 3.2))
        cells += [_text(26 + 20 * k, y + 3.2, keeper_text(number, row, k), 3) for k in range(3)]
    head = _text(2, 5, f"keeper's card {number}", 5) + _text(26, 11, "look 1", 3.2)
    head += _text(46, 11, "look 2", 3.2) + _text(66, 11, "look 3, then 1", 3.2)
    return _svg(86, top + MM_A_DB * len(KEEPER_ROWS) + 4, head + "".join(cells))


def keepers(first):
    """Two keeper's cards side by side."""
    return '<div class="pair">' + _keeper(first) + _keeper(first + 1) + "</div>"


def slides():
    """Four keeper's slides: the sums of one set, at four millimetres a decibel."""
    return '<div class="pair">' + "".join(_slide() for _ in range(4)) + "</div>"


def _slide():
    marks = "".join(
        _line(1, 8 + MM_A_DB * s, 9, 8 + MM_A_DB * s) + _text(11, 9.2 + MM_A_DB * s, s, 3.5)
        for s in range(41)
        if s in _SUMS
    )
    return _svg(40, 180, _box(1, 1, 38, 176) + _text(4, 5, "keeper's slide", 3.5) + marks)


_SUMS = {a + b + c + d for a in (0, 3) for b in (0, 6) for c in (0, 10) for d in (0, 20)}


def grid():
    """A grid to draw a meter ladder on: percent against spare dB."""
    fine = "".join(_line(12 + 4 * k, 5, 12 + 4 * k, 205) for k in range(0, 41))
    fine += "".join(_line(12, 5 + 5 * k, 172, 5 + 5 * k) for k in range(0, 41))
    names = "".join(_text(12 + 20 * k, 211, 5 * k, 4, 'text-anchor="middle"') for k in range(9))
    names += "".join(_text(10, 206 - 20 * k, 10 * k, 4, 'text-anchor="end"') for k in range(11))
    names += _text(60, 218, "spare dB (0 where the picture breaks)", 4.5)
    names += _text(14, 3.5, "what the TV shows, percent", 4.5)
    return _svg(178, 222, fine + names)
