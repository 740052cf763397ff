"""The feeds of site.toml: from keys to chain.Feed."""

from .. import chain
from ..tables import PARTS, TABLES, Spot


def feed_line(row: dict, spot: Spot) -> chain.Feed | None:
    """The chain.Feed of one of [[feeds]], None without a name.

    Parameters: ``row`` the table; ``spot`` its Spot.
    """
    values = spot.keys({k: v for k, v in row.items() if k != "parts"}, TABLES["feed"])
    rows = row.get("parts", [])
    if not isinstance(rows, list):
        expected = 'a list of parts from the antenna on, as [{ coax = "series6", length_m = 15 }]'
        spot.wrong(expected, "parts", rows)
        rows = []
    parts = [_part(part, spot.below(f", part {k}")) for k, part in enumerate(rows, 1)]
    known = tuple(part for part in parts if part is not None)
    return None if values["name"] is None else chain.Feed(values["name"], known)


def _part(row, spot):
    """One chain.Part, or None with a problem noted."""
    which = [key for key in PARTS if isinstance(row, dict) and key in row]
    if len(which) != 1:
        spot.wrong(f"a part with exactly one of the keys {', '.join(PARTS)}", value=row)
        return None
    values = spot.keys(row, PARTS[which[0]])
    return spot.made(lambda: _MAKERS[which[0]](values.pop(which[0]), **values))


def _amplifier(name, *, max_output_dbuv, powered, **values):
    if values["input_ip3_dbm"] is None and max_output_dbuv is not None:
        values["input_ip3_dbm"] = chain.ip3_from_output(max_output_dbuv, values["gain_db"])
    part = chain.amplifier(name, **values)
    return part if powered else chain.Feed("", (part,)).unpowered().parts[0]


def _filter(name, *, stop_low_mhz, stop_high_mhz, **losses):
    return chain.stop_filter(name, stop_low_mhz, stop_high_mhz, **losses)


_MAKERS = {
    "coax": chain.coax,
    "amplifier": _amplifier,
    "splitter": chain.splitter,
    "pad_db": chain.pad,
    "filter": _filter,
    "part": lambda name, loss_db: chain.Part(name, -loss_db),
}
