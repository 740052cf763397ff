"""From a gain trial to the file of gains that a site folder may name."""

from pathlib import Path

import pandas as pd

from .. import antenna, tables
from ..tables.tomled import toml_text
from ..units import check_type


def gains(comparison: pd.DataFrame, baseline: antenna.Antenna) -> pd.DataFrame:
    """What a gain trial says of each antenna's own gain, in the columns of trial_gains.csv.

    Parameters
    ----------
    comparison
        The table of ``compare`` of a gain trial.
    baseline
        It was compared with.

    Returns
    -------
    DataFrame
        As of ``shed.antenna.trial_gains``.

    Raises
    ------
    ValueError
        For a fixed aim trial, or if nothing is left.

    Examples
    --------
    >>> from ..antenna import plain_dipole
    >>> rows = pd.DataFrame({"antenna": ["mine"], "freq_mhz": [539.0], "difference_db": [6.0],
    ...     "low_db": [5.0], "high_db": [7.0], "readings": [4], "kind": ["gain"]})
    >>> gains(rows, plain_dipole())[["gain_dbd", "low_dbd", "high_dbd"]].round(1).to_numpy().tolist()
    [[6.0, 4.1, 7.9]]
    """
    check_type("baseline", baseline, antenna.Antenna, "an Antenna, as site.antenna('dipole')")
    if "kind" not in comparison:
        raise ValueError(
            "comparison has no column kind; it must be the table that compare returns."
        )
    found = antenna.trial_gains(comparison, baseline)
    if found.empty:
        raise ValueError(
            "No antenna gave a reading between loss of lock and the ceiling, so there is no gain to "
            "save; read weaker stations, or put pads in."
        )
    return found


def write_gains(path: str | Path, comparison: pd.DataFrame, baseline: antenna.Antenna) -> str:
    """Write the gains of a trial to a new file, and say what antennas.toml needs to use them.

    The measured gains hold where the trial read channels; beyond them, in the same band, the rest of
    what antennas.toml says is moved by what they differ from it on average.

    Parameters
    ----------
    path
        Of the new file, which must not be there yet, in a site folder.
    comparison, baseline
        As in ``gains``.

    Returns
    -------
    str
        Which line to add to antennas.toml, and where.

    Raises
    ------
    tables.CannotSave
        With what to do.
    ValueError
        As ``gains`` does.

    Examples
    --------
    >>> import tempfile
    >>> from ..antenna import plain_dipole
    >>> rows = pd.DataFrame({"antenna": ["mine"], "freq_mhz": [539.0], "difference_db": [6.0],
    ...     "low_db": [5.0], "high_db": [7.0], "readings": [4], "kind": ["gain"]})
    >>> file = Path(tempfile.mkdtemp()) / "trial_gains.csv"
    >>> print(write_gains(file, rows, plain_dipole()))
    # in antennas.toml, right below the name of each of: mine
    trial = "trial_gains.csv"
    """
    table = gains(comparison, baseline)
    shown = ["gain_dbd", "low_dbd", "high_dbd"]
    tables.write_csv(path, table.assign(**table[shown].round(2)), tables.TRIAL_GAINS)
    names = ", ".join(dict.fromkeys(table["antenna"].astype(str)))
    line = toml_text({"trial": Path(path).name}).strip()
    return f"# in antennas.toml, right below the name of each of: {names}\n{line}"
