"""Latitudes and longitudes in every usual spelling."""

import functools
import re

from .numbers import mark_of

_LETTER = re.compile(r"(?<![A-Za-z])([NSEWO])(?![A-Za-z])|([NSEWO])(?=\d)", re.IGNORECASE)
_WORDS = {"north": "N", "south": "S", "east": "E", "west": "W", "ouest": "W", "oeste": "W"}
_WORDS |= {"nord": "N", "sud": "S", "norte": "N", "sur": "S", "sul": "S", "est": "E", "este": "E"}
_WORDS |= {"ost": "E", "leste": "E"}
_WORD = re.compile(rf"\b({'|'.join(_WORDS)})\b", re.IGNORECASE)
_PLACE_VALUES = re.compile(r"(?<=[\d\s])(degrees|degree|deg|minutes|min|seconds|sec)\b", re.I)
_PACKED = re.compile(r"(\d{2,3}?)(\d{2})(\d{2}(?:\.\d+)?)|(\d{2,3}?)(\d{2})")
"""Degrees, minutes and perhaps seconds without anything between them."""
_LETTERS_BETWEEN = re.compile(r"(\d)\s*d\s*(\d+)\s*m\s*(?:(\d+\.?\d*)\s*s)?", re.I)
_LETTER_INSIDE = re.compile(
    r"(\d{1,3})\s?([NSEWO])\s?(\d{2})[\s'′]*(?:(\d{2})(?:[.,]?(\d+))?)?[\"″\s]*", re.I
)
"""Also packed seconds that go on without a point: 12S345670 is 12 degrees 34' 56.70" south."""


@functools.lru_cache(maxsize=65536)
def angle(text, other_letter=""):
    """Degrees in a cell, and the hemisphere letter that stood there: (float, "N", "S", "E", "W" or "").

    South and west are negative. Parameters: ``text``; ``other_letter`` what an O stands for: "W"
    (ouest, oeste) or "E" (Ost), "" where nobody said. Raises ValueError for no angle: minutes or
    seconds of 60 and more, too many numbers, a sign against its letter.

    >>> angle("40° 26' 46\\" N")[0] == 40 + 26 / 60 + 46 / 3600, angle("W 79-58-56")[1]
    (True, 'W')
    >>> angle("40,4461"), angle("-79.5"), angle("0793000W")
    ((40.4461, ''), (-79.5, ''), (-79.5, 'W'))
    """
    letter, bare = _hemisphere(text.strip().replace("\u2212", "-"), other_letter)
    is_negative = bare.startswith("-")
    parts = _numbers(bare, letter)
    if not parts or len(parts) > 3 or any(part >= 60 for part in parts[1:]):
        raise ValueError("degrees, or degrees, minutes and seconds, minutes and seconds below 60")
    if any(part != int(part) for part in parts[:-1]):
        raise ValueError("whole degrees and minutes before the seconds")
    value = sum(part / 60**k for k, part in enumerate(parts))
    return -value if is_negative or letter in (
        "S",
        "W",
    ) else value, letter  # "-79.5 W" is west, once.


def _hemisphere(text, other_letter):
    """The letter, and the text without it."""
    text = _WORD.sub(lambda found: _WORDS[found[0].lower()], text)
    text = _LETTERS_BETWEEN.sub(lambda found: " ".join(filter(None, found.groups())) + " ", text)
    if inside := _LETTER_INSIDE.fullmatch(text):
        text = f"{inside[1]} {inside[3]} {inside[4] or 0}.{inside[5] or 0} {inside[2]}"
    found = _LETTER.findall(text) or re.findall(r"(?<=\d)([NSEWO])()(?=$|\s)", text, re.I)
    letters = [(a or b).upper() for a, b in found]
    if len(letters) > 1:
        raise ValueError("one hemisphere letter")
    bare = re.sub(r"(?<![A-Za-z])[NSEWO](?![A-Za-z])", " ", text, flags=re.I) if letters else text
    letter = letters[0] if letters else ""
    if letter == "O":
        letter = other_letter
        if not letter:
            raise ValueError("E or W; O is west in some languages and east in others")
    return letter, bare.strip()


def _numbers(text, letter):
    """Degrees, minutes and seconds as a list of floats."""
    text = text.replace(",", ".") if mark_of(text) != "." and text.count(",") == 1 else text
    text = _PLACE_VALUES.sub(" ", text)
    if re.search(r"[A-Za-z]", text):
        raise ValueError("degrees without other words")
    parts = re.findall(r"\d+\.?\d*|\.\d+", text)
    if len(parts) == 1 and (float(parts[0]) > 180 or (letter and re.match(r"\d{6,7}", parts[0]))):
        packed = _PACKED.fullmatch(parts[0])
        parts = [part for part in packed.groups() if part] if packed else parts
    return [float(part) for part in parts]


def both(text, other_letter=""):
    """Latitude and longitude of one cell: ((degrees, letter), (degrees, letter)).

    Letters say which is which, else latitude comes first. Parameters: as in ``angle``.

    >>> both("40.5, -79.5"), both("079 30 00 W / 40 30 00 N")
    (((40.5, ''), (-79.5, '')), ((40.5, 'N'), (-79.5, 'W')))
    """
    for halves in _halves(text):
        try:
            first, second = (angle(half, other_letter) for half in halves)
        except ValueError:
            continue
        is_turned = first[1] in ("E", "W") or second[1] in ("N", "S")
        return (second, first) if is_turned else (first, second)
    raise ValueError("a latitude and a longitude")


def _halves(text):
    """The ways to cut a cell in two angles, likeliest first."""
    text = re.sub(r"^\s*(POINT)?\s*[(\[]|[)\]]\s*$", "", text.strip())
    marked = [
        [h.strip() for h in text.split(mark)] for mark in (";", "/", "|", ", ", ",", "  ", " ")
    ]
    pairs = [halves for halves in marked if len(halves) == 2]
    yield from (pair for pair in pairs if all(re.search(r"[NSEWO]", h, re.I) for h in pair))
    letters = list(re.finditer(r"[NSEWO](?![a-z])", text, re.I))
    if len(letters) == 2:
        before = not text[: letters[0].start()].strip()
        at = letters[1].start() if before else letters[0].end()
        yield text[:at].strip(" ,;/|"), text[at:].strip(" ,;/|")
    yield from pairs
    words = text.replace(",", " ").split()
    if len(words) in (4, 6):
        yield " ".join(words[: len(words) // 2]), " ".join(words[len(words) // 2 :])
