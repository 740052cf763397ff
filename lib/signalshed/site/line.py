"""The feeds and the tuner of site.toml: from keys to chain.Feed and chain.Tuner."""

from .. import chain
from ..tables import FEED, PARTS, TUNER, check_keys


def tuner(data, problems, file):
    """The chain.Tuner of the table [tuner], and notes; None if something was wrong with it.

    Parameters: ``data`` the table; ``problems`` gathers what is wrong; ``file`` its name.
    """
    before = len(problems)
    values, notes = check_keys(data, TUNER, problems, file, "tuner")
    if len(problems) > before:
        return None, notes
    return chain.Tuner(**values), notes


def feeds(rows, problems, file):
    """The chain.Feeds of [[feeds]] as a dict by name.

    Parameters: ``rows`` the list of tables; ``problems`` gathers what is wrong; ``file`` its name.
    """
    found = {}
    for count, row in enumerate(rows, start=1):
        where = f'feed "{row["name"]}"' if isinstance(row.get("name"), str) else f"feed {count}"
        values, _ = check_keys(
            {k: v for k, v in row.items() if k != "parts"}, FEED, problems, file, where
        )
        parts = _parts(row.get("parts", []), problems, file, where)
        if values["name"] in found:
            problems.add(file, "a name no other feed has", column=where)
        found[values["name"]] = chain.Feed(values["name"], parts)
    found.pop(None, None)
    return found


def _parts(rows, problems, file, where):
    if not isinstance(rows, list):
        problems.add(
            file,
            'a list of parts from the antenna on, as [{ coax = "series6", length_m = 15 }]',
            column=f"{where}: parts",
            value=rows,
        )
        return ()
    parts = [_part(row, problems, file, f"{where}, part {k}") for k, row in enumerate(rows, 1)]
    return tuple(part for part in parts if part is not None)


def _part(row, problems, file, where):
    """One chain.Part, or None with a problem noted."""
    which = [key for key in PARTS if isinstance(row, dict) and key in row]
    if len(which) != 1:
        expected = f"a part with exactly one of the keys {', '.join(PARTS)}"
        problems.add(file, expected, column=where, value=row)
        return None
    before = len(problems)
    values, _ = check_keys(row, PARTS[which[0]], problems, file, where)
    if len(problems) > before:
        return None
    try:
        return _MAKERS[which[0]](values)
    except ValueError as error:
        problems.add(file, f"other values; {str(error).rstrip('.')}", column=where)
        return None


def _amplifier(values):
    gain = values["gain_db"]
    ip3 = values["input_ip3_dbm"]
    if ip3 is None and values["max_output_dbuv"] is not None:
        ip3 = chain.ip3_from_output(values["max_output_dbuv"], gain)
    part = chain.amplifier(
        values["amplifier"], gain, values["noise_figure_db"], ip3, values["max_input_dbm"]
    )
    return part if values["powered"] else chain.Feed("", (part,)).unpowered().parts[0]


def _filter(values):
    return chain.stop_filter(
        values["filter"],
        values["stop_low_mhz"],
        values["stop_high_mhz"],
        values["rejection_db"],
        values["loss_db"],
    )


_MAKERS = {
    "coax": lambda v: chain.coax(v["coax"], v["length_m"]),
    "amplifier": _amplifier,
    "splitter": lambda v: chain.splitter(v["splitter"]),
    "pad_db": lambda v: chain.pad(v["pad_db"]),
    "filter": _filter,
    "part": lambda v: chain.Part(v["part"], -v["loss_db"]),
}
