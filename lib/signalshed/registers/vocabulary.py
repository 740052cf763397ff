"""The words of public records: headings, units and codes, from the CSV files beside this."""

import functools
import re
import unicodedata

from ..tables.columns import rows_of
from ..tables.spec import squeezed

_UNITS_IN_NAMES = re.compile(r"(?<![a-z])(dBkW|dBk|dBW|dBm|kW|MHz|kHz|GHz)(?![a-z])")
_JOINTS = re.compile(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Za-z])(?=[0-9])|(?<=[0-9])(?=[A-Za-z])")


def plain(text):
    """Text without accents and capitals, as words are compared.

    >>> plain("Höhe über Grund")
    'hohe uber grund'
    """
    parts = unicodedata.normalize("NFKD", text.replace("ß", "ss").replace("ø", "o"))
    return "".join(c for c in parts if not unicodedata.combining(c)).lower()


def tokens(heading):
    """The words of a heading, units and digits apart.

    >>> tokens("siteName"), tokens("ERP_kW"), tokens("Az10")
    (['site', 'name'], ['erp', 'kw'], ['az', '10'])
    """
    text = _UNITS_IN_NAMES.sub(lambda found: f" {found[0].lower()} ", heading)
    text = _JOINTS.sub(" ", text.replace("°", " deg ").replace("%", " percent "))
    return re.findall(r"[a-z0-9]+", plain(text))


@functools.cache
def phrases():
    """Every target of a heading: a list of (name, quantity, phrases, each its words and they joined)."""
    targets = []
    for row in rows_of(__package__, "headings.csv"):
        several = [(words.split(), words.replace(" ", "")) for words in row["words"].split("|")]
        targets.append((row["name"], row["quantity"], several))
    return targets


@functools.cache
def quantities():
    """What each target holds, by its name: text, angle, power, height and so on."""
    return {name: quantity for name, quantity, _ in phrases() if name != "-"}


@functools.cache
def units():
    """Units by quantity: a dict of dicts from the word as it is written to ours."""
    found = {}
    for row in rows_of(__package__, "units.csv"):
        found.setdefault(row["quantity"], {})[row["word"]] = row["unit"]
    return found


def unit_of(word, quantity):
    """Our name of a unit, or None. Capitals count only where they part MW from mW.

    >>> unit_of("KW", "power"), unit_of("mW", "power"), unit_of("feet", "power")
    ('kw', 'milliw', None)
    """
    known = units().get(quantity, {})
    lower = {written.lower(): unit for written, unit in known.items()}
    return known.get(word) or lower.get(word.lower().rstrip("."))


@functools.cache
def words(kind):
    """Meanings of the codes of one ``kind`` by the code, squeezed: "-" for what is left out.

    >>> words("polarization")["e"], words("licence")["cp"]
    ('both', 'permit')
    """
    rows = rows_of(__package__, "words.csv")
    return {row["word"]: row["meaning"] for row in rows if row["kind"] == kind}


@functools.cache
def meaning(kind, cell):
    """What a cell says in the codes of one ``kind``; None where no code of it is known.

    A code in brackets or the first word counts where the whole is not known; a licence that is not
    something is a permit.

    >>> meaning("polarization", "H"), meaning("licence", "Licensed (2019)"), meaning("service", "zz")
    ('horizontal', 'licensed', None)
    """
    known = words(kind)
    text = plain(cell)
    parts = set(re.findall(r"[a-z]+", text))
    if kind == "licence" and parts & words("negation").keys():
        whole = known.get(re.sub(r"[^a-z0-9]", "", text))
        return whole if whole is not None else "permit"
    tries = [text, *re.findall(r"\(([^)]*)\)", text), re.sub(r"\([^)]*\)", "", text)]
    tries += re.split(r"[\s/,;:+(]+", text)[:2]
    for one in tries:
        found = known.get(re.sub(r"[^a-z0-9]", "", one), known.get(squeezed(one)))
        if found is not None:
            return found
    return None


def filled_cells(rows):
    """The cells of each column that say something, by position. Parameters: ``rows`` lists of text.

    >>> filled_cells([["A", "-"], ["B", "7"]])
    {0: ['A', 'B'], 1: ['7']}
    """
    columns = zip(*rows, strict=True)
    return {k: [cell for cell in cells if not is_blank(cell)] for k, cells in enumerate(columns)}


@functools.cache
def is_blank(cell):
    """Whether a cell of a record says nothing: empty, a dash, "n/a".

    >>> is_blank(" - "), is_blank("0")
    (True, False)
    """
    text = cell.strip().lower()
    return not text or text in words("blank")
