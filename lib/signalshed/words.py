"""Numbers, names and chances as the pages say them: every phrase that stands in several places.

A chance in words is cut downward, never rounded up: 0.87 is "8 of 10", so what is promised holds.
"""

import numpy as np

from .units import miles_from_km, number, one_float, plain


def roofs_words(chance: float) -> str:
    """A chance as roofs out of ten, cut downward.

    Parameters
    ----------
    chance
        0 to 1.

    Returns
    -------
    str

    Examples
    --------
    >>> [roofs_words(c) for c in (0.06, 0.87, 0.97, 1)]
    ['fewer than 1 of 10', '8 of 10', '9 of 10', '10 of 10']
    """
    return f"{tenths(chance)} of 10" if tenths(chance) else "fewer than 1 of 10"


def tenths(chance):
    """A ``chance`` (0 to 1) as whole roofs out of ten, cut downward.

    >>> tenths(0.87), tenths(0.9), tenths(0.04)
    (8, 9, 0)
    """
    return _cut(chance, 10)


def percent_words(chance):
    """A ``chance`` (0 to 1) in whole per cent, cut downward.

    >>> percent_words(0.999)
    '99 %'
    """
    return f"{_cut(chance, 100)} %"


def _cut(chance, parts):
    """Whole parts in a chance; what only arithmetic of 32 bits takes off is not missed."""
    return int(np.floor(parts * (number("chance", chance, low=0, high=1) + 1e-7)))


def chance_words(chance: float) -> str:
    """A chance in words.

    Parameters
    ----------
    chance
        0 to 1.

    Returns
    -------
    str

    Examples
    --------
    >>> [chance_words(c) for c in (0.02, 0.5, 0.97)]
    ['hardly', 'a coin toss', 'almost surely']
    """
    c = number("chance", chance, low=0, high=1)
    steps = ((0.95, "almost surely"), (0.8, "probably"), (0.6, "more likely than not"))
    steps += ((0.4, "a coin toss"), (0.2, "less likely than not"), (0.05, "probably not"))
    return next((word for least, word in steps if c >= least), "hardly")


def signed(value, digits=0):
    """A number with its sign, a true minus, and no minus zero.

    Parameters: ``value`` a number; ``digits`` after the point.

    >>> signed(-0.2), signed(3), signed(-12.34, 1), signed(-np.inf)
    ('0', '+3', '−12.3', '−∞')
    """
    value = one_float("value", value)
    if np.isinf(value):
        return "+∞" if value > 0 else "−∞"
    text = f"{value:+.{digits}f}"
    if float(text) == 0:
        return text[1:]
    return text.replace("-", "−")


def spare_words(spare_db, spread_db=None):
    """What a signal has to spare, and how surely, in dB; an overload has no number.

    Parameters: ``spare_db``, NaN where it is not known, -inf where no dB of the station's own helps;
    ``spread_db`` one standard deviation, None for the number alone.

    >>> spare_words(-3.2, 8.4), spare_words(-3.2), spare_words(-np.inf)
    ('−3 dB to spare, give or take 8', '−3 dB', 'overload')
    """
    spare_db = one_float("spare_db", spare_db)
    if np.isnan(spare_db):
        return "unknown"
    if np.isneginf(spare_db):
        return "overload"
    level = f"{signed(spare_db)} dB"
    if spread_db is None or np.isinf(spare_db):
        return level
    return f"{level} to spare, give or take {number('spread_db', spread_db):.0f}"


def distance_words(distance_km):
    """A distance in whole kilometres and miles; ``distance_km`` a number.

    >>> distance_words(87.2)
    '87 km (54 mi)'
    """
    return f"{distance_km:.0f} km ({miles_from_km(distance_km):.0f} mi)"


def counted(count, one, many=None):
    """How many there are of something, in the singular or the plural.

    Parameters: ``count`` a whole number; ``one`` the words after 1; ``many`` those after any other
    number, None for ``one`` with an s.

    >>> counted(1, "reading"), counted(3, "reading"), counted(2, "row is", "rows are")
    ('1 reading', '3 readings', '2 rows are')
    """
    return f"{count:.0f} {one if count == 1 else many or one + 's'}"


def screen_name(row):
    """A station of a ``row`` as the TV's screen says it: the first of its numbers, then its name.

    >>> screen_name({"station": "Gazette", "shown_channels": "9.1 9.2", "rf_channel": "24"})
    '9.1 Gazette'
    >>> screen_name({"station": "Gazette", "shown_channels": "", "rf_channel": "24"})
    'Gazette (RF 24)'
    """
    shown = str(row["shown_channels"]).split()
    return f"{shown[0]} {row['station']}" if shown else f"{row['station']} (RF {row['rf_channel']})"


def short(text, most=16):
    """``text`` in at most ``most`` characters, without line breaks; an ellipsis marks a cut.

    >>> short("a name that goes on and on", 10)
    'a name th…'
    """
    flat = " ".join(str(text).split())
    return flat if len(flat) <= most else flat[: most - 1].rstrip() + "…"


def listed(names, most=6):
    """``names`` in a row, and how many more there are beyond ``most``.

    >>> listed(["a", "b", "c"]), listed(["a", "b", "c"], 2)
    ('a, b and c', 'a, b and 1 more')
    """
    names = [short(n, 24) for n in names]
    if len(names) > most:
        return f"{', '.join(names[:most])} and {len(names) - most} more"
    return ", ".join(names[:-1]) + (" and " if len(names) > 1 else "") + names[-1] if names else ""


def joined(*notes):
    """Notes joined with semicolons, empty ones left out: a text, or an array of them.

    Parameters: ``notes``, each a text or an array; shapes broadcast.

    >>> joined("", "wet", "cold"), joined("flat", ["", "far"]).tolist()
    ('wet; cold', ['flat', 'flat; far'])
    """
    columns = np.broadcast_arrays(*(np.asarray(note, dtype=object) for note in notes))
    rows = zip(*(column.ravel() for column in columns), strict=True)
    told = ["; ".join(str(note) for note in row if note) for row in rows]
    return plain(np.array(told, dtype=object).reshape(columns[0].shape))


def numbered(rows, most=8):
    """Numbers of ``rows`` as a note names them, and how many more there are beyond ``most``.

    >>> numbered([3, 5]), numbered([3, 5, 7], most=2)
    ('3, 5', '3, 5 and 1 more')
    """
    rows = [str(row) for row in rows]
    return ", ".join(rows[:most]) + (f" and {len(rows) - most} more" if len(rows) > most else "")


COMPASS = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")


def compass_word(bearing_deg):
    """A bearing in degrees, ``bearing_deg``, as the nearest of eight compass words.

    >>> compass_word(200)
    'south'
    """
    return COMPASS[round(number("bearing_deg", bearing_deg) / 45) % 8]


def setup_words(row):
    """A row of the ranking: the antenna, where, and aimed whither.

    Parameters: ``row`` of shed.advice.rank.

    >>> setup_words({"antenna": "loop", "mount": "roof mast", "heading_deg": 38.0})
    'loop, roof mast, aimed at 38°'
    """
    heading = row["heading_deg"]
    aim = "" if np.isnan(heading) else f", aimed at {heading:.0f}°"
    return f"{short(row['antenna'], 30)}, {short(row['mount'], 22)}{aim}"


def aimed_words(way, heading_deg):
    """How a setup is aimed, in words.

    Parameters: ``way`` fixed, rotator or never; ``heading_deg`` true, for a fixed aim.

    >>> aimed_words("fixed", 200)
    'aimed at 200° true (south)'
    """
    more = {"fixed": " true", "never": ": average all round"}.get(way, "")
    where = f" ({compass_word(heading_deg)})" if way == "fixed" else ""
    return f"{aimed_shortly(way, heading_deg)}{more}{where}"


def aimed_shortly(way, heading_deg):
    """How a setup is aimed, for the title of a picture.

    Parameters: ``way`` fixed, rotator or never; ``heading_deg`` true, for a fixed aim.

    >>> aimed_shortly("fixed", 51), aimed_shortly("never", None)
    ('aimed at 51°', 'cannot be aimed')
    """
    if way == "fixed":
        return f"aimed at {heading_deg:.0f}°"
    return "turned to each station" if way == "rotator" else "cannot be aimed"


__all__ = [
    "COMPASS",
    "aimed_shortly",
    "aimed_words",
    "chance_words",
    "compass_word",
    "counted",
    "distance_words",
    "joined",
    "listed",
    "numbered",
    "percent_words",
    "roofs_words",
    "short",
    "signed",
    "spare_words",
    "tenths",
]


def __dir__():
    return __all__
